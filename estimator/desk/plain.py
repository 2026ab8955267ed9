"""The edge between a person's text and the toolkit, which takes some texts for markup, some signs for keys or places.

Everything that is shown passes one of these; a test looks for what does not. What would turn a line round or do nothing
visible is written out.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from PySide6.QtGui import Qt
from PySide6.QtWidgets import (
    QLabel,
    QListWidgetItem,
    QMessageBox,
    QStatusBar,
    QTreeWidgetItem,
    QWidget,
)

from estimator.shown.plain import written_out

__all__ = [
    "Label",
    "ListItem",
    "MarkupLabel",
    "TreeItem",
    "in_markup",
    "markup_tip",
    "menu_words",
    "message_box",
    "say_in",
    "shown_text",
    "tip",
    "title",
]

_BREAKS: Final = "\n\t"


def shown_text(text: str) -> str:
    """A text where the toolkit shows text as text; line ends and tabs stay."""
    return written_out(text, _BREAKS)


def in_markup(text: str) -> str:
    """A text inside the program's own markup."""
    return escape(shown_text(text)).replace("\n", "<br>")


def tip(text: str) -> str:
    """A text as a tip. The toolkit guesses what is markup; what it would take for some is handed over escaped."""
    words = shown_text(text)
    return f"<qt>{in_markup(text)}</qt>" if Qt.mightBeRichText(words) else words


def markup_tip(markup: str) -> str:
    """The program's own markup as a tip; every text of a person in it has passed `in_markup`."""
    return markup


def menu_words(text: str) -> str:
    """A text in a menu or on a button: an ampersand stays one.

    >>> menu_words("R&D")
    'R&&D'
    """
    return shown_text(text).replace("&", "&&")


def title(text: str, *, changes: bool = False) -> str:
    """A text in a window's title: "[*]" in it stays what it is.

    Args:
        text: of a person.
        changes: the window is of the file of that name and has the toolkit's place for the mark of changes.

    >>> title("a[*]"), title("a[*]", changes=True)
    ('a[*][*]', 'a[*][*][*] – Baydrop')
    """
    words = written_out(text).replace("[*]", "[*][*]")
    return f"{words}[*] – Baydrop" if changes else words


def say_in(bar: QStatusBar, sentence: str, milliseconds: int) -> None:
    """A sentence in the status line for a while."""
    bar.showMessage(shown_text(sentence), milliseconds)


class Label(QLabel):
    """Text that is never read as markup.

    Args:
        text: what it shows; with a buddy, "&" marks the key.
        parent: what it stands in.
    """

    def __init__(self, text: str, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Show another text."""
        super().setText(shown_text(text))


class MarkupLabel(QLabel):
    """The program's own markup; every text of a person in it has passed `in_markup`."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.RichText)


class TreeItem(QTreeWidgetItem):
    """A row of a tree with a text for each column."""

    def __init__(self, cells: Sequence[str]) -> None:
        super().__init__([shown_text(cell) for cell in cells])

    def setText(self, column: int, text: str) -> None:
        """Another text in a column."""
        super().setText(column, shown_text(text))


class ListItem(QListWidgetItem):
    """A row of a list."""

    def __init__(self, text: str = "") -> None:
        super().__init__(shown_text(text))


def message_box(
    icon: QMessageBox.Icon, heading: str, text: str, more: str, parent: QWidget | None
) -> QMessageBox:
    """A message with a title, its text, what is said more below it."""
    box = QMessageBox(icon, title(heading), "", QMessageBox.StandardButton.NoButton, parent)
    box.setTextFormat(Qt.TextFormat.PlainText)
    box.setText(shown_text(text))
    box.setInformativeText(shown_text(more))
    return box
