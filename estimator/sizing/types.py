"""What a proof is made of: figures in SI for each drop, line, plant unit, air and water."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from enum import Enum, StrEnum
from typing import TYPE_CHECKING, Final

from estimator.model.finding import Phrase

if TYPE_CHECKING:  # physics loads arrays, and a blank window does without
    from estimator.hydraulics.board import WaterBoard
    from estimator.sizing.day_case import DayCase

__all__ = [
    "FEED_WORDS",
    "AirDrop",
    "AirProof",
    "BoardProof",
    "DayProof",
    "DropProof",
    "DropState",
    "End",
    "FeedPoint",
    "FillingOrder",
    "FillingTurn",
    "FoamProof",
    "Hour",
    "LineProof",
    "Mixture",
    "PlantProof",
    "Proof",
    "SegmentProof",
    "SharedWater",
    "SprayedMixture",
    "Verdict",
    "WaterProof",
]


class Verdict(StrEnum):
    """How an object stands, with the words a person reads."""

    GOOD = "inside its window"
    CLOSE = "inside its window, close to its end"
    LOW = "pressure too low"
    HIGH = "pressure too high"
    NO_FLOW = "no flow"
    SHORT = "too small"
    UNFIT = "a part does not stand the product"
    UNKNOWN = "not proved"

    @property
    def holds(self) -> bool:
        """Whether it works: good, or close to an end but inside."""
        return self in (Verdict.GOOD, Verdict.CLOSE)


class End(StrEnum):
    """An end of a nozzle's window."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True)
class DropState:
    """Flow and pressure at one nozzle in one case.

    Attributes:
        flow_m3_s: through the nozzle.
        nozzle_pressure_pa: gauge, at the nozzle's inlet, behind the gun.
    """

    flow_m3_s: float
    nozzle_pressure_pa: float


@dataclass(frozen=True, slots=True)
class DropProof:
    """What comes out of one liquid drop.

    Attributes:
        drop, line: ids.
        alone: with no other gun of the line open.
        together: in the design case, with the other guns that hurt it most open too.
        rivals: ids of those other drops.
        window_low_pa, window_high_pa: working window of the nozzle.
        wanted_flow_m3_s: what the person wants, None where not stated.
        spray_width_m: theoretical width at the typed distance (0 where the nozzle has no fan or cone angle).
        spray_s_per_vehicle: spraying time of the line on one vehicle at the flow of the design case.
        verdict: how it stands.
        room: how far the pressure is from the nearest end of the window (see `rules.room`); negative outside.
        nearest_end: which end that is: the low one in the design case, the high one alone.
    """

    drop: str
    line: str
    alone: DropState
    together: DropState
    rivals: tuple[str, ...]
    window_low_pa: float
    window_high_pa: float
    wanted_flow_m3_s: float | None
    spray_width_m: float
    spray_s_per_vehicle: float
    verdict: Verdict
    room: float
    nearest_end: End

    @property
    def nearest(self) -> DropState:
        """The case whose pressure is nearest to an end of the window."""
        return self.together if self.nearest_end is End.LOW else self.alone


@dataclass(frozen=True, slots=True)
class SegmentProof:
    """One segment with the largest flow that any case sends through it.

    Attributes:
        segment: id in its line.
        tube: key of its size.
        flow_m3_s, velocity_m_s: largest of all cases.
        pressure_pa: largest gauge pressure, that of a line with no gun open.
        rating_pa: pressure rating of the tube at the liquid's temperature.
    """

    segment: str
    tube: str
    flow_m3_s: float
    velocity_m_s: float
    pressure_pa: float
    rating_pa: float


@dataclass(frozen=True, slots=True)
class LineProof:
    """One liquid line.

    Attributes:
        line: product id.
        guns_open: number of guns of the design case.
        guns_basis: where that number comes from; words are made last.
        use_probability: chance that one gun is open at a moment of the busy hour.
        flow_m3_s: largest flow of the design cases.
        pump_pressure_pa: gauge pressure at the pump's outlet at that flow.
        pump_capacity_m3_s: largest flow of the pump after its catalogue data.
        pump_air_m3_s: free air of the pump at that flow, at local atmospheric pressure.
        segments: in the order of the layout.
        worst_drop: id of the drop with the least room.
    """

    line: str
    guns_open: int
    guns_basis: Phrase
    use_probability: float
    flow_m3_s: float
    pump_pressure_pa: float
    pump_capacity_m3_s: float
    pump_air_m3_s: float
    segments: tuple[SegmentProof, ...]
    worst_drop: str


