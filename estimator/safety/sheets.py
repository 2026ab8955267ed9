"""What is missing, old or at odds with itself in what was taken from the safety data sheets and labels."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import combinations
from typing import Final

from estimator.model.choices import Answer, Chemistry, Pictogram, SignalWord
from estimator.model.design import Product
from estimator.model.finding import Finding, Listed, Number, Severity, facts
from estimator.model.sheet import SafetySheet
from estimator.safety.chemistry import ACIDS, FLAMMABLE
from estimator.safety.hazards import codes_of
from estimator.safety.reactivity import MeetingVerdict, reaction
from estimator.safety.scene import Scene, named
from estimator.safety.traits import TRAITS_OF, Trait

__all__ = ["SHEET_YEARS", "classes_missing", "contradictions", "label_ranges", "sheets_incomplete"]

SHEET_YEARS: Final = 3
"""Age from which a safety data sheet is asked for anew, years; common practice, no source."""

_GHS: Final = "29 CFR 1910.1200 appendix C (from memory)"
_SHEET: Final = "29 CFR 1910.1200(g) (from memory)"

_PICTOGRAM_OF: Final[tuple[tuple[frozenset[str], Pictogram, str], ...]] = (
    (frozenset({"H290", "H314", "H318"}), Pictogram.CORROSION, "corrosion"),
    (frozenset({"H224", "H225", "H226"}), Pictogram.FLAME, "flame"),
    (frozenset({"H270", "H271", "H272"}), Pictogram.FLAME_OVER_CIRCLE, "flame over circle"),
    (frozenset({"H300", "H301", "H310", "H311", "H330", "H331"}), Pictogram.SKULL_AND_CROSSBONES, "skull"),
)
_DANGER: Final = frozenset(
    {"H224", "H225", "H271", "H300", "H301", "H310", "H311", "H314", "H318", "H330", "H331"}
)
_ALKALINE: Final = frozenset(
    {Chemistry.STRONG_ALKALI, Chemistry.MILD_ALKALI, Chemistry.AMMONIA, Chemistry.HYPOCHLORITE}
)
_NEUTRAL: Final = (5.0, 10.0)
"""pH that a detergent sold as a neutral one may have; common practice, no source."""

_LABELLED: Final = frozenset({Chemistry.QUATERNARY, Chemistry.HYPOCHLORITE})


def classes_missing(scene: Scene) -> Iterator[Finding]:
    """A product of which nobody said what it is."""
    for product in scene.design.products:
        if not product.sheet.classes:
            yield Finding(
                Severity.ERROR,
                scene.place_of(product),
                "class-missing",
                "Classes of chemistry: none is chosen for {product}. Choose those of its safety data sheet; until then "
                "nobody knows what it must not meet, which parts stand it and what it does to eyes and skin.",
                _SHEET,
                facts=facts(product=named(product)),
            )


_DRY: Final = frozenset(
    {Chemistry.PETROLEUM_SOLVENT, Chemistry.TERPENE, Chemistry.ALCOHOL, Chemistry.GLYCOL_ETHER}
)
"""Classes that may come without water, and then have no pH."""


def _missing(sheet: SafetySheet) -> Iterator[tuple[str, str]]:
    """Fields of a sheet that are still asked for, in words."""
    if sheet.ph is None and (not sheet.classes or set(sheet.classes) - _DRY):
        yield "ph", "pH"
    if sheet.flash_point is None and FLAMMABLE & set(sheet.classes):
        yield "flash_point", "flash point"
    if not sheet.is_read:
        yield "statements", "hazard statements (or that there is no signal word)"
    if sheet.dated is None:
        yield "dated", "date of the sheet"


def sheets_incomplete(scene: Scene) -> Iterator[Finding]:
    """What is still to be taken from each safety data sheet, and sheets that are old."""
    for product in scene.design.products:
        missing = tuple(_missing(product.sheet))
        if missing:
            yield Finding(
                Severity.NOTE,
                scene.place_of(product, f"sheet.{missing[0][0]}"),
                "sheet-incomplete",
                "Safety data sheet: not taken over yet of {product}: {missing}. Until then the worse case counts.",
                _SHEET,
                facts=facts(product=named(product), missing=", ".join(words for _, words in missing)),
            )
        if product.sheet.dated is not None:
            yield from _age(scene, product, product.sheet.dated)


def _age(scene: Scene, product: Product, dated: date) -> Iterator[Finding]:
    place = scene.place_of(product, "sheet.dated")
    known = facts(product=named(product), dated=dated)
    if dated > scene.on:
        yield Finding(
            Severity.WARNING,
            place,
            "sheet-ahead",
            "Date of the sheet: that of {product} is dated {dated}, which is still to come. Put in the date of the "
            "last revision.",
            "section 16 of the safety data sheet",
            facts=known,
        )
    elif (scene.on.year - dated.year) - (
        (scene.on.month, scene.on.day) < (dated.month, dated.day)
    ) >= SHEET_YEARS:
        yield Finding(
            Severity.NOTE,
            place,
            "sheet-old",
            "Date of the sheet: that of {product} is of {dated}. Ask the supplier for the current one.",
            "common practice, no source",
            facts=known,
        )


def _used_up(one: Chemistry, other: Chemistry) -> bool:
    """Whether one of them would have used the other up: a strong alkali and an acid, not a weak acid's buffer."""
    pair = {one, other}
    return Chemistry.STRONG_ALKALI in pair and bool(pair & ACIDS)


