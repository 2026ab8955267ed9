"""The plant board as a picture: water from the street to each tank, at rest and while some of the tanks fill.

Knows nothing of drawing; a desk view and a paper draw it from the same figures.
"""

from __future__ import annotations

from dataclasses import dataclass

from estimator.hydraulics.board import Fill, Reason, Settled, Trouble
from estimator.shown.figures import Figures, figures_of
from estimator.shown.lines import LineStyle, line_styles
from estimator.shown.mixtures import ratio, stands, wanted_words
from estimator.shown.names import Names
from estimator.shown.standing import Standing
from estimator.sizing.moment import at_rest, moment, thirstiest
from estimator.sizing.types import BoardProof, FeedPoint, PlantProof
from estimator.study import Study
from estimator.units import Dimension

__all__ = ["BoardPicture", "GaugeMark", "TankMark", "board_picture", "points_of"]

_POINTS = {
    FeedPoint.STREET: "Tie-in",
    FeedPoint.RISE: "At the height of the board",
    FeedPoint.BREAK_TANK: "Behind break tank and booster pump",
    FeedPoint.BACKFLOW: "Behind backflow protection",
    FeedPoint.BOOSTER: "Behind booster pump",
    FeedPoint.REDUCER: "Behind reducing valve",
    FeedPoint.TUBE: "Behind supply tube",
}
_MINUTES_AN_HOUR = 60.0


@dataclass(frozen=True, slots=True)
class GaugeMark:
    """A gauge between street and board.

    Attributes:
        name: where it stands.
        rest: pressure with nothing drawn.
        now: pressure while the chosen tanks fill; "–" where it is not known.
        low: it is below the pressure of the air, so that anything is drawn in through a leak.
    """

    name: str
    rest: str
    now: str
    low: bool = False


@dataclass(frozen=True, slots=True)
class TankMark:
    """A product's proportioner and tank at that moment.

    Attributes:
        product: its id.
        name: of the product.
        tag, style: its number and line, as on the plan.
        place: of its tip in the job.
        fills: whether it fills at that moment.
        water: water through its proportioner; "" while it rests.
        mixture: what comes out ("14.9:1"); "" while it rests, "–" where it is not known.
        wanted: what the person wants, with the range of the label where it has one.
        standing: how the mixture stands to that; None while it rests.
        verdict: that in words; why there is no figure, where there is none.
        often: how much of the busy hour it fills.
        tank: what the tank holds.
        told: all of it in sentences.
    """

    product: str
    name: str
    style: LineStyle
    place: str
    fills: bool
    water: str
    mixture: str
    wanted: str
    standing: Standing | None
    verdict: str
    often: str
    tank: str
    told: str

    @property
    def tag(self) -> str:
        """Its number."""
        return self.style.tag


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """The board at a moment.

    Attributes:
        gauges: along the flow.
        tanks: in plant order.
        many: how many fill.
        usual: how many fill at once in 99 % of the busy hour, at most.
        flow: water of all together; "" while all rest.
        shared: pressure that the proportioners share; "–" where it is not known, "" while all rest.
        heading: the moment in words.
        notes: what the figures leave out or assume.
    """

    gauges: tuple[GaugeMark, ...]
    tanks: tuple[TankMark, ...]
    many: int
    usual: int
    flow: str
    shared: str
    heading: str
    notes: tuple[str, ...]


def points_of(board: BoardProof) -> tuple[str, ...]:
    """Names of the gauges along the flow."""
    return tuple(_POINTS[point] for point in board.points)


def board_picture(study: Study, many: int) -> BoardPicture | None:
    """The board while so many tanks fill, those that take the most water; None where no board is proved.

    Args:
        study: of the job.
        many: 0 for all at rest, at most as many as there are products.
    """
    board = study.proof.board
    if board is None:
        return None
    filling = thirstiest(board.water, min(max(many, 0), len(board.products)))
    answer = moment(board.water, filling) if filling else None
    figures = figures_of(study.job)
    return BoardPicture(
        gauges=_gauges(board, answer, figures),
        tanks=tuple(_tanks(study, board, answer, figures)),
        many=len(filling),
        usual=board.at_once,
        flow="" if answer is None else _flow(answer, figures),
        shared="" if answer is None else _shared(answer, figures),
        heading=_heading(len(filling), len(board.products), board.at_once),
        notes=tuple(_notes(board)),
    )


