"""Water-driven proportioner: vacuum lifts concentrate through foot valve, suction tube and metering tip.

What it gives must be confirmed on site by test: :data:`SITE_TEST`. The shipped vacuum curve is generic demo
data.

Sources
-------
.. [1] Monotone cubic interpolation: :mod:`estimator.hydraulics.curve`.
.. [2] Tip: :mod:`estimator.hydraulics.orifice`; tube: :mod:`estimator.hydraulics.friction`; foot valve:
   :mod:`estimator.hydraulics.fittings`.
.. [3] Water through the jet as an orifice, flow as the square root of its inlet pressure: hydraulics texts.
.. [4] Standard acceleration of gravity 9.80665 m/s2, exact (CGPM 1901).
.. [5] Pressure ratio of a water jet pump, nearly straight against its flow ratio: Gosline, J. E. and O'Brien, M. P.
   (1934). The water jet pump. Univ. of California Publ. in Engineering 3(3), 167-190. From memory; not seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from estimator.hydraulics.curve import Points, require_points, value
from estimator.hydraulics.drills import NUMBER_DRILLS, drill_diameter
from estimator.hydraulics.fittings import FITTINGS, turbulent_k
from estimator.hydraulics.friction import RE_LAMINAR, RE_TURBULENT, group_and_slope
from estimator.hydraulics.limits import OutOfRange, above_zero, within, zero_or_more
from estimator.hydraulics.orifice import discharge_coefficient, outside_limits
from estimator.hydraulics.solution import Liquid

GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of gravity, m/s2 (source [4])."""
TIP_LENGTH_RATIO: Final = 4.0
"""Length over bore of a metering tip where nothing better is known, -; generic demo data."""
SITE_TEST: Final = "confirm on site: volume of concentrate drawn over volume of solution made, or titration"
"""What must stand beside every computed dilution."""


@dataclass(frozen=True, slots=True)
class VacuumCurve:
    """Vacuum that a proportioner makes, by inlet pressure.

    ``points``: (inlet gauge pressure [Pa], vacuum [Pa]), two or more, inlet pressures rising, vacuum 0 or
    more and below 100 kPa; ``demo`` True for the generic curve. Raises OutOfRange or ValueError naming the
    point.
    """

    points: Points
    demo: bool = False

    def __post_init__(self) -> None:
        """Raises OutOfRange or ValueError naming the point."""
        require_points("vacuum curve", self.points, ("inlet", "Pa"), ("vacuum", "Pa"))
        for number, (_, vacuum) in enumerate(self.points, 1):
            within(
                f"vacuum curve point {number} vacuum", vacuum, 0.0, 100e3, "Pa", "no more than the atmosphere"
            )

    def at(self, inlet_pa: float) -> float:
        """Vacuum at an inlet pressure [Pa], by monotone cubic interpolation; never beyond the points next to
        it.

        inlet gauge pressure [Pa], within the points: OutOfRange outside, since nothing is known there. Source
        [1]_.

        >>> round(VacuumCurve(((1e5, 2e4), (2e5, 5e4), (4e5, 7e4))).at(3e5))
        63971
        """
        points = self.points
        within("inlet_pa", inlet_pa, points[0][0], points[-1][0], "Pa", "the vacuum curve ends there")
        return value(points, inlet_pa)


GENERIC_VACUUM: Final = VacuumCurve(
    ((100e3, 20e3), (200e3, 45e3), (300e3, 62e3), (400e3, 72e3), (600e3, 80e3)), demo=True
)
"""A made-up curve: generic demo data, and it says so."""


@dataclass(frozen=True, slots=True)
class ProportionerCurves:
    """A proportioner: water through it [m3/s] at an inlet gauge pressure [Pa], and its vacuum curve.

    The curve is the vacuum with nothing drawn. ``gone_at_ratio``: concentrate over water, by volume, at which the
    vacuum is gone [-], above 0; None where that is not known, and the vacuum then is taken not to fall.
    """

    water_flow_m3_s: float
    at_pa: float
    vacuum: VacuumCurve
    gone_at_ratio: float | None = None

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        above_zero("proportioner water_flow_m3_s", self.water_flow_m3_s, "m3/s")
        above_zero("proportioner at_pa", self.at_pa, "Pa")
        if self.gone_at_ratio is not None:
            above_zero("proportioner gone_at_ratio", self.gone_at_ratio, "-")

    def water_flow(self, inlet_pa: float) -> float:
        """Water through it [m3/s]: ``q = q_ref sqrt(p / p_ref)``.

        p inlet gauge pressure [Pa], 0 or more. Source [3]_.

        >>> p = ProportionerCurves(10.0 / 60000.0, 300e3, GENERIC_VACUUM)
        >>> round(60000.0 * p.water_flow(432e3), 6)
        12.0
        """
        return self.water_flow_m3_s * math.sqrt(zero_or_more("inlet_pa", inlet_pa, "Pa") / self.at_pa)


