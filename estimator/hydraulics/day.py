"""A shop's day on a board of day tanks, many days at once: which tanks fill is the tanks' own doing.

Each tank is drawn from by the guns of its line and filled by its proportioner from a start level to a stop level. All
proportioners share one water supply, so what one gives, and how strong, depends on which others fill at that moment;
whoever asks gives that as a function of the set (:class:`TankFill`). The state of a day is the level, what is in each
tank and which ones fill; it is carried from one event to the next (a gun opens or shuts, a tank reaches a level), and
between two events everything is solved exactly. So there is no time step, and volumes balance.

Sources
-------
.. [1] Volume balance and balance of a stirred tank, see :mod:`estimator.hydraulics.mixture`.
.. [2] How often guns are open: Hunter (1940), NBS BMS65, as in :mod:`estimator.hydraulics.simultaneous`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from estimator.hydraulics.limits import OutOfRange, within
from estimator.hydraulics.mixture import parts_of, share_of, stirred
from estimator.hydraulics.observed import share_interval
from estimator.hydraulics.sprays import Draws
from estimator.hydraulics.tank import TankLevels

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

TANKS_MAX: Final = 60
"""Tanks on one board that are taken, -."""
ASKED_AT_ONCE: Final = 6
"""Tanks up to which all sets that can fill are asked for together, before they are met, -."""
QUANTILES: Final = (0.005, 0.05, 0.5, 0.95, 0.995)
"""Shares of the volume drawn at which the mixture is told: between the outer two lies 99 % of it."""
DRY: Final = 1e-9
_BINS: Final = 4000
_SPAN: Final = float(np.log(1e8))
"""Shares of concentrate are kept apart from one to a hundred millionth, on a scale of logarithms."""
_POINTS: Final = ((np.arange(4) + 0.5) / 4.0)[:, None]
_KEPT: Final = 300_000
_ALIKE: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Filling:
    """What sets of tanks get while they fill: (sets, tanks) solution made [m3/s], and the share of concentrate in it
    [-]."""

    flow_m3_s: FloatArray
    share: FloatArray


class TankFill(Protocol):
    """What each tank gets, by the set of those that fill."""

    def __call__(self, sets: BoolArray, /) -> Filling:
        """sets (sets, tanks): True where a tank fills. What is told of one that does not fill is not looked at."""


@dataclass(frozen=True, slots=True)
class Alone:
    """The simplest of boards: each proportioner gives the same whatever others do.

    ``flow_m3_s`` (tanks,) [m3/s]; ``parts_water`` (tanks,) dilution [parts of water to one].

    >>> Alone((1e-4,), (64.0,))(np.array([[True]])).flow_m3_s.tolist()
    [[0.0001]]
    """

    flow_m3_s: tuple[float, ...]
    parts_water: tuple[float, ...]

    def __call__(self, sets: BoolArray, /) -> Filling:
        """As :class:`TankFill`."""
        flow = np.broadcast_to(np.asarray(self.flow_m3_s, np.float64), sets.shape)
        return Filling(flow, np.broadcast_to(share_of(self.parts_water), sets.shape))


@dataclass(frozen=True, slots=True)
class ByCount:
    """A board on which only the number that fill counts: ``flow_m3_s[n - 1]`` of each [m3/s] and
    ``parts_water[n - 1]`` while n fill; the last holds for more.

    >>> b = ByCount((1e-4, 8e-5), (64.0, 90.0))
    >>> b(np.array([[True, True, False]])).flow_m3_s.tolist()
    [[8e-05, 8e-05, 8e-05]]
    """

    flow_m3_s: tuple[float, ...]
    parts_water: tuple[float, ...]

    def __call__(self, sets: BoolArray, /) -> Filling:
        """As :class:`TankFill`."""
        many = np.clip(sets.sum(axis=1), 1, len(self.flow_m3_s)) - 1
        flow = np.asarray(self.flow_m3_s, np.float64)[many]
        share = share_of(self.parts_water)[many]
        return Filling(
            np.broadcast_to(flow[:, None], sets.shape), np.broadcast_to(share[:, None], sets.shape)
        )


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in the tanks: (tanks, days) level [m3], share of concentrate [-], and which ones fill."""

    level_m3: FloatArray
    share: FloatArray
    filling: BoolArray


