"""Who quotes and who is quoted."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from estimator.model.picture import Picture
from estimator.model.spec import Frozen, LongText, ShortText, spec

__all__ = ["Company", "Party", "QuoteInfo"]


class Party(Frozen):
    """A company or customer block of the paper."""

    name: ShortText = spec("Name", "Company or customer name as it is printed.", default="")
    contact: ShortText = spec("Contact", "Person to ask for.", default="")
    address: LongText = spec("Address", "Postal address, one line each.", default="")
    phone: ShortText = spec("Phone", "Telephone number.", default="")
    email: ShortText = spec("E-mail", "E-mail address.", default="")


class Company(Party):
    """The company that quotes."""

    licence: ShortText = spec(
        "Licence number", "Of the company or its contractor's licence; printed under its name.", default=""
    )
    tax_number: ShortText = spec(
        "Tax number", "What the tax office knows the company by; printed under its name.", default=""
    )
    logo: Picture = spec(
        "Logo",
        "Printed on the cover. Taken from a PNG or JPEG file, made smaller where it is large.",
        default="",
        picture=True,
    )


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
    order_number: ShortText = spec(
        "Order number", "The customer's own number for this work; printed on the cover.", default=""
    )
    site_address: LongText = spec(
        "Site address",
        "Where the work is done, one line each, if it is not at the customer's address.",
        default="",
    )
    notes: LongText = spec("Notes", "Printed under the scope summary.", default="")
