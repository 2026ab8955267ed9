"""A proposal of sizes with what it does to the price."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from estimator.layout.types import Layout
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.proposal.cost import SizeCosts, size_costs
from estimator.proposal.propose import propose
from estimator.proposal.types import Proposal
from estimator.reference.catalogue import Catalogue
from estimator.reference.own_parts import with_makers
from estimator.study import Pipeline, Study

__all__ = ["Offer", "offer"]


@dataclass(frozen=True, slots=True)
class Offer:
    """A proposal with what it does to the price.

    Attributes:
        of: the job it is for.
        job: the job with the proposal's design, kept choices included.
        proposal: the choices.
        layout: of the job it is for.
        parts, costs: sizes and their installed costs.
        price_change: firm net price above that of the job as it is.
        study: of the job with the proposal.
    """

    of: Job
    job: Job
    proposal: Proposal
    layout: Layout
    parts: Catalogue
    costs: SizeCosts
    price_change: Decimal
    study: Study


def offer(job: Job, book: PriceBook, catalogue: Catalogue, pinned: Iterable[str], on: date) -> Offer:
    """The proposal for a job with these choices kept; pure.

    Args:
        job: as it stands.
        book: prices.
        catalogue: the shipped sizes.
        pinned: addresses of the choices that stay (see `Design.pinned`).
        on: day that it is worked out for.
    """
    kept = with_value(job, ("design", "pinned"), tuple(pinned))
    parts, _ = with_makers(job.design.makers, catalogue)
    pipeline = Pipeline(catalogue)
    before = pipeline.design(kept, book, on)
    rate = job.terms.labour.likely
    proposal = propose(kept.site, kept.design, before.layout, parts, book, rate)
    new = with_value(kept, ("design",), proposal.design)
    after = pipeline.design(new, book, on)
    return Offer(
        of=job,
        job=new,
        proposal=proposal,
        layout=before.layout,
        parts=parts,
        costs=size_costs(parts, book, rate),
        price_change=after.price.totals.net.likely - before.price.totals.net.likely,
        study=after,
    )
