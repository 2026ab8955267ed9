"""The model refuses what cannot be, by name, and takes what can."""

from __future__ import annotations

import math
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from estimator.model.choices import Chemistry, NozzleType, PriceRule, SideName
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
from estimator.model.finding import Severity
from estimator.model.job import FORMAT, Job
from estimator.model.party import Party
from estimator.model.pricebook import PinnedPrices, PriceBook, PriceEntry
from estimator.model.problems import label_of, problems_of
from estimator.model.spec import FieldKind, fields_of
from estimator.model.terms import LabourRate, Terms
from estimator.units import Dimension, parse

ONE_M = parse("1 m", Dimension.LENGTH)


def told(model: type[BaseModel], **values: Any) -> dict[str, str]:
    """Place -> sentence of what is wrong with a part."""
    with pytest.raises(ValidationError) as caught:
        model(**values)
    findings = problems_of(caught.value, model)
    assert all(f.severity is Severity.ERROR and f.message.endswith(".") for f in findings)
    return {f.place: f.message for f in findings}


def design(**values: Any) -> Design:
    plain: dict[str, Any] = {
        "products": (Product(id="wash"), Product(id="wax")),
        "bays": (Bay(id="b1"), Bay(id="b2")),
        "drops": (Drop(id="d1", bay="b1", service="wash"), Drop(id="d2", bay="b2", service=AIR)),
    }
    return Design(**{**plain, **values})


def test_a_blank_job_is_a_job() -> None:
    job = Job()
    assert job.format == FORMAT
    assert job.design.products == ()
    assert design() == Job(design=design()).design


@pytest.mark.parametrize(
    ("change", "place", "words"),
    [
        (
            {"products": (Product(id="wash"),) * 2},
            "design.products.0.id",
            "“wash” stands 2 times in products",
        ),
        ({"bays": (Bay(id="b1"), Bay(id="b2"), Bay(id="b1"))}, "design.bays.0.id", "stands 2 times in bays"),
        (
            {"drops": (Drop(id="d", bay="b1", service=AIR),) * 3},
            "design.drops.0.id",
            "stands 3 times in drops",
        ),
        ({"plant": (PlantUnit(product="wax"),) * 2}, "design.plant.0.product", "stands 2 times in plant"),
        ({"lines": (LinePlan(service=AIR),) * 2}, "design.lines.0.service", "stands 2 times in lines"),
        (
            {"products": (Product(id=AIR), Product(id="wash"))},
            "design.products.0.id",
            "kept for compressed air",
        ),
        ({"drops": (Drop(id="d", bay="b9", service=AIR),)}, "design.drops.0.bay", "the bays are b1, b2."),
        ({"drops": (Drop(id="d", bay="b1", service="x"),)}, "design.drops.0.service", "are air, wash, wax."),
        ({"plant": (PlantUnit(product=AIR),)}, "design.plant.0.product", "the products are wash, wax."),
        ({"lines": (LinePlan(service="x"),)}, "design.lines.0.service", "There is no service “x”"),
        ({"bays": (), "drops": (Drop(id="d", bay="b1", service=AIR),)}, "design.drops.0.bay", "are none yet"),
        (
            {"lines": (LinePlan(service=AIR, measured=(MeasuredLength(segment="s", length=ONE_M),) * 2),)},
            "design.lines.0.measured.1.segment",
            "“s” stands here more than once",
        ),
        (
            {"lines": (LinePlan(service=AIR, segment_tubes=(SegmentTube(segment="s", tube="tube-6"),) * 2),)},
            "design.lines.0.segment_tubes.1.segment",
            "“s” stands here more than once",
        ),
    ],
)
def test_parts_must_fit_together(change: dict[str, Any], place: str, words: str) -> None:
    problems = told(Job, design=design(**change))
    assert words in problems[place]


def test_margin_and_markup_have_their_own_limits() -> None:
    assert (
        "below 100 %"
        in told(Job, terms=Terms(rule=PriceRule.MARGIN, rule_percent=Decimal(100)))["terms.rule_percent"]
    )
    assert Job(terms=Terms(rule=PriceRule.MARKUP, rule_percent=Decimal(100))).terms.rule_percent == 100


def test_a_range_must_rise() -> None:
    rate = LabourRate(low=Decimal(60), likely=Decimal(55), high=Decimal(70))
    assert "low ≤ likely ≤ high" in told(Job, terms=Terms(labour=rate))["terms.labour"]
    problems = told(
        PriceEntry, code="AB", description="x", low=Decimal(2), likely=Decimal(1), high=Decimal(3)
    )
    assert "AB: low 2, likely 1, high 3" in problems[""]


def test_codes_of_a_price_book_differ() -> None:
    entry = PriceEntry(code="AB", description="x")
    assert "“AB” stands twice" in told(PriceBook, entries=(entry, entry))[""]
    book = PriceBook(entries=(entry,))
    assert book.entry("AB") is entry
    assert book.entry("XY") is None


