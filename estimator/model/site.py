"""The survey: what is there before anything is built."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from estimator.model.choices import AirReference, Answer, DrainTo, Reading, Wall
from estimator.model.countries import Country
from estimator.model.spec import Frozen, Percent, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["AirSupply", "Board", "Floor", "Site", "Use", "WaterSupply"]

_D = Dimension


class WaterSupply(Frozen):
    """Water at the tie-in, measured with the shop's own use going on."""

    pressure: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "16 bar")] = spec(
        "Water pressure", "Gauge pressure at the tie-in while water flows.", default="3 bar"
    )
    flow: Annotated[Quantity, Measure(_D.FLOW, "0 L/min", "1000 L/min")] = spec(
        "Water flow", "Flow that the tie-in gives at that pressure.", default="20 L/min"
    )
    static_pressure: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "20 bar")] | None = spec(
        "Static water pressure",
        "Gauge pressure at the tie-in while nothing runs. With the flow above it tells what is left when several tanks "
        "fill at once; if left out, the flow above is taken to drop it by a quarter.",
        default=None,
    )
    low_static: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "20 bar")] | None = spec(
        "Lowest static pressure",
        "Gauge pressure at the tie-in while nothing runs, at the hour of the day when the street has least.",
        default=None,
    )
    high_static: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "20 bar")] | None = spec(
        "Highest static pressure",
        "Gauge pressure at the tie-in while nothing runs, at the hour when the street has most, as at night.",
        default=None,
    )
    temperature: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "95 °C")] = spec(
        "Water temperature", "Temperature of the supply.", default="15 °C"
    )
    winter: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "95 °C")] | None = spec(
        "Water in winter", "Temperature of the supply in the coldest weeks.", default=None
    )
    summer: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "95 °C")] | None = spec(
        "Water in summer", "Temperature of the supply in the warmest weeks.", default=None
    )
    hardness: Annotated[float, Field(ge=0.0, le=2000.0)] | None = spec(
        "Water hardness",
        "As calcium carbonate, from the water supplier or a test strip; hard water leaves lime in metering tips.",
        default=None,
        unit="mg/L",
    )
    rise: Annotated[Quantity, Measure(_D.LENGTH, "-50 m", "50 m")] | None = spec(
        "Up to the board",
        "From the gauge at the tie-in up to the proportioners; below 0 where the board hangs lower. Not counted if "
        "left out.",
        default=None,
    )
    test_reading: Reading = spec(
        "Pressure and flow from", "Where the water pressure and its flow come from.", default=Reading.ASSUMED
    )
    static_reading: Reading = spec(
        "Static pressures from", "Where the static pressures come from.", default=Reading.ASSUMED
    )
    temperature_reading: Reading = spec(
        "Water temperatures from", "Where the temperatures of the water come from.", default=Reading.ASSUMED
    )
    hardness_reading: Reading = spec(
        "Water hardness from", "Where the hardness of the water comes from.", default=Reading.ASSUMED
    )


class AirSupply(Frozen):
    """The shop's compressor."""

    free_air: Annotated[Quantity, Measure(_D.FREE_AIR, "0 L/min", "20000 L/min")] = spec(
        "Compressor free air",
        "Free air delivery from the compressor's plate; 0 where there is none.",
        default="600 L/min",
    )
    reference: AirReference = spec(
        "Reference conditions", "Conditions that the free air figure is stated at.", default=AirReference.ANR
    )
    pressure: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "16 bar")] = spec(
        "Compressor pressure", "Gauge pressure at which the compressor stops (cut-out).", default="8 bar"
    )
    cut_in: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "16 bar")] | None = spec(
        "Cut-in pressure",
        "Gauge pressure at which the compressor starts again. Just before, the shop has no more than that, so it is "
        "what everything is proved at; if left out, four fifths of the compressor pressure are taken.",
        default=None,
    )
    supply_loss: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "5 bar")] = spec(
        "Loss before the board",
        "Pressure that dryer, filters and the shop's own main take on the way to the board.",
        default="0 bar",
    )
    receiver: Annotated[Quantity, Measure(_D.VOLUME, "0 L", "50000 L")] | None = spec(
        "Air receiver",
        "Volume of the receiver; 0 where there is none. A burst above what the compressor gives lives on it.",
        default=None,
    )
    dryer_purge: Percent = spec(
        "Dryer purge", "Share of the free air that the dryer blows off.", default=Decimal(0), unit="%"
    )
    leak_percent: Percent = spec(
        "Leak allowance",
        "Share of the free air lost in the shop's own air lines; a leak test below takes its place.",
        default=Decimal(10),
        unit="%",
    )
    leak_loaded: Annotated[Quantity, Measure(_D.TIME, "1 s", "24 h")] | None = spec(
        "Leak test, loaded",
        "With every tool shut: how long the compressor runs. With the time below it takes the place of the allowance.",
        default=None,
    )
    leak_unloaded: Annotated[Quantity, Measure(_D.TIME, "0 s", "24 h")] | None = spec(
        "Leak test, unloaded", "And how long it then stands.", default=None
    )


