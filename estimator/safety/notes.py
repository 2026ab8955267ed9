"""The cautions of a job: each because of something that this job contains or does, in the order of danger."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

from estimator.model.choices import Answer, Chemistry, DrainTo, HoseKind
from estimator.model.design import AIR, Design, Product
from estimator.model.finding import Amount, Facts, IdKind, Listed, Phrase, Ref, facts, filled, plain
from estimator.model.grades import Danger
from estimator.model.site import Site
from estimator.safety.chemistry import ACIDS, ALKALIS
from estimator.safety.hazards import Hazards, Known, hazards_of
from estimator.safety.limits import BLOW_OFF_LIMIT_PA, COLD_WATER_K, TABLE_LIMIT_K
from estimator.safety.mixing import meetings_told
from estimator.safety.reactivity import MeetingVerdict
from estimator.safety.spray import FOAM, GASSING
from estimator.safety.training import hazardous
from estimator.safety.tray import tray_volume
from estimator.safety.washing import way_to_it
from estimator.units import Dimension

__all__ = ["SafetyNote", "safety_notes"]

_COLD_K: Final = 273.15 + 10
_FREEZING: Final = "freezing point of water; common practice"
_PRACTICE: Final = "common practice, no source"


@dataclass(frozen=True, slots=True)
class SafetyNote:
    """One caution.

    Attributes:
        title: a few words.
        sentence: one or a few sentences, with a hole for each fact that it names.
        source: where the rule comes from.
        danger: what it is about can do to people.
        rules: of the findings that tell the state of this very job and are to be read with it.
        tells: rules whose findings say nothing more than it does.
        concerns: ids of the products it speaks of, "air" for compressed air; empty where it holds for the
            whole.
        facts: what the sentence speaks of.
    """

    title: str
    sentence: str
    source: str
    danger: Danger
    rules: tuple[str, ...] = ()
    concerns: tuple[str, ...] = ()
    facts: Facts = ()
    tells: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The sentence without a job: metric, products by their ids. A person reads that of `shown.findings`."""
        return filled(self.sentence, self.facts, plain)


def _ids(products: tuple[Product, ...]) -> tuple[str, ...]:
    return tuple(p.id for p in products)


def _named(products: tuple[Product, ...]) -> Listed:
    return Listed(tuple(Ref(IdKind.PRODUCT, p.id) for p in products), len(products))


def _those(these: tuple[Product, ...], others: tuple[Product, ...]) -> Listed | Phrase:
    """Two products that meet, or any of some with any of others."""
    if len(these) == len(others) == 1:
        return _named((*these, *others))
    return Phrase("any of {these} and any of {others}", facts(these=_named(these), others=_named(others)))


def _made(design: Design) -> tuple[Product, ...]:
    """Products that the board dilutes."""
    planned = {unit.product for unit in design.plant}
    return tuple(p for p in design.products if p.id in planned and p.dilution > 0)


def _tray(design: Design) -> Phrase:
    """Whether a tray is part of the system, and what one must hold."""
    common = design.common
    words = (
        "A containment tray under the concentrates is part of this system; it"
        if common.containment
        else "The board stays: see to it that its concentrates stand on a containment tray, which"
        if common.existing
        else "No containment tray is part of this system; concentrates belong on one, which"
    )
    holds, _, _ = tray_volume(design.products)
    told = facts(holds=Amount(holds, Dimension.VOLUME, 0))
    stated = common.tray_volume
    sentence = (
        f"{words} must hold {{holds}}: the largest container, or a tenth of all of them if that is more."
    )
    if stated is None or not (common.containment or common.existing):
        return Phrase(sentence, told)
    return Phrase(f"{sentence} It is stated to hold {{stated}}.", (*told, *facts(stated=Amount.of(stated))))


def _tested(design: Design) -> Phrase | str:
    """Who tests the protection again every year, where that is stated."""
    by = design.common.yearly_test.strip()
    return Phrase("; every year it is tested by {who}", facts(who=by)) if by else ""


