"""Revisions: issue one with its paper, see those that were issued, and what moved since."""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QPushButton, QSplitter, QVBoxLayout, QWidget

from estimator.acts.issue import IssueError, issue, issued_ahead, withdraw
from estimator.acts.signable import blocked_words, unnamed
from estimator.desk.doing.questions import Dialogs
from estimator.desk.flow import Flow
from estimator.desk.form.inputs import ComboBox, LineEdit
from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.desk.tables import ReadTable, TableLine, plain_label
from estimator.desk.theme import MARKS, current_theme
from estimator.desk.views.options import comparison_lines
from estimator.desk.views.since_bar import since_words
from estimator.going import Going
from estimator.locales import day_text
from estimator.model.finding import Severity, in_order
from estimator.model.grades import Grade
from estimator.model.issued import PROMISE, Issued, TextError, handed
from estimator.model.job import Job
from estimator.model.revisions import issue_findings, next_letter, standing
from estimator.model.seals import short
from estimator.model.signing import blocking
from estimator.money import money_text
from estimator.pricing.compare import CompareError
from estimator.pricing.revise import Changes, changes_between, expired
from estimator.shown.commands import ACTS
from estimator.shown.figures import figures_of
from estimator.shown.papers import paper_stem

if TYPE_CHECKING:
    from estimator.desk.doing.files import Files
from estimator.shown.findings import sentences_of_job

__all__ = ["RevisionsView"]

_COLUMNS = ("Reason", "Revision", "Issued on", ">Total", "Content", "Fingerprint", "Paper", "State")
_NOW = "now"
_ROOM_FOR_A_REASON = 200
_FEW_ROWS = 112
"""Height of a table of three rows with its heading; in less the view scrolls."""