@dataclass(frozen=True, slots=True)
class PlantProof:
    """The plant of one product.

    Attributes:
        product: id.
        busy_hour_draw_m3: solution drawn in the busy hour.
        refill_m3_s: what the proportioner makes at the water pressure.
        tank_m3: working volume.
        dry_chance: chance that the tank runs dry on one day, as it was seen in simulated days.
        dry_low, dry_high: ends of the 95 % interval of that chance; both 0 where it is certain that it does not.
        spray_s: how long a gun is open at a go.
        full_m3_s: refill while water passes; behind a break tank that fills more slowly it waits in between.
        smallest_tank: key of the smallest catalogue tank whose chance is under 1 %, "" if none is.
        tip_drill: number drill of the metering tip, 0 where no tip is needed or none fits.
        dilution: parts of water while its tank fills alone at the pressures of the survey.
        lean, rich: most and fewest parts of water over the day and the year, filling alone; None where at some hour
            none is drawn, or it is not known.
        worn: parts of water with a tip worn 5 % wider, as for `dilution`; None where that is not known.
        verdict: how it stands.
    """

    product: str
    busy_hour_draw_m3: float
    refill_m3_s: float
    tank_m3: float
    dry_chance: float
    smallest_tank: str
    tip_drill: int
    dilution: float
    lean: float | None
    rich: float | None
    worn: float | None
    verdict: Verdict
    dry_low: float = 0.0
    dry_high: float = 0.0
    spray_s: float = 0.0
    full_m3_s: float = 0.0

    @property
    def filling(self) -> float:
        """Share of the busy hour in which the tank fills [-], at most 1."""
        return (
            min(1.0, self.busy_hour_draw_m3 / (3600.0 * self.refill_m3_s)) if self.refill_m3_s > 0.0 else 1.0
        )


@dataclass(frozen=True, slots=True)
class AirDrop:
    """One air outlet, an air gun's or a foam gun's, in the design case, just before the compressor starts.

    Attributes:
        drop: its id.
        outlet_pa: gauge pressure at the end of the tube.
        gun_pa: at its gun while that blows, behind the hose; None where gun or hose is not known.
    """

    drop: str
    outlet_pa: float
    gun_pa: float | None


@dataclass(frozen=True, slots=True)
class AirProof:
    """Compressed air: all flows as free air at the survey's reference conditions, pressures gauge.

    Attributes:
        demand_m3_s: of who opens a gun and, 99 % of such moments, the others at work (pumps, foam guns, air drops).
        leak_m3_s: what leaks.
        purge_m3_s: what the dryer blows off.
        supply_m3_s: compressor, corrected for altitude.
        board_pa: at the board just before the compressor starts.
        head_pa: at the head of the air line: the same, or its own regulator's setting.
        cut_in_assumed: nobody read at which pressure that is.
        burst_s: how long the receiver carries the demand; None where the compressor does, or nobody said what it holds.
        worst_drop: air outlet with the lowest pressure; "" where nothing is lost.
        worst_pressure_pa: at the end of its tube.
        drops: air outlets in design order.
        verdict: how it stands.
    """

    demand_m3_s: float
    leak_m3_s: float
    purge_m3_s: float
    supply_m3_s: float
    board_pa: float
    head_pa: float
    cut_in_assumed: bool
    burst_s: float | None
    worst_drop: str
    worst_pressure_pa: float
    drops: tuple[AirDrop, ...]
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class FoamProof:
    """One foam gun in the design case: what solution and air make where they meet.

    Attributes:
        drop, line: ids.
        solution_pa, air_pa: gauge pressures of both at the gun, before they meet.
        chamber_pa: gauge pressure where they meet.
        solution_m3_s: what is left of the solution's flow with the air on.
        air_m3_s: free air at the site.
        ratio: parts of free air to one of solution; None where no solution comes.
        low, high: ratios that the gun makes foam of.
    """

    drop: str
    line: str
    solution_pa: float
    air_pa: float
    chamber_pa: float
    solution_m3_s: float
    air_m3_s: float
    ratio: float | None
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class WaterProof:
    """Water at the tie-in: all proportioners refilling together against what the tie-in gives."""

    demand_m3_s: float
    supply_m3_s: float
    verdict: Verdict


class Hour(StrEnum):
    """When the water is looked at, in words."""

    TEST = "at the pressures of the survey"
    LOW = "at the lowest pressure of the day"
    HIGH = "at the highest pressure of the day"


@dataclass(frozen=True, slots=True)
class Mixture:
    """What one product comes out at while some tanks fill.

    Attributes:
        inlet_pa: gauge pressure of the water that the proportioners share; None where none flows.
        dilution: parts of water to one of concentrate; None where none is drawn, or it is not known.
        flow_m3_s: water of all that fill; None where none flows.
        along_pa: gauge pressures behind each part of `BoardProof.parts`; empty where no water flows.
    """

    inlet_pa: float | None
    dilution: float | None
    flow_m3_s: float | None = None
    along_pa: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class SharedWater:
    """One product in the three cases that count: its tank filling alone, the busy hour, all tanks at once."""

    product: str
    alone: Mixture
    busy: Mixture
    first: Mixture