def _classes_at_odds(sheet: SafetySheet) -> tuple[Chemistry, Chemistry, str] | None:
    for one, other in combinations(sheet.classes, 2):
        for a in TRAITS_OF[one]:
            for b in TRAITS_OF[other]:
                rule = reaction(a, b)
                if rule is not None and (
                    rule.verdict is MeetingVerdict.NEVER_TOGETHER or _used_up(one, other)
                ):
                    return one, other, rule.hazard
    return None


def _said_no(sheet: SafetySheet) -> Iterator[tuple[str, str]]:
    """Flags answered with no although a class says yes: field and label."""
    traits = frozenset[Trait]().union(*(TRAITS_OF[c] for c in sheet.classes))
    for field, label, answer, by_class in (
        (
            "oxidiser",
            "Holds an oxidiser",
            sheet.oxidiser,
            {Trait.HYPOCHLORITE, Trait.PEROXIDE, Trait.OXIDISING_ACID},
        ),
        ("reducer", "Holds a reducer", sheet.reducer, {Trait.REDUCER}),
        ("amine", "Holds an amine or ammonia", sheet.amine, {Trait.AMINE, Trait.AMMONIA}),
    ):
        if answer is Answer.NO and traits & by_class:
            yield field, label


def contradictions(scene: Scene) -> Iterator[Finding]:
    """What cannot all be right of one sheet."""
    for product in scene.design.products:
        sheet = product.sheet
        if odds := _classes_at_odds(sheet):
            one, other, hazard = odds
            yield Finding(
                Severity.ERROR,
                scene.place_of(product),
                "classes-contradict",
                "Classes of chemistry: {product} cannot be both {one} and {other}: together that {hazard}. Take out "
                "the one that its safety data sheet does not name.",
                "see the pair",
                facts=facts(
                    product=named(product), one=one.label.lower(), other=other.label.lower(), hazard=hazard
                ),
            )
        yield from _ph(scene, product)
        for field, label in _said_no(sheet):
            yield Finding(
                Severity.WARNING,
                scene.place_of(product, f"sheet.{field}"),
                "sheet-contradicts",
                "{label}: no, for {product}, does not go with its classes, which count. Mend one of the two.",
                "sections 3 and 10 of the safety data sheet",
                facts=facts(label=label, product=named(product)),
            )
        yield from _label_elements(scene, product)


