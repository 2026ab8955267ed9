"""Risk of a whole job against a million draws of scipy and against closed forms."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from estimator.model.choices import PriceRule
from estimator.model.pricebook import PriceBook, PriceEntry
from estimator.model.terms import LabourRate, Terms
from estimator.pricing import pert
from estimator.pricing.price import price_rows
from estimator.pricing.risk import DRAWS, RiskError, RiskItem, RiskModel, items_of
from estimator.takeoff.types import RowFor, Section, TakeoffRow

D = Decimal
REFERENCE_DRAWS = 1_000_000


def item(key: str, low: str, likely: str, high: str, group: str = "") -> RiskItem:
    return RiskItem(key, D(low), D(likely), D(high), group)


def random_job(rows: int, seed: int, groups: tuple[str, ...]) -> list[RiskItem]:
    dice = np.random.default_rng(seed)
    made = []
    for i in range(rows):
        low, likely, high = (
            D(str(round(float(x), 2))) for x in sorted(dice.uniform(10, 900) * dice.uniform(0.6, 2.0, 3))
        )
        made.append(RiskItem(f"row {i}", low, likely, high, str(dice.choice(groups))))
    return made


def reference_totals(items: list[RiskItem], seed: int) -> np.ndarray:
    """A million totals; rows of one group get the same uniform number (computed with scipy.stats.beta).

    A draw is one of 65,536 numbers, the middles of as many equal chances: fine beside a tolerance of 0.5 %.
    """
    dice = np.random.default_rng(seed)
    shared: dict[str, np.ndarray] = {}
    total = np.zeros(REFERENCE_DRAWS)
    places = np.sin(np.linspace(0.0, np.pi / 2, 3001)) ** 2
    middles = (np.arange(65_536) + 0.5) / 65_536
    for row in items:
        low, likely, high = float(row.low), float(row.likely), float(row.high)
        if high == low:
            total += low
            continue
        name = row.group or row.key
        if name not in shared:
            shared[name] = dice.integers(0, 65_536, REFERENCE_DRAWS, dtype=np.uint16)
        t = (likely - low) / (high - low)
        # scipy's ppf is slow; its cdf, turned round on 3,001 places, is as good.
        cdf = stats.beta.cdf(places, 1 + 4 * t, 5 - 4 * t)
        total += (low + (high - low) * np.interp(middles, cdf, places))[shared[name]]
    return total


@pytest.mark.parametrize(
    ("rows", "groups"),
    [
        (1, ("",)),
        (3, ("",)),
        (3, ("", "crew")),
        (10, ("", "", "tube supplier", "crew")),
        (10, ("crew",)),
        (40, ("", "", "tube supplier", "crew")),
        (120, ("", "", "tube supplier", "crew")),
        (120, ("",)),
    ],
)
def test_percentiles_agree_with_a_million_draws(rows: int, groups: tuple[str, ...]) -> None:
    """Within 0.5 % of the width from P10 to P90 (the product's tolerance)."""
    items = random_job(rows, 7 * rows + len(groups), groups)
    result = RiskModel(items).result
    total = reference_totals(items, 99 + rows)
    p10, p50, p90 = np.quantile(total, [0.1, 0.5, 0.9])
    tolerance = 0.005 * (p90 - p10)
    assert float(result.p10) == pytest.approx(p10, abs=tolerance)
    assert float(result.p50) == pytest.approx(p50, abs=tolerance)
    assert float(result.p90) == pytest.approx(p90, abs=tolerance)
    assert result.sd == pytest.approx(float(total.std()), rel=0.005)
    assert float(result.mean) == pytest.approx(float(total.mean()), abs=tolerance)
    for chance in (0.05, 0.3, 0.8, 0.97):
        cost = result.cost_at(chance)
        assert result.confidence(cost) == pytest.approx(float((total <= float(cost)).mean()), abs=0.004)


THREE = (item("a", "100", "120", "170"), item("b", "40", "50", "75"), item("c", "200", "220", "300"))


def test_sum_of_three_independent_rows() -> None:
    """Mean 407.5, classic sd 21.16404 (computed with decimal arithmetic from Malcolm et al. 1959)."""
    result = RiskModel(THREE).result
    assert result.mean == D("407.50")
    assert result.classic_sd == pytest.approx(21.16404, abs=1e-5)
    exact = sum(pert.exact_variance(i.low, i.likely, i.high) for i in THREE)
    assert result.sd == pytest.approx(float(exact) ** 0.5, rel=1e-12)
    assert (result.floor, result.likely, result.ceiling) == (D(340), D(390), D(545))


def test_fully_correlated_rows() -> None:
    """Classic sd 34.1667 = sum of (b - a)/6; of rows of one shape the exact sd adds up too."""
    together = [RiskItem(i.key, i.low, i.likely, i.high, "one supplier") for i in THREE]
    result = RiskModel(together).result
    assert result.classic_sd == pytest.approx(34.1667, abs=1e-4)
    same = [item("x", "10", "12", "20", "g"), item("y", "100", "120", "200", "g")]
    sds = sum(float(pert.exact_variance(i.low, i.likely, i.high)) ** 0.5 for i in same)
    assert RiskModel(same).result.sd == pytest.approx(sds, rel=1e-5)
    assert RiskModel(together).result.sd > RiskModel(THREE).result.sd


@pytest.mark.parametrize("rows", [2, 10, 120])
def test_moments_of_the_worked_out_distribution(rows: int) -> None:
    """Mean and variance of the ten thousand draws against the closed form."""
    items = random_job(rows, rows, ("",))
    model = RiskModel(items)
    mean = float(sum(pert.mean(i.low, i.likely, i.high) for i in items))
    variance = float(sum(pert.exact_variance(i.low, i.likely, i.high) for i in items))
    assert float(model.draws.mean()) == pytest.approx(mean, abs=1e-3 * variance**0.5)
    assert float(model.draws.var()) == pytest.approx(variance, rel=2e-3)


def test_two_runs_are_identical() -> None:
    items = random_job(40, 3, ("", "crew"))
    one, two = RiskModel(items), RiskModel(list(items))
    assert (one.result.p10, one.result.p50, one.result.p90) == (
        two.result.p10,
        two.result.p50,
        two.result.p90,
    )
    assert one.draws.tobytes() == two.draws.tobytes()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 11), st.integers(0, 10_000), st.integers(0, 10_000), st.booleans())