@dataclass(frozen=True, slots=True)
class SuctionLine:
    """From the concentrate to the proportioner.

    ``lift_m`` from the liquid's surface up to the proportioner [m], negative where it is below; ``length_m``
    and ``bore_m`` of the tube [m], ``roughness_m`` [m]; ``foot_opening_pa`` pressure that opens the foot
    valve [Pa]; ``foot_k1``, ``foot_k`` its two-K values in the tube's bore [-] (a lift check valve if left
    out).
    """

    lift_m: float
    length_m: float
    bore_m: float
    roughness_m: float = 1.5e-6
    foot_opening_pa: float = 0.0
    foot_k1: float | None = None
    foot_k: float | None = None

    def __post_init__(self) -> None:
        """Raises OutOfRange naming the field."""
        within("suction lift_m", self.lift_m, -10.0, 10.0, "m", "water cannot be lifted higher by vacuum")
        zero_or_more("suction length_m", self.length_m, "m")
        above_zero("suction bore_m", self.bore_m, "m")
        zero_or_more("suction roughness_m", self.roughness_m, "m")
        zero_or_more("suction foot_opening_pa", self.foot_opening_pa, "Pa")
        zero_or_more("suction foot_k1", self.two_k[0], "-")
        zero_or_more("suction foot_k", self.two_k[1], "-")

    @property
    def two_k(self) -> tuple[float, float]:
        """(K1, K) of the foot valve [-, -]."""
        check = FITTINGS["check valve"]
        k1 = check.k1 if self.foot_k1 is None else self.foot_k1
        return k1, turbulent_k(check.k_infinity, self.bore_m) if self.foot_k is None else self.foot_k


@dataclass(frozen=True, slots=True)
class Suction:
    """What a proportioner does at one water pressure.

    ``inlet_pa`` water pressure, gauge [Pa]; ``water_m3_s``, ``concentrate_m3_s`` [m3/s]; ``parts_water``
    parts of water to one of concentrate [-], None where no concentrate flows; ``vacuum_pa`` made, ``lift_pa``
    used by height and foot valve opening, ``foot_pa``, ``tube_pa``, ``tip_pa`` lost [Pa]; ``tip_reynolds`` on
    the ideal velocity, ``tube_reynolds`` [-]; ``outside`` what is not kept (empty: valid).
    """

    inlet_pa: float
    water_m3_s: float
    concentrate_m3_s: float
    parts_water: float | None
    vacuum_pa: float
    lift_pa: float
    foot_pa: float
    tube_pa: float
    tip_pa: float
    tip_reynolds: float
    tube_reynolds: float
    outside: tuple[str, ...]


