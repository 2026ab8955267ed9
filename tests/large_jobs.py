"""Jobs of any size up to the largest that the model takes, all its lists long at once: for tests of growth and for
the programs in `tests/benchmarks/`. Invented demo data."""

from __future__ import annotations

from typing import Final

from estimator.model.choices import LineColour, SideName
from estimator.model.design import MOST_BAYS, MOST_DROPS, MOST_PRODUCTS, Bay, Design, Drop, PlantUnit, Product
from estimator.model.job import Job
from estimator.model.option_changes import changes_of
from estimator.model.options import Alternative
from estimator.model.site import Floor, Site
from estimator.units import Dimension, parse

__all__ = ["MOST_OPTIONS", "large_design", "large_job", "repeated"]

MOST_OPTIONS: Final = 50
_LENGTH: Final = Dimension.LENGTH
_BESIDE: Final = 4
_SIZES: Final = ("015", "02", "025", "03", "04")


def _part(whole: int, share: float) -> int:
    return max(1, round(whole * share))


def large_design(share: float = 1.0) -> Design:
    """A share of the largest design: bays in rows of ten, sixteen drops a bay, four drops a product."""
    colours = tuple(LineColour)
    products = tuple(
        Product(id=f"p{i}", name=f"Product {i}", colour=colours[i % len(colours)])
        for i in range(_part(MOST_PRODUCTS, share))
    )
    bays = tuple(
        Bay(
            id=f"b{i}",
            name=f"Bay {i}",
            x=parse(f"{3 + 8 * (i % 10)} m", _LENGTH),
            y=parse(f"{3 + 12 * (i // 10)} m", _LENGTH),
        )
        for i in range(_part(MOST_BAYS, share))
    )
    drops = tuple(
        Drop(
            id=f"d{i}",
            bay=bays[i % len(bays)].id,
            side=SideName.LEFT if i // len(bays) % 2 else SideName.RIGHT,
            service=products[i * len(products) // _part(MOST_DROPS, share) % len(products)].id,
            hose_length=parse(f"{3 + i % 9} m", _LENGTH),
            nozzle_size=_SIZES[i % len(_SIZES)],
        )
        for i in range(_part(MOST_DROPS, share))
    )
    plant = tuple(PlantUnit(product=product.id) for product in products)
    return Design(products=products, bays=bays, drops=drops, plant=plant)


def _otherwise(design: Design, number: int) -> Design:
    """Every twentieth drop with another hose, one product fewer, one wider bay."""
    drops = tuple(
        drop.model_copy(update={"hose_length": parse(f"{3.5 + number / 100:.2f} m", _LENGTH)})
        if i % 20 == number % 20
        else drop
        for i, drop in enumerate(design.drops)
    )
    at = number % len(design.bays)
    bays = tuple(
        bay.model_copy(update={"width": parse("5.2 m", _LENGTH)}) if i == at else bay
        for i, bay in enumerate(design.bays)
    )
    return design.model_copy(update={"drops": drops, "bays": bays, "name": f"Design {number}"})


def large_job(share: float = 1.0, *, options: bool = True) -> Job:
    """A share of the largest job, without revisions: with options, every fourth of them offered."""
    design = large_design(share)
    site = Site(floor=Floor(width=parse("100 m", _LENGTH), depth=parse("140 m", _LENGTH)))
    count = _part(MOST_OPTIONS, share) if options else 0
    alternatives = tuple(
        Alternative(
            id=f"option-{i + 1}",
            name=f"Option {i + 1}",
            offered=i % 4 == 0,
            changes=changes_of(design, _otherwise(design, i)),
        )
        for i in range(count)
    )
    return Job(site=site, design=design, alternatives=alternatives)


def repeated(job: Job, times: int) -> Job:
    """A job with all its bays and their drops so many times, side by side and row behind row in a larger hall.

    Raises:
        ValueError: not once at least.
    """
    if times < 1:
        raise ValueError(f"{times} times a job is none")
    bays: list[Bay] = []
    drops: list[Drop] = []
    wide = max(b.x.si + b.width.si for b in job.design.bays)
    deep = max(b.y.si + b.length.si for b in job.design.bays)
    for turn in range(times):
        east, north = turn % _BESIDE * wide, turn // _BESIDE * deep
        bays += [
            bay.model_copy(
                update={
                    "id": f"{bay.id}-{turn}",
                    "name": f"{bay.name} {turn}",
                    "x": parse(f"{bay.x.si + east:.3f} m", _LENGTH),
                    "y": parse(f"{bay.y.si + north:.3f} m", _LENGTH),
                }
            )
            for bay in job.design.bays
        ]
        drops += [
            drop.model_copy(update={"id": f"{turn}-{drop.id}", "bay": f"{drop.bay}-{turn}"})
            for drop in job.design.drops
        ]
    floor = job.site.floor.model_copy(
        update={
            "width": parse(f"{_BESIDE * wide + 2:.3f} m", _LENGTH),
            "depth": parse(f"{-(-times // _BESIDE) * deep + 2:.3f} m", _LENGTH),
        }
    )
    return job.model_copy(
        update={
            "site": job.site.model_copy(update={"floor": floor}),
            "design": job.design.model_copy(update={"bays": tuple(bays), "drops": tuple(drops)}),
        }
    )
