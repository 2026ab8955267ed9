"""Trying sizes on a line: many candidates solved in one batch, judged by the same rules as the proof."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from estimator.going import ALONE, Going
from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network import LinesPlan, compile_lines
from estimator.hydraulics.network_model import GRAVITY_M_S2, BoolArray, Network
from estimator.hydraulics.solution import Liquid
from estimator.hydraulics.valve import coefficient_from_kv, in_series
from estimator.model.design import Product
from estimator.model.site import Use
from estimator.reference.catalogue import Catalogue, Tube
from estimator.sizing import rules
from estimator.sizing.line_network import (
    DropParts,
    LineParts,
    cracking_pa,
    fitting_losses,
    line_network,
    node_heights,
    nozzle_coefficient,
    pump_curve,
)
from estimator.sizing.line_proof import guns_together
from estimator.sizing.open_sets import (
    MOST_PAIRS,
    all_sets,
    members,
    pair_sets,
    rival_sets,
    rivals_from_pairs,
    worst_sets,
)
from estimator.sizing.ratings import parts_here
from estimator.sizing.rest_proof import surge_in
from estimator.sizing.types import Verdict

__all__ = ["LineTrial", "Outcome", "Pick"]

_LANES = 64


@dataclass(frozen=True, slots=True)
class Pick:
    """One candidate: positions in the catalogue's tables, and the pressure of the pump at rest [Pa].

    Attributes:
        pump: in `Catalogue.pumps`.
        tubes: one a segment, in `Catalogue.tubes`.
        nozzles: one a drop, in `Catalogue.nozzle_sizes`.
        pressure_pa: regulator setting.
    """

    pump: int
    tubes: tuple[int, ...]
    nozzles: tuple[int, ...]
    pressure_pa: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a candidate does, with the limit it breaks first.

    Attributes:
        nozzles: one a drop, as tried.
        guns: open in the design case.
        together_pa, alone_pa: (drops,) nozzle pressure.
        together_m3_s: (drops,) flow in the design case.
        velocity_m_s: (segments,) largest.
        flow_m3_s: largest through the pump.
        room: least room of the drops (see `rules.room`).
        broken: the first limit that it breaks, None where it works.
        off_pa: what the setting of its pump is off from that which was asked for.
    """

    nozzles: tuple[int, ...]
    guns: int
    together_pa: FloatArray
    alone_pa: FloatArray
    together_m3_s: FloatArray
    velocity_m_s: FloatArray
    flow_m3_s: float
    room: float
    broken: rules.Broken | None
    off_pa: float = 0.0

    @property
    def limit(self) -> rules.Limit | None:
        """The limit that it breaks first."""
        return self.broken.limit if self.broken else None

    @property
    def at(self) -> int:
        """The drop or segment of that limit."""
        return self.broken.at if self.broken else 0

    @property
    def verdict(self) -> Verdict:
        """How the line would stand."""
        if self.broken:
            return self.broken.verdict
        return rules.inside(self.room)


def _weakest(tube: Tube, rating_pa: float, hung: DropParts | None, gravity: float) -> float:
    """Pressure of a segment in a tube that the weakest of its parts stands [Pa]."""
    return min(part.rating_pa - part.below_pa for part in parts_here(tube, rating_pa, hung, gravity))


