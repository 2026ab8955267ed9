"""What a change of the price book would do, entry by entry, before anything is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QHBoxLayout, QVBoxLayout, QWidget

from estimator.desk.form.inputs import ComboBox, LineEdit
from estimator.desk.plain import Label
from estimator.desk.plain import title as as_title
from estimator.desk.room import fit_in_room
from estimator.desk.tables import ReadTable, TableLine, plain_label
from estimator.locales import decimal_mark
from estimator.model.finding import Finding
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import BookChangeError, EntryChange
from estimator.store.book_exchange import ImportMode

__all__ = [
    "BulkDialog",
    "ChangesDialog",
    "ExchangeOutcome",
    "ImportDialog",
    "Looks",
    "change_lines",
    "first_words",
]

_COLUMNS = ("Part", "What", "Field", ">Before", ">After")


def change_lines(changes: Sequence[EntryChange], locale: str) -> tuple[TableLine, ...]:
    """One row for each field that changes, or for each entry that comes or goes."""
    lines = []
    for change in changes:
        name = f"{change.code}: {change.description}"
        if not change.cells:
            lines.append(
                TableLine(change.code, (name, change.kind.value, "", "", ""), change.words_in(locale))
            )
        lines += [
            TableLine(
                f"{change.code} {cell.field}",
                (name, change.kind.value, cell.label, *cell.words(locale)),
                change.words_in(locale),
            )
            for cell in change.cells
        ]
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class ExchangeOutcome:
    """What would be: the book if it is allowed, its changes, what is to be said about it."""

    book: PriceBook | None
    changes: tuple[EntryChange, ...] = ()
    words: tuple[str, ...] = ()


Looks = Mapping[ImportMode, ExchangeOutcome]
"""What an import would do, for each mode."""


class ChangesDialog(QDialog):
    """Shows an outcome; "Take over" is the only way to do it.

    Args:
        title: of the dialog.
        accept: words on the button that does it.
        locale: of the numbers and days.
    """

    def __init__(self, title: str, accept: str, parent: QWidget, locale: str) -> None:
        super().__init__(parent)
        self._locale = locale
        self.setWindowTitle(as_title(title))
        self.setModal(True)
        fit_in_room(self, QSize(860, 520))
        self.outcome = ExchangeOutcome(None)
        column = QVBoxLayout(self)
        self.top = QHBoxLayout()
        column.addLayout(self.top)
        self.told = plain_label(self, "What to look at")
        self.table = ReadTable("What will change", "One row for each field that changes.", _COLUMNS, self)
        column.addWidget(self.told)
        column.addWidget(self.table, 1)
        self.count = plain_label(self, "How much changes", "faint")
        column.addWidget(self.count)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel, self)
        self.take = self.buttons.addButton(accept, QDialogButtonBox.ButtonRole.AcceptRole)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column.addWidget(self.buttons)

    def show_outcome(self, outcome: ExchangeOutcome) -> None:
        """Show what would be."""
        self.outcome = outcome
        self.table.show_lines(change_lines(outcome.changes, self._locale))
        self.told.setText("\n".join(outcome.words))
        self.told.setVisible(bool(outcome.words))
        number = len(outcome.changes)
        self.count.setText(
            f"{number} {'entry changes' if number == 1 else 'entries change'}. Nothing is done yet."
        )
        self.take.setEnabled(outcome.book is not None and bool(outcome.changes))


def first_words(findings: Sequence[Finding]) -> tuple[str, ...]:
    """The sentences of the first findings, and how many there are besides."""
    shown = [f.message for f in findings[:8]]
    return (*shown, f"… and {len(findings) - 8} more.") if len(findings) > 8 else tuple(shown)


class ImportDialog(ChangesDialog):
    """An import with its preview.

    Args:
        looks: what would be, for each mode.
        name: of the file.
    """

    def __init__(self, looks: Looks, name: str, parent: QWidget, locale: str) -> None:
        super().__init__("Import a price book", "Take over", parent, locale)
        self._looks = looks
        label = Label("&Entries that the file does not hold", self)
        self.mode = ComboBox(self)
        self.mode.setAccessibleName("Entries that the file does not hold")
        self.mode.setAccessibleDescription("Keep them, or remove them from the price book.")
        for mode in ImportMode:
            self.mode.addItem(mode.label, mode.value)
        self.mode.show_whole()
        label.setBuddy(self.mode)
        self.file = plain_label(self, "File", "faint", wrap=False)
        self.file.setText(name)
        for widget in (self.file, label, self.mode):
            self.top.addWidget(widget)
        self.top.addStretch(1)
        self.mode.currentIndexChanged.connect(lambda _: self.refresh())
        self.refresh()

    def refresh(self) -> None:
        """The preview for the mode chosen."""
        self.show_outcome(self._looks[ImportMode(str(self.mode.currentData()))])


class BulkDialog(ChangesDialog):
    """A change of a whole group by a percentage, with its preview.

    Args:
        groups: names of the groups.
        work: (percent, group or None for all) -> the book and its changes, or BookChangeError.
    """

    def __init__(
        self,
        groups: Sequence[str],
        work: Callable[[Decimal, str | None], tuple[PriceBook, tuple[EntryChange, ...]]],
        parent: QWidget,
        locale: str,
    ) -> None:
        super().__init__("Change prices by a percentage", "Take over", parent, locale)
        self._work = work
        group, percent = Label("&Group", self), Label("&Change in %", self)
        self.group = ComboBox(self)
        self.group.setAccessibleName("Group")
        self.group.setAccessibleDescription("Which entries change.")
        self.group.addItem("Every entry", None)
        for name in groups:
            self.group.addItem(name, name)
        self.percent = LineEdit(self)
        self.percent.setAccessibleName("Change in percent")
        self.percent.setAccessibleDescription("3 makes the group 3 % dearer, -10 a tenth cheaper.")
        self.percent.setPlaceholderText("3")
        self.percent.setMaximumWidth(120)
        group.setBuddy(self.group)
        percent.setBuddy(self.percent)
        for widget in (group, self.group, percent, self.percent):
            self.top.addWidget(widget)
        self.top.addStretch(1)
        self.group.currentIndexChanged.connect(lambda _: self.refresh())
        self.percent.textChanged.connect(lambda _: self.refresh())
        self.refresh()

    def refresh(self) -> None:
        """The preview for what is typed."""
        text = self.percent.text().strip().removesuffix("%").strip()
        if not text:
            self.show_outcome(ExchangeOutcome(None, (), ("Type by how much the prices change.",)))
            return
        try:
            percent = Decimal(text.replace(decimal_mark(self._locale), "."))
        except InvalidOperation:
            self.show_outcome(
                ExchangeOutcome(
                    None,
                    (),
                    (
                        f"Change: “{text}” is no number; type one such as 3 or -2{decimal_mark(self._locale)}5.",
                    ),
                )
            )
            return
        group = self.group.currentData()
        try:
            book, changes = self._work(percent, str(group) if group is not None else None)
        except BookChangeError as error:
            self.show_outcome(ExchangeOutcome(None, (), first_words(error.findings)))
            return
        self.show_outcome(ExchangeOutcome(book, changes))
