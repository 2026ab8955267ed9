"""What is missing, old or at odds with itself in safety data sheets and labels."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from pydantic import ValidationError

from estimator.model.choices import Answer, Chemistry, Pictogram, SignalWord
from estimator.model.design import Design
from estimator.model.finding import Finding, Severity
from estimator.model.sheet import SafetySheet
from estimator.model.site import Site
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.safety.tray import tray_volume
from estimator.units import Dimension, parse
from tests.safety.scene import PARTS, design, product

C = Chemistry
TODAY = date(2026, 11, 25)


def found(made: Design, rule: str, on: date = TODAY) -> list[Finding]:
    return [f for f in safety_findings(Site(), made, resolve(made, PARTS), on) if f.rule == rule]


def test_a_product_without_a_class_is_an_error_and_says_what_hangs_on_it() -> None:
    (finding,) = found(design(product("rim")), "class-missing")
    assert finding.severity is Severity.ERROR and finding.place == "design.products.0.sheet.classes"
    assert "“rim”" in finding.message and "safety data sheet" in finding.message
    assert not found(design(product("rim", C.FLUORIDE_ACID)), "class-missing")


def test_a_question_that_is_open_counts_as_the_worse_case_and_is_asked_once() -> None:
    foam = product("foam", C.MILD_ALKALI, amine=Answer.NOT_KNOWN)
    bleach, more = product("bleach", C.HYPOCHLORITE), product("more", C.HYPOCHLORITE)
    (finding,) = found(design(foam, bleach, more), "mixing-not-answered")
    assert finding.severity is Severity.ERROR and finding.place == "design.products.0.sheet.amine"
    assert "“bleach” and “more”" in finding.message and "chloramine" in finding.message
    assert not found(design(foam, product("wash", C.NEUTRAL_DETERGENT)), "mixing-not-answered")


@pytest.mark.parametrize(
    ("classes", "sheet", "word"),
    [
        ((C.HYPOCHLORITE, C.MINERAL_ACID), {}, "cannot be both"),
        # One would have used the other up: what such a product is nobody knows.
        ((C.STRONG_ALKALI, C.MINERAL_ACID), {}, "cannot be both"),
        ((C.STRONG_ALKALI, C.ORGANIC_ACID), {"ph": 13.0}, "cannot be both"),
        ((C.MINERAL_ACID,), {"ph": 9.0}, "(pH): 9"),
        ((C.NEUTRAL_DETERGENT,), {"ph": 13.0}, "(pH): 13"),
        ((C.NEUTRAL_DETERGENT,), {"ph": 2.0}, "(pH): 2"),
        ((C.STRONG_ALKALI,), {"ph": 4.0}, "(pH): 4"),
        ((C.PEROXIDE,), {"oxidiser": Answer.NO}, "Holds an oxidiser"),
        ((C.THIOGLYCOLATE,), {"reducer": Answer.NO}, "Holds a reducer"),
        ((C.AMMONIA,), {"amine": Answer.NO}, "Holds an amine"),
        ((C.STRONG_ALKALI,), {"statements": ("H314",), "pictograms": (Pictogram.FLAME,)}, "corrosion"),
        ((C.STRONG_ALKALI,), {"statements": ("H314",), "signal_word": SignalWord.WARNING}, "danger"),
    ],
)
def test_what_cannot_all_be_right(classes: tuple[Chemistry, ...], sheet: dict[str, Any], word: str) -> None:
    right: dict[str, Any] = {
        "oxidiser": Answer.NOT_KNOWN,
        "reducer": Answer.NOT_KNOWN,
        "amine": Answer.NOT_KNOWN,
    }
    made = design(product("p", *classes, **{**right, **sheet}))
    findings = [*found(made, "classes-contradict"), *found(made, "sheet-contradicts")]
    assert len(findings) == 1 and word in findings[0].message
    assert not found(design(product("p", classes[0], **right)), "sheet-contradicts")


@pytest.mark.parametrize(
    ("classes", "ph"),
    [
        # A buffer of a weak acid and a weak alkali is a thing of its own; so is a detergent in an alkali.
        ((C.MILD_ALKALI, C.ORGANIC_ACID), 8.0),
        ((C.AMINE, C.ORGANIC_ACID), 8.5),
        ((C.NEUTRAL_DETERGENT, C.STRONG_ALKALI), 13.0),
        ((C.NEUTRAL_DETERGENT, C.ORGANIC_ACID), 3.0),
        ((C.NEUTRAL_DETERGENT,), 8.5),
    ],
)
def test_what_can_well_be_right(classes: tuple[Chemistry, ...], ph: float) -> None:
    made = design(product("p", *classes, ph=ph, amine=Answer.NOT_KNOWN))
    assert not found(made, "classes-contradict") and not found(made, "sheet-contradicts")


def test_a_sheet_is_asked_for_field_by_field() -> None:
    (finding,) = found(design(product("tar", C.GLYCOL_ETHER, C.MILD_ALKALI)), "sheet-incomplete")
    for words in ("pH", "flash point", "hazard statements", "date of the sheet"):
        assert words in finding.message
    whole = product(
        "tar",
        C.PETROLEUM_SOLVENT,
        flash_point=parse("42 °C", Dimension.TEMPERATURE),
        signal_word=SignalWord.NONE,
        dated=date(2026, 1, 1),
    )
    assert not found(design(whole), "sheet-incomplete")


# Three years: common practice, no source.
@pytest.mark.parametrize(
    ("dated", "rule"),
    [
        (date(2026, 11, 26), "sheet-ahead"),
        (date(2023, 11, 26), ""),
        (date(2023, 11, 25), "sheet-old"),
        (date(2001, 1, 1), "sheet-old"),
    ],
)
def test_the_age_of_a_sheet(dated: date, rule: str) -> None:
    made = design(product("wash", C.NEUTRAL_DETERGENT, dated=dated))
    assert [r for r in ("sheet-ahead", "sheet-old") if found(made, r)] == ([rule] if rule else [])


@pytest.mark.parametrize(
    ("dilution", "expected"),
    [(64.0, ""), (50.0, ""), (70.0, ""), (49.0, "stronger"), (71.0, "weaker"), (0.0, "stronger")],
)
def test_a_dilution_outside_the_label(dilution: float, expected: str) -> None:
    quat = product("quat", C.QUATERNARY, dilution=dilution)
    quat = quat.model_copy(update={"label_strongest": 50.0, "label_weakest": 70.0})
    findings = found(design(quat), "dilution-off-label")
    assert [f.severity for f in findings] == ([Severity.ERROR] if expected else [])
    assert all(expected in f.message for f in findings)
    assert not found(design(quat), "label-range-missing")
    assert found(design(product("quat", C.QUATERNARY)), "label-range-missing")


def test_a_label_range_the_wrong_way_round() -> None:
    wash = product("wash", C.NEUTRAL_DETERGENT).model_copy(
        update={"label_strongest": 70.0, "label_weakest": 50.0}
    )
    (finding,) = found(design(wash), "label-range")
    assert "70:1" in finding.message and "50:1" in finding.message


# 40 CFR 264.175(b)(3) (confirmed): four drums of 55 gal want 55 gal, not 22; 30 of them want a tenth, 165 gal.
@pytest.mark.parametrize(("count", "wanted"), [(1, 55.0), (4, 55.0), (10, 55.0), (30, 165.0)])
def test_what_a_tray_must_hold(count: int, wanted: float) -> None:
    gallon = parse("1 gal", Dimension.VOLUME).si
    drums = product("p", C.MINERAL_ACID).model_copy(
        update={"container": parse("55 gal", Dimension.VOLUME), "containers": count}
    )
    assert tray_volume([drums])[0] == pytest.approx(wanted * gallon)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("ph", 15.0),
        ("ph", -1.0),
        ("classes", ("magic",)),
        ("classes", (C.PEROXIDE, C.PEROXIDE)),
        ("pictograms", ("dragon",)),
        ("statements", ("H31",)),
        ("statements", ("=HYPERLINK()",)),
    ],
)
def test_what_no_sheet_can_say_is_refused(field: str, value: object) -> None:
    with pytest.raises(ValidationError):
        SafetySheet.model_validate({field: value})
