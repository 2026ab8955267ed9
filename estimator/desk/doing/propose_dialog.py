"""The proposal as a list of choices: what, now and proposed, why, cost, the sizes beside it, and what to keep."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from estimator.acts.propose import PricedProposal
from estimator.desk.form.inputs import CheckBox
from estimator.desk.plain import Label
from estimator.desk.room import fit_in_room
from estimator.desk.tables import Look, ReadTable, TableLine, distinct
from estimator.desk.theme import MARKS, current_theme
from estimator.model.finding import Phrase
from estimator.model.pricebook import PriceBook
from estimator.money import money_text, round_money
from estimator.proposal.types import Choice, Neighbour
from estimator.shown.findings import sentences_of
from estimator.shown.proof_tables import summary
from estimator.shown.proposed import Named, named
from estimator.shown.standing import Standing, standing_of_verdict

__all__ = ["ProposeDialog"]

_COLUMNS = (
    "Choice (ticked: stays as it is)",
    "Now",
    "Proposed",
    ">Cost",
    ">Difference",
    "Size down",
    "Size up",
    "Why",
)
_GONE = "Kept, but not in this design"


class ProposeDialog(QDialog):
    """Shows a proposal; accepted means that its sizes are taken.

    Signals:
        pins_changed: what is kept is another; the proposal must be worked out anew.
    """

    pins_changed = Signal(tuple)

    def __init__(self, found: PricedProposal, book: PriceBook, locale: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Proposed sizes")
        self.setSizeGripEnabled(True)
        self._book, self._locale = book, locale
        self.offer = found
        self._sentences = sentences_of(found.study)
        self.pinned: tuple[str, ...] = found.proposal.design.pinned
        column = QVBoxLayout(self)
        column.setSpacing(8)
        self.head = self._label("Sum of the proposal")
        self.head.setObjectName("jobTitle")
        self.proof = self._label("How the drops would stand")
        column.addWidget(self.head)
        column.addWidget(self.proof)
        self.problems = ReadTable(
            "What cannot be made to work, and what would lift it", "", ("Problem",), self, sentences=True
        )
        self.problems_title = Label("What cannot be made to &work, and what would lift it", self)
        self.problems_title.setObjectName("paneTitle")
        self.problems_title.setBuddy(self.problems)
        self.problems.setMaximumHeight(130)
        column.addWidget(self.problems_title)
        column.addWidget(self.problems)
        row = QHBoxLayout()
        self.only_changed = CheckBox("Show only what &changes", self)
        self.only_changed.setText("Show only what changes")
        self.only_changed.toggled.connect(lambda _: self._show_rows())
        row.addWidget(self.only_changed)
        row.addStretch(1)
        column.addLayout(row)
        self.table = ReadTable(
            "Choices of the proposal",
            "Space keeps a choice as it is, or gives it free; the sizes are then proposed anew.",
            _COLUMNS,
            self,
            fill=-1,
            always=True,
        )
        self.table.ticked.connect(self._ticked)
        self.table.chosen.connect(self._tell)
        self._lines: tuple[TableLine, ...] = ()
        self._told: dict[str, str] = {}
        self._same: frozenset[str] = frozenset()
        column.addWidget(self.table, 1)
        self.told = self._label("The choice in words")
        self.told.setObjectName("help")
        self.told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.told.setMinimumHeight(self.told.fontMetrics().lineSpacing() * 5 + 14)
        column.addWidget(self.told)
        column.addLayout(self._buttons())
        self.show_offer(found)
        self._size()

    def _label(self, name: str) -> Label:
        label = Label("", self)
        label.setWordWrap(True)
        label.setAccessibleName(name)
        return label

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.state = self._label("State")
        self.state.setObjectName("faint")
        row.addWidget(self.state, 1)
        self.cancel = QPushButton("Cancel", self)
        self.cancel.setAccessibleDescription("Leave the job as it is.")
        self.cancel.clicked.connect(self.reject)
        self.take = QPushButton("&Take these sizes", self)
        self.take.setObjectName("primary")
        self.take.setDefault(True)
        self.take.setAccessibleDescription("Write them into the design as one act that can be undone.")
        self.take.clicked.connect(self.accept)
        row.addWidget(self.cancel)
        row.addWidget(self.take)
        return row

    def _size(self) -> None:
        fit_in_room(self, QSize(1240, 760))
        self.table.setFocus(Qt.FocusReason.OtherFocusReason)

    # Showing.

    def _money(self, amount: float | Decimal, *, signed: bool = False) -> str:
        exact = round_money(Decimal(str(amount)), self._book.currency)
        text = money_text(exact, self._book.currency, self._locale)
        return f"+{text}" if signed and exact > 0 else text

    def set_busy(self, busy: bool) -> None:
        """While the proposal is worked out anew it cannot be taken."""
        self.take.setEnabled(not busy and self._can_take)
        self.state.setText("Working out the sizes anew …" if busy else self._state)

    def show_offer(self, found: PricedProposal) -> None:
        """Show a proposal; what was folded and where the keyboard was stays."""
        self.offer = found
        self._sentences = sentences_of(found.study)
        self.pinned = found.proposal.design.pinned
        proposal = found.proposal
        count = found.changes
        what = "1 choice changes" if count == 1 else f"{count} choices change"
        self.head.setText(
            f"{what}. Firm price without tax: {self._money(found.price_change, signed=True)}."
            if count
            else "Nothing changes: the sizes are the cheapest already, as far as they are free."
        )
        self.proof.setText("With these sizes: " + summary(found.job, found.study.proof))
        self._show_problems()
        self._can_take = found.job != found.of
        self._state = (
            "Nothing is changed before you take the sizes." if self._can_take else "There is nothing to take."
        )
        self._told = {}
        tops = []
        for line in proposal.lines:
            name, cost, note = self._service(line.line), self._money(line.cost), self._say(line.note)
            tops.append(
                self._top(f"line {line.line}", name, cost, note, [self._line(c) for c in line.choices])
            )
        choices = [choice for line in proposal.lines for choice in line.choices]
        self._same = frozenset(c.place for c in choices if c.old == c.new)
        known = {choice.place for choice in choices}
        blank = [""] * (len(_COLUMNS) - 1)
        gone = [TableLine(place, (place, *blank), tick=True) for place in self.pinned if place not in known]
        if gone:
            note = "No line of the proposal has these choices; take off the tick to forget them."
            tops.append(self._top("gone", _GONE, "", note, gone))
        self._lines = tuple(tops)
        self._show_rows()
        self.set_busy(False)

    def _show_problems(self) -> None:
        findings = self.offer.proposal.infeasible
        theme, said = current_theme(), self._sentences
        keys = distinct(f"{f.rule} {f.place}" for f in findings)
        self.problems.show_lines(
            [
                TableLine(
                    key,
                    (f"{MARKS[f.grade]} {f.grade.label}: {said.installer(f)}",),
                    colour=theme.of(f.grade),
                )
                for key, f in zip(keys, findings, strict=True)
            ]
        )
        self.problems.setVisible(bool(findings))
        self.problems_title.setVisible(bool(findings))

    def _say(self, phrase: Phrase) -> str:
        return self._sentences.phrase(phrase)

    def _service(self, key: str) -> str:
        return self._sentences.names.line(key)

    def _top(self, key: str, name: str, cost: str, note: str, below: list[TableLine]) -> TableLine:
        self._told[key] = note
        looks = (*[Look(bold=True)] * 4, *[Look()] * (len(_COLUMNS) - 4))
        return TableLine(key, (name, "", "", cost, "", "", "", note), looks=looks, children=tuple(below))

    def named(self, choice: Choice) -> Named:
        """A choice in words."""
        said, offer = self._sentences, self.offer
        return named(choice, offer.layout, offer.parts, offer.costs, said.names, said.figures)

    def _beside(self, near: Neighbour | None, name: str) -> str:
        if near is None:
            return "–"
        return f"{standing_of_verdict(near.verdict).sign} {self._money(near.extra_cost, signed=True)}  {name}"

    def _line(self, choice: Choice) -> TableLine:
        words = self.named(choice)
        held = choice.place in self.pinned
        stays = "  (stays)" if choice.fixed and not held else ""
        difference = "–" if words.difference is None else self._money(words.difference, signed=True)
        changed = choice.old != choice.new
        short = words.short
        cells = (
            words.what + stays,
            short.get(words.old, words.old),
            f"→ {short.get(words.new, words.new)}" if changed else "kept" if held else "same",
            self._money(choice.cost),
            difference if changed else "",
            self._beside(choice.smaller, short.get(words.smaller, words.smaller)),
            self._beside(choice.larger, short.get(words.larger, words.larger)),
            self._say(choice.reason),
        )
        looks = (
            *[Look()] * 2,
            Look(bold=changed),
            *[Look()] * 2,
            self._look(choice.smaller),
            self._look(choice.larger),
            Look(),
        )
        told = self._told[choice.place] = self._in_words(choice, words)
        tick = None if choice.fixed and not held else held
        return TableLine(choice.place, cells, told, looks=looks, tick=tick)

    @staticmethod
    def _look(near: Neighbour | None) -> Look:
        return Look() if near is None else Look(current_theme().standing(standing_of_verdict(near.verdict)))

    def _in_words(self, choice: Choice, words: Named) -> str:
        lines = [
            f"{words.what}: {words.old} → {words.new}. {self._say(choice.reason)}"
            if choice.old != choice.new
            else f"{words.what}: {words.new} stays. {self._say(choice.reason)}"
        ]
        if words.difference is None:
            lines.append("The price book lacks a price, so the difference in cost is not known.")
        for title, near, name in (
            ("Size down", choice.smaller, words.smaller),
            ("Size up", choice.larger, words.larger),
        ):
            if near is not None:
                standing: Standing = standing_of_verdict(near.verdict)
                extra = self._money(near.extra_cost, signed=True)
                works = "works" if near.verdict.holds else standing.words
                lines.append(f"{title}, {name}: {extra}; {standing.sign} {works}: {self._say(near.note)}.")
        return "\n".join(lines)

    def _tell(self, key: str) -> None:
        self.told.setText(self._told.get(key, ""))

    def _show_rows(self) -> None:
        lines = self._lines
        if self.only_changed.isChecked():
            moved = ((top, tuple(c for c in top.children if c.key not in self._same)) for top in lines)
            lines = tuple(replace(top, children=children) for top, children in moved if children)
        self.table.show_lines(lines)

    # Keeping.

    def _ticked(self, address: str, keep: bool) -> None:
        if keep == (address in self.pinned):
            return
        # Tops are shown again from these lines before the sizes are there.
        self._lines = tuple(
            replace(
                top, children=tuple(replace(c, tick=keep) if c.key == address else c for c in top.children)
            )
            for top in self._lines
        )
        self.pinned = (*self.pinned, address) if keep else tuple(p for p in self.pinned if p != address)
        self.pins_changed.emit(self.pinned)
