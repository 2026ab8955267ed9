"""Random edits of a design, as a person makes them: fields, rows, orders, ids. Quick: nothing is built anew."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any, Final

from estimator.acts.rows import renamed, without_rows
from estimator.model.design import (
    AIR,
    Bay,
    Design,
    Drop,
    LinePlan,
    MeasuredLength,
    PlantUnit,
    Product,
    SegmentTube,
)
from estimator.model.edit import moved, with_value
from estimator.model.job import Job
from estimator.units import Dimension, parse

__all__ = ["edited_design"]

_LENGTHS: Final = tuple(parse(text, Dimension.LENGTH) for text in ("6 m", "600 cm", "20 ft", "7.5 m"))
_TEXTS: Final = ("", "Wash", "=1+1", "{0} <b>", "Ωμέγα 漢字")
_GUNS: Final = ("gun-plastic", "gun-metal", "gun-foam")


def _with(design: Design, **fields: Any) -> Design:
    return Design(**{**{name: getattr(design, name) for name in Design.model_fields}, **fields})


def _set(rng: Random, design: Design) -> Design:
    choices: list[tuple[tuple[str | int, ...], Any]] = [
        (("common", "eyewash"), not design.common.eyewash),
        (("tube_allowance",), rng.choice((0.0, 5.0, 12.5))),
        (("drop_spacing",), parse("30 cm", Dimension.LENGTH)),
        (("pinned",), rng.choice(((), ("a",), ("a", "b")))),
        (("name",), rng.choice(_TEXTS)),
    ]
    for i, _ in enumerate(design.bays):
        choices.append((("bays", i, "name"), rng.choice(_TEXTS)))
        choices.append((("bays", i, "left", "station"), rng.choice((None, *_LENGTHS))))
    for i, _ in enumerate(design.products):
        choices.append((("products", i, "dilution"), rng.choice((5.0, 10.0))))
    for i, _ in enumerate(design.drops):
        choices.append((("drops", i, "gun"), rng.choice(_GUNS)))
        choices.append((("drops", i, "hose_length"), rng.choice(_LENGTHS)))
        choices.append((("drops", i, "bay"), rng.choice(design.bays).id))
        choices.append((("drops", i, "service"), rng.choice([AIR, *(p.id for p in design.products)])))
    for i, _ in enumerate(design.plant):
        choices.append((("plant", i, "tip_drill"), rng.choice((None, 40, 50))))
    for i, _ in enumerate(design.lines):
        segments = rng.sample(("a", "b/c", "d"), rng.randint(0, 3))
        measured = tuple(MeasuredLength(segment=s, length=rng.choice(_LENGTHS)) for s in segments)
        tubes = tuple(SegmentTube(segment=s, tube=rng.choice(("tube-6", "tube-8"))) for s in segments)
        choices += [(("lines", i, "measured"), measured), (("lines", i, "segment_tubes"), tubes)]
    path, value = rng.choice(choices)
    return with_value(design, path, value)


def _add(rng: Random, design: Design) -> Design:
    name = f"new-{rng.randint(1, 3)}"
    services = [AIR, *(p.id for p in design.products)]
    planned = {line.service for line in design.lines}
    planted = {unit.product for unit in design.plant}
    rows: list[tuple[str, Any]] = []
    if all(p.id != name for p in design.products):
        rows.append(("products", Product(id=name)))
    if all(b.id != name for b in design.bays):
        rows.append(("bays", Bay(id=name)))
    if design.bays and all(d.id != name for d in design.drops):
        rows.append(("drops", Drop(id=name, bay=rng.choice(design.bays).id, service=rng.choice(services))))
    rows += [("lines", LinePlan(service=s)) for s in services if s not in planned][:1]
    rows += [("plant", PlantUnit(product=p.id)) for p in design.products if p.id not in planted][:1]
    if not rows:
        return design
    list_name, row = rng.choice(rows)
    there = list(getattr(design, list_name))
    there.insert(rng.randint(0, len(there)), row)
    return _with(design, **{list_name: tuple(there)})


def _remove(rng: Random, design: Design) -> Design:
    name = rng.choice(("products", "bays", "drops", "drops", "plant", "lines"))
    rows = getattr(design, name)
    if not rows:
        return design
    seen: Job = without_rows(Job(design=design), ("design", name), [rng.randrange(len(rows))])
    return seen.design


def _move(rng: Random, design: Design) -> Design:
    name = rng.choice(("products", "bays", "drops", "plant", "lines"))
    count = len(getattr(design, name))
    return moved(design, (name,), rng.randrange(count), rng.randrange(count)) if count else design


def _rename(rng: Random, design: Design) -> Design:
    name = rng.choice(("products", "bays", "drops"))
    rows = getattr(design, name)
    new = f"new-{rng.randint(1, 6)}"
    if not rows or any(row.id == new for row in rows):
        return design
    at = rng.randrange(len(rows))
    return renamed(Job(design=design), ("design", name, at, "id"), rows[at].id, new).design


_EDITS: Final[tuple[Callable[[Random, Design], Design], ...]] = (_set, _set, _set, _add, _add, _remove, _move)


def edited_design(rng: Random, design: Design, most: int = 6, *, renaming: bool = True) -> Design:
    """The design after one to `most` random edits.

    Args:
        renaming: an id may be changed, too; alone, as an act of a person is.
    """
    if renaming and rng.random() < 0.2:
        return _rename(rng, design)
    for _ in range(rng.randint(1, most)):
        design = rng.choice(_EDITS)(rng, design)
    return design
