"""What a proportioner mixes at a pressure of the water, over the hours of the day, and with a worn tip."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from estimator.hydraulics.board import Reason
from estimator.hydraulics.drills import drill_diameter
from estimator.hydraulics.friction import RE_LAMINAR, RE_TURBULENT
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.orifice import REYNOLDS_RANGE
from estimator.hydraulics.proportioner import (
    ProportionerCurves,
    Suction,
    SuctionLine,
    VacuumCurve,
    choose_tip,
    dilution_range,
    draw,
)
from estimator.hydraulics.solution import Liquid, liquid, viscosity_at
from estimator.model.design import PlantUnit, Product
from estimator.model.finding import Number, Phrase, facts
from estimator.reference.catalogue import Proportioner as ProportionerPart
from estimator.sizing import rules, told
from estimator.sizing.feed import BoardFeed, HourFeed, why_no_water

__all__ = [
    "WEAR",
    "Mixer",
    "MixtureHours",
    "concentrate_of",
    "over_the_day",
    "proportioner_of",
    "remarks",
    "suction_of",
]

SUCTION_BORE_M: Final = 6.35e-3
"""Of the suction tube: assumed, common practice, no source."""
WEAR: Final = 0.05
"""How much wider a worn tip is shown, as a share of its bore; invented, to show how much wear costs."""
_POINTS: Final = 5
_L_MIN: Final = 1e-3 / 60.0


def concentrate_of(product: Product, temperature_k: float) -> Liquid:
    """The concentrate at a temperature [K]; OutOfRange where that is outside 0 to 60 °C.

    Its viscosity follows the temperature where it is given at two, else it stands as given.
    """
    thick = product.concentrate_viscosity.si
    if product.cold_viscosity is not None and product.cold_at.si != product.viscosity_at.si:
        thick = viscosity_at(
            temperature_k,
            (product.viscosity_at.si, thick),
            (product.cold_at.si, product.cold_viscosity.si),
        )
    return liquid(temperature_k, product.concentrate_specific_gravity, thick)


def suction_of(unit: PlantUnit) -> SuctionLine:
    """From the container to the proportioner: the design's lift, and a tube 1 m longer, 2 m at least (assumed)."""
    lift = unit.lift.si
    return SuctionLine(lift_m=lift, length_m=max(2.0, lift + 1.0), bore_m=SUCTION_BORE_M)


def proportioner_of(part: ProportionerPart) -> ProportionerCurves:
    """What a part of the catalogue does with water."""
    curve = VacuumCurve(tuple((1000.0 * inlet, 1000.0 * vacuum) for inlet, vacuum in part.vacuum_kpa), True)
    return ProportionerCurves(part.flow_l_min * _L_MIN, 1000.0 * part.at_kpa, curve, part.gone_at_ratio)


@dataclass(frozen=True, slots=True)
class Mixer:
    """What mixes one product: its proportioner, and the way of its concentrate, in the air of the place."""

    made: ProportionerCurves
    suction: SuctionLine
    product: Product
    barometric_pa: float

    def drawn(self, hour: HourFeed, inlet_pa: float, tip_m: float) -> Suction:
        """What it does with water at a gauge pressure [Pa] at an hour; may raise OutOfRange."""
        concentrate = concentrate_of(self.product, hour.temperature_k)
        return _drawn(
            self.made, inlet_pa, self.suction, concentrate, tip_m, self.barometric_pa, hour.vapour_pa
        )

    def tip(self, hour: HourFeed, inlet_pa: float) -> int:
        """The number drill nearest to the wanted dilution, 0 where none lifts the concentrate; may raise OutOfRange."""
        concentrate = concentrate_of(self.product, hour.temperature_k)
        return _tip(
            self.made,
            inlet_pa,
            self.suction,
            concentrate,
            self.product.dilution,
            self.barometric_pa,
            hour.vapour_pa,
        )

    def right(self, hour: HourFeed, inlet_pa: float, tip_m: float) -> bool:
        """Whether its mixture at a pressure of the water is known and inside its limits."""
        try:
            parts = self.drawn(hour, inlet_pa, tip_m).parts_water
        except OutOfRange:
            return False
        return parts is not None and not rules.misses(self.product, parts)


@lru_cache(maxsize=2048)
def _drawn(
    made: ProportionerCurves,
    inlet_pa: float,
    suction: SuctionLine,
    concentrate: Liquid,
    tip_m: float,
    barometric_pa: float,
    vapour_pa: float,
) -> Suction:
    """Kept by value: what the guns do does not change it, so most edits leave it as it is."""
    return draw(made, inlet_pa, suction, concentrate, tip_m, barometric_pa=barometric_pa, vapour_pa=vapour_pa)


@lru_cache(maxsize=512)
def _tip(
    made: ProportionerCurves,
    inlet_pa: float,
    suction: SuctionLine,
    concentrate: Liquid,
    dilution: float,
    barometric_pa: float,
    vapour_pa: float,
) -> int:
    choice = choose_tip(
        made, inlet_pa, suction, concentrate, dilution, barometric_pa=barometric_pa, vapour_pa=vapour_pa
    )
    return choice.drill or 0