def _ph(scene: Scene, product: Product) -> Iterator[Finding]:
    sheet = product.sheet
    if sheet.ph is None:
        return
    acids, alkaline = ACIDS & set(sheet.classes), _ALKALINE & set(sheet.classes)
    wrong: frozenset[Chemistry] = frozenset()
    if sheet.ph > 7.0 and not alkaline and Chemistry.AMINE not in sheet.classes:
        wrong = acids
    elif sheet.ph < 7.0 and not acids:
        wrong = alkaline
    if set(sheet.classes) == {Chemistry.NEUTRAL_DETERGENT} and not _NEUTRAL[0] <= sheet.ph <= _NEUTRAL[1]:
        wrong = frozenset(sheet.classes)
    if wrong:
        yield Finding(
            Severity.WARNING,
            scene.place_of(product, "sheet.ph"),
            "sheet-contradicts",
            "Acidity (pH): {ph} does not go with {product} being {classes}; look both up in its safety data sheet. "
            "Its classes count.",
            "section 9 of the safety data sheet",
            facts=facts(
                ph=Number(sheet.ph, 1),
                product=named(product),
                classes=", ".join(c.label.lower() for c in sheet.classes if c in wrong),
            ),
        )


def _label_elements(scene: Scene, product: Product) -> Iterator[Finding]:
    sheet, codes = product.sheet, codes_of(product.sheet)
    if sheet.pictograms:
        lacking = [
            word for asks, sign, word in _PICTOGRAM_OF if codes & asks and sign not in sheet.pictograms
        ]
        if lacking:
            yield Finding(
                Severity.WARNING,
                scene.place_of(product, "sheet.pictograms"),
                "sheet-contradicts",
                "Pictograms: the hazard statements of {product} ask for {lacking} too; look section 2 up again.",
                _GHS,
                facts=facts(product=named(product), lacking=Listed(tuple(lacking))),
            )
    if sheet.signal_word in (SignalWord.WARNING, SignalWord.NONE) and codes & _DANGER:
        yield Finding(
            Severity.WARNING,
            scene.place_of(product, "sheet.signal_word"),
            "sheet-contradicts",
            "Signal word: {codes} of {product} ask for “danger”; look section 2 up again.",
            _GHS,
            facts=facts(product=named(product), codes=", ".join(sorted(codes & _DANGER))),
        )


def label_ranges(scene: Scene) -> Iterator[Finding]:
    """A dilution that the product's own label does not allow."""
    for product in scene.design.products:
        strongest, weakest = product.label_strongest, product.label_weakest
        if strongest is not None and weakest is not None and strongest > weakest:
            yield Finding(
                Severity.ERROR,
                scene.place_of(product, "label_strongest"),
                "label-range",
                "Label range: the strongest dilution of {product}, {strongest}, is weaker than the weakest, {weakest}. "
                "Fewer parts of water are stronger.",
                "the product's own label",
                facts=facts(
                    product=named(product),
                    strongest=Number(strongest, 2, ":1"),
                    weakest=Number(weakest, 2, ":1"),
                ),
            )
            continue
        limit, word = None, ""
        if strongest is not None and product.dilution < strongest:
            limit, word = strongest, "stronger than the strongest"
        elif weakest is not None and product.dilution > weakest:
            limit, word = weakest, "weaker than the weakest"
        if limit is not None:
            yield Finding(
                Severity.ERROR if _LABELLED & set(product.sheet.classes) else Severity.WARNING,
                scene.place_of(product, "dilution"),
                "dilution-off-label",
                "Dilution: {given} of {product} is {word} that its label allows, {limit}. Its label decides.",
                "the product's own label",
                facts=facts(
                    given=Number(product.dilution, 2, ":1"),
                    product=named(product),
                    word=word,
                    limit=Number(limit, 2, ":1"),
                ),
            )
        if strongest is None and weakest is None and _LABELLED & set(product.sheet.classes):
            yield Finding(
                Severity.NOTE,
                scene.place_of(product, "label_strongest"),
                "label-range-missing",
                "Label range: a sanitiser such as {product} works only at the dilution of its label; take the range "
                "over from there.",
                "the product's own label",
                facts=facts(product=named(product)),
            )
