"""A gun that snaps shut, and a tank that empties itself: found where it is so, and nowhere else.

The surge is Joukowsky's (1898) with the speed of a wave in a thin elastic tube (Korteweg 1878); the figures expected
here are worked out by these formulas in the test, from the proof's own flows. The moduli of plastics are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from estimator.model.design import LinePlan
from estimator.model.finding import Amount, Finding, Severity
from estimator.reference.catalogue import catalogue
from estimator.sizing.rest_proof import WALL_MODULUS_PA, surge_in
from estimator.study import Study

Studied = Callable[..., Study]
TUBES = {t.key: t for t in catalogue().tubes}


def by_rule(study: Study, rule: str) -> list[Finding]:
    return [f for f in study.findings if f.rule == rule]


def amount(finding: Finding, name: str) -> float:
    fact = dict(finding.facts)[name]
    assert isinstance(fact, Amount)
    return fact.si


@pytest.mark.parametrize(
    ("modulus_pa", "wave_m_s", "surge_bar"), [(0.25e9, 202.40, 3.2730), (0.8e9, 354.88, 5.7387)]
)
def test_joukowsky_in_a_tube_of_6_mm(modulus_pa: float, wave_m_s: float, surge_bar: float) -> None:
    """1.62 m/s of water (998.2 kg/m3, 2.2 GPa) in 6 mm bore and 1 mm wall; computed from the formulas alone."""
    tube, stopped = TUBES["tube-8"], 1.62
    wave = math.sqrt(2.2e9 / 998.2 / (1 + 2.2e9 / modulus_pa * 6.0 / 1.0))
    assert wave == pytest.approx(wave_m_s, abs=0.005)
    assert 998.2 * wave * stopped == pytest.approx(1e5 * surge_bar, rel=1e-4)
    if modulus_pa == WALL_MODULUS_PA["polyethylene"]:
        flow = stopped * math.pi / 4 * 6e-3**2
        assert surge_in(tube, flow, 998.2) == pytest.approx(1e5 * surge_bar, rel=1e-4)


def test_a_wall_of_unknown_make_counts_as_rigid() -> None:
    """The upper end: sound in free water, sqrt(2.2 GPa / 998.2 kg/m3) = 1,484.6 m/s."""
    unknown = TUBES["tube-8"].model_copy(update={"wetted": {}})
    flow = math.pi / 4 * 6e-3**2
    assert surge_in(unknown, flow, 998.2) == pytest.approx(998.2 * 1484.6, rel=1e-4)
    assert surge_in(unknown, flow, 998.2) > surge_in(TUBES["tube-8"], flow, 998.2)


def test_the_example_is_quiet_and_narrow_tubes_are_not(studied: Studied) -> None:
    """All lines in the narrowest tube: the largest surge of each is told once, as the formula has it."""
    assert not by_rule(studied(), "surge")
    study = studied((("design", "lines"), narrow(studied())))
    told = by_rule(study, "surge")
    assert told
    tube = TUBES["tube-6"]
    wave = math.sqrt(2.2e9 / 998.2 / (1 + 2.2e9 / 0.8e9 * tube.bore_mm / ((tube.od_mm - tube.bore_mm) / 2)))
    for finding in told:
        assert finding.severity is Severity.WARNING
        place = finding.place.split(".")
        line = study.job.design.plant[int(place[2])].product
        alone = max(d.alone.flow_m3_s for d in study.proof.drops if d.line == line)
        product = next(p for p in study.job.design.products if p.id == line)
        expected = (
            998.2 * product.specific_gravity * wave * alone / (math.pi / 4 * (tube.bore_mm / 1000) ** 2)
        )
        assert amount(finding, "rise") == pytest.approx(expected, rel=0.01)
        assert amount(finding, "peak") > amount(finding, "rating")


def narrow(study: Study) -> tuple[LinePlan, ...]:
    """Every line in the narrowest tube."""
    return tuple(LinePlan(service=p.id, tube="tube-6") for p in study.job.design.products)


def test_less_flow_and_less_pressure_surge_less(studied: Studied) -> None:
    """Each input moves the answer the way physics has it."""
    lines = (("design", "lines"), narrow(studied()))
    at = next(i for i, u in enumerate(studied().job.design.plant) if u.product == "prewash")

    def peak(*changes: tuple[tuple[str | int, ...], object]) -> float:
        found = [
            f for f in by_rule(studied(lines, *changes), "surge") if f.place == f"design.plant.{at}.regulator"
        ]
        return max((amount(f, "peak") for f in found), default=0.0)

    low, high = (peak((("design", "plant", at, "regulator"), p)) for p in ("3 bar", "5 bar"))
    assert low < high
    drops = studied().job.design.drops
    small = tuple(d.model_copy(update={"nozzle_size": "015"}) if d.service == "prewash" else d for d in drops)
    assert peak((("design", "drops"), small)) < peak()


@pytest.mark.parametrize(
    ("level", "told"), [("0.5 m", False), ("1 m", False), ("1.1 m", True), ("3 m", True)]
)
def test_a_tank_above_what_the_springs_hold(studied: Studied, level: str, told: bool) -> None:
    """Springs of 0.1 bar hold 1.02 m of water: 10,000 Pa / (998.2 kg/m3 x 9.80665 m/s2)."""
    study = studied((("design", "common", "tank_level"), level))
    found = by_rule(study, "tank-empties")
    assert bool(found) is told
    for finding in found:
        assert finding.severity is Severity.WARNING
        assert amount(finding, "spring") == pytest.approx(10_000.0)
        heaviest = max(p.specific_gravity for p in study.job.design.products)
        assert amount(finding, "head") <= 1000 * heaviest * 9.80665 * float(level.split(maxsplit=1)[0])


def test_a_height_that_nobody_stated_is_a_note_and_says_what_was_taken(studied: Studied) -> None:
    study = studied((("design", "common", "tank_level"), None))
    (finding,) = by_rule(study, "tank-empties")
    assert finding.severity is Severity.NOTE
    assert amount(finding, "level") == study.job.site.board.outlet_height.si
    assert not by_rule(
        studied((("design", "common", "tank_level"), None), (("site", "board", "outlet_height"), "0.9 m")),
        "tank-empties",
    )
