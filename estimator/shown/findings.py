"""Findings in words: for the installer, and for the customer where they concern the one who signs.

The rules state what they found as facts. Here the sentence is made, in the units, the language and the names of the
job. Two amounts of one sentence that differ never read alike.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import combinations
from typing import Final

from estimator.model.finding import (
    Amount,
    AsTyped,
    Count,
    Fact,
    Facts,
    FieldEnd,
    Finding,
    IdKind,
    Listed,
    Money,
    Number,
    Phrase,
    Ref,
    Units,
    filled,
    some,
)
from estimator.model.job import Job
from estimator.model.options import BASE
from estimator.money import money_text
from estimator.shown.figures import Figures, figures_of
from estimator.shown.names import Names, quoted
from estimator.study import Study
from estimator.units import Dimension, Quantity, UnitSystem, as_typed, as_written, default_places, units_of

__all__ = ["Sentences", "sentences_of", "sentences_of_job"]

_MOST_EXTRA_PLACES: Final = 4

_MIXING: Final = (
    "{a} and {b} are both on this system: mixing them {hazard}. Keep their containers apart and rinse the vehicle "
    "between the two."
)
_SPRAYED: Final = "{product} is sprayed as {what} at {drops}. {air} keep it off face and lungs."

CUSTOMER: Final[dict[str, str]] = {
    # What will not work as drawn.
    "drop-no-flow": "Nothing comes out at {drop} as the system is designed now.",
    "drop-pressure-low": "The pressure at {drop} is {pressure}{others}, below the {low} that its nozzle is made for.",
    "drop-pressure-high": "The pressure at {drop} is {pressure}, above the {high} that its nozzle is made for.",
    "drop-wanted-flow": "{drop} gives {given}{others}, {word} than the {wanted} that was asked for.",
    "line-too-slow": "The guns for {product} cannot spray what the busy hour needs.",
    "pump-too-small": "The pump for {product} gives {most}; {guns} guns together take {flow}.",
    "dilution-off": "{product} comes out at about {given}, {off} {word} than the {wanted} that was asked for.",
    "dilution-hours": "Over the day {mixture} of {product}; {least} to {most} is right.",
    "dilution-busy": "When {count} of the tanks fill at once, {when}{case}.",
    "dilution-first-fill": "Fill empty tanks one after another: with all of them filling at once {when}{case}{others}.",
    "break-tank-dry": "The water supply fills the break tank more slowly ({given}) than its pump draws from it "
    "({drawn}); a larger supply is needed.",
    "break-tank-no-pressure": "Behind the break tank of the air gap there is no pressure; the board needs a "
    "booster pump.",
    "dilution-day": "As tanks fill together in the day, {product} runs from {rich} to {lean}{worst} instead of "
    "{wanted}.",
    "tank-runs-dry": "The day tank of {product} runs dry on about {chance} of days.",
    "refill-too-slow": "The busy hour draws {draw} of {product}; the system refills {refill}.",
    # What the shop's own supply must give.
    "no-concentrate": "At a water pressure of {pressure} no concentrate of {product} is drawn in.",
    "water-too-little": "The busy hour draws {drawn} of water; your connection gives {given}.",
    "compressor-too-small": "Your compressor is too small for this system: {demand} are asked for, {there}.",
    "air-drop-without-air": "{drop} needs compressed air and no compressor was surveyed.",
    "foam-without-air": "The foam gun at {drop} needs compressed air and no compressor was surveyed.",
    "air-on-receiver": "At the busiest the system asks for {demand} of compressed air and your compressor gives "
    "{given}; your receiver carries the rest for {burst}.",
    "air-line-choked": "The compressed air that is asked for does not pass its line.",
    "air-line-shut": "The compressed air line is set to {setting} and gives nothing.",
    "air-nothing-left": "No air pressure is left where the system begins.",
    "blow-off-pressure": "{whose} {pressure} reaches the air guns at {drops}. Air for cleaning must stay "
    "below {limit} at a blocked outlet, with chip guarding and eye protection.",
    "foam-ratio": "The foam of {product} comes out too {word} at {drops}: {ratio}.",
    "part-rating": "{line}: its pressure reaches {pressure}, more than {parts} {stand}: {rating}. It could burst.",
    "surge": "A gun that snaps shut raises the pressure in the line for {product} to {peak} for a moment; {part} "
    "{verb} rated for {rating}. Whether its parts stand that is to be asked of their maker.",
    "tank-empties": "A gun left open while the pumps stand still can let the tank of {products} run out onto the "
    "floor. Shut the lines off when nobody works.",
    "water-freezing": "The water arrives at {water}. Keep hall and tubes above {limit}, or drain the lines before a "
    "frost.",
    "water-scald": "The water arrives at {water}, which scalds; {limit} or less would be right.",
    # What keeps people safe.
    "mixing-forbidden": "{a} and {b} must never meet: mixing them {hazard}. One of them should leave this system.",
    "mixing-not-answered": "It is still to be looked up whether {product} holds {what}. If so, it {must} {others}.",
    "class-missing": "It is still to be looked up what {product} is made of, and so what it must not meet.",
    "dilution-off-label": "{product} is set to {given}, which is {word} that its own label allows, {limit}.",
    "classes-contradict": "What was noted of {product} cannot all be right; what it must not meet is not known before "
    "that is cleared up.",
    "sheet-contradicts": "What was noted of {product} from its safety data sheet does not agree with itself and is to "
    "be looked up again.",
    "tube-rating": "The pressure in the line for {product} reaches {pressure}; {rating}. Its tube could burst.",
    "tube-too-hot": "The water arrives at {water}; above {limit} the tube of this system is not rated and could burst.",
    "regulator-above-pump": "The pump for {product} is set to {setting}, above the {limit} that it is made for.",
    "gun-not-for-air": "The gun at {drop} is not made for compressed air.",
    "material-unknown": "What a part of this system is made of could not be checked; ask for its maker's word that it "
    "stands the products.",
    "mixing-apart": _MIXING,
    "fluoride-acid": "{product} is a fluoride acid: have the special first aid of its safety data sheet at hand before "
    "work starts.",
    "eyewash-missing": "{products} can be corrosive and this quote holds no eyewash. One must be within 10 s on a free "
    "path and flow for 15 min.",
    "eyewash-check": "Look up in the safety data sheets whether the concentrate of {products} is corrosive; if so, an "
    "eyewash must be within 10 s on a free path.",
    "eyewash-far": "The shortest way from the containers of {products} to the eyewash is {path}, more than the {limit} "
    "that count as 10 s.",
    "eyewash-open": "{products} can be corrosive; of the eyewash it is still to be cleared up: {asked}.",
    "eyewash-outside": "The eyewash is drawn outside of the hall.",
    "eyewash-water": "The rinse water of the eyewash is {water}; it must be tepid, {least} to {most}.",
    "eyewash-branch": "The eyewash is fed from behind the dispenser's backflow protection, so that its water can hold "
    "{products}; it needs drinking water of its own.",
    "shower-missing": "The concentrate of {products} burns skin and this quote holds no drench shower. One must be "
    "within 10 s and flow "
    "for 15 min.",
    "shower-check": "Look up in the safety data sheets whether the concentrate of {products} burns skin; if so, a "
    "drench shower must stand beside the eyewash.",
    "shower-flow": "The drench shower needs {need} of water for 15 min; your connection gives {flow}. It needs a pipe "
    "that gives as much.",
    "containment-missing": "This quote holds no containment tray under the concentrates.",
    "containment-small": "The containment tray holds {stated}; it must hold {holds}.",
    "drain-without-permit": "The floor drain leads to {where}: nothing of this may run into it without a permit.",
    "drain-open": "It is still to be found out where the floor drain leads; nothing of this may run into a storm drain "
    "or "
    "the ground without a permit.",
    "vented-cap": "The concentrate of {products} gives off gas as it stands: its container must be able to vent, or it "
    "can burst.",
    "lockout-missing": "For service the board's {what} must be shut off and locked; no valve for that is stated.",
    "pressure-trapped": "With everything shut off up to {pressure} stays in lines and hoses until each gun is opened.",
    "labels-needed": "{tanks} and every bottle that is filled carry the product's name and its hazards.",
    "programme-missing": "There is no written programme yet for {products}: before work starts the employer writes "
    "down how labels, safety data sheets and training are kept, with a list of the products.",
    "board-above-reach": "The board is worked on at {height}, above {limit}, from a ladder and above the head.",
    "mouth-high": "Chemicals are poured in at {height}, above {limit}: they can splash into the eyes.",
    "air-gap-small": "The air gap that keeps chemicals out of the drinking water is {gap}; it must be {needed}.",
    "test-yearly": "The backflow prevention assembly is tested every year by a licensed tester; nobody is named yet.",
    "hall-freezing": "The hall gets as cold as {coldest}. Keep it above {limit}, or drain the system before a frost.",
    "tank-open": "The day tank of {product} has no cover.",
    "foam-ventilation": _SPRAYED,
    "mist-ventilation": _SPRAYED,
    "flammable-spray": "{products} may be flammable, the concentrate above all. Keep flames and sparks away from "
    "{drops} and "
    "the board, and ask the fire authority about the stored amount.",
    "part-material": "{part} is not made for {product}: {pieces}. It can dissolve, swell or crack, and the product "
    "can {out}. Another must take its place before the system is used.",
    "part-material-doubt": "Some parts may not stand {product} for long: {materials}. Have them confirmed with "
    "their makers' data before the system is used.",
    "sold-but-left-out": "This quote leaves out “{what}” and holds “{row}” all the same; have one taken off.",
    "backflow-defer": "The local plumbing code and the water authority decide how the water supply is protected "
    "against backflow; a licensed plumber installs and tests it.",
}
"""Rules that concern the one who signs, with the sentence in their words; the holes are those of the rule's facts."""


