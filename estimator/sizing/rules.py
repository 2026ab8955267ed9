"""The only judge: which pressures, flows and shares are good, close to an end, or bad.

Proof, proposal, findings, desk and paper ask here; no limit and no comparison with one stands anywhere else.

Figures are floats or numpy arrays that broadcast against each other, in SI; masks come back in their shape. A limit is
passed only where it is passed by more than `ROUNDING` of it: the proof solves a line alone and the proposal many at
once, and what both solve must be judged alike, also at the very end of a window.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, TypeAlias

import numpy as np

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network_model import BoolArray
from estimator.model.choices import Chemistry
from estimator.model.design import Product
from estimator.reference.catalogue import Nozzle, NozzleSize, Tube
from estimator.sizing.types import End, Verdict

__all__ = [
    "CLASS_TOLERANCE",
    "CLOSE_ROOM",
    "CUT_IN_SHARE",
    "DILUTION_TOLERANCE",
    "DRY_LIMIT",
    "HEADER_DROP_SHARE",
    "LONG_SPRAY_S",
    "MAX_VELOCITY_M_S",
    "ROUNDING",
    "SETTING_MARGIN_PA",
    "WANTED_TOLERANCE",
    "Broken",
    "Figures",
    "Limit",
    "LineFigures",
    "LineLimits",
    "above",
    "below",
    "broken",
    "dilution_limits",
    "drop_verdict",
    "enough",
    "foams",
    "header_verdict",
    "inside",
    "loses_too_much",
    "misses",
    "nearest_end",
    "off_wanted",
    "over_rating",
    "plant_verdict",
    "pump_pressure",
    "rating_at",
    "receiver_carries",
    "room",
    "runs_dry",
    "sprays_long",
    "tolerance_of",
    "too_fast",
    "too_high",
    "too_low",
    "too_slow",
    "wanted_range",
    "window_of",
]

MAX_VELOCITY_M_S: Final = 3.0
"""Velocity above which a tube is noisy and wears [m/s]; common practice, no source."""

WANTED_TOLERANCE: Final = 0.1
"""A flow within this share of the wanted one counts as met; common practice, no source."""

CLOSE_ROOM: Final = 0.05
"""A drop with less room than this share to an end of its window stands close to it; common practice, no source."""

DILUTION_TOLERANCE: Final = 0.25
"""A dilution within this share of the wanted one counts as met; common practice, no source."""

CLASS_TOLERANCE: Final[Mapping[Chemistry, float]] = {
    Chemistry.QUATERNARY: 0.1,
    Chemistry.HYPOCHLORITE: 0.1,
    Chemistry.PEROXIDE: 0.1,
    Chemistry.FLUORIDE_ACID: 0.15,
    Chemistry.HYDROCHLORIC_ACID: 0.15,
    Chemistry.NITRIC_ACID: 0.15,
}
"""Tolerance of a dilution by class where neither label nor field says one: tight for what disinfects, as a lean
sanitiser leaves germs alive, and for acids that bite. Assumed, common practice, no source; the label decides."""

DRY_LIMIT: Final = 0.01
"""Chance of running dry on one day from which a tank is too small; common practice, no source."""

HEADER_DROP_SHARE: Final = 0.1
"""Share of the supply pressure that the air line may lose; common practice, no source."""

CUT_IN_SHARE: Final = 0.8
"""Share of its cut-out at which a compressor is taken to start where nobody read it; common practice, no source."""

LONG_SPRAY_S: Final = 300.0
"""Spraying time of one product on one vehicle from which somebody should look at it [s]; common practice, no source."""

SETTING_MARGIN_PA: Final = 25_000.0
"""What a regulator's gauge may be wrong by [Pa]: accuracy class 2.5 of a scale to 10 bar (EN 837-1, from memory; the
scale is common practice, no source)."""

ROUNDING: Final = 1e-6
"""Share of a limit that two solvers of one network may differ by; they agree to about 1e-9."""

_KPA: Final = 1000.0

Figures: TypeAlias = float | FloatArray
Mask: TypeAlias = bool | np.bool_ | BoolArray


def above(value: Figures, limit: Figures) -> Mask:
    """Whether a figure is above an upper limit (0 or more)."""
    return value > limit * (1.0 + ROUNDING)


def below(value: Figures, limit: Figures) -> Mask:
    """Whether a figure is below a lower limit (0 or more)."""
    return value < limit * (1.0 - ROUNDING)


# Drops


def window_of(nozzle: Nozzle, size: NozzleSize) -> tuple[float, float]:
    """Lowest and highest working pressure of a nozzle [Pa, gauge]: those of its size where it has its own."""
    low = nozzle.min_kpa if size.min_kpa is None else size.min_kpa
    high = nozzle.max_kpa if size.max_kpa is None else size.max_kpa
    return _KPA * low, _KPA * high


def _to_low(low_pa: Figures, together_pa: Figures) -> FloatArray:
    low, pressure = np.broadcast_arrays(np.asarray(low_pa, dtype=float), together_pa)
    ratio: FloatArray = np.divide(pressure, low, out=np.full(low.shape, np.inf), where=low > 0.0)
    return ratio - 1.0


def _to_high(high_pa: Figures, alone_pa: Figures) -> FloatArray:
    high, pressure = np.broadcast_arrays(np.asarray(high_pa, dtype=float), alone_pa)
    ratio: FloatArray = np.divide(high, pressure, out=np.full(high.shape, np.inf), where=pressure > 0.0)
    return ratio - 1.0


def room(low_pa: Figures, high_pa: Figures, together_pa: Figures, alone_pa: Figures) -> FloatArray:
    """Room of a drop inside its window [-]: the greater of pressure and end over the lesser, less one.

    `min(p_together / low, high / p_alone) - 1`: both ends on one scale, that of the pressures themselves, so that the
    rooms of all drops can be compared. Every pressure of a line rises and falls about as its pump's does, so 0.26 is a
    drop that stays in its window while that falls to 1/1.26 or rises to 1.26 of what it is. Negative outside, -1 where
    nothing comes out. A window from 0 has no low end.

    Args:
        low_pa, high_pa: the window.
        together_pa: at the nozzle in the design case.
        alone_pa: at the nozzle with no other gun open.

    >>> round(float(room(1.5e5, 5e5, 1.89e5, 2.69e5)), 3), round(float(room(1.5e5, 5e5, 3.88e5, 3.88e5)), 3)
    (0.26, 0.289)
    """
    found: FloatArray = np.minimum(_to_low(low_pa, together_pa), _to_high(high_pa, alone_pa))
    return np.where(np.asarray(together_pa) > 0.0, found, -1.0)


def nearest_end(low_pa: float, high_pa: float, together_pa: float, alone_pa: float) -> End:
    """The end of the window that a drop's `room` is measured to."""
    return End.LOW if nearer_low(low_pa, high_pa, together_pa, alone_pa) else End.HIGH


