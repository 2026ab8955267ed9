"""What a quote may carry besides the one design: options to tick, and what changed since the revision before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from estimator.going import ALONE, Going
from estimator.model.choices import Section
from estimator.model.differences import Difference
from estimator.model.issued import Issued, handed, job_then
from estimator.model.option_designs import option_name
from estimator.model.options import BASE, Alternative
from estimator.model.revisions import standing
from estimator.model.snapshot import Snapshot
from estimator.money import money_text
from estimator.pricing.compare import (
    ChangeKind,
    Comparison,
    Lines,
    OptionFigures,
    compare,
    lines_of,
    lines_of_issued,
    option_figures,
)
from estimator.pricing.presented import folded_lines
from estimator.pricing.revise import Changes, changes_since
from estimator.study import Study
from estimator.takeoff.words import row_words

__all__ = ["Enclosed", "OfferedOption", "Revised", "enclose"]

_INNER: Final = (
    "alternatives",
    "prices",
    "terms.basis_confidence",
    "terms.contingency_basis",
    "terms.contingency_confidence",
    "terms.labour",
    "terms.labour_taxable",
    "terms.least_margin_percent",
    "terms.price_basis",
    "terms.rule",
    "terms.rule_percent",
    "terms.section_rules",
    "terms.stale_after",
    "terms.typed_price",
)
"""Places of a job that are no business of the customer's: what a price is made from."""


_LOOK: Final = ("presentation", "company.logo")
"""Places of a job that move nothing but how the quote looks."""


@dataclass(frozen=True, slots=True)
class OfferedOption:
    """One option of the quote.

    Attributes:
        figures: its price and function.
        against_base: what it has otherwise than the base design; None for the base design itself and for an option
            whose parts have no price yet.
        study: of the option alone.
    """

    figures: OptionFigures
    against_base: Comparison | None
    study: Study


@dataclass(frozen=True, slots=True)
class Revised:
    """What changed since the revision before.

    Attributes:
        changes: in the job, in the prices, and in the total.
        dated: of the revision before.
        reason: why this one is issued; "" while it is not.
        words: for the customer, a sentence each: what was decided otherwise, and nothing of cost.
        withdrawn: revisions between, which were withdrawn, with the day.
    """

    changes: Changes
    dated: date
    reason: str
    words: tuple[str, ...]
    withdrawn: tuple[tuple[str, date], ...] = ()


@dataclass(frozen=True, slots=True)
class Enclosed:
    """Options in order, the base design first, none where there is nothing to choose; and what changed."""

    offers: tuple[OfferedOption, ...] = ()
    revised: Revised | None = None


def _lines(study: Study) -> Lines:
    """Rows and sums of a study as the quote shows them."""
    lines = lines_of(study.price, row_words(study.job))
    return folded_lines(lines) if study.job.presentation.fold_allowance else lines


def _shown(changes: Changes, before: Issued, study: Study) -> Changes:
    """What moved, with the allowance in the rows on both sides where this quote has it there."""
    if not study.job.presentation.fold_allowance:
        return changes
    price = compare(folded_lines(lines_of_issued(before)), _lines(study), own=changes.price.own)
    return replace(changes, price=price)


def _offers(study: Study, going: Going) -> tuple[OfferedOption, ...]:
    job = study.job
    if not study.offers:
        return ()
    base = _lines(study)
    found = [
        OfferedOption(option_figures(BASE, option_name(job, BASE), study.price, study.proof), None, study)
    ]
    for made in study.offers:
        going.check()
        whole = made.price.complete and study.price.complete
        found.append(
            OfferedOption(
                option_figures(made.option, option_name(job, made.option), made.price, made.proof),
                compare(base, _lines(made)) if whole else None,
                made,
            )
        )
    return tuple(found)


def _inner(difference: Difference) -> bool:
    place = difference.place
    if place.startswith("terms.extras.") and place.rsplit(".", 1)[-1] in ("low", "likely", "high"):
        return True
    return any(place == inner or place.startswith(f"{inner}.") for inner in _INNER)


def _own(option: Alternative) -> list[tuple[object, ...]]:
    """What an option has of its own; what the base design has is told of the base design."""
    return [(change.kind, change.place, change.value, change.after) for change in option.changes]


def _option_words(before: Snapshot, after: Snapshot) -> list[str]:
    old = {a.id: a for a in before.alternatives if a.offered}
    new = {a.id: a for a in after.alternatives if a.offered}
    words = []
    for key in (*old, *(key for key in new if key not in old)):
        name = option_name(after if key in new else before, key)
        if key not in old:
            words.append(f"Option “{name}”: added.")
        elif key not in new:
            words.append(f"Option “{name}”: no longer offered.")
        elif old[key].name != new[key].name or _own(old[key]) != _own(new[key]):
            words.append(f"Option “{name}”: changed.")
    return words


def _priced(difference: Difference, changes: Changes, after: Snapshot) -> Difference:
    """A fee that was added with its price in the place of its cost."""
    *above, place = difference.place.split(".")
    if above != ["terms", "extras"] or difference.before or not place.isdigit():
        return difference
    extra = after.terms.extras[int(place)]
    name = extra.description.strip() or extra.kind.label
    prices = [
        row.price_after
        for row in changes.price.rows
        if row.section is Section.EXTRAS and row.kind is ChangeKind.ADDED and row.description == name
    ]
    if not prices:
        return replace(difference, after=name)
    amount = money_text(prices[0], changes.price.currency, after.terms.locale)
    return replace(difference, after=f"{name}, {amount}")


def _words(changes: Changes, before: Snapshot, after: Snapshot) -> tuple[str, ...]:
    told = [d for d in changes.job if not d.place.startswith(_LOOK)]
    words = [_priced(d, changes, after).placed_words for d in told if not _inner(d)]
    words += _option_words(before, after)
    worked = [d for d in told if _inner(d) and not d.place.startswith("alternatives")]
    if worked or changes.prices:
        words.append("Prices: worked out anew.")
    return tuple(words)


def enclose(study: Study, issued: Issued | None = None, going: Going = ALONE) -> Enclosed:
    """What is printed with a study.

    Args:
        study: what is quoted, of a job with the revisions issued before.
        issued: the revision that it is issued as, None for a draft.
        going: asked at each option whether the paper is still wanted.

    Raises:
        CompareError: the currency was changed since the revision that stands, or it cannot be read.
    """
    revised = None
    job = study.job
    stands = standing(job)
    moved = changes_since(job, study.price, study.prices)
    if stands is not None and moved is not None:
        moved = _shown(moved, stands, study)
        withdrawn = tuple(r for r in job.issued[job.issued.index(stands) :] if r.withdrawn is not None)
        revised = Revised(
            moved,
            handed(stands).dated,
            handed(issued).reason if issued is not None else "",
            _words(moved, job_then(stands), job),
            tuple((r.letter, r.withdrawn.dated) for r in withdrawn if r.withdrawn is not None),
        )
    return Enclosed(_offers(study, going), revised)
