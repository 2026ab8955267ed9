"""Issued revisions: what a customer was given, kept as a paper, with fingerprints that tell whether it still is that.

A revision holds two things that are never worked out again: its text (the job, the prices used, every row and the sums
as they were) and its paper (the very bytes that were handed over). The text is JSON with sorted keys and no spaces; it
is kept as text, so that neither its fingerprint nor its rows and totals depend on what a job is in a later version of
the program. Looked at, the job in it is brought up to the format of today by the steps of `upgrades`.

Fingerprints are SHA-256 (FIPS 180-4): one of the text, one of the paper. Its short form, which needs only the text,
stands on every page of the paper. A revision's seal is over both; the next one's text holds it, and the job's ledger
holds the last one, so that a revision taken out, swapped or given another paper is found.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import zlib
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Annotated, Any, Final, NoReturn

from pydantic import Field, ValidationError

from estimator.model.choices import Section
from estimator.model.pricebook import MOST_ENTRIES, PriceEntry
from estimator.model.problems import problems_of
from estimator.model.seals import canonical_text, fingerprint, seal_of
from estimator.model.snapshot import FORMAT, Snapshot
from estimator.model.spec import Frozen, LongText, ShortText, spec
from estimator.model.upgrades import mark_demo_entries, upgraded
from estimator.units import Dimension, QuantityError, parse

__all__ = [
    "MOST_PAPER_BYTES",
    "PROMISE",
    "Handed",
    "Issued",
    "IssuedRow",
    "IssuedSum",
    "Ledger",
    "PaperError",
    "TextError",
    "Withdrawal",
    "handed",
    "issued_text",
    "job_then",
    "kept_paper",
    "packed_paper",
    "paper_was_kept",
    "seal",
    "withdrawal_seal",
]

PROMISE: Final = (
    "A fingerprint shows that a revision in this file is still the one of the paper that carries the same short form; "
    "it does not show who issued it, and whoever changes a revision and works out all its fingerprints anew is found "
    "only by a paper or a copy of the file that left before."
)
"""What a fingerprint is good for, and what not: the one sentence of screen and README."""

MOST_PAPER_BYTES: Final = 8_000_000
_MOST_TEXT: Final = 8_000_000
_MOST_ROWS: Final = 100_000

Sum = Annotated[Decimal, Field(ge=Decimal(-(10**12)), le=Decimal(10**12), max_digits=18, decimal_places=4)]
Hash = Annotated[str, Field(max_length=64, pattern=r"^([0-9a-f]{64})?$")]
Letter = Annotated[str, Field(max_length=2, pattern=r"^[A-Z]{1,2}$")]


class TextError(ValueError):
    """The text of a revision cannot be read; the message says why."""


class PaperError(ValueError):
    """The paper of a revision is not in the file, or not as it was; the message says which."""


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


class Handed(Frozen):
    """What was handed over, as data: part of a revision's text.

    Attributes:
        valid_until: None where the calendar ends before.
        entries: of the price book, as they were, for every part of the base design and the offered options.
        follows: seal of the revision before it; empty for the first.
    """

    letter: Letter
    dated: date
    reason: LongText = ""
    currency: ShortText
    locale: ShortText
    valid_until: date | None
    entries: Annotated[tuple[PriceEntry, ...], Field(max_length=MOST_ENTRIES)] = ()
    rows: Annotated[tuple[IssuedRow, ...], Field(max_length=_MOST_ROWS)] = ()
    sums: Annotated[tuple[IssuedSum, ...], Field(max_length=200)] = ()
    total: Sum
    follows: Hash = ""


class Withdrawal(Frozen):
    """That a revision no longer holds."""

    dated: date = spec("Withdrawn on", "Date of the withdrawal.")
    reason: LongText = spec("Reason", "Why it was withdrawn.")
    follows: Hash = spec("Follows", "Seal of the withdrawal before it; empty for the first.", default="")


class Issued(Frozen):
    """One issued revision."""

    letter: Letter = spec("Revision", "A for the first, then B.")
    text: Annotated[str, Field(max_length=_MOST_TEXT)] = spec(
        "Content", "Job, prices used, rows and sums as they were, as the text that the fingerprint is of."
    )
    fingerprint: Hash = spec("Fingerprint", "SHA-256 of the content.", default="")
    paper: Annotated[str, Field(max_length=2 * MOST_PAPER_BYTES)] = spec(
        "Paper",
        "The PDF that was handed over: deflated, in base 64. Empty for one issued in format 1.",
        default="",
    )
    paper_fingerprint: Hash = spec(
        "Fingerprint of the paper", "SHA-256 of the PDF that was handed over.", default=""
    )
    withdrawn: Withdrawal | None = spec(
        "Withdrawn", "When and why it was withdrawn; left out while it holds.", default=None
    )


class Ledger(Frozen):
    """What the job knows of its revisions apart from them, so that one taken out of the file is missed."""

    last: Annotated[str, Field(max_length=2, pattern=r"^[A-Z]{0,2}$")] = spec(
        "Last letter", "Of the revision issued last; empty before the first.", default=""
    )
    seal: Hash = spec("Seal", "Of the revision issued last.", default="")
    withdrawals: Hash = spec("Seal of withdrawals", "Of the withdrawal made last.", default="")


def issued_text(figures: Handed, job: Snapshot) -> str:
    """The text of a revision: what was handed over as data, and the job that it was made of."""
    return canonical_text(
        {"format": FORMAT, "job": job.model_dump(mode="json"), **figures.model_dump(mode="json")}
    )


def seal(revision: Issued) -> str:
    """SHA-256 over a revision's fingerprint and that of its paper, which the next one holds."""
    return seal_of(revision.fingerprint, revision.paper_fingerprint)


