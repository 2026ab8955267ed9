"""A label beside a table."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget

__all__ = ["plain_label"]


def plain_label(parent: QWidget, name: str = "", style: str = "", *, wrap: bool = True) -> QLabel:
    """A label for plain text, which is never read as markup."""
    label = QLabel(parent)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(wrap)
    if name:
        label.setAccessibleName(name)
    if style:
        label.setObjectName(style)
    return label
