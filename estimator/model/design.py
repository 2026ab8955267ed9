"""The design: products, bays, drops, plant and lines. One option of a job is one whole design."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field

from estimator.model.choices import BayDirection, HoseKind, LineColour, Mount, NozzleType, Provided, SideName
from estimator.model.makers import MakerData
from estimator.model.sheet import SafetySheet
from estimator.model.spec import Amount, Frozen, Identifier, ShortText, spec
from estimator.model.washing import Washing
from estimator.units import Dimension, Measure, Quantity

__all__ = [
    "AIR",
    "BOARD_WATER",
    "MOST_BAYS",
    "MOST_DROPS",
    "MOST_PRODUCTS",
    "Bay",
    "BaySide",
    "CommonPlant",
    "Design",
    "Drop",
    "LinePlan",
    "MeasuredLength",
    "PlantUnit",
    "Product",
    "SegmentTube",
]

_D = Dimension

AIR = "air"
"""The service id of compressed air; no product may have it."""

BOARD_WATER = "board water"
"""What all products share, in the place of a line's id; no id has a space."""

MOST_PRODUCTS: Final = 400
MOST_BAYS: Final = 100
MOST_DROPS: Final = 1600
_MOST_SEGMENTS: Final = 2 * MOST_DROPS  # of one line: a piece to each drop and one between two tees


class Product(Frozen):
    """A liquid on tap."""

    id: Identifier = spec("Id", "Short name used by drops and lines; letters, digits and hyphens.")
    name: ShortText = spec("Product", "Name as it is printed.", default="")
    sheet: SafetySheet = spec("Safety data sheet", "What it says of the concentrate.", default=SafetySheet())
    dilution: Annotated[float, Field(ge=0.0, le=2000.0)] = spec(
        "Dilution",
        "Parts of water to one part of concentrate; 0 for a product used undiluted.",
        default=20.0,
        unit=":1",
    )
    label_strongest: Annotated[float, Field(ge=0.0, le=2000.0)] | None = spec(
        "Label range, strongest",
        "The strongest dilution that the product's own label allows, in parts of water.",
        default=None,
        unit=":1",
    )
    label_weakest: Annotated[float, Field(ge=0.0, le=2000.0)] | None = spec(
        "Label range, weakest",
        "The weakest dilution that the product's own label allows, in parts of water.",
        default=None,
        unit=":1",
    )
    use_per_vehicle: Annotated[Quantity, Measure(_D.VOLUME, "0 mL", "200 L")] = spec(
        "Use per vehicle", "Ready-to-use solution sprayed on one vehicle.", default="2 L"
    )
    specific_gravity: Annotated[float, Field(ge=0.5, le=2.0)] = spec(
        "Specific gravity", "Of the ready-to-use solution, water is 1.", default=1.0
    )
    viscosity: Annotated[Quantity, Measure(_D.VISCOSITY, "0.2 mPa·s", "20000 mPa·s")] | None = spec(
        "Solution viscosity",
        "Of the ready-to-use solution; water's at its temperature if left out.",
        default=None,
    )
    concentrate_viscosity: Annotated[Quantity, Measure(_D.VISCOSITY, "0.2 mPa·s", "20000 mPa·s")] = spec(
        "Concentrate viscosity", "From the safety or technical data sheet.", default="5 mPa·s"
    )
    viscosity_at: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "60 °C")] = spec(
        "Concentrate viscosity at",
        "Temperature of that viscosity; it counts where a second one is given.",
        default="20 °C",
    )
    cold_viscosity: Annotated[Quantity, Measure(_D.VISCOSITY, "0.2 mPa·s", "20000 mPa·s")] | None = spec(
        "Second viscosity",
        "Of the concentrate at another temperature, such as in the cold; with it the viscosity follows the "
        "temperature of the water, without it the one above stands at every temperature.",
        default=None,
    )
    cold_at: Annotated[Quantity, Measure(_D.TEMPERATURE, "0 °C", "60 °C")] = spec(
        "Second viscosity at", "Temperature of the second viscosity.", default="5 °C"
    )
    tolerance: Annotated[float, Field(ge=1.0, le=100.0)] | None = spec(
        "Dilution tolerance",
        "How far a mixture may be off the wanted one where the label gives no range; by the product's class if left "
        "out.",
        default=None,
        unit="%",
    )
    concentrate_specific_gravity: Annotated[float, Field(ge=0.5, le=2.5)] = spec(
        "Concentrate specific gravity", "Water is 1.", default=1.05
    )
    container: Annotated[Quantity, Measure(_D.VOLUME, "0.1 L", "1200 L")] = spec(
        "Container", "Size that the concentrate is bought in.", default="20 L"
    )
    containers: Annotated[int, Field(ge=1, le=200)] = spec(
        "Containers kept",
        "Full ones at the board together with the one in use; they size the tray.",
        default=1,
    )
    container_price: Amount | None = spec(
        "Container price", "What one container costs the shop, in the job's currency.", default=None
    )
    colour: LineColour = spec(
        "Line colour",
        "Of its tube, on plan and paper; lines of one colour share coils.",
        default=LineColour.BLUE,
    )