class RevisionsView(QWidget):
    """Issued revisions, to be read only.

    Args:
        session: the open job.
        files: saves the job and does slow work beside the window.
        dialogs: asks the person.
    """

    def __init__(
        self, session: Session, files: Files, dialogs: Dialogs, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._files, self._dialogs = session, files, dialogs
        self._of: object = None
        self._waiting: Job | None = None
        session.studies.moved.connect(self._options_moved)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        row = Flow()
        label = Label("&Reason", self)
        self.reason = LineEdit(self)
        self.reason.setAccessibleName("Reason of the revision")
        self.reason.setAccessibleDescription(
            "Why it is issued, which stands in the list and on the paper; or why one is withdrawn."
        )
        self.reason.setPlaceholderText("Why a revision is issued, or withdrawn")
        self.reason.setMaxLength(500)
        self.reason.setMinimumWidth(_ROOM_FOR_A_REASON)
        label.setBuddy(self.reason)
        self.issue = QPushButton("Issue revision", self)
        self.issue.setObjectName("primary")
        self.issue.setAutoDefault(False)
        self.issue.setAccessibleDescription(ACTS["revisions.issue"].told)
        self.issue.setToolTip(tip(self.issue.accessibleDescription()))
        self.issue.clicked.connect(lambda _=False: self.start())
        self.withdraw = QPushButton(ACTS["revisions.withdraw"].words, self)
        self.withdraw.setAutoDefault(False)
        self.withdraw.setAccessibleDescription(ACTS["revisions.withdraw"].told)
        self.withdraw.setToolTip(tip(self.withdraw.accessibleDescription()))
        self.withdraw.clicked.connect(lambda _=False: self.take_back())
        self.again = QPushButton("Copy its PDF…", self)
        self.again.setAutoDefault(False)
        self.again.setAccessibleDescription(
            "Writes a copy of the paper of the chosen revision, byte for byte."
        )
        self.again.setToolTip(tip(self.again.accessibleDescription()))
        self.again.clicked.connect(lambda _=False: self.write_again())
        for widget in (label, self.reason, self.issue, self.withdraw, self.again):
            row.add(widget, fills=widget is self.reason)
        column.addLayout(row)
        self.warning = plain_label(self, "What is wrong with the revisions")
        column.addWidget(self.warning)
        self.table = ReadTable(
            "Issued revisions", "Read only; the paper of the chosen one can be copied.", _COLUMNS, self
        )
        self.table.chosen.connect(lambda _: self._chosen())
        self.promise = plain_label(self, "What a fingerprint promises", "faint")
        self.promise.setText(PROMISE)
        lower = QWidget(self)
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(4)
        pair = Flow()
        which = Label("Wh&at moved", self)
        self.which = ComboBox(self)
        self.which.setAccessibleName("What moved, between which")
        self.which.setAccessibleDescription(
            "The job as it is now against the last revision, or one against another."
        )
        self.which.currentIndexChanged.connect(lambda _: self._show_changes())
        which.setBuddy(self.which)
        self.since = plain_label(self, "Change of the price", "paneTitle", wrap=False)
        pair.add(which)
        pair.add(self.which, fills=True)
        pair.add(self.since)
        below.addLayout(pair)
        self.moved = ReadTable("What moved", "One change in each row.", ("Change",), self, sentences=True)
        self.rows = ReadTable(
            "What it did to the price",
            "Rows that were added, removed or changed.",
            ("What", "", ">Before", ">After", ">Difference"),
            self,
        )
        for table in (self.table, self.moved, self.rows):
            table.setMinimumHeight(_FEW_ROWS)
        below.addWidget(self.moved, 1)
        below.addWidget(self.rows, 1)
        split = QSplitter(Qt.Orientation.Vertical, self)
        split.setObjectName("revisions")
        split.addWidget(self.table)
        split.addWidget(lower)
        split.setChildrenCollapsible(False)
        split.setSizes([110, 260])
        column.addWidget(split, 1)
        column.addWidget(self.promise)

    # Acts.

    def _day(self) -> date:
        return self._session.today()

    def show_newest(self) -> None:
        """Show what moved since the last revision, the keyboard on it."""
        self.which.setCurrentIndex(0)
        self.moved.setFocus(Qt.FocusReason.OtherFocusReason)

    def ask(self) -> None:
        """Put the keyboard where the reason is typed; begin if there is one already."""
        self.reason.setFocus(Qt.FocusReason.OtherFocusReason)
        if self.reason.text().strip():
            self.start()

    def _reason(self, what: str) -> str:
        reason = self.reason.text().strip()
        if not reason:
            self._session.said.emit(f"Say why the revision is {what} first.")
            self.reason.setFocus(Qt.FocusReason.OtherFocusReason)
        return reason

    def start(self) -> None:
        """Issue the next revision: content and paper are sealed and saved with the job, then a copy is written."""
        session, dialogs = self._session, self._dialogs
        if self._files.papers.is_issuing:
            session.said.emit("A revision is being issued already.")
            return
        if lacking := unnamed(session.whole):
            dialogs.tell("The revision was not issued", lacking)
            return
        reason = self._reason("issued")
        if not reason:
            return
        whole = session.whole
        if self._waits_for_options():
            return
        letter = next_letter(whole)
        # Of every design that the customer can sign.
        if kept_back := blocking(whole, session.signable_findings):
            dialogs.tell("The revision was not issued", [blocked_words(len(kept_back))])
            return
        errors = sum(
            f.severity is Severity.ERROR and f.grade is not Grade.NEVER for f in session.signable_findings
        )
        if errors and not dialogs.ask(
            f"Issue revision {letter}",
            f"The list of what is missing or wrong holds {errors} that would make the quote not right.",
            "Issue it anyway",
        ):
            return
        earlier = issued_ahead(whole, self._day())
        if earlier is not None and not dialogs.ask(
            f"Issue revision {letter}",
            f"The revision before is dated {day_text(earlier, session.job.terms.locale)}, after today: this computer's "
            "clock was ahead then or is behind now. Set it right first if it is behind.",
            "Issue it dated today",
        ):
            return
        kept_in = self._files.job_path()
        path = kept_in and self._files.papers.where_to(
            f"Write the paper of revision {letter}", Path(f"{paper_stem(whole, letter=letter)}.pdf")
        )
        if kept_in is None or path is None:
            session.said.emit("Nothing was issued.")
            return
        own = self._files.is_same(path, kept_in)
        if own is None:
            session.said.emit("Nothing was issued.")
            return
        if own:  # by whatever name
            dialogs.tell(
                "The revision was not issued", [f"{path.name} is the job's own file; choose another."]
            )
            return
        from estimator.documents.quote import write_revision  # what writes PDF is loaded when one is wanted

        work_out = session.whole_study()

        def work(going: Going) -> Job:
            going.check()
            study = work_out(going)
            going.check()
            printer = partial(write_revision, study, going=going)
            return issue(study, reason, printer, earlier=earlier is not None)

        session.said.emit(f"Writing revision {letter} …")
        self._files.papers.start_issue(
            work, lambda made: self._done(whole, made, kept_in, path), self._not_issued, path
        )

    def _waits_for_options(self) -> bool:
        """Whether an offered option is not worked out yet: what is wrong there is not known. It goes on once it is."""
        session, studies = self._session, self._session.studies
        if not self._options_missing():
            return False
        if studies.is_left:
            studies.again()
        self._waiting = session.whole
        session.said.emit("Offered options are still being worked out; it goes on once they are.")
        return True

    def _options_missing(self) -> bool:
        offered = {a.id for a in self._session.whole.alternatives if a.offered}
        return bool(offered.intersection(self._session.studies.missing))

    def _options_moved(self) -> None:
        """Go on with what waited for the options; another job, or one whose options were left, is not issued."""
        waiting = self._waiting
        if waiting is None:
            return
        if waiting is not self._session.whole or self._session.studies.is_left:
            self._waiting = None
        elif not self._options_missing():
            self._waiting = None
            # After all who hear that they are there: what is shown must hold before anything is asked.
            QTimer.singleShot(0, self, self.start)

    def _not_issued(self, error: object) -> None:
        self._dialogs.tell("The revision was not issued", [str(error) or type(error).__name__])

    def _done(self, before: Job, made: object, kept_in: Path, path: Path) -> None:
        assert isinstance(made, Job)
        session, dialogs = self._session, self._dialogs
        if session.whole is not before:
            dialogs.tell(
                "The revision was not issued", ["The job was changed while it was written. Issue it again."]
            )
            return
        new = made.issued[-1]
        if not self._files.keep_final(kept_in, f"Issue revision {new.letter}", made):
            return
        self.reason.show_text("")
        session.said.emit(f"Revision {new.letter} is issued and kept in {kept_in.name}.")
        self._files.papers.start_copy(
            new,
            path,
            f"Revision {new.letter} is issued, kept in {kept_in.name} and copied to {path.name}.",
            f"Revision {new.letter} is issued and its paper kept in {kept_in.name}; copy its PDF from there.",
        )

    def take_back(self) -> None:
        """Mark the chosen revision as withdrawn, after asking."""
        issued, session = self.chosen, self._session
        if issued is None or self._files.papers.is_issuing:
            return
        reason = self._reason("withdrawn")
        if not reason:
            return
        if not self._dialogs.ask(
            f"Withdraw revision {issued.letter}",
            "It stays on record with its paper, and its letter is not used again. This cannot be undone.",
            "Withdraw it",
        ):
            return
        earlier = issued_ahead(session.whole, self._day())
        if earlier is not None and not self._dialogs.ask(
            f"Withdraw revision {issued.letter}",
            f"A revision is dated {day_text(earlier, session.job.terms.locale)}, after today: this "
            "computer's clock was ahead then or is behind now.",
            "Withdraw it dated today",
        ):
            return
        try:
            made = withdraw(session.whole, issued.letter, self._day(), reason, earlier=earlier is not None)
        except (IssueError, LookupError) as error:
            self._dialogs.tell("The revision was not withdrawn", [str(error)])
            return
        path = self._files.job_path()
        if path is None:
            session.said.emit("Nothing was withdrawn.")
        elif self._files.keep_final(path, f"Withdraw revision {issued.letter}", made):
            self.reason.show_text("")
            session.said.emit(f"Revision {issued.letter} is withdrawn.")

    def write_again(self) -> None:
        """A copy of the paper of the chosen revision."""
        issued = self.chosen
        if issued is None:
            return
        path = self._files.papers.where_to(
            f"Copy the paper of revision {issued.letter}",
            Path(paper_stem(self._session.whole, issued) + ".pdf"),
        )
        if path is not None:
            words = f"Wrote {path.name}: the same bytes as were handed over."
            self._files.papers.start_copy(issued, path, words)

    # Showing.

    @property
    def chosen(self) -> Issued | None:
        """The revision under the keyboard."""
        key = self.table.current
        issued = self._session.whole.issued
        return issued[int(key)] if key and int(key) < len(issued) else None

    def showEvent(self, event: QShowEvent) -> None:
        """Work out what was left while out of view."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what holds, if in view."""
        session = self._session
        waits = session.known_base is None and session.meanwhile
        now = (session.whole, session.book, self._day(), current_theme(), waits)
        if not self.isVisible() or now == self._of:
            return
        self._of = now
        whole = session.whole
        self.issue.setText(f"Issue revision {next_letter(whole)}…")
        wrong = (*issue_findings(whole), *expired(whole, self._day()))
        say = sentences_of_job(whole)
        self.warning.setText("\n".join(f"{MARKS[f.grade]} {say.installer(f)}" for f in wrong))
        worst = in_order(wrong)[0].grade if wrong else Grade.KNOW
        self.warning.setStyleSheet(f"color: {current_theme().of(worst)};")
        self.warning.setVisible(bool(wrong))
        by_place: dict[str, set[str]] = {}
        for finding in issue_findings(whole):
            by_place.setdefault(finding.place, set()).add(finding.rule)
        stands = standing(whole)
        self.table.show_lines(
            [
                self._line(i, r, by_place.get(f"issued.{i}", set()), stands is r)
                for i, r in enumerate(whole.issued)
            ]
        )
        if whole.issued and self.chosen is None:
            self.table.select(str(len(whole.issued) - 1))
        self._fill_which(whole)
        self._chosen()

    def _line(self, place: int, issued: Issued, wrong: set[str], stands: bool) -> TableLine:
        try:
            figures = handed(issued)
            shown = figures_of(self._session.whole)
            dated, reason = shown.day(figures.dated), figures.reason
            total = money_text(figures.total, figures.currency, figures.locale)
            end = shown.day(figures.valid_until) if figures.valid_until else "the end of the calendar"
            told = f"{reason} Valid until {end}. "
        except TextError:
            dated = reason = total = "?"
            told = ""
        paper = "✓ kept" if issued.paper else "not in the file"
        if any(rule.startswith("paper") for rule in wrong):
            paper = "✕ damaged"
        gone = issued.withdrawn
        state = "stands" if stands else "replaced"
        if gone is not None:
            state = f"withdrawn {figures_of(self._session.whole).day(gone.dated)}"
            told += f"Withdrawn: {gone.reason} "
        cells = (
            reason or "–",
            issued.letter,
            dated,
            total,
            "✕ changed" if any(not rule.startswith("paper") for rule in wrong) else "✓ intact",
            short(issued.fingerprint),
            paper,
            state,
        )
        told += (
            f"Content SHA-256 {issued.fingerprint}. Paper SHA-256 {issued.paper_fingerprint or 'not known'}."
        )
        return TableLine(str(place), cells, told, current_theme().error if wrong else "")

    def _fill_which(self, whole: Job) -> None:
        pairs = []
        stands = standing(whole)
        if stands is not None:
            pairs.append((f"Now, since revision {stands.letter}", _NOW))
        for i, (before, after) in reversed(
            list(enumerate(zip(whole.issued, whole.issued[1:], strict=False)))
        ):
            pairs.append((f"Revision {after.letter}, since revision {before.letter}", str(i + 1)))
        shown = [(self.which.itemText(i), self.which.itemData(i)) for i in range(self.which.count())]
        if shown != pairs:
            blocked = self.which.blockSignals(True)
            self.which.clear()
            for name, key in pairs:
                self.which.addItem(name, key)
            self.which.blockSignals(blocked)
        self.which.setEnabled(bool(pairs))
        self._show_changes()

    def _chosen(self) -> None:
        chosen = self.chosen
        self.again.setEnabled(chosen is not None)
        self.withdraw.setEnabled(chosen is not None and chosen.withdrawn is None)

    def _changes(self) -> tuple[Changes | None, str]:
        issued = self._session.whole.issued
        key = self.which.currentData()
        if key is None or key == _NOW:
            return since_words(self._session)
        place = int(key)
        try:
            found = changes_between(issued[place - 1], issued[place])
        except CompareError as error:
            return None, str(error)
        amount = money_text(found.difference, found.price.currency, self._session.job.terms.locale)
        return found, f"{'+' if found.difference > 0 else ''}{amount}, {len(found.words)} changes"

    def _show_changes(self) -> None:
        found, words = self._changes()
        self.since.setText(words)
        moved = found.words if found is not None else ()
        lines = [TableLine(str(i), (sentence,)) for i, sentence in enumerate(moved)]
        if found is not None and not moved:
            lines = [TableLine("none", ("Nothing was decided otherwise.",))]
        self.moved.show_lines(lines)
        figures = figures_of(self._session.job)
        self.rows.show_lines(comparison_lines(found.price, figures) if found is not None else ())
