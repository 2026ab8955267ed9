"""Random valid jobs, grown from the field declarations, so that a new field is covered from its first day.

Every strategy is made once: a test draws many jobs, and making the strategies costs more than drawing from them.
"""

from __future__ import annotations

import types
import typing
from datetime import date
from decimal import Decimal
from functools import cache
from random import Random
from typing import Any

from hypothesis import strategies as st
from pydantic import BaseModel

from estimator.model.choices import PriceRule
from estimator.model.design import (
    AIR,
    Bay,
    Design,
    Drop,
    LinePlan,
    MeasuredLength,
    PlantUnit,
    Product,
    SegmentTube,
)
from estimator.model.issued import (
    Handed,
    Issued,
    IssuedRow,
    IssuedSum,
    Withdrawal,
    issued_text,
    packed_paper,
)
from estimator.model.job import FORMAT, Job, Snapshot
from estimator.model.makers import MakerData, OwnNozzle, OwnProportioner, OwnPump, PumpPoint, VacuumPoint
from estimator.model.option_changes import changes_of
from estimator.model.options import BASE, Alternative
from estimator.model.pricebook import PinnedPrices, PriceEntry
from estimator.model.seals import fingerprint
from estimator.model.signed import SignOff
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.model.terms import ExtraRow, LabourRate, SectionRule, TaxRate, Terms
from estimator.reference.catalogue import catalogue
from estimator.units import Dimension, Quantity, QuantityError, parse, to_unit, units_of
from tests.random_edits import edited_design

__all__ = ["RANDOMS", "jobs", "printable_text"]

IDS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_-]{0,11}", fullmatch=True).filter(lambda name: name != AIR)

RANDOMS = st.integers(0, 2**32 - 1).map(Random)

_P, _F = Dimension.PRESSURE, Dimension.FLOW
_MAKERS = MakerData(
    pumps=(
        OwnPump(
            key="own-pump",
            points=tuple(
                PumpPoint(air=parse("60 psi", _P), flow=parse(flow, _F), discharge=parse(pressure, _P))
                for flow, pressure in (("2 gpm", "50 psi"), ("7,5 L/min", "2.8 bar"))
            ),
        ),
    ),
    proportioners=(
        OwnProportioner(
            key="own-prop",
            vacuum=tuple(
                VacuumPoint(inlet=parse(inlet, _P), vacuum=parse(vacuum, _P))
                for inlet, vacuum in (("2 bar", "40 kPa"), ("50 psi", "60 kPa"))
            ),
        ),
    ),
    nozzles=(OwnNozzle(key="own-nozzle", name="Ж"),),
)
_LOGO = (
    "iVBORw0KGgoAAAANSUhEUgAAAAMAAAACCAIAAAASFvFNAAAAFUlEQVR4nGMUCchmYGBgYGBgYoABAA5zANOCDs5GAAAAAElFTkSuQmCC"
)
"""A picture of three by two pixels."""
CURRENCIES = ("USD", "EUR", "JPY", "KWD")


def printable_text(longest: int) -> st.SearchStrategy[str]:
    """Text of any language, markup and formulas among it, without control characters."""
    plain = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=min(longest, 30))
    traps = st.sampled_from(["<b>&amp;</b>", "=1+1", "{0}", "a\tb\nc", "Ωμέγα Жук", "'=x", '"', "\\u0041"])
    return st.one_of(plain, traps)


def _quantities(field: FieldSpec) -> st.SearchStrategy[Quantity]:
    dimension = field.dimension
    assert isinstance(dimension, Dimension)
    low, high = parse(field.low, dimension), parse(field.high, dimension)

    def within(unit: str, si: float, digits: int) -> Quantity:
        try:
            quantity = parse(f"{to_unit(si, dimension, unit):.{digits}g} {unit}", dimension)
        except QuantityError:
            return low
        # Rounding to few digits can step over a limit.
        return quantity if low.si <= quantity.si <= high.si else high

    return st.builds(
        within,
        st.sampled_from(units_of(dimension)),
        st.floats(min_value=low.si, max_value=high.si),
        st.integers(min_value=3, max_value=9),
    )


def _decimals(low: str, high: str) -> st.SearchStrategy[Decimal]:
    return st.decimals(min_value=low or "0", max_value=high or "1000", places=2)


def _plain(annotation: Any) -> Any:
    """The type under Annotated and `| None`."""
    while typing.get_origin(annotation) in (typing.Annotated, typing.Union, types.UnionType):
        annotation = next(a for a in typing.get_args(annotation) if a is not type(None))
    return annotation


