"""A maker's own figures for a pump, a proportioner or a nozzle, entered by a person in place of demo data."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Final, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from estimator.model.finding import Amount, Fact, Number, facts, filled, plain
from estimator.model.spec import Frozen, Identifier, ShortText, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["MakerData", "OwnNozzle", "OwnProportioner", "OwnPump", "PumpPoint", "VacuumPoint"]

_D = Dimension
_Pressure = Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "25 bar")]
_Flow = Annotated[Quantity, Measure(_D.FLOW, "0 L/min", "1000 L/min")]
_Materials = ShortText
_MATERIALS: Final = (
    "What the product touches in it, by the maker's data, such as “PVDF, FKM”; it is not checked if left out."
)
_PriceCode = Annotated[str, Field(max_length=24, pattern=r"^([A-Z][A-Z0-9-]*)?$")]


def _wrong(kind: str, sentence: str, **known: Fact) -> PydanticCustomError:
    told = facts(**known)
    return PydanticCustomError(
        kind, "{reason}", {"reason": filled(sentence, told, plain), "sentence": sentence, "facts": told}
    )


def _called(own: OwnPump | OwnProportioner | OwnNozzle) -> str:
    """Its name; its key only where nobody gave it one."""
    return " ".join(own.name.split()) or own.key


class PumpPoint(Frozen):
    """One point of a maker's pump curve."""

    air: _Pressure = spec("Air pressure", "Gauge pressure of the air at the pump.")
    flow: _Flow = spec("Flow", "Liquid flow at that point.")
    discharge: _Pressure = spec("Discharge pressure", "Gauge pressure of the liquid at that point.")


class OwnPump(Frozen):
    """A pump by its maker's curve: the droop is fitted through the points."""

    key: Identifier = spec("Key", "Name that plant refers to; letters, digits and hyphens.")
    name: ShortText = spec("Pump", "Name as it is printed; no maker's brand is needed.", default="")
    code: _PriceCode = spec("Price code", "Code of the price book.", default="PMP-02")
    points: Annotated[tuple[PumpPoint, ...], Field(max_length=60)] = spec(
        "Points", "Two or more flows of the maker's curve.", default=()
    )
    max_flow: _Flow = spec("Largest flow", "Largest flow after the maker's data.", default="18 L/min")
    max_air: _Pressure = spec("Highest air pressure", "Limit after the maker's data.", default="7 bar")
    air_factor: Annotated[float, Field(ge=1.0, le=10.0)] = spec(
        "Air factor", "Air used over the ideal air of a 1:1 pump; at least 1.", default=1.3
    )
    materials: _Materials = spec("Materials", _MATERIALS, default="")

    @model_validator(mode="after")
    def _usable(self) -> Self:
        flows = {p.flow.si for p in self.points if p.flow.si > 0.0}
        if len(flows) < 2:
            raise _wrong(
                "points", "Pump “{who}”: give points at two or more flows above 0.", who=_called(self)
            )
        for number, point in enumerate(self.points, 1):
            if point.discharge.si > point.air.si:
                raise _wrong(
                    "points",
                    "Pump “{who}”, point {number}: the discharge pressure {discharge} is above the air pressure "
                    "{air}; it must not be, as a 1:1 pump gives no more than its air.",
                    who=_called(self),
                    number=Number(number),
                    discharge=Amount.of(point.discharge),
                    air=Amount.of(point.air),
                )
        if self.max_flow.si <= 0.0 or self.max_air.si <= 0.0:
            raise _wrong(
                "limits",
                "Pump “{who}”: largest flow and highest air pressure must be above 0.",
                who=_called(self),
            )
        return self


class VacuumPoint(Frozen):
    """Vacuum that a proportioner makes at one water pressure."""

    inlet: _Pressure = spec("Water pressure", "Gauge pressure at the inlet.")
    vacuum: Annotated[Quantity, Measure(_D.PRESSURE, "0 kPa", "100 kPa")] = spec(
        "Vacuum", "Below the atmosphere, at no concentrate flow."
    )


