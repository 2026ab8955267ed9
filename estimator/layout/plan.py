"""Where everything goes: stations, the shared corridor, and each line's way through it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from estimator.layout.checks import design_findings
from estimator.layout.corridor import Corridor
from estimator.layout.routes import Heights, Outlet, Points, Way, route, way_of
from estimator.layout.spots import Spot
from estimator.layout.stations import HungSide, board_spot, places, point, um
from estimator.layout.types import Layout, LineLayout, Station
from estimator.model.design import AIR, Design, LinePlan
from estimator.model.finding import Finding, IdKind, Listed, Number, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.reference.resolved import Resolved, resolve

__all__ = ["Layer", "lay_out", "station_strut_m"]


def station_strut_m(design: Design, drops: int) -> float:
    """Strut rail of a station: a drop spacing for each drop, so half a spacing past each outer drop."""
    return drops * um(design.drop_spacing) / 1e6


@dataclass(frozen=True, slots=True)
class _Asked:
    """What the corridor and the ways of the lines follow from: neither a height nor a length is in it.

    Attributes:
        root: the middle of the board.
        rails: of each station its middle, and the spot of each drop with whether it exists.
        lines: of each line its outlets.
    """

    root: Spot
    rails: tuple[tuple[Spot, tuple[tuple[Spot, bool], ...]], ...]
    lines: tuple[tuple[str, tuple[Outlet, ...]], ...]


@dataclass(frozen=True, slots=True)
class _Ground:
    """The plan as it is seen from above: each line's way, and the straight pieces of the corridor."""

    ways: dict[str, Way]
    straight: tuple[tuple[Spot, Spot], ...]


def _asked(site: Site, design: Design, stations: Iterable[HungSide], foam: set[str]) -> _Asked:
    ends: dict[str, list[Outlet]] = {}
    rails = []
    for place in stations:
        rails.append((place.middle, tuple((spot, drop.existing) for drop, spot in place.drops)))
        for drop, spot in place.drops:
            mixes = drop.id in foam and drop.service != AIR
            outlet = Outlet(drop.id, spot, drop.existing, mixes)
            ends.setdefault(drop.service, []).append(outlet)
            if mixes:
                ends.setdefault(AIR, []).append(outlet)
    services = (*(product.id for product in design.products), AIR)
    return _Asked(board_spot(site), tuple(rails), tuple((s, tuple(ends[s])) for s in services if s in ends))


def _ground(asked: _Asked) -> _Ground:
    corridor = Corridor(asked.root)
    standing = [(middle, rail) for middle, rail in asked.rails if any(existing for _, existing in rail)]
    corridor.reach([middle for middle, _ in standing])
    for middle, rail in standing:
        corridor.rail(middle, (spot for spot, existing in rail if existing))
    corridor.reach([middle for middle, _ in asked.rails])
    for middle, rail in asked.rails:
        corridor.rail(middle, (spot for spot, _ in rail))
    upstream = corridor.upstream()
    ways = {service: way_of(asked.root, outlets, upstream) for service, outlets in asked.lines}
    links = {link for way in ways.values() for link in way.links}
    return _Ground(ways, tuple(_straight(links)))


class Layer:
    """Lays designs out and keeps what is seen from above for as long as nothing it depends on has changed: another
    height, hose or product moves no corridor."""

    def __init__(self) -> None:
        self._kept: tuple[_Asked, _Ground] | None = None

    def __call__(
        self, site: Site, design: Design, parts: Catalogue, known: Resolved | None = None
    ) -> tuple[Layout, tuple[Finding, ...]]:
        """Lay out a design in a hall; pure.

        The corridor is a near-minimal rectilinear Steiner tree from the board to the stations. What serves
        existing drops is laid first and stays where it is; the rest grows from it. The air line also serves the
        foam guns. Lengths carry the design's allowance except where a measured length is given.

        Args:
            site: hall, board and survey.
            design: bays, drops and lines; ids in it are consistent (a validated job's are).
            parts: the catalogue.
            known: the design's parts where they were looked up already.

        Returns:
            The layout, and what is missing or wrong: places, keys, what does not belong together, lengths and
            sizes given for segments that are not there.
        """
        known = known or resolve(design, parts)
        stations = places(design)
        foam = {one.drop.id for one in known.drops if one.gun is not None and one.gun.for_foam}
        asked = _asked(site, design, stations, foam)
        if self._kept is None or self._kept[0] != asked:
            self._kept = asked, _ground(asked)
        ground = self._kept[1]

        heights = Heights(um(site.board.outlet_height), um(site.floor.run_height))
        ends_um = {drop.id: um(drop.end_height) for drop in design.drops}
        plans = {plan.service: plan for plan in design.lines}
        at = Points()
        lines: list[LineLayout] = []
        for service, way in ground.ways.items():
            plan = plans.get(service)
            measured = {m.segment: m.length.si for m in reversed(plan.measured)} if plan else {}
            lines.append(route(service, way, heights, ends_um, design.tube_allowance, measured, at))

        # A board is there for its lines: a blank design buys nothing.
        rails_m = 2.0 * um(site.board.width) / 1e6 if lines else 0.0
        layout = Layout(
            board=at(asked.root, heights.outlet),
            lines=tuple(lines),
            stations=tuple(_station(design, place, heights.run) for place in stations),
            drop_points={
                drop.id: at(spot, ends_um[drop.id]) for place in stations for drop, spot in place.drops
            },
            board_strut_m=0.0 if design.common.existing else rails_m,
            board_strut_existing_m=rails_m if design.common.existing else 0.0,
            corridor=tuple((at(a, heights.run), at(b, heights.run)) for a, b in ground.straight),
        )
        return layout, (*design_findings(site, design, known, parts, stations), *_stale(design, layout))


