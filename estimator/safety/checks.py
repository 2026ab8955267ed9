"""Findings about harm to people and parts, as far as the job tells.

Each rule is one small function from what it needs to its findings; `safety_findings` runs them all. What is a
fact of another's trade or of a local code is deferred to them in the finding. No finding is a promise that
there is no hazard.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Final

from estimator.model.choices import Chemistry, NozzleType
from estimator.model.design import AIR, Design, Drop, Product
from estimator.model.finding import (
    Amount,
    Fact,
    Facts,
    Finding,
    Kind,
    Listed,
    Number,
    Phrase,
    Ref,
    Severity,
    facts,
)
from estimator.model.site import Site
from estimator.reference.catalogue import Gun, Tube
from estimator.reference.resolved import Resolved
from estimator.safety.chemistry import (
    CORROSIVE,
    FLAMMABLE,
    MAY_BE_CORROSIVE,
    SHARP_VAPOUR,
)
from estimator.safety.limits import BLOW_OFF_LIMIT_PA
from estimator.safety.materials import MATERIALS_SOURCE, Cell, Grade, Material, cell, materials_in
from estimator.safety.reactivity import Verdict, reaction
from estimator.units import Dimension

__all__ = ["safety_findings"]

COLD_WATER_K: Final = 273.15 + 5
TABLE_LIMIT_K: Final = 273.15 + 25
SCALD_K: Final = 273.15 + 49

_LOCAL: Final = "local authority"
_FIRE: Final = "local fire authority"
_FOAM: Final = frozenset({NozzleType.FOAM_GUN, NozzleType.FOAM_TIP})
_MIST: Final = frozenset({NozzleType.FAN, NozzleType.FULL_CONE})


@dataclass(frozen=True)
class _Scene:
    """What the rules look at."""

    site: Site
    design: Design
    known: Resolved

    def of_chemistry(self, wanted: Iterable[Chemistry]) -> tuple[Product, ...]:
        """Products of these chemistries in design order."""
        group = frozenset(wanted)
        return tuple(p for p in self.design.products if p.chemistry in group)

    def place_of(self, product: Product) -> str:
        """Where the form asks for a product's chemistry."""
        return f"design.products.{self._products_at[product.id]}.chemistry"

    def place_of_drop(self, drop: Drop, field: str) -> str:
        """Where the form asks for a field of a drop."""
        return f"design.drops.{self._drops_at[drop.id]}.{field}"

    def drops_of(self, product: Product) -> tuple[Drop, ...]:
        """Drops of a product in design order."""
        return self._by_service.get(product.id, ())

    @cached_property
    def _products_at(self) -> dict[str, int]:
        return {product.id: i for i, product in enumerate(self.design.products)}

    @cached_property
    def _drops_at(self) -> dict[str, int]:
        return {drop.id: i for i, drop in enumerate(self.design.drops)}

    @cached_property
    def _by_service(self) -> dict[str, tuple[Drop, ...]]:
        found: dict[str, list[Drop]] = {}
        for drop in self.design.drops:
            found.setdefault(drop.service, []).append(drop)
        return {service: tuple(drops) for service, drops in found.items()}


_Rule = Callable[[_Scene], Iterator[Finding]]


def _drops(drops: Iterable[Drop]) -> Listed:
    return Listed(tuple(Ref(Kind.DROP, d.id) for d in drops))


def _product(product: Product) -> Ref:
    return Ref(Kind.PRODUCT, product.id)


def _products(products: Iterable[Product]) -> Listed:
    return Listed(tuple(_product(p) for p in products))


def _reactions(scene: _Scene) -> Iterator[Finding]:
    for a, b in combinations(scene.design.products, 2):
        rule = reaction(a.chemistry, b.chemistry)
        if rule is None:
            continue
        known = facts(
            a=_product(a),
            a_is=a.chemistry.label.lower(),
            b=_product(b),
            b_is=b.chemistry.label.lower(),
            hazard=rule.hazard,
        )
        pair = "{a} ({a_is}) with {b} ({b_is}) {hazard}"
        source = f"{rule.source}; {rule.status}"
        place = scene.place_of(b)
        if rule.verdict is Verdict.NEVER_TOGETHER:
            yield Finding(
                Severity.ERROR,
                place,
                "mixing-forbidden",
                f"Chemistry: {pair}. They must never meet: take one off this board, and never let them share a "
                "tank, a tray, a drain or a bay floor. The safety data sheets decide.",
                source,
                _LOCAL,
                known,
            )
        elif rule.verdict is Verdict.KEEP_APART:
            yield Finding(
                Severity.WARNING,
                place,
                "mixing-apart",
                f"Chemistry: {pair}. Keep the concentrates apart: separate trays, separate suction tubes, tanks "
                "not beside each other; rinse the vehicle between the two.",
                source,
                facts=known,
            )
        else:
            yield Finding(
                Severity.NOTE,
                place,
                "mixing-inactive",
                f"Chemistry: {pair}. Rinse well between the two.",
                source,
                facts=known,
            )


