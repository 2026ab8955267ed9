"""What codes and common practice ask of a board and its surroundings; who decides stands in each finding."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from estimator.model.choices import NozzleType
from estimator.model.design import AIR, Product
from estimator.model.finding import Amount, Facts, Finding, Kind, Ref, Severity, facts
from estimator.safety.hazards import Known, hazards_of
from estimator.safety.limits import BLOW_OFF_LIMIT_PA, COLD_WATER_K, TABLE_LIMIT_K
from estimator.safety.materials import MATERIALS_SOURCE
from estimator.safety.scene import FIRE, LOCAL, Scene, drops_named, named, products_named
from estimator.units import Dimension

__all__ = [
    "FOAM",
    "backflow",
    "blow_off",
    "containment",
    "foam_and_mist",
    "tank_covers",
    "tray_volume",
    "water_temperature",
]

SCALD_K: Final = 273.15 + 49

FOAM: Final = frozenset({NozzleType.FOAM_GUN, NozzleType.FOAM_TIP})
"""Shapes that are sprayed as foam."""
_MIST: Final = frozenset({NozzleType.FAN, NozzleType.FULL_CONE})


def tank_covers(scene: Scene) -> Iterator[Finding]:
    """Day tanks without a cover."""
    for i, unit in enumerate(scene.design.plant):
        if not unit.tank_cover:
            yield Finding(
                Severity.WARNING,
                f"design.plant.{i}.tank_cover",
                "tank-open",
                "Tank cover: the day tank of {product} is open. A day tank has a cover: it keeps vapour and spray in "
                "and dirt out.",
                "common practice, no source",
                facts=facts(product=Ref(Kind.PRODUCT, unit.product)),
            )


def backflow(scene: Scene) -> Iterator[Finding]:
    """Protection of the drinking water, and who decides."""
    if not scene.design.products:
        return
    stays = scene.design.common.existing
    yield Finding(
        Severity.NOTE,
        "design.common.backflow",
        "backflow-defer",
        "Backflow protection: the water supply of a chemical dispenser needs a listed dispenser (ASSE "
        "1055), an air gap or an approved assembly. The local plumbing code and water authority decide "
        "which, and a licensed plumber installs and tests it."
        + (" The one that stays must be checked for the products added." if stays else ""),
        "UPC 2024 603.5.22 (confirmed); IPC 608 (from memory, numbering moves by edition); ASSE 1055",
        "local plumbing code, water authority, licensed plumber",
    )


def tray_volume(products: Iterable[Product]) -> tuple[float, float, float]:
    """What a tray below all concentrates must hold, the largest container, and all of them, m3.

    V = max(largest, all / 10): 40 CFR 264.175(b)(3), which is for hazardous waste and a reference only here.

    >>> from estimator.units import parse
    >>> drums = Product(id="a", container=parse("208 L", Dimension.VOLUME), containers=4)
    >>> [round(v * 1000) for v in tray_volume([drums])]
    [208, 208, 832]
    """
    kept = [(p.container.si, p.containers) for p in products]
    largest = max((volume for volume, _ in kept), default=0.0)
    every = sum(volume * count for volume, count in kept)
    return max(largest, every / 10.0), largest, every


def containment(scene: Scene) -> Iterator[Finding]:
    """A tray below the concentrates, and what it must hold."""
    common = scene.design.common
    if not scene.design.products:
        return
    holds, largest, every = (Amount(v, Dimension.VOLUME, 0) for v in tray_volume(scene.design.products))
    source = "common practice; 40 CFR 264.175(b)(3) as a reference only (it is for hazardous waste)"
    known = facts(holds=holds, largest=largest, every=every)
    size = "the largest container ({largest}), or a tenth of all of them ({every}) if that is more: {holds}"
    if not common.containment and not common.existing:
        yield Finding(
            Severity.WARNING,
            "design.common.containment",
            "containment-missing",
            f"Containment tray: none is chosen. A tray that holds {size}, keeps a leak off the floor and out of the "
            "drain.",
            source,
            LOCAL,
            known,
        )
        return
    yield Finding(
        Severity.NOTE,
        "design.common.containment",
        "containment-size",
        f"Containment tray: make sure that it holds {size}."
        + (" The one that stays was made for what stood there before." if common.existing else ""),
        source,
        LOCAL,
        known,
    )


def blow_off(scene: Scene) -> Iterator[Finding]:
    """Compressed air that reaches a blow gun."""
    drops = [d for d in scene.design.drops if d.service == AIR]
    if drops and scene.air.pressure.si >= BLOW_OFF_LIMIT_PA:
        yield Finding(
            Severity.WARNING,
            "site.air.pressure",
            "blow-off-pressure",
            "Compressor pressure: {pressure} reaches the air drops ({drops}). Air for cleaning must stay below "
            "{limit} with the outlet blocked, with chip guarding and eye protection: use guns that relieve a blocked "
            "outlet below that, or regulate the air line below it.",
            "OSHA 29 CFR 1910.242(b), less than 30 psi",
            facts=facts(
                pressure=Amount.of(scene.air.pressure),
                drops=drops_named(drops),
                limit=Amount(BLOW_OFF_LIMIT_PA, Dimension.PRESSURE),
            ),
        )


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
                    else Severity.NOTE,
                    scene.place_of_drop(sprayed[0], "nozzle"),
                    rule,
                    "Nozzle type: {product} is sprayed as {what} at {drops}. Ventilate the bays and keep it off face "
                    "and lungs; its safety data sheet tells the exposure limits.",
                    "29 CFR 1910.132 and 1910.134 (from memory)",
                    LOCAL,
                    facts(product=named(product), what=word, drops=drops_named(sprayed)),
                )
    flammable = [p for p in scene.such(lambda h: h.flammable) if scene.drops_of(p)]
    if flammable:
        yield Finding(
            Severity.NOTE,
            scene.place_of(flammable[0]),
            "flammable-spray",
            "Chemistry: {products} may be flammable, the concentrate above all. Keep ignition sources away from "
            "board and bays, and have the fire authority look at the stored amount.",
            "29 CFR 1910.106 (from memory)",
            FIRE,
            facts(products=products_named(flammable)),
        )


def water_temperature(scene: Scene) -> Iterator[Finding]:
    """Water that freezes, scalds or is above what tables and tubes are for."""
    temperature = scene.water.temperature
    water = Amount.of(temperature)

    def limit(kelvin: float) -> Facts:
        return facts(water=water, limit=Amount(kelvin, Dimension.TEMPERATURE, 0))

    if temperature.si < COLD_WATER_K - 1e-9:
        yield Finding(
            Severity.WARNING,
            "site.water.temperature",
            "water-freezing",
            "Water temperature: {water} is close to freezing. Keep hall and tubes above {limit} or drain the lines; "
            "ice bursts tubes, pumps and proportioners.",
            "freezing point of water; the distance to it is common practice, no source",
            facts=limit(COLD_WATER_K),
        )
    if temperature.si > SCALD_K:
        yield Finding(
            Severity.WARNING,
            "site.water.temperature",
            "water-scald",
            "Water temperature: {water} scalds skin and drives vapour out of the tanks; {limit} or less would be "
            "right.",
            "plumbing codes' usual limit, from memory",
            "licensed plumber",
            limit(SCALD_K),
        )
    if temperature.si > TABLE_LIMIT_K:
        yield Finding(
            Severity.NOTE,
            "site.water.temperature",
            "water-warm",
            "Water temperature: {water} is above {limit}, which the materials table is stated for. Confirm tubes, "
            "seals and bodies with the maker's data.",
            MATERIALS_SOURCE,
            facts=limit(TABLE_LIMIT_K),
        )
    celsius = temperature.si - 273.15
    chosen = {tube.key for service in scene.known.lines for tube in scene.known.tubes_of(service)}
    for tube in scene.known.tubes.values():
        rated = max((t for t, _ in tube.derating), default=celsius)
        if tube.key in chosen and celsius > rated:
            yield Finding(
                Severity.ERROR,
                "site.water.temperature",
                "tube-too-hot",
                "Water temperature: {water} is above {limit}, the end of the pressure rating of {tube}. Choose another "
                "tube or cooler water.",
                "parts catalogue",
                facts=(*limit(273.15 + rated), *facts(tube=Ref(Kind.TUBE, tube.key))),
            )
