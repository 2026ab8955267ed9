"""What to do when something goes wrong, in the words of a card on the wall: only what this job can bring about."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from estimator.model.choices import Chemistry
from estimator.model.design import AIR, Design
from estimator.model.finding import Facts, IdKind, Listed, Phrase, Ref, facts
from estimator.model.site import Site
from estimator.safety.hazards import Known, hazards_of

__all__ = ["SOURCE", "EmergencyLine", "emergency"]

SOURCE: Final = (
    "common first aid practice, no source; sections 4 to 6 of the safety data sheets decide (29 CFR 1910.1200, "
    "Appendix D, from memory)"
)


@dataclass(frozen=True, slots=True)
class EmergencyLine:
    """What has happened, what to do, and the facts of both."""

    title: str
    sentence: str
    facts: Facts = ()


def emergency(site: Site, design: Design) -> tuple[EmergencyLine, ...]:
    """The lines of the card, in the order in which a person needs them.

    Args:
        site: the survey.
        design: the design; without products or drops there are no lines.
    """
    return tuple(_lines(site, design))


def _wash(design: Design) -> str:
    what = "An eyewash with a drench shower" if design.common.wash.shower else "An eyewash"
    return f"{what} {'hangs there already' if design.common.wash.stays else 'is part of this system'};"


def _lines(site: Site, design: Design) -> Iterator[EmergencyLine]:
    board = f"the plant board on the {site.board.wall.value} wall (see the floor plan)"
    if design.products:
        corrosive = any(hazards_of(p.sheet).corrosive is not Known.NO for p in design.products)
        wash = (
            f" {_wash(design)} everyone must know the way to it."
            if design.common.eyewash
            else " No eyewash is part of this system: find the nearest before work starts."
            if corrosive
            else ""
        )
        yield EmergencyLine(
            "Splash in the eyes or on the skin",
            "Rinse at once with much lukewarm water, at least 15 min, and take off what is wet. Then to a doctor, with "
            "the safety data sheet.{wash}",
            facts(wash=Phrase(wash) if wash else ""),
        )
        fluoride = [p for p in design.products if Chemistry.FLUORIDE_ACID in p.sheet.classes]
        if fluoride:
            yield EmergencyLine(
                "{products}",
                "After the rinsing, calcium gluconate gel on the skin, as its safety data sheet says, even without "
                "pain; to a hospital at once, and tell them that it was fluoride.",
                facts(products=Listed(tuple(Ref(IdKind.PRODUCT, p.id) for p in fluoride), len(fluoride))),
            )
        yield EmergencyLine(
            "Swallowed or breathed in",
            "Out into fresh air, do not bring on vomiting, call the poison centre.",
        )
        yield EmergencyLine(
            "Gas, smoke or a sharp smell",
            "Everybody out. Call the emergency number and say which products may have met.",
        )
    if any(d.service != AIR for d in design.drops):
        yield EmergencyLine(
            "Spill, burst hose or tube",
            "Shut off air and water at {board}: without air the pumps stop. Open a gun of that line until nothing "
            "comes. Keep people away and air the hall. Do not wash a spill of concentrate into a drain, and put no "
            "other product on it.",
            facts(board=board),
        )
    elif design.drops:
        yield EmergencyLine("Burst hose", "Shut off the air at {board}.", facts(board=board))