def draw(
    proportioner: ProportionerCurves,
    inlet_pa: float,
    line: SuctionLine,
    concentrate: Liquid,
    tip_m: float,
    length_ratio: float = TIP_LENGTH_RATIO,
    barometric_pa: float = 101325.0,
    vapour_pa: float = 0.0,
) -> Suction:
    """Concentrate drawn at one water pressure.

    Balance: ``vacuum = rho g h + p_open + (K1/Re + K) rho V**2/2 + f (L/d) rho V**2/2 + dp_tip`` with ``vacuum =
    min(curve (1 - M/M0), p_air - p_v)``, the tip as
    the factor of :mod:`estimator.hydraulics.orifice`, laminar or turbulent in the tube by
    :mod:`estimator.hydraulics.friction`. inlet gauge pressure [Pa] within the vacuum curve; rho density
    [kg/m3] and viscosity of the concentrate; h lift [m]; V velocity in the suction tube [m/s]; tip bore [m],
    its length over bore [-]; M concentrate over water drawn and M0 the one at which the vacuum is gone [-]; p_air
    barometer and p_v vapour pressure [Pa]: at less than that the liquid boils. OutOfRange names a bad field; a
    vacuum that does not lift the concentrate gives 0 flow, no dilution, and says so. Sources [2]_, [3]_, [4]_,
    [5]_.

    Worked example: 62 kPa at 3 bar, 1 m lift, 2 m of 6.35 mm, water-thin concentrate, tip 1.016 mm (number
    60).

    >>> p = ProportionerCurves(10.0 / 60000.0, 300e3, GENERIC_VACUUM)
    >>> s = draw(p, 300e3, SuctionLine(1.0, 2.0, 6.35e-3), Liquid(1000.0, 1e-3, 1.0), 1.016e-3)
    >>> round(60000.0 * s.concentrate_m3_s, 3), round(s.tip_pa), s.outside
    (0.388, 50797, ())
    """
    blocked = proportioner.vacuum.at(inlet_pa)
    water = proportioner.water_flow(inlet_pa)
    above_zero("tip_m", tip_m, "m")
    above_zero("barometric_pa", barometric_pa, "Pa")
    within("vapour_pa", vapour_pa, 0.0, barometric_pa, "Pa", "at more the water boils by itself")
    above_zero("concentrate viscosity_pa_s", concentrate.viscosity_pa_s, "Pa s")
    rho = above_zero("concentrate density_kg_m3", concentrate.density_kg_m3, "kg/m3")
    lift = rho * GRAVITY_M_S2 * line.lift_m + line.foot_opening_pa
    vacuum = _Vacuum(blocked, _fall(proportioner, blocked, water), barometric_pa - vapour_pa)
    notes: list[str] = []
    if blocked >= vacuum.most_pa:
        notes.append(
            f"proportioner: {1e-3 * blocked:.0f} kPa of vacuum is more than "
            f"the {1e-3 * vacuum.most_pa:.0f} kPa of air here"
        )
    at_rest = vacuum.at(0.0)
    if at_rest <= lift or water == 0.0:
        notes.append(
            f"proportioner: {1e-3 * at_rest:.1f} kPa of vacuum does not lift the concentrate, "
            f"which takes {1e-3 * lift:.1f} kPa; lower the proportioner or raise the water pressure"
        )
        return Suction(inlet_pa, water, 0.0, None, at_rest, lift, 0.0, 0.0, 0.0, 0.0, 0.0, tuple(notes))
    flow, foot, tube, tip, tip_re, tube_re = _balance(vacuum, lift, line, concentrate, tip_m, length_ratio)
    notes.extend(outside_limits(tip_re, length_ratio))
    if RE_LAMINAR < tube_re < RE_TURBULENT:
        notes.append("suction tube: transition flow, 2300 < Re < 4000: friction uncertain")
    return Suction(
        inlet_pa,
        water,
        flow,
        water / flow,
        vacuum.at(flow),
        lift,
        foot,
        tube,
        tip,
        tip_re,
        tube_re,
        tuple(notes),
    )


@dataclass(frozen=True, slots=True)
class _Vacuum:
    """Vacuum by the flow drawn: blocked [Pa], its fall [Pa s/m3], the most that the air allows [Pa]."""

    blocked_pa: float
    fall_pa_s_m3: float
    most_pa: float

    def at(self, flow_m3_s: float) -> float:
        return min(self.blocked_pa - self.fall_pa_s_m3 * flow_m3_s, self.most_pa)


def _fall(proportioner: ProportionerCurves, blocked_pa: float, water_m3_s: float) -> float:
    if proportioner.gone_at_ratio is None or water_m3_s == 0.0:
        return 0.0
    return blocked_pa / (proportioner.gone_at_ratio * water_m3_s)


