"""The parts catalogue: what each choice of a design is, physically, and which price book code it has.

Figures of equipment are generic demo data, marked as such in `resources/catalogue.json`.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from typing import Annotated, Self

from pydantic import AfterValidator, Field, model_validator

from estimator.model.choices import NozzleType
from estimator.model.spec import Frozen
from estimator.shipped import shipped

__all__ = [
    "TABLES",
    "Backflow",
    "Booster",
    "Catalogue",
    "CheckValve",
    "Gun",
    "Hose",
    "Nozzle",
    "NozzleMake",
    "NozzleSize",
    "Part",
    "PickUpPart",
    "Proportioner",
    "Pump",
    "Reducer",
    "Tank",
    "Tube",
    "catalogue",
]

Positive = Annotated[float, Field(gt=0)]


def _rising(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """A curve that can be read between its points: at least one, the first figure of each rising."""
    if not points:
        raise ValueError("the curve has no point")
    if not all(a[0] < b[0] for a, b in pairwise(points)):
        raise ValueError("the first figures of the points must rise")
    return points


def _one_way(points: tuple[tuple[float, float], ...], sign: float) -> tuple[tuple[float, float], ...]:
    """A curve of pressure by flow that may be left out: nothing, or two points or more of which none turns back."""
    if points:
        _rising(points)
        if len(points) < 2 or any(sign * (b[1] - a[1]) < 0.0 for a, b in pairwise(points)):
            raise ValueError("give two or more points, whose second figure goes one way")
    return points


def _never_falls(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return _one_way(points, 1.0)


def _never_grows(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    return _one_way(points, -1.0)


Wetted = dict[str, str]
"""What a liquid touches: the piece of a part ("body", "seal") and what it is made of, in words."""

Curve = Annotated[tuple[tuple[float, float], ...], AfterValidator(_rising)]


class Part(Frozen):
    """A choice: its key in a job, the words a person reads, its price book code ("" where nothing is bought).

    `wetted` tells what the liquid touches; empty where nobody stated it.
    """

    key: str
    name: str
    code: str
    note: str = ""
    wetted: Wetted = Field(default_factory=dict)

    @property
    def pieces(self) -> tuple[tuple[str, str], ...]:
        """What the liquid touches: piece and material, in words."""
        return tuple(self.wetted.items())

    def made_like(self, other: Part) -> bool:
        """Whether a liquid touches the same materials in it, so that one can take the place of the other."""
        return self.pieces == other.pieces


class Gun(Part):
    """A spray gun. `kv` is water flow in m3/h at 1 bar loss, `air_free_l_min` free air (ANR) while it is open, with
    `air_at_kpa` at its inlet; `rating_kpa` the most that it stands. `relieves`: it is declared to keep a blocked outlet
    below 30 psi (OSHA 29 CFR 1910.242(b)). A foam gun: `foam_back_kpa` in its chamber while the stated air alone goes
    out, and from `foam_low` to `foam_high` parts of free air to one of solution that it makes foam of."""

    grade: str
    body: str
    seal: str
    for_air: bool = False
    for_foam: bool = False
    kv: Positive
    air_free_l_min: Annotated[float, Field(ge=0)] = 0.0
    air_at_kpa: Positive = 600.0
    rating_kpa: Positive
    relieves: bool = False
    foam_back_kpa: Positive | None = None
    foam_low: Positive | None = None
    foam_high: Positive | None = None

    @property
    def pieces(self) -> tuple[tuple[str, str], ...]:
        """Body and seal first."""
        return (("body", self.body), ("seal", self.seal), *self.wetted.items())


class Nozzle(Part):
    """A nozzle type (its key is a `NozzleType`) with its working window."""

    type: NozzleType
    min_kpa: Annotated[float, Field(ge=0)]
    max_kpa: Annotated[float, Field(ge=0)]

    @model_validator(mode="after")
    def _window(self) -> Self:
        if self.min_kpa >= self.max_kpa:
            raise ValueError(f"{self.key}: min_kpa must be below max_kpa")
        return self


class NozzleMake(Part):
    """What a nozzle is made of. `codes`: its price codes by the key of the nozzle's type; the type's own where it has
    none."""

    codes: dict[str, str] = Field(default_factory=dict)


class NozzleSize(Frozen):
    """A flow size of ISO 10625: nominal flow at 300 kPa, and its colour in that standard.

    A maker's own nozzle brings its own window, which takes the place of its type's, and its own materials (`wetted`;
    None for those of its type).
    """

    key: str
    name: str
    colour: str
    l_min_at_300_kpa: Positive
    note: str = ""
    min_kpa: Annotated[float, Field(ge=0)] | None = None
    max_kpa: Annotated[float, Field(ge=0)] | None = None
    wetted: Wetted | None = None


class Hose(Part):
    """A hose bore with its pressure rating. The price code is per hose kind: `code` for coil, `straight_code` for
    straight, both per metre."""

    bore_mm: Positive
    coil_diameter_mm: Positive
    straight_code: str
    rating_kpa: Positive


class CheckValve(Frozen):
    """A check valve with a spring: water flow in m3/h at 1 bar loss when open, and the pressure that opens it."""

    kv: Positive
    cracking_kpa: Annotated[float, Field(ge=0)]


class Tube(Part):
    """A tube size: outside diameter and bore, pressure rating at 23 °C, derating by temperature as (°C, factor).

    `fitting_codes` and `fitting_wetted` by the kind of fitting, `fitting_rating_kpa` what the least of them stands,
    `check_valve` the one that fits the tube.
    """

    od_mm: Positive
    bore_mm: Positive
    rating_kpa: Positive
    fitting_rating_kpa: Positive
    derating: Curve
    check_valve: CheckValve
    fitting_codes: dict[str, str]
    fitting_wetted: dict[str, Wetted] = Field(default_factory=dict)

    def made_like(self, other: Part) -> bool:
        """The fittings too."""
        return (
            super().made_like(other)
            and isinstance(other, Tube)
            and self.fitting_wetted == other.fitting_wetted
        )


class PickUpPart(Frozen):
    """What draws the concentrate in, such as a foot valve: its price book code and what it is made of."""

    code: str
    wetted: Wetted = Field(default_factory=dict)


class Proportioner(Part):
    """A water-driven proportioner: flow made at a reference pressure, vacuum by inlet pressure (kPa, kPa).

    `gone_at_ratio`: parts of concentrate drawn to one of water at which the vacuum is gone; None where nobody knows.

    `pick_up` holds those of foot valve, suction tube and tips that are others than the common ones, by their name in
    `Catalogue.codes`.
    """

    flow_l_min: Positive
    at_kpa: Positive
    vacuum_kpa: Curve
    gone_at_ratio: Positive | None = None
    pick_up: dict[str, PickUpPart] = Field(default_factory=dict)


class Tank(Part):
    """A covered day tank."""

    volume_l: Positive


class Pump(Part):
    """An air-operated diaphragm pump 1:1: droop of discharge pressure, kPa = a q + b q2 with q in L/min."""

    max_l_min: Positive
    max_kpa: Positive
    droop_linear: Annotated[float, Field(ge=0)]
    droop_quadratic: Annotated[float, Field(ge=0)]
    air_factor: Annotated[float, Field(ge=1)]


class Backflow(Part):
    """Backflow protection.

    `at_board`: it is a part of the board, and none that is built into the building's water line. `gap`: it is an air
    gap. `tested_yearly`: it is an assembly that is tested every year. `loss_kpa`: pressure that the water loses in it
    (L/min, kPa); empty for an air gap, behind which there is no pressure.
    """

    at_board: bool = False
    gap: bool = False
    tested_yearly: bool = False
    loss_kpa: Annotated[tuple[tuple[float, float], ...], AfterValidator(_never_falls)] = ()


class Booster(Part):
    """A booster pump for the board's water: rise of pressure by flow (L/min, kPa); no points for none."""

    rise_kpa: Annotated[tuple[tuple[float, float], ...], AfterValidator(_never_grows)] = ()


