"""Parts that a product flows through, from its container to the nozzle, against the materials table.

Before the proportioner a part sees the concentrate at full strength, behind it the solution; a product that is used
undiluted is one all the way. A part is forbidden only where the table is firm for the strength that it sees; whatever
the table does not know for certain is to be looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, TypeVar

from estimator.model.choices import Chemistry
from estimator.model.design import Drop, Product
from estimator.model.finding import Fact, Finding, IdKind, Number, Phrase, Ref, Severity, facts, some
from estimator.reference.catalogue import Part, Proportioner, Tube
from estimator.reference.resolved import PICK_UP, KnownUnit
from estimator.safety.materials import (
    DILUTE_FROM,
    MATERIALS_SOURCE,
    Material,
    Stand,
    materials_in,
    unread,
    worst,
)
from estimator.safety.scene import Scene, classes_of, drops_named, named

__all__ = [
    "FORBIDDEN",
    "Contact",
    "Judged",
    "WettedChoice",
    "contacts",
    "first_that_stands",
    "judged",
    "part_stands",
    "unfit_lines",
    "wetted_parts",
]

FORBIDDEN: Final = "part-material"
"""Name of the rule whose findings fail a line."""

_Part = TypeVar("_Part", bound=Part)

_PICK_UP_NAMES: Final = dict(zip(PICK_UP, ("suction tube", "foot valve", "metering tip"), strict=True))


@dataclass(frozen=True, slots=True)
class WettedChoice:
    """One choice of a design that a product flows through, with what comes with it.

    Attributes:
        product: what flows there.
        head: what a sentence about it begins with ("Gun").
        part: the part in a sentence.
        place: of the choice in the job.
        dilution: parts of water to one of concentrate in what it sees; 0 for the concentrate.
        pressed: whether it is under the pump's pressure.
    """

    product: Product
    head: str
    part: Phrase
    place: str
    dilution: float
    pressed: bool = True


@dataclass(frozen=True, slots=True)
class Contact:
    """One piece that a product touches.

    Attributes:
        choice: that it comes with.
        name: of the part ("foot valve").
        piece: of it ("seal").
        words: what it is made of, as the catalogue words it; "" where nobody stated it.
    """

    choice: WettedChoice
    name: str
    piece: str
    words: str


@dataclass(frozen=True, slots=True)
class Judged:
    """How a piece stands: what is worst of its materials, with the class that it stands least.

    `material` and `chemistry` are None where its words say nothing that the table knows.
    """

    stand: Stand
    material: Material | None = None
    chemistry: Chemistry | None = None


_NOT_READ: Final = Judged(Stand.OPEN)
_ORDER: Final = {stand: place for place, stand in enumerate(Stand)}


@lru_cache(maxsize=4096)
def judged(words: str, classes: tuple[Chemistry, ...], dilution: float) -> Judged:
    """How what is made of these materials stands these classes, the worst of them.

    Args:
        words: as the catalogue words them.
        classes: of the product; of none nothing is known.
        dilution: of what the piece sees.
    """
    found = [
        Judged(least[1].stand, material, least[0])
        for material in materials_in(words)
        if (least := worst(classes, material, dilution)) is not None
    ]
    if not found or unread(words):
        found.append(_NOT_READ)
    return min(found, key=lambda one: _ORDER[one.stand])


_NOT_STATED: Final = ("wetted part", "")


def _pieces(part: Part) -> tuple[tuple[str, str], ...]:
    """A part's pieces; of one that nobody stated them of, the part as a whole."""
    return part.pieces or (_NOT_STATED,)


def part_stands(product: Product, part: Part) -> bool:
    """Whether a product may flow through a part with what comes with it: no piece of it is known not to stand it."""
    words, dilution = [words for _, words in part.pieces], product.dilution
    if isinstance(part, Proportioner):
        dilution = 0.0
        words += [w for one in part.pick_up.values() for w in one.wetted.values()]
    elif isinstance(part, Tube):
        words += [w for kind in part.fitting_wetted.values() for w in kind.values()]
    return all(judged(w, product.sheet.classes, dilution).stand is not Stand.NEVER for w in words)


def first_that_stands(product: Product, made: Sequence[_Part]) -> _Part:
    """The first part that a product may flow through with what comes with it; the first of all if none."""
    return next((one for one in made if part_stands(product, one)), made[0])


