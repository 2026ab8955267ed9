"""Pairs that must not meet. Each expected pair names its basis and how sure that is."""

from __future__ import annotations

from itertools import product as pairs

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimator.model.choices import Answer, Chemistry
from estimator.model.sheet import SafetySheet
from estimator.safety.chemistry import ACIDS, ALKALIS
from estimator.safety.meetings import Meeting, meeting
from estimator.safety.reactivity import CHART, GROUP_OF, OVERRIDES, MeetingVerdict, Reaction, reaction
from estimator.safety.traits import TRAITS_OF, Trait, traits_of

C, T = Chemistry, Trait
EVERY = list(pairs(Trait, Trait))


def answered(*classes: Chemistry, **answers: Answer) -> SafetySheet:
    """A sheet whose every question is answered by no unless it is given."""
    no = SafetySheet(classes=classes, oxidiser=Answer.NO, reducer=Answer.NO, amine=Answer.NO)
    return no.model_copy(update=answers)


def met(one: SafetySheet, other: SafetySheet) -> Meeting:
    return meeting(traits_of(one), traits_of(other))


def pair(a: Chemistry, b: Chemistry) -> Reaction | None:
    return met(answered(a), answered(b)).sure


@pytest.mark.parametrize(("a", "b"), EVERY)
def test_the_order_of_two_traits_does_not_matter(a: Trait, b: Trait) -> None:
    assert reaction(a, b) == reaction(b, a)
    assert a is not b or reaction(a, b) is None


@pytest.mark.parametrize(("a", "b"), EVERY)
def test_an_override_wins_over_the_chart(a: Trait, b: Trait) -> None:
    rule = OVERRIDES.get(frozenset({a, b}))
    if rule is not None:
        assert reaction(a, b) is rule and rule.override
    elif (found := reaction(a, b)) is not None:
        assert not found.override and found.source.startswith("EPA-600/2-80-076 (1980), group ")


sheets = st.builds(
    SafetySheet,
    classes=st.lists(st.sampled_from(list(Chemistry)), unique=True, max_size=3).map(tuple),
    ph=st.none() | st.floats(0, 14),
    oxidiser=st.sampled_from(list(Answer)),
    reducer=st.sampled_from(list(Answer)),
    amine=st.sampled_from(list(Answer)),
    statements=st.lists(st.sampled_from(["H225", "H272", "H314", "EUH031", "EUH206"]), unique=True).map(
        tuple
    ),
)


@given(sheets, sheets)
def test_two_concentrates_in_either_order(one: SafetySheet, other: SafetySheet) -> None:
    here, there = met(one, other), met(other, one)
    assert (here.open is None) == (there.open is None)
    for a, b in ((here.sure, there.sure), (here.open, there.open)):
        assert (a and a.verdict) == (b and b.verdict)
    assert here.asked == there.asked[::-1]


@given(sheets, sheets)
def test_an_answer_never_makes_a_pair_worse_than_the_open_question(
    one: SafetySheet, other: SafetySheet
) -> None:
    """Unknown counts as the worse case: over every class and flag."""
    order = [*MeetingVerdict, None]

    def worst_of(a: SafetySheet, b: SafetySheet) -> int:
        found = met(a, b)
        return min(order.index(r.verdict if r else None) for r in (found.sure, found.open))

    for flag in ("oxidiser", "reducer", "amine"):
        open_ = one.model_copy(update={flag: Answer.NOT_KNOWN})
        assert worst_of(open_, other) <= worst_of(one.model_copy(update={flag: Answer.NO}), other)


@pytest.mark.parametrize("chemistry", list(Chemistry))
def test_nothing_reacts_with_itself(chemistry: Chemistry) -> None:
    assert pair(chemistry, chemistry) is None


def test_every_class_has_its_traits() -> None:
    assert set(TRAITS_OF) == set(Chemistry)


# Second-hand: Washington State Department of Health on bleach with acid, ammonia and peroxide; from memory of
# general handbooks: hypochlorite and peroxide with solvents, reducers, hydrochloric with nitric acid; confirmed in
# EPA-600/2-80-076: fluoride with acids (1 to 3 with 15), oxidising acid with alcohol (2 with 4) and amine (2 with 7).
@pytest.mark.parametrize(
    ("a", "b", "hazard"),
    [
        *((C.HYPOCHLORITE, acid, "chlorine") for acid in sorted(ACIDS)),
        (C.HYPOCHLORITE, C.AMMONIA, "chloramine"),
        (C.HYPOCHLORITE, C.AMINE, "chloramine"),
        (C.HYPOCHLORITE, C.PEROXIDE, "oxygen"),
        (C.HYPOCHLORITE, C.ALCOHOL, "chlorinated"),
        (C.HYPOCHLORITE, C.PETROLEUM_SOLVENT, "chlorinated"),
        (C.HYPOCHLORITE, C.TERPENE, "chlorinated"),
        (C.HYPOCHLORITE, C.GLYCOL_ETHER, "chlorinated"),
        (C.HYPOCHLORITE, C.THIOGLYCOLATE, "harmful gas"),
        (C.PEROXIDE, C.THIOGLYCOLATE, "explode"),
        (C.HYDROCHLORIC_ACID, C.THIOGLYCOLATE, "sulphur"),
        (C.FLUORIDE_ACID, C.MINERAL_ACID, "hydrogen fluoride"),
        (C.FLUORIDE_ACID, C.HYDROCHLORIC_ACID, "hydrogen fluoride"),
        (C.FLUORIDE_ACID, C.NITRIC_ACID, "hydrogen fluoride"),
        (C.FLUORIDE_ACID, C.ORGANIC_ACID, "hydrogen fluoride"),
        (C.HYDROCHLORIC_ACID, C.NITRIC_ACID, "chlorine and nitrogen oxides"),
        (C.HYDROCHLORIC_ACID, C.PEROXIDE, "chlorine"),
        (C.NITRIC_ACID, C.ALCOHOL, "catch fire"),
        (C.NITRIC_ACID, C.AMINE, "poisonous gas"),
        (C.NITRIC_ACID, C.PETROLEUM_SOLVENT, "catch fire"),
        (C.PEROXIDE, C.AMINE, "catch fire"),
        (C.PEROXIDE, C.TERPENE, "fire"),
    ],
)
def test_pairs_that_never_come_together(a: Chemistry, b: Chemistry, hazard: str) -> None:
    rule = pair(a, b)
    assert rule is not None
    assert rule.verdict is MeetingVerdict.NEVER_TOGETHER
    assert hazard in rule.hazard


