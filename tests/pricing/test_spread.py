"""The spread chart: shares add up, the sentence is worked out."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from estimator.pricing import pert
from estimator.pricing.risk import RiskError, RiskItem, RiskModel
from estimator.pricing.spread import firm_up, spread

D = Decimal


def item(key: str, low: str, likely: str, high: str, group: str = "") -> RiskItem:
    return RiskItem(key, D(low), D(likely), D(high), group)


JOB = (
    item("pump", "300", "350", "900"),
    item("tube", "100", "120", "170"),
    item("clips", "40", "40", "40"),
    item("crew", "200", "260", "300"),
)


def test_independent_shares_are_variances() -> None:
    """Share = exact variance of the row over that of the total (closed form)."""
    rows = spread(RiskModel(JOB))
    assert [row.item.key for row in rows] == ["pump", "crew", "tube"]
    variances = [float(pert.exact_variance(r.item.low, r.item.likely, r.item.high)) for r in rows]
    assert [row.share for row in rows] == pytest.approx([v / sum(variances) for v in variances], rel=1e-12)


def test_shares_of_rows_that_move_together_add_up_to_one() -> None:
    """Two rows of one cause carry more together than each alone: covariance against the drawn totals."""
    job = [item("a", "10", "12", "20", "g"), item("b", "10", "18", "20", "g"), item("c", "10", "14", "22")]
    rows = spread(RiskModel(job))
    assert sum(row.share for row in rows) == pytest.approx(1.0, abs=1e-12)
    u, v = np.random.default_rng(2).random((2, 400_000))
    columns = [
        10.0 + r * pert.shape(t).quantiles(luck)
        for r, t, luck in ((10, 0.2, u), (10, 0.8, u), (12, 1 / 3, v))
    ]
    total = np.sum(columns, axis=0)
    drawn = {k: float(np.cov(x, total)[0, 1] / total.var()) for k, x in zip("abc", columns, strict=True)}
    for row in rows:
        assert row.share == pytest.approx(drawn[row.item.key], abs=0.005)


def test_firming_up_is_recomputed() -> None:
    model = RiskModel(JOB)
    answer = firm_up(model, 1)
    by_hand = RiskModel([item("pump", "350", "350", "350"), *JOB[1:]]).result
    assert answer.keys == ("pump",)
    assert answer.range_before == model.result.p90 - model.result.p10
    assert answer.range_after == by_hand.p90 - by_hand.p10
    fall = float((1 - answer.range_after / answer.range_before) * 100)
    assert answer.falls_percent == pytest.approx(fall)
    assert 40 < fall < 95
    assert answer.sentence == f"Firm up this row and the range from P10 to P90 falls by {fall:.0f} %: pump."
    assert spread(model)[0].range_without == answer.range_after


def test_three_rows_and_their_names() -> None:
    answer = firm_up(RiskModel(JOB), 3, {"pump": "Diaphragm pump"})
    assert answer.range_after == 0
    assert answer.sentence == (
        "Firm up these three and the range from P10 to P90 falls by 100 %: Diaphragm pump, crew, tube."
    )
    assert firm_up(RiskModel(JOB), 50).keys == answer.keys


def test_firm_job_has_no_spread() -> None:
    model = RiskModel([item("a", "1", "1", "1")])
    assert spread(model) == ()
    assert firm_up(model).sentence == "Every row is firm: the cost has no range."
    assert firm_up(model).falls_percent == 0.0


def test_ties_are_settled_by_the_key() -> None:
    job = [item("b", "1", "2", "3"), item("a", "1", "2", "3")]
    assert [row.item.key for row in spread(RiskModel(job))] == ["a", "b"]
    assert len(spread(RiskModel(job), 1)) == 1


def test_bad_counts() -> None:
    model = RiskModel(JOB)
    with pytest.raises(RiskError, match="at least 1"):
        firm_up(model, 0)
    with pytest.raises(RiskError, match="at least 1"):
        spread(model, 0)
