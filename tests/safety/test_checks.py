"""Safety findings from small designs."""

from __future__ import annotations

from datetime import date

import pytest

from estimator.model.choices import Chemistry, NozzleType
from estimator.model.design import CommonPlant, Design, LinePlan, PlantUnit
from estimator.model.finding import Finding, Severity
from estimator.model.site import AirSupply, Site, WaterSupply
from estimator.reference.resolved import resolve
from estimator.safety.checks import safety_findings
from estimator.units import Dimension, parse
from tests.safety.scene import PARTS, design, drop, product

C = Chemistry
TODAY = date(2026, 11, 25)


def safety(site: Site, made: Design) -> tuple[Finding, ...]:
    return safety_findings(site, made, resolve(made, PARTS), TODAY)


def found(made: Design, rule: str, site: Site | None = None) -> list[Finding]:
    return [f for f in safety(site or Site(), made) if f.rule == rule]


def water(temperature: str) -> Site:
    return Site(water=WaterSupply(temperature=parse(temperature, Dimension.TEMPERATURE)))


def test_bleach_with_ammonia_is_an_error_in_either_order() -> None:
    bleach, ammonia = product("bleach", C.HYPOCHLORITE), product("glass", C.AMMONIA)
    for pair in ((bleach, ammonia), (ammonia, bleach)):
        (finding,) = found(design(*pair), "mixing-forbidden")
        assert finding.severity is Severity.ERROR
        assert finding.place == "design.products.1.sheet.classes"
        assert "“bleach”" in finding.message and "“glass”" in finding.message
        assert "chloramine" in finding.message


def test_acid_beside_alkali_is_a_warning_to_separate() -> None:
    (finding,) = found(
        design(product("rim", C.MINERAL_ACID), product("foam", C.STRONG_ALKALI)), "mixing-apart"
    )
    assert finding.severity is Severity.WARNING and "apart" in finding.message


def test_detergent_with_quaternary_is_only_a_note() -> None:
    made = design(product("wash", C.NEUTRAL_DETERGENT), product("quat", C.QUATERNARY))
    (finding,) = found(made, "mixing-inactive")
    assert finding.severity is Severity.NOTE and "lose its effect" in finding.message


def test_two_products_of_one_chemistry_do_not_react() -> None:
    for chemistry in Chemistry:
        made = design(product("one", chemistry), product("two", chemistry))
        assert not [f for f in safety(Site(), made) if f.rule.startswith("mixing")]


def test_an_open_tank_is_a_finding_that_names_the_product() -> None:
    wash = product("wash", C.NEUTRAL_DETERGENT)
    assert not found(design(wash), "tank-open")
    (finding,) = found(design(wash, plant=(PlantUnit(product="wash", tank_cover=False),)), "tank-open")
    assert finding.place == "design.plant.0.tank_cover" and "“wash”" in finding.message


def test_a_corrosive_without_an_eyewash_names_osha_and_z358() -> None:
    acid = product("rim", C.MINERAL_ACID)
    (finding,) = found(design(acid), "eyewash-missing")
    assert finding.severity is Severity.WARNING
    assert "1910.151(c)" in finding.source and "Z358.1" in finding.source and "10 s" in finding.message
    assert not found(design(acid, common=CommonPlant(eyewash=True)), "eyewash-missing")
    assert not found(design(product("wash", C.NEUTRAL_DETERGENT)), "eyewash-missing")


def test_a_concentrate_that_may_be_corrosive_is_a_note() -> None:
    (finding,) = found(design(product("quat", C.QUATERNARY)), "eyewash-check")
    assert finding.severity is Severity.NOTE and "safety data sheet" in finding.message


def test_backflow_always_defers_to_the_local_code_and_names_upc() -> None:
    """UPC 2024 603.5.22: confirmed. IPC 608 and ASSE 1055 (chemical dispensing systems with integral backflow
    protection): from memory, the standard's text was not at hand; numbering moves by edition."""
    (finding,) = found(design(product("wash", C.NEUTRAL_DETERGENT)), "backflow-defer")
    assert "UPC 2024 603.5.22" in finding.source and "IPC 608" in finding.source
    assert "local plumbing code" in finding.defer_to and "licensed plumber" in finding.defer_to
    assert "ASSE 1055" in finding.message and "ASSE 1055 (from memory" in finding.source


def test_no_tray_is_a_warning() -> None:
    wash = product("wash", C.NEUTRAL_DETERGENT)
    assert found(design(wash, common=CommonPlant(containment=False)), "containment-missing")
    assert not found(design(wash), "containment-missing")


