"""What a typed text means, and what becomes of a text that is not allowed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import pytest
from pydantic import BaseModel

from estimator.acts.quick_build import QuickBuild, quick_design
from estimator.acts.rows import with_field
from estimator.acts.typed import (
    Kept,
    Path,
    Pending,
    Typed,
    kept_findings,
    kept_moved,
    kept_outside,
    put,
    text_of,
    value_from,
)
from estimator.model.design import CommonPlant, Drop, Product
from estimator.model.finding import Phrase
from estimator.model.job import Job
from estimator.model.party import QuoteInfo
from estimator.model.spec import FieldSpec, fields_of
from estimator.model.terms import LabourRate
from estimator.units import Dimension, parse


def field_of(model: type[BaseModel], name: str) -> FieldSpec:
    return next(f for f in fields_of(model) if f.name == name)


@pytest.fixture(scope="module")
def job() -> Job:
    site, design = quick_design(QuickBuild(bays=1, products=2, drops_per_side=2), Job().site)
    return Job(site=site, design=design)


def type_in(
    job: Job, kept: Kept, model: type[BaseModel], name: str, parents: Sequence[Path], raw: str
) -> Typed:
    return put(job, kept, model, field_of(model, name), parents, raw, place=with_field)


@pytest.mark.parametrize(
    ("model", "name", "raw", "value"),
    [
        (Product, "dilution", "12,5", 12.5),
        (Product, "container_price", "", None),
        (CommonPlant, "eyewash", "yes", True),
        (CommonPlant, "eyewash", "false", False),
        (Drop, "side", "right", "right"),
    ],
)
def test_a_text_means_a_value(model: type[BaseModel], name: str, raw: str, value: object) -> None:
    assert value_from(model, field_of(model, name), raw) == value


@pytest.mark.parametrize(
    ("model", "name", "raw", "words"),
    [
        (Product, "dilution", "1,250", "can be read two ways"),
        (Product, "dilution", "forty", "is not a number; write one such as 3.5"),
        (CommonPlant, "eyewash", "maybe", "Eyewash station: “maybe” is neither yes nor no"),
        (Drop, "side", "up", "Side: “up” is not one of the choices; they are left, right"),
    ],
)
def test_a_text_that_means_nothing_names_its_field(
    model: type[BaseModel], name: str, raw: str, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        value_from(model, field_of(model, name), raw)


def test_a_list_of_texts_is_typed_a_line_each() -> None:
    field = field_of(Job, "design")
    pinned = next(f for f in fields_of(type(Job().design)) if f.name == "pinned")
    assert value_from(type(Job().design), pinned, "a\n\nb⏎c") == ("a", "b\nc")
    assert text_of(pinned, ("a", "b\nc")) == "a\nb⏎c"
    assert text_of(field, None) == ""


def test_low_likely_and_high_are_raised_one_after_the_other(job: Job) -> None:
    """Low above likely is kept back; when likely and high follow, all three are taken."""
    path: Path = ("terms", "labour")
    labour = job.terms.labour
    low, likely, high = (str(a * 10) for a in (labour.low, labour.likely, labour.high))
    first = type_in(job, {}, LabourRate, "low", [path], low)
    assert first.whole is job and first.refused and first.name == ""
    second = type_in(job, first.kept, LabourRate, "likely", [path], likely)
    assert set(second.kept) == {(*path, "low"), (*path, "likely")}
    third = type_in(job, second.kept, LabourRate, "high", [path], high)
    assert isinstance(third.whole, Job)
    assert third.kept == {} and third.whole.terms.labour.low == Decimal(low)


def test_one_text_for_many_rows_is_one_finding(job: Job) -> None:
    """Six drops, one wrong length: one finding, at the first of them."""
    drops: list[Path] = [("design", "drops", i) for i in range(len(job.design.drops))]
    assert len(drops) == 6
    typed = type_in(job, {}, Drop, "hose_length", drops, "8 psi")
    assert len(typed.kept) == 6
    (finding,) = kept_findings(typed.kept)
    assert finding.place == "design.drops.0.hose_length"
    assert finding.message.startswith("Not taken over in 6 rows: ")
    other = type_in(job, typed.kept, Drop, "hose_length", drops[:1], "9 psi")
    assert len(kept_findings(other.kept)) == 2


def test_a_kept_text_follows_its_row() -> None:
    kept: Kept = {("drops", 2, "hose"): Pending("x", Phrase("no")), ("name",): Pending("y", Phrase("no"))}
    assert set(kept_moved(kept, ("drops",), lambda i: i - 1)) == {("drops", 1, "hose"), ("name",)}
    assert set(kept_moved(kept, ("drops",), lambda _: None)) == {("name",)}
    assert set(kept_outside(kept, ("drops",))) == {("name",)}


def test_an_act_is_named_by_field_and_choice(job: Job) -> None:
    side = field_of(Drop, "side")
    one = put(job, {}, Drop, side, [("design", "drops", 0)], "right", choices=side.choices)
    assert one.name == "Bay 1 left, Alkaline foam pre-wash, Side: Right"
    two = put(job, {}, Drop, side, [("design", "drops", i) for i in (0, 1)], "right", choices=side.choices)
    assert two.name == "Side of 2 rows: Right"


@pytest.mark.parametrize(
    ("field", "locale", "raw", "value"),
    [
        ("dilution", "de_DE", "3,5", 3.5),
        ("dilution", "de_DE", "1,125", 1.125),
        ("dilution", "en_US", "1.125", 1.125),
        ("dilution", "de_DE", "3.5", 3.5),
        ("use_per_vehicle", "de_DE", "2,5 L", 0.0025),
        ("use_per_vehicle", "de_DE", "2.5 L", 0.0025),
    ],
)
def test_a_number_is_read_as_the_locale_writes_it(field: str, locale: str, raw: str, value: float) -> None:
    spec = next(f for f in fields_of(Product) if f.name == field)
    product = Product(id="soap")
    done = put(product, {}, Product, spec, [()], raw, locale=locale)
    assert not done.refused
    got = getattr(done.whole, field)
    if spec.dimension is None:
        assert got == value
        # What is shown for it is read as the same again.
        assert value_from(Product, spec, text_of(spec, got, locale), locale) == value
    else:
        assert (got.text, got.si) == (raw, pytest.approx(value))


@pytest.mark.parametrize(
    ("field", "locale", "raw"),
    [
        ("dilution", "de_DE", "1.250"),
        ("dilution", "en_US", "1,250"),
        ("use_per_vehicle", "de_DE", "1.250 L"),
        ("use_per_vehicle", "en_US", "1,250 L"),
    ],
)
def test_three_digits_after_a_mark_that_may_part_thousands_are_asked_about(
    field: str, locale: str, raw: str
) -> None:
    spec = next(f for f in fields_of(Product) if f.name == field)
    done = put(Product(id="soap"), {}, Product, spec, [()], raw, locale=locale)
    assert "can be read two ways" in done.refused
    assert done.kept[(field,)].raw == raw


def test_a_date_is_typed_as_a_file_holds_it_or_as_the_locale_writes_it() -> None:
    """CLDR: the day first in German, the month first in the United States; a year of two figures is refused."""
    field = next(f for f in fields_of(QuoteInfo) if f.name == "dated")
    for text, locale in (("2027-03-31", "de_DE"), ("31.03.2027", "de_DE"), ("3/31/2027", "en_US")):
        assert value_from(QuoteInfo, field, text, locale) == date(2027, 3, 31)
    for text, locale in (("31.3.27", "de_DE"), ("31.3.2027", "en_US"), ("30.2.2027", "de_DE")):
        with pytest.raises(ValueError, match="write one such as 2027-03-31 or "):
            value_from(QuoteInfo, field, text, locale)


def test_a_quantity_of_three_decimals_can_be_typed_where_the_comma_parts_decimals() -> None:
    """It was refused with the advice to write a point, which was refused too: a file has no number format."""
    spec = next(f for f in fields_of(Product) if f.name == "use_per_vehicle")
    done = put(Product(id="soap"), {}, Product, spec, [()], "1,250 L", locale="de_DE")
    assert isinstance(done.whole, Product) and done.refused == ""
    volume = done.whole.use_per_vehicle
    assert volume.si == pytest.approx(1.25e-3)
    # Kept so that any number format reads it, and shown as it was typed.
    assert (volume.text, text_of(spec, volume, "de_DE"), text_of(spec, volume, "en_US")) == (
        "1.250 L",
        "1,250 L",
        "1.250 L",
    )


@pytest.mark.parametrize("locale", ["en_US", "de_DE", "fr_FR", "en_IN"])
@pytest.mark.parametrize("text", ["7.5 L", "7,50 L", "0.125 gal", "0,125 gal", "12 L", "1.125 L", ".5 L"])
def test_a_quantity_is_shown_so_that_it_can_be_typed_again(text: str, locale: str) -> None:
    spec = next(f for f in fields_of(Product) if f.name == "use_per_vehicle")
    kept = parse(text, Dimension.VOLUME)
    shown = text_of(spec, kept, locale)
    again = put(Product(id="soap"), {}, Product, spec, [()], shown, locale=locale)
    assert isinstance(again.whole, Product) and again.refused == ""
    assert again.whole.use_per_vehicle.si == kept.si
    assert (("," in shown) is (locale in ("de_DE", "fr_FR"))) or text == "12 L"
