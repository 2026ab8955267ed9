"""Who quotes and who is quoted."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from estimator.model.spec import Frozen, LongText, ShortText, spec

__all__ = ["Party", "QuoteInfo"]


class Party(Frozen):
    """A company or customer block of the paper."""

    name: ShortText = spec("Name", "Company or customer name as it is printed.", default="")
    contact: ShortText = spec("Contact", "Person to ask for.", default="")
    address: LongText = spec("Address", "Postal address, one line each.", default="")
    phone: ShortText = spec("Phone", "Telephone number.", default="")
    email: ShortText = spec("E-mail", "E-mail address.", default="")


class QuoteInfo(Frozen):
    """What identifies the quote."""

    number: ShortText = spec("Quote number", "Your own number for this quote.", default="")
    first_letter: Annotated[str, Field(max_length=2, pattern=r"^[A-Z]{1,2}$")] = spec(
        "First letter",
        "Letter of the first revision; another one than A where earlier ones were issued elsewhere.",
        default="A",
    )
    dated: date | None = spec("Date", "Date of the quote; today if left out.", default=None)
    title: ShortText = spec("Job title", "What the job is called on the paper.", default="")
    notes: LongText = spec("Notes", "Printed under the scope summary.", default="")
