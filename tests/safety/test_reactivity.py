"""Pairs that must not meet. Each expected pair names its basis and how sure that is."""

from __future__ import annotations

from itertools import product as pairs

import pytest

from estimator.model.choices import Chemistry
from estimator.safety.chemistry import ACIDS, ALKALIS
from estimator.safety.reactivity import REACTIONS, Verdict, reaction

C = Chemistry


@pytest.mark.parametrize(("a", "b"), list(pairs(Chemistry, Chemistry)))
def test_the_order_of_a_pair_does_not_matter(a: Chemistry, b: Chemistry) -> None:
    assert reaction(a, b) == reaction(b, a)


@pytest.mark.parametrize("chemistry", list(Chemistry))
def test_nothing_reacts_with_itself(chemistry: Chemistry) -> None:
    assert reaction(chemistry, chemistry) is None


# Second-hand: Washington State Department of Health on bleach with acid, ammonia and peroxide; from memory of
# general handbooks: hypochlorite and peroxide with solvents; confirmed in EPA-600/2-80-076: fluoride with
# acids.
@pytest.mark.parametrize(
    ("a", "b", "hazard"),
    [
        *((C.HYPOCHLORITE, acid, "chlorine") for acid in sorted(ACIDS)),
        (C.HYPOCHLORITE, C.AMMONIA, "chloramine"),
        (C.HYPOCHLORITE, C.PEROXIDE, "oxygen"),
        (C.HYPOCHLORITE, C.ALCOHOL, "chlorinated"),
        (C.HYPOCHLORITE, C.PETROLEUM_SOLVENT, "chlorinated"),
        (C.HYPOCHLORITE, C.TERPENE, "chlorinated"),
        (C.HYPOCHLORITE, C.GLYCOL_ETHER, "chlorinated"),
        (C.FLUORIDE_ACID, C.MINERAL_ACID, "hydrogen fluoride"),
        (C.FLUORIDE_ACID, C.ORGANIC_ACID, "hydrogen fluoride"),
        (C.PEROXIDE, C.TERPENE, "fire"),
    ],
)
def test_pairs_that_never_come_together(a: Chemistry, b: Chemistry, hazard: str) -> None:
    rule = reaction(a, b)
    assert rule is not None
    assert rule.verdict is Verdict.NEVER_TOGETHER
    assert hazard in rule.hazard


def test_bleach_and_ammonia_stand_as_an_override() -> None:
    # Confirmed trap: the EPA chart's cell 10 x 104 is blank, so the chart alone misses chloramines.
    rule = reaction(C.AMMONIA, C.HYPOCHLORITE)
    assert rule is not None and rule.override and "Department of Health" in rule.source


@pytest.mark.parametrize(("acid", "alkali"), list(pairs(sorted(ACIDS), sorted(ALKALIS))))
def test_acid_and_alkali_are_kept_apart(acid: Chemistry, alkali: Chemistry) -> None:
    # Confirmed: EPA-600/2-80-076 cells 1x10, 2x10, 3x10 are H (heat).
    rule = reaction(acid, alkali)
    assert rule is not None and rule.verdict is Verdict.KEEP_APART and "EPA-600/2-80-076" in rule.source


def test_detergent_and_quaternary_only_lose_effect() -> None:
    rule = reaction(C.QUATERNARY, C.NEUTRAL_DETERGENT)
    assert rule is not None and rule.verdict is Verdict.LOSES_EFFECT


def test_quaternary_is_no_amine_for_hypochlorite() -> None:
    assert reaction(C.QUATERNARY, C.HYPOCHLORITE) is None


def test_every_rule_names_two_chemistries_a_source_and_its_status() -> None:
    for key, rule in REACTIONS.items():
        assert key == rule.pair and len(rule.pair) == 2
        assert rule.source and rule.hazard
        assert rule.status in {"confirmed", "second-hand", "from memory"}