# OSHA 29 CFR 1910.242(b) (confirmed): less than 30 psi; 30 psi = 206.842 719 kPa (NIST SP 811).
@pytest.mark.parametrize(
    ("pressure", "expected"),
    [("29.9 psi", 0), ("30 psi", 1), ("2.06 bar", 0), ("206.8427187950 kPa", 1), ("8 bar", 1)],
)
def test_blow_off_air_at_or_above_thirty_psi(pressure: str, expected: int) -> None:
    made = design(
        product("wash", C.NEUTRAL_DETERGENT), drops=(drop("1-l-air", "air", nozzle=NozzleType.NONE),)
    )
    site = Site(air=AirSupply(pressure=parse(pressure, Dimension.PRESSURE)))
    findings = found(made, "blow-off-pressure", site)
    assert len(findings) == expected
    assert all("1910.242(b)" in f.source and "1-l-air" in f.message for f in findings)


def test_no_air_drop_no_blow_off_finding() -> None:
    assert not found(
        design(product("wash", C.NEUTRAL_DETERGENT), drops=(drop("d", "wash"),)), "blow-off-pressure"
    )


def test_foam_of_a_corrosive_wants_ventilation() -> None:
    made = design(
        product("foam", C.STRONG_ALKALI), drops=(drop("1-l-foam", "foam", nozzle=NozzleType.FOAM_GUN),)
    )
    (finding,) = found(made, "foam-ventilation")
    assert finding.severity is Severity.WARNING and "1-l-foam" in finding.message
    assert finding.place == "design.drops.0.nozzle"
    harmless = design(product("foam", C.NEUTRAL_DETERGENT), drops=made.drops)
    assert not found(harmless, "foam-ventilation")


def test_mist_of_a_solvent_is_a_note() -> None:
    made = design(product("tar", C.PETROLEUM_SOLVENT), drops=(drop("d", "tar", nozzle=NozzleType.FAN),))
    assert [f.severity for f in found(made, "mist-ventilation")] == [Severity.NOTE]
    assert found(made, "flammable-spray")


@pytest.mark.parametrize(
    ("temperature", "rules"),
    [
        ("2 °C", {"water-freezing"}),
        ("41 °F", set()),
        ("15 °C", set()),
        ("30 °C", {"water-warm"}),
        ("55 °C", {"water-warm", "water-scald"}),
        ("70 °C", {"water-warm", "water-scald", "tube-too-hot"}),
    ],
)
def test_water_temperature(temperature: str, rules: set[str]) -> None:
    wash = product("wash", C.NEUTRAL_DETERGENT)
    made = design(wash, lines=(LinePlan(service="wash", tube="tube-8"),))
    findings = safety(water(temperature), made)
    assert {f.rule for f in findings} & {
        "water-freezing",
        "water-warm",
        "water-scald",
        "tube-too-hot",
    } == rules
    assert all(temperature in f.message for f in findings if f.rule in rules)


@pytest.mark.parametrize(
    ("season", "temperature", "rule"),
    [
        ("winter", "2 °C", "water-freezing"),
        ("summer", "30 °C", "water-warm"),
        ("summer", "55 °C", "water-scald"),
        ("summer", "70 °C", "tube-too-hot"),
    ],
)
def test_water_of_the_coldest_and_the_warmest_weeks(season: str, temperature: str, rule: str) -> None:
    made = design(product("wash", C.NEUTRAL_DETERGENT), lines=(LinePlan(service="wash", tube="tube-8"),))
    site = water("15 °C")
    warm = parse(temperature, Dimension.TEMPERATURE)
    site = site.model_copy(update={"water": site.water.model_copy(update={season: warm})})
    (finding,) = (f for f in safety(site, made) if f.rule == rule)
    assert finding.place == f"site.water.{season}"
    assert finding.message.startswith(f"Water in {season}: ") and temperature in finding.message
    assert not [f for f in safety(water("15 °C"), made) if f.rule == rule]


def test_a_choice_the_catalogue_lacks_is_left_to_others() -> None:
    made = design(product("a", C.STRONG_ALKALI), drops=(drop("d", "a", "gun-nowhere"),))
    assert not [f for f in safety(Site(), made) if f.rule.startswith("part-")]
    (told,) = [f for f in resolve(made, PARTS).findings if f.place == "design.drops.0.gun"]
    assert told.rule == "unknown-key"


def test_nothing_designed_nothing_found() -> None:
    assert safety(Site(), Design()) == ()


def test_every_finding_is_a_sentence_with_a_source() -> None:
    everything = design(
        *(product(f"p{i}", chemistry) for i, chemistry in enumerate(Chemistry)),
        drops=tuple(
            drop(f"d{i}-{nozzle.value}", f"p{i}", gun, nozzle)
            for i, _ in enumerate(Chemistry)
            for nozzle, gun in ((NozzleType.FAN, "gun-metal"), (NozzleType.FOAM_GUN, "gun-strange"))
        ),
        plant=(PlantUnit(product="p0", tank_cover=False),),
        common=CommonPlant(containment=False),
    )
    findings = safety(water("1 °C"), everything)
    assert len(findings) > 60
    for finding in findings:
        assert finding.message.endswith(".") and finding.source and finding.place and finding.rule
        assert finding.message.count(":") >= 1