@dataclass(frozen=True, slots=True)
class DrawnMixture:
    """What the guns on a tank get, over all that they draw; all dilutions in parts of water to one of concentrate.

    ``parts_water`` at the shares of ``QUANTILES`` of the volume drawn, richest first; ``richest``, ``leanest`` that
    were ever in the tank; ``mean_parts_water`` of all that was drawn together. Where nothing was drawn, of what is in
    the tank in the evening.
    """

    parts_water: tuple[float, ...]
    richest: float
    leanest: float
    mean_parts_water: float


@dataclass(frozen=True, slots=True)
class TankRun:
    """What one tank does in the day.

    ``dry`` share of days on which it ran dry [-], with its 95 % interval ``dry_low`` to ``dry_high`` [-]; ``never``
    True where it cannot run dry, whatever the guns do (the interval is then 0 to 0). ``lowest_m3`` level that 99 % of
    days stay above [m3]. By the day, on average: ``drawn_m3``, ``filled_m3``, ``missing_m3`` that guns asked for in
    vain [m3], ``fills`` begun [-]. ``filling`` share of the time that it fills [-]. ``mixture`` in it.
    """

    dry: float
    dry_low: float
    dry_high: float
    never: bool
    lowest_m3: float
    drawn_m3: float
    filled_m3: float
    missing_m3: float
    fills: float
    filling: float
    mixture: DrawnMixture


@dataclass(frozen=True, slots=True)
class BoardRun:
    """What a board does in the day.

    ``tanks`` each. ``at_once`` (tanks + 1,) share of the time that 0, 1, ... tanks fill together [-]. ``sets`` share
    of the time of each set that was met, by the positions of its tanks [-]. ``evening`` contents at the end of each
    day; ``days`` simulated.
    """

    tanks: tuple[TankRun, ...]
    at_once: tuple[float, ...]
    sets: dict[tuple[int, ...], float]
    evening: Contents
    days: int

    def most_at_once(self, criterion: float = 0.99) -> int:
        """Smallest number of tanks so that no more fill at once for that share of the time [-]."""
        within("criterion", criterion, 0.0, 1.0, "-")
        return int(np.argmax(np.cumsum(self.at_once) >= criterion - 1e-12))


class _Sets:
    """Sets of tanks that were met, numbered, with what they get."""

    def __init__(self, fill: TankFill, tanks: int) -> None:
        self._fill, self._tanks = fill, tanks
        self._bits = np.left_shift(1, np.arange(tanks, dtype=np.int64))
        self.masks: NDArray[np.int64] = np.zeros(0, np.int64)
        self.flow = np.zeros((0, tanks))
        self.share = np.zeros((0, tanks))
        first = np.arange(1 << tanks) if tanks <= ASKED_AT_ONCE else np.zeros(1, np.int64)
        self._learn(first.astype(np.int64))

    def _learn(self, masks: NDArray[np.int64]) -> None:
        sets = (masks[:, None] & self._bits) != 0
        given = self._fill(sets)
        flow = np.where(sets, given.flow_m3_s, 0.0)
        share = np.where(sets, given.share, 0.0)
        _checked("fill flow_m3_s", flow, np.inf, "m3/s")
        _checked("fill share", share, 1.0, "-")
        self.masks = np.concatenate([self.masks, masks])
        self.flow = np.concatenate([self.flow, flow])
        self.share = np.concatenate([self.share, share])
        self._order = np.argsort(self.masks)
        self._sorted = self.masks[self._order]

    def of(self, filling: BoolArray) -> NDArray[np.intp]:
        """Numbers of sets (tanks, n), True where a tank fills."""
        masks = self._bits @ filling
        at = np.minimum(np.searchsorted(self._sorted, masks), self._sorted.size - 1)
        new = self._sorted[at] != masks
        if new.any():
            self._learn(np.unique(masks[new]))
            at = np.searchsorted(self._sorted, masks)
        found: NDArray[np.intp] = self._order[at]
        return found