def nearer_low(low_pa: Figures, high_pa: Figures, together_pa: Figures, alone_pa: Figures) -> Mask:
    """Whether that end is the low one."""
    nearer: BoolArray = _to_low(low_pa, together_pa) <= _to_high(high_pa, alone_pa)
    return nearer


def too_low(low_pa: Figures, together_pa: Figures) -> Mask:
    """Whether the pressure in the design case is below the window; a nozzle that gives nothing is too."""
    return below(together_pa, low_pa) | (together_pa <= 0.0)


def too_high(high_pa: Figures, alone_pa: Figures) -> Mask:
    """Whether the pressure with no other gun open is above the window."""
    return above(alone_pa, high_pa)


def drop_verdict(
    low_pa: float, high_pa: float, together_pa: float, alone_pa: float, room_left: float | None = None
) -> Verdict:
    """How a drop stands; what is outside its window at both ends is told as too low.

    Args:
        low_pa, high_pa, together_pa, alone_pa: see `room`.
        room_left: its room, where that is known already.
    """
    if together_pa <= 0.0:
        return Verdict.NO_FLOW
    if too_low(low_pa, together_pa):
        return Verdict.LOW
    if too_high(high_pa, alone_pa):
        return Verdict.HIGH
    if room_left is None:
        room_left = float(room(low_pa, high_pa, together_pa, alone_pa))
    return inside(room_left)


def inside(room_left: float) -> Verdict:
    """How stands what is inside its window with that much room."""
    return Verdict.CLOSE if room_left < CLOSE_ROOM else Verdict.GOOD


def wanted_range(wanted_m3_s: Figures) -> tuple[Figures, Figures]:
    """Least and largest flow that count as the wanted one."""
    return (1.0 - WANTED_TOLERANCE) * wanted_m3_s, (1.0 + WANTED_TOLERANCE) * wanted_m3_s


def off_wanted(given_m3_s: float, wanted_m3_s: float) -> bool:
    """Whether a flow misses the wanted one."""
    least, most = wanted_range(wanted_m3_s)
    return bool(below(given_m3_s, least) or above(given_m3_s, most))


