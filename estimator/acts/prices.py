"""Acts on prices: holding those that a job uses, letting go of them, taking new ones.

An act that would change nothing gives the job itself.
"""

from __future__ import annotations

from datetime import date

from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import changed_since, pin_prices, take_new_prices
from estimator.study import Study

__all__ = ["held", "released", "renewed"]


def held(job: Job, studied: Study, book: PriceBook) -> Job:
    """The job holding on to the prices that it and its options use; those that it holds already stay.

    Args:
        job: with all its options.
        studied: the study of it, options included; its day is the one on which they are taken.
        book: the price book.
    """
    new = pin_prices(job, [s.price for s in (studied, *studied.options)], book, studied.on)
    return job if new == job else new


def released(job: Job) -> Job:
    """The job following the price book again.

    Raises:
        EditError: it cannot be without them.
    """
    return job if job.prices is None else with_value(job, ("prices",), None)


def renewed(job: Job, book: PriceBook, on: date) -> Job:
    """The job with the book's prices for every part whose price it holds and the book has changed since.

    Raises:
        BookChangeError: the book is in another currency.
    """
    return take_new_prices(job, book, on) if changed_since(job, book) else job
