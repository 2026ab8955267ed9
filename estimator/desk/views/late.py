"""Room for a view that is built when it is first seen, so that a start waits for nothing it does not show."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from estimator.desk.plain import Label

__all__ = ["Late"]

V = TypeVar("V", bound=QWidget)


class Late(QWidget, Generic[V]):
    """Stands where a view will be.

    Args:
        build: makes the view as a child of this widget, joins it to its neighbours and fills it.
    """

    def __init__(self, build: Callable[[QWidget], V], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._build = build
        self.built: V | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self.words = Label("", self)
        self.words.setObjectName("faint")
        self.words.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.words.setWordWrap(True)
        self.words.hide()
        self._column.addWidget(self.words)

    @property
    def view(self) -> V:
        """The view, built now if nobody saw it yet."""
        if self.built is None:
            self.built = self._build(self)
            self._column.addWidget(self.built)
            # The layout would show and place it with a later event, after a first paint without it.
            self.built.setVisible(self.words.isHidden())
            self._column.activate()
        return self.built

    def wait(self, words: str) -> None:
        """Words in the place of the view, so that nothing is read that does not hold; "" for the view again."""
        self.words.setText(words)
        self.words.setAccessibleName(words)
        self.words.setVisible(bool(words))
        if self.built is not None:
            self.built.setVisible(not words)
        elif not words and self.isVisible():
            _ = self.view

    def showEvent(self, event: QShowEvent) -> None:
        """It is seen: the view is there before the paint."""
        super().showEvent(event)
        if self.words.isHidden():
            _ = self.view