class BaySide(Frozen):
    """One long side of a bay, with the station its drops hang on."""

    mount: Mount = spec("Mounting", "A bracket does what a panel does, for less.", default=Mount.BRACKET)
    station: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "200 m")] | None = spec(
        "Station position",
        "From the bay's south (or west) end to the middle of the station; the middle if left out.",
        default=None,
    )
    mount_existing: bool = spec(
        "Mounting stays", "The mounting hangs there already and is not priced.", default=False
    )


class Bay(Frozen):
    """A detail bay: a rectangle on the floor."""

    id: Identifier = spec("Id", "Short name; letters, digits and hyphens.")
    name: ShortText = spec("Bay", "Name as it is printed.", default="")
    x: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "500 m")] = spec(
        "From the west wall", "West edge of the bay.", default="1 m"
    )
    y: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "500 m")] = spec(
        "From the south wall", "South edge of the bay.", default="1 m"
    )
    width: Annotated[Quantity, Measure(_D.LENGTH, "1 m", "50 m")] = spec(
        "Bay width", "Across the vehicle.", default="5 m"
    )
    length: Annotated[Quantity, Measure(_D.LENGTH, "1 m", "200 m")] = spec(
        "Bay length", "Along the vehicle.", default="10 m"
    )
    direction: BayDirection = spec(
        "Direction", "Which way the long side runs.", default=BayDirection.NORTH_SOUTH
    )
    left: BaySide = spec("Left side", "Left, seen from the south (or west) end.", default=BaySide())
    right: BaySide = spec("Right side", "Right, seen from the south (or west) end.", default=BaySide())

    def side(self, name: SideName) -> BaySide:
        """The side of that name."""
        return self.left if name is SideName.LEFT else self.right


class Drop(Frozen):
    """One hose drop: a service at a bay side with its hose, gun and nozzle."""

    id: Identifier = spec("Id", "Short name; letters, digits and hyphens.")
    bay: Identifier = spec("Bay", "Bay that the drop serves.", refers_to="bays")
    side: SideName = spec("Side", "Side of the bay.", default=SideName.LEFT)
    service: Identifier = spec("Service", "A product, or compressed air.", refers_to="services")
    hose: HoseKind = spec("Hose", "Coil or straight.", default=HoseKind.COIL)
    hose_bore: Identifier = spec("Hose size", "Bore of the hose.", default="hose-6", catalogue="hoses")
    hose_length: Annotated[Quantity, Measure(_D.LENGTH, "0.5 m", "60 m")] = spec(
        "Hose length", "Working length of the hose.", default="6 m"
    )
    gun: Identifier = spec("Gun", "Gun grade.", default="gun-plastic", catalogue="guns")
    nozzle: NozzleType = spec("Nozzle type", "Shape of the spray.", default=NozzleType.FAN)
    nozzle_size: Annotated[str, Field(max_length=40)] = spec(
        "Nozzle size", "Flow size after ISO 10625.", default="03", catalogue="nozzle_sizes"
    )
    nozzle_make: Identifier = spec(
        "Nozzle make",
        "What body, insert and gasket of the nozzle are made of; a maker's own nozzle has the materials stated of it.",
        default="make-plastic",
        catalogue="nozzle_makes",
    )
    fan_angle: Annotated[Quantity, Measure(_D.ANGLE, "0 °", "120 °")] = spec(
        "Fan angle", "Spray angle at the nozzle's rated pressure.", default="40 °"
    )
    spray_distance: Annotated[Quantity, Measure(_D.LENGTH, "0.02 m", "3 m")] = spec(
        "Spray distance", "From the nozzle to the vehicle.", default="300 mm"
    )
    wanted_flow: Annotated[Quantity, Measure(_D.FLOW, "0.01 L/min", "60 L/min")] | None = spec(
        "Wanted flow",
        "Flow the user wants from the gun; anything inside the nozzle's window if left out.",
        default=None,
    )
    end_height: Annotated[Quantity, Measure(_D.LENGTH, "0.3 m", "10 m")] = spec(
        "Hang height", "Height above the floor at which the hose leaves the tube.", default="2.1 m"
    )
    existing: bool = spec("Stays", "Hangs there already: counted in the design, not priced.", default=False)


