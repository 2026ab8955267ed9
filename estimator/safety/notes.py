"""The safety notes of a quote: general ones always, the others where the job has what they speak of."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from estimator.model.choices import Chemistry, HoseKind, NozzleType
from estimator.model.design import AIR, Design, Product
from estimator.model.finding import Amount, Facts, Kind, Listed, Ref, facts, filled, plain
from estimator.model.site import Site
from estimator.safety.chemistry import ACIDS, ALKALIS
from estimator.safety.hazards import Hazards, Known, hazards_of
from estimator.safety.limits import BLOW_OFF_LIMIT_PA
from estimator.safety.mixing import meetings_of
from estimator.safety.reactivity import Verdict
from estimator.units import Dimension

__all__ = ["SafetyNote", "safety_notes"]

_FOAM: Final = frozenset({NozzleType.FOAM_GUN, NozzleType.FOAM_TIP})
_COLD_K: Final = 273.15 + 10
_LEAST_HALL_K: Final = 273.15 + 5
_FREEZING: Final = "water freezes at 0 °C; common practice"
_PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class SafetyNote:
    """One note of the safety page.

    Attributes:
        title: a few words.
        sentence: one or a few sentences, with a hole for each fact that it names.
        source: where the rule comes from.
        concerns: ids of the products it speaks of, "air" for compressed air; empty where it holds for the
            whole.
        facts: what the sentence speaks of.
    """

    title: str
    sentence: str
    source: str
    concerns: tuple[str, ...] = ()
    facts: Facts = ()

    @property
    def text(self) -> str:
        """The sentence without a job: metric, products by their ids. A person reads that of `shown.findings`."""
        return filled(self.sentence, self.facts, plain)


def _ids(products: tuple[Product, ...]) -> tuple[str, ...]:
    return tuple(p.id for p in products)


def _named(products: tuple[Product, ...]) -> Listed:
    return Listed(tuple(Ref(Kind.PRODUCT, p.id) for p in products), len(products))


def _general(design: Design) -> Iterator[SafetyNote]:
    products = _ids(design.products)
    yield SafetyNote(
        "Safety data sheets",
        "The safety data sheet of every product stays where it is used, and everyone who handles the "
        "products has read it. It decides over anything on this page.",
        "29 CFR 1910.1200(g) (from memory)",
        products,
    )
    yield SafetyNote(
        "Protective equipment",
        "Handle concentrates with chemical goggles, gloves and an apron that suit the product; spray with "
        "eye protection. The employer assesses the hazards of the work and provides the equipment.",
        "29 CFR 1910.132 and 1910.133 (from memory)",
        products,
    )
    yield SafetyNote(
        "Labels and tags",
        "Every container and day tank carries the product identifier and its hazards in words, pictures or "
        "symbols. Tubing this small carries a tag with the product's name at the board, at every valve and "
        "at every drop.",
        "29 CFR 1910.1200(f)(6); ASME A13.1 (second-hand)",
        products,
    )
    yield SafetyNote(
        "Release pressure before service",
        "Before a joint, hose, gun or pump is opened: shut the air off and lock it, then open the gun "
        "until nothing comes. A closed valve keeps pressure behind it, so open every valve on the way. "
        "Never loosen a joint under pressure.",
        "29 CFR 1910.147 (from memory); common practice",
    )
    yield SafetyNote(
        "Dilution is confirmed by test",
        "Dilutions are design figures. On commissioning the volume drawn and the volume made are measured "
        "for each product, or the solution is titrated, and the test is repeated when a tip, a product or "
        "the water pressure changes.",
        _PRACTICE,
        products,
    )
    yield SafetyNote(
        "Materials",
        "Seals, tubes and gun bodies were chosen from general tables that hold for 25 °C (77 °F). Before "
        "first use confirm each with the maker's data for the very product.",
        "general handbooks, from memory; confirm with the maker's data",
        products,
    )
    yield SafetyNote(
        "Wet floors",
        "Solutions and foam make floors slippery. Keep hoses off the walkways, drain the bays, and wear "
        "shoes with grip.",
        "29 CFR 1910.22 (from memory)",
    )
    yield SafetyNote(
        "Containment and drains",
        "Concentrates stand on a tray that holds the largest container. What may run into the drain, and "
        "whether a separator is needed, the local authority decides.",
        "common practice; 40 CFR 264.175(b)(3) as a reference only (it is for hazardous waste)",
        products,
    )
    yield SafetyNote(
        "Backflow protection",
        "The water supply of a chemical dispenser is protected by a listed dispenser (ASSE 1055), an air "
        "gap or an approved assembly. The local plumbing code and the water authority decide which; a "
        "licensed plumber installs and tests it.",
        "UPC 2024 603.5.22; IPC 608 (from memory, numbering moves by edition)",
        products,
    )


def _chemistry(design: Design) -> Iterator[SafetyNote]:
    def of(group: frozenset[Chemistry]) -> tuple[Product, ...]:
        return tuple(p for p in design.products if group & set(p.sheet.classes))

    def such(holds: Callable[[Hazards], bool]) -> tuple[Product, ...]:
        return tuple(p for p in design.products if holds(hazards_of(p.sheet)))

    if corrosive := such(lambda h: h.corrosive is not Known.NO):
        yield SafetyNote(
            "Eyewash",
            "The concentrate of {products} can burn eyes and skin. Where its safety data sheet "
            "calls it corrosive, an eyewash is reached within 10 s on a free path, flows for 15 min and is "
            "tried every week.",
            "29 CFR 1910.151(c); ANSI/ISEA Z358.1-2014",
            _ids(corrosive),
            facts(products=_named(corrosive)),
        )
    acids, alkalis = of(ACIDS), of(ALKALIS)
    if acids and alkalis:
        yield SafetyNote(
            "Acid and alkali",
            "{acids} and {alkalis} heat up and spatter when they meet. Separate trays and "
            "suction tubes, tanks apart, and rinse the vehicle between the two.",
            "EPA-600/2-80-076 (1980), groups 1 to 3 with 10",
            _ids((*acids, *alkalis)),
            facts(acids=_named(acids), alkalis=_named(alkalis)),
        )
    if bleach := of(frozenset({Chemistry.HYPOCHLORITE})):
        yield SafetyNote(
            "Hypochlorite",
            "{products} gives off poisonous gas with any acid (chlorine) and with ammonia "
            "(chloramines), and reacts with peroxide and solvents. It never shares a tank, a tray, a tube "
            "or a bay floor with them, and no other product is ever poured into its tank.",
            "Washington State Department of Health, bleach mixing dangers (second-hand)",
            _ids(bleach),
            facts(products=_named(bleach)),
        )
    if fluoride := of(frozenset({Chemistry.FLUORIDE_ACID})):
        yield SafetyNote(
            "Fluoride acid",
            "{products} burns deep and late. The special first aid of its safety data sheet is at "
            "hand, nobody works with it alone, and no other acid is ever added.",
            "general handbooks, from memory; EPA-600/2-80-076 (1980)",
            _ids(fluoride),
            facts(products=_named(fluoride)),
        )
    if flammable := such(lambda h: h.flammable):
        yield SafetyNote(
            "Flammable concentrates",
            "{products} may be flammable. Keep ignition sources away, store only what is needed, "
            "and ask the fire authority about the stored amount.",
            "29 CFR 1910.106 (from memory)",
            _ids(flammable),
            facts(products=_named(flammable)),
        )
    quaternary = of(frozenset({Chemistry.QUATERNARY}))
    if quaternary:
        yield SafetyNote(
            "Sanitiser",
            "{products} works only at its labelled dilution and contact time, on a clean surface; "
            "anionic detergent left behind takes its effect away, so rinse first.",
            "the product's own label; general handbooks, from memory",
            _ids(quaternary),
            facts(products=_named(quaternary)),
        )
    forbidden = [
        (a, b)
        for a, b, meets in meetings_of(design.products)
        if any(r is not None and r.verdict is Verdict.NEVER_TOGETHER for r in (meets.sure, meets.open))
    ]
    for a, b in forbidden:
        yield SafetyNote(
            "Never together",
            "{products} must never meet: not in a tank, a tray, a tube, a drain or on a bay floor.",
            "see the findings of this job",
            _ids((a, b)),
            facts(products=_named((a, b))),
        )


def _equipment(site: Site, design: Design) -> Iterator[SafetyNote]:
    foam = {d.service for d in design.drops if d.nozzle in _FOAM}
    foamed = tuple(p for p in design.products if p.id in foam)
    if foamed:
        yield SafetyNote(
            "Foam and mist",
            "{products} is applied as foam. Ventilate the bays, do not breathe foam or mist, and keep "
            "it off the face; with corrosives wear a face shield.",
            "29 CFR 1910.132 and 1910.134 (from memory)",
            _ids(foamed),
            facts(products=_named(foamed)),
        )
    if any(d.hose is HoseKind.COIL for d in design.drops):
        yield SafetyNote(
            "Pressure trapped in coil hoses",
            "A coil hose behind a closed valve keeps its pressure and springs back when it is let go. Open "
            "the gun until nothing comes before it is unhooked, and hang it back instead of dropping it.",
            _PRACTICE,
        )
    if any(d.service == AIR for d in design.drops):
        yield SafetyNote(
            "Compressed air",
            "Air for cleaning stays below {limit} with the outlet blocked, with chip guarding and eye protection. "
            "Never point it at a person, and never clean clothes or skin with it.",
            "OSHA 29 CFR 1910.242(b), less than 30 psi",
            (AIR,),
            facts(limit=Amount(BLOW_OFF_LIMIT_PA, Dimension.PRESSURE)),
        )
    cold = site.water.temperature.si < _COLD_K
    yield SafetyNote(
        "Freezing",
        (
            "The water arrives at {water}. Keep hall and tubes above {least}, or drain lines and pumps before a frost."
            if cold
            else "Lines, pumps and tanks that can freeze are drained before a frost; ice bursts them."
        ),
        _FREEZING,
        facts=facts(
            water=Amount.of(site.water.temperature), least=Amount(_LEAST_HALL_K, Dimension.TEMPERATURE, 0)
        ),
    )


def safety_notes(site: Site, design: Design) -> tuple[SafetyNote, ...]:
    """The notes of a job, in printing order: what is special to it first, what holds for every board after.

    Args:
        site: the survey.
        design: the design.

    Returns:
        Notes with their facts; a name that is set in is as a person typed it and must be escaped where text has
        markup.
    """
    return (*_chemistry(design), *_equipment(site, design), *_general(design))