def test_one_row_update_equals_a_full_recomputation(row: int, a: int, b: int, grouped: bool) -> None:
    items = random_job(12, 5, ("", "crew"))
    low, high = sorted((D(a) / 7, D(b) / 7))
    new = RiskItem(items[row].key, low, low + (high - low) / 3, high, "crew" if grouped else "")
    updated = RiskModel(items).changed(new)
    items[row] = new
    anew = RiskModel(items)
    for name in ("p10", "p50", "p90", "mean", "sd", "floor", "ceiling"):
        assert getattr(updated.result, name) == getattr(anew.result, name)
    assert updated.draws.tobytes() == anew.draws.tobytes()


def test_a_change_leaves_the_earlier_model_alone() -> None:
    items = random_job(20, 8, ("", "crew"))
    model = RiskModel(items)
    before = (model.result.p10, model.result.p90)
    wide = model.changed(item("row 3", "0", "10", "90000"))
    assert wide.result.p90 > before[1]
    back = wide.changed(items[3])
    assert (back.result.p10, back.result.p90) == before == (model.result.p10, model.result.p90)


def test_common_random_numbers() -> None:
    """A row dearer by 100 makes every single draw dearer by 100: the luck is the same."""
    items = random_job(10, 4, ("", "crew"))
    model = RiskModel(items)
    old = items[0]
    dearer = model.changed(RiskItem(old.key, old.low + 100, old.likely + 100, old.high + 100, old.group))
    assert np.allclose(dearer.draws - model.draws, 100.0, atol=1e-6)


def test_draws_carry_the_shown_percentiles() -> None:
    model = RiskModel(random_job(30, 6, ("", "crew")))
    assert model.draws.shape == (DRAWS,)
    shown = [float(model.result.p10), float(model.result.p50), float(model.result.p90)]
    width = shown[2] - shown[0]
    assert np.quantile(model.draws, [0.1, 0.5, 0.9]) == pytest.approx(shown, abs=5e-4 * width)


def test_firm_rows_and_no_rows() -> None:
    firm = RiskModel([item("a", "5", "5", "5"), item("b", "7.25", "7.25", "7.25", "g")]).result
    assert firm.p10 == firm.p50 == firm.p90 == firm.mean == D("12.25")
    assert firm.sd == 0.0
    assert firm.confidence(D("12.25")) == 1.0
    assert firm.confidence(D("12.24")) == 0.0
    assert firm.cost_at(0.3) == D("12.25")
    nothing = RiskModel([]).result
    assert nothing.p90 == 0
    assert nothing.confidence(D(0)) == 1.0


def test_likely_at_an_end() -> None:
    """Likely at the low end is beta(1, 5): P90 = 1 - 0.1^(1/5) of the range (closed form)."""
    result = RiskModel([item("a", "0", "0", "1000")]).result
    assert float(result.p90) == pytest.approx(1000 * (1 - 0.1**0.2), abs=0.02)
    other = RiskModel([item("a", "0", "1000", "1000")]).result
    assert float(other.p10) == pytest.approx(1000 * 0.1**0.2, abs=0.02)


