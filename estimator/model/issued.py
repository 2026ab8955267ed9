"""Issued revisions: what a customer was given, frozen, with a fingerprint that tells whether it still is that.

Fingerprint: SHA-256 (FIPS 180-4) over the canonical text of the revision: JSON with sorted keys, no spaces, UTF-8,
of every field but the two fingerprints. Each revision also holds the seal of the one before it: SHA-256 over that
one's fingerprint and its paper's, so that one taken out, swapped or given another paper is told too.
"""

from __future__ import annotations

import hashlib
import json
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import Field

from estimator.model.choices import Section
from estimator.model.pricebook import PriceEntry
from estimator.model.snapshot import Snapshot
from estimator.model.spec import Frozen, LongText, ShortText, spec

__all__ = ["Issued", "IssuedRow", "IssuedSum", "canonical", "fingerprint", "seal"]

Sum = Annotated[Decimal, Field(ge=Decimal(-(10**12)), le=Decimal(10**12), max_digits=18, decimal_places=4)]
Hash = Annotated[str, Field(max_length=64, pattern=r"^([0-9a-f]{64})?$")]
Letter = Annotated[str, Field(max_length=2, pattern=r"^[A-Z]{1,2}$")]
_FINGERPRINTS: Final = frozenset({"fingerprint", "pdf_fingerprint"})


class IssuedRow(Frozen):
    """One row as it was priced."""

    key: LongText = spec(
        "Key", "What the row is for, whatever it was called; empty in revisions of format 1.", default=""
    )
    code: ShortText = spec("Code", "Price book code.")
    section: Section = spec("Section", "Section of the quote.", default=Section.PLANT)
    detail: LongText = spec("Detail", "What tells the row from others of its code.", default="")
    description: ShortText = spec("Description", "As it was printed.", default="")
    unit: ShortText = spec("Unit of sale", "each, m, set.", default="")
    quantity: Sum = spec("Quantity", "Bought.", default=Decimal(0))
    price: Sum = spec("Price", "Firm price of the row.", default=Decimal(0))


class IssuedSum(Frozen):
    """One of the sums under the rows."""

    name: ShortText = spec("Sum", "What it is called.")
    amount: Sum = spec(
        "Amount", "Firm amount, with its sign: the sums add up to the total.", default=Decimal(0)
    )


class Issued(Frozen):
    """One issued revision."""

    letter: Letter = spec("Revision", "A for the first, then B.")
    dated: date = spec("Issued on", "Date of issue.")
    reason: LongText = spec("Reason", "Why it was issued.", default="")
    snapshot: Snapshot = spec("Job", "The job as it was.", default=Snapshot())
    entries: tuple[PriceEntry, ...] = spec(
        "Prices used", "Entries of the price book as they were.", default=()
    )
    rows: tuple[IssuedRow, ...] = spec("Rows", "Rows as they were priced.", default=())
    sums: tuple[IssuedSum, ...] = spec("Sums", "From the rows to the total.", default=())
    total_low: Sum = spec("Total, low", "Total to pay at low cost.", default=Decimal(0))
    total_likely: Sum = spec("Total", "Total to pay.", default=Decimal(0))
    total_high: Sum = spec("Total, high", "Total to pay at high cost.", default=Decimal(0))
    follows: Hash = spec("Follows", "Seal of the revision before it; empty for the first.", default="")
    fingerprint: Hash = spec("Fingerprint", "SHA-256 of the content.", default="")
    pdf_fingerprint: Hash = spec(
        "Fingerprint of the paper", "SHA-256 of the PDF as it was given out; empty until it was.", default=""
    )


def canonical(part: Frozen, leave_out: frozenset[str] = frozenset()) -> bytes:
    """The one text of a part: JSON, keys sorted, no spaces, UTF-8.

    Args:
        part: what to write.
        leave_out: names of its own fields that are no part of it.
    """
    data: dict[str, Any] = part.model_dump(mode="json", exclude=set(leave_out))
    text = json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8")


def fingerprint(revision: Issued) -> str:
    """SHA-256 of a revision's canonical content, in hexadecimal."""
    return hashlib.sha256(canonical(revision, _FINGERPRINTS)).hexdigest()


def seal(revision: Issued) -> str:
    """SHA-256 over a revision's fingerprint and that of its paper, which the next one holds."""
    return hashlib.sha256(f"{revision.fingerprint}:{revision.pdf_fingerprint}".encode()).hexdigest()
