"""Acts on prices: holding those that a job uses, letting go of them, taking new ones.

An act that would change nothing gives the job itself.
"""

from __future__ import annotations

from datetime import date

from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.option_acts import option_ids, worked_on
from estimator.model.pricebook import PriceBook
from estimator.pricing.book_changes import changed_since, pin_prices, take_new_prices
from estimator.study import Pipeline

__all__ = ["held", "released", "renewed"]


def held(job: Job, book: PriceBook, on: date) -> Job:
    """The job holding on to the prices that it and its options use.

    Args:
        job: with all its options.
        book: the price book.
        on: day on which they are taken.
    """
    pipeline = Pipeline()
    prices = [pipeline.design(worked_on(job, option), book, on).price for option in option_ids(job)]
    new = pin_prices(job, prices, book, on)
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
