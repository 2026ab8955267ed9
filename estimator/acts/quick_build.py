"""From blank to a whole design with at most ten inputs.

Names, dilutions and prices of the products it fills in are invented demo data.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from itertools import cycle
from typing import Annotated, Final

from pydantic import Field

from estimator.model.choices import (
    Answer,
    Chemistry,
    LineColour,
    NozzleType,
    Pictogram,
    SideName,
    SignalWord,
    Wall,
)
from estimator.model.design import AIR, Bay, CommonPlant, Design, Drop, LinePlan, PlantUnit, Product
from estimator.model.finding import Amount, Fact, FieldEnd, Finding, Severity, facts
from estimator.model.job import Job
from estimator.model.sheet import SafetySheet
from estimator.model.site import Site
from estimator.model.spec import Frozen, spec
from estimator.reference.catalogue import catalogue
from estimator.safety.wetted import first_that_stands
from estimator.units import Dimension, Measure, Quantity, parse

__all__ = ["GunGrade", "LiquidNozzle", "QuickBuild", "QuickBuildError", "act_name", "built", "quick_design"]

_D = Dimension


class GunGrade(StrEnum):
    """Body of the liquid guns; the value is the gun's key in the catalogue."""

    PLASTIC = "gun-plastic"
    METAL = "gun-metal"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return "Plastic body" if self is GunGrade.PLASTIC else "Metal body"


class LiquidNozzle(StrEnum):
    """Spray shapes of the liquid guns; the value is that of the `NozzleType`."""

    FAN = "fan"
    FULL_CONE = "full-cone"
    STREAM = "stream"
    FOAM_TIP = "foaming-tip"

    @property
    def label(self) -> str:
        """The words a person reads."""
        return NozzleType(self.value).label


class QuickBuild(Frozen):
    """The ten inputs of a quick build."""

    bays: Annotated[int, Field(ge=1, le=60)] = spec(
        "Bays", "Detail bays, side by side along the floor's width.", default=2
    )
    sides: Annotated[int, Field(ge=1, le=2)] = spec(
        "Sides a bay", "Long sides with hose drops; one side is the left one.", default=2
    )
    products: Annotated[int, Field(ge=1, le=8)] = spec(
        "Products", "Liquids on tap; example products are filled in.", default=5
    )
    drops_per_side: Annotated[int, Field(ge=1, le=8)] = spec(
        "Drops a side",
        "Liquid drops on each equipped bay side, at most one a product; compressed air comes on top.",
        default=3,
    )
    air: bool = spec("Compressed air", "An air drop on each equipped bay side.", default=True)
    gun: GunGrade = spec("Gun grade", "Body of the liquid guns.", default=GunGrade.PLASTIC)
    nozzle: LiquidNozzle = spec(
        "Nozzle type", "Shape of the spray of the liquid guns.", default=LiquidNozzle.FAN
    )
    floor_width: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "500 m")] = spec(
        "Floor width", "From the west wall to the east wall.", default="20 m"
    )
    floor_depth: Annotated[Quantity, Measure(_D.LENGTH, "2 m", "500 m")] = spec(
        "Floor depth", "From the south wall to the north wall.", default="14 m"
    )
    board_wall: Wall = spec(
        "Board wall", "Wall that the plant board hangs on, in its middle.", default=Wall.WEST
    )