class PlantUnit(Frozen):
    """The plant of one product on the board."""

    product: Identifier = spec("Product", "Product that this plant makes.", refers_to="products")
    proportioner: Identifier = spec(
        "Proportioner", "Type of proportioner.", default="prop-standard", catalogue="proportioners"
    )
    tip_drill: Annotated[int, Field(ge=30, le=80)] | None = spec(
        "Metering tip drill",
        "Number drill of the metering tip (80 is the smallest); proposed if left out.",
        default=None,
    )
    tank: Identifier = spec("Day tank", "Covered day tank.", default="tank-60", catalogue="tanks")
    tank_cover: bool = spec("Tank cover", "A day tank has a cover.", default=True)
    pump: Identifier = spec("Pump", "Air-operated diaphragm pump.", default="pump-quarter", catalogue="pumps")
    regulator: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "10 bar")] = spec(
        "Regulator setting", "Air pressure set at the pump's regulator.", default="4 bar"
    )
    lift: Annotated[Quantity, Measure(_D.LENGTH, "-2 m", "8 m")] = spec(
        "Suction lift",
        "From the concentrate's surface, when the container is nearly empty, up to the proportioner; below 0 where the "
        "container stands higher.",
        default="1 m",
    )
    existing: bool = spec("Stays", "Hangs there already: counted in the design, not priced.", default=False)


class CommonPlant(Frozen):
    """What the board needs once, whatever the number of products."""

    backflow: Identifier = spec(
        "Backflow protection",
        "The local code decides what is accepted.",
        default="backflow-air-gap",
        catalogue="backflow",
    )
    booster: Identifier = spec(
        "Booster pump",
        "Lifts the water pressure of the board; behind the break tank of an air gap there is none without it.",
        default="booster-small",
        catalogue="boosters",
    )
    reducer: Identifier = spec(
        "Pressure-reducing valve",
        "Holds the board's water pressure down to its setting.",
        default="no-reducer",
        catalogue="reducers",
    )
    reducer_setting: Annotated[Quantity, Measure(_D.PRESSURE, "0.5 bar", "16 bar")] = spec(
        "Valve setting", "Gauge pressure behind the reducing valve with nothing drawn.", default="3 bar"
    )
    feed_bore: Annotated[Quantity, Measure(_D.SMALL_LENGTH, "4 mm", "100 mm")] | None = spec(
        "Feed hose bore",
        "Inside diameter of hose and manifold between backflow protection and proportioners; their loss is not "
        "counted if left out.",
        default=None,
    )
    feed_length: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "200 m")] | None = spec(
        "Feed hose length", "Length of that hose and manifold.", default=None
    )
    containment: bool = spec("Containment tray", "A tray under the concentrates.", default=True)
    tray_volume: Annotated[Quantity, Measure(_D.VOLUME, "0 L", "20000 L")] | None = spec(
        "Tray holds", "What the containment tray holds, from its plate or its data sheet.", default=None
    )
    eyewash: bool = spec(
        "Eyewash station", "Quote an eyewash; needed where corrosives may reach a person.", default=False
    )
    existing: bool = spec(
        "Board stays", "Board rails, manifolds and backflow protection hang there already.", default=False
    )
    spout_bore: Annotated[Quantity, Measure(_D.SMALL_LENGTH, "1 mm", "200 mm")] | None = spec(
        "Supply opening",
        "Inside diameter of the water outlet above the break tank of an air gap.",
        default=None,
    )
    air_gap: Annotated[Quantity, Measure(_D.SMALL_LENGTH, "0 mm", "1000 mm")] | None = spec(
        "Air gap", "Free height from that outlet down to the rim of the break tank.", default=None
    )
    yearly_test: ShortText = spec(
        "Yearly test by", "Who tests a backflow prevention assembly every year.", default=""
    )
    mouth_height: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "10 m")] | None = spec(
        "Highest open mouth",
        "Height above the floor of the highest mouth that is filled by hand.",
        default=None,
    )
    tank_level: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "10 m")] | None = spec(
        "Full day tanks",
        "Height above the floor of the liquid in the highest day tank when it is full.",
        default=None,
    )
    water_lockout: Provided = spec(
        "Lockable water valve", "Shuts off the board's water and is locked shut.", default=Provided.NOT_STATED
    )
    air_lockout: Provided = spec(
        "Lockable air valve",
        "Shuts off the board's air, lets the pressure out and is locked shut.",
        default=Provided.NOT_STATED,
    )
    wash: Washing = spec(
        "Eyewash and shower", "Where the eyewash hangs and what feeds it.", default=Washing()
    )


