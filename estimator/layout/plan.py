"""Where everything goes: stations, the shared corridor, and each line's way through it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.layout.checks import design_findings
from estimator.layout.corridor import Corridor
from estimator.layout.routes import Heights, Outlet, line_links, route
from estimator.layout.spots import Spot
from estimator.layout.stations import Place, board_spot, places, point, um
from estimator.layout.types import Layout, LineLayout, Station
from estimator.model.design import AIR, Design, LinePlan
from estimator.model.finding import Finding, Kind, Listed, Number, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.reference.resolved import Resolved, resolve

__all__ = ["lay_out", "station_strut_m"]


def station_strut_m(design: Design, drops: int) -> float:
    """Strut rail of a station: a drop spacing for each drop, so half a spacing past each outer drop."""
    return drops * um(design.drop_spacing) / 1e6


def lay_out(
    site: Site, design: Design, parts: Catalogue, known: Resolved | None = None
) -> tuple[Layout, tuple[Finding, ...]]:
    """Lay out a design in a hall.

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
    stations = places(design)
    root = board_spot(site)
    corridor = Corridor(root)
    standing = [p for p in stations if any(d.existing for d, _ in p.drops)]
    corridor.reach([p.middle for p in standing])
    for place in standing:
        corridor.rail(place.middle, (spot for drop, spot in place.drops if drop.existing))
    corridor.reach([p.middle for p in stations])
    for place in stations:
        corridor.rail(place.middle, (spot for _, spot in place.drops))

    heights = Heights(um(site.board.outlet_height), um(site.floor.run_height))
    known = known or resolve(design, parts)
    foam = {one.drop.id for one in known.drops if one.gun is not None and one.gun.for_foam}
    ends: dict[str, list[Outlet]] = {}
    for place in stations:
        for drop, spot in place.drops:
            mixes = drop.id in foam and drop.service != AIR
            outlet = Outlet(drop.id, spot, um(drop.end_height), drop.existing, mixes)
            ends.setdefault(drop.service, []).append(outlet)
            if mixes:
                ends.setdefault(AIR, []).append(outlet)
    upstream = corridor.upstream()
    plans = {plan.service: plan for plan in design.lines}
    lines: list[LineLayout] = []
    links: set[tuple[Spot, Spot]] = set()
    for service in (*(product.id for product in design.products), AIR):
        outlets = ends.get(service)
        if not outlets:
            continue
        plan = plans.get(service)
        measured = {m.segment: m.length.si for m in reversed(plan.measured)} if plan else {}
        lines.append(route(service, root, heights, outlets, upstream, design.tube_allowance, measured))
        links |= line_links(root, outlets, upstream)

    # A board is there for its lines: a blank design buys nothing.
    rails_m = 2.0 * um(site.board.width) / 1e6 if lines else 0.0
    layout = Layout(
        board=point(root, heights.outlet),
        lines=tuple(lines),
        stations=tuple(_station(design, place, heights.run) for place in stations),
        drop_points={
            drop.id: point(spot, um(drop.end_height)) for place in stations for drop, spot in place.drops
        },
        board_strut_m=0.0 if design.common.existing else rails_m,
        board_strut_existing_m=rails_m if design.common.existing else 0.0,
        corridor=tuple((point(a, heights.run), point(b, heights.run)) for a, b in _straight(links)),
    )
    return layout, (*design_findings(site, design, known, parts, stations), *_stale(design, layout))


def _station(design: Design, place: Place, run: int) -> Station:
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
    for i, plan in enumerate(design.lines):
        line = layout.line(plan.service)
        present = [segment.id for segment in line.segments] if line else []
        yield from _stale_in(i, plan, "measured", [m.segment for m in plan.measured], present)
        yield from _stale_in(i, plan, "segment_tubes", [t.segment for t in plan.segment_tubes], present)


def _stale_in(i: int, plan: LinePlan, field: str, given: list[str], present: list[str]) -> Iterator[Finding]:
    there, before = set(present), set[str]()
    segments = Listed(tuple(Ref(Kind.SEGMENT, s, plan.service) for s in present))
    for j, name in enumerate(given):
        again = name in before
        before.add(name)
        if name in there and not again:
            continue
        known = facts(
            what="Measured length" if field == "measured" else "Segment size",
            number=Number(j + 1, 0),
            line=Ref(Kind.LINE, plan.service),
            segment=Ref(Kind.SEGMENT, name, plan.service),
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
