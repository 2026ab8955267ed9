"""The whole proof of a design: lines, plant, air and water, and what each of them has to say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.going import ALONE, Going
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import NetworkError
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.layout.types import Layout
from estimator.model.design import AIR, Design, PlantUnit, Product
from estimator.model.finding import Fact, Finding, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue, Pump, Tank
from estimator.reference.resolved import Resolved, resolve
from estimator.sizing import rules, told
from estimator.sizing.air_proof import prove_air
from estimator.sizing.air_supply import supply_of
from estimator.sizing.assumptions import assumptions_of
from estimator.sizing.board_proof import prove_board
from estimator.sizing.day_proof import day_assumptions, prove_day
from estimator.sizing.feed import BoardFeed, feed_findings, feed_of
from estimator.sizing.foam_proof import foam_assumptions, prove_foam
from estimator.sizing.line_findings import drop_findings, line_findings
from estimator.sizing.line_network import LineParts, UnknownPartError, line_parts
from estimator.sizing.line_proof import LineAnswer, LineCase, prove_lines
from estimator.sizing.plant_proof import prove_plant, prove_water
from estimator.sizing.ratings import rating_findings
from estimator.sizing.remedy import Mender
from estimator.sizing.rest_proof import rest_findings
from estimator.sizing.types import PlantProof, Proof

__all__ = ["Prover", "prove"]

LineResult = tuple[LineAnswer | None, tuple[Finding, ...]]

_BATCH: Final = 100
"""Lines proved together: more gain nothing, and between two batches it is asked whether the proof is still wanted."""


def _sizes(resolved: Resolved, tanks: Sequence[Tank]) -> dict[str, tuple[Tank, ...]]:
    """Tanks in place of each product's own: of the same make, so that what stands the product stays."""
    makes = {known.tank.key: known.tank for known in resolved.plant if known.tank is not None}
    alike = {key: tuple(t for t in tanks if t.made_like(made)) for key, made in makes.items()}
    return {known.unit.product: alike[known.tank.key] for known in resolved.plant if known.tank is not None}


@dataclass(frozen=True, slots=True)
class _Line:
    """A line to be proved, and where in the design its parts stand."""

    product: Product
    product_at: int
    line: LineParts
    drops_at: tuple[int, ...]
    unit: PlantUnit
    unit_at: int
    pump: Pump
    site: Site


def _problem(place: str, rule: str, product: Product, why: Fact) -> LineResult:
    return None, (
        Finding(
            Severity.ERROR,
            place,
            rule,
            "{product} cannot be proved: {why}.",
            "hydraulic proof",
            facts=facts(product=told.product(product.id), why=why),
        ),
    )


def _out_of_range(of: _Line, error: OutOfRange) -> LineResult:
    where = (
        "site.water.temperature" if error.quantity == "temperature_k" else f"design.products.{of.product_at}"
    )
    return _problem(where, "proof-out-of-range", of.product, told.out_of_range(error))


def _case(of: _Line) -> LineCase:
    """May raise OutOfRange."""
    site, viscosity = of.site, of.product.viscosity
    return LineCase(
        of.line,
        of.product,
        site.use,
        of.pump,
        rules.pump_pressure(of.unit.regulator.si, supply_of(site).board_pa),
        liquid(
            site.water.temperature.si,
            of.product.specific_gravity,
            viscosity.si if viscosity is not None else None,
        ),
        barometric_pressure(site.altitude.si),
        site.water.temperature.si - 273.15,
    )


def _results(lines: Sequence[_Line]) -> list[LineResult]:
    """Each line's answer, or why there is none."""
    try:
        answers = prove_lines([_case(of) for of in lines])
    except (NetworkError, OutOfRange) as error:
        if len(lines) > 1:
            # One cannot be proved; each alone gets the answer that it would have had beside the others.
            return [_results([of])[0] for of in lines]
        if isinstance(error, OutOfRange):
            return [_out_of_range(lines[0], error)]
        place = f"design.products.{lines[0].product_at}"
        return [_problem(place, "proof-not-solved", lines[0].product, told.not_solved(error))]
    return [(answer, tuple(_found(of, answer))) for of, answer in zip(lines, answers, strict=True)]


def _found(of: _Line, answer: LineAnswer) -> Iterator[Finding]:
    yield from line_findings(answer, of.product, of.product_at, of.unit, of.unit_at, of.pump, of.site)
    for proof, at in zip(answer.drops, of.drops_at, strict=True):
        yield from drop_findings(proof, at)


