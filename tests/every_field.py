"""A job in which every field has something to move, and other values for each declared field of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from estimator.acts.options import with_option
from estimator.acts.sign import sign_for
from estimator.layout.plan import lay_out
from estimator.model.choices import Chemistry, ContingencyBasis, Pictogram, PriceBasis, Section
from estimator.model.design import LinePlan, MeasuredLength, SegmentTube
from estimator.model.edit import EditError, with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.makers import MakerData, OwnNozzle, OwnProportioner, OwnPump, PumpPoint, VacuumPoint
from estimator.model.options import Alternative
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.model.terms import ExtraRow, SectionRule, Stage, TaxRate
from estimator.reference.catalogue import catalogue
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from estimator.units import Dimension, Quantity, UnitSystem, parse, preferred_unit, to_unit
from tests.days import STUDIED

__all__ = ["Field", "changed", "fields_in", "makers", "others", "scenes"]

EXAMPLE: Final = Path(__file__).resolve().parent.parent / "resources" / "examples" / "gannet-quay.baydrop"
_P, _F, _L = Dimension.PRESSURE, Dimension.FLOW, Dimension.LENGTH
TINY_PICTURE: Final = (
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAIAAACQd1PeAAAADElEQVR4nGNgYGAAAAAEAAH2FzhVAAAAAElFTkSuQmCC"
)
"""A PNG of one pixel."""
_MOST_INSTANCES: Final = 5


def makers() -> MakerData:
    """A pump, a proportioner and a nozzle of a maker."""
    points = (("4 L/min", "3.8 bar"), ("8 L/min", "3.4 bar"))
    curve = (("1 bar", "30 kPa"), ("3 bar", "70 kPa"), ("6 bar", "85 kPa"))
    return MakerData(
        pumps=(
            OwnPump(
                key="own-pump",
                name="Pump of the maker",
                points=tuple(
                    PumpPoint(air=parse("4 bar", _P), flow=parse(f, _F), discharge=parse(p, _P))
                    for f, p in points
                ),
            ),
        ),
        proportioners=(
            OwnProportioner(
                key="own-prop",
                name="Proportioner of the maker",
                vacuum=tuple(VacuumPoint(inlet=parse(i, _P), vacuum=parse(v, _P)) for i, v in curve),
            ),
        ),
        nozzles=(OwnNozzle(key="own-nozzle", name="Nozzle of the maker"),),
    )


def _full() -> Job:
    job = load_job(EXAMPLE)

    def put(path: tuple[str | int, ...], value: Any) -> None:
        nonlocal job
        job = with_value(job, path, value)

    put(("design", "makers"), makers())
    drops = [i for i, d in enumerate(job.design.drops) if d.service == job.design.products[0].id]
    put(("design", "drops", drops[0], "nozzle_size"), "own-nozzle")
    put(("design", "plant", 0, "pump"), "own-pump")
    put(("design", "plant", 0, "proportioner"), "own-prop")
    first = lay_out(job.site, job.design, catalogue())[0].lines[0].segments[0].id
    plan = LinePlan(
        service=job.design.products[0].id,
        segment_tubes=(SegmentTube(segment=first, tube="tube-10"),),
        measured=(MeasuredLength(segment=first, length=parse("9 m", _L)),),
    )
    put(("design", "lines"), (plan,))
    put(("design", "common", "reducer"), "reducer-half")
    put(("design", "common", "feed_bore"), parse("13 mm", Dimension.SMALL_LENGTH))
    put(("design", "common", "feed_length"), parse("4 m", _L))
    put(("design", "products", 1, "label_strongest"), None)
    put(("design", "products", 1, "label_weakest"), None)
    put(("design", "products", 0, "cold_viscosity"), parse("20 mPa·s", Dimension.VISCOSITY))
    put(("site", "water", "winter"), parse("6 °C", Dimension.TEMPERATURE))
    put(("terms", "more_taxes"), (TaxRate(id="low", name="Low rate", percent=Decimal(5)),))
    put(("terms", "tax_percent"), Decimal(8))
    freight = ExtraRow(description="Freight", low=Decimal(80), likely=Decimal(100), high=Decimal(130))
    put(("terms", "extras"), (freight.model_copy(update={"taxable": True, "tax": "low"}),))
    put(("terms", "section_rules"), (SectionRule(section=Section.DROPS, percent=Decimal(30)),))
    put(
        ("terms", "stages"),
        (Stage(name="Order", percent=Decimal(40)), Stage(name="Done", percent=None)),
    )
    put(("terms", "contingency_percent"), Decimal(5))
    job, _ = with_option(
        job, "Other guns", with_value(job.design, ("drops", 0, "gun"), "gun-metal"), offered=True
    )
    return job


def scenes() -> tuple[Job, ...]:
    """The same job under each way in which a price is made: a field may count in one of them only."""
    full = _full()
    sure = with_value(full, ("terms", "price_basis"), PriceBasis.CONFIDENCE)
    sure = with_value(sure, ("terms", "contingency_basis"), ContingencyBasis.CONFIDENCE)
    # Behind a break tank the street moves no mixture.
    sure = with_value(sure, ("design", "common", "backflow"), "backflow-device")
    sure = with_value(sure, ("design", "common", "booster"), "no-booster")
    sure = with_value(sure, ("design", "common", "reducer"), "no-reducer")
    typed = with_value(full, ("terms", "typed_price"), Decimal(40_000))
    typed = with_value(typed, ("terms", "price_basis"), PriceBasis.TYPED)
    # What may not be beside bleach is only asked for where there is some.
    bleach = typed.design.products[-1].sheet.model_copy(update={"classes": (Chemistry.HYPOCHLORITE,)})
    last = len(typed.design.products) - 1
    typed = with_value(typed, ("design", "products", last, "sheet"), bleach)
    # One product waits for its plant, so that a plant can be given to another one.
    typed = with_value(typed, ("alternatives",), ())
    typed = with_value(typed, ("design", "plant"), typed.design.plant[:-1])
    return full, sure, _signed(typed)


def _signed(job: Job) -> Job:
    """The job with a signature for what its bleach must not meet."""
    found = study(job, shipped_price_book(), STUDIED).findings
    never = [f for f in found if f.grade is Grade.NEVER]
    return sign_for(job, never, "Demo signer", "Demo reason.", date(2026, 11, 20))


@dataclass(frozen=True, slots=True)
class Field:
    """A declared field with some places of it in a job."""

    model: type[BaseModel]
    spec: FieldSpec
    places: tuple[tuple[str | int, ...], ...]

    @property
    def name(self) -> str:
        """Its model and its own name."""
        return f"{self.model.__name__}.{self.spec.name}"


def _walk(part: BaseModel, at: tuple[str | int, ...]) -> Iterator[tuple[type[BaseModel], FieldSpec, Any]]:
    for field in fields_of(type(part)):
        here = (*at, field.name)
        value = getattr(part, field.name)
        if field.kind is FieldKind.GROUP:
            if isinstance(value, BaseModel):
                yield from _walk(value, here)
        elif (type(part), field.name) == (Alternative, "changes"):
            # How an option's differences are kept. They are read as a design, whose own fields are walked.
            continue
        elif field.kind is FieldKind.LIST:
            for i, row in enumerate(value):
                yield from _walk(row, (*here, i))
        else:
            yield type(part), field, here


def fields_in(job: Job, *, sealed: frozenset[str] = Job.sealed) -> tuple[Field, ...]:
    """Every declared field that stands in a job, with its first places; what is sealed is left out."""
    found: dict[tuple[type[BaseModel], str], tuple[FieldSpec, list[tuple[str | int, ...]]]] = {}
    for model, spec, place in _walk(job, ()):
        if place[0] not in sealed:
            found.setdefault((model, spec.name), (spec, []))[1].append(place)
    return tuple(
        Field(model, spec, tuple(places[:_MOST_INSTANCES])) for (model, _), (spec, places) in found.items()
    )


def _quantities(field: FieldSpec, value: Quantity | None) -> Iterator[Quantity]:
    assert field.dimension is not None
    low, high = parse(field.low, field.dimension), parse(field.high, field.dimension)
    si = value.si if value is not None else (low.si + high.si) / 2.0
    unit = preferred_unit(field.dimension, UnitSystem.METRIC)
    for new in (si * 1.3, si * 0.6, si * 3.0, si * 0.2, si * 12.0):
        if low.si < new < high.si:
            yield parse(f"{to_unit(new, field.dimension, unit):.6g} {unit}", field.dimension)
    yield high
    yield low


def others(field: FieldSpec, value: Any, job: Job) -> Iterator[Any]:
    """Other values for a field: a little more and less, then absurd ones. Not all of them need be allowed."""
    match field.kind:
        case FieldKind.QUANTITY:
            yield from _quantities(field, value)
        case FieldKind.NUMBER | FieldKind.WHOLE:
            kind = type(value) if value is not None else (int if field.kind is FieldKind.WHOLE else Decimal)
            now = value if value is not None else kind(4)
            for new in (now + 1, now * 2, now + 30, field.high, field.low, 1):
                if new != "" and kind(new) != value:
                    yield kind(new)
        case FieldKind.FLAG:
            yield not value
        case FieldKind.DATE:
            yield (value or date(2026, 11, 30)) + timedelta(days=1)
            yield date(2020, 1, 1)
        case FieldKind.TEXT_LIST:
            yield (*value, "H272" if field.name == "statements" else "Another line")
        case FieldKind.PICTURE:
            yield TINY_PICTURE
        case FieldKind.CHOICES:
            if value:
                yield value[:-1]
            yield from ((*value, kind) for kind in (Chemistry.HYPOCHLORITE, Pictogram.FLAME_OVER_CIRCLE))
        case _ if field.catalogue:
            yield from (key for key, _ in catalogue().choices(field.catalogue) if key != value)
            yield from (row.key for row in job.design.makers.nozzles if field.catalogue == "nozzle_sizes")
        case _ if field.refers_to:
            ids = [p.id for p in job.design.products], [b.id for b in job.design.bays]
            yield from (key for rows in ids for key in rows if key != value)
        case FieldKind.CHOICE:
            kind = type(value)
            yield from (kind(key) for key, _ in field.choices if kind(key) != value)
        case _:
            yield f"{value}x"
            yield from ("de_DE", "EUR", "low", "PMP-03", "C", "0" * 64)
    if field.optional and value is not None:
        yield None


def changed(job: Job, place: tuple[str | int, ...], value: Any) -> Job | None:
    """The job with another value at a place, None where that is not allowed."""
    try:
        return with_value(job, place, value)
    except (EditError, ValidationError):
        return None
