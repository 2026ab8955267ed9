"""What nobody can sign: a job without names, a design without drops, a price with holes, what must never go out.

Issue and paper ask here; a draft of such a job is printed all the same, without lines to sign on.
"""

from __future__ import annotations

from estimator.model.job import Job
from estimator.model.option_designs import design_of, option_name
from estimator.model.options import BASE
from estimator.model.signing import blocking
from estimator.study import Study

__all__ = ["blocked_words", "not_signable", "unnamed"]


def blocked_words(count: int) -> str:
    """What is said where findings keep a quote or a revision back."""
    what = "1 finding" if count == 1 else f"{count} findings"
    return (
        f"{what} must never go out: mend what is wrong, or let somebody sign for it with a name and a reason."
    )


def unnamed(job: Job) -> tuple[str, ...]:
    """What a job lacks so that it could be signed, a sentence each; none where it lacks nothing.

    Args:
        job: the whole job.
    """
    wanted = (
        (job.company.name, "Company, Name: it is empty; enter who offers the work."),
        (job.customer.name, "Customer, Name: it is empty; enter who orders the work."),
        (job.quote.number, "Quote, Quote number: it is empty; enter the number that the order is known by."),
    )
    lacking = [sentence for text, sentence in wanted if not text.strip()]
    for option in (BASE, *(a.id for a in job.alternatives if a.offered)):
        if not design_of(job, option).drops:
            which = "Design" if option == BASE else f"Option “{option_name(job, option)}”"
            lacking.append(f"{which}: it has no hose drops; there is nothing to order.")
    return tuple(lacking)


def not_signable(study: Study) -> tuple[str, ...]:
    """Why a quote cannot be signed, a sentence each; none where it can.

    Args:
        study: of the whole job.
    """
    job, prices = study.job, (study.price, *(offer.price for offer in study.offers))
    lacking = list(unnamed(job))
    if not all(price.complete for price in prices):
        lacking.append(
            "Parts of the job have no price yet; a quote is issued when everything to buy has one."
        )
    if study.price.currency != job.terms.currency:
        lacking.append(f"The price is in {study.price.currency} and the job in {job.terms.currency}.")
    if kept_back := blocking(job, study.findings):
        lacking.append(blocked_words(len(kept_back)))
    return tuple(lacking)