def withdrawal_seal(letter: str, withdrawn: Withdrawal) -> str:
    """SHA-256 over a withdrawal, which the next one holds."""
    return fingerprint(canonical_text({"letter": letter, **withdrawn.model_dump(mode="json")}))


def packed_paper(pdf: bytes) -> str:
    """A PDF as it is kept in a file."""
    return base64.b64encode(zlib.compress(pdf, 9)).decode("ascii")


def kept_paper(revision: Issued) -> bytes:
    """The paper of a revision, the very bytes that were handed over.

    Raises:
        PaperError: it is not in the file, is damaged, or is not what was handed over.
    """
    if not revision.paper:
        if paper_was_kept(revision):
            raise PaperError(f"Revision {revision.letter}: its paper was taken out of the file.")
        raise PaperError(
            f"Revision {revision.letter}: its paper is not in the file, because it was issued by an earlier version "
            "of the program that kept none. Look for the PDF that was given out; nothing is drawn in its place."
        )
    damaged = PaperError(f"Revision {revision.letter}: the paper in the file is damaged and cannot be read.")
    try:
        packed = base64.b64decode(revision.paper.encode("ascii"), validate=True)
        unpacking = zlib.decompressobj()
        pdf = unpacking.decompress(packed, MOST_PAPER_BYTES)
    except (UnicodeEncodeError, binascii.Error, zlib.error):
        raise damaged from None
    if not unpacking.eof or unpacking.unused_data:
        raise damaged
    if hashlib.sha256(pdf).hexdigest() != revision.paper_fingerprint:
        raise PaperError(
            f"Revision {revision.letter}: the paper in the file is not the one that was handed over."
        )
    return pdf


def paper_was_kept(revision: Issued) -> bool:
    """Whether the program that issued it kept the paper; format 1 did not."""
    try:
        return "format" in _data(revision.text)
    except TextError:
        return True


def handed(revision: Issued) -> Handed:
    """What was handed over, as data.

    Raises:
        TextError: the text cannot be read.
    """
    return _handed(revision.text)


def job_then(revision: Issued) -> Snapshot:
    """The job that a revision was made of, brought up to the format of today, to be looked at.

    Raises:
        TextError: the text cannot be read.
    """
    return _job(revision.text)


def _refuse(why: str) -> NoReturn:
    raise TextError(f"its content cannot be read: {why}") from None


def _data(text: str) -> dict[str, Any]:
    try:
        data = json.loads(text)
    except RecursionError:
        _refuse("it is nested too deep.")
    except ValueError:
        _refuse("it is no whole JSON text.")
    if not isinstance(data, dict):
        _refuse("it is no group of fields.")
    return data


def _first(error: ValidationError, model: type[Frozen]) -> str:
    problem = problems_of(error, model, most=1)[0]
    return f"{problem.place or 'content'}: {problem.message}"


@lru_cache(maxsize=256)
def _handed(text: str) -> Handed:
    data = _data(text)
    if "format" in data:
        figures = {name: value for name, value in data.items() if name not in ("format", "job")}
    else:
        other = ("snapshot", "total_low", "total_likely", "total_high")
        figures = {name: value for name, value in data.items() if name not in other}
        figures |= _figures_of_format_1(data)
        mark_demo_entries(figures)
    try:
        return Handed.model_validate_json(json.dumps(figures))
    except ValidationError as error:
        _refuse(_first(error, Handed))


def _figures_of_format_1(data: dict[str, Any]) -> dict[str, Any]:
    """Currency, locale and last day, which a text of format 1 holds in the terms of its job alone; and the total."""
    try:
        terms = data["snapshot"]["terms"]
        days = int(parse(terms["validity"], Dimension.TIME).si // 86400)
        dated = date.fromisoformat(data["dated"])
        figures = {
            "currency": terms["currency"],
            "locale": terms["locale"],
            "total": data["total_likely"],
        }
    except (LookupError, TypeError, ValueError, AttributeError, QuantityError):
        _refuse("its terms, its date or its total are damaged.")
    try:
        end = (dated + timedelta(days=days)).isoformat()
    except OverflowError:
        end = None
    return {**figures, "valid_until": end}


@lru_cache(maxsize=256)
def _job(text: str) -> Snapshot:
    data = _data(text)
    job = data.get("job" if "format" in data else "snapshot")
    if not isinstance(job, dict):
        _refuse("it holds no job.")
    number = job.get("format")
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= FORMAT:
        _refuse(f"its job is of no format from 1 to {FORMAT}.")
    try:
        return Snapshot.model_validate_json(json.dumps(upgraded(job)))
    except ValidationError as error:
        _refuse(_first(error, Snapshot))