def _balance(
    vacuum: _Vacuum, lift: float, line: SuctionLine, concentrate: Liquid, tip_m: float, length_ratio: float
) -> tuple[float, float, float, float, float, float]:
    rho, mu = concentrate.density_kg_m3, concentrate.viscosity_pa_s
    bore = line.bore_m
    k1, k = line.two_k
    tip_area, bore_area = 0.25 * math.pi * tip_m**2, 0.25 * math.pi * bore**2
    roughness = line.roughness_m / bore
    tube_scale = line.length_m * mu * mu / (2.0 * rho * bore**3)

    def losses(tip: float) -> tuple[float, float, float, float, float, float]:
        ideal = math.sqrt(2.0 * tip / rho)
        tip_re = rho * ideal * tip_m / mu
        flow = discharge_coefficient(tip_re, length_ratio) * tip_area * ideal
        speed = flow / bore_area
        tube_re = rho * speed * bore / mu
        tube = group_and_slope(tube_re, roughness)[0] * tube_scale
        foot = 0.5 * speed * (k1 * mu / bore + k * rho * speed)
        return flow, foot, tube, tip, tip_re, tube_re

    def missing(at: tuple[float, float, float, float, float, float]) -> float:
        return at[3] + at[2] + at[1] - (vacuum.at(at[0]) - lift)

    # The residual rises with the tip's share, so the root is bracketed; Illinois, with a halving now and
    # then.
    available = vacuum.at(0.0) - lift
    low, high = 0.0, available
    found = losses(high)
    at_low, at_high = -available, missing(found)
    if at_high <= 1e-12 * available:
        return found
    for step in range(200):
        guess = 0.5 * (low + high) if step % 4 == 3 else high - at_high * (high - low) / (at_high - at_low)
        if not low < guess < high:
            guess = 0.5 * (low + high)
        found = losses(guess)
        residual = missing(found)
        if abs(residual) <= 1e-11 * available or high - low <= 1e-15 * high:
            return found
        if residual > 0.0:
            high, at_high, at_low = guess, residual, 0.5 * at_low
        else:
            low, at_low, at_high = guess, residual, 0.5 * at_high
    raise ArithmeticError(f"suction: no balance found at {available:g} Pa, tip {tip_m:g} m")


@dataclass(frozen=True, slots=True)
class TipChoice:
    """A metering tip from the number drills.

    ``drill`` the nearest, None where none does (``note`` says why); ``given`` what it does; ``smaller`` and
    ``larger`` the drills beside it with what they do, None at the end of the table; ``note`` empty where the
    choice is good.
    """

    drill: int | None
    given: Suction
    smaller: tuple[int, Suction] | None
    larger: tuple[int, Suction] | None
    note: str


def choose_tip(
    proportioner: ProportionerCurves,
    inlet_pa: float,
    line: SuctionLine,
    concentrate: Liquid,
    wanted_parts: float,
    length_ratio: float = TIP_LENGTH_RATIO,
    barometric_pa: float = 101325.0,
    vapour_pa: float = 0.0,
) -> TipChoice:
    """The number drill whose dilution is nearest the wanted one, by ratio.

    wanted parts of water to one of concentrate [-], above 0; the rest as :func:`draw`. The note says when
    even the largest tip is too lean or the smallest too rich by more than a quarter, and when nothing is
    lifted. Sources as :func:`draw`; drills: ASME B94.11M.

    Worked example: 1:20 at 3 bar.

    >>> p = ProportionerCurves(10.0 / 60000.0, 300e3, GENERIC_VACUUM)
    >>> c = choose_tip(p, 300e3, SuctionLine(1.0, 2.0, 6.35e-3), Liquid(1050.0, 5e-3, 1.05), 20.0)
    >>> c.drill, round(c.given.parts_water or 0.0, 1)
    (56, 21.3)
    """
    above_zero("wanted_parts", wanted_parts, "-", "an undiluted product needs no proportioner")
    drills = tuple(NUMBER_DRILLS)

    def at(index: int) -> Suction:
        return draw(
            proportioner,
            inlet_pa,
            line,
            concentrate,
            drill_diameter(drills[index]),
            length_ratio,
            barometric_pa,
            vapour_pa,
        )

    def parts(suction: Suction) -> float:
        # With no lift there is no dilution at any tip; that case has returned before.
        return suction.parts_water if suction.parts_water is not None else math.inf

    low, high = 0, len(drills) - 1
    smallest, largest = at(low), at(high)
    if largest.parts_water is None:
        return TipChoice(None, largest, None, None, largest.outside[-1])
    known = {low: smallest, high: largest}
    # A larger tip draws more: close in on the last one that is still too lean.
    while high - low > 1:
        middle = (low + high) // 2
        known[middle] = at(middle)
        if parts(known[middle]) > wanted_parts:
            low = middle
        else:
            high = middle
    best = min((low, high), key=lambda i: abs(math.log(parts(known[i]) / wanted_parts)))
    for index in (best - 1, best + 1):
        if 0 <= index < len(drills) and index not in known:
            known[index] = at(index)
    given = known[best]
    ratio = parts(given) / wanted_parts
    note = ""
    if not 0.8 <= ratio <= 1.25:
        drill, side = ("largest", "leaner") if ratio > 1.0 else ("smallest", "richer")
        note = f"metering tip: the {drill} drill gives 1:{parts(given):.0f}, "
        note += f"{side} than the 1:{wanted_parts:g} wanted"
    return TipChoice(
        drills[best],
        given,
        (drills[best - 1], known[best - 1]) if best > 0 else None,
        (drills[best + 1], known[best + 1]) if best < len(drills) - 1 else None,
        note,
    )


