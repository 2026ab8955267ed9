"""The proposal of the board's water: booster pump, pressure-reducing valve with its setting, and the tips with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from estimator.going import ALONE, Going
from estimator.model.design import BOARD_WATER, CommonPlant, Design
from estimator.model.finding import Phrase, facts
from estimator.model.site import Site
from estimator.proposal.cost import SizeCosts
from estimator.proposal.setting import Gauge
from estimator.proposal.types import Choice, LineProposal
from estimator.proposal.words import HELD
from estimator.reference.catalogue import Booster, Catalogue, Reducer
from estimator.reference.resolved import Resolved, resolve
from estimator.sizing import told
from estimator.sizing.remedy import board_tips
from estimator.units import Dimension, parse

__all__ = ["PLACES", "propose_water"]

PLACES = ("common.booster", "common.reducer", "common.reducer_setting")
"""Addresses of the choices, as `Design.pinned` holds them."""

_STEPS = 5
"""Steps of the gauge from one setting of a reducing valve that is tried to the next."""


@dataclass(frozen=True, slots=True)
class _Way:
    """What holds every mixture: pump, valve, its setting [Pa], the tips, and the ends of the settings that do."""

    booster: Booster
    reducer: Reducer
    setting_pa: float | None
    tips: dict[str, int]
    low_pa: float = 0.0
    high_pa: float = 0.0


def propose_water(
    site: Site,
    design: Design,
    parts: Catalogue,
    costs: SizeCosts,
    pinned: frozenset[str],
    gauge: Gauge,
    going: Going = ALONE,
) -> tuple[Design, LineProposal | None]:
    """The cheapest booster pump and reducing valve with which each mixture keeps its limits.

    A mixture is judged as the proof does: filling alone and with all tanks filling, at every hour of the day. The
    setting of a valve stands in the middle of those that hold; of what costs the same, what is there stays. Where
    nothing holds all of them the board stays as it is, and the findings of the proof say what each comes out at.

    Args:
        site: the survey.
        design: with the tips that are free left out.
        parts, costs, pinned: what is offered, its cost, and what stays.
        gauge: in whose steps a setting is read.
        going: asked before each try.

    Returns:
        The design with the choices and the tips that go with them, and the choices; None where no product is mixed.
    """
    mixed = {p.id for p in design.products if p.dilution > 0.0}
    if not any(unit.product in mixed for unit in design.plant):
        return design, None
    known = resolve(design, parts)
    if known.booster is None or known.reducer is None or known.backflow is None:
        return design, None  # told where keys are looked up
    held = frozenset(PLACES) if design.common.existing else pinned & frozenset(PLACES)
    free = frozenset(
        u.product for u in design.plant if not u.existing and f"plant.{u.product}.tip_drill" not in pinned
    )
    board = _Board(site, design, known, free, gauge, going)
    pumps, valves = [known.booster], [known.reducer]
    if "common.booster" not in held:
        pumps = [pump for pump in parts.boosters if pump.key in costs.boosters]
    if "common.reducer" not in held:
        valves = [valve for valve in parts.reducers if valve.key in costs.reducers]
    found = board.cheapest(pumps, valves, costs, set_held="common.reducer_setting" in held)
    common = design.common
    if found is None:
        note = Phrase(
            "No booster pump and pressure-reducing valve offered holds every mixture alone, with all tanks filling and "
            "over the day; the findings say what each comes out at."
        )
        return design, LineProposal(
            BOARD_WATER, _choices(common, common, costs, held, None), 0.0, False, note
        )
    setting = common.reducer_setting
    if found.setting_pa is not None:
        setting = parse(gauge.text(found.setting_pa), Dimension.PRESSURE)
    made = common.model_copy(
        update={"booster": found.booster.key, "reducer": found.reducer.key, "reducer_setting": setting}
    )
    plant = tuple(
        unit.model_copy(update={"tip_drill": found.tips[unit.product]})
        if unit.product in free and unit.product in found.tips
        else unit
        for unit in design.plant
    )
    note = Phrase("Every mixture keeps its limits alone, with all tanks filling and over the day.")
    cost = (
        0.0
        if common.existing
        else costs.boosters.get(made.booster, 0.0) + costs.reducers.get(made.reducer, 0.0)
    )
    choices = _choices(common, made, costs, held, found)
    return design.model_copy(update={"common": made, "plant": plant}), LineProposal(
        BOARD_WATER, choices, cost, True, note
    )


@dataclass(frozen=True, slots=True)
class _Board:
    """A board to be tried with other parts."""

    site: Site
    design: Design
    known: Resolved
    free: frozenset[str]
    gauge: Gauge
    going: Going

    def cheapest(
        self, boosters: Sequence[Booster], reducers: Sequence[Reducer], costs: SizeCosts, *, set_held: bool
    ) -> _Way | None:
        """What holds and costs least, what is there before what costs the same; None where nothing holds."""
        common = self.design.common
        pairs = [(pump, valve) for pump in boosters for valve in reducers]
        pairs.sort(
            key=lambda pair: (
                costs.boosters.get(pair[0].key, 0.0) + costs.reducers.get(pair[1].key, 0.0),
                (pair[0].key != common.booster) + (pair[1].key != common.reducer),
            )
        )
        for pump, valve in pairs:
            if valve.kv is not None and not set_held:
                way = self._set(pump, valve)
            else:
                tips = self._tips(pump, valve, common)
                setting = None if valve.kv is None else common.reducer_setting.si
                way = None if tips is None else _Way(pump, valve, setting, tips)
            if way is not None:
                return way
        return None

    def _set(self, pump: Booster, valve: Reducer) -> _Way | None:
        """A valve in the middle of the longest row of settings that hold; of two the lower."""
        apart = _STEPS * self.gauge.step_pa
        low = int(-(-1000.0 * valve.min_kpa // apart))
        high = int(1000.0 * valve.max_kpa // apart)
        rows: list[list[tuple[float, dict[str, int]]]] = [[]]
        for step in range(max(low, 1), high + 1):
            text = parse(self.gauge.text(step * apart), Dimension.PRESSURE)
            tips = self._tips(pump, valve, self.design.common.model_copy(update={"reducer_setting": text}))
            if tips is None:
                rows.append([])
            else:
                rows[-1].append((step * apart, tips))
        row = max(rows, key=len)
        if not row:
            return None
        setting, tips = row[(len(row) - 1) // 2]
        return _Way(pump, valve, setting, tips, row[0][0], row[-1][0])

    def _tips(self, pump: Booster, valve: Reducer, common: CommonPlant) -> dict[str, int] | None:
        self.going.check()
        tried = common.model_copy(update={"booster": pump.key, "reducer": valve.key})
        known = replace(self.known, booster=pump, reducer=valve)
        return board_tips(self.site, self.design.model_copy(update={"common": tried}), known, self.free)


def _choices(
    old: CommonPlant, new: CommonPlant, costs: SizeCosts, held: frozenset[str], found: _Way | None
) -> tuple[Choice, ...]:
    """Pump, valve and, where there is a valve, its setting."""

    def why(place: str, kept: bool) -> Phrase:
        if place in held:
            return HELD
        if found is None:
            return Phrase("Left as it was.")
        if kept:
            return Phrase("What is there holds every mixture, and nothing cheaper does.")
        return Phrase("The cheapest with which every mixture keeps its limits.")

    def one(name: str, cost: dict[str, float]) -> Choice:
        before, after = getattr(old, name), getattr(new, name)
        place = f"common.{name}"
        return Choice(
            place, before, after, why(place, before == after), cost.get(after, 0.0), fixed=place in held
        )

    choices = [one("booster", costs.boosters), one("reducer", costs.reducers)]
    if found is not None and found.setting_pa is not None:
        place = "common.reducer_setting"
        reason = HELD
        if place not in held:
            reason = Phrase(
                "In the middle of what holds every mixture: {low} to {high}.",
                facts(low=told.pressure(found.low_pa, 1), high=told.pressure(found.high_pa, 1)),
            )
        choices.append(
            Choice(
                place, old.reducer_setting.text, new.reducer_setting.text, reason, 0.0, fixed=place in held
            )
        )
    return tuple(choices)
