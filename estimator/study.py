"""The one pipeline: a Job and a price book in, a Study out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from estimator.layout.plan import lay_out
from estimator.layout.types import Layout
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import book_for, changed_findings
from estimator.pricing.price import price_rows
from estimator.pricing.revise import revision_findings
from estimator.pricing.types import Price
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.own_parts import with_makers
from estimator.reference.stock import stock_book
from estimator.safety.checks import safety_findings
from estimator.sizing.proof import Prover
from estimator.sizing.types import Proof
from estimator.takeoff.buying import BoughtRow, buy
from estimator.takeoff.rows import take_off
from estimator.takeoff.types import TakeoffRow

__all__ = ["Pipeline", "Study", "study"]


@dataclass(frozen=True, slots=True)
class Study:
    """Everything the program worked out from a job; never saved as truth, always recomputed.

    Attributes:
        job: the job it was worked out from.
        layout: where everything goes.
        proof: what comes out of every nozzle, and whether plant, air and water keep up.
        takeoff: what to buy.
        price: what it costs.
        findings: what is missing, wrong or to be looked at; errors first.
        prices: the prices it was worked out with: those the job holds on to, the book's for every other part.
        bought: what to buy in whole coils, stock lengths and packs against what is needed.
    """

    job: Job
    layout: Layout
    proof: Proof
    takeoff: tuple[TakeoffRow, ...]
    price: Price
    findings: tuple[Finding, ...]
    prices: PriceBook
    bought: tuple[BoughtRow, ...]


R = TypeVar("R")


class _Kept(Generic[R]):
    """Keeps the last answer of a stage for as long as its inputs are equal."""

    def __init__(self, stage: Callable[..., R]) -> None:
        self._stage = stage
        self._inputs: tuple[Any, ...] | None = None
        self._answer: R | None = None

    def __call__(self, *inputs: Any) -> R:
        known = self._inputs
        if (
            known is None
            or self._answer is None
            or not all(a is b or a == b for a, b in zip(known, inputs, strict=True))
        ):
            self._answer = self._stage(*inputs)
            self._inputs = inputs
        return self._answer


class Pipeline:
    """A pipeline that keeps what has not changed between one job and the next."""

    def __init__(self, parts: Catalogue | None = None) -> None:
        self._parts = parts or catalogue()
        self._makers = _Kept(with_makers)
        self._layout = _Kept(lay_out)
        self._proof = _Kept(Prover())
        self._takeoff = _Kept(take_off)
        self._price = _Kept(price_rows)
        self._buying = _Kept(buy)
        self._issued = _Kept(revision_findings)
        self._safety = _Kept(safety_findings)

    def study(self, job: Job, book: PriceBook) -> Study:
        """The study of a job; pure: the same inputs give the same study.

        Prices that the job holds on to stand before those of the book.
        """
        parts, maker_findings = self._makers(job.design.makers, self._parts)
        layout, layout_findings = self._layout(job.site, job.design, parts)
        proof, proof_findings = self._proof(job.site, job.design, layout, parts)
        takeoff, takeoff_findings = self._takeoff(job.design, layout, parts)
        prices = book_for(job, book)
        price, price_findings = self._price(takeoff, job.terms, prices)
        bought, buying_findings = self._buying(takeoff, stock_book(), prices)
        safety = self._safety(job.site, job.design, parts)
        order = {"error": 0, "warning": 1, "note": 2}
        findings = sorted(
            # An unknown key is found by every stage that asks for it; it is told once.
            dict.fromkeys(
                (
                    *maker_findings,
                    *layout_findings,
                    *proof_findings,
                    *takeoff_findings,
                    *price_findings,
                    *buying_findings,
                    *changed_findings(job, book),
                    *self._issued(job.issued),
                    *safety,
                )
            ),
            key=lambda f: order[f.severity.value],
        )
        return Study(job, layout, proof, takeoff, price, tuple(findings), prices, bought)


def study(job: Job, book: PriceBook) -> Study:
    """The study of a job from nothing."""
    return Pipeline().study(job, book)