def test_bleach_and_ammonia_stand_as_an_override() -> None:
    # Confirmed trap: the EPA chart's cell 10 x 104 is blank, so the chart alone misses chloramines.
    assert frozenset({10, 104}) not in CHART
    assert (GROUP_OF[T.AMMONIA], GROUP_OF[T.HYPOCHLORITE]) == ((10,), (104,))
    rule = pair(C.AMMONIA, C.HYPOCHLORITE)
    assert rule is not None and rule.override and "Department of Health" in rule.source


@pytest.mark.parametrize(("acid", "alkali"), list(pairs(sorted(ACIDS), sorted(ALKALIS - {C.AMINE}))))
def test_acid_and_alkali_are_kept_apart(acid: Chemistry, alkali: Chemistry) -> None:
    # Confirmed: EPA-600/2-80-076 cells 1x10, 2x10, 3x10 are H (heat).
    rule = pair(acid, alkali)
    assert (
        rule is not None and rule.verdict is MeetingVerdict.KEEP_APART and "EPA-600/2-80-076" in rule.source
    )


# From memory of general handbooks.
@pytest.mark.parametrize("alkali", [C.STRONG_ALKALI, C.MILD_ALKALI, C.AMMONIA])
def test_peroxide_and_alkali_are_kept_apart(alkali: Chemistry) -> None:
    rule = pair(C.PEROXIDE, alkali)
    assert rule is not None and rule.verdict is MeetingVerdict.KEEP_APART and "decomposes" in rule.hazard


def test_an_acid_iron_remover_is_told_beside_an_organic_acid() -> None:
    rule = pair(C.THIOGLYCOLATE, C.ORGANIC_ACID)
    assert rule is not None and rule.verdict is MeetingVerdict.KEEP_APART and rule.override


def test_detergent_and_quaternary_only_lose_effect() -> None:
    rule = pair(C.QUATERNARY, C.NEUTRAL_DETERGENT)
    assert rule is not None and rule.verdict is MeetingVerdict.LOSES_EFFECT


def test_quaternary_is_no_amine_for_hypochlorite() -> None:
    assert pair(C.QUATERNARY, C.HYPOCHLORITE) is None


@pytest.mark.parametrize(("flag", "hazard"), [("amine", "chloramine"), ("reducer", "harmful gas")])
def test_a_flag_says_what_no_class_says(flag: str, hazard: str) -> None:
    bleach = answered(C.HYPOCHLORITE)
    rule = met(answered(C.NEUTRAL_DETERGENT, **{flag: Answer.YES}), bleach).sure
    assert rule is not None and rule.verdict is MeetingVerdict.NEVER_TOGETHER and hazard in rule.hazard
    assert met(answered(C.NEUTRAL_DETERGENT), bleach) == Meeting(None, None)
    open_ = met(answered(C.NEUTRAL_DETERGENT, **{flag: Answer.NOT_KNOWN}), bleach)
    assert open_.sure is None and open_.open is not None
    assert open_.open.verdict is MeetingVerdict.NEVER_TOGETHER
    assert [why.value for why in open_.asked[0]] == [flag] and open_.asked[1] == ()


@pytest.mark.parametrize(
    ("sheet", "trait"),
    [
        # GHS 3.2 (from memory): pH of 2 or less, of 11.5 or more.
        ({"ph": 1.5}, T.MINERAL_ACID),
        ({"ph": 12.5}, T.CAUSTIC),
        # Statements of the GHS and of the European Union (from memory).
        ({"statements": ("H272",)}, T.OXIDISER),
        ({"statements": ("H225",)}, T.HYDROCARBON),
        ({"statements": ("EUH206",)}, T.HYPOCHLORITE),
        ({"statements": ("EUH031",)}, T.GAS_WITH_ACID),
    ],
)
def test_the_rest_of_the_sheet_says_what_the_class_does_not(sheet: dict[str, object], trait: Trait) -> None:
    plain = answered(C.NEUTRAL_DETERGENT)
    assert trait not in traits_of(plain)
    assert trait in traits_of(SafetySheet.model_validate({**dict(plain), **sheet}))


def test_a_hydrofluoric_wheel_acid_left_without_a_class_is_not_called_harmless() -> None:
    found = met(SafetySheet(ph=1.0), answered(C.HYPOCHLORITE))
    assert found.sure is not None and found.sure.verdict is MeetingVerdict.NEVER_TOGETHER


def test_every_rule_names_two_traits_a_source_and_its_status() -> None:
    for a, b in EVERY:
        rule = reaction(a, b)
        if rule is not None:
            assert rule.pair == frozenset({a, b}) and len(rule.pair) == 2
            assert rule.source and rule.hazard
            assert rule.status in {"confirmed", "second-hand", "from memory"}
