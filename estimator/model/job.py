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
        design = self.design
        wrong: list[InitErrorDetails] = [
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
                wrong.append(
                    _error(
                        ("design", "products", i, "id"),
                        "reserved_id",
                        "The id “air” is kept for compressed air; choose another.",
                        AIR,
                    )
                )
        for i, drop in enumerate(design.drops):
            if drop.bay not in bays:
                wrong.append(
                    _error(
                        ("design", "drops", i, "bay"),
                        "unknown_bay",
                        f"There is no bay “{drop.bay}”; the bays are {_list(bays)}.",
                        drop.bay,
                    )
                )
            if drop.service not in services:
                wrong.append(
                    _error(
                        ("design", "drops", i, "service"),
                        "unknown_service",
                        f"There is no service “{drop.service}”; the services are {_list(services)}.",
                        drop.service,
                    )
                )
        for i, unit in enumerate(design.plant):
            if unit.product not in products:
                wrong.append(
                    _error(
                        ("design", "plant", i, "product"),
                        "unknown_product",
                        f"There is no product “{unit.product}”; the products are {_list(products)}.",
                        unit.product,
                    )
                )
        for i, line in enumerate(design.lines):
            if line.service not in services:
                wrong.append(
                    _error(
                        ("design", "lines", i, "service"),
                        "unknown_service",
                        f"There is no service “{line.service}”; the services are {_list(services)}.",
                        line.service,
                    )
                )
        terms = self.terms
        if terms.rule is PriceRule.MARGIN and terms.rule_percent >= 100:
            wrong.append(
                _error(
                    ("terms", "rule_percent"),
                    "margin",
                    "A margin is a share of the price and must be below 100 %.",
                    str(terms.rule_percent),
                )
            )
        rate = terms.labour
        if not rate.low <= rate.likely <= rate.high:
            wrong.append(
                _error(
                    ("terms", "labour"),
                    "range",
                    f"Labour rate: low {rate.low}, likely {rate.likely}, high {rate.high}; "
                    "low ≤ likely ≤ high must hold.",
                    None,
                )
            )
        if wrong:
            raise ValidationError.from_exception_data("Job", wrong)
        return self


def _list(names: Iterable[str]) -> str:
    shown = sorted(names)
    return ", ".join(shown[:12]) + (", …" if len(shown) > 12 else "") if shown else "none yet"
