"""The work of the study of the largest job: counted in calls, which no busy machine changes.

A limit is a multiple of the work of half the job, or of a whole study, and each says why.
"""

from __future__ import annotations

from functools import partial

import pytest

from estimator.layout.plan import Layer, lay_out
from estimator.model.choices import Chemistry
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.options import BASE
from estimator.pricing.types import Price
from estimator.reference.catalogue import catalogue
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from tests.days import STUDIED
from tests.large_jobs import large_job
from tests.work import calls_of

HEIGHT = ("site", "floor", "run_height")


def _from_nothing(job: Job) -> int:
    return calls_of(partial(Pipeline().design, job, shipped_price_book(), STUDIED))


@pytest.fixture(scope="module")
def half() -> Job:
    """Half of the largest job."""
    return large_job(0.5, options=False)


@pytest.fixture(scope="module")
def whole() -> Job:
    """The largest job."""
    return large_job(options=False)


def test_the_largest_job_from_nothing_is_little_more_than_twice_the_work_of_its_half(
    half: Job, whole: Job
) -> None:
    _from_nothing(large_job(0.02, options=False))  # loads what a first study loads
    # Heights of their own, so that no answer is found ready in what is kept by value.
    calls = [_from_nothing(with_value(job, HEIGHT, "3.47 m")) for job in (half, whole)]
    assert calls[1] <= 2.6 * calls[0], f"{calls[1] / calls[0]:.1f} times the calls"
    # Of them the simulated days of the tanks, the board that they share and the days that their sizes are compared by.
    assert calls[1] <= 4_000_000, f"{calls[1]} calls; there are 1,600 drops"


def test_another_height_is_a_share_of_the_work_of_the_largest_job_whatever_the_height(whole: Job) -> None:
    pipeline, book = Pipeline(), shipped_price_book()
    pipeline.design(with_value(whole, HEIGHT, "3.2 m"), book, STUDIED)
    heights = ("3.01 m", "3.37 m", "3.77 m")
    calls = [
        calls_of(partial(pipeline.design, with_value(whole, HEIGHT, height), book, STUDIED))
        for height in heights
    ]
    # Each piece of tube has another length then, so the coils are cut anew: with a bound, whatever the lengths are.
    assert max(calls) <= 1.5 * min(calls), f"{max(calls) / min(calls):.1f} times the calls"
    assert max(calls) <= 1_900_000, f"{max(calls)} calls"


def test_the_price_of_another_height_is_there_in_a_part_of_the_work(whole: Job) -> None:
    """It waits for no proof; the study finds what it was made from ready, and holds the same."""
    pipeline, book = Pipeline(), shipped_price_book()
    pipeline.design(whole, book, STUDIED)
    higher = with_value(whole, HEIGHT, "3.59 m")
    prices: list[Price] = []
    priced = calls_of(lambda: prices.append(pipeline.price(higher, book, BASE)))
    rest = calls_of(lambda: pipeline.design(higher, book, STUDIED))
    assert prices == [pipeline.design(higher, book, STUDIED).price]
    assert priced <= 450_000, f"{priced} calls"
    assert priced <= 0.5 * rest, f"{priced} and {rest} calls"


def test_what_is_kept_of_a_layout_changes_no_answer_and_saves_the_corridor(half: Job) -> None:
    parts, layer = catalogue(), Layer()
    first = calls_of(partial(layer, half.site, half.design, parts))
    higher = with_value(half, HEIGHT, "3.6 m")
    assert calls_of(partial(layer, higher.site, higher.design, parts)) <= 0.6 * first
    other = with_value(higher, ("design", "drops", 3, "end_height"), "1.85 m")
    moved = with_value(other, ("design", "bays", 2, "y"), "4.5 m")
    added = with_value(moved, ("design", "drops", 5, "existing"), True)
    for job in (higher, other, moved, added, half):
        assert layer(job.site, job.design, parts) == lay_out(job.site, job.design, parts)


def _on_one_product(job: Job) -> Job:
    """All drops on the first product, much used: several guns at once."""
    design = job.design
    drops = tuple(drop.model_copy(update={"service": design.products[0].id}) for drop in design.drops)
    one = {"products": design.products[:1], "plant": design.plant[:1], "drops": drops}
    job = job.model_copy(update={"design": design.model_copy(update=one)})
    return with_value(job, ("site", "use", "guns_open"), 6)


def test_one_product_on_all_drops_is_proved_and_costs_little_more_than_twice_its_half(
    half: Job, whole: Job
) -> None:
    jobs = [_on_one_product(job) for job in (half, whole)]
    calls = [_from_nothing(job) for job in jobs]
    assert calls[1] <= 3.0 * calls[0], f"{calls[1] / calls[0]:.1f} times the calls"
    proof = Pipeline().design(jobs[1], shipped_price_book(), STUDIED).proof
    assert len(proof.drops) == 1_600 and [line.guns_open for line in proof.lines] == [6]


def _of_all_classes(job: Job) -> Job:
    """Products alone, of each class in turn."""
    classes = tuple(Chemistry)
    products = tuple(
        product.model_copy(
            update={"sheet": product.sheet.model_copy(update={"classes": (classes[i % len(classes)],)})}
        )
        for i, product in enumerate(job.design.products)
    )
    return job.model_copy(
        update={"design": job.design.model_copy(update={"products": products, "drops": ()})}
    )


def test_four_hundred_products_of_all_classes_cost_little_more_than_twice_their_half(
    half: Job, whole: Job
) -> None:
    """What must not meet is asked and told kind by kind, of 79,800 pairs."""
    calls = [_from_nothing(_of_all_classes(job)) for job in (half, whole)]
    assert calls[1] <= 2.7 * calls[0], f"{calls[1] / calls[0]:.1f} times the calls"
    assert calls[1] <= 600_000, f"{calls[1]} calls"