class FeedPoint(Enum):
    """A point between street and board at which a gauge could stand: behind each part that the water passes."""

    STREET = "street"
    RISE = "height of the board"
    BREAK_TANK = "break tank"  # behind the booster that draws from it
    BACKFLOW = "backflow protection"
    BOOSTER = "booster"
    REDUCER = "reducing valve"
    TUBE = "supply tube"


FEED_WORDS: Final = {
    FeedPoint.STREET: "water supply",
    FeedPoint.RISE: "height of the board",
    FeedPoint.BREAK_TANK: "booster pump behind the break tank",
    FeedPoint.BACKFLOW: "backflow protection",
    FeedPoint.BOOSTER: "booster pump",
    FeedPoint.REDUCER: "pressure-reducing valve",
    FeedPoint.TUBE: "feed hose",
}
"""What stands before each point, in words."""


@dataclass(frozen=True, slots=True)
class BoardProof:
    """The proportioners on the one water that they share.

    Attributes:
        static_pa: gauge pressure at the tie-in with nothing drawn.
        static_assumed: that it was not read.
        at_once: tanks that fill at once in 99 % of the busy hour, at most.
        products: those with a proportioner that has been proved, in plant order.
        water: the board itself with a post for each of them, to be solved for any that fill.
        points: what stands at the gauges of its feed (`Shared.along_pa`), in the order of the flow.
    """

    static_pa: float
    static_assumed: bool
    at_once: int
    products: tuple[SharedWater, ...]
    water: WaterBoard
    points: tuple[FeedPoint, ...] = (FeedPoint.STREET,)


@dataclass(frozen=True, slots=True)
class SprayedMixture:
    """What is sprayed of a product over the day.

    Attributes:
        product: id.
        rich, lean: ends, in parts of water to one, that 99 % of it lies between.
        known: whether its proportioner is known at every pressure that was met; where it is not, plain water counts,
            and `lean` is the worst that it can be.
    """

    product: str
    rich: float
    lean: float
    known: bool


@dataclass(frozen=True, slots=True)
class FillingTurn:
    """Tanks that are filled together.

    Attributes:
        products: ids.
        takes_s: until the last of them is full.
    """

    products: tuple[str, ...]
    takes_s: float


@dataclass(frozen=True, slots=True)
class FillingOrder:
    """How the tanks of an empty board are filled, so that each holds what it should.

    Attributes:
        turns: one after the other, each when the one before is full.
        total_s: until all are full.
        at_once_s: what it would take with all of them filling at once, with wrong mixtures; infinite where never.
    """

    turns: tuple[FillingTurn, ...]
    total_s: float
    at_once_s: float


@dataclass(frozen=True, slots=True)
class DayProof:
    """The day of all tanks.

    Attributes:
        days: simulated for what is told; 0 where it is certain without.
        mixtures: of each product; empty where no moment can miss what is asked for.
        sprays_as_one: that are taken together where there are too many in a day, 1 where there are not.
        order: of the first fill; None where all may be filled at once, or no order helps.
        case: the day itself, to be thrown by whoever wants to know more of it.
    """

    days: int
    mixtures: tuple[SprayedMixture, ...]
    sprays_as_one: float
    order: FillingOrder | None
    case: DayCase


@dataclass(frozen=True, slots=True)
class Proof:
    """The whole hydraulic proof.

    Attributes:
        drops: liquid drops in design order.
        lines: liquid lines in design order.
        plant: plant units in design order.
        air, water: the services.
        foam: foam guns in design order.
        board: the water shared by all proportioners; None where there are none, or the survey gives no water.
        assumptions: for the basis of design; words are made last.
        day: of the day tanks; None where there is none.
    """

    drops: tuple[DropProof, ...]
    lines: tuple[LineProof, ...]
    plant: tuple[PlantProof, ...]
    air: AirProof | None
    water: WaterProof | None
    assumptions: tuple[Phrase, ...]
    board: BoardProof | None = None
    day: DayProof | None = None
    foam: tuple[FoamProof, ...] = ()

    def with_unfit(self, lines: Collection[str]) -> Proof:
        """The proof where a part of some lines does not stand what flows through it: no pressure makes those work.

        Args:
            lines: ids of their products; their drops and their plant fail, whatever comes out of the nozzles.
        """
        if not lines:
            return self
        return replace(
            self,
            drops=tuple(replace(d, verdict=Verdict.UNFIT) if d.line in lines else d for d in self.drops),
            plant=tuple(replace(p, verdict=Verdict.UNFIT) if p.product in lines else p for p in self.plant),
        )


NOTHING = Proof((), (), (), None, None, ())
"""The proof of a design without drops: nothing comes out and nothing was assumed."""
