"""The search for the cheapest sizes equals trying every combination by the proof of the line.

The expected side is computed by enumeration with `prove_line`, one candidate at a time; the lines are random and
invented. It is a comparison of method, not of hydraulics, which the proof's own tests check.
"""

from __future__ import annotations

import pytest

from estimator.proposal.tree_search import Search, cheapest
from estimator.units import UnitSystem
from tests.proposal.propose_cases import Case, exhaustive, holds, line_with, random_case


def agrees(case: Case, search: Search) -> bool:
    """Whether the search found what enumeration finds; true if both found something."""
    expected = exhaustive(case)
    assert search.proved
    if expected is None:
        assert search.found is None
        return False
    assert search.found is not None
    assert search.found.cost == pytest.approx(expected[0], abs=1e-6)
    assert search.found.pick.pressure_pa == pytest.approx(expected[1], abs=1.0)
    return True


def test_three_segments_with_pump_and_regulator_free() -> None:
    found = 0
    for seed in (0, 1, 2, 4, 5):
        case = random_case(seed, 2, pumps=True, regulator=True)
        found += agrees(case, cheapest(case.trial(), case.nozzles, case.space))
    assert found >= 3


def test_the_lowest_step_of_a_gauge_in_psi() -> None:
    found = 0
    for seed in (0, 1, 2):
        case = random_case(seed, 2, pumps=False, regulator=True, system=UnitSystem.US)
        search = cheapest(case.trial(), case.nozzles, case.space)
        found += agrees(case, search)
        if search.found is not None:
            psi = search.found.pick.pressure_pa / 6894.757293168362  # exact to the digits given (NIST SP 811)
            assert psi == pytest.approx(round(psi), abs=1e-9)
    assert found >= 2


def test_five_segments_at_a_held_setting() -> None:
    found = 0
    for seed in range(12):
        case = random_case(seed, 3, pumps=False, regulator=False)
        found += agrees(case, cheapest(case.trial(), case.nozzles, case.space))
    assert found >= 3


def test_wanted_flows_are_kept_as_the_proof_counts_them() -> None:
    found = 0
    for seed in (22, 24, 33, 36, 42, 45):
        case = random_case(seed, 2, pumps=False, regulator=True, wanted=True)
        found += agrees(case, cheapest(case.trial(), case.nozzles, case.space))
    assert found >= 4


def test_what_is_found_works_by_the_proof() -> None:
    seen = 0
    for seed in range(40, 60):
        case = random_case(seed, 4, pumps=True, regulator=True)
        found = cheapest(case.trial(), case.nozzles, case.space).found
        if found is not None:
            seen += 1
            good, room = holds(
                case, line_with(case, found.pick.tubes), found.pick.pump, found.pick.pressure_pa
            )
            assert good
            assert room == pytest.approx(found.outcome.room, abs=1e-6)
    assert seen >= 5


def test_at_the_limit_of_boxes_it_says_that_it_is_not_proved() -> None:
    seen = 0
    for seed in range(12):
        case = random_case(seed, 3, pumps=False, regulator=False)
        whole = cheapest(case.trial(), case.nozzles, case.space)
        if whole.found is None or whole.boxes < 3:
            continue
        short = cheapest(case.trial(), case.nozzles, case.space, most_boxes=1)
        assert not short.proved
        if short.found is not None:
            seen += 1
            pick = short.found.pick
            assert holds(case, line_with(case, pick.tubes), pick.pump, pick.pressure_pa)[0]
            assert short.found.cost >= whole.found.cost - 1e-9
    assert seen >= 2
