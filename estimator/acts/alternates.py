"""Ready-made alternates: a whole design in, the same with one thing done otherwise out.

What hangs there already stays as it is: an alternate never changes a drop, a mounting or plant that exists.
A product more takes the first of the quick build's example products (invented demo data) that the design lacks, with
its drops where the last product has its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from estimator.acts.quick_build import GunGrade, QuickBuild, quick_design
from estimator.model.choices import HoseKind, Mount, SideName
from estimator.model.design import AIR, BaySide, Design, Drop
from estimator.model.edit import with_value
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue, catalogue

__all__ = [
    "Alternate",
    "AlternateError",
    "alternates",
    "with_guns",
    "with_hoses",
    "with_mounts",
    "with_product",
    "with_sides",
    "without_product",
]


class AlternateError(ValueError):
    """The alternate would be the design itself, or there is nothing to do it with; the message says why."""


def _changed(design: Design, **fields: object) -> Design:
    whole = {name: getattr(design, name) for name in Design.model_fields}
    made = Design(**{**whole, **fields})
    if made == design:
        raise AlternateError("The design is like that already, as far as it is not standing there.")
    return made


def _free(stem: str, taken: set[str]) -> str:
    number = next(n for n in range(1, len(taken) + 2) if f"{stem}-{n}" not in taken)
    taken.add(f"{stem}-{number}")
    return f"{stem}-{number}"


def with_guns(design: Design, grade: GunGrade, parts: Catalogue | None = None) -> Design:
    """Every new plain liquid gun of one grade; air guns and foam guns stay, as they have none.

    Raises:
        AlternateError: nothing would change.
    """
    guns = (parts or catalogue()).guns
    such = {gun.grade for gun in guns if gun.key == grade.value}
    # One of the grade already stays, whatever its seal.
    special = {gun.key for gun in guns if gun.for_air or gun.for_foam or gun.grade in such}
    drops = tuple(
        drop
        if drop.existing or drop.service == AIR or drop.gun in special
        else with_value(drop, ("gun",), grade.value)
        for drop in design.drops
    )
    return _changed(design, drops=drops)


def with_hoses(design: Design, kind: HoseKind) -> Design:
    """Every new hose coil, or every new hose straight.

    Raises:
        AlternateError: nothing would change.
    """
    return _changed(
        design,
        drops=tuple(d if d.existing else with_value(d, ("hose",), kind) for d in design.drops),
    )


def with_mounts(design: Design, mount: Mount) -> Design:
    """Every new station on brackets, or on panels.

    Raises:
        AlternateError: nothing would change.
    """

    def side(old: BaySide) -> BaySide:
        return old if old.mount_existing else with_value(old, ("mount",), mount)

    bays = tuple(
        with_value(with_value(bay, ("left",), side(bay.left)), ("right",), side(bay.right))
        for bay in design.bays
    )
    return _changed(design, bays=bays)


def with_sides(design: Design, sides: int) -> Design:
    """Drops on one side of each bay, or the same on both.

    One side: of a bay with drops on both, the side with fewer drops loses its new ones (the right one where they are
    equal). Both: a bay with drops on one side alone gets the same ones on the other.

    Raises:
        AlternateError: nothing would change, or `sides` is neither 1 nor 2.
    """
    if sides not in (1, 2):
        raise AlternateError("A bay has one side or two.")
    drops = list(design.drops)
    taken = {drop.id for drop in drops}
    for bay in design.bays:
        left, right = (
            [d for d in design.drops if d.bay == bay.id and d.side is side]
            for side in (SideName.LEFT, SideName.RIGHT)
        )
        if sides == 1 and left and right:
            gone = {d.id for d in (left if len(left) < len(right) else right) if not d.existing}
            drops = [d for d in drops if d.id not in gone]
        elif sides == 2 and bool(left) != bool(right):
            other = SideName.RIGHT if left else SideName.LEFT
            drops += [
                d.model_copy(update={"id": _free("drop", taken), "side": other, "existing": False})
                for d in left or right
            ]
    return _changed(design, drops=tuple(drops))


def with_product(design: Design) -> Design:
    """One product more: plant of its own, and a drop wherever the last product has one.

    Raises:
        AlternateError: there is no example product left, or no product to take the places from.
    """
    if not design.products:
        raise AlternateError("There is no product yet; a quick build or a first product comes before.")
    _, example = quick_design(QuickBuild(bays=1, sides=1, products=8, drops_per_side=8, air=False), Site())
    known = {product.id for product in design.products}
    names = {product.name for product in design.products}
    new = next((p for p in example.products if p.id not in known and p.name not in names), None)
    if new is None:
        raise AlternateError("Every example product is in the design already; add one of your own.")
    last = design.products[-1].id
    pattern = next(d for d in example.drops if d.service == new.id)
    taken = {drop.id for drop in design.drops}
    places = [d for d in design.drops if d.service == last]
    added = tuple(
        pattern.model_copy(
            update={
                "id": _free("drop", taken),
                "bay": place.bay,
                "side": place.side,
                "hose": place.hose,
                "hose_length": place.hose_length,
                "end_height": place.end_height,
            }
        )
        for place in places
    )
    plant = tuple(unit for unit in example.plant if unit.product == new.id)
    return _changed(
        design,
        products=(*design.products, new),
        drops=(*design.drops, *added),
        plant=(*design.plant, *plant),
    )


def without_product(design: Design) -> Design:
    """One product less: the last one, with its drops, plant and line plan.

    Raises:
        AlternateError: no product, or the last one's drops or plant hang there already.
    """
    if not design.products:
        raise AlternateError("There is no product to leave out.")
    gone = design.products[-1].id

    def stays(drop: Drop) -> bool:
        return drop.service == gone and drop.existing

    if any(map(stays, design.drops)) or any(u.product == gone and u.existing for u in design.plant):
        raise AlternateError(f"Parts of “{design.products[-1].name or gone}” hang there already and stay.")
    return _changed(
        design,
        products=design.products[:-1],
        drops=tuple(d for d in design.drops if d.service != gone),
        plant=tuple(u for u in design.plant if u.product != gone),
        lines=tuple(line for line in design.lines if line.service != gone),
    )


@dataclass(frozen=True, slots=True)
class Alternate:
    """One ready-made alternate: its key, the words on its button, and what it makes of a design."""

    key: str
    name: str
    make: Callable[[Design], Design]


_ALL: Final = (
    Alternate("guns-plastic", "Plastic guns", lambda d: with_guns(d, GunGrade.PLASTIC)),
    Alternate("guns-metal", "Metal guns", lambda d: with_guns(d, GunGrade.METAL)),
    Alternate("hoses-coil", "Coil hoses", lambda d: with_hoses(d, HoseKind.COIL)),
    Alternate("hoses-straight", "Straight hoses", lambda d: with_hoses(d, HoseKind.STRAIGHT)),
    Alternate("mounts-bracket", "Brackets", lambda d: with_mounts(d, Mount.BRACKET)),
    Alternate("mounts-panel", "Panels", lambda d: with_mounts(d, Mount.PANEL)),
    Alternate("sides-one", "One side of each bay", lambda d: with_sides(d, 1)),
    Alternate("sides-both", "Both sides of each bay", lambda d: with_sides(d, 2)),
    Alternate("product-more", "One product more", with_product),
    Alternate("product-less", "One product less", without_product),
)


def alternates(design: Design) -> tuple[tuple[Alternate, Design], ...]:
    """Those that make another design of this one, each with what it makes."""
    found = []
    for alternate in _ALL:
        try:
            found.append((alternate, alternate.make(design)))
        except AlternateError:
            continue
    return tuple(found)