def _fluoride(scene: _Scene) -> Iterator[Finding]:
    for product in scene.of_chemistry({Chemistry.FLUORIDE_ACID}):
        yield Finding(
            Severity.WARNING,
            scene.place_of(product),
            "fluoride-acid",
            "Chemistry: {product} is a fluoride acid. Burns need the special first aid of its safety data sheet at "
            "hand before work starts, and no glass or ceramic part may be wetted by it.",
            "general handbooks, from memory; 29 CFR 1910.151",
            "occupational physician",
            facts(product=_product(product)),
        )


def _tank_covers(scene: _Scene) -> Iterator[Finding]:
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


def _eyewash(scene: _Scene) -> Iterator[Finding]:
    if scene.design.common.eyewash:
        return
    source = "29 CFR 1910.151(c); ANSI/ISEA Z358.1-2014 (reach within 10 s, 15 min of flow)"
    advice = (
        "An eyewash must be reached within 10 s on a free path and flow for 15 min. Quote one, or make "
        "sure that one hangs there."
    )
    corrosive = scene.of_chemistry(CORROSIVE)
    if corrosive:
        yield Finding(
            Severity.WARNING,
            "design.common.eyewash",
            "eyewash-missing",
            f"Eyewash station: {{products}} can be corrosive and no eyewash is quoted. {advice}",
            source,
            _LOCAL,
            facts(products=_products(corrosive)),
        )
        return
    maybe = scene.of_chemistry(MAY_BE_CORROSIVE)
    if maybe:
        yield Finding(
            Severity.NOTE,
            "design.common.eyewash",
            "eyewash-check",
            "Eyewash station: look up in the safety data sheets whether the concentrate of {products} is corrosive; "
            f"if so: {advice[0].lower()}{advice[1:]}",
            source,
            _LOCAL,
            facts(products=_products(maybe)),
        )


def _backflow(scene: _Scene) -> Iterator[Finding]:
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


def _containment(scene: _Scene) -> Iterator[Finding]:
    common = scene.design.common
    if scene.design.products and not common.containment and not common.existing:
        yield Finding(
            Severity.WARNING,
            "design.common.containment",
            "containment-missing",
            "Containment tray: none is chosen. A tray that holds the largest container, or a tenth of all "
            "of them if that is more, keeps a leak off the floor and out of the drain.",
            "common practice; 40 CFR 264.175(b)(3) as a reference only (it is for hazardous waste)",
            _LOCAL,
        )


def _blow_off(scene: _Scene) -> Iterator[Finding]:
    drops = [d for d in scene.design.drops if d.service == AIR]
    if drops and scene.site.air.pressure.si >= BLOW_OFF_LIMIT_PA:
        yield Finding(
            Severity.WARNING,
            "site.air.pressure",
            "blow-off-pressure",
            "Compressor pressure: {pressure} reaches the air drops ({drops}). Air for cleaning must stay below "
            "{limit} with the outlet blocked, with chip guarding and eye protection: use guns that relieve a blocked "
            "outlet below that, or regulate the air line below it.",
            "OSHA 29 CFR 1910.242(b), less than 30 psi",
            facts=facts(
                pressure=Amount.of(scene.site.air.pressure),
                drops=_drops(drops),
                limit=Amount(BLOW_OFF_LIMIT_PA, Dimension.PRESSURE),
            ),
        )


def _foam_and_mist(scene: _Scene) -> Iterator[Finding]:
    for product in scene.of_chemistry(SHARP_VAPOUR):
        drops = scene.drops_of(product)
        for shapes, rule, word in ((_FOAM, "foam-ventilation", "foam"), (_MIST, "mist-ventilation", "mist")):
            sprayed = [d for d in drops if d.nozzle in shapes]
            if sprayed:
                yield Finding(
                    Severity.WARNING if product.chemistry in CORROSIVE else Severity.NOTE,
                    scene.place_of_drop(sprayed[0], "nozzle"),
                    rule,
                    "Nozzle type: {product} is sprayed as {what} at {drops}. Ventilate the bays and keep it off face "
                    "and lungs; its safety data sheet tells the exposure limits.",
                    "29 CFR 1910.132 and 1910.134 (from memory)",
                    _LOCAL,
                    facts(product=_product(product), what=word, drops=_drops(sprayed)),
                )
    flammable = [p for p in scene.of_chemistry(FLAMMABLE) if scene.drops_of(p)]
    if flammable:
        yield Finding(
            Severity.NOTE,
            scene.place_of(flammable[0]),
            "flammable-spray",
            "Chemistry: {products} may be flammable, the concentrate above all. Keep ignition sources away from "
            "board and bays, and have the fire authority look at the stored amount.",
            "29 CFR 1910.106 (from memory)",
            _FIRE,
            facts(products=_products(flammable)),
        )