def _values(field: FieldSpec, model: type[BaseModel]) -> st.SearchStrategy[Any]:
    kind = field.kind
    annotation = str(model.model_fields[field.name].annotation)
    value: st.SearchStrategy[Any]
    if kind is FieldKind.QUANTITY:
        value = _quantities(field)
    elif kind is FieldKind.GROUP:
        assert field.model is not None
        value = parts(field.model)
    elif kind is FieldKind.LIST:
        assert field.model is not None
        value = st.lists(parts(field.model), max_size=2).map(tuple)
    elif kind is FieldKind.CHOICES:
        row = typing.get_args(_plain(model.model_fields[field.name].annotation))[0]
        value = st.lists(st.sampled_from(list(row)), unique=True, max_size=3).map(tuple)
    elif field.name == "statements":
        codes = ["H225", "H290", "H302", "H314", "H318", "H335", "H360FD", "EUH031"]
        value = st.lists(st.sampled_from(codes), unique=True, max_size=3).map(tuple)
    elif kind is FieldKind.PICTURE:
        value = st.sampled_from(["", _LOGO])
    elif kind is FieldKind.TEXT_LIST:
        value = st.lists(printable_text(field.max_length), max_size=3).map(tuple)
    elif kind is FieldKind.FLAG:
        value = st.booleans()
    elif kind is FieldKind.WHOLE:
        value = st.integers(min_value=int(field.low), max_value=int(field.high))
    elif kind is FieldKind.NUMBER and "Decimal" in annotation:
        value = _decimals(field.low, field.high)
    elif kind is FieldKind.NUMBER:
        value = st.floats(min_value=float(field.low), max_value=float(field.high))
    elif kind is FieldKind.DATE:
        value = st.dates(min_value=date(1990, 1, 1), max_value=date(2100, 1, 1))
    elif field.catalogue:
        value = st.sampled_from([key for key, _ in catalogue().choices(field.catalogue)])
    elif field.refers_to:
        value = IDS
    elif field.choices:
        enumeration = _plain(model.model_fields[field.name].annotation)
        assert isinstance(enumeration, type)
        value = st.sampled_from([enumeration(key) for key, _ in field.choices])
    elif field.name == "id":
        value = IDS
    elif field.name in ("first_letter", "last"):
        value = st.sampled_from(["A", "B", "AA"])
    elif field.name in ("follows", "seal", "withdrawals"):
        value = st.sampled_from(["", "0" * 64])
    else:
        value = printable_text(field.max_length)
    return st.one_of(st.none(), value) if field.optional else value


@cache
def parts(model: type[BaseModel]) -> st.SearchStrategy[Any]:
    """Random parts of a job of one model."""
    if model is Terms:
        return _terms()
    if model is LabourRate:
        return _labour()
    if model is Design:
        return _designs()
    if model is MakerData:
        # Figures of a part must agree with one another: a sample in place of random ones.
        return st.sampled_from([MakerData(), _MAKERS])
    if model is ExtraRow:
        return _ranged(ExtraRow)
    if model is PriceEntry:
        return _ranged(PriceEntry, code=st.from_regex(r"[A-Z][A-Z0-9-]{1,11}", fullmatch=True))
    if model is PinnedPrices:
        unique = st.lists(parts(PriceEntry), max_size=2, unique_by=lambda e: e.code).map(tuple)
        return _with(PinnedPrices, currency=st.sampled_from(CURRENCIES), entries=unique)
    if model is SectionRule:
        return _with(SectionRule, percent=_decimals("0", "99"))
    if model is LinePlan:
        return _with(
            LinePlan,
            service=IDS,
            segment_tubes=_one_a_segment(SegmentTube),
            measured=_one_a_segment(MeasuredLength),
        )
    if model is Issued:
        return _issued()
    if model is SignOff:
        # A signature without a name or a reason is none.
        words = st.sampled_from(["Demo signer", "<b>&amp;</b>", "Жук Ωμέγα"])
        seals = st.sampled_from(["", "0" * 64, "9f" * 32])
        return _with(SignOff, name=words, reason=words, seal=seals)
    return _with(model)


