"""The air line's own regulator, guns that relieve a blocked outlet, and what parts stand. Gannet Quay (invented)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from estimator.model.design import AIR, LinePlan
from estimator.model.finding import Severity
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.proposal.plant import with_tubes
from estimator.study import Study
from estimator.units import Dimension, parse
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
BAR = 1e5

Edit = tuple[tuple[str | int, ...], Any]


def setting(text: str | None) -> Edit:
    return ("design", "lines", 0, "regulator"), text


def cut_out(text: str) -> Edit:
    return ("site", "air", "pressure"), text


def relieving(job: Job, but: int = 0) -> tuple[Edit, ...]:
    guns = [i for i, d in enumerate(job.design.drops) if d.service == AIR]
    return tuple((("design", "drops", i, "gun"), "gun-air-relief") for i in guns[but:])


def test_a_regulator_sets_what_the_air_guns_get_and_use(studied: Studied) -> None:
    """Choked guns: their air goes with the absolute pressure (any gas dynamics text)."""
    made, low = studied(), studied(setting("3 bar"))
    assert made.proof.air is not None and low.proof.air is not None
    assert low.proof.air.head_pa == pytest.approx(3.0 * BAR)
    assert made.proof.air.head_pa == made.proof.air.board_pa == low.proof.air.board_pa
    assert max(drop.outlet_pa for drop in low.proof.air.drops) < 3.0 * BAR
    assert low.proof.air.demand_m3_s < 0.7 * made.proof.air.demand_m3_s
    # The pumps have regulators of their own.
    assert low.proof.drops == made.proof.drops
    assert "air-line-shut" in rules(studied(setting("0 bar")))
    above = next(f for f in studied(setting("7 bar")).findings if f.rule == "air-regulator-above-compressor")
    assert above.place == "design.lines.0.regulator"


def test_the_regulator_is_counted_and_priced(studied: Studied) -> None:
    def bought(made: Study) -> dict[str, float]:
        return {row.takeoff.code: row.takeoff.quantity for row in made.price.rows}

    without, with_one = studied(), studied(setting("3 bar"))
    assert "REG-AL" not in bought(without) and bought(with_one)["REG-AL"] == 1.0
    gap = with_one.price.totals.cost.likely - without.price.totals.cost.likely
    assert gap > 70  # the part of the shipped book, and its labour


def test_a_proposal_leaves_the_setting(studied: Studied, gannet: Job) -> None:
    made = studied(setting("3 bar"))
    line = made.layout.line(AIR)
    assert line is not None
    plan = with_tubes(made.job.design, line, {line.segments[0].id: "tube-10"}).lines[0]
    assert plan.regulator is not None and plan.regulator.text == "3 bar" and plan.segment_tubes


@pytest.mark.parametrize(
    ("edits", "told"),
    [
        ((), True),
        ((setting("2 bar"),), False),  # 29 psi
        ((setting("30 psi"),), True),  # OSHA 29 CFR 1910.242(b): less than 30 psi (published)
        ((setting("29.9 psi"),), False),
        ((cut_out("2 bar"), (("site", "air", "cut_in"), "1.5 bar")), False),
    ],
)
def test_a_line_below_thirty_psi_is_safe_at_a_blocked_outlet(
    studied: Studied, edits: tuple[Edit, ...], told: bool
) -> None:
    assert ("blow-off-pressure" in rules(studied(*edits))) is told


def test_guns_that_relieve_are_taken_at_their_makers_word(studied: Studied, gannet: Job) -> None:
    made = studied(*relieving(gannet))
    assert "blow-off-pressure" not in rules(made)
    note = next(f for f in made.findings if f.rule == "blow-off-relieved")
    assert note.severity is Severity.NOTE and "writing" in note.message
    # One that does not is named alone.
    some = studied(*relieving(gannet, but=1))
    message = next(f for f in some.findings if f.rule == "blow-off-pressure").message
    assert "1-l-air" in message and "1-r-air" not in message


def test_parts_of_the_air_line_stand_what_the_compressor_gives_at_rest(studied: Studied) -> None:
    """Tube 12 x 9 mm for 11 bar, fittings, hoses and guns for 10 (invented demo data)."""
    assert "part-rating" not in rules(studied(cut_out("10 bar")))
    over = next(f for f in studied(cut_out("10.5 bar")).findings if f.rule == "part-rating")
    assert over.place == "site.air.pressure" and over.grade is Grade.NEVER
    assert "tube-12" not in over.message and "gun-air" in over.message and "hose-6" in over.message
    worst = next(f for f in studied(cut_out("16 bar")).findings if f.rule == "part-rating")
    assert "tube-12" in worst.message and "16" in worst.message
    # A regulator of its own keeps the line from it; its pumps never had more than their settings.
    assert "part-rating" not in rules(studied(cut_out("16 bar"), setting("6 bar")))
    high = next(f for f in studied(cut_out("16 bar"), setting("12 bar")).findings if f.rule == "part-rating")
    assert high.place == "design.lines.0.regulator"


def test_parts_of_a_liquid_line_stand_what_its_regulator_gives_at_rest(studied: Studied) -> None:
    high = (cut_out("16 bar"), (("site", "air", "cut_in"), "15 bar"), setting("6 bar"))
    assert "part-rating" not in rules(studied(*high))
    made = studied(*high, (("design", "plant", 0, "regulator"), "10 bar"))
    over = next(f for f in made.findings if f.rule == "part-rating")
    # 10 bar at the pump, and what the gun hangs lower than the board's outlet on top.
    assert over.place == "design.plant.0.regulator" and "hose-6" in over.message


def test_a_regulator_on_a_liquid_line_is_told(studied: Studied, gannet: Job) -> None:
    plans = (
        *gannet.design.lines,
        LinePlan(service=gannet.design.products[0].id, regulator=parse("3 bar", Dimension.PRESSURE)),
    )
    told = [f for f in studied((("design", "lines"), plans)).findings if f.rule == "line-regulator-liquid"]
    assert [f.place for f in told] == ["design.lines.1.regulator"]