@dataclass(frozen=True, slots=True)
class DilutionRange:
    """Dilution over a range of water pressure.

    ``lean`` most water, ``rich`` least water to one of concentrate; ``lean`` is None where somewhere in the
    range no concentrate flows, ``rich`` where it flows nowhere. ``outside`` everything the points said.
    """

    lean: Suction | None
    rich: Suction | None
    outside: tuple[str, ...]


def dilution_range(
    proportioner: ProportionerCurves,
    low_pa: float,
    high_pa: float,
    line: SuctionLine,
    concentrate: Liquid,
    tip_m: float,
    length_ratio: float = TIP_LENGTH_RATIO,
    barometric_pa: float = 101325.0,
    points: int = 21,
    vapour_pa: float = 0.0,
) -> DilutionRange:
    """Leanest and richest dilution as the water pressure goes from low to high.

    low <= high inlet gauge pressures within the vacuum curve [Pa]; the rest as :func:`draw`. Looks at
    ``points`` pressures and at every point of the curve between, since the dilution need not go one way.
    Sources as :func:`draw`.

    >>> p = ProportionerCurves(10.0 / 60000.0, 300e3, GENERIC_VACUUM)
    >>> line, thin = SuctionLine(1.0, 2.0, 6.35e-3), Liquid(1050.0, 5e-3, 1.05)
    >>> r = dilution_range(p, 200e3, 400e3, line, thin, 1.181e-3)
    >>> round(r.lean.parts_water, 1), round(r.rich.parts_water, 1)
    (22.3, 21.2)
    """
    zero_or_more("low_pa", low_pa, "Pa")
    if high_pa < low_pa:
        raise OutOfRange("high_pa", high_pa, low_pa, math.inf, "Pa", "the pressure range is upside down")
    within("points", points, 2, 1000, "-")
    pressures = {low_pa + (high_pa - low_pa) * i / (points - 1) for i in range(points)} | {high_pa}
    pressures |= {inlet for inlet, _ in proportioner.vacuum.points if low_pa <= inlet <= high_pa}
    found = [
        draw(proportioner, p, line, concentrate, tip_m, length_ratio, barometric_pa, vapour_pa)
        for p in sorted(pressures)
    ]
    flowing = [s for s in found if s.parts_water is not None]
    key = {id(s): s.parts_water or 0.0 for s in flowing}
    lean = max(flowing, key=lambda s: key[id(s)]) if len(flowing) == len(found) else None
    rich = min(flowing, key=lambda s: key[id(s)]) if flowing else None
    said = dict.fromkeys(note for s in found for note in s.outside)
    return DilutionRange(lean, rich, tuple(said))


def parts_from_test(drawn_m3: float, made_m3: float) -> float:
    """Parts of water to one of concentrate from the test on site [-]: ``N = made/drawn - 1``.

    drawn volume of concentrate [m3], above 0; made volume of solution [m3], not below drawn. By volume;
    the definition of 1:N, no source.

    >>> round(parts_from_test(0.5e-3, 10.5e-3), 9)
    20.0
    """
    above_zero("drawn_m3", drawn_m3, "m3")
    if not (math.isfinite(made_m3) and made_m3 >= drawn_m3):
        raise OutOfRange("made_m3", made_m3, drawn_m3, math.inf, "m3", "the solution holds the concentrate")
    return made_m3 / drawn_m3 - 1.0