_DRAIN: Final = {
    DrainTo.NOT_KNOWN: "What may run into the drain the local authority decides; into a storm drain or the ground "
    "nothing "
    "without a permit.",
    DrainTo.SEPARATOR: "The floor drain leads through a separator to the sanitary sewer, as stated; nothing may run "
    "into a "
    "storm drain.",
    DrainTo.SANITARY: "The floor drain leads to the sanitary sewer, as stated; nothing may run into a storm drain.",
    DrainTo.COLLECTED: "What runs off the floor is collected and hauled away, as stated; nothing may run into a storm "
    "drain.",
    DrainTo.STORM: "The floor drain leads to a storm drain, as stated: nothing may run into it without a permit.",
    DrainTo.GROUND: "The floor drain leads into the ground, as stated: nothing may run into it without a permit.",
}


_PROGRAMME: Final = {
    Answer.YES: "The shop has a written programme for labels, sheets and training, as stated; these products are added "
    "to its list. ",
    Answer.NO: "The shop has no written programme, as stated: before work starts the employer writes down how "
    "labels, sheets and training are kept, with a list of the products. ",
    Answer.NOT_KNOWN: "The employer keeps a written programme for labels, sheets and training; whether there is one "
    "was not stated. ",
}


def _general(site: Site, design: Design) -> Iterator[SafetyNote]:
    products, wet = _ids(design.products), any(d.service != AIR for d in design.drops)
    if products:
        yield SafetyNote(
            "Safety data sheets and training",
            "Keep the safety data sheet of every product where it is used. Everyone who handles the products is "
            "trained on them before the first work and has read the sheets. {programme}The sheet decides over anything "
            "on this page.",
            "29 CFR 1910.1200(e), (g) and (h) (from memory)",
            Danger.INJURY,
            ("sheet-incomplete", "sheet-old", "sheet-contradicts", "class-missing"),
            products,
            facts(programme=Phrase(_PROGRAMME[site.programme] if hazardous(design.products) else "")),
            tells=("programme-missing",),
        )
        yield SafetyNote(
            "Protective equipment",
            "Handle concentrates with chemical goggles, gloves and an apron that suit the product; spray with "
            "eye protection. The employer assesses the hazards of the work and provides the equipment.",
            "29 CFR 1910.132 and 1910.133 (from memory)",
            Danger.INJURY,
            (),
            products,
        )
        yield SafetyNote(
            "Labels and tags",
            "Label every container and day tank with the product identifier and its hazards in words, pictures or "
            "symbols. Tubing this small is tagged with the product's name at the board, at every valve and "
            "at every drop.",
            "29 CFR 1910.1200(f)(6); ASME A13.1 (second-hand)",
            Danger.HEALTH,
            ("labels-needed",),
            products,
        )
    if design.drops:
        yield SafetyNote(
            "Release pressure before service",
            (
                "Before a joint, hose, gun or pump is opened: shut off air and water, lock both, then open the gun "
                if wet
                else "Before a joint, hose or gun is opened: shut off the air, lock it, then open the gun "
            )
            + "until nothing comes. A closed valve keeps pressure behind it, so open every valve on the way. "
            "Never loosen a joint under pressure.",
            "29 CFR 1910.147 (from memory); common practice",
            Danger.INJURY,
            ("tube-rating", "tube-too-hot", "regulator-above-pump", "lockout-missing", "pressure-trapped"),
        )
    if diluted := _ids(_made(design)):
        yield SafetyNote(
            "Dilution is confirmed by test",
            "Dilutions are design figures. At commissioning, measure the volume drawn and the volume made "
            "for each product, or titrate the solution; do it again when a tip, a product or "
            "the water pressure changes.",
            _PRACTICE,
            Danger.HEALTH,
            (
                "dilution-off",
                "dilution-off-label",
                "no-concentrate",
                "dilution-hours",
                "dilution-busy",
                "dilution-first-fill",
                "dilution-day",
            ),
            diluted,
        )
        yield SafetyNote(
            "Solution that stands",
            "Solution that stood in tank and lines for days loses strength and can grow germs. After a longer stop "
            "spray the lines empty before the first use, and do not breathe that mist.",
            _PRACTICE,
            Danger.HEALTH,
            (),
            diluted,
        )
    if wet:
        yield SafetyNote(
            "Materials",
            "Every part that a product flows through, from the suction tube to the nozzle, was held against general "
            "tables that are made for {at}: before the proportioner at full strength, behind it diluted. The taps and "
            "caps of the containers were not. Before first use confirm each part with the maker's data for the very "
            "product.",
            "general handbooks, from memory; confirm with the maker's data",
            Danger.INJURY,
            ("part-material", "part-material-doubt", "material-unknown"),
            tells=("container-tap",),
            facts=facts(at=Amount(TABLE_LIMIT_K, Dimension.TEMPERATURE, 0)),
        )
        yield SafetyNote(
            "Wet floors",
            "Solutions and foam make floors slippery. Keep hoses off the walkways, keep the floor drained, and wear "
            "shoes with grip.",
            "29 CFR 1910.22 (from memory)",
            Danger.INJURY,
        )
    if products:
        yield SafetyNote(
            "Containment and drains",
            "{tray} {drain} Whether a separator is needed, the local authority decides.",
            "common practice; 40 CFR 264.175(b)(3) as a reference only (it is for hazardous waste)",
            Danger.HEALTH,
            ("containment-small", "drain-without-permit", "drain-open"),
            products,
            facts(tray=_tray(design), drain=_DRAIN[site.drain]),
            tells=("containment-missing",),
        )
    if _made(design):
        yield SafetyNote(
            "Backflow protection",
            "The water supply of a chemical dispenser must be protected against backflow; in this system by: {by}. The "
            "local plumbing code and the water authority decide what is accepted; a licensed plumber installs and "
            "tests it{again}.",
            "UPC 2024 603.5.22; IPC 608; ASSE 1055 (from memory, numbering moves by edition)",
            Danger.HEALTH,
            ("air-gap-small", "test-yearly"),
            products,
            facts(by=Ref(IdKind.BACKFLOW, design.common.backflow), again=_tested(design)),
            tells=("backflow-defer",),
        )


