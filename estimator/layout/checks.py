"""What is missing or wrong in a design before anything is routed: places, keys, and what belongs together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from estimator.layout.stations import Place, Rectangle, bay_rectangle, um
from estimator.model.choices import HoseKind, NozzleType, SideName, Wall
from estimator.model.design import AIR, Design, Drop
from estimator.model.finding import Finding, Severity
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue

__all__ = ["COIL_SPACING_UM", "design_findings", "key_findings"]

COIL_SPACING_UM = 150_000
"""Least distance between coil hoses in micrometres; common practice, no source."""

_PRACTICE = "common practice, no source"


def design_findings(
    site: Site, design: Design, parts: Catalogue, places: tuple[Place, ...]
) -> tuple[Finding, ...]:
    """Findings on the plan and on what belongs together, in the order of the design."""
    return (
        *_missing(design),
        *_heights(site, design),
        *_board(site),
        *_bays(site, design),
        *_stations(design, places),
        *_company(site, design, parts),
        *key_findings(design, parts),
    )


def _error(place: str, rule: str, message: str, source: str = "") -> Finding:
    return Finding(Severity.ERROR, place, rule, message, source)


def _warning(place: str, rule: str, message: str, source: str = "") -> Finding:
    return Finding(Severity.WARNING, place, rule, message, source)


def _some(names: Iterable[str], most: int = 8) -> str:
    shown = list(names)
    text = ", ".join(f"“{n}”" for n in shown[:most])
    return text + (f" and {len(shown) - most} more" if len(shown) > most else "")


def _m(length_um: int) -> str:
    return f"{length_um / 1e6:.3f}".rstrip("0").rstrip(".") + " m"


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
            f"Run height: {site.floor.run_height} is above the ceiling at {site.floor.ceiling_height}; "
            "the tubes must run below it.",
        )
    for i, drop in enumerate(design.drops):
        if um(drop.end_height) > run:
            yield _error(
                f"design.drops.{i}.end_height",
                "drop-above-run",
                f"Hang height of drop “{drop.id}”: {drop.end_height} is above the run height "
                f"{site.floor.run_height}; hang it at that height or below.",
            )


def _board(site: Site) -> Iterator[Finding]:
    board = site.board
    side_by_side = board.wall in (Wall.NORTH, Wall.SOUTH)
    wall = um(site.floor.width if side_by_side else site.floor.depth)
    half = um(board.width) // 2
    along = um(board.along)
    if not half <= along <= wall - half:
        right = (
            f"between {_m(half)} and {_m(wall - half)} keeps the whole board on it"
            if wall >= 2 * half
            else f"the board is wider ({board.width}) than the wall"
        )
        yield _error(
            "site.board.along",
            "board-off-wall",
            f"Board position: with its middle at {board.along} the board reaches past the {board.wall.value} "
            f"wall, which is {_m(wall)} long; {right}.",
        )
    if um(board.outlet_height) > um(site.floor.ceiling_height):
        yield _error(
            "site.board.outlet_height",
            "outlet-above-ceiling",
            f"Board outlet height: {board.outlet_height} is above the ceiling at "
            f"{site.floor.ceiling_height}; lower it.",
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
                f"Bay “{bay.id}” reaches to {_m(edge)} where the floor ends at {_m(limit)}; "
                f"move it by {_m(edge - limit)} or make it smaller.",
            )
        yield from (
            _warning(
                f"design.bays.{j}",
                "bays-overlap",
                f"Bay “{design.bays[j].id}” overlaps bay “{bay.id}”; move one of them.",
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
                    f"Station position of bay “{bay.id}”, {side.value} side: {station} is past the bay's "
                    f"end at {bay.length}.",
                )


def _stations(design: Design, places: tuple[Place, ...]) -> Iterator[Finding]:
    numbers = {bay.id: i for i, bay in enumerate(design.bays)}
    step = um(design.drop_spacing)
    crowded = []
    taken: dict[tuple[int, int], str] = {}
    for place in places:
        kinds = [drop.hose for drop, _ in place.drops]
        coils = any(a is b is HoseKind.COIL for a, b in pairwise(kinds))
        if coils and step < COIL_SPACING_UM:
            crowded.append(f"{place.bay.id}-{place.side.value}")
        area = bay_rectangle(place.bay)
        first, last = place.drops[0][1], place.drops[-1][1]
        if not (area.west <= first[0] and last[0] <= area.east) or not (
            area.south <= first[1] and last[1] <= area.north
        ):
            yield _warning(
                f"design.bays.{numbers[place.bay.id]}.{place.side.value}.station",
                "drops-past-bay",
                f"Bay “{place.bay.id}”, {place.side.value} side: its {len(place.drops)} drops at "
                f"{design.drop_spacing} reach past the bay's end; move the station or space them closer.",
            )
        for drop, spot in place.drops:
            if spot in taken:
                yield _warning(
                    f"design.bays.{numbers[place.bay.id]}.{place.side.value}.station",
                    "drops-in-one-place",
                    f"Drop “{drop.id}” hangs in the same place as drop “{taken[spot]}”; "
                    "move the station of one of the two bay sides.",
                )
                break
            taken[spot] = drop.id
    if crowded:
        yield _warning(
            "design.drop_spacing",
            "coils-too-close",
            f"Drop spacing: {design.drop_spacing} is less than the 150 mm that coil hoses need from their "
            f"neighbours; it concerns {_some(crowded)}.",
            _PRACTICE,
        )


def _company(site: Site, design: Design, parts: Catalogue) -> Iterator[Finding]:
    guns = {gun.key: gun for gun in parts.guns}
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
                f"Product “{product.id}” has drops ({_some(d.id for d in drops)}) but no plant that makes it; "
                "add its plant or give the drops another service.",
            )
        else:
            yield _warning(
                f"design.products.{i}",
                "product-unused",
                f"Product “{product.id}” has neither plant nor drop; add both or remove it.",
            )
    for i, unit in enumerate(design.plant):
        if unit.product not in users:
            yield _warning(
                f"design.plant.{i}",
                "plant-unused",
                f"The plant of product “{unit.product}” feeds no drop; add a drop or remove the plant.",
            )
    no_air = site.air.free_air.si == 0.0
    for i, drop in enumerate(design.drops):
        gun = guns.get(drop.gun)
        if gun is None:
            continue
        place = f"design.drops.{i}.gun"
        if drop.service == AIR and not gun.for_air:
            fit = [g.key for g in parts.guns if g.for_air]
            yield _error(
                place,
                "gun-not-for-air",
                f"Gun of drop “{drop.id}”: “{gun.key}” is not made for compressed air; use {_some(fit)}.",
            )
        elif drop.service != AIR and gun.for_air:
            fit = [g.key for g in parts.guns if not g.for_air]
            yield _error(
                place,
                "gun-not-for-liquid",
                f"Gun of drop “{drop.id}”: “{gun.key}” is made for air only; use {_some(fit)}.",
            )
        elif gun.for_foam and no_air:
            yield _error(
                place,
                "foam-without-air",
                f"Gun of drop “{drop.id}”: a foam gun needs compressed air and the survey states none; "
                "state the compressor's free air or choose another gun.",
                _PRACTICE,
            )
        if drop.service == AIR and no_air:
            yield _error(
                f"design.drops.{i}.service",
                "air-drop-without-air",
                f"Drop “{drop.id}” is an air drop and the survey states no compressed air; "
                "state the compressor's free air or remove the drop.",
            )


def key_findings(design: Design, parts: Catalogue) -> tuple[Finding, ...]:
    """Choices whose key is not in the catalogue, each with the keys that are."""
    allowed = {
        "guns": [p.key for p in parts.guns],
        "hoses": [p.key for p in parts.hoses],
        "nozzles": [p.key for p in parts.nozzles],
        "sizes": [p.key for p in parts.nozzle_sizes],
        "tubes": [p.key for p in parts.tubes],
        "tanks": [p.key for p in parts.tanks],
        "pumps": [p.key for p in parts.pumps],
        "proportioners": [p.key for p in parts.proportioners],
        "backflow": [p.key for p in parts.backflow],
    }
    asked: list[tuple[str, str, str, str]] = []
    for i, drop in enumerate(design.drops):
        at = f"design.drops.{i}"
        asked.append((f"{at}.gun", f"Gun of drop “{drop.id}”", "guns", drop.gun))
        asked.append((f"{at}.hose_bore", f"Hose size of drop “{drop.id}”", "hoses", drop.hose_bore))
        if drop.nozzle is not NozzleType.NONE:
            asked.append((f"{at}.nozzle", f"Nozzle type of drop “{drop.id}”", "nozzles", drop.nozzle.value))
            asked.append((f"{at}.nozzle_size", f"Nozzle size of drop “{drop.id}”", "sizes", drop.nozzle_size))
    for i, unit in enumerate(design.plant):
        at, of = f"design.plant.{i}", f"of product “{unit.product}”"
        asked.append((f"{at}.proportioner", f"Proportioner {of}", "proportioners", unit.proportioner))
        asked.append((f"{at}.tank", f"Day tank {of}", "tanks", unit.tank))
        asked.append((f"{at}.pump", f"Pump {of}", "pumps", unit.pump))
    asked.append(("design.common.backflow", "Backflow protection", "backflow", design.common.backflow))
    for i, line in enumerate(design.lines):
        at = f"design.lines.{i}"
        asked.append((f"{at}.tube", f"Tube of line “{line.service}”", "tubes", line.tube))
        for j, chosen in enumerate(line.segment_tubes):
            asked.append(
                (
                    f"{at}.segment_tubes.{j}.tube",
                    f"Tube of segment “{chosen.segment}” of line “{line.service}”",
                    "tubes",
                    chosen.tube,
                )
            )
    return tuple(
        _error(
            place,
            "unknown-key",
            f"{what}: “{key}” is not in the catalogue; use one of {_some(allowed[table], 20)}.",
        )
        for place, what, table, key in asked
        if key not in allowed[table]
    )