def contacts(scene: Scene, product: Product) -> Iterator[Contact]:
    """Every piece that a product touches, in the order in which it flows."""
    if (unit := scene.known.unit(product.id)) is not None:
        yield from _of_plant(scene, product, unit)
    if scene.drops_of(product):
        yield from _of_line(scene, product)
        yield from _of_drops(scene, product)


def _of_plant(scene: Scene, product: Product, unit: KnownUnit) -> Iterator[Contact]:
    place = scene.place_of_plant(product.id)
    made, tank, pump = unit.proportioner, unit.tank, unit.pump
    if made is not None:
        part = Phrase(
            "{made} with its suction tube, foot valve and tips",
            facts(made=Ref(IdKind.PROPORTIONER, made.key)),
        )
        choice = WettedChoice(product, "Proportioner", part, f"{place}.proportioner", 0.0, pressed=False)
        for key, wetted in unit.pick_up.items():
            for piece, words in wetted.items() or (_NOT_STATED,):
                yield Contact(choice, _PICK_UP_NAMES[key], piece, words)
        for piece, words in _pieces(made):
            yield Contact(choice, "proportioner", piece, words)
    if tank is not None:
        part = Phrase("{made}", facts(made=Ref(IdKind.TANK, tank.key)))
        choice = WettedChoice(product, "Day tank", part, f"{place}.tank", product.dilution, pressed=False)
        for piece, words in _pieces(tank):
            yield Contact(choice, "day tank", piece, words)
    if pump is not None:
        part = Phrase("{made}", facts(made=Ref(IdKind.PUMP, pump.key)))
        choice = WettedChoice(product, "Pump", part, f"{place}.pump", product.dilution)
        for piece, words in _pieces(pump):
            yield Contact(choice, "pump", piece, words)


def _of_line(scene: Scene, product: Product) -> Iterator[Contact]:
    plan = scene.known.lines.get(product.id)
    place = f"{scene.place_of_line(product.id)}.tube" if plan is not None else scene.place_of(product)
    for tube in scene.known.tubes_of(product.id):
        part = Phrase("{tube} with its fittings and valves", facts(tube=Ref(IdKind.TUBE, tube.key)))
        choice = WettedChoice(product, "Tube", part, place, product.dilution)
        for piece, words in _pieces(tube):
            yield Contact(choice, "tube", piece, words)
        if tube.fitting_codes and not tube.fitting_wetted:
            yield Contact(choice, "fittings", *_NOT_STATED)
        for piece, words in sorted({item for kind in tube.fitting_wetted.values() for item in kind.items()}):
            yield Contact(choice, "fittings", piece, words)


def _of_drops(scene: Scene, product: Product) -> Iterator[Contact]:
    """Hoses, guns and nozzles, each with the drops that have it."""
    used: dict[tuple[IdKind, str], tuple[str, tuple[tuple[str, str], ...], list[Drop]]] = {}
    for known in scene.known.drops_of(product.id):
        if (hose := known.hose) is not None:
            used.setdefault((IdKind.HOSE, hose.key), ("hose_bore", _pieces(hose), []))[2].append(known.drop)
        if (gun := known.gun) is not None:
            used.setdefault((IdKind.GUN, gun.key), ("gun", _pieces(gun), []))[2].append(known.drop)
        size, nozzle, make = known.size, known.nozzle, known.make
        if size is not None and size.wetted is not None:  # a maker's own nozzle
            pieces = tuple(size.wetted.items()) or (_NOT_STATED,)
            used.setdefault((IdKind.NOZZLE_SIZE, size.key), ("nozzle_size", pieces, []))[2].append(known.drop)
        elif nozzle is not None and nozzle.code:  # where nothing is bought nothing is touched
            if make is None:  # a key that the catalogue does not have
                used.setdefault((IdKind.NOZZLE, nozzle.key), ("nozzle", (_NOT_STATED,), []))[2].append(
                    known.drop
                )
            else:
                made = (IdKind.NOZZLE_MAKE, make.key)
                used.setdefault(made, ("nozzle_make", _pieces(make), []))[2].append(known.drop)
    for (kind, key), (field, pieces, at) in used.items():
        name = {IdKind.HOSE: "hose", IdKind.GUN: "gun"}.get(kind, "nozzle")
        words = "{made} at {drops}"
        if kind in (IdKind.NOZZLE_MAKE, IdKind.HOSE):  # whose names tell a material and a size
            words = f"{name} of {words}"
        part = Phrase(words, facts(made=Ref(kind, key), drops=drops_named(at)))
        choice = WettedChoice(
            product, name.capitalize(), part, scene.place_of_drop(at[0], field), product.dilution
        )
        for piece, words in pieces:
            yield Contact(choice, name, piece, words)