def _wash(site: Site, design: Design, skin: tuple[Product, ...]) -> Phrase:
    """What eyewash and shower there are, and how far from the board."""
    common = design.common
    if not common.eyewash:
        words = "No eyewash is part of this system" + (
            "." if common.wash.shower else ", and no drench shower."
        )
    else:
        with_shower = " with a drench shower" if common.wash.shower else ""
        words = (
            f"An eyewash{with_shower} hangs there already."
            if common.wash.stays
            else f"An eyewash{with_shower} is part of this system."
        )
    told: Facts = ()
    path = way_to_it(site, design)
    if path is not None:
        words += " From the board the shortest way around the bays is {path}; it stays free."
        told = facts(path=Amount(path, Dimension.LENGTH, 1))
    if skin and not common.wash.shower:
        words += (
            " The concentrate of {skin} burns skin: a drench shower belongs beside the eyewash, and none is part of "
            "this system."
        )
        told = (*told, *facts(skin=_named(skin)))
    return Phrase(words, told)


def _chemistry(site: Site, design: Design) -> Iterator[SafetyNote]:
    def of(group: frozenset[Chemistry]) -> tuple[Product, ...]:
        return tuple(p for p in design.products if group & set(p.sheet.classes))

    def such(holds: Callable[[Hazards], bool]) -> tuple[Product, ...]:
        return tuple(p for p in design.products if holds(hazards_of(p.sheet)))

    if corrosive := such(lambda h: h.corrosive is not Known.NO):
        yield SafetyNote(
            "Eyewash",
            "The concentrate of {products} can burn eyes and skin. Where its safety data sheet "
            "calls it corrosive, an eyewash must be reached within 10 s on a free path, flow for 15 min and be "
            "tried every week. {eyewash}",
            "29 CFR 1910.151(c); ANSI/ISEA Z358.1-2014",
            Danger.INJURY,
            (
                *("eyewash-branch", "eyewash-outside", "eyewash-far"),
                *("eyewash-water", "shower-flow", "eyewash-open"),
            ),
            _ids(corrosive),
            facts(
                products=_named(corrosive),
                eyewash=_wash(site, design, such(lambda h: h.skin)),
            ),
            tells=("eyewash-missing", "eyewash-check", "shower-missing", "shower-check"),
        )
    acids, alkalis = of(ACIDS), of(ALKALIS)
    if acids and alkalis:
        yield SafetyNote(
            "Acid and alkali",
            "{acids} and {alkalis} heat up and spatter when they meet. Keep trays and "
            "suction tubes separate and tanks apart, and rinse the vehicle between the two.",
            "EPA-600/2-80-076 (1980), groups 1 to 3 with 10",
            Danger.INJURY,
            ("mixing-apart",),
            _ids((*acids, *alkalis)),
            facts(acids=_named(acids), alkalis=_named(alkalis)),
        )
    if bleach := of(frozenset({Chemistry.HYPOCHLORITE})):
        yield SafetyNote(
            "Hypochlorite",
            "{products} gives off poisonous gas with any acid (chlorine) and with ammonia "
            "(chloramines), and reacts with peroxide and solvents. Never let it share a tank, a tray, a tube "
            "or a bay floor with them, and never pour another product into its tank.",
            "Washington State Department of Health, bleach mixing dangers (second-hand); common practice",
            Danger.LIFE,
            (),
            _ids(bleach),
            facts(products=_named(bleach)),
        )
    if gassing := of(GASSING):
        yield SafetyNote(
            "Containers that must vent",
            "The concentrate of {products} gives off gas as it stands. Cap, tap and day tank must be able to vent; "
            "shut tight, a "
            "container "
            "can burst. Never fill it into another bottle that closes tight.",
            "general handbooks, from memory; common practice",
            Danger.INJURY,
            (),
            _ids(gassing),
            facts(products=_named(gassing)),
            tells=("vented-cap",),
        )
    if fluoride := of(frozenset({Chemistry.FLUORIDE_ACID})):
        yield SafetyNote(
            "Fluoride acid",
            "{products} burns deep and late, at first without pain. Keep the special first aid of its safety data "
            "sheet at hand, as a rule calcium gluconate gel; nobody works with it alone, and no other acid is ever "
            "added. After a splash the hospital is told that it was fluoride.",
            "general handbooks, from memory; EPA-600/2-80-076 (1980)",
            Danger.LIFE,
            (),
            _ids(fluoride),
            facts(products=_named(fluoride)),
            tells=("fluoride-acid",),
        )
    if flammable := such(lambda h: h.flammable):
        yield SafetyNote(
            "Flammable concentrates",
            "{products} may be flammable. Keep flames, sparks and hot lamps away, bond and earth metal containers "
            "while "
            "they are filled or emptied, store only what is needed, and ask the fire authority about the stored "
            "amount.",
            "29 CFR 1910.106 (from memory)",
            Danger.LIFE,
            (),
            _ids(flammable),
            facts(products=_named(flammable)),
            tells=("flammable-spray",),
        )
    quaternary = of(frozenset({Chemistry.QUATERNARY}))
    if quaternary:
        yield SafetyNote(
            "Sanitiser",
            "{products} works only at its labelled dilution and contact time, on a clean surface; "
            "anionic detergent left behind takes its effect away, so rinse first.",
            "the product's own label; general handbooks, from memory",
            Danger.HEALTH,
            (),
            _ids(quaternary),
            facts(products=_named(quaternary)),
        )
    for these, others, meets in meetings_told(design.products):
        rule = next(
            (r for r in (meets.sure, meets.open) if r and r.verdict is MeetingVerdict.NEVER_TOGETHER), None
        )
        if rule is not None:
            yield SafetyNote(
                "Never together",
                "{products} must never meet, not in a tank, a tray, a tube, a drain or on a bay floor: the pair "
                "{hazard}{asked}.",
                f"{rule.source} ({rule.status})",
                Danger.LIFE,
                (),
                tuple(dict.fromkeys(_ids((*these, *others)))),
                facts(
                    products=_those(these, others),
                    hazard=rule.hazard,
                    asked=""
                    if rule is meets.sure
                    else Phrase(", as long as their safety data sheets do not say otherwise"),
                ),
                tells=("mixing-forbidden", "mixing-not-answered"),
            )


