"""Options: make one from another, work on it, see all side by side, compare two row by row."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMenu,
    QProgressBar,
    QPushButton,
    QSplitter,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from estimator.acts.alternates import alternates
from estimator.acts.options import (
    free_name,
    kept_own,
    made_base,
    taken_from_base,
    with_option,
    without_option,
)
from estimator.desk.flow import Flow
from estimator.desk.form.inputs import CheckBox, ComboBox, LineEdit
from estimator.desk.plain import Label, menu_words, tip
from estimator.desk.session import Session
from estimator.desk.tables import ReadTable, TableLine, plain_label
from estimator.desk.theme import MARKS, current_theme
from estimator.model.design import Design
from estimator.model.edit import EditError, with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.option_designs import OwnState, design_of, option_ids, option_name
from estimator.model.options import BASE, OptionChange
from estimator.model.signing import Signatures
from estimator.money import money_text
from estimator.pricing.compare import Comparison, OptionFigures, compare, lines_of
from estimator.shown.changes import quantity_words, row_change_words
from estimator.shown.commands import ACTS
from estimator.shown.entries import entries_of
from estimator.shown.figures import Figures, figures_of
from estimator.shown.findings import sentences_of
from estimator.shown.options import OwnWords, own_words
from estimator.takeoff.words import row_words

__all__ = ["OptionsView", "comparison_lines"]

_ALL = ("Option", ">Total", "Findings", ">Cost P10", ">P50", ">P90", ">In window", "On the quote")
_OWN = ("What", "Here", "In the base", "Note")
_FEW_ROWS = 112
"""Height of a table of three rows with its heading; in less the view scrolls."""

_WIDEST_NAME = 270
"""Pixels of a drop-down with names of options, at the most: in the narrowest view it fills a line with its word."""

_ROWS = ("What", "", ">Before", ">After", ">Difference")


def comparison_lines(found: Comparison, figures: Figures) -> tuple[TableLine, ...]:
    """Rows and sums of a comparison, the difference of the totals last."""

    def money(amount: Decimal) -> str:
        return money_text(amount, found.currency, figures.locale)

    def signed(amount: Decimal) -> str:
        return f"+{money(amount)}" if amount > 0 else money(amount)

    rows = [
        TableLine(
            r.key,
            (
                f"{r.description}, {r.detail}" if r.detail else r.description,
                r.kind.value,
                f"{quantity_words(r, figures)[0]} · {money(r.price_before)}",
                f"{quantity_words(r, figures)[1]} · {money(r.price_after)}",
                signed(r.difference),
            ),
            row_change_words(r, figures),
        )
        for r in found.alone
    ]
    if (folded := found.repriced) is not None:
        told = "\n".join(f"{row_change_words(r, figures)} {signed(r.difference)}" for r in folded.rows)
        cells = (
            folded.words,
            "changed",
            money(folded.before),
            money(folded.after),
            signed(folded.difference),
        )
        rows.append(TableLine("repriced", cells, told))
    rows += [
        TableLine(f"sum {s.name}", (s.name, "", money(s.before), money(s.after), signed(s.difference)))
        for s in found.sums
    ]
    total = ("Total to pay", "", money(found.before), money(found.after), signed(found.difference))
    return (*rows, TableLine("total", total))


def _own_key(change: OptionChange) -> str:
    """Of its line in the list of what an option has of its own."""
    return f"{change.kind.value} {change.key}"


class OptionsView(QWidget):
    """All options of a job.

    Signals:
        made: id of an option that was just made.
    """

    made = Signal(str)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._studies = session.studies
        self._of: object = None
        self._lines: dict[str, tuple[object, TableLine]] = {}
        self._own: dict[str, OwnWords] = {}
        self._chosen_of: tuple[Job, str, str] | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        column.addLayout(self._make_buttons())
        self.all = ReadTable("Options side by side", "Enter works on the option of a row.", _ALL, self)
        self.all.entered.connect(self._session.work_on)
        self.all.chosen.connect(lambda _: self._choose())
        column.addLayout(self._make_editor())
        column.addLayout(self._make_progress())
        lower = QWidget(self)
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(4)
        below.addLayout(self._make_pair())
        self.rows = ReadTable(
            "Comparison row by row",
            "What was added, removed or changed from the first to the second.",
            _ROWS,
            self,
        )
        for table in (self.all, self.rows):
            table.setMinimumHeight(_FEW_ROWS)
        below.addWidget(self.rows, 1)
        split = QSplitter(Qt.Orientation.Vertical, self)
        split.setObjectName("options")
        split.addWidget(self.all)
        split.addWidget(self._make_own())
        split.addWidget(lower)
        split.setChildrenCollapsible(False)
        split.setSizes([140, 110, 190])
        column.addWidget(split, 1)

    def _act(self, act: str, words: str = "") -> QPushButton:
        """A button for an act that the command line has too."""
        return self._button(words or ACTS[act].words.replace("&", ""), ACTS[act].told)

    def _button(self, text: str, told: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setAutoDefault(False)
        button.setToolTip(tip(told))
        button.setAccessibleDescription(told)
        return button

    def _make_buttons(self) -> Flow:
        row = Flow()
        self.copy = self._act("options.make", "Make an option")
        self.copy.clicked.connect(lambda _=False: self.make_copy())
        self.ready = QToolButton(self)
        self.ready.setText(ACTS["options.ready"].words.replace("&", ""))
        self.ready.setToolTip(tip(ACTS["options.ready"].told))
        self.ready.setAccessibleName("Ready-made alternates")
        self.ready.setAccessibleDescription(self.ready.toolTip())
        self.ready.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.menu = QMenu(self.ready)
        self.menu.setAccessibleName("Ready-made alternates")
        self.menu.aboutToShow.connect(self.fill_menu)
        self.ready.setMenu(self.menu)
        self.work = self._button("Work on it", "Form, plan, price and proof show the chosen option.")
        self.work.clicked.connect(lambda _=False: self._session.work_on(self.chosen))
        self.base = self._act("options.make-base")
        self.base.clicked.connect(lambda _=False: self.make_base())
        self.remove = self._act("options.remove")
        self.remove.clicked.connect(lambda _=False: self.remove_chosen())
        for widget in (self.copy, self.ready, self.work, self.base, self.remove):
            row.add(widget)
        return row

    def _make_own(self) -> QWidget:
        panel = QWidget(self)
        column = QVBoxLayout(panel)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        row = Flow()
        self.own_title = plain_label(self, "What the option has of its own", "paneTitle", wrap=False)
        self.take_base = self._act("options.take-base")
        self.take_base.clicked.connect(lambda _=False: self.take_from_base())
        self.keep_own = self._act("options.keep-own")
        self.keep_own.clicked.connect(lambda _=False: self.keep_own_value())
        row.add(self.own_title, fills=True)
        row.add(self.keep_own)
        row.add(self.take_base)
        column.addLayout(row)
        self.own = ReadTable(
            "What the option has of its own",
            "What the chosen option has otherwise than the base.",
            _OWN,
            self,
        )
        self.own.chosen.connect(lambda _: self._show_own_acts())
        self.own.setMinimumHeight(_FEW_ROWS)
        column.addWidget(self.own, 1)
        return panel

    def _make_editor(self) -> Flow:
        row = Flow()
        label = Label(ACTS["options.rename"].words, self)
        self.name = LineEdit(self)
        self.name.setAccessibleName("Name of the option")
        self.name.setAccessibleDescription(f"{ACTS['options.rename'].told} Enter takes it over.")
        self.name.setMaxLength(200)
        self.name.committed.connect(self.rename)
        label.setBuddy(self.name)
        self.offered = CheckBox(ACTS["options.offer"].words, self)
        self.offered.setAccessibleDescription(ACTS["options.offer"].told)
        self.offered.clicked.connect(self.offer)
        row.add(label)
        row.add(self.name, fills=True)
        row.add(self.offered)
        return row

    def _make_progress(self) -> Flow:
        row = Flow()
        self.state = plain_label(self, "Work on the options", "faint", wrap=False)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setMaximumHeight(10)
        self.progress.setAccessibleName("Options worked out")
        self.cancel = self._button("Cancel", "Leaves the options that are not worked out yet.")
        self.cancel.clicked.connect(lambda _=False: self._studies.stop())
        self.again = self._button("Work them out", "Works out the options that were left.")
        self.again.clicked.connect(lambda _=False: self._studies.again())
        for widget in (self.state, self.progress, self.cancel, self.again):
            row.add(widget, fills=widget is self.progress)
            widget.hide()
        self._studies.moved.connect(self._moved)
        self._studies.began.connect(self._moved)
        self._studies.arrived.connect(self._arrived)
        return row

    def _make_pair(self) -> Flow:
        row = Flow()
        self.first, self.second = ComboBox(self), ComboBox(self)
        first, second = Label("F&rom", self), Label("&to", self)
        for label, box, name in ((first, self.first, "Compare from"), (second, self.second, "Compare to")):
            box.setAccessibleName(name)
            box.setAccessibleDescription("The option that is compared.")
            box.currentIndexChanged.connect(lambda _: self._compare())
            label.setBuddy(box)
            # A box goes on in the next line with its word.
            pair = QWidget(self)
            beside = QHBoxLayout(pair)
            beside.setContentsMargins(0, 0, 0, 0)
            beside.addWidget(label)
            beside.addWidget(box, 1)
            row.add(pair, fills=True)
        self.difference = plain_label(self, "Difference of the two", "paneTitle", wrap=False)
        row.add(self.difference)
        return row

    # Acts.

    @property
    def chosen(self) -> str:
        """Id of the option in the table under the keyboard; the one worked on if there is none."""
        key = self.all.current
        return key if key in option_ids(self._session.whole) else self._session.option

    def _add(self, name: str, design: Design) -> None:
        name = free_name(self._session.whole, name)
        try:
            whole, new = with_option(self._session.whole, name, design)
        except EditError as error:
            self._session.said.emit(str(error))
            return
        self._session.act_whole(f"Make option {name}", whole, option=new)
        self.all.select(new)
        self.second.setCurrentIndex(self.second.findData(new))
        self._session.said.emit(f"“{name}” is worked on from now on. Undo takes it back.")
        self.made.emit(new)

    def make_copy(self) -> None:
        """A copy of the chosen option; it is worked on from then on."""
        whole = self._session.whole
        self._add(f"Copy of {option_name(whole, self.chosen)}"[:200], design_of(whole, self.chosen))

    def copy_worked_on(self) -> None:
        """A copy of the option worked on, its name ready to be typed over."""
        self.all.select(self._session.option)
        self.make_copy()
        self.name.setFocus()
        self.name.selectAll()

    def ready_made(self, option: str | None = None) -> list[tuple[str, Callable[[], None]]]:
        """Names of the alternates that make another design of an option, and what makes each.

        Args:
            option: its id; the one worked on if not given.
        """
        of = design_of(self._session.whole, option or self._session.option)
        return [(a.name, partial(self._add, a.name, design)) for a, design in alternates(of)]

    def fill_menu(self) -> None:
        """The alternates that make another design of the chosen option."""
        self.menu.clear()
        for name, make in self.ready_made(self.chosen):
            self.menu.addAction(menu_words(name), make)
        if self.menu.isEmpty():
            self.menu.addAction("Nothing to do otherwise yet").setEnabled(False)

    def _take(self, name: str, whole: Job) -> None:
        if whole != self._session.whole:
            self._session.act_whole(name, whole)

    def rename(self, name: str) -> None:
        """Another name for the chosen option."""
        whole, option = self._session.whole, self.chosen
        path: tuple[str | int, ...] = ("design", "name")
        if option != BASE:
            path = ("alternatives", option_ids(whole).index(option) - 1, "name")
        try:
            self._take(f"Rename option: {name}", with_value(whole, path, name.strip()))
        except EditError as error:
            self._session.said.emit(str(error))
            self._show_chosen()

    def offer(self, offered: bool) -> None:
        """Whether the quote offers the chosen option."""
        whole, option = self._session.whole, self.chosen
        place = option_ids(whole).index(option) - 1
        words = "offered" if offered else "not offered"
        name = f"{option_name(whole, option)}: {words}"
        self._take(name, with_value(whole, ("alternatives", place, "offered"), offered))

    def make_base(self) -> None:
        """The chosen option changes places with the base; what is worked on stays the same design."""
        whole, option = self._session.whole, self.chosen
        to = {option: BASE, BASE: option}.get(self._session.option, self._session.option)
        name = f"Make {option_name(whole, option)} the base"
        self._session.act_whole(name, made_base(whole, option), option=to)
        self.all.select(BASE)

    def remove_chosen(self) -> None:
        """The chosen option goes."""
        whole, option = self._session.whole, self.chosen
        self._session.act_whole(f"Remove option {option_name(whole, option)}", without_option(whole, option))

    # Showing.

    def show_option(self, place: int, change: int | None = None) -> None:
        """Choose an option, and in what it has of its own one of its changes; the keyboard goes there.

        Args:
            place: position among the alternatives; where there is none, nothing is chosen.
            change: position among its changes; its name where it is left out.
        """
        alternatives = self._session.whole.alternatives
        if not 0 <= place < len(alternatives):
            return
        alternative = alternatives[place]
        self.refresh()
        self.all.select(alternative.id)
        self._show_chosen()
        if change is None or not 0 <= change < len(alternative.changes):
            self.name.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.own.select(_own_key(alternative.changes[change]))
        self.own.setFocus(Qt.FocusReason.OtherFocusReason)

    def showEvent(self, event: QShowEvent) -> None:
        """In view all options are worked out, those not on the quote too."""
        super().showEvent(event)
        self.refresh()
        self._studies.compare(True)
        self._moved()

    def hideEvent(self, event: QHideEvent) -> None:
        """Out of view those on the quote alone; what is under way goes on."""
        super().hideEvent(event)
        self._studies.compare(False)

    def refresh(self) -> None:
        """Show what holds, if in view."""
        session = self._session
        now = (session.whole, session.book, session.option, session.today())
        if not self.isVisible() or now == self._of:
            return
        self._of = now
        self._show_all()
        if self.all.current not in option_ids(session.whole):
            self.all.select(session.option)
        self._show_chosen()
        self._fill_pair(option_ids(session.whole))

    def _arrived(self, option: str) -> None:
        if self.isVisible() and option in (self.first.currentData(), self.second.currentData()):
            self._compare()

    def _moved(self) -> None:
        """Another one is there, or begins, or was left: the table tells it, and the bar how far it is."""
        if not self.isVisible():
            return
        studies = self._studies
        of, left = len(studies.wanted), len(studies.missing)
        busy = left > 0 and not studies.is_left
        self.progress.setRange(0, max(of, 1))
        self.progress.setValue(of - left)
        self.state.setText(
            f"{of - left} of {of} options worked out" if busy else f"{left} options not worked out"
        )
        self.state.setVisible(left > 0)
        self.progress.setVisible(busy)
        self.cancel.setVisible(busy)
        self.again.setVisible(studies.is_left)
        self._show_all()

    def _show_all(self) -> None:
        self.all.show_lines([self._line(option) for option in option_ids(self._session.whole)])

    def _empty_line(self, option: str) -> TableLine:
        mark = "▸ " if option == self._session.option else ""
        waits = "not worked out" if self._studies.is_left else "…"
        cells = (f"{mark}{option_name(self._session.whole, option)}", waits, *[""] * (len(_ALL) - 2))
        return TableLine(option, cells, "Not worked out yet.")

    def _line(self, option: str) -> TableLine:
        session, found = self._session, self._studies.figures(option)
        if found is None:
            return self._empty_line(option)

        offered = option == BASE or any(a.id == option and a.offered for a in session.whole.alternatives)
        locale, name = session.job.terms.locale, option_name(session.whole, option)
        study = self._studies.of(option)
        findings = () if study is None else study.findings
        # What is open in it is told in the job's units, and changes with a signature.
        told = (findings, session.whole.signed, session.job.units, current_theme())
        follows = (found, offered, option == session.option, locale, name, told)
        # Answers come one by one, and each shows the whole table.
        known = self._lines.get(option)
        if known is None or known[0] != follows:
            line = self._written(found, name, offered=offered, locale=locale)
            known = self._lines[option] = follows, line
        return known[1]

    def _written(self, found: OptionFigures, name: str, *, offered: bool, locale: str) -> TableLine:
        option = found.id

        def money(amount: Decimal | None) -> str:
            if amount is None:
                return "–"
            return money_text(amount, found.currency, locale)

        mark = "▸ " if option == self._session.option else ""
        inside = "–" if found.drops is None else f"{found.inside} of {found.drops} drops"
        told = "Worked on now. " if mark else ""
        if found.outside:
            told += f"Outside their window, or with an unfit part: {', '.join(found.outside)}. "
        if not found.complete:
            told += "Some parts have no price."
        counts, stops = self._counts(option)
        told += " ".join(stops)
        cells = (
            f"{mark}{name}{'' if found.complete else ' ▲'}",
            money(found.total.likely),
            "  ".join(f"{MARKS[grade]} {count}" for grade, count in counts.items() if count) or "✓ none",
            money(found.p10),
            money(found.p50),
            money(found.p90),
            inside,
            "base" if option == BASE else "to be ticked" if offered else "no",
        )
        colour = current_theme().error if stops else ""
        return TableLine(option, cells, told.strip(), colour)

    def _counts(self, option: str) -> tuple[dict[Grade, int], tuple[str, ...]]:
        """How many findings of each grade a design has but for what is only to be known, and what must never go out."""
        study = self._studies.of(option)
        findings = () if study is None else tuple(replace(f, option=option) for f in study.findings)
        signatures = Signatures(self._session.whole)
        # What was signed for is no open point.
        left = [f for f in findings if f.grade is not Grade.KNOW and signatures.of(f) is None]
        counts = Counter(f.grade for f in left)
        say = sentences_of(study) if study is not None else None
        stops = (
            [e.installer(say) for e in entries_of(f for f in left if f.grade is Grade.NEVER)] if say else []
        )
        return {grade: counts[grade] for grade in Grade}, tuple(stops)

    def _choose(self) -> None:
        """Another row, or the same one written anew, as each does whenever a design arrives."""
        if (self._session.whole, self.chosen, self._session.option) != self._chosen_of:
            self._show_chosen()

    def _show_chosen(self) -> None:
        self._chosen_of = self._session.whole, self.chosen, self._session.option
        whole, option = self._session.whole, self.chosen
        self.name.show_text(option_name(whole, option))
        extra = option != BASE
        for button in (self.base, self.remove, self.offered):
            button.setEnabled(extra)
        self.work.setEnabled(option != self._session.option)
        self.offered.setChecked(any(a.id == option and a.offered for a in whole.alternatives))
        self._own = {_own_key(w.change): w for w in own_words(whole, option)}
        self.own.show_lines(
            [
                TableLine(key, (w.what, w.own, w.base, w.note), f"{w.what}. {w.note}")
                for key, w in self._own.items()
            ]
        )
        both = sum(w.state is OwnState.BOTH for w in self._own.values())
        count = f"{len(self._own)} of its own" if self._own else "nothing of its own: it follows the base"
        more = f", {both} changed in the base too" if both else ""
        self.own_title.setText(f"{option_name(whole, option)}: {count}{more}" if extra else "The base design")
        self._show_own_acts()

    def _show_own_acts(self) -> None:
        words = self._own.get(self.own.current)
        self.take_base.setEnabled(words is not None)
        self.keep_own.setEnabled(words is not None and words.state is OwnState.BOTH)

    def take_from_base(self) -> None:
        """The chosen row of its own is again as in the base design."""
        words = self._own.get(self.own.current)
        if words is not None:
            self._own_act("as in the base", words, taken_from_base)

    def keep_own_value(self) -> None:
        """The chosen row of its own is kept, looked at."""
        words = self._own.get(self.own.current)
        if words is not None:
            self._own_act("keeps its own", words, kept_own)

    def _own_act(self, name: str, words: OwnWords, act: Callable[[Job, str, OptionChange], Job]) -> None:
        whole, option = self._session.whole, self.chosen
        try:
            self._take(
                f"{option_name(whole, option)}, {words.what}: {name}", act(whole, option, words.change)
            )
        except EditError as error:
            self._session.said.emit(str(error))

    def _fill_pair(self, ids: tuple[str, ...]) -> None:
        whole = self._session.whole
        for box, at in ((self.first, 0), (self.second, 1)):
            before = box.currentData()
            blocked = box.blockSignals(True)
            box.clear()
            for option in ids:
                box.offer(option_name(whole, option), option)
            place = box.findData(before)
            fallback = min(at, len(ids) - 1)
            box.setCurrentIndex(place if place >= 0 and (at == 0 or before != BASE) else fallback)
            box.show_whole(_WIDEST_NAME)
            box.blockSignals(blocked)
        self._compare()

    def _compare(self) -> None:
        before, after = (self._studies.of(str(b.currentData())) for b in (self.first, self.second))
        if before is None or after is None or before is after:
            self.rows.show_lines(())
            self.difference.setText("Choose two options to compare.")
            return
        found = compare(*(lines_of(study.price, row_words(study.job)) for study in (before, after)))
        locale = self._session.job.terms.locale
        self.rows.show_lines(comparison_lines(found, figures_of(self._session.job)))
        sign = "+" if found.difference > 0 else ""
        self.difference.setText(f"{sign}{money_text(found.difference, found.currency, locale)}")