amounts = st.decimals(min_value=0, max_value=10_000_000, places=2)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(amounts, amounts, amounts, st.sampled_from(["", "g", "h"])), max_size=8))
def test_any_rows_give_ordered_finite_figures(rows: list[tuple[Decimal, Decimal, Decimal, str]]) -> None:
    items = []
    for i, (*three, group) in enumerate(rows):
        low, likely, high = sorted(D(x) for x in three)
        items.append(RiskItem(str(i), low, likely, high, group))
    model = RiskModel(items)
    result = model.result
    assert result.floor <= result.p10 <= result.p50 <= result.p90 <= result.ceiling
    assert np.isfinite(model.draws).all()
    assert np.isfinite([result.sd, result.classic_sd]).all()
    chances = [result.confidence(result.floor + (result.ceiling - result.floor) * k / 10) for k in range(11)]
    assert chances == sorted(chances)
    assert chances[-1] == 1.0


def test_floor_and_ceiling_are_hard() -> None:
    result = RiskModel(THREE).result
    assert result.confidence(result.floor) == 0.0
    assert result.confidence(result.ceiling) == 1.0
    assert result.cost_at(0.0) == result.floor
    assert result.cost_at(1.0) == result.ceiling


def test_confidence_of_a_cost_that_keeps_a_margin() -> None:
    """Price 600, margin 30 %: kept where the cost is at most 420."""
    result = RiskModel(THREE).result
    assert 0.5 < result.confidence(D(420)) < 0.9
    assert result.confidence(D(1200)) == 1.0


def test_bad_input_names_the_field() -> None:
    with pytest.raises(RiskError, match="pump: low 9, likely 5, high 10; low ≤ likely ≤ high"):
        item("pump", "9", "5", "10")
    with pytest.raises(RiskError, match="pump: high is NaN"):
        item("pump", "1", "5", "NaN")
    with pytest.raises(RiskError, match="pump: high is 1E\\+16"):
        item("pump", "1", "5", "1E+16")
    with pytest.raises(RiskError, match="pump: stands twice"):
        RiskModel([item("pump", "1", "2", "3"), item("pump", "1", "2", "3")])
    model = RiskModel(THREE)
    with pytest.raises(RiskError, match="z: there is no such row"):
        model.changed(item("z", "1", "2", "3"))
    with pytest.raises(RiskError, match="z: there is no such row"):
        model.item("z")
    for chance in (-0.1, 80.0, float("nan")):
        with pytest.raises(RiskError, match="from 0 to 1"):
            model.result.cost_at(chance)
    with pytest.raises(RiskError, match="cost: it is Infinity"):
        model.result.confidence(D("Infinity"))


def entry(code: str, low: str, likely: str, high: str, moves_with: str = "") -> PriceEntry:
    return PriceEntry(
        code=code, description=code, low=D(low), likely=D(likely), high=D(high), correlation=moves_with
    )


def test_items_of_a_priced_job() -> None:
    """Invented demo data. Rows without a price are left out; rows of one code move together."""
    entries = (
        entry("TUB-08", "1", "2", "4"),
        entry("PMP-01", "300", "350", "500", "pump house"),
        entry("GUN-01", "40", "50", "70", "pump house"),
    )
    takeoff = (
        TakeoffRow("TUB-08", Section.LINES, 10.0, 0.0, ("a",), (10.0,), RowFor(service="foam")),
        TakeoffRow("TUB-08", Section.LINES, 20.0, 0.0, ("b",), (20.0,), RowFor(service="wax")),
        TakeoffRow("PMP-01", Section.PLANT, 1.0, 0.0, ("c",)),
        TakeoffRow("GUN-01", Section.DROPS, 4.0, 0.0, ("d",)),
        TakeoffRow("NOT-IN", Section.DROPS, 4.0, 0.0, ("e",)),
    )
    terms = Terms(
        rule=PriceRule.MARKUP, rule_percent=D(0), labour=LabourRate(low=D(0), likely=D(0), high=D(0))
    )
    price, _ = price_rows(takeoff, terms, PriceBook(entries=entries))
    items = items_of(price, entries)
    assert [(i.low, i.likely, i.high) for i in items] == [
        (D(10), D(20), D(40)),
        (D(20), D(40), D(80)),
        (D(300), D(350), D(500)),
        (D(160), D(200), D(280)),
    ]
    assert [i.group for i in items] == ["part TUB-08", "part TUB-08", "pump house", "pump house"]
    result = RiskModel(items, price.currency).result
    assert (result.floor, result.likely, result.ceiling) == (
        price.totals.cost.low,
        price.totals.cost.likely,
        price.totals.cost.high,
    )
