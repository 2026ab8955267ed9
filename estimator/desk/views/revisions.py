"""Revisions: issue one with its paper, see those that were issued, and what moved since."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSplitter, QVBoxLayout, QWidget

from estimator.desk.form.inputs import ComboBox, LineEdit
from estimator.desk.session import Session
from estimator.desk.tables import Line, ReadTable, plain_label
from estimator.desk.theme import MARKS, current_theme
from estimator.desk.views.options import comparison_lines
from estimator.desk.views.since_bar import since_words
from estimator.documents.quote import write_revision
from estimator.model.edit import EditError
from estimator.model.finding import Severity
from estimator.model.issued import Issued
from estimator.model.job import Job
from estimator.money import money_text
from estimator.pricing.compare import CompareError
from estimator.pricing.revise import (
    Changes,
    IssueError,
    changes_between,
    expired,
    issue,
    issue_findings,
    next_letter,
    valid_until,
    with_paper,
)
from estimator.store.files import FileTrouble, write_whole

if TYPE_CHECKING:
    from estimator.desk.doing.files import Files
from estimator.shown.findings import sentences_of_job

__all__ = ["RevisionsView"]

_COLUMNS = ("Reason", "Revision", "Issued on", ">Total", ">Low", ">High", "Content", "Paper")
_NOW = "now"
_PAPERS = "PDF (*.pdf)"


class RevisionsView(QWidget):
    """Issued revisions, to be read only.

    Args:
        session: the open job.
        files: asks for files and does slow work beside the window.
    """

    def __init__(self, session: Session, files: Files, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._files = session, files
        self._of: object = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 6, 0, 0)
        column.setSpacing(6)
        row = QHBoxLayout()
        label = QLabel("&Reason", self)
        self.reason = LineEdit(self)
        self.reason.setAccessibleName("Reason of the revision")
        self.reason.setAccessibleDescription("Why it is issued; it stands in the list and on the paper.")
        self.reason.setPlaceholderText("Why this revision is issued")
        self.reason.setMaxLength(500)
        label.setBuddy(self.reason)
        self.issue = QPushButton("Issue revision", self)
        self.issue.setObjectName("primary")
        self.issue.setAutoDefault(False)
        self.issue.setAccessibleDescription(
            "Freezes the job, its prices and totals under the next letter and writes its PDF."
        )
        self.issue.setToolTip(self.issue.accessibleDescription())
        self.issue.clicked.connect(lambda _=False: self.start())
        self.again = QPushButton("Write its PDF…", self)
        self.again.setAutoDefault(False)
        self.again.setAccessibleDescription("Writes the paper of the chosen revision once more.")
        self.again.setToolTip(self.again.accessibleDescription())
        self.again.clicked.connect(lambda _=False: self.write_again())
        for widget in (label, self.reason, self.issue, self.again):
            row.addWidget(widget, 1 if widget is self.reason else 0)
        column.addLayout(row)
        self.warning = plain_label(self, "What is wrong with the revisions")
        column.addWidget(self.warning)
        self.table = ReadTable(
            "Issued revisions", "Read only; the chosen one can be written as PDF again.", _COLUMNS, self
        )
        self.table.chosen.connect(lambda _: self._chosen())
        lower = QWidget(self)
        below = QVBoxLayout(lower)
        below.setContentsMargins(0, 0, 0, 0)
        below.setSpacing(4)
        pair = QHBoxLayout()
        which = QLabel("Wh&at moved", self)
        self.which = ComboBox(self)
        self.which.setAccessibleName("What moved, between which")
        self.which.setAccessibleDescription(
            "The job as it is now against the last revision, or one against another."
        )
        self.which.currentIndexChanged.connect(lambda _: self._show_changes())
        which.setBuddy(self.which)
        self.since = plain_label(self, "Change of the price", "paneTitle", wrap=False)
        pair.addWidget(which)
        pair.addWidget(self.which, 1)
        pair.addWidget(self.since)
        below.addLayout(pair)
        self.moved = ReadTable("What moved", "One change in each row.", ("Change",), self)
        self.rows = ReadTable(
            "What it did to the price",
            "Rows that were added, removed or changed.",
            ("What", "", ">Before", ">After", ">Difference"),
            self,
        )
        below.addWidget(self.moved, 1)
        below.addWidget(self.rows, 1)
        split = QSplitter(Qt.Orientation.Vertical, self)
        split.setObjectName("revisions")
        split.addWidget(self.table)
        split.addWidget(lower)
        split.setChildrenCollapsible(False)
        split.setSizes([110, 260])
        column.addWidget(split, 1)

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

    def start(self) -> None:
        """Issue the next revision: its content is sealed and its PDF written, then both are taken as one act."""
        session, dialogs = self._session, self._files.dialogs
        if self._files.work.is_busy:
            session.said.emit("Something is still being written; try again in a moment.")
            return
        reason = self.reason.text().strip()
        if not reason:
            session.said.emit("Say why the revision is issued first.")
            self.reason.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        whole, base = session.whole, session.base_study
        errors = sum(f.severity is Severity.ERROR for f in base.findings) + len(
            session.job_holder.kept_back()
        )
        letter = next_letter(whole)
        if errors and not dialogs.ask(
            f"Issue revision {letter}",
            f"The list of what is missing or wrong holds {errors} that would make the quote not right.",
            "Issue it anyway",
        ):
            return
        try:
            others = [offer.price for offer in session.whole_study()().offers]
            made = issue(whole, base.price, session.book, self._day(), reason, others)
        except (IssueError, EditError, CompareError) as error:
            dialogs.tell("The revision was not issued", [str(error)])
            return
        path = dialogs.save_file(
            f"Write the paper of revision {letter}", _PAPERS, Path(self._files.stem(f"-{letter}") + ".pdf")
        )
        if path is None:
            session.said.emit("Nothing was issued.")
            return
        session.said.emit(f"Writing revision {letter} …")
        self._files.work.start(
            lambda: write_revision(made, letter),
            lambda pdf: self._done(whole, made, letter, path, pdf),
            self._files.tell_failure,
        )

    def _done(self, before: Job, made: Job, letter: str, path: Path, pdf: object) -> None:
        assert isinstance(pdf, bytes)
        session, dialogs = self._session, self._files.dialogs
        if session.whole is not before:
            dialogs.tell(
                "The revision was not issued", ["The job was changed while it was written. Issue it again."]
            )
            return
        try:
            sealed = with_paper(made, letter, pdf)
            write_whole(path, pdf)
        except (FileTrouble, IssueError) as trouble:
            dialogs.tell("The revision was not issued", [str(trouble)])
            return
        session.act_whole(f"Issue revision {letter}", sealed)
        self.reason.show_text("")
        session.said.emit(f"Revision {letter} is issued and written to {path.name}. Save the job to keep it.")

    def write_again(self) -> None:
        """The paper of the chosen revision once more, told whether it is the same to the byte."""
        issued = self.chosen
        if issued is None or self._files.work.is_busy:
            return
        letter = issued.letter
        path = self._files.dialogs.save_file(
            f"Write the paper of revision {letter}", _PAPERS, Path(self._files.stem(f"-{letter}") + ".pdf")
        )
        if path is None:
            return
        whole = self._session.whole
        self._files.work.start(
            lambda: write_revision(whole, letter),
            lambda pdf: self._written(whole, letter, path, pdf),
            self._files.tell_failure,
        )

    def _written(self, whole: Job, letter: str, path: Path, pdf: object) -> None:
        assert isinstance(pdf, bytes)
        try:
            write_whole(path, pdf)
        except FileTrouble as trouble:
            self._files.dialogs.tell("The paper was not written", [str(trouble)])
            return
        try:
            with_paper(whole, letter, pdf)
            self._session.said.emit(f"Wrote {path.name}: the same bytes as were given out.")
        except IssueError:
            sentences = [
                f"{path.name} is not the same, byte for byte, as the PDF that was given out for revision {letter}.",
                "Another version of the program may have drawn it, or the file was changed outside.",
            ]
            self._files.dialogs.tell("The paper differs", sentences)

    # Showing.

    @property
    def chosen(self) -> Issued | None:
        """The revision under the keyboard."""
        key = self.table.current
        return next((r for r in self._session.whole.issued if r.letter == key), None)

    def showEvent(self, event: QShowEvent) -> None:
        """Work out what was left while out of view."""
        super().showEvent(event)
        self.refresh()

    def refresh(self) -> None:
        """Show what holds, if in view."""
        session = self._session
        now = (session.whole, session.book, self._day(), current_theme())
        if not self.isVisible() or now == self._of:
            return
        self._of = now
        whole = session.whole
        self.issue.setText(f"Issue revision {next_letter(whole)}…")
        wrong = (*issue_findings(whole), *expired(whole, self._day()))
        say = sentences_of_job(whole)
        self.warning.setText("\n".join(f"{MARKS[f.severity]} {say.installer(f)}" for f in wrong))
        worst = Severity.ERROR if any(f.severity is Severity.ERROR for f in wrong) else Severity.WARNING
        self.warning.setStyleSheet(f"color: {current_theme().of(worst)};")
        self.warning.setVisible(bool(wrong))
        broken = {f.place for f in issue_findings(whole)}
        self.table.show_lines([self._line(r, f"issued.{i}" in broken) for i, r in enumerate(whole.issued)])
        if whole.issued and self.chosen is None:
            self.table.select(whole.issued[-1].letter)
        self._fill_which(whole)
        self._chosen()

    def _line(self, issued: Issued, broken: bool) -> Line:
        terms = issued.snapshot.terms

        def money(amount: Decimal) -> str:
            return money_text(amount, terms.currency, terms.locale)

        end = valid_until(issued.dated, terms)
        paper = issued.pdf_fingerprint
        cells = (
            issued.reason or "–",
            issued.letter,
            issued.dated.isoformat(),
            money(issued.total_likely),
            money(issued.total_low),
            money(issued.total_high),
            "✕ changed" if broken else "✓ intact",
            paper[:12] if paper else "none yet",
        )
        told = f"{issued.reason} Valid until {end.isoformat() if end else 'the end of the calendar'}. "
        told += f"Content SHA-256 {issued.fingerprint}. Paper SHA-256 {paper or 'none yet'}."
        return Line(issued.letter, cells, told, current_theme().error if broken else "")

    def _fill_which(self, whole: Job) -> None:
        pairs = []
        if whole.issued:
            pairs.append((f"Now, since revision {whole.issued[-1].letter}", _NOW))
        for before, after in reversed(list(zip(whole.issued, whole.issued[1:], strict=False))):
            pairs.append((f"Revision {after.letter}, since revision {before.letter}", after.letter))
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
        self.again.setEnabled(self.chosen is not None)

    def _changes(self) -> tuple[Changes | None, str]:
        issued = self._session.whole.issued
        key = self.which.currentData()
        if key is None or key == _NOW:
            return since_words(self._session)
        place = next(i for i, r in enumerate(issued) if r.letter == key)
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
        lines = [Line(str(i), (sentence,)) for i, sentence in enumerate(moved)]
        if found is not None and not moved:
            lines = [Line("none", ("Nothing was decided otherwise.",))]
        self.moved.show_lines(lines)
        locale = self._session.job.terms.locale
        self.rows.show_lines(comparison_lines(found.price, locale) if found is not None else ())
