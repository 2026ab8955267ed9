"""What is sprayed and must not be breathed, what burns, and what must be able to breathe itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.model.choices import Answer, Chemistry, NozzleType
from estimator.model.finding import Finding, Phrase, Severity, facts
from estimator.safety.hazards import Known, hazards_of
from estimator.safety.scene import FIRE, LOCAL, Scene, drops_named, named, products_named

__all__ = ["FOAM", "GASSING", "foam_and_mist", "vented_caps"]

FOAM: Final = frozenset({NozzleType.FOAM_GUN, NozzleType.FOAM_TIP})
"""Shapes that are sprayed as foam."""
_MIST: Final = frozenset({NozzleType.FAN, NozzleType.FULL_CONE})
GASSING: Final = frozenset({Chemistry.HYPOCHLORITE, Chemistry.PEROXIDE})
"""Classes that give off gas while they stand."""
_AIR: Final = {
    Answer.YES: "The fan of the bays runs as long as this is sprayed; all the same",
    Answer.NO: "The bays are stated to have no fan: have ventilation planned before the first use, and",
    Answer.NOT_KNOWN: "Ventilate the bays and",
}


def foam_and_mist(scene: Scene) -> Iterator[Finding]:
    """What is sprayed and must not be breathed, and what burns."""
    for product in scene.such(lambda h: h.sharp):
        drops = scene.drops_of(product)
        for shapes, rule, word in ((FOAM, "foam-ventilation", "foam"), (_MIST, "mist-ventilation", "mist")):
            sprayed = [d for d in drops if d.nozzle in shapes]
            if sprayed:
                yield Finding(
                    Severity.WARNING
                    if hazards_of(product.sheet).corrosive in (Known.YES, Known.LIKELY)
                    and scene.site.ventilated is not Answer.YES
                    else Severity.NOTE,
                    scene.place_of_drop(sprayed[0], "nozzle"),
                    rule,
                    "Nozzle type: {product} is sprayed as {what} at {drops}. {air} keep it off face "
                    "and lungs; its safety data sheet tells the exposure limits.",
                    "29 CFR 1910.132 and 1910.134 (from memory)",
                    LOCAL,
                    facts(
                        product=named(product),
                        what=word,
                        drops=drops_named(sprayed),
                        air=Phrase(_AIR[scene.site.ventilated]),
                    ),
                )
    flammable = [p for p in scene.such(lambda h: h.flammable) if scene.drops_of(p)]
    if flammable:
        yield Finding(
            Severity.NOTE,
            scene.place_of(flammable[0]),
            "flammable-spray",
            "Chemistry: {products} may be flammable, the concentrate above all. Sprayed at {drops}: no flame, "
            "spark or hot lamp there or at the board; bond and earth metal containers while they are filled or "
            "emptied, "
            "and have the fire authority look at the stored amount.",
            "29 CFR 1910.106 (from memory)",
            FIRE,
            facts(
                products=products_named(flammable),
                drops=drops_named(d for product in flammable for d in scene.drops_of(product)),
            ),
        )


def vented_caps(scene: Scene) -> Iterator[Finding]:
    """Concentrates that burst a container that is shut tight."""
    gassing = scene.of_chemistry(GASSING)
    if gassing:
        yield Finding(
            Severity.WARNING,
            scene.place_of(gassing[0]),
            "vented-cap",
            "Chemistry: the concentrate of {products} gives off gas as it stands. Cap, tap and day tank must be able "
            "to vent; shut tight, "
            "a "
            "container can burst.",
            "general handbooks, from memory; common practice",
            "maker of the product",
            facts(products=products_named(gassing)),
        )