def _checked(name: str, values: FloatArray, high: float, unit: str) -> None:
    good = np.isfinite(values) & (values >= 0.0) & (values <= high)
    if not good.all():
        raise OutOfRange(name, float(values[~good].flat[0]), 0.0, high, unit)


def full(tanks: Sequence[TankLevels], fill: TankFill, days: int) -> Contents:
    """All tanks full, with what each proportioner gives when it fills alone."""
    sets = _Sets(fill, len(tanks))
    own = np.eye(len(tanks), dtype=np.bool_)
    rows = sets.of(own)
    share = np.diagonal(sets.share[rows])
    level = np.array([t.fill_stop_m3 for t in tanks])
    shape = (len(tanks), days)
    return Contents(
        np.broadcast_to(level[:, None], shape).copy(),
        np.broadcast_to(share[:, None], shape).copy(),
        np.zeros(shape, np.bool_),
    )


def _nobody_asks() -> None:
    """For days that are always wanted."""


def simulate(
    tanks: Sequence[TankLevels],
    fill: TankFill,
    draws: Draws,
    begin: Contents | None = None,
    check: Callable[[], None] = _nobody_asks,
) -> BoardRun:
    """The day of a board.

    tanks: 0 to 60. fill: what each gets, by the set of those that fill. draws: of the guns, for every day
    (:func:`estimator.hydraulics.sprays.thrown_draws`). begin: contents in the morning, of one day or of each; full of
    what each proportioner gives alone where none is said. An evening is a morning: what was filling goes on.
    check: called from event to event; it raises where the days are not wanted any more.

    A tank begins to fill at its start level and stops at its stop level. Level [m3]: ``dV/dt = fill - draw``; an empty
    tank gives what comes in, and what is missing is counted. Share of concentrate: that of a stirred tank. Raises
    OutOfRange where ``fill`` gives what is no flow or no share, or where tanks and draws do not agree. Source [1]_.

    Worked example: 30 L that start to fill at 21 L, drawn at 2 L/min for an hour, refilled with 3 L/min: never dry.

    >>> from estimator.hydraulics.sprays import given_draws
    >>> from estimator.hydraulics.tank import tank
    >>> a = simulate([tank(0.030)], Alone((3 / 60000,), (64.0,)), given_draws(1, [2 / 60000], [], 3600.0))
    >>> a.tanks[0].dry, round(1000 * a.tanks[0].drawn_m3, 9), a.tanks[0].mixture.parts_water[2]
    (0.0, 120.0, 64.0)
    """
    run = _Run(tanks, fill, draws, begin)
    run.go(check)
    return run.told()


def cannot_run_dry(
    tank: TankLevels, level_m3: float, most_m3_s: float, refill_m3_s: float, end_s: float
) -> bool:
    """Whether a tank holds whatever the guns do, so that no dice are needed.

    It does where what is in it is enough for the whole day, or where its refill, which starts before it is empty, is
    never less than the draw. level_m3 in the morning [m3]; most_m3_s largest draw there can be, refill_m3_s the least
    that it gets whatever else fills [m3/s]; end_s length of the day [s]. Source [1]_.

    >>> from estimator.hydraulics.tank import tank
    >>> [cannot_run_dry(tank(0.030), 0.0285, q / 60000, 3 / 60000, 32400.0) for q in (0.05, 3.0, 3.1)]
    [True, True, False]
    """
    if most_m3_s * end_s <= level_m3:
        return True
    return tank.fill_start_m3 > 0.0 and level_m3 > 0.0 and most_m3_s <= refill_m3_s