def lay_out(
    site: Site, design: Design, parts: Catalogue, known: Resolved | None = None
) -> tuple[Layout, tuple[Finding, ...]]:
    """Lay out a design from nothing; see `Layer`."""
    return Layer()(site, design, parts, known)


def _station(design: Design, place: HungSide, run: int) -> Station:
    side = place.bay.side(place.side)
    return Station(
        id=f"{place.bay.id}-{place.side.value}",
        bay=place.bay.id,
        side=place.side,
        mount=side.mount,
        mount_existing=side.mount_existing,
        at=point(place.middle, run),
        drops=tuple(drop.id for drop, _ in place.drops),
        strut_m=0.0 if side.mount_existing else station_strut_m(design, len(place.drops)),
    )


def _straight(links: Iterable[tuple[Spot, Spot]]) -> list[tuple[Spot, Spot]]:
    """Runs in the same line joined to straight pieces, in order of place."""
    out: list[tuple[Spot, Spot]] = []
    for axis in (0, 1):
        rows: dict[int, list[tuple[int, int]]] = {}
        for a, b in links:
            if a[axis] != b[axis]:
                rows.setdefault(a[1 - axis], []).append((min(a[axis], b[axis]), max(a[axis], b[axis])))
        for level, runs in sorted(rows.items()):
            joined: list[tuple[int, int]] = []
            for start, end in sorted(runs):
                if joined and start <= joined[-1][1]:
                    joined[-1] = (joined[-1][0], max(joined[-1][1], end))
                else:
                    joined.append((start, end))
            for low, high in joined:
                out.append(((low, level), (high, level)) if axis == 0 else ((level, low), (level, high)))
    return out


def _stale(design: Design, layout: Layout) -> Iterator[Finding]:
    """Lengths and sizes given for segments that the line does not have, or has twice."""
    lines = {line.id: line for line in layout.lines}
    for i, plan in enumerate(design.lines):
        line = lines.get(plan.service)
        present = [segment.id for segment in line.segments] if line else []
        yield from _stale_in(i, plan, "measured", [m.segment for m in plan.measured], present)
        yield from _stale_in(i, plan, "segment_tubes", [t.segment for t in plan.segment_tubes], present)


def _stale_in(i: int, plan: LinePlan, field: str, given: list[str], present: list[str]) -> Iterator[Finding]:
    there, before = set(present), set[str]()
    segments = Listed(tuple(Ref(IdKind.SEGMENT, s, plan.service) for s in present))
    for j, name in enumerate(given):
        again = name in before
        before.add(name)
        if name in there and not again:
            continue
        known = facts(
            what="Measured length" if field == "measured" else "Segment size",
            number=Number(j + 1, 0),
            line=Ref(IdKind.LINE, plan.service),
            segment=Ref(IdKind.SEGMENT, name, plan.service),
            segments=segments,
        )
        place = f"design.lines.{i}.{field}.{j}.segment"
        if name not in there:
            yield Finding(
                Severity.WARNING,
                place,
                "segment-gone",
                "{what} {number} of line {line} is for a segment that the line does not have now, so it counts for "
                "nothing; "
                + ("the segments are {segments}." if present else "the line has none, as it has no drop."),
                facts=known,
            )
        else:
            yield Finding(
                Severity.WARNING,
                place,
                "segment-twice",
                "{what} {number} of line {line}: {segment} is given twice; the first counts.",
                facts=known,
            )
