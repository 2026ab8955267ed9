"""A quote sells nothing that it leaves out: priced rows held against the usual exclusions.

Only what the program can tell is judged: backflow protection in the water line, by the part that was chosen, and fees
of the kind “permits”. Exclusions in a person's own words are not.
"""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.choices import ExtraKind
from estimator.model.finding import Finding, Money, Severity, facts
from estimator.model.left_out import LeftOut
from estimator.model.terms import Terms
from estimator.pricing.types import Price, PricedRow
from estimator.reference.catalogue import Backflow
from estimator.takeoff.types import Section

__all__ = ["sold_but_left_out"]


def _sold(price: Price, terms: Terms, backflow: Backflow | None) -> Iterator[tuple[LeftOut, PricedRow]]:
    fees = {f"terms.extras.{i}" for i, extra in enumerate(terms.extras) if extra.kind is ExtraKind.PERMITS}
    for row in price.rows:
        takeoff = row.takeoff
        if takeoff.quantity <= 0:
            continue
        if takeoff.section is Section.EXTRAS:
            if fees.intersection(takeoff.objects):
                yield LeftOut.PERMITS, row
        elif backflow is not None and not backflow.at_board and takeoff.code == backflow.code:
            yield LeftOut.BACKFLOW, row


def sold_but_left_out(price: Price, terms: Terms, backflow: Backflow | None) -> tuple[Finding, ...]:
    """Rows that are sold although the quote says that it leaves them out.

    Args:
        price: what is sold.
        terms: with what is left out.
        backflow: the design's, None where it is not known.
    """
    return tuple(
        Finding(
            Severity.ERROR,
            "terms.left_out",
            "sold-but-left-out",
            "Left to others: the quote leaves out “{what}” and sells “{row}” for {amount}. Take one of them off.",
            "common practice, no source",
            facts=facts(what=what.label, row=row.description, amount=Money(row.price.likely, price.currency)),
        )
        for what, row in _sold(price, terms, backflow)
        if what in terms.left_out
    )
