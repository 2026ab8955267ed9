"""What a job is at one moment: everything a person decided, without the revisions issued of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Annotated, Final, Self

from pydantic import Field, ValidationInfo, model_validator
from pydantic_core import InitErrorDetails, PydanticCustomError, ValidationError

from estimator.going import ALONE, Going
from estimator.model.choices import PriceRule
from estimator.model.design import AIR, Design
from estimator.model.option_changes import applied
from estimator.model.options import BASE, Alternative
from estimator.model.party import Company, Party, QuoteInfo
from estimator.model.presentation import Presentation
from estimator.model.pricebook import PinnedPrices
from estimator.model.signed import MOST_SIGNED, SignOff
from estimator.model.site import Site
from estimator.model.spec import Frozen, spec
from estimator.model.terms import Terms
from estimator.units import UnitSystem

__all__ = ["BASE", "FORMAT", "Snapshot", "snapshot_of"]

_Place = tuple[str | int, ...]

FORMAT = 6
"""Number of the file format this program writes."""


_ENOUGH: Final = 200
"""Problems after which no further change and no further option is told."""
_NOT_LOOKED_AT: Final = "This and what follows was not looked at."


def _error(place: _Place, kind: str, sentence: str, value: object = None) -> InitErrorDetails:
    # The sentence goes in as a value, never as the template: braces in a person's text stay text.
    return InitErrorDetails(
        type=PydanticCustomError(kind, "{reason}", {"reason": sentence}), loc=place, input=value
    )


def _doubled(place: _Place, list_name: str, ids: Iterable[str], key: str = "id") -> list[InitErrorDetails]:
    names = list(ids)
    return [
        _error(
            (*place, list_name, names.index(name), key),
            "duplicate_id",
            f"The id “{name}” stands {count} times in {list_name}; ids must differ.",
            name,
        )
        for name, count in Counter(names).items()
        if count > 1
    ]


def _doubled_segments(where: _Place, segments: list[str]) -> list[InitErrorDetails]:
    seen: set[str] = set()
    wrong = []
    for j, segment in enumerate(segments):
        if segment in seen:
            sentence = f"The segment “{segment}” stands here more than once; keep one of them."
            wrong.append(_error((*where, j, "segment"), "duplicate_segment", sentence, segment))
        seen.add(segment)
    return wrong


def _unknown(place: _Place, what: str, name: str, known: Iterable[str], plural: str) -> InitErrorDetails:
    sentence = f"There is no {what} “{name}”; the {plural} are {_list(known)}."
    return _error(place, f"unknown_{what}", sentence, name)


def _design_problems(design: Design, place: _Place) -> list[InitErrorDetails]:
    wrong = [
        *_doubled(place, "products", (p.id for p in design.products)),
        *_doubled(place, "bays", (b.id for b in design.bays)),
        *_doubled(place, "drops", (d.id for d in design.drops)),
        *_doubled(place, "plant", (u.product for u in design.plant), "product"),
        *_doubled(place, "lines", (line.service for line in design.lines), "service"),
    ]
    products = {p.id for p in design.products}
    bays = {b.id for b in design.bays}
    services = products | {AIR}
    for i, product in enumerate(design.products):
        if product.id == AIR:
            sentence = "The id “air” is kept for compressed air; choose another."
            wrong.append(_error((*place, "products", i, "id"), "reserved_id", sentence, AIR))
    for i, drop in enumerate(design.drops):
        at = (*place, "drops", i)
        if drop.bay not in bays:
            wrong.append(_unknown((*at, "bay"), "bay", drop.bay, bays, "bays"))
        if drop.service not in services:
            wrong.append(_unknown((*at, "service"), "service", drop.service, services, "services"))
    for i, unit in enumerate(design.plant):
        if unit.product not in products:
            here = (*place, "plant", i, "product")
            wrong.append(_unknown(here, "product", unit.product, products, "products"))
    for i, line in enumerate(design.lines):
        if line.service not in services:
            here = (*place, "lines", i, "service")
            wrong.append(_unknown(here, "service", line.service, services, "services"))
        for name, rows in (("segment_tubes", line.segment_tubes), ("measured", line.measured)):
            wrong += _doubled_segments((*place, "lines", i, name), [row.segment for row in rows])
    return wrong


def _terms_problems(terms: Terms) -> list[InitErrorDetails]:
    wrong = []
    if terms.rule is PriceRule.MARGIN and terms.rule_percent >= 100:
        sentence = "A margin is a share of the price and must be below 100 %."
        wrong.append(_error(("terms", "rule_percent"), "margin", sentence, str(terms.rule_percent)))
    taxes = [tax.id for tax in terms.more_taxes]
    for i, name in enumerate(taxes):
        if name in taxes[:i]:
            sentence = f"The id “{name}” stands twice in the tax rates; ids must differ."
            wrong.append(_error(("terms", "more_taxes", i, "id"), "duplicate_id", sentence, name))
    rate = terms.labour
    if not rate.low <= rate.likely <= rate.high:
        sentence = f"Low {rate.low}, likely {rate.likely}, high {rate.high}; low ≤ likely ≤ high must hold."
        wrong.append(_error(("terms", "labour"), "range", sentence))
    return wrong


def _option_problems(base: Design, option: Alternative, place: _Place) -> list[InitErrorDetails]:
    made = applied(base, option)
    name = option.name.strip() or option.id
    wrong = [
        _error(
            (*place, "changes", told.position),
            f"option_{told.rule}",
            f"Option “{name}”, {' / '.join(option.changes[told.position].place)}. {told.sentence}",
        )
        for told in made.wrong[:_ENOUGH]
    ]
    if len(made.wrong) > _ENOUGH:
        wrong.append(
            _error((*place, "changes", made.wrong[_ENOUGH].position), "not_looked_at", _NOT_LOOKED_AT)
        )
    if wrong or made.design is base:
        return wrong
    # Whatever the changes say, a design that does not hold together is never a part of a job.
    return _design_problems(made.design, place)


class Snapshot(Frozen):
    """Everything a person decided or measured, the options and the prices it was worked out with."""

    format: Annotated[int, Field(ge=FORMAT, le=FORMAT)] = spec(
        "Format", "Number of the file format.", default=FORMAT
    )
    units: UnitSystem = spec(
        "Units shown",
        "System figures are shown in; typed quantities stay as typed.",
        default=UnitSystem.METRIC,
    )
    quote: QuoteInfo = spec("Quote", "What identifies the quote.", default=QuoteInfo())
    company: Company = spec("Company", "Who quotes.", default=Company())
    customer: Party = spec("Customer", "Who is quoted.", default=Party())
    site: Site = spec("Survey", "What is there before anything is built.", default=Site())
    design: Design = spec("Design", "Products, bays, drops, plant and lines.", default=Design())
    terms: Terms = spec("Terms", "How the price is made.", default=Terms())
    presentation: Presentation = spec("Presentation", "How the quote is printed.", default=Presentation())
    alternatives: Annotated[tuple[Alternative, ...], Field(max_length=50)] = spec(
        "Options", "Each by what it has otherwise than the base design.", default=()
    )
    prices: PinnedPrices | None = spec(
        "Prices used", "Prices that hold for this job; the price book's if left out.", default=None
    )
    signed: Annotated[tuple[SignOff, ...], Field(max_length=MOST_SIGNED)] = spec(
        "Signed for", "What must otherwise never go out, and who takes it on.", default=()
    )

    @model_validator(mode="after")
    def _consistent(self, info: ValidationInfo) -> Self:
        # Whoever opens a large file may leave it on the way.
        going = info.context if isinstance(info.context, Going) else ALONE
        base = _design_problems(self.design, ("design",))
        wrong = [*base, *_terms_problems(self.terms)]
        names = [BASE, *(a.id for a in self.alternatives)]
        for i, alternative in enumerate(self.alternatives):
            going.tell(i, len(self.alternatives))
            if alternative.id in names[: i + 1]:
                sentence = (
                    f"The id “{BASE}” is kept for the base design; choose another."
                    if alternative.id == BASE
                    else f"The id “{alternative.id}” stands twice in alternatives; ids must differ."
                )
                wrong.append(_error(("alternatives", i, "id"), "duplicate_id", sentence, alternative.id))
            if len(wrong) > _ENOUGH:
                wrong.append(_error(("alternatives", i), "not_looked_at", _NOT_LOOKED_AT))
                break
            if not base:
                wrong += _option_problems(self.design, alternative, ("alternatives", i))
        if wrong:
            raise ValidationError.from_exception_data(type(self).__name__, wrong)
        return self


def _list(names: Iterable[str]) -> str:
    shown = sorted(names)
    return ", ".join(shown[:12]) + (", …" if len(shown) > 12 else "") if shown else "none yet"


def snapshot_of(job: Snapshot) -> Snapshot:
    """The job as it is now, without what was issued of it."""
    return Snapshot(**{name: getattr(job, name) for name in Snapshot.model_fields})
