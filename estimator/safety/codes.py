"""What codes and common practice ask of a board and its surroundings; who decides stands in each finding."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.model.air_pressure import highest_air
from estimator.model.design import AIR
from estimator.model.finding import Amount, Facts, Finding, IdKind, Phrase, Ref, Severity, facts
from estimator.safety.limits import BLOW_OFF_LIMIT_PA, COLD_WATER_K, TABLE_LIMIT_K
from estimator.safety.materials import MATERIALS_SOURCE
from estimator.safety.scene import Scene, drops_named
from estimator.units import Dimension, Quantity

__all__ = [
    "blow_off",
    "tank_covers",
    "water_temperature",
]

_BLOW_OFF: Final = "OSHA 29 CFR 1910.242(b), less than 30 psi"

SCALD_K: Final = 273.15 + 49


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
                facts=facts(product=Ref(IdKind.PRODUCT, unit.product)),
            )


def blow_off(scene: Scene) -> Iterator[Finding]:
    """Compressed air that reaches a blow gun: below the limit by the line's regulator, or by guns that relieve."""
    drops = [one for one in scene.known.drops if one.drop.service == AIR]
    highest = highest_air(scene.air, scene.design.lines)
    if not drops or highest.pressure.si < BLOW_OFF_LIMIT_PA:
        return
    limit = Amount(BLOW_OFF_LIMIT_PA, Dimension.PRESSURE)
    # A gun that is not in the catalogue, or not made for air, relieves nothing.
    open_ = [one.drop for one in drops if one.gun is None or not (one.gun.for_air and one.gun.relieves)]
    if open_:
        yield Finding(
            Severity.WARNING,
            highest.place,
            "blow-off-pressure",
            "{label}: {pressure} reaches the air drops ({drops}). Air for cleaning must stay below "
            "{limit} with the outlet blocked, with chip guarding and eye protection: use guns that relieve a blocked "
            "outlet below that, or regulate the air line below it.",
            _BLOW_OFF,
            facts=facts(
                label=Phrase("Line regulator" if highest.regulated else "Compressor pressure"),
                whose=Phrase("The air line's" if highest.regulated else "Your compressor's"),
                pressure=Amount.of(highest.pressure),
                drops=drops_named(open_),
                limit=limit,
            ),
        )
    if relieving := [one.drop for one in drops if one.drop not in open_]:
        yield Finding(
            Severity.NOTE,
            scene.place_of_drop(relieving[0], "gun"),
            "blow-off-relieved",
            "Air drops: at {drops} {pressure} reaches guns that are declared to keep a blocked outlet below {limit}. "
            "Have that in writing from the gun's maker; chip guarding and eye protection are needed all the same.",
            _BLOW_OFF,
            facts=facts(pressure=Amount.of(highest.pressure), drops=drops_named(relieving), limit=limit),
        )


def water_temperature(scene: Scene) -> Iterator[Finding]:
    """Water that freezes, scalds or is above what tables and tubes are for, in the coldest and the warmest weeks."""
    readings = [
        (warm, f"site.water.{field}", words)
        for warm, field, words in (
            (scene.water.temperature, "temperature", "Water temperature"),
            (scene.water.winter, "winter", "Water in winter"),
            (scene.water.summer, "summer", "Water in summer"),
        )
        if warm is not None
    ]
    coldest = min(readings, key=lambda reading: reading[0].si)
    hottest = max(readings, key=lambda reading: reading[0].si)
    yield from _cold_water(*coldest)
    yield from _hot_water(scene, *hottest)


def _of_water(water: Quantity, label: str, limit_k: float) -> Facts:
    return facts(label=Phrase(label), water=Amount.of(water), limit=Amount(limit_k, Dimension.TEMPERATURE, 0))


def _cold_water(temperature: Quantity, place: str, label: str) -> Iterator[Finding]:
    if temperature.si < COLD_WATER_K - 1e-9:
        yield Finding(
            Severity.WARNING,
            place,
            "water-freezing",
            "{label}: {water} is close to freezing. Keep hall and tubes above {limit} or drain the lines; "
            "ice bursts tubes, pumps and proportioners.",
            "freezing point of water; the distance to it is common practice, no source",
            facts=_of_water(temperature, label, COLD_WATER_K),
        )


def _hot_water(scene: Scene, temperature: Quantity, place: str, label: str) -> Iterator[Finding]:
    if temperature.si > SCALD_K:
        yield Finding(
            Severity.WARNING,
            place,
            "water-scald",
            "{label}: {water} scalds skin and drives vapour out of the tanks; {limit} or less would be "
            "right.",
            "plumbing codes' usual limit, from memory",
            "licensed plumber",
            _of_water(temperature, label, SCALD_K),
        )
    if temperature.si > TABLE_LIMIT_K:
        yield Finding(
            Severity.NOTE,
            place,
            "water-warm",
            "{label}: {water} is above {limit}, which the materials table is stated for. Confirm tubes, "
            "seals and bodies with the maker's data.",
            MATERIALS_SOURCE,
            facts=_of_water(temperature, label, TABLE_LIMIT_K),
        )
    celsius = temperature.si - 273.15
    chosen = {tube.key for service in scene.known.lines for tube in scene.known.tubes_of(service)}
    for tube in scene.known.tubes.values():
        rated = max((t for t, _ in tube.derating), default=celsius)
        if tube.key in chosen and celsius > rated:
            yield Finding(
                Severity.ERROR,
                place,
                "tube-too-hot",
                "{label}: {water} is above {limit}, the end of the pressure rating of {tube}. Choose another "
                "tube or cooler water.",
                "parts catalogue",
                facts=(
                    *_of_water(temperature, label, 273.15 + rated),
                    *facts(tube=Ref(IdKind.TUBE, tube.key)),
                ),
            )