class Reducer(Part):
    """A pressure-reducing valve: `kv` of the open valve in m3/h at 1 bar, how far the pressure behind it falls off
    with the flow, and the settings it takes; no kv for none."""

    kv: Positive | None = None
    fall_off_kpa_per_l_min: Annotated[float, Field(ge=0)] = 0.0
    min_kpa: Annotated[float, Field(ge=0)] = 0.0
    max_kpa: Annotated[float, Field(ge=0)] = 0.0


class Catalogue(Frozen):
    """All choices. `codes` names the price codes of parts that no choice decides (clips, strut, ...), `wetted` what the
    concentrate touches in those that it flows through."""

    note: str = ""
    guns: tuple[Gun, ...]
    nozzles: tuple[Nozzle, ...]
    nozzle_sizes: tuple[NozzleSize, ...]
    nozzle_makes: tuple[NozzleMake, ...] = ()
    hoses: tuple[Hose, ...]
    tubes: tuple[Tube, ...]
    proportioners: tuple[Proportioner, ...]
    tanks: tuple[Tank, ...]
    pumps: tuple[Pump, ...]
    backflow: tuple[Backflow, ...]
    boosters: tuple[Booster, ...] = ()
    reducers: tuple[Reducer, ...] = ()
    codes: dict[str, str]
    wetted: dict[str, Wetted] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _keys_differ(self) -> Self:
        for table in TABLES:
            keys = [part.key for part in getattr(self, table)]
            if len(set(keys)) != len(keys):
                raise ValueError(f"{table}: keys must differ")
        return self

    @model_validator(mode="after")
    def _wider_loses_no_more(self) -> Self:
        # What the search for the cheapest sizes takes for granted.
        for thin, wide in pairwise(sorted(self.tubes, key=lambda tube: tube.bore_mm)):
            less = wide.check_valve.kv < thin.check_valve.kv and wide.bore_mm > thin.bore_mm
            if less or wide.check_valve.cracking_kpa > thin.check_valve.cracking_kpa:
                raise ValueError(f"{wide.key}: its check_valve must not lose more than that of {thin.key}")
        return self

    def choices(self, table: str) -> tuple[tuple[str, str], ...]:
        """(key, name) pairs of a table, for a form.

        Raises:
            LookupError: there is no such table.
        """
        if table not in TABLES:
            raise LookupError(f"no catalogue table {table}")
        return tuple((part.key, part.name) for part in getattr(self, table))


TABLES = tuple(name for name in Catalogue.model_fields if name not in ("note", "codes", "wetted"))
"""Names of the tables, as fields of a job refer to them."""


@lru_cache(maxsize=1)
def catalogue() -> Catalogue:
    """The shipped catalogue, checked on first use."""
    text = shipped("catalogue.json").read_text(encoding="utf-8")
    return Catalogue.model_validate_json(text)