class Floor(Frozen):
    """The hall: a rectangle; plan north is up, x runs east, y runs north from the south-west corner."""

    width: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "500 m")] = spec(
        "Floor width", "From the west wall to the east wall.", default="20 m"
    )
    depth: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "500 m")] = spec(
        "Floor depth", "From the south wall to the north wall.", default="14 m"
    )
    run_height: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "20 m")] = spec(
        "Run height", "Height above the floor at which the tubes run.", default="3 m"
    )
    ceiling_height: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "30 m")] = spec(
        "Ceiling height", "Clear height of the hall.", default="4 m"
    )


class Board(Frozen):
    """Where the plant board hangs."""

    wall: Wall = spec("Board wall", "Wall that the plant board hangs on.", default=Wall.WEST)
    along: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "500 m")] = spec(
        "Board position", "From the wall's south (or west) end to the middle of the board.", default="7 m"
    )
    outlet_height: Annotated[Quantity, Measure(_D.LENGTH, "0.2 m", "10 m")] = spec(
        "Board outlet height", "Height above the floor at which the tubes leave the board.", default="1.6 m"
    )
    width: Annotated[Quantity, Measure(_D.LENGTH, "0.3 m", "10 m")] = spec(
        "Board width", "Width of the board; two strut rails of this length carry it.", default="2.4 m"
    )


class Use(Frozen):
    """How the shop works: decides how many guns run at once."""

    vehicles_per_hour: Annotated[float, Field(ge=0.0, le=200.0)] = spec(
        "Vehicles in the busy hour", "Vehicles finished in the busiest hour, all bays together.", default=3.0
    )
    hours_per_day: Annotated[float, Field(ge=0.0, le=24.0)] = spec(
        "Hours a day", "Working hours a day.", default=9.0, unit="h"
    )
    blow_off_per_vehicle: Annotated[Quantity, Measure(_D.TIME, "0 s", "4 h")] = spec(
        "Blow-off a vehicle", "Time that air guns run on one vehicle, all together.", default="90 s"
    )
    guns_open: Annotated[int, Field(ge=0, le=500)] | None = spec(
        "Guns open at once (a line)", "State it to override the computed number.", default=None
    )


class Site(Frozen):
    """The whole survey."""

    floor: Floor = spec("Floor", "The hall.", default=Floor())
    board: Board = spec("Plant board", "Where the plant hangs.", default=Board())
    water: WaterSupply = spec("Water", "Water at the tie-in.", default=WaterSupply())
    air: AirSupply = spec("Compressed air", "The shop's compressor.", default=AirSupply())
    use: Use = spec("Use", "How the shop works.", default=Use())
    altitude: Annotated[Quantity, Measure(_D.LENGTH, "-430 m", "5000 m")] = spec(
        "Altitude", "Height above sea level; thin air costs compressor capacity.", default="0 m"
    )
    country: Country | None = spec(
        "Country",
        "Country of the job, by its ISO 3166 code; outside the United States its rules are references only.",
        default=None,
    )
    drain: DrainTo = spec(
        "Floor drain", "Where what runs off the floor of the bays goes.", default=DrainTo.NOT_KNOWN
    )
    coldest: Annotated[Quantity, Measure(_D.TEMPERATURE, "-40 °C", "40 °C")] | None = spec(
        "Coldest in the hall",
        "The lowest temperature of the hall in winter, nights and holidays too.",
        default=None,
    )
    ventilated: Answer = spec(
        "Bays ventilated", "A fan changes the air of the bays while there is work.", default=Answer.NOT_KNOWN
    )
    programme: Answer = spec(
        "Written programme",
        "The shop has it in writing how labels, safety data sheets and training are kept, with a list of its "
        "hazardous products.",
        default=Answer.NOT_KNOWN,
    )