def _strength(choice: WettedChoice) -> Phrase:
    """What it sees, after the product's name."""
    if choice.product.dilution == 0:
        return Phrase(" undiluted")
    if choice.dilution == 0:
        return Phrase(" at full strength")
    words = " diluted only {ratio}" if choice.dilution < DILUTE_FROM else " even diluted {ratio}"
    return Phrase(words, facts(ratio=Number(choice.dilution, 2, ":1")))


def _forbidden(choice: WettedChoice, those: list[tuple[Contact, Judged]]) -> Finding:
    where: dict[str, dict[str, None]] = {}
    for contact, found in those:
        if found.material is not None:
            where.setdefault(found.material.value, {})[f"{contact.piece} of {contact.name}"] = None
    pieces = [f"{material} ({', '.join(at)})" for material, at in where.items()]
    classes = dict.fromkeys(
        found.chemistry.label.lower() for _, found in those if found.chemistry is not None
    )
    return Finding(
        Severity.ERROR,
        choice.place,
        FORBIDDEN,
        "{head}: {part} does not stand {product} ({product_is}){strength}: {pieces}. It can dissolve, swell or crack, "
        "and the product can {out}. Choose another.",
        MATERIALS_SOURCE,
        facts=facts(
            head=choice.head,
            part=choice.part,
            product=named(choice.product),
            product_is=", ".join(classes),
            strength=_strength(choice),
            pieces="; ".join(pieces),
            out="spray out under pressure" if choice.pressed else "leak",
        ),
    )


def _materials(those: Iterable[Contact]) -> str:
    """Materials with the parts that have them ("EPDM in pump and fittings")."""
    where: dict[str, dict[str, None]] = {}
    for contact in those:
        where.setdefault(contact.words or "what nobody stated", {})[contact.name] = None
    return "; ".join(f"{words} in {some(names, len(names))}" for words, names in where.items())


def _look(rule: str, sentence: str, product: Product, those: list[Contact]) -> Finding:
    ratio: Fact = ""
    if product.dilution != 0:
        ratio = Phrase(", {ratio}", facts(ratio=Number(product.dilution, 2, ":1")))
    return Finding(
        Severity.WARNING,
        those[0].choice.place,
        rule,
        sentence,
        MATERIALS_SOURCE,
        facts=facts(
            product=named(product), product_is=classes_of(product), ratio=ratio, materials=_materials(those)
        ),
    )


def wetted_parts(scene: Scene) -> Iterator[Finding]:
    """What does not stand a product, what may not, and what nobody can tell."""
    flows = False
    for product in scene.design.products:
        never: dict[str, tuple[WettedChoice, list[tuple[Contact, Judged]]]] = {}
        doubt: list[Contact] = []
        unknown: list[Contact] = []
        for contact in contacts(scene, product):
            flows = True
            found = judged(contact.words, product.sheet.classes, contact.choice.dilution)
            if found.stand is Stand.NEVER:
                choice = contact.choice
                never.setdefault(choice.place, (choice, []))[1].append((contact, found))
            elif found.stand is Stand.DOUBT:
                doubt.append(contact)
            elif found.stand is Stand.OPEN:
                unknown.append(contact)
        for choice, those in never.values():
            yield _forbidden(choice, those)
        if doubt:
            yield _look(
                "part-material-doubt",
                "Materials for {product} ({product_is}{ratio}): these may stand it only for a short time: {materials}. "
                "Confirm with the maker's data, or choose others.",
                product,
                doubt,
            )
        if unknown:
            yield _look(
                "material-unknown",
                "Materials for {product} ({product_is}{ratio}): nothing certain is known of {materials}. Confirm with "
                "the maker's data.",
                product,
                unknown,
            )
    if flows:
        yield Finding(
            Severity.NOTE,
            "design.products",
            "container-tap",
            "Containers: their taps and caps come with the products and were not checked. Ask the supplier what they "
            "are made of.",
            "common practice, no source",
        )


def unfit_lines(findings: Iterable[Finding]) -> frozenset[str]:
    """Ids of the products with a part that does not stand them: their lines fail, whatever the pressure."""
    return frozenset(
        fact.id
        for finding in findings
        if finding.rule == FORBIDDEN
        for name, fact in finding.facts
        if name == "product" and isinstance(fact, Ref)
    )
