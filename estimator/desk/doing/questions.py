"""Questions to the person. A test puts its own answers in the place of this."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence
from enum import Enum, auto
from pathlib import Path
from typing import Final

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget

from estimator.desk.plain import menu_words, message_box
from estimator.store.document import named
from estimator.store.files import exists, shown

__all__ = ["Dialogs", "UnsavedAnswer"]

_ENDING: Final = re.compile(r"\*(\.\w+)")
"""Of a kind of files, as a dialog filters them."""

_LOOK_MS: Final = 50
"""How often it is looked whether a disk answered."""


class UnsavedAnswer(Enum):
    """What to do with unsaved changes."""

    SAVE = auto()
    DISCARD = auto()
    CANCEL = auto()


class Dialogs:
    """Dialogs above the window. File names and sentences are shown as plain text, never as markup."""

    def __init__(self) -> None:
        self._parent: QWidget | None = None
        self.is_there: Callable[[Path], bool | None] = exists
        """Whether something stands at a path; None where its disk does not answer, which was told."""

    def stand_above(self, parent: QWidget) -> None:
        """Ask above this window from now on."""
        self._parent = parent

    def _box(self, icon: QMessageBox.Icon, title: str, text: str, more: str = "") -> QMessageBox:
        return message_box(icon, title, text, more, self._parent)

    def tell(self, title: str, sentences: Sequence[str]) -> None:
        """Say what could not be done and why."""
        shown = list(sentences[:12])
        if len(sentences) > 12:
            shown.append(f"… and {len(sentences) - 12} more.")
        box = self._box(QMessageBox.Icon.Warning, title, title, "\n".join(shown))
        box.exec()

    def ask(self, title: str, question: str, yes: str, no: str = "Cancel") -> bool:
        """A question with two answers."""
        box = self._box(QMessageBox.Icon.Question, title, question)
        accept = box.addButton(menu_words(yes), QMessageBox.ButtonRole.AcceptRole)
        # Enter alone writes nothing over.
        box.setDefaultButton(box.addButton(menu_words(no), QMessageBox.ButtonRole.RejectRole))
        box.exec()
        return box.clickedButton() is accept

    def choose(
        self, title: str, question: str, more: str, choices: Sequence[str], otherwise: str = "Cancel"
    ) -> int | None:
        """A question with several answers: the position of the one chosen, None if the person changed their mind.

        Args:
            otherwise: words on the button that chooses none.
        """
        box = self._box(QMessageBox.Icon.Question, title, question, more)
        buttons = [box.addButton(menu_words(words), QMessageBox.ButtonRole.AcceptRole) for words in choices]
        cancel = box.addButton(menu_words(otherwise), QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(cancel)
        box.exec()
        pressed = box.clickedButton()
        return next((i for i, button in enumerate(buttons) if button is pressed), None)

    def wait_for(self, is_there: Callable[[], bool], name: str) -> bool:
        """Wait for a disk that does not answer; False where the person does not wait any longer.

        Args:
            is_there: whether it answered.
            name: of the file that it is about.
        """
        box = self._box(
            QMessageBox.Icon.Information,
            "Waiting for the disk",
            f"“{shown(name)}” is on a disk that does not answer.",
            "It may be at the other end of a slow or broken line. This goes on by itself when it answers.",
        )
        box.setDefaultButton(box.addButton("Do not wait", QMessageBox.ButtonRole.RejectRole))
        timer = QTimer(box)
        timer.setInterval(_LOOK_MS)
        timer.timeout.connect(lambda: box.accept() if is_there() else None)
        timer.start()
        box.exec()
        timer.stop()
        box.deleteLater()  # the timer and the box hold each other
        return is_there()

    def ask_unsaved(self, name: str, warning: str = "") -> UnsavedAnswer:
        """What to do with changes that no file holds."""
        box = self._box(
            QMessageBox.Icon.Question, "Unsaved changes", f"“{name}” has changes that are not saved.", warning
        )
        save = box.addButton("Save", QMessageBox.ButtonRole.AcceptRole)
        discard = box.addButton("Do not save", QMessageBox.ButtonRole.DestructiveRole)
        box.addButton("Cancel", QMessageBox.ButtonRole.RejectRole)
        box.setDefaultButton(save)
        box.exec()
        pressed = box.clickedButton()
        return (
            UnsavedAnswer.SAVE
            if pressed is save
            else UnsavedAnswer.DISCARD
            if pressed is discard
            else UnsavedAnswer.CANCEL
        )

    def open_file(self, title: str, kinds: str, folder: Path | None = None) -> Path | None:
        """A file to read, None if the person changed their mind."""
        name, _ = QFileDialog.getOpenFileName(self._parent, title, str(folder or ""), kinds)
        return Path(name) if name else None

    def save_file(self, title: str, kinds: str, suggestion: Path) -> tuple[Path, str] | None:
        """A file name as typed and the kind chosen, None if the person changed their mind; `where_to` asks about
        replacing a file."""
        name, kind = QFileDialog.getSaveFileName(
            self._parent, title, str(suggestion), kinds, options=QFileDialog.Option.DontConfirmOverwrite
        )
        return (Path(name), kind) if name else None

    def where_to(
        self,
        title: str,
        kinds: str,
        suggestion: Path,
        *,
        own: Path | None = None,
        becomes: Callable[[Path], Path] | None = None,
        awaited: Collection[Path] = (),
    ) -> Path | None:
        """A file to write, by the very name that it gets; a file that is there already goes only after asking.

        Args:
            title: of the dialog.
            kinds: as the dialog filters files; a name without one of their endings gets that of the kind chosen.
            suggestion: a name.
            own: the file that is worked on, which is no other's.
            becomes: makes the name that is written under from the typed one with its ending.
            awaited: files that are written in a moment and count as there.
        """
        chosen = self.save_file(title, kinds, suggestion)
        if chosen is None:
            return None
        path, kind = chosen
        path = named(path, *_ENDING.findall(kind), *_ENDING.findall(kinds))
        if becomes is not None:
            path = becomes(path)
        if path == own:
            return path
        stands = path in awaited or self.is_there(path)
        if not stands:
            return path if stands is False else None
        there = "is being written just now" if path in awaited else "is there already"
        words = f"“{shown(path.name)}” {there}. What it holds would be replaced."
        return path if self.ask(title, words, "Replace it") else None