# Lines


def pump_pressure(regulator_pa: float, supply_pa: float) -> float:
    """Gauge pressure of a pump at rest: its regulator gives no more than the compressor."""
    return min(regulator_pa, supply_pa)


def rating_at(tube: Tube, temperature_c: float) -> float | None:
    """Pressure rating of a tube at a temperature [Pa]; None above the last temperature its data covers.

    Below the first temperature the rating of the first holds: cold tube is no weaker.
    """
    table = sorted(tube.derating)
    if not table or temperature_c > table[-1][0]:
        return None
    at, factor = zip(*table, strict=True)
    return float(np.interp(temperature_c, at, factor)) * tube.rating_kpa * _KPA


def too_fast(velocity_m_s: Figures) -> Mask:
    """Whether a velocity is noisy and wears the tube."""
    return above(velocity_m_s, MAX_VELOCITY_M_S)


def over_rating(pressure_pa: Figures, rating_pa: Figures) -> Mask:
    """Whether a tube has more pressure than it is rated for; a rating of 0 is not known and never enough."""
    return above(pressure_pa, rating_pa)


def too_slow(use_probability: float) -> bool:
    """Whether guns would have to spray longer than the busy hour has."""
    return use_probability >= 1.0


class Limit(StrEnum):
    """What sizes on a line can break, in the order in which it is told."""

    LOW = "low"
    HIGH = "high"
    MUCH = "much"
    SUPPLY = "supply"
    PUMP = "pump limit"
    RATING = "rating"
    SURGE = "surge"
    CAPACITY = "capacity"
    VELOCITY = "velocity"


@dataclass(frozen=True, slots=True)
class LineLimits:
    """Limits of a line.

    Attributes:
        low_pa, high_pa: (drops,) windows.
        wanted_m3_s: (drops,) wanted flow, nan where none is stated or it need not be kept.
        rating_pa: (segments,) of the weakest part there at the liquid's temperature, 0 where not known.
        capacity_m3_s, pump_max_pa: of the pump.
        supply_pa: of the compressor.
        quiet: whether the surge of a gun that shuts is kept below the ratings too.
    """

    low_pa: FloatArray
    high_pa: FloatArray
    wanted_m3_s: FloatArray
    rating_pa: FloatArray
    capacity_m3_s: float
    pump_max_pa: float
    supply_pa: float
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class LineFigures:
    """What a line does.

    Attributes:
        together_m3_s, together_pa: (drops,) flow and nozzle pressure in the design case of each.
        alone_pa: (drops,) nozzle pressure with no other gun open.
        velocity_m_s: (segments,) largest of the design cases.
        rest_pa: (segments,) largest pressure with no gun open.
        flow_m3_s: largest through the pump.
        setting_pa: of the regulator.
        surge_pa: (segments,) what the largest gun behind adds for a moment when it shuts.
    """

    together_m3_s: FloatArray
    together_pa: FloatArray
    alone_pa: FloatArray
    velocity_m_s: FloatArray
    rest_pa: FloatArray
    flow_m3_s: float
    setting_pa: float
    surge_pa: FloatArray


@dataclass(frozen=True, slots=True)
class Broken:
    """The first limit that a line breaks: at which drop or segment (0 for the pump's), and how that stands."""

    limit: Limit
    at: int
    verdict: Verdict


