"""Proposing sizes: what is proposed for a job, with what it does to the price, to be taken as one act or left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from estimator.going import ALONE, Going
from estimator.layout.types import Layout
from estimator.model.design import BOARD_WATER, Design
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.proposal.cost import SizeCosts, size_costs
from estimator.proposal.propose import propose
from estimator.proposal.types import LineProposal, Proposal
from estimator.proposal.water import PLACES
from estimator.reference.catalogue import Catalogue
from estimator.reference.own_parts import with_makers
from estimator.study import Pipeline, Study

__all__ = ["NotProposed", "PricedProposal", "act_name", "addresses", "concerned", "offer", "taken"]

_PLANT = ("pump", "regulator", "tank", "tip_drill")


class NotProposed(ValueError):
    """What is asked for cannot be proposed; the message says what can be."""


@dataclass(frozen=True, slots=True)
class PricedProposal:
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

    @property
    def changes(self) -> int:
        """How many choices are others than now."""
        return sum(c.old != c.new for line in self.proposal.lines for c in line.choices)


def concerned(job: Job) -> tuple[object, ...]:
    """What of a job a proposal follows from: an act on anything else leaves a proposal as it is."""
    return job.site, job.design, job.terms, job.prices, job.units


def taken(offer: PricedProposal, job: Job) -> Job:
    """A job with the design of an offer that is for it; what does not concern the offer stays as it is by now."""
    return with_value(job, ("design",), offer.job.design)


def act_name(offer: PricedProposal) -> str:
    """What undo calls the taking of an offer."""
    return f"Propose sizes: {offer.changes} changed, {len(offer.proposal.design.pinned)} kept"


def addresses(design: Design, layout: Layout) -> tuple[tuple[str, str], ...]:
    """(line, address) of every choice that a proposal may make, as `Design.pinned` holds the address.

    Args:
        design: what is to be sized.
        layout: laid out from it.
    """
    found: list[tuple[str, str]] = []
    for line in layout.lines:
        found += [(line.id, f"drops.{d.id}.nozzle_size") for d in design.drops if d.service == line.id]
        found += [(line.id, f"lines.{line.id}.{s.id}.tube") for s in line.segments]
    found += [(u.product, f"plant.{u.product}.{name}") for u in design.plant for name in _PLANT]
    found += [(BOARD_WATER, place) for place in PLACES if design.plant]
    return tuple(found)


def _held(design: Design, layout: Layout, only: frozenset[str]) -> tuple[str, ...]:
    """Addresses of everything but the lines and choices named.

    Raises:
        NotProposed: there is no such line or choice.
    """
    every = addresses(design, layout)
    lines = dict.fromkeys(line for line, _ in every)
    unknown = sorted(only - set(lines) - {address for _, address in every})
    if unknown:
        raise NotProposed(
            f"There is no line or choice “{unknown[0]}”; the lines are {', '.join(lines) or 'none yet'}, a choice is "
            f"written such as {every[0][1] if every else 'plant.foam.pump'}."
        )
    return tuple(address for line, address in every if line not in only and address not in only)


def _about(lines: tuple[LineProposal, ...], chosen: frozenset[str]) -> tuple[LineProposal, ...]:
    """Those that were asked for; all where nothing is chosen."""
    if not chosen:
        return lines
    return tuple(p for p in lines if p.line in chosen or any(c.place in chosen for c in p.choices))


def offer(
    job: Job,
    book: PriceBook,
    catalogue: Catalogue,
    pinned: Iterable[str],
    on: date,
    only: Iterable[str] = (),
    going: Going = ALONE,
) -> PricedProposal:
    """The proposal for a job with these choices kept; pure.

    Args:
        job: as it stands.
        book: prices.
        catalogue: the shipped sizes.
        pinned: addresses of the choices that stay, now and later (see `Design.pinned`).
        on: day that it is worked out for.
        only: ids of lines, or addresses of choices, that are to be sized; all others stay this time. All if left out.
        going: hears how far the proposal is, and is asked whether it is still wanted.

    Raises:
        EditError: an address that is not allowed.
        NotProposed: a line or a choice that is not there.
        Stopped: it is not wanted any more.
    """
    kept = with_value(job, ("design", "pinned"), tuple(pinned))
    parts, _ = with_makers(job.design.makers, catalogue)
    pipeline = Pipeline(catalogue)
    before = pipeline.design(kept, book, on)
    chosen = frozenset(only)
    asked = kept.design
    if chosen:
        held = dict.fromkeys((*asked.pinned, *_held(asked, before.layout, chosen)))
        asked = with_value(asked, ("pinned",), tuple(held))
    rate = job.terms.labour.likely
    proposal = propose(kept.site, asked, before.layout, parts, book, rate, job.units, going=going)
    design = with_value(proposal.design, ("pinned",), kept.design.pinned)
    new = with_value(kept, ("design",), design)
    going.check()
    after = pipeline.design(new, book, on)
    return PricedProposal(
        of=job,
        job=new,
        proposal=Proposal(design, _about(proposal.lines, chosen), proposal.infeasible),
        layout=before.layout,
        parts=parts,
        costs=size_costs(parts, book, rate),
        price_change=after.price.totals.net.likely - before.price.totals.net.likely,
        study=after,
    )