class QuickBuildError(ValueError):
    """The inputs do not fit together; `findings` name the field and what would fit."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__("; ".join(f.message for f in findings))
        self.findings = findings


@dataclass(frozen=True, slots=True)
class _Example:
    product: Product
    tank: str
    nozzle_size: str


def _example(
    name: tuple[str, str],
    sheet: SafetySheet,
    dilution: tuple[float, float, float],
    use: str,
    concentrate: tuple[str, float],
    container: tuple[str, str],
    tank: str,
    nozzle_size: str,
) -> _Example:
    product = Product(
        id=name[0],
        name=name[1],
        sheet=sheet,
        dilution=dilution[0],
        label_strongest=dilution[1],
        label_weakest=dilution[2],
        use_per_vehicle=parse(use, _D.VOLUME),
        concentrate_viscosity=parse(concentrate[0], _D.VISCOSITY),
        concentrate_specific_gravity=concentrate[1],
        container=parse(container[0], _D.VOLUME),
        container_price=Decimal(container[1]),
    )
    return _Example(product, tank, nozzle_size)


_C, _P, _NO, _YES = Chemistry, Pictogram, Answer.NO, Answer.YES


def _sheet(
    *classes: Chemistry,
    ph: float | None,
    statements: tuple[str, ...] = (),
    pictograms: tuple[Pictogram, ...] = (),
    word: SignalWord = SignalWord.NONE,
    flash_point: str = "",
    amine: Answer = _NO,
) -> SafetySheet:
    """An invented sheet. It has no date: that of the very product is to be asked for."""
    return SafetySheet(
        classes=classes,
        ph=ph,
        flash_point=parse(flash_point, _D.TEMPERATURE) if flash_point else None,
        oxidiser=_NO,
        reducer=_NO,
        amine=amine,
        pictograms=pictograms,
        signal_word=word,
        statements=statements,
    )


_WARNING, _DANGER = SignalWord.WARNING, SignalWord.DANGER

# Invented demo data.
_EXAMPLES: Final = (
    _example(
        ("prewash", "Alkaline foam pre-wash"),
        _sheet(
            _C.STRONG_ALKALI, ph=13.0, statements=("H290", "H314"), pictograms=(_P.CORROSION,), word=_DANGER
        ),
        (40.0, 20.0, 60.0),
        "12 L",
        ("20 mPa·s", 1.12),
        ("25 L", "96.00"),
        "tank-60",
        "04",
    ),
    _example(
        ("remover", "Insect and tar remover"),
        _sheet(
            _C.PETROLEUM_SOLVENT,
            ph=None,
            statements=("H226", "H304", "H336"),
            pictograms=(_P.FLAME, _P.EXCLAMATION_MARK, _P.HEALTH_HAZARD),
            word=_DANGER,
            flash_point="42 °C",
        ),
        (8.0, 4.0, 12.0),
        "1.5 L",
        ("5 mPa·s", 0.9),
        ("20 L", "148.00"),
        "tank-30",
        "02",
    ),
    _example(
        ("degreaser", "Citrus degreaser"),
        _sheet(
            _C.TERPENE,
            ph=8.0,
            statements=("H226", "H315", "H317"),
            pictograms=(_P.FLAME, _P.EXCLAMATION_MARK),
            word=_WARNING,
            flash_point="54 °C",
        ),
        (15.0, 10.0, 30.0),
        "3 L",
        ("8 mPa·s", 0.98),
        ("20 L", "118.00"),
        "tank-30",
        "02",
    ),
    _example(
        ("glass", "Glass and mirror cleaner"),
        _sheet(
            _C.ALCOHOL,
            ph=9.0,
            statements=("H226", "H319"),
            pictograms=(_P.FLAME, _P.EXCLAMATION_MARK),
            word=_WARNING,
            flash_point="38 °C",
        ),
        (6.0, 4.0, 10.0),
        "0.8 L",
        ("3 mPa·s", 0.95),
        ("20 L", "74.00"),
        "tank-30",
        "01",
    ),
    _example(
        ("sanitiser", "Interior sanitiser (quaternary)"),
        _sheet(_C.QUATERNARY, ph=7.5, statements=("H314", "H302"), pictograms=(_P.CORROSION,), word=_DANGER),
        (64.0, 50.0, 70.0),
        "1 L",
        ("10 mPa·s", 1.0),
        ("20 L", "132.00"),
        "tank-30",
        "015",
    ),
    _example(
        ("shampoo", "Hand-wash shampoo"),
        _sheet(
            _C.NEUTRAL_DETERGENT,
            ph=7.0,
            statements=("H319",),
            pictograms=(_P.EXCLAMATION_MARK,),
            word=_WARNING,
            amine=_YES,
        ),
        (100.0, 60.0, 200.0),
        "4 L",
        ("200 mPa·s", 1.03),
        ("20 L", "62.00"),
        "tank-30",
        "03",
    ),
    _example(
        ("upholstery", "Upholstery cleaner"),
        _sheet(
            _C.MILD_ALKALI,
            ph=10.0,
            statements=("H319",),
            pictograms=(_P.EXCLAMATION_MARK,),
            word=_WARNING,
        ),
        (20.0, 10.0, 40.0),
        "1 L",
        ("5 mPa·s", 1.04),
        ("20 L", "84.00"),
        "tank-30",
        "015",
    ),
    _example(
        ("dressing", "Tyre and trim dressing"),
        _sheet(_C.SILICONE_EMULSION, ph=7.0),
        (3.0, 1.0, 5.0),
        "0.5 L",
        ("50 mPa·s", 0.99),
        ("20 L", "139.00"),
        "tank-30",
        "01",
    ),
)
_FOAM: Final = "prewash"

# Micrometres, so that the places come out as round figures.
_M: Final = 1_000_000
_BAY_WIDTH: Final = 5 * _M
_LEAST_WIDTH: Final = 3 * _M
_LEAST_GAP: Final = _M // 2
_BAY_LENGTH: Final = 12 * _M
_LEAST_LENGTH: Final = 4 * _M
_END_GAP: Final = _M
_STEP: Final = 10_000


def _unit(example: _Example) -> PlantUnit:
    """The plant of a product, with a proportioner that its concentrate does not attack."""
    made = first_that_stands(example.product, catalogue().proportioners)
    return PlantUnit(product=example.product.id, proportioner=made.key, tank=example.tank)


def _text(length: int) -> str:
    return f"{length / _M:.6f}".rstrip("0").rstrip(".") + " m"


def _long(length: int) -> Amount:
    return Amount(length / _M, _D.LENGTH)


def _at_least(length: int) -> FieldEnd:
    """What would fit: rounded up where it is converted."""
    return FieldEnd(parse(_text(length), _D.LENGTH), lowest=True)


def _wrong(field: str, sentence: str, **known: Fact) -> QuickBuildError:
    """Words are made last, in the units of the job."""
    place = f"quick_build.{field}"
    return QuickBuildError(Finding(Severity.ERROR, place, "does-not-fit", sentence, facts=facts(**known)))


def _width(inputs: QuickBuild) -> int:
    """Width of each bay: 5 m, or what the floor leaves with gaps of half a metre, never below 3 m."""
    floor = round(inputs.floor_width.si * _M)
    room = (floor - (inputs.bays + 1) * _LEAST_GAP) // inputs.bays
    if room < _LEAST_WIDTH:
        most = (floor - _LEAST_GAP) // (_LEAST_WIDTH + _LEAST_GAP)
        needed = inputs.bays * _LEAST_WIDTH + (inputs.bays + 1) * _LEAST_GAP
        fits = {0: "not one bay fits there", 1: "one bay fits there"}.get(
            most, f"at most {most} bays fit there"
        )
        raise _wrong(
            "bays" if most else "floor_width",
            "{label}: {bays} of at least {least} with {gap} around them do not fit on a floor {floor} wide; {fits}, or "
            "make the floor at least {needed} wide.",
            label="Bays" if most else "Floor width",
            bays=str(inputs.bays),
            least=_long(_LEAST_WIDTH),
            gap=_long(_LEAST_GAP),
            floor=Amount.of(inputs.floor_width),
            fits=fits,
            needed=_at_least(needed),
        )
    return min(_BAY_WIDTH, room // _STEP * _STEP)


def _length(inputs: QuickBuild) -> int:
    """Length of each bay: 12 m, or what the floor leaves with a metre at each end, never below 4 m."""
    room = round(inputs.floor_depth.si * _M) - 2 * _END_GAP
    if room < _LEAST_LENGTH:
        raise _wrong(
            "floor_depth",
            "Floor depth: {floor} leaves no room for a bay of at least {least} with {gap} at each end; {needed} or "
            "more would fit.",
            floor=Amount.of(inputs.floor_depth),
            least=_long(_LEAST_LENGTH),
            gap=_long(_END_GAP),
            needed=_at_least(_LEAST_LENGTH + 2 * _END_GAP),
        )
    return min(_BAY_LENGTH, room // _STEP * _STEP)


def quick_design(inputs: QuickBuild, site: Site) -> tuple[Site, Design]:
    """A whole design from the inputs of a quick build.

    Bays stand side by side with even gaps, in the middle of the depth. Products go round: each bay side takes
    the next ones. The pre-wash has an air-assisted foam gun where there is compressed air, else a foaming tip.

    Args:
        inputs: the ten inputs.
        site: the survey so far; its floor and board take the inputs, the rest stays.

    Returns:
        The survey with the floor and the board, and the design.

    Raises:
        QuickBuildError: the bays do not fit on the floor, or there are more drops a side than products.
    """
    if inputs.drops_per_side > inputs.products:
        raise _wrong(
            "drops_per_side",
            f"Drops a side: {inputs.drops_per_side} are more than the products ({inputs.products}); "
            f"at most {inputs.products} fit, one a product, and compressed air comes on top.",
        )
    width, length = _width(inputs), _length(inputs)
    floor_width, floor_depth = (round(q.si * _M) for q in (inputs.floor_width, inputs.floor_depth))
    wall = floor_width if inputs.board_wall in (Wall.NORTH, Wall.SOUTH) else floor_depth
    floor = site.floor.model_copy(update={"width": inputs.floor_width, "depth": inputs.floor_depth})
    board = site.board.model_copy(update={"wall": inputs.board_wall, "along": _metres(wall // 2)})

    gap = (floor_width - inputs.bays * width) // (inputs.bays + 1)
    bays = tuple(
        Bay(
            id=f"bay-{i + 1}",
            name=f"Bay {i + 1}",
            x=_metres(gap + i * (width + gap)),
            y=_metres((floor_depth - length) // 2),
            width=_metres(width),
            length=_metres(length),
        )
        for i in range(inputs.bays)
    )
    examples = _EXAMPLES[: inputs.products]
    products = tuple(
        example.product.model_copy(update={"colour": colour})
        for example, colour in zip(examples, cycle(LineColour), strict=False)
    )
    sizes = {example.product.id: example.nozzle_size for example in examples}
    drops: list[Drop] = []
    turn = 0
    for number, bay in enumerate(bays, start=1):
        for side in (SideName.LEFT, SideName.RIGHT)[: inputs.sides]:
            services = [products[(turn + i) % len(products)].id for i in range(inputs.drops_per_side)]
            turn += inputs.drops_per_side
            rank = {product.id: i for i, product in enumerate(products)}
            services.sort(key=lambda service: rank[service])
            if inputs.air:
                services.append(AIR)
            drops.extend(
                _drop(f"{number}-{side.value[0]}-{service}", bay.id, side, service, inputs, sizes)
                for service in services
            )
    design = Design(
        products=products,
        bays=bays,
        drops=tuple(drops),
        plant=tuple(_unit(example) for example in examples),
        common=CommonPlant(eyewash=any("H314" in p.sheet.statements for p in products)),
        # Every gun of the shop may blow through the first metres of this line: it starts with the widest tube.
        lines=(LinePlan(service=AIR, tube="tube-12"),) if inputs.air else (),
    )
    return site.model_copy(update={"floor": floor, "board": board}), design


def built(job: Job, inputs: QuickBuild) -> Job:
    """The job with a whole new design in the place of its base design; terms and customer stay.

    Raises:
        QuickBuildError: see `quick_design`.
    """
    site, design = quick_design(inputs, job.site)
    fields = {name: getattr(job, name) for name in Job.model_fields}
    return Job(**{**fields, "site": site, "design": design})


def act_name(job: Job) -> str:
    """What undo calls the building of a job's design."""
    return f"Quick build: {len(job.design.bays)} bays, {len(job.design.drops)} drops"


def _metres(length: int) -> Quantity:
    return parse(_text(length), _D.LENGTH)


def _drop(
    name: str, bay: str, side: SideName, service: str, inputs: QuickBuild, sizes: Mapping[str, str]
) -> Drop:
    if service == AIR:
        return Drop(id=name, bay=bay, side=side, service=AIR, gun="gun-air", nozzle=NozzleType.NONE)
    gun, nozzle = inputs.gun.value, NozzleType(inputs.nozzle.value)
    if service == _FOAM:
        # Without compressed air there is nothing for a foam gun to foam with.
        gun, nozzle = ("gun-foam", NozzleType.FOAM_GUN) if inputs.air else (gun, NozzleType.FOAM_TIP)
    return Drop(
        id=name, bay=bay, side=side, service=service, gun=gun, nozzle=nozzle, nozzle_size=sizes[service]
    )
