"""The job: complete, frozen, saved as it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar

from pydantic import Field

from estimator.model.issued import Issued, Ledger
from estimator.model.snapshot import FORMAT, Snapshot, snapshot_of
from estimator.model.spec import spec

__all__ = ["FORMAT", "Job", "Snapshot", "snapshot_of"]


class Job(Snapshot):
    """Everything a person decided or measured, and the revisions issued so far."""

    sealed: ClassVar[frozenset[str]] = frozenset({"issued", "ledger"})
    """Fields that no edit reaches; a revision is only ever added, by issuing it, or marked as withdrawn."""

    acted: ClassVar[Mapping[str, str]] = {
        "signed": "what was signed for is not edited: take the signature back and sign anew."
    }
    """Fields that change by their own act alone, with what is said where somebody types into them."""

    issued: Annotated[tuple[Issued, ...], Field(max_length=200)] = spec(
        "Issued revisions", "What the customer was given: papers, never worked out again.", default=()
    )
    ledger: Ledger = spec("Ledger", "Last letter and seals, kept apart from the revisions.", default=Ledger())