def _water_temperature(scene: _Scene) -> Iterator[Finding]:
    temperature = scene.site.water.temperature
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
            "water freezes at 0 °C (32 °F); the distance to it is common practice, no source",
            facts=limit(COLD_WATER_K),
        )
    if temperature.si > SCALD_K:
        yield Finding(
            Severity.WARNING,
            "site.water.temperature",
            "water-scald",
            "Water temperature: {water} scalds skin and drives vapour out of the tanks; {limit} or less would be "
            "right.",
            "plumbing codes' usual limit of 120 °F, from memory",
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


def _stands(found: Cell, product: Product) -> Severity | None:
    """How bad a cell is for what comes after the proportioner, which sees the ready-to-use solution."""
    undiluted = product.dilution == 0
    if found.grade is Grade.NOT:
        return Severity.ERROR if undiluted and found.firm else Severity.WARNING
    if found.grade is Grade.SHORT:
        return Severity.WARNING if undiluted else Severity.NOTE
    return None


def _wetted(part: Phrase, words: str, product: Product, place: str, rule: str) -> Iterator[Finding]:
    """Findings of one wetted part against the product that flows through it.

    Args:
        part: the field's label and what the part is called in the sentence ("Gun: the seal of ...").
        words: its materials as the catalogue words them.
        product: what flows through it.
        place: of the choice in the job.
        rule: name of the rule.
    """
    for material in materials_in(words):
        found = cell(product.chemistry, material)
        severity = _stands(found, product) if found else None
        if found is None or severity is None:
            continue
        unfit = found.grade is Grade.NOT
        diluted: Fact = ""
        if product.dilution != 0:
            diluted = Phrase("; here it is diluted {ratio}", facts(ratio=Number(product.dilution, 2, ":1")))
        yield Finding(
            severity,
            place,
            rule,
            "{part} is of {material}, which does not stand the concentrate of {product}, {product_is}{diluted}. "
            "Choose another or confirm with the maker's data."
            if unfit
            else "{part} is of {material}, which stands the concentrate of {product}, {product_is}, only for a "
            "short time or diluted{diluted}. Confirm with the maker's data.",
            MATERIALS_SOURCE,
            facts=facts(
                part=part,
                material=material.value,
                product=_product(product),
                product_is=product.chemistry.label.lower(),
                diluted=diluted,
            ),
        )


def _unknown(part: Phrase, words: str, place: str) -> Finding:
    return Finding(
        Severity.NOTE,
        place,
        "material-unknown",
        "{part} ({words}) is not in the materials table. Confirm with the maker's data that it stands the products.",
        MATERIALS_SOURCE,
        facts=facts(part=part, words=words),
    )


def _gun_materials(scene: _Scene) -> Iterator[Finding]:
    guns = {known.drop.id: known.gun for known in scene.known.drops}
    told: set[str] = set()
    for product in scene.design.products:
        used: dict[str, tuple[Gun, list[Drop]]] = {}
        for drop in scene.drops_of(product):
            if (gun := guns[drop.id]) is not None:
                used.setdefault(gun.key, (gun, []))[1].append(drop)
        for gun, drops in used.values():
            place = scene.place_of_drop(drops[0], "gun")
            for part, words in (("seal", gun.seal), ("body", gun.body)):
                sentence = Phrase(
                    f"Gun: the {part} of {{gun}} at {{drops}}",
                    facts(gun=Ref(Kind.GUN, gun.key), drops=_drops(drops)),
                )
                if not materials_in(words) and words not in told:
                    told.add(words)
                    yield _unknown(sentence, words, place)
                yield from _wetted(sentence, words, product, place, f"gun-{part}-material")


def _tube_materials(scene: _Scene) -> Iterator[Finding]:
    """Tubes are told from their name, which says what they are made of."""
    told: set[str] = set()
    for product in scene.design.products:
        if not scene.drops_of(product):
            continue
        plan = scene.known.lines.get(product.id)
        place = (
            f"design.lines.{scene.design.lines.index(plan)}.tube"
            if plan is not None
            else scene.place_of(product)
        )
        kinds: dict[tuple[Material, ...], Tube] = {}
        for tube in scene.known.tubes_of(product.id):
            kinds.setdefault(materials_in(tube.name), tube)
        for tube in kinds.values():
            part, words = Phrase("Tube: {tube}", facts(tube=Ref(Kind.TUBE, tube.key))), tube.name
            if not materials_in(words) and words not in told:
                told.add(words)
                yield _unknown(part, words, place)
            yield from _wetted(part, words, product, place, "tube-material")


_RULES: Final[tuple[_Rule, ...]] = (
    _reactions,
    _fluoride,
    _eyewash,
    _gun_materials,
    _tube_materials,
    _tank_covers,
    _containment,
    _blow_off,
    _foam_and_mist,
    _water_temperature,
    _backflow,
)


def safety_findings(site: Site, design: Design, known: Resolved) -> tuple[Finding, ...]:
    """All safety findings of a design.

    Args:
        site: the survey.
        design: the design.
        known: its parts, looked up; a key that the catalogue lacks is told there.

    Returns:
        Findings, each with rule, source and who decides; in the order of the rules.
    """
    scene = _Scene(site, design, known)
    return tuple(finding for rule in _RULES for finding in rule(scene))
