"""The search of a line with many drops ends by the work it may cost, and says that it proved nothing."""

from __future__ import annotations

from decimal import Decimal
from importlib import resources

import pytest

from estimator.layout.plan import lay_out
from estimator.proposal import tree_search
from estimator.proposal.propose import propose
from estimator.proposal.types import Proposal
from estimator.reference.catalogue import catalogue
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book


def _proposed() -> Proposal:
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        job = load_job(path)
    parts = catalogue()
    layout, _ = lay_out(job.site, job.design, parts)
    return propose(job.site, job.design, layout, parts, shipped_price_book(), Decimal(55))


def test_a_search_that_costs_too_much_stops_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = _proposed()
    assert all(line.proved_cheapest for line in whole.lines)
    monkeypatch.setattr(tree_search, "MOST_WORK", 100)
    short = _proposed()
    cut = [line for line in short.lines if not line.proved_cheapest]
    assert cut
    assert all(str(line.note.sentence).startswith("Not proved cheapest") for line in cut)
    # What works is still found, at no less than what was proved the cheapest.
    assert not [f for f in short.infeasible if f.rule == "proposal-not-possible"]
    cost = {line.line: line.cost for line in whole.lines}
    assert all(line.cost >= cost[line.line] - 1e-9 for line in short.lines)
