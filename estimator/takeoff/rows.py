"""What to buy: every part with its quantity and the objects it came from.

Rules of counting (common practice, no source):

- Plant: one proportioner, day tank, level control, pump, regulator, foot valve, tip set, suction tube and tank label
  a product.
- Board: one backflow protection and one water manifold where a product is made, booster pump and pressure-reducing
  valve where they are chosen; one air manifold and one filter-regulator where there is plant or an air line, a
  regulator where that line has its own; lockable valves, a containment tray, an eyewash and a drench shower where
  asked for.
- Tube: the length of each segment in its size, one piece a segment. Joints and valves: those of the layout,
  in the size of their segment.
- Clips: for each segment, the run divided by the clip spacing, rounded up. The run is the measured length,
  else the length along the corners without allowance. One tag a segment.
- Drops: one hose, gun, nozzle and label a drop, in the hose's own length. A foam gun has two hoses, as air
  and solution meet in it. One hook a straight drop.
- Mounting: two strut rails as long as the board is wide; for each station a rail with one drop spacing a drop;
  one bracket or panel a station.
- Service: one commissioning a line, one dilution test a product made.

What exists is counted in `existing` and is not bought.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

from estimator.layout.plan import station_strut_m
from estimator.layout.types import FittingKind, Layout, Segment
from estimator.model.choices import HoseKind, Mount, NozzleType, Provided
from estimator.model.design import AIR, Design
from estimator.model.finding import Finding, IdKind, Ref, Severity, facts
from estimator.reference.catalogue import Catalogue, Tube
from estimator.reference.resolved import KnownDrop, Resolved, resolve
from estimator.takeoff.types import RowFor, Section, TakeoffRow

__all__ = ["TakeOff", "take_off"]

_SECTIONS: Final = tuple(Section)
_PLANT_CODES: Final = ("level_control", "regulator", "foot_valve", "tip_set", "suction_tube")
_NO_MORE: Final = RowFor()


@dataclass(slots=True)
class _Row:
    quantity: list[float] = field(default_factory=list)
    existing: list[float] = field(default_factory=list)
    objects: dict[str, list[float]] = field(default_factory=dict)
    pieces_m: list[float] = field(default_factory=list)


class _Sheet:
    """Rows by section, code and what they are for, in the order in which they are first met."""

    def __init__(self, parts: Catalogue) -> None:
        self._parts = parts
        # Most rows need no more than their code: those are found without hashing the rest.
        self._rows: dict[tuple[Section, str, RowFor | None], _Row] = {}
        self.missing: dict[str, Finding] = {}

    def add(
        self,
        section: Section,
        code: str,
        quantity: float,
        objects: Iterable[str],
        *,
        existing: bool = False,
        in_metres: bool = False,
        of: RowFor = _NO_MORE,
    ) -> None:
        """Count a part; one that exists adds to what is there already."""
        key = (section, code, None if of is _NO_MORE or of == _NO_MORE else of)
        row = self._rows.get(key)
        if row is None:
            row = self._rows[key] = _Row()
        (row.existing if existing else row.quantity).append(quantity)
        named = tuple(objects)
        for name in named:
            if name not in row.objects:
                row.objects[name] = []
        if len(named) == 1 and not existing:
            row.objects[named[0]].append(quantity)
        if in_metres and not existing:
            row.pieces_m.append(quantity)

    def common(
        self,
        section: Section,
        name: str,
        quantity: float,
        objects: Iterable[str],
        *,
        existing: bool = False,
        in_metres: bool = False,
    ) -> None:
        """Count a part whose code the catalogue keeps under a name of its own ("clip")."""
        code = self._parts.codes.get(name)
        if code is None:
            self.missing.setdefault(
                name,
                Finding(
                    Severity.ERROR,
                    f"catalogue.codes.{name}",
                    "no-code",
                    "The catalogue has no price code for “{name}”, so it is not counted; add it to its codes.",
                    facts=facts(name=name),
                ),
            )
            return
        self.add(section, code, quantity, objects, existing=existing, in_metres=in_metres)

    def rows(self) -> tuple[TakeoffRow, ...]:
        """The rows in printing order of the sections."""
        return tuple(
            TakeoffRow(
                code=code,
                section=section,
                quantity=math.fsum(row.quantity),
                existing=math.fsum(row.existing),
                objects=tuple(row.objects),
                pieces_m=tuple(row.pieces_m),
                of=of or _NO_MORE,
                by_object=tuple(math.fsum(alone) for alone in row.objects.values()),
            )
            for (section, code, of), row in sorted(
                self._rows.items(), key=lambda item: _SECTIONS.index(item[0][0])
            )
        )


def take_off(
    design: Design, layout: Layout, parts: Catalogue, known: Resolved | None = None
) -> tuple[tuple[TakeoffRow, ...], tuple[Finding, ...]]:
    """Every part of a design.

    Args:
        design: what was chosen.
        layout: where it goes, laid out from the same design.
        parts: codes of the choices.
        known: the design's parts where they were looked up already.

    Returns:
        Rows in the order of sections and, in one, of the design; and a finding for each part that the
        catalogue has no price code for, which has no row. A choice that it does not know has none either; `known` tells
        it.
    """
    return TakeOff()(design, layout, parts, known)


class TakeOff:
    """Takes off designs; what hangs on no length of the layout is kept until design or parts change.

    Each part of it counts into sections of its own, so that kept rows and new ones stand side by side.
    """

    def __init__(self) -> None:
        self._of: tuple[Design, Catalogue, Resolved, bool] | None = None
        self._plant: _Counted = ((), {})
        self._drops: _Counted = ((), {})

    def __call__(
        self, design: Design, layout: Layout, parts: Catalogue, known: Resolved | None = None
    ) -> tuple[tuple[TakeoffRow, ...], tuple[Finding, ...]]:
        """See :func:`take_off`."""
        known = known or resolve(design, parts)
        air = layout.line(AIR) is not None
        if self._of is None or any(
            a is not b for a, b in zip(self._of, (design, parts, known, air), strict=True)
        ):
            self._plant = _counted(parts, lambda sheet: _plant(sheet, design, air, known))
            self._drops = _counted(parts, lambda sheet: _drops(sheet, known))
            self._of = design, parts, known, air
        counted = (
            self._plant,
            _counted(parts, lambda sheet: _lines(sheet, design, layout, known)),
            self._drops,
            _counted(parts, lambda sheet: _mounting(sheet, design, layout)),
            _counted(parts, lambda sheet: _service(sheet, design, layout)),
        )
        rows = sorted(
            (row for some, _ in counted for row in some), key=lambda row: _SECTIONS.index(row.section)
        )
        missing: dict[str, Finding] = {}
        for _, some in counted:
            for name, finding in some.items():
                missing.setdefault(name, finding)
        return tuple(rows), tuple(missing.values())


_Counted = tuple[tuple[TakeoffRow, ...], dict[str, Finding]]
"""Rows of some sections, and what they have no code for."""


def _counted(parts: Catalogue, count: Callable[[_Sheet], None]) -> _Counted:
    sheet = _Sheet(parts)
    count(sheet)
    return sheet.rows(), sheet.missing


def _plant(sheet: _Sheet, design: Design, has_air: bool, known: Resolved) -> None:
    section = Section.PLANT
    own = {p.key for p in design.makers.pumps} | {p.key for p in design.makers.proportioners}
    for one in known.plant:
        unit = one.unit
        for part in (one.proportioner, one.tank, one.pump):
            if part is not None:
                of = RowFor(own_part=part.key if part.key in own else "")
                sheet.add(section, part.code, 1.0, (unit.product,), existing=unit.existing, of=of)
        pick_up = one.proportioner.pick_up if one.proportioner is not None else {}
        for name in _PLANT_CODES:
            if name in pick_up:
                sheet.add(section, pick_up[name].code, 1.0, (unit.product,), existing=unit.existing)
            else:
                sheet.common(section, name, 1.0, (unit.product,), existing=unit.existing)
        sheet.common(section, "tank_label", 1.0, (unit.product,), existing=unit.existing)

    common = design.common
    made = tuple(unit.product for unit in design.plant)
    air = (AIR,) if has_air else ()
    if made:
        for feed in (known.backflow, known.booster, known.reducer):
            if feed is not None and feed.code:
                sheet.add(section, feed.code, 1.0, made, existing=common.existing)
        sheet.common(section, "manifold_water", 1.0, made, existing=common.existing)
    if made or air:
        sheet.common(section, "manifold_air", 1.0, (*made, *air), existing=common.existing)
        sheet.common(section, "air_preparation", 1.0, (*made, *air), existing=common.existing)
    plan = known.lines.get(AIR)
    if air and plan is not None and plan.regulator is not None:
        sheet.common(section, "air_line_regulator", 1.0, air)
    if made and common.containment:
        sheet.common(section, "containment", 1.0, made)
    if made and common.water_lockout is Provided.QUOTED:
        sheet.common(section, "lockout_water", 1.0, made)
    if (made or air) and common.air_lockout is Provided.QUOTED:
        sheet.common(section, "lockout_air", 1.0, (*made, *air))
    if common.eyewash:
        sheet.common(section, "eyewash", 1.0, made, existing=common.wash.stays)
    if common.wash.shower:
        sheet.common(section, "drench_shower", 1.0, made, existing=common.wash.stays)


def _run_m(segment: Segment) -> float:
    if segment.measured:
        return segment.length_m
    return math.fsum(abs(a.x - b.x) + abs(a.y - b.y) + abs(a.z - b.z) for a, b in pairwise(segment.points))


def _clips(run_m: float, spacing_m: float) -> int:
    """Clips along a run; a run of whole spacings needs no clip more for a rounding error.

    >>> _clips(3.0, 1.0), _clips(3.01, 1.0), _clips(0.0, 1.0)
    (3, 4, 0)
    """
    return math.ceil(run_m / spacing_m - 1e-9)


def _lines(sheet: _Sheet, design: Design, layout: Layout, known: Resolved) -> None:
    section = Section.LINES
    pieces: list[tuple[str, Segment, Tube | None]] = [
        (f"{line.id}/{s.id}", s, known.tube(line.id, s.id)) for line in layout.lines for s in line.segments
    ]
    for here, segment, tube in pieces:
        if tube is not None and segment.length_m > 0.0:
            sheet.add(
                section,
                tube.code,
                segment.length_m,
                (here,),
                existing=segment.existing,
                in_metres=True,
                of=RowFor(service=segment.line),
            )
    joints: dict[FittingKind, list[tuple[str, Tube, bool]]] = {kind: [] for kind in FittingKind}
    for here, segment, tube in pieces:
        if tube is not None:
            for fitting in segment.fittings:
                joints[fitting.kind].append((here, tube, fitting.existing))
    for kind, found in joints.items():
        name = kind.value
        for here, tube, existing in found:
            code = tube.fitting_codes.get(name)
            if code is None:
                sheet.missing.setdefault(f"{tube.key} {name}", _no_fitting(tube.key, kind))
            else:
                sheet.add(section, code, 1.0, (here,), existing=existing)
    for here, segment, _ in pieces:
        clips = _clips(_run_m(segment), design.clip_spacing.si)
        if clips:
            sheet.common(section, "clip", float(clips), (here,), existing=segment.existing)
    for here, segment, _ in pieces:
        sheet.common(section, "line_tag", 1.0, (here,), existing=segment.existing)


def _no_fitting(tube: str, kind: FittingKind) -> Finding:
    return Finding(
        Severity.ERROR,
        f"catalogue.tubes.{tube}.fitting_codes",
        "no-code",
        "The catalogue has no price code for a {fitting} of tube {tube}, so it is not counted; add it to the tube's "
        "fitting codes.",
        facts=facts(fitting=kind.value, tube=Ref(IdKind.TUBE, tube)),
    )


def _drops(sheet: _Sheet, known: Resolved) -> None:
    section = Section.DROPS
    for one in known.drops:
        drop, gun, hose = one.drop, one.gun, one.hose
        of = (drop.id,)
        if hose is not None:
            code = hose.code if drop.hose is HoseKind.COIL else hose.straight_code
            twin = gun is not None and gun.for_foam and drop.service != AIR
            for _ in range(2 if twin else 1):
                sheet.add(
                    section,
                    code,
                    drop.hose_length.si,
                    of,
                    existing=drop.existing,
                    in_metres=True,
                    of=RowFor.hose(drop.hose_length.si),
                )
    for one in known.drops:
        if one.gun is not None:
            sheet.add(section, one.gun.code, 1.0, (one.drop.id,), existing=one.drop.existing)
    for one in known.drops:
        _nozzle(sheet, one)
    drops = [one.drop for one in known.drops]
    for drop in drops:
        if drop.hose is HoseKind.STRAIGHT:
            sheet.common(section, "hose_hook", 1.0, (drop.id,), existing=drop.existing)
    for drop in drops:
        sheet.common(section, "drop_label", 1.0, (drop.id,), existing=drop.existing)


def _nozzle(sheet: _Sheet, one: KnownDrop) -> None:
    drop, nozzle, size = one.drop, one.nozzle, one.size
    if drop.nozzle is NozzleType.NONE or nozzle is None or size is None:
        return
    of = RowFor.nozzle(size.key, drop.fan_angle.si if drop.nozzle is NozzleType.FAN else None)
    # Of a maker's own nozzle nobody says what another material costs.
    codes = one.make.codes if one.make is not None and size.wetted is None else {}
    sheet.add(
        Section.DROPS, codes.get(nozzle.key, nozzle.code), 1.0, (drop.id,), existing=drop.existing, of=of
    )


def _mounting(sheet: _Sheet, design: Design, layout: Layout) -> None:
    section = Section.MOUNTING
    standing = layout.board_strut_existing_m > 0.0
    rail_m = (layout.board_strut_existing_m if standing else layout.board_strut_m) / 2.0
    for _ in range(2 if rail_m > 0.0 else 0):
        sheet.common(section, "strut", rail_m, ("board",), existing=standing, in_metres=True)
    for station in layout.stations:
        sheet.common(
            section,
            "strut",
            station_strut_m(design, len(station.drops)),
            (station.id,),
            existing=station.mount_existing,
            in_metres=True,
        )
    for station in layout.stations:
        sheet.common(
            section,
            "panel" if station.mount is Mount.PANEL else "bracket",
            1.0,
            (station.id,),
            existing=station.mount_existing,
        )


def _service(sheet: _Sheet, design: Design, layout: Layout) -> None:
    section = Section.SERVICE
    for line in layout.lines:
        standing = all(segment.existing for segment in line.segments)
        sheet.common(section, "commissioning_line", 1.0, (line.id,), existing=standing)
    for unit in design.plant:
        sheet.common(section, "dilution_test", 1.0, (unit.product,), existing=unit.existing)