class Prover:
    """Proves designs and keeps each line's answer for as long as nothing it depends on has changed."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[_Line, LineResult]] = {}

    def __call__(
        self,
        site: Site,
        design: Design,
        layout: Layout,
        parts: Catalogue,
        resolved: Resolved | None = None,
        *,
        going: Going = ALONE,
    ) -> tuple[Proof, tuple[Finding, ...]]:
        """The proof of a design with its findings; pure.

        Args:
            site: the survey.
            design: what was chosen.
            layout: laid out from the same design.
            parts: the catalogue.
            resolved: the design's parts where they were looked up already; it names what the catalogue has not.
            going: asked from line to line and from plant to plant whether the proof is still wanted; the lines proved
                until then are kept.

        Raises:
            Stopped: it is not.
        """
        resolved = resolved or resolve(design, parts)
        lines = tuple(self._lines(site, design, layout, resolved))
        fresh = [of for of in lines if not self._knows(of)]
        for start in range(0, len(fresh), _BATCH):
            going.check()
            some = fresh[start : start + _BATCH]
            for of, result in zip(some, _results(some), strict=True):
                self._kept[of.product.id] = of, result
        self._kept = {of.product.id: self._kept[of.product.id] for of in lines}
        results = [result for _, result in self._kept.values()]
        answers = [answer for answer, _ in results if answer is not None]
        findings = [finding for _, found in results for finding in found]
        feed = feed_of(site, design.common, resolved)
        mender = None if feed is None else Mender(site, design.common, resolved, parts, feed)
        plant, plant_findings = self._plant(site, feed, design, answers, resolved, mender, going)
        going.check()
        air, air_findings = prove_air(site, design, layout, answers, resolved)
        foam, foam_findings = prove_foam(site, design, answers, resolved, air)
        weak = (
            *rating_findings(site, design, layout, answers, resolved),
            *rest_findings(site, design, layout, answers, resolved),
        )
        water, water_findings = prove_water(site, plant)
        board, board_findings = prove_board(site, feed, design.products, resolved.plant, plant, mender)
        going.check()
        places = {known.unit.product: i for i, known in enumerate(resolved.plant)}
        plant, day, day_findings = prove_day(
            site.use, design.products, places, answers, plant, board, _sizes(resolved, parts.tanks), going
        )
        order = {d.id: i for i, d in enumerate(design.drops)}
        drops = sorted((d for a in answers for d in a.drops), key=lambda d: order[d.drop])
        proof = Proof(
            drops=tuple(drops),
            lines=tuple(a.line for a in answers),
            plant=plant,
            air=air,
            water=water,
            assumptions=(
                *assumptions_of(site, design, answers),
                *foam_assumptions(foam),
                *day_assumptions(day),
            ),
            board=board,
            day=day,
            foam=foam,
        )
        return proof, (
            *findings,
            *weak,
            *plant_findings,
            *air_findings,
            *foam_findings,
            *water_findings,
            *board_findings,
            *day_findings,
        )

    def _knows(self, of: _Line) -> bool:
        known = self._kept.get(of.product.id)
        return known is not None and known[0] == of

    @staticmethod
    def _lines(site: Site, design: Design, layout: Layout, resolved: Resolved) -> Iterator[_Line]:
        units = {known.unit.product: (i, known) for i, known in enumerate(resolved.plant)}
        products = {product.id: (i, product) for i, product in enumerate(design.products)}
        at = {drop.id: i for i, drop in enumerate(design.drops)}
        for line in layout.lines:
            if line.id == AIR or not line.segments or line.id not in units:
                continue  # the layout has said already that a product has no plant
            product_at, product = products[line.id]
            unit_at, known = units[line.id]
            if known.pump is None:
                continue
            try:
                made = line_parts(line, resolved)
            except UnknownPartError:
                continue
            if made.drops:
                drops_at = tuple(at[part.drop.id] for part in made.drops)
                yield _Line(product, product_at, made, drops_at, known.unit, unit_at, known.pump, site)

    @staticmethod
    def _plant(
        site: Site,
        feed: BoardFeed | None,
        design: Design,
        answers: Iterable[LineAnswer],
        resolved: Resolved,
        mender: Mender | None,
        going: Going,
    ) -> tuple[tuple[PlantProof, ...], list[Finding]]:
        by_line = {a.line.line: a for a in answers}
        products = {p.id: p for p in design.products}
        proofs: list[PlantProof] = []
        findings: list[Finding] = []
        if any(u.product in products and products[u.product].dilution > 0.0 for u in design.plant):
            findings.extend(feed_findings(site, design.common, resolved))
        for i, known in enumerate(resolved.plant):
            going.check()
            product = known.unit.product
            answer = by_line.get(product)
            if answer is None:
                continue
            proof, found = prove_plant(feed, products[product], known, i, answer, mender)
            if proof is not None:
                proofs.append(proof)
            findings.extend(found)
        return tuple(proofs), findings


def prove(
    site: Site, design: Design, layout: Layout, parts: Catalogue, going: Going = ALONE
) -> tuple[Proof, tuple[Finding, ...]]:
    """The proof of a design from nothing; may raise `Stopped`."""
    return Prover()(site, design, layout, parts, going=going)
