"""The job: complete, frozen, saved as it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError, ValidationError

from estimator.model.choices import PriceRule
from estimator.model.design import AIR, Design
from estimator.model.party import Party, QuoteInfo
from estimator.model.site import Site
from estimator.model.spec import Frozen, spec
from estimator.model.terms import Terms
from estimator.units import UnitSystem

__all__ = ["FORMAT", "Job"]

FORMAT = 1
"""Number of the file format this program writes."""


def _error(place: tuple[str | int, ...], kind: str, sentence: str, value: object = None) -> InitErrorDetails:
    # The sentence goes in as a value, never as the template: braces in a person's text stay text.
    return InitErrorDetails(
        type=PydanticCustomError(kind, "{reason}", {"reason": sentence}), loc=place, input=value
    )


def _doubled(list_name: str, ids: Iterable[str]) -> list[InitErrorDetails]:
    names = list(ids)
    return [
        _error(
            ("design", list_name, names.index(name)),
            "duplicate_id",
            f"The id “{name}” stands {count} times in {list_name}; ids must differ.",
            name,
        )
        for name, count in Counter(names).items()
        if count > 1
    ]


def _doubled_segments(where: tuple[int, str], segments: list[str]) -> list[InitErrorDetails]:
    return [
        _error(
            ("design", "lines", where[0], where[1], j, "segment"),
            "duplicate_segment",
            f"The segment “{segment}” stands here more than once; keep one of them.",
            segment,
        )
        for j, segment in enumerate(segments)
        if segment in segments[:j]
    ]


def _unknown(
    place: tuple[str | int, ...], what: str, name: str, known: Iterable[str], plural: str
) -> InitErrorDetails:
    sentence = f"There is no {what} “{name}”; the {plural} are {_list(known)}."
    return _error(place, f"unknown_{what}", sentence, name)


def _design_problems(design: Design) -> list[InitErrorDetails]:
    wrong = [
        *_doubled("products", (p.id for p in design.products)),
        *_doubled("bays", (b.id for b in design.bays)),
        *_doubled("drops", (d.id for d in design.drops)),
        *_doubled("plant", (u.product for u in design.plant)),
        *_doubled("lines", (line.service for line in design.lines)),
    ]
    products = {p.id for p in design.products}
    bays = {b.id for b in design.bays}
    services = products | {AIR}
    for i, product in enumerate(design.products):
        if product.id == AIR:
            sentence = "The id “air” is kept for compressed air; choose another."
            wrong.append(_error(("design", "products", i, "id"), "reserved_id", sentence, AIR))
    for i, drop in enumerate(design.drops):
        at = ("design", "drops", i)
        if drop.bay not in bays:
            wrong.append(_unknown((*at, "bay"), "bay", drop.bay, bays, "bays"))
        if drop.service not in services:
            wrong.append(_unknown((*at, "service"), "service", drop.service, services, "services"))
    for i, unit in enumerate(design.plant):
        if unit.product not in products:
            place = ("design", "plant", i, "product")
            wrong.append(_unknown(place, "product", unit.product, products, "products"))
    for i, line in enumerate(design.lines):
        if line.service not in services:
            place = ("design", "lines", i, "service")
            wrong.append(_unknown(place, "service", line.service, services, "services"))
        for name, rows in (("segment_tubes", line.segment_tubes), ("measured", line.measured)):
            wrong += _doubled_segments((i, name), [row.segment for row in rows])
    return wrong


def _terms_problems(terms: Terms) -> list[InitErrorDetails]:
    wrong = []
    if terms.rule is PriceRule.MARGIN and terms.rule_percent >= 100:
        sentence = "A margin is a share of the price and must be below 100 %."
        wrong.append(_error(("terms", "rule_percent"), "margin", sentence, str(terms.rule_percent)))
    rate = terms.labour
    if not rate.low <= rate.likely <= rate.high:
        sentence = (
            f"Labour rate: low {rate.low}, likely {rate.likely}, high {rate.high}; "
            "low ≤ likely ≤ high must hold."
        )
        wrong.append(_error(("terms", "labour"), "range", sentence))
    return wrong


class Job(Frozen):
    """Everything a person decided or measured."""

    format: Annotated[int, Field(ge=1, le=FORMAT)] = spec(
        "Format", "Number of the file format.", default=FORMAT
    )
    units: UnitSystem = spec(
        "Units shown",
        "System figures are shown in; typed quantities stay as typed.",
        default=UnitSystem.METRIC,
    )
    quote: QuoteInfo = spec("Quote", "What identifies the quote.", default=QuoteInfo())
    company: Party = spec("Company", "Who quotes.", default=Party())
    customer: Party = spec("Customer", "Who is quoted.", default=Party())
    site: Site = spec("Survey", "What is there before anything is built.", default=Site())
    design: Design = spec("Design", "Products, bays, drops, plant and lines.", default=Design())
    terms: Terms = spec("Terms", "How the price is made.", default=Terms())

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        wrong = [*_design_problems(self.design), *_terms_problems(self.terms)]
        if wrong:
            raise ValidationError.from_exception_data("Job", wrong)
        return self


def _list(names: Iterable[str]) -> str:
    shown = sorted(names)
    return ", ".join(shown[:12]) + (", …" if len(shown) > 12 else "") if shown else "none yet"
