"""Parts that stand a product in place of one that does not: what there is, its price, and the exchange as an act."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, Final

from pydantic import BaseModel

from estimator.going import ALONE, Going
from estimator.layout.plan import Layer
from estimator.model.design import Design, Drop, LinePlan, PlantUnit
from estimator.model.edit import with_value
from estimator.model.finding import Finding, Ref
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import book_for
from estimator.pricing.price import price_rows
from estimator.reference.catalogue import Catalogue, Gun, Part, Tube, catalogue
from estimator.reference.own_parts import with_makers
from estimator.reference.resolved import resolve
from estimator.safety.scene import Scene
from estimator.safety.wetted import FORBIDDEN, part_stands, wetted_parts
from estimator.takeoff.rows import take_off

__all__ = ["FitPart", "fits", "place_of_fit", "standing"]

_TABLES: Final = {
    "proportioner": "proportioners",
    "tank": "tanks",
    "pump": "pumps",
    "tube": "tubes",
    "gun": "guns",
    "hose_bore": "hoses",
    "nozzle_make": "nozzle_makes",
}
_ANY: Final = frozenset(
    {"key", "name", "code", "codes", "straight_code", "note", "wetted", "body", "seal", "grade", "kv"}
    | {"pick_up"}
)
_ANY_TUBE: Final = _ANY | {"fitting_codes", "fitting_wetted", "rating_kpa", "derating"}


@dataclass(frozen=True, slots=True)
class FitPart:
    """A part that stands a product in place of one that does not.

    Attributes:
        key, name: of the part, also one that takes the place of none.
        extra: what the total becomes more, likely, in the job's currency; None where a price is missing or the old part
            hangs there already, as what stays is not priced.
        job: with it.
        act: what undo calls the exchange.
    """

    key: str
    name: str
    extra: Decimal | None
    job: Job
    act: str


NO_PRESSURE: Final = "break-tank-no-pressure"


def place_of_fit(finding: Finding) -> bool:
    """Whether a finding is about a part that another one can take the place of, so that others can be asked for: one
    that does not stand its product, or a booster pump that is missing behind a break tank."""
    return finding.rule in (FORBIDDEN, NO_PRESSURE)


def standing(design: Design, model: type[BaseModel], values: Mapping[str, Any]) -> dict[str, Part]:
    """Parts for a new row of a product that the usual ones do not stand: by field, one of the same figures.

    Args:
        design: that the row is for.
        model: of the row: a drop, a plant unit or what is decided about a line.
        values: of the row so far; what is chosen in them stays.
    """
    of = values.get("product" if model is PlantUnit else "service")
    product = next((p for p in design.products if p.id == of), None)
    if product is None or model not in (Drop, PlantUnit, LinePlan):
        return {}
    parts = with_makers(design.makers, catalogue())[0]
    found: dict[str, Part] = {}
    for field, table in _TABLES.items():
        if field not in model.model_fields or field in values:
            continue
        usual = model.model_fields[field].default
        old = next((part for part in getattr(parts, table) if part.key == usual), None)
        if old is None or part_stands(product, old):
            continue
        other = next((p for p in _others(getattr(parts, table), old) if part_stands(product, p)), None)
        if other is not None:
            found[field] = other
    return found


def fits(job: Job, book: PriceBook, on: date, finding: Finding, going: Going = ALONE) -> tuple[FitPart, ...]:
    """Parts of the same kind that stand the product, or booster pumps with which every mixture is right; the cheapest
    first, empty where the catalogue has none.

    Only parts of the same figures are offered where there are any, so that pressures stay; the price is that of the
    whole job, asked of the pricing with one and with the other.

    Args:
        job: whose design the finding is of.
        book, on: see `Study`.
        finding: see `place_of_fit`.
        going: asked before each part whether it is still wanted.

    Raises:
        Stopped: it is not.
    """
    product = next((f.id for n, f in finding.facts if n == "product" and isinstance(f, Ref)), "")
    parts = with_makers(job.design.makers, catalogue())[0]
    layer = Layer()  # no part moves what is seen from above
    before, stays = _total(job, book, parts, layer), _stands_already(job.design, finding.place)
    if finding.rule == NO_PRESSURE:
        return _sorted(_boosters(job, book, parts, layer, before, going))
    found: list[FitPart] = []
    for part, design in _exchanged(job.design, parts, finding.place, product):
        going.check()
        made = with_value(job, ("design",), design)
        scene = Scene(made.site, design, resolve(design, parts), on)
        if any(f.rule == FORBIDDEN and _alike(f, finding, product) for f in wetted_parts(scene)):
            continue
        after = _total(made, book, parts, layer)
        known = before is not None and after is not None and not stays
        extra = after - before if known and after is not None and before is not None else None
        found.append(FitPart(part.key, part.name, extra, made, f"Use {part.name}"))
    return _sorted(found)


def _sorted(found: Iterable[FitPart]) -> tuple[FitPart, ...]:
    return tuple(sorted(found, key=lambda f: (f.extra is None, f.extra or Decimal(0))))


def _boosters(
    job: Job, book: PriceBook, parts: Catalogue, layer: Layer, before: Decimal | None, going: Going
) -> Iterator[FitPart]:
    """Booster pumps behind which every mixture is right over the day, alone and with all tanks filling."""
    from estimator.sizing.remedy import board_right  # numpy, which a blank window does not need

    for pump in parts.boosters:
        if not pump.rise_kpa:
            continue
        going.check()
        made = with_value(job, ("design", "common", "booster"), pump.key)
        if not board_right(made.site, made.design, resolve(made.design, parts)):
            continue
        after = None if before is None or job.design.common.existing else _total(made, book, parts, layer)
        extra = None if before is None or after is None else after - before
        yield FitPart(pump.key, pump.name, extra, made, f"Use {pump.name}")


def _alike(other: Finding, finding: Finding, product: str) -> bool:
    """Whether another finding is about the same field of the same product."""
    same = any(n == "product" and isinstance(f, Ref) and f.id == product for n, f in other.facts)
    return same and _field(other.place) == _field(finding.place)


def _field(place: str) -> str:
    """Which choice a place is of; a line that nobody planned is told at its product."""
    return "tube" if ".products." in place else place.rpartition(".")[2]


def _stands_already(design: Design, place: str) -> bool:
    names = place.split(".")
    if len(names) > 2 and names[1] in ("plant", "drops"):
        return bool(getattr(design, names[1])[int(names[2])].existing)
    return False


def _total(job: Job, book: PriceBook, parts: Catalogue, layer: Layer) -> Decimal | None:
    """The total of a job, None where a part of it has no price."""
    known = resolve(job.design, parts)
    layout, _ = layer(job.site, job.design, parts, known)
    rows, _ = take_off(job.design, layout, parts, known)
    price, _ = price_rows(rows, job.terms, book_for(job, book))
    return price.totals.total.likely if price.complete else None


def _others(table: Iterable[Part], old: Part) -> list[Part]:
    """Parts that can take the place of one: of the same use, and of the same figures where there are such."""

    def figures(part: Part) -> dict[str, object]:
        free = _ANY_TUBE if isinstance(part, Tube) else _ANY
        return {name: value for name, value in dict(part).items() if name not in free}

    every = [part for part in table if part.key != old.key and not part.made_like(old)]
    if isinstance(old, Gun):
        return [
            g for g in every if isinstance(g, Gun) and (g.for_air, g.for_foam) == (old.for_air, old.for_foam)
        ]
    return [part for part in every if figures(part) == figures(old)] or every


def _exchanged(design: Design, parts: Catalogue, place: str, product: str) -> Iterator[tuple[Part, Design]]:
    """Each other part with the design that has it."""
    names = place.split(".")
    field = _field(place)
    if field not in _TABLES:
        return
    table: tuple[Part, ...] = getattr(parts, _TABLES[field])
    by_key = {part.key: part for part in table}
    if field == "tube":
        yield from _exchanged_tubes(design, parts, product)
        return
    at = int(names[2])
    old = by_key.get(getattr(getattr(design, names[1])[at], field))
    if old is None:
        return
    for part in _others(table, old):
        rows = list(getattr(design, names[1]))
        for i, row in enumerate(rows):
            mine = row.service == product if names[1] == "drops" else i == at
            if mine and getattr(row, field) == old.key:
                rows[i] = with_value(row, (field,), part.key)
        yield part, with_value(design, (names[1],), tuple(rows))


def _exchanged_tubes(design: Design, parts: Catalogue, product: str) -> Iterator[tuple[Part, Design]]:
    """A line with all its tubes of another make, each in its size."""
    plan = next((p for p in design.lines if p.service == product), LinePlan(service=product))
    tubes = {tube.key: tube for tube in parts.tubes}
    old = tubes.get(plan.tube)
    if old is None:
        return
    for part in _others(parts.tubes, old):

        def same(key: str, of: Part = part) -> str:
            mine = tubes.get(key)
            fit = (t.key for t in parts.tubes if mine and t.bore_mm == mine.bore_mm and t.made_like(of))
            return next(fit, key)

        segments = tuple(s.model_copy(update={"tube": same(s.tube)}) for s in plan.segment_tubes)
        new = plan.model_copy(update={"tube": part.key, "segment_tubes": segments})
        lines = [new if p is plan else p for p in design.lines]
        yield part, with_value(design, ("lines",), tuple(lines if plan in design.lines else [*lines, new]))