class OwnProportioner(Frozen):
    """A proportioner by its maker's figures."""

    key: Identifier = spec("Key", "Name that plant refers to; letters, digits and hyphens.")
    name: ShortText = spec("Proportioner", "Name as it is printed.", default="")
    code: _PriceCode = spec("Price code", "Code of the price book.", default="PRP-ST")
    flow: _Flow = spec("Flow", "Water through it at the pressure below.", default="11.6 L/min")
    at: _Pressure = spec("At pressure", "Inlet pressure of that flow.", default="3 bar")
    vacuum: Annotated[tuple[VacuumPoint, ...], Field(max_length=60)] = spec(
        "Vacuum curve", "Two or more points, water pressure rising.", default=()
    )
    gone_at: Annotated[float, Field(ge=0.01, le=100.0)] | None = spec(
        "Vacuum gone at",
        "Parts of concentrate drawn to one of water at which no vacuum is left; it falls evenly until then. If left "
        "out, what is drawn takes nothing of the vacuum.",
        default=None,
    )
    materials: _Materials = spec("Materials", _MATERIALS, default="")

    @model_validator(mode="after")
    def _usable(self) -> Self:
        if len(self.vacuum) < 2:
            raise _wrong(
                "points",
                "Proportioner “{who}”: give two or more points of the vacuum curve.",
                who=_called(self),
            )
        inlets = [p.inlet.si for p in self.vacuum]
        if any(b <= a for a, b in pairwise(inlets)):
            raise _wrong(
                "points",
                "Proportioner “{who}”: “Water pressure” must rise from point to point.",
                who=_called(self),
            )
        if self.flow.si <= 0.0 or self.at.si <= 0.0:
            raise _wrong(
                "limits", "Proportioner “{who}”: “Flow” and “At pressure” must be above 0.", who=_called(self)
            )
        return self


class OwnNozzle(Frozen):
    """A nozzle by its maker's figures: flow at a pressure and working window."""

    key: Identifier = spec("Key", "Name that drops refer to as nozzle size.")
    name: ShortText = spec("Nozzle", "Name as it is printed.", default="")
    flow: _Flow = spec("Flow", "Water flow at the pressure below.", default="1.2 L/min")
    at: _Pressure = spec("At pressure", "Pressure of that flow.", default="3 bar")
    window_low: _Pressure = spec("Window from", "Lowest working pressure.", default="1.5 bar")
    window_high: _Pressure = spec("Window to", "Highest working pressure.", default="5 bar")
    materials: _Materials = spec("Materials", _MATERIALS, default="")

    @model_validator(mode="after")
    def _usable(self) -> Self:
        if self.flow.si <= 0.0 or self.at.si <= 0.0:
            raise _wrong(
                "limits", "Nozzle “{who}”: “Flow” and “At pressure” must be above 0.", who=_called(self)
            )
        if self.window_low.si >= self.window_high.si:
            raise _wrong(
                "window",
                "Nozzle “{who}”: the window is upside down; “Window from” ({low}) must be below “Window to” ({high}).",
                who=_called(self),
                low=Amount.of(self.window_low),
                high=Amount.of(self.window_high),
            )
        return self


class MakerData(Frozen):
    """Figures entered by a person."""

    pumps: Annotated[tuple[OwnPump, ...], Field(max_length=40)] = spec(
        "Pumps", "Pumps by their maker's curve.", default=()
    )
    proportioners: Annotated[tuple[OwnProportioner, ...], Field(max_length=40)] = spec(
        "Proportioners", "Proportioners by their maker's figures.", default=()
    )
    nozzles: Annotated[tuple[OwnNozzle, ...], Field(max_length=60)] = spec(
        "Nozzles", "Nozzles by their maker's figures.", default=()
    )
