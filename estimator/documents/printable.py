"""What of a study no font here can print, told by field and character before a quote is drawn."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from estimator.acts.logo import is_readable
from estimator.documents.enclosed import Enclosed
from estimator.documents.faces import cannot_print
from estimator.documents.pages.conditions import ORDER_TEXTS
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.option_designs import design_of
from estimator.model.problems import label_of
from estimator.shown.figures import figures_of
from estimator.study import Study
from estimator.takeoff.types import Section

__all__ = ["unprintable", "unprintable_enclosed", "unprintable_text"]

Path = tuple[str | int, ...]


def _job_texts(job: Job) -> Iterator[tuple[Path, str]]:
    for block, fields in (
        ("quote", ("number", "title", "order_number", "site_address", "notes")),
        ("company", ("name", "contact", "address", "phone", "email", "licence", "tax_number")),
        ("customer", ("name", "contact", "address", "phone", "email")),
        ("terms", ("tax_name", *(name for name, _ in ORDER_TEXTS))),
    ):
        for field in fields:
            yield (block, field), str(getattr(getattr(job, block), field))
    for name in ("assumptions", "exclusions"):
        for i, text in enumerate(getattr(job.terms, name)):
            yield ("terms", name, i), str(text)
    for i, sign in enumerate(job.signed):
        yield ("signed", i, "name"), sign.name
        yield ("signed", i, "reason"), sign.reason
    for i, rate in enumerate(job.terms.more_taxes):
        yield ("terms", "more_taxes", i, "name"), rate.name
    for i, extra in enumerate(job.terms.extras):
        yield ("terms", "extras", i, "description"), extra.description
    for i, stage in enumerate(job.terms.stages):
        yield ("terms", "stages", i, "name"), stage.name
    offered = [(i, a) for i, a in enumerate(job.alternatives) if a.offered]
    if offered:
        yield ("design", "name"), job.design.name
    for i, alternative in offered:
        yield ("alternatives", i, "name"), alternative.name
        design = design_of(job, alternative.id)
        here = ("alternatives", i, "changes")
        names = {design.name, *(p.name for p in design.products), *(b.name for b in design.bays)}
        base = {job.design.name, *(p.name for p in job.design.products), *(b.name for b in job.design.bays)}
        for name in sorted(names - base):
            yield here, name
    yield ("design", "common", "yearly_test"), job.design.common.yearly_test
    for i, product in enumerate(job.design.products):
        yield ("design", "products", i, "name"), product.name
    for i, bay in enumerate(job.design.bays):
        yield ("design", "bays", i, "name"), bay.name
    for i, drop in enumerate(job.design.drops):
        yield ("design", "drops", i, "nozzle_size"), drop.nozzle_size
    used = {drop.nozzle_size for drop in job.design.drops}
    used |= {key for unit in job.design.plant for key in (unit.pump, unit.proportioner)}
    for kind in ("pumps", "proportioners", "nozzles"):
        for i, part in enumerate(getattr(job.design.makers, kind)):
            if part.key in used:
                yield ("design", "makers", kind, i, "name"), str(part.name)


def _named(character: str) -> str:
    name = unicodedata.name(character, "unnamed")
    return f"U+{ord(character):04X} ({name})"


def _finding(place: str, label: str, missing: tuple[str, ...]) -> Finding:
    shown = ", ".join(_named(c) for c in missing[:5]) + (", …" if len(missing) > 5 else "")
    return Finding(
        Severity.ERROR,
        place,
        "paper-unprintable",
        f"{label}: {'this character' if len(missing) == 1 else 'these characters'} cannot be "
        f"printed: {shown}. Write it in another way; Latin, Greek and Cyrillic letters print. "
        "No font for others comes with the program, nor can it set what is written from right to left.",
    )


def unprintable(study: Study) -> tuple[Finding, ...]:
    """A finding for each field with a character that no font here holds.

    Args:
        study: what would be quoted.

    Returns:
        Findings of severity error that name the field and each character by code point and name; empty where
        all can be printed.
    """
    job = study.job
    found = [
        _finding(".".join(str(step) for step in path), label_of(Job, path), missing)
        for path, text in _job_texts(job)
        if (missing := cannot_print(text))
    ]
    if not is_readable(job.company.logo):
        found.append(
            Finding(
                Severity.ERROR,
                "company.logo",
                "paper-unprintable",
                f"{label_of(Job, ('company', 'logo'))}: the picture in the job is damaged and cannot be printed; "
                "choose it again from its file, or remove it.",
            )
        )
    figures = figures_of(job)
    sample = figures.money(Decimal("-1234567890.12")) + figures.number(Decimal("-1234567890.5"), 1)
    sample += "".join(figures.day(date(2027, month, 10 + month)) for month in range(1, 13))
    if missing := cannot_print(sample):
        found.append(_finding("terms.locale", label_of(Job, ("terms", "locale")), missing))
    told: set[str] = set()
    for row in study.price.rows:
        missing = cannot_print(row.description + row.unit)
        if missing and row.takeoff.code not in told and row.takeoff.section is not Section.EXTRAS:
            told.add(row.takeoff.code)
            found.append(
                _finding(f"price_book.{row.takeoff.code}", f"Price book, {row.takeoff.code}", missing)
            )
    return tuple(found)


def unprintable_text(text: str) -> Finding:
    """The same of a text of which no field is known, as one that another option alone has."""
    missing = cannot_print(text)
    rest = "".join(c for c in text if c not in missing).strip()
    label = f"A text on this paper, “{rest[:60]}”" if rest else "A text on this paper"
    return _finding("quote", label, missing)


def unprintable_enclosed(enclosed: Enclosed) -> tuple[Finding, ...]:
    """The same of what is printed with a study: the reason of a revision, its changes, parts of other options."""
    found = []
    revised = enclosed.revised
    if revised is not None:
        rows = [f"{r.description} {r.detail} {r.unit}" for r in revised.changes.price.rows]
        names = [s.name for s in revised.changes.price.sums]
        for label, texts in (
            ("Reason of the revision", [revised.reason]),
            ("Changes since the last revision", [*revised.words, *rows, *names]),
        ):
            if missing := cannot_print(" ".join(texts)):
                found.append(_finding("issued", label, missing))
    for offer in enclosed.offers[1:]:
        rows = [f"{row.description} {row.unit}" for row in offer.study.price.rows]
        if missing := cannot_print(" ".join(rows)):
            found.append(_finding("price_book", f"Parts of option “{offer.figures.id}”", missing))
    return tuple(found)
