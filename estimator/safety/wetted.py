"""Parts that a product flows through, against the materials table."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.design import Drop, Product
from estimator.model.finding import Fact, Finding, Kind, Number, Phrase, Ref, Severity, facts
from estimator.reference.catalogue import Gun, Tube
from estimator.safety.materials import MATERIALS_SOURCE, Cell, Grade, Material, materials_in, worst
from estimator.safety.scene import Scene, drops_named, named

__all__ = ["gun_materials", "tube_materials"]


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
        least = worst(product.sheet.classes, material)
        if least is None:
            continue
        chemistry, found = least
        severity = _stands(found, product)
        if severity is None:
            continue
        unfit = found.grade is Grade.NOT
        diluted: Fact = ""
        if product.dilution != 0:
            diluted = Phrase("; here it is diluted {ratio}", facts(ratio=Number(product.dilution, 2, ":1")))
        yield Finding(
            severity,
            place,
            rule,
            "{part} is of {material}, which does not stand the concentrate of {product} ({product_is}){diluted}. "
            "Choose another or confirm with the maker's data."
            if unfit
            else "{part} is of {material}, which stands the concentrate of {product} ({product_is}) only for a "
            "short time or diluted{diluted}. Confirm with the maker's data.",
            MATERIALS_SOURCE,
            facts=facts(
                part=part,
                material=material.value,
                product=named(product),
                product_is=chemistry.label.lower(),
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


def gun_materials(scene: Scene) -> Iterator[Finding]:
    """Seals and bodies of the guns."""
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
                    facts(gun=Ref(Kind.GUN, gun.key), drops=drops_named(drops)),
                )
                if not materials_in(words) and words not in told:
                    told.add(words)
                    yield _unknown(sentence, words, place)
                yield from _wetted(sentence, words, product, place, f"gun-{part}-material")


def tube_materials(scene: Scene) -> Iterator[Finding]:
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