class SegmentTube(Frozen):
    """A tube size chosen for one segment of a line."""

    segment: ShortText = spec("Segment", "Segment of the line.")
    tube: Identifier = spec("Tube", "Tube size.", catalogue="tubes")


class MeasuredLength(Frozen):
    """A length measured on site; it wins over the computed one."""

    segment: ShortText = spec("Segment", "Segment of the line.")
    length: Annotated[Quantity, Measure(_D.LENGTH, "0 m", "3000 m")] = spec(
        "Measured length", "Tube length as measured on site."
    )


class LinePlan(Frozen):
    """What was decided about one line. A line without a plan takes the defaults."""

    service: Identifier = spec("Service", "A product, or compressed air.", refers_to="services")
    tube: Identifier = spec(
        "Tube", "Tube size of every segment that has none of its own.", default="tube-8", catalogue="tubes"
    )
    regulator: Annotated[Quantity, Measure(_D.PRESSURE, "0 bar", "16 bar")] | None = spec(
        "Line regulator",
        "Setting of a regulator at the head of the compressed air line; none if left out. The line of a product is set "
        "at its pump.",
        default=None,
    )
    segment_tubes: Annotated[tuple[SegmentTube, ...], Field(max_length=_MOST_SEGMENTS)] = spec(
        "Segment sizes", "Sizes chosen for single segments.", default=()
    )
    measured: Annotated[tuple[MeasuredLength, ...], Field(max_length=_MOST_SEGMENTS)] = spec(
        "Measured lengths", "Lengths that win over the computed ones.", default=()
    )


class Design(Frozen):
    """One whole design."""

    name: ShortText = spec("Design", "Name of this design.", default="Base design")
    products: Annotated[tuple[Product, ...], Field(max_length=MOST_PRODUCTS)] = spec(
        "Products", "Liquids on tap.", default=()
    )
    bays: Annotated[tuple[Bay, ...], Field(max_length=MOST_BAYS)] = spec("Bays", "Detail bays.", default=())
    drops: Annotated[tuple[Drop, ...], Field(max_length=MOST_DROPS)] = spec(
        "Drops", "Hose drops.", default=()
    )
    plant: Annotated[tuple[PlantUnit, ...], Field(max_length=MOST_PRODUCTS)] = spec(
        "Plant", "Plant of each product.", default=()
    )
    common: CommonPlant = spec("Common plant", "What the board needs once.", default=CommonPlant())
    lines: Annotated[tuple[LinePlan, ...], Field(max_length=MOST_PRODUCTS + 1)] = spec(
        "Lines", "Tube sizes and measured lengths.", default=()
    )
    drop_spacing: Annotated[Quantity, Measure(_D.LENGTH, "50 mm", "2 m")] = spec(
        "Drop spacing", "Between neighbours at a station; coil hoses need room.", default="300 mm"
    )
    clip_spacing: Annotated[Quantity, Measure(_D.LENGTH, "100 mm", "5 m")] = spec(
        "Clip spacing", "Between tube clips along a run.", default="1 m"
    )
    tube_allowance: Annotated[float, Field(ge=0.0, le=100.0)] = spec(
        "Tube allowance",
        "Added to every computed length for bends and cuts; not to a measured one.",
        default=5.0,
        unit="%",
    )
    makers: MakerData = spec(
        "Makers' data", "Figures of a maker that take the place of demo data.", default=MakerData()
    )
    pinned: Annotated[tuple[ShortText, ...], Field(max_length=20_000)] = spec(
        "Pinned choices", "Choices that a proposal leaves alone.", default=()
    )
