"""Signing for a finding that must never go out, and taking the signature back: acts that can be undone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from estimator.acts.sign import SignError, sign_for, without_signs
from estimator.desk.session import Session
from estimator.model.grades import Grade
from estimator.model.signed import SignOff
from estimator.model.signing import Signatures
from estimator.shown.entries import Entry
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of

if TYPE_CHECKING:
    from estimator.desk.doing.sign_dialog import SignDialog

__all__ = ["Signing"]


class Signing(QObject):
    """Signs for entries of the list of findings.

    Args:
        session: the open job.
        parent: above which window it asks.
    """

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._parent = session, parent
        self.dialog: SignDialog | None = None

    def can_sign(self, entry: Entry | None) -> bool:
        """Whether an entry keeps quote and revision back."""
        return entry is not None and Signatures(self._session.whole).blocks(entry.first)

    def can_take_back(self, entry: Entry | None, stale: SignOff | None = None) -> bool:
        """Whether somebody signed for an entry, or a signature is chosen that holds for nothing."""
        return stale is not None or (
            entry is not None and Signatures(self._session.whole).of(entry.first) is not None
        )

    def start(self, entry: Entry | None) -> None:
        """Ask who signs for an entry and why."""
        if entry is None or not self.can_sign(entry) or self.dialog is not None:
            return
        from estimator.desk.doing.sign_dialog import SignDialog  # loaded when it is asked for

        session = self._session
        say = sentences_of(session.listed, session.whole)

        def sign(name: str, reason: str) -> str:
            try:
                whole = sign_for(session.whole, entry.findings, name, reason, session.today())
            except SignError as error:
                return str(error)
            count = len(entry.findings)
            session.act_whole(f"Sign for {count} {'finding' if count == 1 else 'findings'}", whole)
            session.said.emit(f"Signed for by {name.strip()}. Undo takes it back.")
            return ""

        self.dialog = SignDialog(
            tuple(say.installer(finding) for finding in entry.findings),
            figures_of(session.whole).day(session.today()),
            sign,
            self._parent,
        )
        self.dialog.finished.connect(lambda _: self._closed())
        self.dialog.open()

    def _closed(self) -> None:
        self.dialog = None

    def take_back(self, entry: Entry | None, stale: SignOff | None = None) -> None:
        """An entry that was signed for keeps quote and revision back again; a signature that holds for nothing goes."""
        session = self._session
        signatures = Signatures(session.whole)
        held = [stale] if stale is not None else []
        if entry is not None and entry.grade is Grade.NEVER:
            held += [sign for finding in entry.findings if (sign := signatures.of(finding)) is not None]
        if held:
            count = len(held)
            words = f"Take back {count} {'signature' if count == 1 else 'signatures'}"
            session.act_whole(words, without_signs(session.whole, held))
            session.said.emit("The signature is taken back. Undo brings it back.")
