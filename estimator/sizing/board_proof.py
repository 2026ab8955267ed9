"""The proof of the board: what each product comes out at while its tank fills alone, in the busy hour, and with all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice
from typing import Final

from estimator.hydraulics.board import Answer, Board, Feed, Fill, Filling, Post, solve
from estimator.hydraulics.drills import drill_diameter
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.simultaneous import guns_at_once
from estimator.hydraulics.supply import DROP_LIMIT, SupplyCurve
from estimator.hydraulics.water import vapour_pressure
from estimator.model.design import Product
from estimator.model.finding import Amount, Count, Fact, Finding, Number, Phrase, Severity, facts
from estimator.model.site import Site
from estimator.reference.resolved import KnownUnit
from estimator.sizing import rules, told
from estimator.sizing.moment import by_thirst
from estimator.sizing.plant_proof import SUCTION, concentrate_of, proportioner_of
from estimator.sizing.types import BoardProof, Mixture, PlantProof, SharedWater
from estimator.units import Dimension

__all__ = ["ASSUMED_DROP", "prove_board"]

ASSUMED_DROP: Final = 0.25
"""Share of static pressure that the survey's flow is taken to drop where static was not read: what a good test drops
(newer editions of NFPA 291, second-hand), and so a weaker street than one whose test dropped less."""

_LEAST_PA: Final = 1.0
"""Water of less pressure is none [Pa]."""

_SOURCE: Final = "hydraulic proof: supply curve through the surveyed flow (NFPA 291 form)"


@dataclass(frozen=True, slots=True)
class _Member:
    """A product on the board: its place among the units, its proof, its post."""

    at: int
    product: Product
    plant: PlantProof
    post: Post

    def misses(self, dilution: float | None) -> bool:
        return dilution is None or rules.misses_range(
            dilution, self.product.dilution, self.product.label_strongest, self.product.label_weakest
        )


@dataclass(frozen=True, slots=True)
class _Case:
    """A product in one case: the water, and what it comes out at."""

    answer: Answer
    fill: Fill | None

    @property
    def mixture(self) -> Mixture:
        water = self.answer.water
        return Mixture(
            None if water is None else water.inlet_pa, None if self.fill is None else self.fill.parts_water
        )

    @property
    def pressure(self) -> Amount:
        water = self.answer.water
        return told.pressure(0.0 if water is None else water.inlet_pa)


def prove_board(
    site: Site, products: Sequence[Product], units: Sequence[KnownUnit], plant: Sequence[PlantProof]
) -> tuple[BoardProof | None, tuple[Finding, ...]]:
    """All proportioners on the one water that they share.

    Losses between tie-in and board are not counted. A product whose tip misses the wanted dilution at the survey's
    pressure has a finding of its own, and none here.

    Args:
        site: the survey.
        products: of the design.
        units: the plant, looked up.
        plant: the proofs of the units that could be proved.

    Returns:
        The proof, None where it cannot be given; findings then say why.
    """
    members = _members(site, products, units, plant)
    water = site.water
    if not members or water.flow.si <= 0.0 or water.pressure.si < _LEAST_PA:
        return None, ()
    static = None if water.static_pressure is None else water.static_pressure.si
    if static is not None and static <= water.pressure.si:
        return None, (
            Finding(
                Severity.ERROR,
                "site.water.static_pressure",
                "water-static-low",
                "Static water pressure: {static} is not above the {pressure} while water flows. Read both at the "
                "tie-in again, the static one with nothing running.",
                _SOURCE,
                facts=facts(static=told.pressure(static), pressure=Amount.of(water.pressure)),
            ),
        )
    curve = SupplyCurve(
        water.pressure.si / (1.0 - ASSUMED_DROP) if static is None else static,
        water.flow.si,
        water.pressure.si,
    )
    board = Board(
        Feed(curve),
        tuple(member.post for member in members),
        barometric_pressure(site.altitude.si),
        vapour_pressure(water.temperature.si),
    )
    at_once = max(1, guns_at_once([member.plant.filling for member in members]).count)
    busy, everything = _busy(members, at_once), tuple(range(len(members)))
    sets = tuple(dict.fromkeys([*((at,) for at in everything), *busy, everything]))
    answers = dict(zip(sets, _solved(board, sets), strict=True))
    first = answers[everything]
    cases = tuple(_cases(at, answers[(at,)], answers[busy[at]], first) for at in everything)
    proof = BoardProof(
        curve.static_pa,
        static is None,
        at_once,
        tuple(
            SharedWater(member.product.id, alone.mixture, busy.mixture, first.mixture)
            for member, (alone, busy, first) in zip(members, cases, strict=True)
        ),
        board,
    )
    return proof, tuple(_findings(site, curve, members, cases, at_once))


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
            SUCTION,
            concentrate_of(site, product),
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
def _solved(board: Board, sets: tuple[Filling, ...]) -> tuple[Answer, ...]:
    """Kept by value: most edits leave the board as it is."""
    return solve(board, sets)


def _cases(at: int, alone: Answer, busy: Answer, first: Answer) -> tuple[_Case, _Case, _Case]:
    one, several, every = (
        _Case(answer, next((fill for fill in answer.fills if fill.post == at), None))
        for answer in (alone, busy, first)
    )
    return one, several, every


def _findings(
    site: Site,
    curve: SupplyCurve,
    members: Sequence[_Member],
    cases: Sequence[tuple[_Case, _Case, _Case]],
    at_once: int,
) -> Iterator[Finding]:
    if site.water.static_pressure is not None and not curve.reliable:
        yield Finding(
            Severity.NOTE,
            "site.water.static_pressure",
            "water-test-weak",
            "Static water pressure: the flow of the survey drops it by {drop} only, and a test that drops it by less "
            "than {limit} tells little of what more flow would do. Open more taps and read again.",
            _SOURCE,
            facts=facts(drop=told.share(curve.drop_share, 1), limit=told.share(DROP_LIMIT)),
        )
    if len(members) > 1 and site.water.static_pressure is None:
        yield Finding(
            Severity.NOTE,
            "site.water.static_pressure",
            "water-static-missing",
            "Static water pressure: it was not read, and {static} is assumed. Read it at the tie-in with nothing "
            "running: it decides what is left when several tanks fill at once.",
            _SOURCE,
            facts=facts(static=told.pressure(curve.static_pa)),
        )
    late: list[tuple[_Member, _Case]] = []
    for member, (alone, busy, first) in zip(members, cases, strict=True):
        if rules.off_dilution(member.plant.dilution, member.product.dilution):
            continue
        if member.misses(alone.mixture.dilution):
            yield _alone(member, alone)
        elif at_once > 1 and member.misses(busy.mixture.dilution):
            yield _in_busy_hour(member, busy, at_once)
        elif member.misses(first.mixture.dilution):
            late.append((member, first))
    if late:
        yield _first_fill(late)


def _alone(member: _Member, case: _Case) -> Finding:
    return Finding(
        Severity.WARNING,
        f"design.plant.{member.at}.tip_drill",
        "dilution-alone",
        "{product}: while its tank fills alone the water arrives at {pressure}, and {mixture}. Another tip or another "
        "proportioner may lift it; where the pressure is high, a pressure-reducing valve.",
        _SOURCE,
        facts=facts(
            product=told.product(member.product.id), pressure=case.pressure, mixture=_words(member, case)
        ),
    )


def _in_busy_hour(member: _Member, case: _Case, at_once: int) -> Finding:
    return Finding(
        Severity.WARNING,
        f"design.plant.{member.at}.proportioner",
        "dilution-busy",
        "{product}: in the busy hour {count} tanks may fill at once; the water at the board then falls to {pressure}, "
        "and {mixture}. A larger supply or a proportioner of less flow lifts it.",
        _SOURCE,
        facts=facts(
            product=told.product(member.product.id),
            count=Number(at_once, 0),
            pressure=case.pressure,
            mixture=_words(member, case),
        ),
    )


def _first_fill(late: Sequence[tuple[_Member, _Case]]) -> Finding:
    def how_far(of: tuple[_Member, _Case]) -> float:
        dilution = of[1].mixture.dilution
        wanted = of[0].product.dilution
        return float("inf") if dilution is None else max(dilution / wanted, wanted / dilution)

    member, case = max(late, key=how_far)
    rest = len(late) - 1
    others = Phrase(
        "; {rest} beside it", facts(rest=Count(rest, "product misses its range", "products miss theirs"))
    )
    return Finding(
        Severity.WARNING,
        "site.water.flow",
        "dilution-first-fill",
        "First fill: with all tanks filling at once the water at the board falls to {pressure}, and {mixture}{others}. "
        "Fill empty tanks one after another.",
        _SOURCE,
        facts=facts(
            pressure=case.pressure,
            mixture=_words(member, case),
            others=others if rest else Phrase(""),
        ),
    )


def _words(member: _Member, case: _Case) -> Fact:
    named = told.product(member.product.id)
    if case.mixture.dilution is not None:
        return Phrase(
            "{product} comes out at about {given} instead of {wanted}",
            facts(
                product=named,
                given=Number(case.mixture.dilution, 0 if case.mixture.dilution >= 20.0 else 1, ":1"),
                wanted=Number(member.product.dilution, 2, ":1"),
            ),
        )
    if case.fill is None:
        return Phrase("no water reaches {product}", facts(product=named))
    if case.fill.suction is None:
        low, high = (
            end[0]
            for end in (member.post.proportioner.vacuum.points[0], member.post.proportioner.vacuum.points[-1])
        )
        return Phrase(
            "what {product} comes out at is not known, as its proportioner is known from {low} to {high}",
            facts(
                product=named,
                low=Amount(low, Dimension.PRESSURE),
                high=Amount(high, Dimension.PRESSURE),
            ),
        )
    return Phrase("{product} draws no concentrate", facts(product=named))
