"""What is missing or wrong, always in view; each entry leads to its field."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal, SignalInstance
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from estimator.acts.fitting import place_of_fit
from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.desk.tables import ReadTable, TableLine, distinct, plain_label
from estimator.desk.theme import MARKS, current_theme
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.options import BASE
from estimator.model.signed import SignOff
from estimator.model.signing import Signatures
from estimator.shown.commands import ACTS
from estimator.shown.entries import Entry, entries_of
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of, sentences_of_job
from estimator.shown.signed_words import signed_words, stale_words

__all__ = ["FindingsView"]

_STALE = "signed"
"""Begins the keys of signatures that hold for nothing; with a space behind it no rule is called so."""


class FindingsView(QWidget):
    """The list of findings, and of the one under the keyboard where its rule comes from and who decides.

    Signals:
        wanted: place of a finding to go to, and id of the option that it is of ("" where it is of what is seen).
        fit_wanted: somebody asks for parts that stand what the chosen entry's does not.
        sign_wanted, unsign_wanted: somebody wants to sign for the chosen entry, or take the signature back.
    """

    wanted = Signal(str, str)
    fit_wanted = Signal()
    sign_wanted = Signal()
    unsign_wanted = Signal()

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shown: object = None
        self._said_of: Job | None = None
        self._said_from = ""
        self._said: dict[Entry, str] = {}
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 4, 0, 0)
        column.setSpacing(4)
        title = Label("What is missing or &wrong", self)
        title.setObjectName("paneTitle")
        self._title = title
        self.table = ReadTable(
            "What is missing or wrong",
            "Enter goes to the field of a finding, and Enter again to the next of an entry that is of several.",
            ("Finding",),
            self,
            sentences=True,
            always=True,
        )
        self.table.setMinimumHeight(64)
        self.table.entered.connect(self._go)
        self.table.chosen.connect(lambda _: self._show_more())
        self._found: dict[str, Entry] = {}
        self._signs: dict[Finding, SignOff] = {}
        self._stale: dict[str, SignOff] = {}
        self._turns: dict[str, int] = {}
        title.setBuddy(self.table)
        column.addWidget(title)
        column.addWidget(self.table, 1)
        below = QHBoxLayout()
        self.more = plain_label(self, "Source of the finding, who decides, who signed for it", "faint")
        below.addWidget(self.more, 1)
        self.fit = self._button("findings.fit", self.fit_wanted)
        self.sign = self._button("findings.sign", self.sign_wanted)
        self.take_back = self._button("findings.unsign", self.unsign_wanted)
        for button in (self.fit, self.sign, self.take_back):
            below.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(below)

    def _button(self, act: str, wanted: SignalInstance) -> QPushButton:
        """A button for an act that the command line has too."""
        button = QPushButton(ACTS[act].words.replace("&", ""), self)
        button.setAutoDefault(False)
        button.setToolTip(tip(ACTS[act].told))
        button.setAccessibleDescription(ACTS[act].told)
        button.clicked.connect(lambda _=False: wanted.emit())
        button.hide()
        return button

    @property
    def chosen_stale(self) -> SignOff | None:
        """The signature under the keyboard that holds for nothing any more."""
        return self._stale.get(self.table.current)

    @property
    def chosen(self) -> Entry | None:
        """The entry under the keyboard."""
        return self._found.get(self.table.current)

    def refresh(self, *, colours_changed: bool = False) -> None:
        """Show what holds; of what is still worked out, that it is."""
        session = self._session
        if session.known is None:
            findings, more = session.kept_back, f"What is missing or wrong: {session.meanwhile}"
        else:
            findings, more = session.findings, self._missing_words()
        signatures, figures = Signatures(session.whole), figures_of(session.job)
        entries = entries_of(findings, signatures.of)
        # What somebody signed for comes after what still keeps papers back.
        entries = tuple(sorted(entries, key=lambda e: not signatures.blocks(e.first)))
        self._signs = {e.first: sign for e in entries if (sign := signatures.of(e.first)) is not None}
        told = [
            f"{said} {signed_words(sign, figures)}"
            if (sign := self._signs.get(entry.first)) is not None
            else said
            for entry, said in zip(entries, self._sentences(entries), strict=True)
        ]
        # A new name or another system of units leaves the findings as they are and changes their sentences.
        stale = self._holding_for_nothing(more)
        shown = (entries, told, more, stale, figures)
        if shown == self._shown and not colours_changed:
            return
        self._shown = shown
        keys = distinct(f"{e.first.rule} {e.first.place} {e.first.option}" for e in entries)
        self._found = dict(zip(keys, entries, strict=True))
        self._turns = {key: turn for key, turn in self._turns.items() if key in self._found}
        lines = [self._line(*one) for one in zip(keys, entries, told, strict=True)]
        self._stale = {f"{_STALE} {sign.seal}": sign for sign in stale}
        lines += [
            TableLine(
                key,
                (f"{MARKS[Grade.KNOW]} {stale_words(sign, figures)}",),
                colour=current_theme().of(Grade.KNOW),
            )
            for key, sign in self._stale.items()
        ]
        if more:
            lines.append(TableLine("", (more,), colour=current_theme().faint))
        self.table.show_lines(lines or [TableLine("", ("✓ Nothing is missing or wrong.",))])
        self._show_more()

    def _sentences(self, entries: tuple[Entry, ...]) -> list[str]:
        """What the list says of each, put into words once: of the same job options bring theirs one by one."""
        session = self._session
        if session.whole is not self._said_of or session.option != self._said_from:
            # Seen from another option the same finding is of this one, or of another.
            self._said_of, self._said_from, self._said = session.whole, session.option, {}
        new = [entry for entry in entries if entry not in self._said]
        if new:
            known = session.known is not None
            say = sentences_of(session.listed, session.whole) if known else sentences_of_job(session.whole)
            self._said |= {entry: entry.installer(say) for entry in new}
        return [self._said[entry] for entry in entries]

    def _holding_for_nothing(self, more: str) -> tuple[SignOff, ...]:
        """Signatures that hold for nothing that was found, once all that can be signed is worked out."""
        session = self._session
        if not session.whole.signed or more or session.known is None or session.known_base is None:
            return ()
        found = (*session.signable_findings, *session.findings)
        return Signatures(session.whole).stale(found)

    def _missing_words(self) -> str:
        """That options on the quote are not in the list yet."""
        studies = self._session.studies
        missing = [option for option in studies.missing if option != BASE]
        offered = [a.id for a in self._session.whole.alternatives if a.offered and a.id in missing]
        if not offered:
            return ""
        number = "1 offered option" if len(offered) == 1 else f"{len(offered)} offered options"
        if studies.is_left:
            verb = "was" if len(offered) == 1 else "were"
            return f"▲ {number} {verb} not worked out: what is wrong there is not in this list."
        verb = "is" if len(offered) == 1 else "are"
        return f"… {number} {verb} still being worked out."

    def _line(self, key: str, entry: Entry, sentence: str) -> TableLine:
        if entry.first in self._signs:
            return TableLine(
                key,
                (f"✓ Signed for: {sentence}",),
                entry.source(self._session.whole.site.country),
                current_theme().warning,
            )
        text = f"{MARKS[entry.grade]} {entry.grade.label}: {sentence}"
        return TableLine(
            key, (text,), entry.source(self._session.whole.site.country), current_theme().of(entry.grade)
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where there is little room the list has it; source and decider are then in the tip of the entry alone."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        column = self.layout()
        assert column is not None
        edges = column.contentsMargins()
        above = (
            edges.top() + self._title.sizeHint().height() + self.table.minimumHeight() + 2 * column.spacing()
        )
        room = self.height() - edges.bottom() - above
        self.more.setVisible(bool(self.more.text()) and room >= self.more.heightForWidth(self.width()))

    def _show_more(self) -> None:
        entry = self.chosen
        words = ""
        if entry is not None:
            danger = entry.first.danger.words
            words = " ".join(
                filter(
                    None,
                    (
                        f"{danger.capitalize()}." if danger else "",
                        entry.source(self._session.whole.site.country),
                    ),
                )
            )
        self.more.setText(words)
        self._fit()
        never = entry is not None and entry.grade is Grade.NEVER
        signed = entry is not None and entry.first in self._signs
        offers = (
            entry is not None and place_of_fit(entry.first) and entry.first.option == self._session.option
        )
        self.fit.setVisible(offers and not signed)
        self.sign.setVisible(never and not signed)
        self.take_back.setVisible((never and signed) or self.chosen_stale is not None)

    def _go(self, key: str) -> None:
        entry = self._found.get(key)
        if entry is None:
            return  # a signature that holds for nothing has no field
        turn = self._turns.get(key, 0) % len(entry.findings)
        self._turns[key] = turn + 1
        finding = entry.findings[turn]
        self.wanted.emit(finding.place, finding.option)

    def show_grade(self, grade: Grade) -> None:
        """Put the keyboard on the first entry of a grade."""
        for key, entry in self._found.items():
            if entry.grade is grade:
                self.table.select(key)
                self.table.setFocus(Qt.FocusReason.OtherFocusReason)
                return