@pytest.mark.parametrize(
    ("model", "values", "place", "words"),
    [
        (Product, {"id": "a b"}, "id", "Only letters, digits, hyphens and underscores"),
        (Product, {"id": ""}, "id", "must not be empty"),
        (Product, {"id": "x" * 41}, "id", "40 characters at most"),
        (Product, {}, "id", "is missing"),
        (Product, {"id": "a", "dilution": math.nan}, "dilution", "finite number"),
        (Product, {"id": "a", "dilution": math.inf}, "dilution", "finite number"),
        (Product, {"id": "a", "dilution": -1.0}, "dilution", "at least 0"),
        (Product, {"id": "a", "dilution": "20"}, "dilution", "must be a number"),
        (Product, {"id": "a", "container_price": Decimal("NaN")}, "container_price", "finite number"),
        (Product, {"id": "a", "container_price": Decimal("0.00001")}, "container_price", "too many decimals"),
        (Product, {"id": "a", "shade": "blue"}, "shade", "is not known here"),
        (Product, {"id": "a", "use_per_vehicle": "2 psi"}, "use_per_vehicle", "does not measure volume"),
        (Product, {"id": "a", "use_per_vehicle": "2000 L"}, "use_per_vehicle", "outside 0 mL to 200 L"),
        (Product, {"id": "a", "name": "n" * 121}, "name", "120 characters at most"),
        (Product, {"id": "a", "name": "a\x00b"}, "name", "control character"),
        (Product, {"id": "a", "name": "a\ud800b"}, "name", "not valid"),
        (PriceEntry, {"code": "ab", "description": "x"}, "code", "Only capital letters"),
        (Terms, {"currency": "XYZ"}, "currency", "“XYZ” is not an ISO 4217 currency code"),
        (Terms, {"locale": "1"}, "locale", "such as en_US"),
        (Party, {"name": 7}, "name", "must be text"),
        (Job, {"format": FORMAT + 1}, "format", f"at most {FORMAT}"),
    ],
)
def test_a_wrong_value_is_told_by_place(
    model: type[BaseModel], values: dict[str, Any], place: str, words: str
) -> None:
    assert words in told(model, **values)[place]


def test_braces_in_a_name_stay_braces() -> None:
    problems = told(Terms, currency="{x}")
    assert "“{x}”" in problems["currency"]


def test_nothing_can_be_changed_in_place() -> None:
    job = Job()
    with pytest.raises(ValidationError):
        Job.__setattr__(job, "format", 1)


def test_a_side_by_its_name() -> None:
    bay = Bay(id="b1")
    assert bay.side(SideName.LEFT) is bay.left
    assert bay.side(SideName.RIGHT) is bay.right


def test_words_of_a_path() -> None:
    assert label_of(Job, ("design", "drops", 2, "gun")) == "Drops 3, Gun"
    assert label_of(Job, ("site", "water", "pressure")) == "Water, Water pressure"
    assert label_of(Job, ("site", "no\n" + "x" * 100)).startswith("Survey, no�xxx")
    assert len(label_of(Job, ("site", "x" * 100))) < 60


def _models(model: type[BaseModel]) -> set[type[BaseModel]]:
    found = {model}
    for field in fields_of(model):
        if field.model is not None and field.model not in found:
            found |= _models(field.model)
    return found


def _name(model: type[BaseModel]) -> str:
    return model.__name__


MODELS: list[type[BaseModel]] = sorted(_models(Job), key=_name)


@pytest.mark.parametrize("model", MODELS, ids=_name)
def test_every_field_is_declared_for_a_person(model: type[BaseModel]) -> None:
    for field in fields_of(model):
        assert field.label[:1].isupper(), field.name
        assert field.help.endswith("."), field.name
        if field.kind in (FieldKind.NUMBER, FieldKind.WHOLE):
            assert field.low != "", field.name
            assert field.high != "", field.name
        if field.kind is FieldKind.QUANTITY:
            assert field.dimension is not None
            assert field.low, field.name
            assert field.high, field.name
        if field.kind in (FieldKind.TEXT, FieldKind.LONG_TEXT, FieldKind.TEXT_LIST):
            assert field.max_length > 0, field.name


def test_a_declaration_is_read_once_for_all() -> None:
    by_name = {f.name: f for f in fields_of(Drop)}
    assert by_name["hose_length"].kind is FieldKind.QUANTITY
    assert by_name["hose_length"].dimension is Dimension.LENGTH
    assert (by_name["hose_length"].low, by_name["hose_length"].high) == ("0.5 m", "60 m")
    assert by_name["wanted_flow"].optional
    assert by_name["gun"].catalogue == "guns"
    assert by_name["bay"].refers_to == "bays"
    assert by_name["existing"].kind is FieldKind.FLAG
    assert ("foam-gun", "Air-assisted foam gun outlet") in by_name["nozzle"].choices
    design_fields = {f.name: f for f in fields_of(Design)}
    assert (design_fields["drops"].kind, design_fields["drops"].model) == (FieldKind.LIST, Drop)
    assert design_fields["pinned"].kind is FieldKind.TEXT_LIST
    terms = {f.name: f for f in fields_of(Terms)}
    assert terms["rule_percent"].demo
    assert terms["assumptions"].max_length == 2000
    assert {f.name: f.kind for f in fields_of(Party)}["address"] is FieldKind.LONG_TEXT


def test_labels_of_choices_are_words() -> None:
    for enumeration in (Chemistry, NozzleType, PriceRule, SideName):
        labels = [member.label for member in enumeration]
        assert all(label[:1].isupper() and "-" not in label.partition(" ")[0] for label in labels[:1])
        assert len(set(labels)) == len(labels)


def test_a_job_that_holds_prices_loads_as_it_was_saved() -> None:
    entry = PriceEntry(
        code="GUN-MT", description="Gun", source="invented demo figure, inside common practice"
    )
    job = Job(prices=PinnedPrices(currency="USD", entries=(entry,), taken=date(2026, 1, 1)))
    assert Job.model_validate_json(job.model_dump_json()) == job
