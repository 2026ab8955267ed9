"""What is missing or wrong in a design before anything is routed: places, keys, and what belongs together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from estimator.layout.stations import HungSide, Rectangle, bay_rectangle, um
from estimator.model.choices import HoseKind, SideName, Wall
from estimator.model.design import AIR, Design, Drop
from estimator.model.finding import (
    Amount,
    Count,
    Fact,
    Finding,
    IdKind,
    Listed,
    Phrase,
    Ref,
    Severity,
    facts,
)
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.reference.resolved import Resolved
from estimator.units import Dimension

__all__ = ["COIL_SPACING_UM", "design_findings"]

COIL_SPACING_UM = 150_000
"""Least distance between coil hoses in micrometres; common practice, no source."""

_PRACTICE = "common practice, no source"


def design_findings(
    site: Site, design: Design, known: Resolved, parts: Catalogue, places: tuple[HungSide, ...]
) -> tuple[Finding, ...]:
    """Findings on the plan and on what belongs together, in the order of the design."""
    return (
        *_missing(design),
        *_heights(site, design),
        *_board(site),
        *_bays(site, design),
        *_stations(design, places),
        *_company(site, design, known, parts),
    )


def _error(place: str, rule: str, sentence: str, source: str = "", **named: Fact) -> Finding:
    return Finding(Severity.ERROR, place, rule, sentence, source, facts=facts(**named))


def _warning(place: str, rule: str, sentence: str, source: str = "", **named: Fact) -> Finding:
    return Finding(Severity.WARNING, place, rule, sentence, source, facts=facts(**named))


def _drops(drops: Iterable[Drop]) -> Listed:
    return Listed(tuple(Ref(IdKind.DROP, d.id) for d in drops))


def _length(length_um: int) -> Amount:
    return Amount(length_um / 1e6, Dimension.LENGTH, 3)


def _missing(design: Design) -> Iterator[Finding]:
    for name, label, act in (
        ("products", "Products", "add the liquids on tap"),
        ("bays", "Bays", "add the bays"),
        ("drops", "Drops", "add the hose drops"),
    ):
        if not getattr(design, name):
            yield _warning(
                f"design.{name}", f"no-{name}", f"{label}: there are none yet; {act}, or use the quick build."
            )


def _heights(site: Site, design: Design) -> Iterator[Finding]:
    run, ceiling = um(site.floor.run_height), um(site.floor.ceiling_height)
    if run > ceiling:
        yield _error(
            "site.floor.run_height",
            "run-above-ceiling",
            "Run height: {run} is above the ceiling at {ceiling}; the tubes must run below it.",
            run=Amount.of(site.floor.run_height),
            ceiling=Amount.of(site.floor.ceiling_height),
        )
    for i, drop in enumerate(design.drops):
        if um(drop.end_height) > run:
            yield _error(
                f"design.drops.{i}.end_height",
                "drop-above-run",
                "Hang height of drop {drop}: {height} is above the run height {run}; hang it at that height or "
                "below.",
                drop=Ref(IdKind.DROP, drop.id),
                height=Amount.of(drop.end_height),
                run=Amount.of(site.floor.run_height),
            )


def _board(site: Site) -> Iterator[Finding]:
    board = site.board
    side_by_side = board.wall in (Wall.NORTH, Wall.SOUTH)
    wall = um(site.floor.width if side_by_side else site.floor.depth)
    half = um(board.width) // 2
    along = um(board.along)
    if not half <= along <= wall - half:
        right = (
            Phrase(
                "between {low} and {high} keeps the whole board on it",
                facts(low=_length(half), high=_length(wall - half)),
            )
            if wall >= 2 * half
            else Phrase("the board is wider ({width}) than the wall", facts(width=Amount.of(board.width)))
        )
        yield _error(
            "site.board.along",
            "board-off-wall",
            "Board position: with its middle at {along} the board reaches past the {side} wall, which is "
            "{wall} long; {right}.",
            along=Amount.of(board.along),
            side=board.wall.value,
            wall=_length(wall),
            right=right,
        )
    if um(board.outlet_height) > um(site.floor.ceiling_height):
        yield _error(
            "site.board.outlet_height",
            "outlet-above-ceiling",
            "Board outlet height: {outlet} is above the ceiling at {ceiling}; lower it.",
            outlet=Amount.of(board.outlet_height),
            ceiling=Amount.of(site.floor.ceiling_height),
        )


def _bays(site: Site, design: Design) -> Iterator[Finding]:
    floor = Rectangle(0, 0, um(site.floor.width), um(site.floor.depth))
    areas = [bay_rectangle(bay) for bay in design.bays]
    for i, (bay, area) in enumerate(zip(design.bays, areas, strict=True)):
        if not area.inside(floor):
            across = area.west < floor.west or area.east > floor.east
            edge, field = (area.east, "x") if across else (area.north, "y")
            limit = floor.east if across else floor.north
            yield _error(
                f"design.bays.{i}.{field}",
                "bay-off-floor",
                "Bay {bay} reaches to {edge} where the floor ends at {limit}; move it by {by} or make it "
                "smaller.",
                bay=Ref(IdKind.BAY, bay.id),
                edge=_length(edge),
                limit=_length(limit),
                by=_length(edge - limit),
            )
        yield from (
            _warning(
                f"design.bays.{j}",
                "bays-overlap",
                "Bay {bay} overlaps bay {other}; move one of them.",
                bay=Ref(IdKind.BAY, design.bays[j].id),
                other=Ref(IdKind.BAY, bay.id),
            )
            for j in range(i + 1, len(areas))
            if area.overlaps(areas[j])
        )
        for side in (SideName.LEFT, SideName.RIGHT):
            station = bay.side(side).station
            if station is not None and um(station) > um(bay.length):
                yield _error(
                    f"design.bays.{i}.{side.value}.station",
                    "station-off-bay",
                    "Station position at {side}: {at} is past the bay's end at {end}.",
                    side=Ref(IdKind.STATION, bay.id, side.value),
                    at=Amount.of(station),
                    end=Amount.of(bay.length),
                )


def _stations(design: Design, places: tuple[HungSide, ...]) -> Iterator[Finding]:
    numbers = {bay.id: i for i, bay in enumerate(design.bays)}
    step = um(design.drop_spacing)
    crowded: list[Ref] = []
    taken: dict[tuple[int, int], str] = {}
    for place in places:
        kinds = [drop.hose for drop, _ in place.drops]
        side = Ref(IdKind.STATION, place.bay.id, place.side.value)
        coils = any(a is b is HoseKind.COIL for a, b in pairwise(kinds))
        if coils and step < COIL_SPACING_UM:
            crowded.append(side)
        area = bay_rectangle(place.bay)
        first, last = place.drops[0][1], place.drops[-1][1]
        if not (area.west <= first[0] and last[0] <= area.east) or not (
            area.south <= first[1] and last[1] <= area.north
        ):
            yield _warning(
                f"design.bays.{numbers[place.bay.id]}.{place.side.value}.station",
                "drops-past-bay",
                "{side}: its {drops} at {spacing} reach past the bay's end; move the station or space them "
                "closer.",
                side=side,
                drops=Count(len(place.drops), "drop"),
                spacing=Amount.of(design.drop_spacing),
            )
        for drop, spot in place.drops:
            if spot in taken:
                yield _warning(
                    f"design.bays.{numbers[place.bay.id]}.{place.side.value}.station",
                    "drops-in-one-place",
                    "Drop {drop} hangs in the same place as drop {other}; move the station of one of the two "
                    "bay sides.",
                    drop=Ref(IdKind.DROP, drop.id),
                    other=Ref(IdKind.DROP, taken[spot]),
                )
                break
            taken[spot] = drop.id
    if crowded:
        yield _warning(
            "design.drop_spacing",
            "coils-too-close",
            "Drop spacing: {spacing} is less than the {least} that coil hoses need from their neighbours; it "
            "concerns {sides}.",
            _PRACTICE,
            spacing=Amount.of(design.drop_spacing),
            least=Amount(COIL_SPACING_UM / 1e6, Dimension.LENGTH),
            sides=Listed(tuple(crowded)),
        )


def _company(site: Site, design: Design, known: Resolved, parts: Catalogue) -> Iterator[Finding]:
    users: dict[str, list[Drop]] = {}
    for drop in design.drops:
        users.setdefault(drop.service, []).append(drop)
    planted = {unit.product for unit in design.plant}
    for i, product in enumerate(design.products):
        if product.id in planted:
            continue
        drops = users.get(product.id)
        if drops:
            yield _error(
                f"design.products.{i}",
                "no-plant",
                "Product {product} has drops ({drops}) but no plant that makes it; add its plant or give the drops "
                "another service.",
                product=Ref(IdKind.PRODUCT, product.id),
                drops=_drops(drops),
            )
        else:
            yield _warning(
                f"design.products.{i}",
                "product-unused",
                "Product {product} has neither plant nor drop; add both or remove it.",
                product=Ref(IdKind.PRODUCT, product.id),
            )
    for i, unit in enumerate(design.plant):
        if unit.product not in users:
            yield _warning(
                f"design.plant.{i}",
                "plant-unused",
                "The plant of product {product} feeds no drop; add a drop or remove the plant.",
                product=Ref(IdKind.PRODUCT, unit.product),
            )
    for i, plan in enumerate(design.lines):
        if plan.service != AIR and plan.regulator is not None:
            yield _warning(
                f"design.lines.{i}.regulator",
                "line-regulator-liquid",
                "Line regulator: only the compressed air line has one of its own; the line of {product} is set at its "
                "pump. Leave it out here.",
                product=Ref(IdKind.PRODUCT, plan.service),
            )
    no_air = site.air.free_air.si == 0.0
    for i, drop in enumerate(design.drops):
        gun = known.drops[i].gun
        if gun is None:
            continue
        place = f"design.drops.{i}.gun"
        if drop.service == AIR and not gun.for_air:
            yield _error(
                place,
                "gun-not-for-air",
                "Gun of drop {drop}: {gun} is not made for compressed air; use {fit}.",
                drop=Ref(IdKind.DROP, drop.id),
                gun=Ref(IdKind.GUN, gun.key),
                fit=Listed(tuple(Ref(IdKind.GUN, g.key) for g in parts.guns if g.for_air)),
            )
        elif drop.service != AIR and gun.for_air:
            yield _error(
                place,
                "gun-not-for-liquid",
                "Gun of drop {drop}: {gun} is made for air only; use {fit}.",
                drop=Ref(IdKind.DROP, drop.id),
                gun=Ref(IdKind.GUN, gun.key),
                fit=Listed(tuple(Ref(IdKind.GUN, g.key) for g in parts.guns if not g.for_air)),
            )
        elif gun.for_foam and no_air:
            yield _error(
                place,
                "foam-without-air",
                "Gun of drop {drop}: a foam gun needs compressed air and the survey states none; state the "
                "compressor's free air or choose another gun.",
                _PRACTICE,
                drop=Ref(IdKind.DROP, drop.id),
            )
        if drop.service == AIR and no_air:
            yield _error(
                f"design.drops.{i}.service",
                "air-drop-without-air",
                "Drop {drop} is an air drop and the survey states no compressed air; state the compressor's free "
                "air or remove the drop.",
                drop=Ref(IdKind.DROP, drop.id),
            )