def _with(model: type[BaseModel], **given: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Random parts of one model, single fields from other strategies than their declaration's."""
    fields = {f.name: given[f.name] if f.name in given else _values(f, model) for f in fields_of(model)}
    return st.builds(model, **fields)


@cache
def _rest(model: type[BaseModel], *named: str) -> st.SearchStrategy[dict[str, Any]]:
    """Random values of a model's fields, all but those named, for a part that names these itself."""
    return st.fixed_dictionaries({f.name: _values(f, model) for f in fields_of(model) if f.name not in named})


def _ranged(model: type[BaseModel], **given: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """A part with low, likely and high in order."""
    amounts = st.tuples(*[_decimals("0", "5000")] * 3).map(sorted)
    rest = _rest(model, "low", "likely", "high", *given)

    def built(ordered: list[Decimal], fields: dict[str, Any], own: dict[str, Any]) -> Any:
        low, likely, high = ordered
        return model(low=low, likely=likely, high=high, **fields, **own)

    return st.builds(built, amounts, rest, st.fixed_dictionaries(given))


def _issued() -> st.SearchStrategy[Issued]:
    amounts = st.decimals(min_value=-(10**6), max_value=10**6, places=2)
    snapshots = _with(Snapshot, design=st.just(Design()), alternatives=st.just(()), format=st.just(FORMAT))
    handed: st.SearchStrategy[Handed] = st.builds(
        Handed,
        letter=st.sampled_from(["A", "B", "AA"]),
        currency=st.just("USD"),
        locale=st.just("en_US"),
        valid_until=st.none() | st.dates(),
        dated=st.dates(min_value=date(1990, 1, 1), max_value=date(2100, 1, 1)),
        reason=printable_text(40),
        entries=st.lists(parts(PriceEntry), max_size=1).map(tuple),
        rows=st.lists(st.builds(IssuedRow, code=printable_text(20), price=amounts), max_size=2).map(tuple),
        sums=st.just((IssuedSum(name="Total", amount=Decimal("1.50")),)),
        total=amounts,
    )

    def built(
        snapshot: Snapshot, figures: Handed, sealed: str, paper: str, seal: str, withdrawn: Withdrawal | None
    ) -> Issued:
        text = issued_text(figures, snapshot)
        return Issued(
            letter=figures.letter,
            text=text,
            fingerprint=fingerprint(text) if sealed == "right" else sealed,
            paper=paper,
            paper_fingerprint=seal,
            withdrawn=withdrawn,
        )

    return st.builds(
        built,
        snapshots,
        handed,
        st.sampled_from(["", "0" * 64, "right"]),
        st.sampled_from(["", "not base 64", packed_paper(b"%PDF")]),
        st.sampled_from(["", "0" * 64]),
        st.none() | parts(Withdrawal),
    )


def _labour() -> st.SearchStrategy[LabourRate]:
    rates = st.lists(_decimals("0", "500"), min_size=3, max_size=3).map(sorted)
    return rates.map(lambda r: LabourRate(low=r[0], likely=r[1], high=r[2]))


def _terms() -> st.SearchStrategy[Terms]:
    def of(rule: PriceRule) -> st.SearchStrategy[Terms]:
        most = "99" if rule is PriceRule.MARGIN else "1000"
        return _with(
            Terms,
            rule=st.just(rule),
            rule_percent=_decimals("0", most),
            currency=st.sampled_from(CURRENCIES),
            more_taxes=st.lists(parts(TaxRate), max_size=2, unique_by=lambda rate: rate.id).map(tuple),
            locale=st.sampled_from(["en_US", "de_DE", "cs_CZ", "el_GR"]),
        )

    return st.one_of(*(of(rule) for rule in PriceRule))


@cache
def _ids(most: int) -> st.SearchStrategy[list[str]]:
    return st.lists(IDS, max_size=most, unique=True)


@st.composite
def _designs(draw: st.DrawFn) -> Design:
    def rest(model: type[BaseModel], *named: str) -> dict[str, Any]:
        return draw(_rest(model, *named))

    products, bays = draw(_ids(4)), draw(_ids(3))
    services = [*products, AIR]
    drops = draw(_ids(6)) if bays else []
    planned = draw(st.lists(st.sampled_from(services), unique=True, max_size=3))
    made = draw(st.lists(st.sampled_from(products), unique=True)) if products else []
    return Design(
        products=tuple(Product(id=name, **rest(Product, "id")) for name in products),
        bays=tuple(Bay(id=name, **rest(Bay, "id")) for name in bays),
        drops=tuple(
            Drop(
                id=name,
                bay=draw(st.sampled_from(bays)),
                service=draw(st.sampled_from(services)),
                **rest(Drop, "id", "bay", "service"),
            )
            for name in drops
        ),
        plant=tuple(PlantUnit(product=name, **rest(PlantUnit, "product")) for name in made),
        lines=tuple(
            LinePlan(
                service=name,
                segment_tubes=draw(_one_a_segment(SegmentTube)),
                measured=draw(_one_a_segment(MeasuredLength)),
                **rest(LinePlan, "service", "segment_tubes", "measured"),
            )
            for name in planned
        ),
        **rest(Design, "products", "bays", "drops", "plant", "lines"),
    )


@cache
def _one_a_segment(model: type[SegmentTube] | type[MeasuredLength]) -> st.SearchStrategy[Any]:
    return st.lists(parts(model), max_size=2, unique_by=lambda row: row.segment).map(tuple)


def jobs() -> st.SearchStrategy[Job]:
    """Random valid jobs."""
    return _JOBS


_OPTION_IDS = st.lists(IDS.filter(lambda name: name != BASE), max_size=2, unique=True)
_OPTION_NAMES = printable_text(40)


@st.composite
def _jobs(draw: st.DrawFn) -> Job:
    design = draw(parts(Design))
    options = tuple(
        Alternative(
            id=name,
            name=draw(_OPTION_NAMES),
            offered=draw(st.booleans()),
            changes=changes_of(design, edited_design(draw(RANDOMS), design)),
        )
        for name in draw(_OPTION_IDS)
    )
    return Job(
        format=FORMAT,
        design=design,
        alternatives=options,
        issued=draw(_ISSUED),
        **draw(_rest(Job, "format", "design", "alternatives", "issued")),
    )


_ISSUED = st.lists(parts(Issued), max_size=1).map(tuple)
_JOBS = _jobs()
