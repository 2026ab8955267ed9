"""The proof of the board: what each product comes out at while its tank fills alone, in the busy hour, and with all."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice

from estimator.hydraulics.board import (
    Fill,
    Filling,
    Post,
    Reason,
    Settled,
    Shared,
    WaterBoard,
    solve,
)
from estimator.hydraulics.drills import drill_diameter
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.simultaneous import guns_at_once
from estimator.model.design import Product
from estimator.model.finding import Amount, Count, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import KnownUnit
from estimator.sizing import rules, told
from estimator.sizing.dilution import Mixer, concentrate_of, proportioner_of, suction_of
from estimator.sizing.feed import SOURCE, BoardFeed, HourFeed, why_no_water
from estimator.sizing.moment import by_thirst
from estimator.sizing.plant_proof import limits, parts
from estimator.sizing.remedy import UNTRIED, Mender
from estimator.sizing.types import BoardProof, Mixture, PlantProof, SharedWater

__all__ = ["prove_board"]


@dataclass(frozen=True, slots=True)
class _Member:
    """A product on the board: its place among the units, its proof, its post."""

    at: int
    product: Product
    plant: PlantProof
    post: Post

    def misses(self, dilution: float | None) -> bool:
        return dilution is None or rules.misses(self.product, dilution)


@dataclass(frozen=True, slots=True)
class _Case:
    """A product in one case: the water, and what it comes out at."""

    answer: Settled
    fill: Fill | None

    @property
    def mixture(self) -> Mixture:
        water = self.answer.water
        if water is None:
            return Mixture(None, None)
        dilution = None if self.fill is None else self.fill.parts_water
        return Mixture(water.inlet_pa, dilution, water.flow_m3_s, water.along_pa)

    @property
    def pressure(self) -> Amount:
        water = self.answer.water
        return told.pressure(0.0 if water is None else water.inlet_pa)


_Late = tuple[_Member, _Case, HourFeed | None]
"""Who misses its limits while all tanks fill, in what case, and at which hour where it is not that of the survey."""


def prove_board(
    site: Site,
    feed: BoardFeed | None,
    products: Sequence[Product],
    units: Sequence[KnownUnit],
    plant: Sequence[PlantProof],
    mender: Mender | None = None,
) -> tuple[BoardProof | None, tuple[Finding, ...]]:
    """All proportioners on the one water that they share.

    A product whose tip misses the wanted dilution while its tank fills alone has a finding of its own, and none here.

    Args:
        site: the survey.
        feed: the water of the board; None where it has none, which has been told.
        products: of the design.
        units: the plant, looked up.
        plant: the proofs of the units that could be proved.
        mender: tries what holds a mixture that misses its limits; nothing is tried where there is none.

    Returns:
        The proof, None where it cannot be given; findings then say why.
    """
    members = _members(site, products, units, plant)
    if not members or feed is None:
        return None, ()
    test = feed.test
    posts = tuple(member.post for member in members)
    board = WaterBoard(test.feed, posts, feed.barometric_pa, test.vapour_pa, feed.most_m3_s)
    at_once = max(1, guns_at_once([member.plant.filling for member in members]).count)
    busy, everything = _busy(members, at_once), tuple(range(len(members)))
    sets = tuple(dict.fromkeys([*((at,) for at in everything), *busy, everything]))
    answers = dict(zip(sets, _solved(board, sets), strict=True))
    first = answers[everything]
    cases = tuple(_cases(at, answers[(at,)], answers[busy[at]], first) for at in everything)
    proof = BoardProof(
        feed.street.static_pa,
        feed.static_assumed,
        at_once,
        tuple(
            SharedWater(member.product.id, alone.mixture, busy.mixture, first.mixture)
            for member, (alone, busy, first) in zip(members, cases, strict=True)
        ),
        board,
        feed.parts,
    )
    return proof, (
        *_findings(feed, members, cases, at_once, mender),
        *_of_the_tank(feed, first, [alone.answer for alone, *_ in cases]),
    )


def _members(
    site: Site, products: Sequence[Product], units: Sequence[KnownUnit], plant: Sequence[PlantProof]
) -> tuple[_Member, ...]:
    named = {product.id: product for product in products}
    proved = {proof.product: proof for proof in plant}
    members: list[_Member] = []
    for at, known in enumerate(units):
        proof = proved.get(known.unit.product)
        if proof is None or known.proportioner is None or proof.tip_drill == 0:
            continue
        product = named[known.unit.product]
        post = Post(
            proportioner_of(known.proportioner),
            suction_of(known.unit),
            concentrate_of(product, site.water.temperature.si),
            drill_diameter(proof.tip_drill),
        )
        members.append(_Member(at, product, proof, post))
    return tuple(members)


def _busy(members: Sequence[_Member], at_once: int) -> list[Filling]:
    """Of each product, it with those that take the most water beside it."""
    thirsty = by_thirst([member.post for member in members])

    def with_others(at: int) -> Filling:
        beside = (other for other in thirsty if other != at)
        return tuple(sorted([at, *islice(beside, at_once - 1)]))

    return [with_others(at) for at in range(len(members))]


@lru_cache(maxsize=64)
def _solved(board: WaterBoard, sets: tuple[Filling, ...]) -> tuple[Settled, ...]:
    """Kept by value: most edits leave the board as it is."""
    return solve(board, sets)


def _cases(at: int, alone: Settled, busy: Settled, first: Settled) -> tuple[_Case, _Case, _Case]:
    one, several, every = (
        _Case(answer, next((fill for fill in answer.fills if fill.post == at), None))
        for answer in (alone, busy, first)
    )
    return one, several, every


def _findings(
    feed: BoardFeed,
    members: Sequence[_Member],
    cases: Sequence[tuple[_Case, _Case, _Case]],
    at_once: int,
    mender: Mender | None,
) -> Iterator[Finding]:
    late: list[_Late] = []
    for member, (alone, busy, first) in zip(members, cases, strict=True):
        if member.misses(alone.mixture.dilution):
            continue  # the proof of the plant tells it
        if at_once > 1 and member.misses(busy.mixture.dilution):
            yield _in_busy_hour(feed, member, busy, at_once, _tried(feed, members, member, busy, mender))
        elif at_once > 1 and (bad := _bad_hour(feed, members, member, busy.answer.filling)) is not None:
            yield _in_busy_hour(
                feed, member, bad[1], at_once, _tried(feed, members, member, busy, mender), bad[0]
            )
        elif member.misses(first.mixture.dilution):
            late.append((member, first, None))
        elif (bad := _bad_hour(feed, members, member, first.answer.filling)) is not None and _bad_hour(
            feed, members, member, alone.answer.filling
        ) is None:  # where it misses them alone at some hour too, the proof of the plant tells it
            late.append((member, bad[1], bad[0]))
    if late:
        yield _first_fill(feed, late)


def _mixer(feed: BoardFeed, member: _Member) -> Mixer:
    return Mixer(member.post.proportioner, member.post.line, member.product, feed.barometric_pa)


def _together(members: Sequence[_Member], filling: Filling) -> float:
    return math.fsum(members[at].post.conductance for at in filling)


def _tried(
    feed: BoardFeed, members: Sequence[_Member], member: _Member, busy: _Case, mender: Mender | None
) -> Phrase:
    if mender is None:
        return UNTRIED
    cases = (member.post.conductance, _together(members, busy.answer.filling))
    return mender.tried(_mixer(feed, member), member.plant.tip_drill, cases)


def _bad_hour(
    feed: BoardFeed, members: Sequence[_Member], member: _Member, filling: Filling
) -> tuple[HourFeed, _Case] | None:
    """The first other hour of the day at which a set that fills makes a wrong mixture of a member, with that case."""
    together = _together(members, filling)
    for hour in feed.day:
        water = hour.shared(together)
        if isinstance(water, Reason):
            return hour, _Case(Settled(filling, None, (), water), None)
        fill = _fill_at(_mixer(feed, member), hour, water, member)
        if member.misses(fill.parts_water):
            return hour, _Case(Settled(filling, water, (fill,), None), fill)
    return None


def _fill_at(mixer: Mixer, hour: HourFeed, water: Shared, member: _Member) -> Fill:
    made = member.post.proportioner.water_flow(water.inlet_pa)
    try:
        return Fill(member.at, made, mixer.drawn(hour, water.inlet_pa, member.post.tip_m), None)
    except OutOfRange:
        return Fill(member.at, made, None, None)


def _in_busy_hour(
    feed: BoardFeed, member: _Member, case: _Case, at_once: int, remedy: Phrase, hour: HourFeed | None = None
) -> Finding:
    return Finding(
        Severity.NOTE if hour is not None and hour.assumed else Severity.WARNING,
        f"design.plant.{member.at}.proportioner",
        "dilution-busy",
        "{product}: in the busy hour {count} tanks may fill at once; {when}{case}. {remedy}.",
        SOURCE,
        facts=facts(
            product=told.product(member.product.id),
            count=Number(at_once, 0),
            when=Phrase("") if hour is None else Phrase("{hour} ", facts(hour=hour.words)),
            case=_words(feed, member, case),
            remedy=remedy,
        ),
    )


def _first_fill(feed: BoardFeed, late: Sequence[_Late]) -> Finding:
    """What is wrong at the hour of the survey comes before what is at another."""

    def how_far(of: _Late) -> float:
        dilution = of[1].mixture.dilution
        wanted = of[0].product.dilution
        return float("inf") if dilution is None else max(dilution / wanted, wanted / dilution)

    member, case, hour = max(late, key=lambda of: (of[2] is None, how_far(of)))
    rest = len(late) - 1
    others = Phrase(
        "; {rest} beside it", facts(rest=Count(rest, "product misses its range", "products miss theirs"))
    )
    return Finding(
        Severity.NOTE if hour is not None and hour.assumed else Severity.WARNING,
        "site.water.flow",
        "dilution-first-fill",
        "First fill: with all tanks filling at once {when}{case}{others}. Filled one after another, each comes "
        "out right.",
        SOURCE,
        facts=facts(
            when=Phrase("") if hour is None else Phrase("{hour} ", facts(hour=hour.words)),
            case=_words(feed, member, case),
            others=others if rest else Phrase(""),
        ),
    )


def _of_the_tank(feed: BoardFeed, first: Settled, alone: Sequence[Settled]) -> Iterator[Finding]:
    """Whether the street fills a break tank as fast as its booster draws from it, one tank filling and all."""
    if not feed.from_tank or first.water is None:
        return
    given = feed.street_gives_m3_s
    one = max((answer.water.flow_m3_s for answer in alone if answer.water is not None), default=0.0)
    if rules.above(one, given):
        yield Finding(
            Severity.ERROR,
            "site.water.flow",
            "break-tank-dry",
            "Water flow: while a single tank fills the booster pump draws {drawn} from the break tank, and the supply "
            "fills it with {given} at most, so the pump runs dry and waits, and tanks fill as slowly as that. A larger "
            "supply or a smaller proportioner lifts it; a pump that stops when its tank is empty is needed at least.",
            SOURCE,
            facts=facts(drawn=told.flow(one, 1), given=told.flow(given, 1)),
        )
    elif rules.above(first.water.flow_m3_s, given):
        yield Finding(
            Severity.WARNING,
            "site.water.flow",
            "break-tank-short",
            "Water flow: with all tanks filling the booster pump draws {drawn} from the break tank, and the supply "
            "fills it with {given} at most, so the pump would run dry. Fill empty tanks one after another, and "
            "choose a pump that stops when its tank is empty.",
            SOURCE,
            facts=facts(drawn=told.flow(first.water.flow_m3_s, 0), given=told.flow(given, 0)),
        )


def _words(feed: BoardFeed, member: _Member, case: _Case) -> Phrase:
    """The water of a case and what a product comes out at then."""
    named = told.product(member.product.id)
    if isinstance(case.answer.reason, Reason):
        _, why = why_no_water(feed, case.answer.reason)
        return Phrase("what {product} comes out at is not known, as {why}", facts(product=named, why=why))
    return Phrase(
        "the water at the board comes to {pressure} and {mixture}",
        facts(pressure=case.pressure, mixture=_mixture(member, case)),
    )


def _mixture(member: _Member, case: _Case) -> Phrase:
    named = told.product(member.product.id)
    if case.mixture.dilution is not None:
        return Phrase(
            "{product} comes out at about {given} instead of {wanted} ({least} to {most} is right)",
            facts(
                product=named,
                given=parts(case.mixture.dilution),
                wanted=Number(member.product.dilution, 2, ":1"),
                **limits(member.product),
            ),
        )
    if case.fill is None or case.fill.suction is None:
        low, *_, high = (inlet for inlet, _ in member.post.proportioner.vacuum.points)
        return Phrase(
            "what {product} comes out at is not known, as its proportioner is known from {low} to {high}",
            facts(product=named, low=told.pressure(low), high=told.pressure(high)),
        )
    return Phrase("{product} draws no concentrate", facts(product=named))