class LineTrial:
    """A line ready to be tried with other sizes.

    Args:
        line: what it is made of now.
        product: what flows.
        use: how the shop works.
        liquid: its density and viscosity.
        temperature_c: of the liquid.
        parts: the sizes.
        supply_pa: pressure of the compressor.
        wanted: keep stated wanted flows within the proof's tolerance as well.
        going: asked before each batch of solves whether the search is still wanted.
    """

    def __init__(
        self,
        line: LineParts,
        product: Product,
        use: Use,
        liquid: Liquid,
        temperature_c: float,
        parts: Catalogue,
        supply_pa: float,
        wanted: bool = True,
        going: Going = ALONE,
    ) -> None:
        self.line, self.parts, self.liquid = line, parts, liquid
        self._product, self._use = product, use
        self.supply_pa, self.wanted, self._going = supply_pa, wanted, going
        segments = line.layout.segments
        self.count, self.segments = len(line.drops), len(segments)
        self.base = line_network(line, parts.pumps[0], 1e5, liquid)
        by_id = {s.id: s for s in segments}
        bores = [t.bore_mm / 1000.0 for t in parts.tubes]
        self.bore = np.array(bores)
        losses = np.array(
            [[fitting_losses(s, by_id.get(s.upstream), t) for t in parts.tubes] for s in segments]
        )
        self._k1, self._k = losses[:, :, 0], losses[:, :, 1]
        gun = [coefficient_from_kv(p.gun.kv, liquid.density_kg_m3) for p in line.drops]
        self.nozzle = np.array([nozzle_coefficient(size, liquid) for size in parts.nozzle_sizes])
        self.outlet = np.array([[in_series(g, float(n)) for n in self.nozzle] for g in gun])
        self.curves = [pump_curve(pump) for pump in parts.pumps]
        self.pump_limit = np.array([1000.0 * pump.max_kpa for pump in parts.pumps])
        self.surge_factor = np.array([surge_in(t, 1.0, liquid.density_kg_m3) for t in parts.tubes])
        """Surge in each tube by the flow that is stopped [Pa s/m3]."""
        self.quiet = True
        """Keep the surge of a gun that shuts below the ratings as well."""
        path = np.zeros((self.count, self.segments), dtype=np.bool_)
        row = {s.id: i for i, s in enumerate(segments)}
        ends = {s.ends_at_drop: s for s in segments if s.ends_at_drop}
        for i, part in enumerate(line.drops):
            at = ends[part.drop.id]
            path[i, row[at.id]] = True
            while at.upstream:
                at = by_id[at.upstream]
                path[i, row[at.id]] = True
        self.path: BoolArray = path
        hung = {part.drop.id: part for part in line.drops}
        tube_rating = [rules.rating_at(t, temperature_c) or 0.0 for t in parts.tubes]
        self.rating = np.array(
            [
                [
                    _weakest(t, rating, hung.get(s.ends_at_drop), product.specific_gravity)
                    for t, rating in zip(parts.tubes, tube_rating, strict=True)
                ]
                for s in segments
            ]
        )
        """What the weakest part of each segment stands in each tube [Pa], (segments, tubes)."""
        self.spring = np.array([[cracking_pa(s, t) for t in parts.tubes] for s in segments])
        """What the springs of the check valves of each segment hold back in each tube [Pa], (segments, tubes)."""
        self._ground_m, self._weight = np.array(node_heights(line)), liquid.density_kg_m3 * GRAVITY_M_S2
        lift = (self._ground_m - self._ground_m[0]) * self._weight
        self.lift = lift[self.base.outlet_node]
        ends_lift = lift[: self.segments + 1]
        self.rest_extra = -np.minimum(
            ends_lift[self.base.tube_from[: self.segments]], ends_lift[self.base.tube_to[: self.segments]]
        )
        windows = np.array([[rules.window_of(p.nozzle, s) for s in parts.nozzle_sizes] for p in line.drops])
        # (drops, sizes): a maker's nozzle has a window of its own.
        self._low, self._high = windows[:, :, 0], windows[:, :, 1]
        self.wish = np.array([p.drop.wanted_flow.si if p.drop.wanted_flow else np.nan for p in line.drops])
        self._plans: dict[int, LinesPlan] = {}
        self._known: dict[int, tuple[float, float]] = {}
        self._guns = max(1, min(2, self.count))
        self._all_pairs = math.comb(self.count, 2) <= MOST_PAIRS
        self._sets: dict[int, tuple[list[tuple[int, ...]] | None, BoolArray]] = {}
        self.solved = 0
        self.work = 0
        """Open outlets solved so far, in all sets of all candidates: what a search costs, the same on every machine."""

    def network(self, pick: Pick) -> Network:
        """The network of a candidate."""
        curve = self.curves[pick.pump]
        tubes = np.array(pick.tubes, dtype=np.int64)
        rows = np.arange(self.segments)
        bore, k, k1 = self.base.bore_m.copy(), self.base.minor_k.copy(), self.base.minor_k1.copy()
        bore[: self.segments] = self.bore[tubes]
        k[: self.segments], k1[: self.segments] = self._k[rows, tubes], self._k1[rows, tubes]
        # Only what is lost on the way to an outlet moves a flow.
        elevation = self._ground_m.copy()
        elevation[self.base.outlet_node] += self.path @ self.spring[rows, tubes] / self._weight
        # The catalogue is checked, so the check of `Network.resized` is not run once a candidate.
        return replace(
            self.base,
            elevation_m=elevation,
            bore_m=bore,
            minor_k=k,
            minor_k1=k1,
            outlet_coefficient=self.outlet[np.arange(self.count), list(pick.nozzles)],
            source_pressure_pa=pick.pressure_pa,
            source_linear_pa_s_m3=curve.linear_pa_s_m3,
            source_quadratic_pa_s2_m6=curve.quadratic_pa_s2_m6,
        )

    def guns(self, alone_m3_s: FloatArray) -> int:
        """Guns of the design case. Their number rises with the chance that one is open, so what lies between two
        known chances of one number has that number too."""
        mean = float(alone_m3_s.mean())
        inverse = 1.0 / mean if mean > 0.0 else np.inf
        for number, (least, most) in self._known.items():
            if least <= inverse <= most:
                return number
        number = guns_together(self._use, self._product, alone_m3_s)[0]
        least, most = self._known.get(number, (inverse, inverse))
        self._known[number] = (min(least, inverse), max(most, inverse))
        return number

    def sets(self, guns: int) -> tuple[list[tuple[int, ...]] | None, BoolArray]:
        """Open-sets of a number of guns, as lists (None where there are too many) and as a table with all drops
        alone in front. Where there are too many the table holds all pairs, or where those are too many, no more."""
        found = self._sets.get(guns)
        if found is None:
            listed = all_sets(self.count, guns)
            shown = listed if listed is not None else pair_sets(self.count) if self._all_pairs else []
            table = np.concatenate((np.eye(self.count, dtype=np.bool_), members(shown, self.count)))
            found = self._sets[guns] = (listed, table)
        return found

    def _solve(self, picks: Sequence[Pick], tables: Sequence[BoolArray]) -> list[FloatArray]:
        """Flow table (sets, drops) of each candidate."""
        found: list[FloatArray] = []
        for start in range(0, len(picks), _LANES):
            self._going.check()
            some = picks[start : start + _LANES]
            opens = list(tables[start : start + _LANES])
            lanes = 1 << max(0, (len(some) - 1).bit_length())
            plan = self._plans.get(lanes)
            if plan is None:
                plan = self._plans[lanes] = compile_lines([self.base] * lanes)
            nets = [self.network(p) for p in some]
            nets += [nets[-1]] * (lanes - len(nets))
            opens += [opens[-1]] * (lanes - len(opens))
            answers = plan.resized(nets).solve(opens)[: len(some)]
            found.extend(a.flow_table() for a in answers)
        self.solved += len(picks)
        self.work += sum(int(table.sum()) for table in tables)
        return found

    def run(self, picks: Sequence[Pick], guns: int | None = None) -> list[Outcome]:
        """Try candidates.

        Args:
            picks: the candidates.
            guns: take this number for the design case, for a bound; else that which follows from the flows.

        Raises:
            NetworkError: one cannot be solved.
        """
        if not picks:
            return []
        guess = self._guns if guns is None else guns
        _, table = self.sets(guess)
        flows = self._solve(picks, [table] * len(picks))
        numbers = [self.guns(f.diagonal()) if guns is None else guns for f in flows]
        for number in set(numbers) - {guess}:
            rows = [i for i, n in enumerate(numbers) if n == number]
            _, table = self.sets(number)
            again = self._solve([picks[i] for i in rows], [table] * len(rows))
            for i, flow in zip(rows, again, strict=True):
                flows[i] = flow
        self._guns = numbers[-1] if guns is None else self._guns
        listed = {n: self.sets(n)[0] for n in set(numbers)}
        many = [i for i, n in enumerate(numbers) if listed[n] is None]
        rivals: dict[int, FloatArray] = {}
        if many:
            opens = [members(self._rivals(picks[i], numbers[i], flows[i]), self.count) for i in many]
            solved = self._solve([picks[i] for i in many], opens)
            rivals = dict(zip(many, solved, strict=True))
        return [self._judge(pick, numbers[i], flows[i], rivals.get(i)) for i, pick in enumerate(picks)]

    def _rivals(self, pick: Pick, guns: int, flow: FloatArray) -> list[tuple[int, ...]]:
        """The design case of each drop, as the proof finds it, off the pairs that are solved already."""
        if not self._all_pairs or guns == 1:
            return rival_sets(self.network(pick), guns, flow.diagonal())
        pairs = pair_sets(self.count)
        at = np.array(pairs)
        c = self.outlet[np.arange(self.count), list(pick.nozzles)]
        solved = flow[self.count + np.arange(len(pairs))[:, None], at]
        return rivals_from_pairs(self.count, guns, pairs, (solved / c[at]) ** 2)

    def _judge(self, pick: Pick, guns: int, flow: FloatArray, rivals: FloatArray | None) -> Outcome:
        every = np.arange(self.count)
        alone = flow.diagonal()
        if rivals is None:
            rows = flow[self.count :]
            member = self.sets(guns)[1][self.count :]
            case = worst_sets(member, rows)
        else:
            rows, case = rivals, every
        together = rows[case, every]
        used = rows[np.unique(case)]
        through = (used @ self.path).max(axis=0)
        tubes = list(pick.tubes)
        velocity = through / (0.25 * np.pi * self.bore[tubes] ** 2)
        most = float(used.sum(axis=1).max())
        nozzle = self.nozzle[list(pick.nozzles)]
        together_pa, alone_pa = (together / nozzle) ** 2, (alone / nozzle) ** 2
        figures = rules.LineFigures(
            together,
            together_pa,
            alone_pa,
            velocity,
            pick.pressure_pa + self.rest_extra,
            most,
            pick.pressure_pa,
            self.surge_factor[tubes] * (self.path * alone[:, None]).max(axis=0),
        )
        low, high = self.windows(pick.nozzles)
        limits = rules.LineLimits(
            low,
            high,
            self.wanted_m3_s,
            self.rating[np.arange(self.segments), tubes],
            self.curves[pick.pump].max_flow_m3_s,
            float(self.pump_limit[pick.pump]),
            self.supply_pa,
            self.quiet,
        )
        least = float(rules.room(low, high, together_pa, alone_pa).min())
        return Outcome(
            pick.nozzles,
            guns,
            together_pa,
            alone_pa,
            together,
            velocity,
            most,
            least,
            rules.broken(figures, limits),
        )

    @property
    def wanted_m3_s(self) -> FloatArray:
        """Flow (drops,) that is to be kept, nan where none is."""
        return self.wish if self.wanted else np.full(self.count, np.nan)

    def windows(self, nozzles: Sequence[int]) -> tuple[FloatArray, FloatArray]:
        """Lowest and highest working pressure of each drop's nozzle [Pa]."""
        rows = np.arange(self.count)
        return self._low[rows, list(nozzles)], self._high[rows, list(nozzles)]

    def window(self, nozzles: Sequence[int]) -> tuple[FloatArray, FloatArray]:
        """Least and largest nozzle pressure of each drop in its design case [Pa]: its window, and where a flow is
        to be kept that flow within its tolerance."""
        low, high = self.windows(nozzles)
        least, most = rules.wanted_range(self.wanted_m3_s)
        c = self.nozzle[list(nozzles)]
        return np.fmax(low, (least / c) ** 2), np.fmin(high, (most / c) ** 2)
