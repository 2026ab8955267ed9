"""The first fill of an empty board, from survey to sentence. Equipment figures are invented demo data."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable

import pytest

from estimator.documents.study_json import study_json
from estimator.hydraulics.board import solve
from estimator.shown.findings import sentences_of
from estimator.sizing.rules import dilution_limits
from estimator.sizing.types import FillingOrder
from estimator.study import Study
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
FLOW, STATIC = ("site", "water", "flow"), ("site", "water", "static_pressure")
WEAK = ((STATIC, "4.4 bar"), (FLOW, "18 L/min"))
STEP_S = 1.0


@pytest.fixture(scope="module")
def studied(on_the_street: Studied) -> Studied:
    """Studies of the example on the street, which its mixtures then depend on."""
    return on_the_street


def order(made: Study) -> FillingOrder:
    assert made.proof.day is not None and made.proof.day.order is not None
    return made.proof.day.order


def in_steps(made: Study, turns: Iterable[Iterable[str]]) -> tuple[dict[str, float], float]:
    """The same fill second by second: parts of water in each tank, and when the last is full [s]."""
    board, plant = made.proof.board, made.proof.plant
    assert board is not None
    at = {unit.product: k for k, unit in enumerate(plant)}
    level, concentrate, now = [0.0] * len(plant), [0.0] * len(plant), 0.0
    for turn in turns:
        waiting = sorted(at[key] for key in turn)
        while waiting:
            (answer,) = solve(board.water, [tuple(waiting)])
            for fill in answer.fills:
                assert fill.refill_m3_s is not None and fill.concentrate_m3_s is not None
                level[fill.post] += STEP_S * fill.refill_m3_s
                concentrate[fill.post] += STEP_S * fill.concentrate_m3_s
            now += STEP_S
            waiting = [k for k in waiting if level[k] < 0.95 * plant[k].tank_m3]
    return {key: level[k] / concentrate[k] - 1.0 for key, k in at.items()}, now


def test_the_order_leaves_every_tank_with_its_own_mixture_and_all_at_once_does_not(studied: Studied) -> None:
    made = studied(*WEAK)
    found = order(made)
    assert len(found.turns) > 1
    assert sorted(key for turn in found.turns for key in turn.products) == sorted(
        unit.product for unit in made.proof.plant
    )
    limits = {p.id: dilution_limits(p) for p in made.job.design.products}
    in_turn, took_s = in_steps(made, [turn.products for turn in found.turns])
    at_once, at_once_s = in_steps(made, [[unit.product for unit in made.proof.plant]])
    assert all(limits[key][0] <= parts <= limits[key][1] for key, parts in in_turn.items())
    assert not all(limits[key][0] <= parts <= limits[key][1] for key, parts in at_once.items())
    assert found.total_s == pytest.approx(took_s, abs=3.0 * len(found.turns))
    assert found.at_once_s == pytest.approx(at_once_s, abs=6.0)
    assert found.total_s == pytest.approx(sum(turn.takes_s for turn in found.turns), rel=1e-9)


def test_it_is_told_by_names_in_the_order_of_the_turns(studied: Studied) -> None:
    made = studied(*WEAK)
    (finding,) = (f for f in made.findings if f.rule == "first-fill-order")
    text = sentences_of(made).installer(finding)
    names = {p.id: p.name for p in made.job.design.products}
    places = [text.index(names[key]) for turn in order(made).turns for key in turn.products]
    assert places == sorted(places)
    assert re.search(r"all is full after [\d.]+\xa0min", text) and " together, then " in text


def test_a_strong_street_needs_no_order_and_a_mixture_that_is_wrong_alone_has_none(studied: Studied) -> None:
    assert "first-fill-order" not in rules(studied((FLOW, "80 L/min")))
    made = studied((FLOW, "1 L/min"))
    assert "first-fill-order" not in rules(made) and "plant-out-of-range" in rules(made)


def test_a_weaker_street_takes_more_turns(studied: Studied) -> None:
    some = order(studied(*WEAK))
    more = order(studied((STATIC, "4.4 bar"), (FLOW, "8 L/min")))
    assert len(more.turns) >= len(some.turns) and more.total_s > some.total_s


def test_it_is_on_the_record(studied: Studied) -> None:
    made = studied(*WEAK)
    told = json.loads(study_json(made))["proof"]["day"]["order"]
    assert [turn["products"] for turn in told["turns"]] == [list(t.products) for t in order(made).turns]
    assert told["total_s"] == order(made).total_s
    assert json.loads(study_json(studied()))["proof"]["day"]["order"] is None