def _amounts(facts: Facts) -> Iterator[Amount]:
    for _, fact in facts:
        if isinstance(fact, Amount):
            yield fact
        elif isinstance(fact, Phrase):
            yield from _amounts(fact.facts)


@dataclass(frozen=True, slots=True)
class _Scale:
    """How the amounts of one dimension are told in a sentence: decimals to add, or all as they were typed."""

    extra: int = 0
    as_typed: bool = False


class Sentences:
    """Makes the sentences of one job.

    Args:
        figures: how numbers are written.
        names: what objects are called.
        options: names of the objects of other designs, by the option's id.
    """

    def __init__(self, figures: Figures, names: Names, options: Mapping[str, Names] | None = None) -> None:
        self.figures = figures
        self.names = names
        self._options = options or {}

    def installer(self, finding: Finding) -> str:
        """What the one who designs the system reads."""
        return self._of(finding, finding.sentence)

    def customer(self, finding: Finding) -> str | None:
        """What the one who signs reads, None where it does not concern them."""
        sentence = CUSTOMER.get(finding.rule)
        return None if sentence is None else self._of(finding, sentence)

    def for_option(self, option: str) -> Sentences:
        """What makes the sentences about the objects of one design; of a design that is not known, these."""
        names = self._options.get(option)
        return self if names is None else Sentences(self.figures, names)

    def _of(self, finding: Finding, sentence: str) -> str:
        names = self._options.get(finding.option)
        told = self.for_option(finding.option).told(sentence, finding.facts)
        if names is None:
            return told
        if finding.option == BASE:
            return f"Base design: {told}"
        return f"Option {quoted(names.option(finding.option))}: {told}"

    def phrase(self, phrase: Phrase) -> str:
        """A part of a sentence, or one that is no finding, begun as it is."""
        scales = self._scales(tuple(dict.fromkeys(_amounts(phrase.facts))))
        return filled(phrase.sentence, phrase.facts, lambda fact: self._fact(fact, scales))

    def told(self, sentence: str, facts: Facts) -> str:
        """A sentence with its facts in words; one without facts as it stands."""
        if not facts:
            return sentence
        told = self.phrase(Phrase(sentence, facts))
        return told[:1].upper() + told[1:]

    def _amount(self, fact: Amount, scale: _Scale) -> str:
        if scale.as_typed:
            return self.figures.typed(Quantity(fact.typed, fact.si, fact.dimension))
        places = fact.places
        if places is None:
            places = default_places(fact.dimension, UnitSystem.METRIC)
        return self.figures.amount(fact.si, fact.dimension, places + scale.extra)

    def _scales(self, amounts: tuple[Amount, ...]) -> dict[Dimension, _Scale]:
        groups: dict[Dimension, list[Amount]] = {}
        for amount in amounts:
            groups.setdefault(amount.dimension, []).append(amount)
        return {dimension: self._scale(group) for dimension, group in groups.items()}

    def _scale(self, group: list[Amount]) -> _Scale:
        """As typed where one unit of the job's serves them all, else converted, with the decimals they need."""
        written = [
            as_written(Quantity(a.typed, a.si, a.dimension), self.figures.system) if a.typed else None
            for a in group
        ]
        if len({w and w[1] for w in written} | {None}) == 2 and None not in written:
            return _Scale(as_typed=True)
        pairs = [(a, b) for a, b in combinations(group, 2) if not math.isclose(a.si, b.si, rel_tol=1e-9)]
        for extra in range(_MOST_EXTRA_PLACES):
            scale = _Scale(extra)
            if all(self._amount(a, scale) != self._amount(b, scale) for a, b in pairs):
                return scale
        return _Scale(_MOST_EXTRA_PLACES)

    def _fact(self, fact: Fact, scales: dict[Dimension, _Scale]) -> str:
        if isinstance(fact, Amount):
            return self._amount(fact, scales[fact.dimension])
        if isinstance(fact, FieldEnd):
            return self.figures.limit(fact.quantity, lowest=fact.lowest)
        if isinstance(fact, AsTyped):
            return as_typed(fact.text, self.figures.locale)
        if isinstance(fact, Units):
            return ", ".join(units_of(fact.dimension, self.figures.system))
        if isinstance(fact, Count):
            noun = fact.one if fact.number == 1 else fact.many or f"{fact.one}s"
            return f"{self.figures.number(fact.number, 0)} {noun}"
        if isinstance(fact, Number):
            gap = "\u00a0" if fact.unit == "%" else ""
            return f"{self.figures.number(fact.value, fact.places)}{gap}{fact.unit}"
        if isinstance(fact, Money):
            return money_text(fact.amount, fact.currency, self.figures.locale)
        if isinstance(fact, Ref):
            return self.names.ref(fact)
        if isinstance(fact, Listed):
            return some(self._items(fact), fact.most)
        if isinstance(fact, date):
            return self.figures.day(fact)
        # A phrase is told by what fills it in; only a text is left.
        return fact if isinstance(fact, str) else self.told(fact.sentence, fact.facts)

    def _items(self, listed: Listed) -> list[str]:
        """Each item in words; drops that all give the same are told by their places."""
        drops = [x.id for x in listed.items if isinstance(x, Ref) and x.kind is IdKind.DROP]
        if len(drops) == len(listed.items) > 1 and len({self.names.service_of(d) for d in drops}) == 1:
            return [quoted(self.names.place(d)) for d in drops]
        return [quoted(x) if isinstance(x, str) else self.names.ref(x) for x in listed.items]


def sentences_of(study: Study, whole: Job | None = None) -> Sentences:
    """For the findings of a study.

    Args:
        whole: the job with all its options where the study is that of one of them; its own job if left out.
    """
    job = study.job
    called = {a.id: a.name for a in (whole or job).alternatives}
    others = {o.option: Names(o.job.design, o.layout, options=called) for o in study.options}
    return Sentences(figures_of(job), Names(job.design, study.layout, options=called), others)


def sentences_of_job(job: Job) -> Sentences:
    """For findings about a job that was not worked out; pieces of tube are told by their line."""
    return Sentences(figures_of(job), Names(job.design, options={a.id: a.name for a in job.alternatives}))
