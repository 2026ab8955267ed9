"""The proposal as a list of choices: what, now and proposed, why, cost, the sizes beside it, and what to keep."""

from __future__ import annotations

from decimal import Decimal

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListView,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from estimator.acts.propose import Offer
from estimator.desk.form.inputs import CheckBox
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
    "Cost",
    "Difference",
    "Size down",
    "Size up",
    "Why",
)
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
_CHOICE = Qt.ItemDataRole.UserRole
_ADDRESS = Qt.ItemDataRole.UserRole + 1
_GONE = "Kept, but not in this design"


class ProposeDialog(QDialog):
    """Shows a proposal; accepted means that its sizes are taken.

    Signals:
        pins_changed: what is kept is another; the proposal must be worked out anew.
    """

    pins_changed = Signal(tuple)

    def __init__(self, found: Offer, book: PriceBook, locale: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle("Proposed sizes")
        self.setSizeGripEnabled(True)
        self._book, self._locale = book, locale
        self._row_size = QSize(80, self.fontMetrics().height() + 8)
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
        self.problems = QListWidget(self)
        self.problems.setWordWrap(True)
        self.problems.setResizeMode(QListView.ResizeMode.Adjust)
        self.problems.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.problems.setAccessibleName("What cannot be made to work, and what would lift it")
        self.problems_title = QLabel("What cannot be made to &work, and what would lift it", self)
        self.problems_title.setObjectName("paneTitle")
        self.problems_title.setBuddy(self.problems)
        self.problems.setMaximumHeight(130)
        column.addWidget(self.problems_title)
        column.addWidget(self.problems)
        row = QHBoxLayout()
        self.only_changed = CheckBox("Show only what &changes", self)
        self.only_changed.setText("Show only what changes")
        self.only_changed.toggled.connect(lambda _: self._hide_rows())
        row.addWidget(self.only_changed)
        row.addStretch(1)
        column.addLayout(row)
        self.tree = QTreeWidget(self)
        self.tree.setColumnCount(len(_COLUMNS))
        self.tree.setHeaderLabels(_COLUMNS)
        self.tree.setAccessibleName("Choices of the proposal")
        self.tree.setAccessibleDescription(
            "Space keeps a choice as it is, or gives it free; the sizes are then proposed anew."
        )
        self.tree.setAlternatingRowColors(True)
        self.tree.setUniformRowHeights(True)
        self.tree.setIndentation(14)
        theme = current_theme()
        self.tree.setStyleSheet(
            f"QTreeView::indicator {{ width: 11px; height: 11px; border: 2px solid {theme.faint};"
            f" border-radius: 3px; background: {theme.paper}; }}"
            f"QTreeView::indicator:checked {{ background: {theme.accent}; border-color: {theme.accent}; }}"
        )
        header = self.tree.header()
        header.setStretchLastSection(True)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        for i in (3, 4):
            self.tree.headerItem().setTextAlignment(i, _RIGHT)
        self.tree.itemChanged.connect(self._ticked)
        self.tree.currentItemChanged.connect(self._tell)
        column.addWidget(self.tree, 1)
        self.told = self._label("The choice in words")
        self.told.setObjectName("help")
        self.told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.told.setMinimumHeight(self.told.fontMetrics().lineSpacing() * 5 + 14)
        column.addWidget(self.told)
        column.addLayout(self._buttons())
        self.show_offer(found)
        self._size()

    def _label(self, name: str) -> QLabel:
        label = QLabel(self)
        label.setWordWrap(True)
        label.setTextFormat(Qt.TextFormat.PlainText)
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
        above = self.parentWidget()
        room = above.size() if above is not None else self.size()
        self.resize(min(1240, max(room.width() - 60, 700)), min(760, max(room.height() - 60, 480)))
        for i in range(len(_COLUMNS)):
            self.tree.resizeColumnToContents(i)
        widest = self.fontMetrics().averageCharWidth() * 36
        for i in range(len(_COLUMNS) - 1):
            self.tree.setColumnWidth(i, min(self.tree.columnWidth(i) + 10, widest))
        self.tree.setFocus(Qt.FocusReason.OtherFocusReason)

    # Showing.

    def _money(self, amount: float | Decimal, *, signed: bool = False) -> str:
        exact = round_money(Decimal(str(amount)), self._book.currency)
        text = money_text(exact, self._book.currency, self._locale)
        return f"+{text}" if signed and exact > 0 else text

    def set_busy(self, busy: bool) -> None:
        """While the proposal is worked out anew it cannot be taken."""
        self.take.setEnabled(not busy and self._can_take)
        self.state.setText("Working out the sizes anew …" if busy else self._state)

    def show_offer(self, found: Offer) -> None:
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
        current = self.tree.currentItem()
        address = current.data(0, _ADDRESS) if current else None
        folded = {top.text(0) for top in self._tops() if not top.isExpanded()}
        self.tree.blockSignals(True)
        self.tree.clear()
        known: set[str] = set()
        for line in proposal.lines:
            top = self._top(self._service(line.line), self._money(line.cost), self._say(line.note))
            for choice in line.choices:
                known.add(choice.place)
                top.addChild(self._item(choice))
            top.setExpanded(top.text(0) not in folded)
        gone = [p for p in self.pinned if p not in known]
        if gone:
            top = self._top(
                _GONE, "", "No line of the proposal has these choices; take off the tick to forget them."
            )
            for place in gone:
                item = QTreeWidgetItem([place])
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
                item.setCheckState(0, Qt.CheckState.Checked)
                item.setData(0, _ADDRESS, place)
                top.addChild(item)
            top.setExpanded(True)
        self._hide_rows()
        self.tree.blockSignals(False)
        again = next((i for i in self.items() if address and i.data(0, _ADDRESS) == address), None)
        first = self.tree.topLevelItem(0)
        if again is not None:
            self.tree.setCurrentItem(again)
        elif first is not None:
            self.tree.setCurrentItem(first)
        self.set_busy(False)
        self._tell()

    def _show_problems(self) -> None:
        findings = self.offer.proposal.infeasible
        theme, said = current_theme(), self._sentences
        self.problems.clear()
        for finding in findings:
            item = QListWidgetItem(
                f"{MARKS[finding.severity]} {finding.severity.value.capitalize()}: {said.installer(finding)}"
            )
            item.setForeground(QColor(theme.of(finding.severity)))
            self.problems.addItem(item)
        self.problems.setVisible(bool(findings))
        self.problems_title.setVisible(bool(findings))

    def _say(self, phrase: Phrase) -> str:
        return self._sentences.phrase(phrase)

    def _service(self, key: str) -> str:
        return self._sentences.names.line(key)

    def _tops(self) -> list[QTreeWidgetItem]:
        found = (self.tree.topLevelItem(i) for i in range(self.tree.topLevelItemCount()))
        return [top for top in found if top is not None]

    @staticmethod
    def _below(top: QTreeWidgetItem) -> list[QTreeWidgetItem]:
        found = (top.child(i) for i in range(top.childCount()))
        return [item for item in found if item is not None]

    def items(self) -> list[QTreeWidgetItem]:
        """The items of the choices."""
        return [item for top in self._tops() for item in self._below(top)]

    def item_of(self, address: str) -> QTreeWidgetItem | None:
        """The item of a choice, None where it is not in the proposal."""
        return next((item for item in self.items() if item.data(0, _ADDRESS) == address), None)

    def _top(self, name: str, cost: str, note: str) -> QTreeWidgetItem:
        top = QTreeWidgetItem([name, "", "", cost, "", "", "", note])
        bold = QFont(self.tree.font())
        bold.setBold(True)
        for i in range(4):
            top.setFont(i, bold)
        top.setTextAlignment(3, _RIGHT)
        top.setSizeHint(len(_COLUMNS) - 1, self._row_size)
        self.tree.addTopLevelItem(top)
        return top

    def named(self, choice: Choice) -> Named:
        """A choice in words."""
        return named(choice, self.offer.layout, self.offer.parts, self.offer.costs)

    def _beside(self, near: Neighbour | None, name: str) -> str:
        if near is None:
            return "–"
        return f"{standing_of_verdict(near.verdict).sign} {self._money(near.extra_cost, signed=True)}  {name}"

    def _item(self, choice: Choice) -> QTreeWidgetItem:
        words = self.named(choice)
        held = choice.place in self.pinned
        stays = "  (stays)" if choice.fixed and not held else ""
        difference = "–" if words.difference is None else self._money(words.difference, signed=True)
        changed = choice.old != choice.new
        short = words.short
        item = QTreeWidgetItem(
            [
                words.what + stays,
                short.get(words.old, words.old),
                f"→ {short.get(words.new, words.new)}" if changed else "kept" if held else "same",
                self._money(choice.cost),
                difference if changed else "",
                self._beside(choice.smaller, short.get(words.smaller, words.smaller)),
                self._beside(choice.larger, short.get(words.larger, words.larger)),
                self._say(choice.reason),
            ]
        )
        for i in (3, 4):
            item.setTextAlignment(i, _RIGHT)
        item.setSizeHint(len(_COLUMNS) - 1, self._row_size)
        theme = current_theme()
        for i, near in ((5, choice.smaller), (6, choice.larger)):
            if near is not None:
                item.setForeground(i, QColor(theme.standing(standing_of_verdict(near.verdict))))
        if changed:
            bold = QFont(self.tree.font())
            bold.setBold(True)
            item.setFont(2, bold)
        if not choice.fixed or held:
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            item.setCheckState(0, Qt.CheckState.Checked if held else Qt.CheckState.Unchecked)
        item.setData(0, _CHOICE, choice)
        item.setData(0, _ADDRESS, choice.place)
        item.setData(0, Qt.ItemDataRole.AccessibleDescriptionRole, self._in_words(choice, words))
        return item

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

    def _tell(self) -> None:
        item = self.tree.currentItem()
        choice = item.data(0, _CHOICE) if item else None
        if isinstance(choice, Choice):
            self.told.setText(self._in_words(choice, self.named(choice)))
        elif item is not None:
            self.told.setText(item.text(len(_COLUMNS) - 1))
        else:
            self.told.setText("")

    def _hide_rows(self) -> None:
        only = self.only_changed.isChecked()
        for top in self._tops():
            shown = 0
            for child in self._below(top):
                choice = child.data(0, _CHOICE)
                hide = only and isinstance(choice, Choice) and choice.old == choice.new
                child.setHidden(hide)
                shown += not hide
            top.setHidden(only and not shown)

    # Keeping.

    def _ticked(self, item: QTreeWidgetItem, at: int) -> None:
        address = item.data(0, _ADDRESS)
        if at != 0 or not isinstance(address, str):
            return
        keep = item.checkState(0) is Qt.CheckState.Checked
        if keep == (address in self.pinned):
            return
        self.pinned = (*self.pinned, address) if keep else tuple(p for p in self.pinned if p != address)
        self.pins_changed.emit(self.pinned)
