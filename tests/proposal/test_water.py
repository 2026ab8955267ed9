"""Booster pump, reducing valve and tips of a proposal: what it calls right the proof calls so, and nothing cheaper is.

Surveys and equipment figures are invented demo data; the judge is the proof.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from estimator.layout.plan import lay_out
from estimator.model.design import BOARD_WATER, Design
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.proposal.cost import size_costs
from estimator.proposal.propose import propose
from estimator.proposal.setting import gauge_of
from estimator.proposal.types import Choice
from estimator.proposal.water import propose_water
from estimator.reference.catalogue import catalogue
from estimator.reference.resolved import resolve
from estimator.sizing.proof import prove
from estimator.sizing.remedy import board_tips
from estimator.store.pricebooks import shipped_price_book
from estimator.units import UnitSystem

PARTS = catalogue()
COSTS = size_costs(PARTS, shipped_price_book(), Decimal(60))
MIXTURE = {"dilution-off", "dilution-hours", "dilution-busy", "dilution-first-fill", "tip-none"}
GAUGE = gauge_of(UnitSystem.METRIC)


def on(job: Job, **water: Any) -> Job:
    """The job with these survey readings and parts of the board; tips left out."""
    for name, value in water.items():
        if name in ("backflow", "booster", "reducer", "reducer_setting"):
            job = with_value(job, ("design", "common", name), value)
        else:
            job = with_value(job, ("site", "water", name), value)
    plant = tuple(u.model_copy(update={"tip_drill": None}) for u in job.design.plant)
    return job.model_copy(update={"design": job.design.model_copy(update={"plant": plant})})


def proposed(job: Job, pinned: frozenset[str] = frozenset()) -> tuple[Design, dict[str, Choice], bool]:
    """The design, the choices by place, and whether something holds."""
    design, found = propose_water(job.site, job.design, PARTS, COSTS, pinned, GAUGE)
    assert found is not None
    return design, {c.place: c for c in found.choices}, found.proved_cheapest


def wrong(job: Job, design: Design) -> set[str]:
    """What the proof finds wrong with the mixtures."""
    _, findings = prove(job.site, design, lay_out(job.site, design, PARTS)[0], PARTS)
    return {f.rule for f in findings} & MIXTURE


def cost(design: Design) -> float:
    return COSTS.boosters[design.common.booster] + COSTS.reducers[design.common.reducer]


streets = st.fixed_dictionaries(
    {
        "static_pressure": st.sampled_from(["2.5 bar", "4 bar", "6 bar", "9 bar"]),
        "pressure": st.sampled_from(["1.5 bar", "2.2 bar"]),
        "flow": st.sampled_from(["6 L/min", "12 L/min", "25 L/min", "60 L/min"]),
        "backflow": st.sampled_from(["backflow-air-gap", "backflow-device", "backflow-assembly"]),
        "booster": st.sampled_from(["no-booster", "booster-small", "booster-large"]),
        "reducer": st.sampled_from(["no-reducer", "reducer-half"]),
    }
)


@given(street=streets)
@settings(deadline=None, max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_it_calls_right_the_proof_calls_right_and_nothing_cheaper_is(
    gannet: Job, street: dict[str, Any]
) -> None:
    """Every pump and valve at every half bar is tried by the board's own judge."""
    job = on(gannet, **street)
    design, _, holds = proposed(job)
    free = frozenset(u.product for u in job.design.plant)
    right: list[float] = []
    for pump in PARTS.boosters:
        for valve in PARTS.reducers:
            for setting in [f"{k / 2} bar" for k in range(2, 12)] if valve.kv is not None else ["3 bar"]:
                tried = on(job, booster=pump.key, reducer=valve.key, reducer_setting=setting).design
                if board_tips(job.site, tried, resolve(tried, PARTS), free) is not None:
                    right.append(cost(tried))
    event("holds" if holds else "nothing holds")
    assert holds is bool(right)
    if holds:
        assert cost(design) == min(right)
        assert not wrong(job, design)
    else:
        assert design.common == job.design.common


def test_a_break_tank_gets_its_pump(gannet: Job) -> None:
    """Behind it there is no pressure at all without one; the pump comes with its price."""
    job = on(gannet, backflow="backflow-air-gap", booster="no-booster")
    design, choices, holds = proposed(job)
    assert holds
    assert design.common.booster == choices["common.booster"].new != "no-booster"
    assert choices["common.booster"].cost == COSTS.boosters[design.common.booster] > 0
    assert not wrong(job, design)


def test_what_is_pinned_or_stands_is_left_alone(gannet: Job) -> None:
    job = on(gannet, backflow="backflow-device", booster="booster-large")
    free, choices, _ = proposed(job)
    assert free.common.booster == "no-booster"
    assert not choices["common.booster"].fixed
    held, choices, _ = proposed(job, frozenset({"common.booster"}))
    assert held.common.booster == "booster-large"
    assert choices["common.booster"].fixed
    stands = with_value(job, ("design", "common", "existing"), True)
    kept, choices, _ = proposed(stands)
    assert kept.common == stands.design.common
    assert all(choice.fixed for choice in choices.values())


def test_a_valve_is_set_in_the_middle_of_what_holds(gannet: Job) -> None:
    """A step of half a bar above and below it still holds where the row of what holds is three steps long."""
    job = on(
        gannet,
        backflow="backflow-device",
        booster="no-booster",
        reducer="reducer-half",
        static_pressure="9 bar",
        pressure="7 bar",
        flow="60 L/min",
    )
    design, choices, holds = proposed(job, frozenset({"common.reducer"}))
    assert holds
    setting = choices["common.reducer_setting"]
    assert setting.new == design.common.reducer_setting.text
    bar = float(setting.new.removesuffix(" bar"))
    free = frozenset(u.product for u in job.design.plant)

    def at(value: float) -> bool:
        tried = on(job, reducer_setting=f"{value:g} bar").design
        return board_tips(job.site, tried, resolve(tried, PARTS), free) is not None

    below = above = 0
    while at(bar - 0.5 * (below + 1)) and below < 20:
        below += 1
    while at(bar + 0.5 * (above + 1)) and above < 20:
        above += 1
    assert above - below in (0, 1)
    assert not wrong(job, design)


def test_the_whole_proposal_tells_it(gannet: Job) -> None:
    """Its choices stand in a group of their own, and its design is the one that is proved."""
    job = on(gannet, backflow="backflow-air-gap", booster="no-booster")
    layout = lay_out(job.site, job.design, PARTS)[0]
    found = propose(job.site, job.design, layout, PARTS, shipped_price_book(), Decimal(60))
    (group,) = (line for line in found.lines if line.line == BOARD_WATER)
    assert found.lines[-1] is group
    assert found.design.common.booster == group.choices[0].new != "no-booster"
    assert not {f.rule for f in found.infeasible} & MIXTURE
