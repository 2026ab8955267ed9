"""Studies to put on paper: the shipped example jobs with parts of their JSON changed."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from datetime import date
from importlib import resources
from typing import Any

import pypdf
import pypdfium2

from estimator.documents.quote import write_quote
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED

DAY = date(2027, 3, 1)


def raw(name: str = "gannet-quay") -> dict[str, Any]:
    """The JSON of an example job."""
    text = resources.files("resources").joinpath(f"examples/{name}.baydrop").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    found["quote"]["dated"] = None
    return found


def made(job: dict[str, Any], book: PriceBook | None = None) -> Study:
    """The study of a job's JSON with the shipped price book."""
    return study(Job.model_validate_json(json.dumps(job)), book or shipped_price_book(), STUDIED)


def book_with(**changes: Any) -> PriceBook:
    """The shipped price book with every entry changed."""
    book = shipped_price_book()
    return PriceBook(
        currency=book.currency,
        entries=tuple(PriceEntry(**{**entry.model_dump(), **changes}) for entry in book.entries),
    )


def pages_of(pdf: bytes) -> list[str]:
    """Text of each page with white space and line ends as single spaces."""
    document = pypdfium2.PdfDocument(pdf)
    texts = (document[i].get_textpage().get_text_bounded() for i in range(len(document)))
    return [" ".join(str(text).split()) for text in texts]


def text_of(pdf: bytes) -> str:
    """Text of all pages on one line."""
    return " ".join(pages_of(pdf))


def packed(text: str) -> str:
    """Text without any white space, for names that were wrapped."""
    return "".join(text.split()).replace("\ufffe", "").replace("\u00ad", "")


def quoted(job: dict[str, Any]) -> bytes:
    """The quote of a job's JSON."""
    return write_quote(replace(made(job), on=DAY))


def reader(pdf: bytes) -> pypdf.PdfReader:
    """Opened by a second library, which reads the structure."""
    return pypdf.PdfReader(io.BytesIO(pdf), strict=True)


def strays(pdf: bytes, side: float, top: float, foot: float) -> list[tuple[int, str]]:
    """Characters printed outside the given margins (points) with their pages."""
    found = []
    document = pypdfium2.PdfDocument(pdf)
    for number in range(1, len(document) + 1):
        page = document[number - 1]
        width, height = page.get_size()
        text = page.get_textpage()
        for i in range(text.count_chars()):
            character = text.get_text_range(i, 1)
            if not character.strip():
                continue
            left, bottom, right, upper = text.get_charbox(i)
            if left < side or right > width - side or bottom < foot or upper > height - top:
                found.append((number, character))
    return found
