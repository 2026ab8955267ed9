"""What is under way beside the window, how far it is, and the button that leaves it."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QSizePolicy, QWidget

from estimator.desk.plain import Label
from estimator.desk.work import Queue, Work

__all__ = ["Progress"]


class Progress(QWidget):
    """A bar in the status line, in view while something is under way."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._followed: list[tuple[Work | Queue, str]] = []
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        self.what = Label("", self)
        self.what.setAccessibleName("What is under way")
        self.bar = QProgressBar(self)
        self.bar.setFixedWidth(140)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Working")
        self.cancel = QPushButton("Cancel", self)
        self.cancel.setAutoDefault(False)
        self.cancel.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        # It takes the room that it needs, and leaves the rest to the sentence beside it.
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Preferred)
        self.cancel.setAccessibleDescription("Leaves what is under way; nothing is changed by it.")
        self.cancel.clicked.connect(lambda _=False: self.stop())
        for widget in (self.what, self.bar, self.cancel):
            row.addWidget(widget)
        self.hide()

    def follow(self, work: Work | Queue, words: str) -> None:
        """Show work while it is under way.

        Args:
            words: what it does.
        """
        self._followed.append((work, words))
        work.busy_changed.connect(lambda _: self._show_busy())
        work.moved.connect(self._move)

    def stop(self) -> None:
        """Leave everything that is under way."""
        for work, _ in self._followed:
            work.stop()

    def _show_busy(self) -> None:
        busy = [words for work, words in self._followed if work.is_busy]
        self.what.setText(", ".join(busy))
        self.bar.setRange(0, 0)
        self.setVisible(bool(busy))

    def _move(self, done: int, of: int) -> None:
        # With one paper, or one line, there is nothing to count.
        self.bar.setRange(0, of if of > 1 else 0)
        self.bar.setValue(done)