def _equipment(site: Site, design: Design) -> Iterator[SafetyNote]:
    foam = {d.service for d in design.drops if d.nozzle in FOAM}
    foamed = tuple(p for p in design.products if p.id in foam)
    if foamed:
        yield SafetyNote(
            "Foam and mist",
            "{products} is applied as foam. Ventilate the bays, do not breathe foam or mist, and keep "
            "it off the face; with corrosives wear a face shield.",
            "29 CFR 1910.132 and 1910.134 (from memory)",
            Danger.HEALTH,
            ("mist-ventilation",),
            _ids(foamed),
            facts(products=_named(foamed)),
            tells=("foam-ventilation",),
        )
    if any(d.hose is HoseKind.COIL for d in design.drops):
        yield SafetyNote(
            "Pressure trapped in coil hoses",
            "A coil hose behind a closed valve keeps its pressure and springs back when it is let go. Open "
            "the gun until nothing comes before it is unhooked, and hang it back instead of dropping it.",
            _PRACTICE,
            Danger.INJURY,
        )
    if any(d.service == AIR for d in design.drops):
        yield SafetyNote(
            "Compressed air",
            "Air for cleaning must stay below {limit} with the outlet blocked, with chip guarding and eye protection. "
            "Never point it at a person, and never clean clothes or skin with it.",
            "OSHA 29 CFR 1910.242(b), less than 30 psi",
            Danger.INJURY,
            ("blow-off-pressure",),
            (AIR,),
            facts(limit=Amount(BLOW_OFF_LIMIT_PA, Dimension.PRESSURE)),
        )
    if any(d.service != AIR for d in design.drops):
        cold = site.water.temperature.si < _COLD_K
        frost = site.coldest is not None and site.coldest.si < COLD_WATER_K
        yield SafetyNote(
            "Freezing",
            (
                "The water arrives at {water}. Keep hall and tubes above {least}, or drain lines and pumps before a "
                "frost."
                if cold and not frost
                else "The hall gets as cold as {coldest}. Keep it above {least}, or drain lines, pumps and tanks "
                "before a "
                "frost; ice bursts them."
                if frost
                else "Drain lines, pumps and tanks that can freeze before a frost; ice bursts them."
            ),
            _FREEZING,
            Danger.NONE,
            (),
            facts=facts(
                water=Amount.of(site.water.temperature),
                least=Amount(COLD_WATER_K, Dimension.TEMPERATURE, 0),
                coldest="" if site.coldest is None else Amount.of(site.coldest),
            ),
        )


def safety_notes(site: Site, design: Design) -> tuple[SafetyNote, ...]:
    """The cautions of a design, what can do most harm first.

    Args:
        site: the survey.
        design: the design.

    Returns:
        Notes with their facts; a name that is set in is as a person typed it and must be escaped where text has
        markup. None for a design with neither products nor drops.
    """
    made = (*_chemistry(site, design), *_equipment(site, design), *_general(site, design))
    return tuple(sorted(made, key=lambda note: -note.danger.value))