@dataclass(frozen=True, slots=True)
class MixtureHours:
    """A mixture over the hours of the day, filling alone.

    Attributes:
        lean, rich: most and fewest parts of water; None where `unknown` or `none_drawn`.
        unknown: the first hour at which the mixture is not known, with why and the field of what is in the way.
        none_drawn: the first hour at which no concentrate is drawn.
        assumed: that an end of the day counts that was not read.
    """

    lean: float | None
    rich: float | None
    unknown: tuple[HourFeed, str, Phrase] | None = None
    none_drawn: HourFeed | None = None
    assumed: bool = False

    def misses(self, product: Product) -> bool:
        """Whether it leaves its limits, or draws nothing, at some hour."""
        if self.none_drawn is not None:
            return True
        return any(end is not None and rules.misses(product, end) for end in (self.lean, self.rich))


def over_the_day(feed: BoardFeed, mixer: Mixer, drill: int) -> MixtureHours:
    """Leanest and richest mixture between the low and the high of the day in each season, filling alone.

    A mixture need not go one way with the pressure, so the points of the vacuum curve between are looked at too.
    Nothing is moved into a curve: an hour outside one has no mixture.
    """
    lean: list[float] = []
    rich: list[float] = []
    seasons: dict[float, list[tuple[HourFeed, float]]] = {}
    assumed = any(hour.assumed for hour in feed.hours)
    for hour in feed.hours:
        water = hour.alone(mixer.made)
        if isinstance(water, Reason):
            return MixtureHours(None, None, (hour, *why_no_water(feed, water)), assumed=assumed)
        points = mixer.made.vacuum.points
        low, high = points[0][0], points[-1][0]
        if not low <= water.inlet_pa <= high:
            place = "design.common.reducer" if water.inlet_pa > high else "site.water.flow"
            why = Phrase(
                "the water then arrives at {pressure}, and its proportioner is known from {low} to {high}",
                facts(
                    pressure=told.pressure(water.inlet_pa), low=told.pressure(low), high=told.pressure(high)
                ),
            )
            return MixtureHours(None, None, (hour, place, why), assumed=assumed)
        seasons.setdefault(hour.temperature_k, []).append((hour, water.inlet_pa))
    tip = drill_diameter(drill)
    for temperature, found in seasons.items():
        pressures = [pressure for _, pressure in found]
        ends = [mixer.drawn(hour, pressure, tip).parts_water for hour, pressure in found]
        span = _span(
            mixer.made,
            min(pressures),
            max(pressures),
            mixer.suction,
            concentrate_of(mixer.product, temperature),
            tip,
            mixer.barometric_pa,
            found[0][0].vapour_pa,
        )
        if span is None:
            weakest = min(found, key=lambda of: of[1])[0]
            return MixtureHours(None, None, none_drawn=weakest, assumed=assumed)
        lean += [span[0], *(end for end in ends if end is not None)]
        rich += [span[1], *(end for end in ends if end is not None)]
    return MixtureHours(max(lean), min(rich), assumed=assumed)


@lru_cache(maxsize=1024)
def _span(
    made: ProportionerCurves,
    low_pa: float,
    high_pa: float,
    suction: SuctionLine,
    concentrate: Liquid,
    tip_m: float,
    barometric_pa: float,
    vapour_pa: float,
) -> tuple[float, float] | None:
    """Leanest and richest between two pressures; None where no concentrate is drawn at some."""
    found = dilution_range(
        made,
        low_pa,
        high_pa,
        suction,
        concentrate,
        tip_m,
        barometric_pa=barometric_pa,
        points=_POINTS,
        vapour_pa=vapour_pa,
    )
    lean = None if found.lean is None else found.lean.parts_water
    rich = None if found.rich is None else found.rich.parts_water
    return None if lean is None or rich is None else (lean, rich)


def remarks(given: Suction, barometric_pa: float, vapour_pa: float) -> tuple[Phrase, ...]:
    """What the formulas do not keep to, in words: as many as `Suction.outside` has."""
    said: list[Phrase] = []
    air = barometric_pa - vapour_pa
    if given.vacuum_pa >= air * (1.0 - 1e-9):
        said.append(
            Phrase(
                "its proportioner would pull more than the {air} of air there are here, so it draws by that only",
                facts(air=told.pressure(air)),
            )
        )
    low, high = REYNOLDS_RANGE
    if given.parts_water is not None and not low < given.tip_reynolds < high:
        said.append(
            Phrase(
                "the flow in its tip is outside what the formula of the tip is known for (Reynolds number {here}; "
                "known from {low} to {high}), as with a very thick or thin concentrate",
                facts(here=Number(given.tip_reynolds, 0), low=Number(low, 0), high=Number(high, 0)),
            )
        )
    if RE_LAMINAR < given.tube_reynolds < RE_TURBULENT:
        said.append(
            Phrase(
                "the flow in its suction tube is neither laminar nor turbulent, so its friction is uncertain"
            )
        )
    return tuple(said)
