"""The proof of the plant: dilution and refill of each proportioner, its day tank, and water for all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from estimator.hydraulics.board import Reason, share_of_time
from estimator.hydraulics.drills import drill_diameter
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.proportioner import Suction
from estimator.model.design import Product
from estimator.model.finding import Amount, Fact, Finding, Number, Phrase, Ref, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import KnownUnit
from estimator.sizing import rules, told
from estimator.sizing.day_proof import mean_draw
from estimator.sizing.dilution import (
    WEAR,
    Mixer,
    MixtureHours,
    over_the_day,
    proportioner_of,
    remarks,
    suction_of,
)
from estimator.sizing.feed import DAY_SWING, BoardFeed, why_no_water
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.remedy import UNTRIED, Mender, conductance
from estimator.sizing.types import FeedPoint, PlantProof, WaterProof
from estimator.units import Dimension

__all__ = ["limits", "parts", "prove_plant", "prove_water"]

_SOURCE = "hydraulic proof"


def prove_plant(
    feed: BoardFeed | None,
    product: Product,
    known: KnownUnit,
    at: int,
    answer: LineAnswer,
    mender: Mender | None = None,
) -> tuple[PlantProof | None, tuple[Finding, ...]]:
    """Dilution, refill and tank of one product whose tank fills alone.

    Args:
        feed: the water of the board; None where it has none, which has been told.
        product, known: what is made and by what.
        at: position of the unit in the design's list.
        answer: the proof of its line, which says how much is drawn.
        mender: tries what holds a mixture that misses its limits; nothing is tried where there is none.

    Returns:
        The proof, None where it cannot be given; findings then say why. How often the tank runs dry is not in it yet:
        that is the day's (`day_proof.prove_day`), which all tanks share.
    """
    place, named = f"design.plant.{at}", told.product(product.id)
    unit, part, vessel = known.unit, known.proportioner, known.tank
    if feed is None or part is None or vessel is None or product.dilution <= 0.0:
        # Unknown parts are told where keys are looked up; an undiluted product needs no proportioner.
        return None, ()
    mixer = Mixer(proportioner_of(part), suction_of(unit), product, feed.barometric_pa)
    water = feed.test.alone(mixer.made)
    if isinstance(water, Reason):
        return None, (_not_proved(*why_no_water(feed, water), named),)
    inlet = water.inlet_pa
    try:
        drill = mixer.tip(feed.test, inlet) if unit.tip_drill is None else unit.tip_drill
        given = mixer.drawn(feed.test, inlet, drill_diameter(drill)) if drill else None
    except OutOfRange as error:
        if error.quantity == "inlet_pa":
            return None, (_outside_curve(feed, named, error),)
        return None, (_not_proved("site.water.temperature", told.out_of_range(error), named),)
    if given is None or given.parts_water is None:
        return None, (
            Finding(
                Severity.ERROR,
                f"{place}.lift",
                "no-concentrate",
                "{product}: at {pressure} of water the proportioner has too little vacuum to lift concentrate by "
                "{lift}. More water pressure or a lower lift would do it.",
                _SOURCE,
                facts=facts(product=named, pressure=told.pressure(inlet), lift=Amount.of(unit.lift)),
            ),
        )
    dilution = given.parts_water
    day = over_the_day(feed, mixer, drill)
    findings = list(_mixture_findings(feed, mixer, given, drill, day, place, mender))
    worn = mixer.drawn(feed.test, inlet, (1.0 + WEAR) * drill_diameter(drill)).parts_water
    full = given.water_m3_s + given.concentrate_m3_s
    refill = full * share_of_time(given.water_m3_s, feed.most_m3_s)
    drawn = mean_draw(answer)
    keeps_up = rules.enough(drawn, refill)
    if not keeps_up.holds:
        findings.append(
            Finding(
                Severity.ERROR,
                f"{place}.proportioner",
                "refill-too-slow",
                "{product}: the busy hour draws {draw} on average, the proportioner refills {refill}. {remedy}.",
                _SOURCE,
                facts=facts(
                    product=named,
                    draw=told.flow(drawn),
                    refill=told.flow(refill),
                    remedy=Phrase(
                        "A larger proportioner or more water pressure lifts it"
                        if refill == full
                        else "A supply that fills the break tank faster lifts it"
                    ),
                ),
            )
        )
    proof = PlantProof(
        product=product.id,
        busy_hour_draw_m3=3600.0 * drawn,
        refill_m3_s=refill,
        tank_m3=1e-3 * vessel.volume_l,
        dry_chance=0.0,
        smallest_tank="",
        tip_drill=drill,
        dilution=dilution,
        lean=day.lean,
        rich=day.rich,
        worn=worn,
        verdict=keeps_up,
        full_m3_s=full,
    )
    return proof, tuple(findings)


def _mixture_findings(
    feed: BoardFeed,
    mixer: Mixer,
    given: Suction,
    drill: int,
    day: MixtureHours,
    place: str,
    mender: Mender | None,
) -> Iterator[Finding]:
    """What is to be said of a mixture while its tank fills alone: as surveyed, then over the day."""
    product = mixer.product
    named, dilution = told.product(product.id), given.parts_water

    def remedy() -> Phrase:
        return UNTRIED if mender is None else mender.tried(mixer, drill, (conductance(mixer.made),))

    said = remarks(given, feed.barometric_pa, feed.test.vapour_pa)
    for why in said:
        yield Finding(
            Severity.NOTE,
            f"{place}.tip_drill",
            "dilution-doubt",
            "{product}: {why}. Confirm the dilution by a test on site.",
            _SOURCE,
            facts=facts(product=named, why=why),
        )
    if dilution is not None and rules.misses(product, dilution):
        yield Finding(
            Severity.WARNING,
            f"{place}.tip_drill",
            "dilution-off",
            "{product}: tip drill {drill} gives about {given}, {off} {word} than the wanted {wanted} ({least} to "
            "{most} is right). {remedy}.",
            _SOURCE,
            facts=facts(
                product=named,
                drill=str(drill),
                given=parts(dilution),
                off=told.excess(abs(dilution / product.dilution - 1.0)),
                word="leaner" if dilution > product.dilution else "richer",
                wanted=Number(product.dilution, 2, ":1"),
                remedy=remedy(),
                **limits(product),
            ),
        )
        return
    if day.unknown is not None:
        hour, where, why = day.unknown
        yield Finding(
            Severity.NOTE if hour.assumed else Severity.WARNING,
            where,
            "dilution-hours-unknown",
            "{product}: {when} its mixture is not known: {why}. {remedy}.",
            _SOURCE,
            facts=facts(product=named, when=hour.words, why=why, remedy=remedy()),
        )
    elif day.misses(product):
        yield Finding(
            Severity.NOTE if day.assumed else Severity.WARNING,
            f"{place}.tip_drill",
            "dilution-hours",
            "{product}: over the day {mixture} while its tank fills alone, and {least} to {most} is right.{assumed} "
            "{remedy}.",
            _SOURCE,
            facts=facts(
                product=named,
                mixture=_over_the_day(day),
                assumed=Phrase(
                    " The low and the high of the day are assumed at {swing} of the static pressure: read them.",
                    facts(swing=Phrase("± {share}", facts(share=told.share(DAY_SWING)))),
                )
                if day.assumed
                else Phrase(""),
                remedy=remedy(),
                **limits(product),
            ),
        )


def _over_the_day(day: MixtureHours) -> Phrase:
    if day.none_drawn is not None:
        return Phrase("{when} no concentrate is drawn", facts(when=day.none_drawn.words))
    return Phrase(
        "it comes out from {rich} to {lean}", facts(rich=parts(day.rich or 0.0), lean=parts(day.lean or 0.0))
    )


def parts(value: float) -> Number:
    """Parts of water, as finely as they matter."""
    return Number(value, 1 if value >= 20.0 else 2, ":1")


def limits(product: Product) -> dict[str, Fact]:
    """What a mixture may be: facts `least` and `most`."""
    low, high = rules.dilution_limits(product)
    return {"least": parts(low), "most": parts(high)}


def _not_proved(place: str, why: Phrase, product: Ref) -> Finding:
    return Finding(
        Severity.ERROR,
        place,
        "plant-out-of-range",
        "{product}: the proportioner cannot be proved: {why}.",
        _SOURCE,
        facts=facts(product=product, why=why),
    )


def _outside_curve(feed: BoardFeed, product: Ref, error: OutOfRange) -> Finding:
    """The water arrives at a pressure that the proportioner is not known for."""
    too_much = error.value > error.high
    boosted = FeedPoint.BOOSTER in feed.parts
    if too_much:
        remedy = "It needs no booster pump, or" if boosted else "It needs"
        remedy += " a pressure-reducing valve"
    else:
        remedy = (
            "A larger supply or a stronger booster pump lifts it"
            if boosted or feed.from_tank
            else ("A larger supply or a booster pump lifts it")
        )
    return Finding(
        Severity.ERROR,
        "design.common.reducer" if too_much else "site.water.pressure",
        "plant-out-of-range",
        "{product}: while its tank fills alone the water arrives at {pressure}, and its proportioner is known from "
        "{low} to {high}, so its mixture cannot be proved. {remedy}.",
        _SOURCE,
        facts=facts(
            product=product,
            pressure=told.pressure(error.value),
            low=told.pressure(error.low),
            high=told.pressure(error.high),
            remedy=Phrase(remedy),
        ),
    )


def prove_water(site: Site, plant: Sequence[PlantProof]) -> tuple[WaterProof | None, tuple[Finding, ...]]:
    """All proportioners refilling together against the tie-in. None where there is no proved plant."""
    if not plant:
        return None, ()
    demand = sum(p.full_m3_s * p.dilution / (1.0 + p.dilution) for p in plant)
    supply = site.water.flow.si
    drawn = sum(p.busy_hour_draw_m3 * p.dilution / (1.0 + p.dilution) for p in plant)
    verdict = rules.enough(drawn, 3600.0 * supply)
    if not verdict.holds:
        return WaterProof(demand, supply, verdict), (
            Finding(
                Severity.ERROR,
                "site.water.flow",
                "water-too-little",
                "Water flow: the busy hour draws {drawn} of water and the tie-in gives {given} an hour. A larger "
                "tie-in or a break tank lifts it.",
                _SOURCE,
                facts=facts(
                    drawn=Amount(drawn, Dimension.VOLUME, 0),
                    given=Amount(3600.0 * supply, Dimension.VOLUME, 0),
                ),
            ),
        )
    if not rules.enough(demand, supply).holds:
        return WaterProof(demand, supply, verdict), (
            Finding(
                Severity.NOTE,
                "site.water.flow",
                "water-shared",
                "Water flow: all proportioners filling together would take {demand} and the tie-in gives {supply}; "
                "they fill more slowly then, and the hour's draw is still met.",
                _SOURCE,
                facts=facts(demand=told.flow(demand, 0), supply=told.flow(supply, 0)),
            ),
        )
    return WaterProof(demand, supply, verdict), ()