def _heading(many: int, whole: int, usual: int) -> str:
    if many == 0:
        return "Nothing fills"
    if many == whole:
        count = "The tank fills" if whole == 1 else f"All {whole} tanks fill at once, as on the first day"
    else:
        count = "1 tank fills" if many == 1 else f"{many} tanks fill at once"
    if many == usual:
        return f"{count}; in 99 % of the busy hour no more do"
    return count if many < usual or many == whole else f"{count}, more than in 99 % of the busy hour"


def _notes(board: BoardProof) -> list[str]:
    notes = []
    if board.static_assumed:
        notes.append("The pressure with nothing running was not read; it is assumed.")
    if FeedPoint.TUBE not in board.points:
        notes.append("Losses in the tube between tie-in and board are not counted.")
    notes.append(
        "Curves of proportioners and of what stands before them are demo data; confirm by a test on site."
    )
    return notes


def _pressure(si: float, figures: Figures) -> str:
    return figures.amount(si, Dimension.PRESSURE, 2)


def _gauges(board: BoardProof, answer: Settled | None, figures: Figures) -> tuple[GaugeMark, ...]:
    rest = at_rest(board.water)
    now = None if answer is None or answer.water is None else answer.water.along_pa
    marks = []
    for at, name in enumerate(points_of(board)):
        at_once = rest if answer is None else now
        marks.append(
            GaugeMark(
                name,
                _pressure(rest[at], figures),
                "–" if at_once is None else _pressure(at_once[at], figures),
                at_once is not None and at_once[at] < 0.0,
            )
        )
    return tuple(marks)


def _flow(answer: Settled, figures: Figures) -> str:
    return "–" if answer.water is None else figures.amount(answer.water.flow_m3_s, Dimension.FLOW, 1)


def _shared(answer: Settled, figures: Figures) -> str:
    return "–" if answer.water is None else _pressure(answer.water.inlet_pa, figures)


def _tanks(study: Study, board: BoardProof, answer: Settled | None, figures: Figures) -> list[TankMark]:
    design = study.job.design
    names, styles = Names(design, study.layout), line_styles(design)
    products = {product.id: product for product in design.products}
    units = {unit.product: at for at, unit in enumerate(design.plant)}
    plants = {plant.product: plant for plant in study.proof.plant}
    fills = {} if answer is None else {fill.post: fill for fill in answer.fills}
    marks = []
    for at, shared in enumerate(board.products):
        product, plant = products[shared.product], plants[shared.product]
        running = answer is not None and at in answer.filling
        fill = fills.get(at)
        wanted = wanted_words(product, figures)
        given = fill.parts_water if fill is not None else None
        standing, verdict = None, "rests"
        if running:
            standing, verdict = stands(given, product)
            if given is None:
                verdict = _why(answer, fill, figures)
        often, tank = _often(plant, figures), figures.amount(plant.tank_m3, Dimension.VOLUME, 0)
        water = (
            figures.amount(fill.water_m3_s, Dimension.FLOW, 1) if fill is not None else "–" if running else ""
        )
        mixture = "" if not running else "–" if given is None else ratio(given, figures)
        name = names.product(shared.product)
        told = f"{name}: wanted {wanted}; tank of {tank}, {often}. "
        if not running:
            told += "It rests."
        elif given is None:
            told += f"It fills: {verdict}."
        else:
            told += f"It fills with {water} of water and comes out at about {mixture}, {verdict}."
        marks.append(
            TankMark(
                product=shared.product,
                name=name,
                style=styles[shared.product],
                place=f"design.plant.{units[shared.product]}.tip_drill",
                fills=running,
                water=water,
                mixture=mixture,
                wanted=wanted,
                standing=standing,
                verdict=verdict,
                often=often,
                tank=tank,
                told=told,
            )
        )
    return marks


def _why(answer: Settled | None, fill: Fill | None, figures: Figures) -> str:
    """Why there is no mixture to tell."""
    reason = fill.reason if fill is not None else answer.reason if answer is not None else None
    if reason is None:
        return "not known"
    return _reason(reason, figures)


def _reason(reason: Reason, figures: Figures) -> str:
    if reason.trouble is Trouble.NO_LIFT:
        return "too little vacuum to lift the concentrate"
    if reason.trouble is Trouble.VACUUM_UNKNOWN:
        low, high = _pressure(reason.low, figures), _pressure(reason.high, figures)
        return f"known from {low} to {high} only"
    if reason.trouble is Trouble.NO_PRESSURE:
        return "no pressure reaches the board"
    return "outside what a part before the board is known for"


def _often(plant: PlantProof, figures: Figures) -> str:
    minutes = plant.filling * _MINUTES_AN_HOUR
    if minutes < 1.0:
        return "fills less than 1 min of the busy hour"
    return f"fills {figures.number(minutes, 0)} min of the busy hour"
