"""A label beside a table."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from estimator.desk.plain import Label

__all__ = ["plain_label"]


def plain_label(parent: QWidget, name: str = "", style: str = "", *, wrap: bool = True) -> Label:
    """A label for plain text, which is never read as markup."""
    label = Label("", parent)
    label.setWordWrap(wrap)
    if name:
        label.setAccessibleName(name)
    if style:
        label.setObjectName(style)
    return label
