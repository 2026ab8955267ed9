"""The work of a proposal for a hall several times as large: counted in calls, which no busy machine changes."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from estimator.layout.plan import lay_out
from estimator.model.job import Job
from estimator.proposal.propose import propose
from estimator.reference.catalogue import catalogue
from estimator.store.pricebooks import shipped_price_book
from tests.large_jobs import repeated
from tests.work import calls_of

TIMES = 8


def _proposal(job: Job) -> Callable[[], object]:
    parts, book = catalogue(), shipped_price_book()
    layout, _ = lay_out(job.site, job.design, parts)
    return lambda: propose(job.site, job.design, layout, parts, book, Decimal(55))


def test_a_proposal_of_eight_times_the_drops_is_little_more_than_eight_times_the_work(gannet: Job) -> None:
    _proposal(gannet)()  # loads what a first proposal loads
    small, large = calls_of(_proposal(gannet)), calls_of(_proposal(repeated(gannet, TIMES)))
    # The two sizes beside each of so many tubes are tried too: without a bound of the work that would be the square.
    assert large <= 1.5 * TIMES * small, f"{large / small:.1f} times the calls"


def test_a_repeated_hall_is_laid_out_without_an_error(gannet: Job) -> None:
    job = repeated(gannet, TIMES)
    assert len(job.design.drops) == TIMES * len(gannet.design.drops)
    _, findings = lay_out(job.site, job.design, catalogue())
    before = {f.rule for f in lay_out(gannet.site, gannet.design, catalogue())[1]}
    assert {f.rule for f in findings} <= before
    with pytest.raises(ValueError, match="0"):
        repeated(gannet, 0)