def broken(line: LineFigures, limits: LineLimits) -> Broken | None:
    """The first limit that a line breaks, None where it works.

    A line that works has every drop inside its window and at its wanted flow, its pump and regulator inside their
    limits, and no part above its rating nor a tube above the velocity limit.
    """
    least, most = wanted_range(limits.wanted_m3_s)
    if (line.together_pa <= 0.0).any():
        return Broken(Limit.LOW, int(line.together_pa.argmin()), Verdict.NO_FLOW)
    # A comparison with nan is false: no flow is wanted there.
    little = below(line.together_m3_s, least)
    if np.any(too_low(limits.low_pa, line.together_pa) | little):
        short = np.fmin(_to_low(limits.low_pa, line.together_pa) + 1.0, (line.together_m3_s / least) ** 2)
        return Broken(Limit.LOW, int(short.argmin()), Verdict.LOW)
    if np.any(too_high(limits.high_pa, line.alone_pa)):
        return Broken(Limit.HIGH, int((line.alone_pa / limits.high_pa).argmax()), Verdict.HIGH)
    if np.any(above(line.together_m3_s, most)):
        return Broken(Limit.MUCH, int(np.nanargmax(line.together_m3_s / most)), Verdict.HIGH)
    if above(line.setting_pa, limits.supply_pa):
        return Broken(Limit.SUPPLY, 0, Verdict.SHORT)
    if above(line.setting_pa, limits.pump_max_pa):
        return Broken(Limit.PUMP, 0, Verdict.SHORT)
    if np.any(over_rating(line.rest_pa, limits.rating_pa)):
        return Broken(Limit.RATING, int((line.rest_pa - limits.rating_pa).argmax()), Verdict.SHORT)
    if limits.quiet and np.any(over_rating(line.rest_pa + line.surge_pa, limits.rating_pa)):
        return Broken(
            Limit.SURGE, int((line.rest_pa + line.surge_pa - limits.rating_pa).argmax()), Verdict.SHORT
        )
    if above(line.flow_m3_s, limits.capacity_m3_s):
        return Broken(Limit.CAPACITY, 0, Verdict.SHORT)
    if np.any(too_fast(line.velocity_m_s)):
        return Broken(Limit.VELOCITY, int(line.velocity_m_s.argmax()), Verdict.SHORT)
    return None


# Plant, air and water


def tolerance_of(product: Product) -> float:
    """How far a mixture may be off the wanted one where the label gives no range, as a share of it.

    What a person typed, else the tightest of the product's classes in `CLASS_TOLERANCE`, else `DILUTION_TOLERANCE`.
    """
    if product.tolerance is not None:
        return product.tolerance / 100.0
    return min(
        (CLASS_TOLERANCE.get(c, DILUTION_TOLERANCE) for c in product.sheet.classes),
        default=DILUTION_TOLERANCE,
    )


def dilution_limits(product: Product) -> tuple[float, float]:
    """Richest and leanest parts of water that a mixture may have.

    An end that the label leaves out is that of `tolerance_of`; so are both where the range is upside down or leaves out
    the very dilution that is wanted, which is told by itself.
    """
    off = tolerance_of(product)
    own = product.dilution * (1.0 - off), product.dilution * (1.0 + off)
    low = own[0] if product.label_strongest is None else product.label_strongest
    high = own[1] if product.label_weakest is None else product.label_weakest
    return (low, high) if low <= product.dilution <= high else own


def runs_dry(chance: float) -> bool:
    """Whether a tank runs dry on too many days."""
    return chance >= DRY_LIMIT


def misses(product: Product, given: float) -> bool:
    """Whether parts of water are outside `dilution_limits`."""
    low, high = dilution_limits(product)
    return bool(below(given, low) | above(given, high))


def plant_verdict(chance_dry: float, *, keeps_up: bool) -> Verdict:
    """How the plant of a product stands: `keeps_up` says that it refills what the busy hour draws."""
    return Verdict.GOOD if keeps_up and not runs_dry(chance_dry) else Verdict.SHORT


def loses_too_much(lost_pa: float, supply_pa: float) -> bool:
    """Whether the air line loses too much of the supply pressure."""
    return bool(above(lost_pa, HEADER_DROP_SHARE * supply_pa))


def header_verdict(lost_pa: float | None, supply_pa: float) -> Verdict:
    """How the air line stands that loses so much of the supply; None where the air chokes in it."""
    return Verdict.SHORT if lost_pa is None or loses_too_much(lost_pa, supply_pa) else Verdict.GOOD


def enough(asked: float, given: float) -> Verdict:
    """How a service stands that is asked for no more than it gives."""
    return Verdict.SHORT if above(asked, given) else Verdict.GOOD


def foams(ratio: float | None, low: float, high: float) -> bool:
    """Whether parts of air to one of solution make foam; None where no solution comes."""
    return ratio is not None and not bool(below(ratio, low) or above(ratio, high))


def sprays_long(spray_s: float) -> bool:
    """Whether one product is sprayed on a vehicle for very long."""
    return bool(above(spray_s, LONG_SPRAY_S))


def receiver_carries(burst_s: float, use_s: float, mean: float, given: float) -> bool:
    """Whether a receiver carries what is asked for above what a compressor gives.

    Args:
        burst_s: how long it lasts in the design case.
        use_s: the longest time that a gun is held on one vehicle.
        mean: flow asked for over the busy hour, `given` that of the compressor: what is taken must come back.
    """
    return burst_s >= use_s and bool(not above(mean, given))