class _Run:
    """A simulation under way: arrays of (tanks, days), (days,) and (tanks, 1)."""

    def __init__(
        self, tanks: Sequence[TankLevels], fill: TankFill, draws: Draws, begin: Contents | None
    ) -> None:
        within("tanks", len(tanks), 0, TANKS_MAX, "-")
        many, days = draws.begin_m3_s.shape
        within("draws tanks", many, len(tanks), len(tanks), "-", "give the draw of each tank")
        self.tanks, self.draws, self.days = tanks, draws, days
        self.sets = _Sets(fill, many)
        start = full(tanks, fill, days) if begin is None else begin
        shape = (many, days)
        self.level = np.broadcast_to(start.level_m3, shape).astype(np.float64)
        self.share = np.broadcast_to(start.share, shape).astype(np.float64)
        self.start = np.array([[t.fill_start_m3] for t in tanks]).reshape(many, 1)
        self.stop = np.array([[t.fill_stop_m3] for t in tanks]).reshape(many, 1)
        volume = np.array([[t.volume_m3] for t in tanks]).reshape(many, 1)
        _checked("begin level_m3", self.level / volume, 1.0 + 1e-9, "of the tank")
        _checked("begin share", self.share, 1.0, "-")
        self.filling = (start.filling & (self.level < self.stop)) | (self.level <= self.start)
        self.draw = draws.begin_m3_s.astype(np.float64)
        self.row = self.sets.of(self.filling)
        self.fill = np.ascontiguousarray(self.sets.flow[self.row].T)
        self.coming = np.ascontiguousarray(self.sets.share[self.row].T)
        self.now = np.zeros(days)
        self.begun = self.level.min(axis=1, initial=np.inf)
        self.lowest = self.level.copy()
        self.drawn, self.missing, self.filled = np.zeros(shape), np.zeros(shape), np.zeros(shape)
        self.fills = self.filling.sum(axis=1).astype(np.float64)
        self.set_s = np.zeros(self.sets.masks.size)
        self.set_since = np.zeros(days)
        # What was drawn since the mixture last changed is booked when it changes next.
        self.booked = np.zeros(shape)
        self.seen = _Seen(many)
        self.concentrate = np.zeros(many)
        self.richest, self.leanest = self.share.copy(), self.share.copy()

    def go(self, check: Callable[[], None]) -> None:
        """From event to event until every day is over."""
        draws = self.draws
        columns = draws.at_s.shape[1]
        base = np.arange(self.days) * columns
        at_s, by = draws.at_s.reshape(-1), draws.by_m3_s.reshape(-1)
        cell = (draws.tank * self.days + np.arange(self.days)[:, None]).reshape(-1)
        # What is left of a sum and its parts by rounding is no draw.
        least = 1e-12 * max(float(np.abs(by).max(initial=0.0)), float(self.draw.max(initial=0.0)))
        next_at = base.copy()
        level_of = np.empty_like(self.level)
        need = np.empty_like(self.level)
        some_empty = False
        while True:
            check()
            upto = at_s[next_at]
            net = self.fill - self.draw
            out = self.draw
            some_empty = some_empty or bool(self.level.min(initial=1.0) <= 0.0)
            if some_empty:
                through = (self.level <= 0.0) & (net < 0.0)
                out = np.where(through, self.fill, self.draw)
                net[through] = 0.0
            # The level that each tank is on its way to, and how long that takes.
            np.multiply(self.start, ~self.filling, out=level_of)
            np.copyto(level_of, self.stop, where=self.filling & (net > 0.0))
            need.fill(np.inf)
            np.divide(level_of - self.level, net, out=need, where=net != 0.0)
            left = upto - self.now
            step = np.minimum(left, need.min(axis=0, initial=np.inf))
            was = self.level
            self.level = np.maximum(was + net * step, 0.0)
            self.drawn += out * step
            if some_empty:
                self.missing += (self.draw - out) * step
            hit = np.flatnonzero(need <= step)
            self.level.reshape(-1)[hit] = level_of.reshape(-1)[hit]
            np.minimum(self.lowest, self.level, out=self.lowest)
            self._mix(was, step)
            arrived = left <= step
            self.now = np.where(arrived, upto, self.now + step)
            if hit.size:
                self._turn(hit)
            days = np.flatnonzero(arrived)
            if not days.size:
                continue
            if bool((self.now >= draws.end_s).all()):
                break
            at = next_at[days]
            if self.tanks:
                flat = self.draw.reshape(-1)
                draw = flat[cell[at]] + by[at]
                flat[cell[at]] = np.where(draw > least, draw, 0.0)
            next_at[days] = np.minimum(at + 1, base[days] + columns - 1)
        self._book(np.arange(self.level.size))
        self._book_sets(np.arange(self.days))
        self.seen.settle()

    def _turn(self, hit: NDArray[np.intp]) -> None:
        """Tanks that reached a level: begin to fill, or stop; one that is empty goes on filling."""
        tank, day = np.divmod(hit, self.days)
        filling = self.filling[tank, day]
        turned = ~filling | (self.level[tank, day] >= self.stop[tank, 0])
        self.fills += np.bincount(tank[~filling], minlength=self.fills.size)
        if not turned.any():
            return
        self.filling[tank[turned], day[turned]] = ~filling[turned]
        some = np.zeros(self.days, np.bool_)
        some[day[turned]] = True
        days = np.flatnonzero(some)
        self._book_sets(days)
        self.row[days] = self.sets.of(self.filling[:, days])
        self.fill[:, days] = self.sets.flow[self.row[days]].T
        self.coming[:, days] = self.sets.share[self.row[days]].T

    def _book_sets(self, days: NDArray[np.intp]) -> None:
        self.set_s = np.concatenate([self.set_s, np.zeros(self.sets.masks.size - self.set_s.size)])
        time = self.now[days] - self.set_since[days]
        self.set_s += np.bincount(self.row[days], time, minlength=self.set_s.size)
        self.set_since[days] = self.now[days]

    def _mix(self, was: FloatArray, step: FloatArray) -> None:
        cells = np.flatnonzero(self.filling & (step > 0.0))
        if not cells.size:
            return
        tank, day = np.divmod(cells, self.days)
        share_of_all = self.share.reshape(-1)
        time, share, fill = step[day], share_of_all[cells], self.fill.reshape(-1)[cells]
        before, after = was.reshape(-1)[cells], self.level.reshape(-1)[cells]
        coming, drawn = self.coming.reshape(-1)[cells], self.drawn.reshape(-1)[cells]
        poured = fill * time
        self.filled.reshape(-1)[cells] += poured
        mixed = stirred(share, coming, fill, before, after, time)
        out = np.maximum(poured - (after - before), 0.0)
        # What was drawn before now had the share that was; what is drawn meanwhile, evenly from that to the new one.
        held = np.maximum(drawn - out - self.booked.reshape(-1)[cells], 0.0)
        gone = np.maximum(before * share + poured * coming - after * mixed, 0.0)
        self.concentrate += np.bincount(tank, held * share + gone, minlength=len(self.tanks))
        some = np.flatnonzero(held)
        self.seen.add(tank[some], share[some], held[some])
        some = np.flatnonzero(out)
        # What changes too little to be told apart is one volume.
        if bool((np.abs(mixed - share) > _ALIKE * share).any()):
            self.seen.add(
                np.tile(tank[some], _POINTS.size),
                (share[some] + _POINTS * (mixed - share)[some]).reshape(-1),
                np.tile(out[some] / _POINTS.size, _POINTS.size),
            )
        else:
            self.seen.add(tank[some], 0.5 * (share[some] + mixed[some]), out[some])
        self.booked.reshape(-1)[cells] = drawn
        share_of_all[cells] = mixed
        self.richest.reshape(-1)[cells] = np.maximum(self.richest.reshape(-1)[cells], mixed)
        self.leanest.reshape(-1)[cells] = np.minimum(self.leanest.reshape(-1)[cells], mixed)

    def _book(self, cells: NDArray[np.intp]) -> None:
        """What was drawn since the mixture last changed."""
        tank = cells // max(self.days, 1)
        share, drawn = self.share.reshape(-1)[cells], self.drawn.reshape(-1)[cells]
        held = np.maximum(drawn - self.booked.reshape(-1)[cells], 0.0)
        self.seen.add(tank, share, held)
        self.concentrate += np.bincount(tank, held * share, minlength=len(self.tanks))

    def told(self) -> BoardRun:
        """The answer."""
        total = self.days * self.draws.end_s
        positions = range(len(self.tanks))
        sets = {
            tuple(at for at in positions if mask >> at & 1): seconds / total
            for mask, seconds in zip(self.sets.masks.tolist(), self.set_s.tolist(), strict=True)
            if seconds > 0.0
        }
        at_once = [0.0] * (len(self.tanks) + 1)
        for members, share in sets.items():
            at_once[len(members)] += share
        filling = [sum(share for members, share in sets.items() if at in members) for at in positions]
        return BoardRun(
            tuple(self._one(at, filling[at]) for at in positions),
            tuple(at_once),
            sets,
            Contents(self.level, self.share, self.filling),
            self.days,
        )

    def _one(self, at: int, filling: float) -> TankRun:
        dry = int(np.count_nonzero(self.missing[at] > DRY * self.tanks[at].volume_m3))
        never = dry == 0 and self._cannot(at)
        low, high = (0.0, 0.0) if never else share_interval(dry, self.days)
        drawn = float(self.drawn[at].sum())
        if drawn > 0.0:
            shares, mean = self.seen.quantiles(at), self.concentrate[at] / drawn
        else:
            shares = np.quantile(self.share[at], [1.0 - q for q in QUANTILES])
            mean = self.share[at].mean()
        rich, lean = float(self.richest[at].max()), float(self.leanest[at].min())
        return TankRun(
            dry / self.days,
            low,
            high,
            never,
            float(np.sort(self.lowest[at])[self.days // 100]),
            drawn / self.days,
            float(self.filled[at].mean()),
            float(self.missing[at].mean()),
            float(self.fills[at]) / self.days,
            filling,
            DrawnMixture(
                tuple(parts_of(np.clip(shares, lean, rich)).tolist()),
                float(parts_of(rich)),
                float(parts_of(lean)),
                float(parts_of(np.clip(mean, lean, rich))),
            ),
        )

    def _cannot(self, at: int) -> bool:
        """Whether every gun open all the time would not empty the tank, whatever else fills."""
        own = self.sets.masks >> at & 1 != 0
        # Of more tanks than are asked for together not every set is known, and so no least refill.
        least = float(self.sets.flow[own, at].min()) if len(self.tanks) <= ASKED_AT_ONCE else 0.0
        most, level = float(self.draws.most_m3_s[at]), float(self.begun[at])
        return cannot_run_dry(self.tanks[at], level, most, least, self.draws.end_s)


class _Seen:
    """How much there was of each share of concentrate, tank by tank."""

    def __init__(self, tanks: int) -> None:
        self._size = tanks * (_BINS + 1)
        self._weight, self._content = np.zeros(self._size), np.zeros(self._size)
        self._kept: list[tuple[NDArray[np.intp], FloatArray, FloatArray]] = []
        self._waiting = 0

    def add(self, tank: NDArray[np.intp], share: FloatArray, weight: FloatArray) -> None:
        """Volumes ``weight`` [m3] with a share [-] each."""
        self._kept.append((tank, share, weight))
        self._waiting += share.size
        if self._waiting > _KEPT:
            self.settle()

    def settle(self) -> None:
        """Sort in what was added."""
        if not self._kept:
            return
        tank, share, weight = (np.concatenate(parts) for parts in zip(*self._kept, strict=True))
        self._kept.clear()
        self._waiting = 0
        with np.errstate(divide="ignore"):
            bins = np.clip(np.log(share) * (_BINS / _SPAN) + _BINS, 0.0, _BINS).astype(np.intp)
        at = tank * (_BINS + 1) + bins
        self._weight += np.bincount(at, weight, minlength=self._size)
        self._content += np.bincount(at, weight * share, minlength=self._size)

    def quantiles(self, tank: int) -> FloatArray:
        """Shares of concentrate at ``QUANTILES`` of the volume, richest first: the mean of the bin they fall in."""
        rows = slice(tank * (_BINS + 1), (tank + 1) * (_BINS + 1))
        weight, content = self._weight[rows][::-1], self._content[rows][::-1]
        sums = np.cumsum(weight)
        at = np.searchsorted(sums, np.asarray(QUANTILES) * sums[-1])
        found: FloatArray = content[at] / weight[at]
        return found
