"""The whole proof of a design: lines, plant, air and water, and what each of them has to say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from estimator.going import ALONE, Going
from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import NetworkError
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.layout.types import Layout
from estimator.model.design import AIR, Design, PlantUnit, Product
from estimator.model.finding import Fact, Finding, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue, Pump
from estimator.reference.resolved import Resolved, resolve
from estimator.sizing import rules, told
from estimator.sizing.air_proof import prove_air
from estimator.sizing.assumptions import assumptions_of
from estimator.sizing.line_findings import drop_findings, line_findings
from estimator.sizing.line_network import LineParts, UnknownPartError, line_parts
from estimator.sizing.line_proof import LineAnswer, prove_line
from estimator.sizing.plant_proof import prove_plant, prove_water
from estimator.sizing.types import PlantProof, Proof

__all__ = ["Prover", "prove"]

LineResult = tuple[LineAnswer | None, tuple[Finding, ...]]


def _problem(place: str, rule: str, product: Product, why: Fact) -> Finding:
    return Finding(
        Severity.ERROR,
        place,
        rule,
        "{product} cannot be proved: {why}.",
        "hydraulic proof",
        facts=facts(product=told.product(product.id), why=why),
    )


def _line(
    product: Product,
    product_at: int,
    line: LineParts,
    drops_at: tuple[int, ...],
    unit: PlantUnit,
    unit_at: int,
    pump: Pump,
    site: Site,
) -> LineResult:
    place = f"design.products.{product_at}"
    source_pa = rules.pump_pressure(unit.regulator.si, site.air.pressure.si)
    try:
        flowing = liquid(
            site.water.temperature.si,
            product.specific_gravity,
            product.viscosity.si if product.viscosity is not None else None,
        )
        answer = prove_line(
            line,
            product,
            site.use,
            pump,
            source_pa,
            flowing,
            barometric_pressure(site.altitude.si),
            site.water.temperature.si - 273.15,
        )
    except OutOfRange as error:
        where = "site.water.temperature" if error.quantity == "temperature_k" else place
        return None, (_problem(where, "proof-out-of-range", product, told.out_of_range(error)),)
    except NetworkError as error:
        return None, (_problem(place, "proof-not-solved", product, str(error)),)
    found = (
        *line_findings(answer, product, product_at, unit, unit_at, pump, site),
        *(f for proof, at in zip(answer.drops, drops_at, strict=True) for f in drop_findings(proof, at)),
    )
    return answer, found


class Prover:
    """Proves designs and keeps each line's answer for as long as nothing it depends on has changed."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[Any, ...], LineResult]] = {}

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
        answers: list[LineAnswer] = []
        findings: list[Finding] = []
        kept: dict[str, tuple[tuple[Any, ...], LineResult]] = {}
        for inputs in self._lines(site, design, layout, resolved):
            going.check()
            key = inputs[0].id
            known = self._kept.get(key)
            result = known[1] if known is not None and known[0] == inputs else _line(*inputs)
            kept[key] = self._kept[key] = (inputs, result)
            if result[0] is not None:
                answers.append(result[0])
            findings.extend(result[1])
        self._kept = kept
        plant, plant_findings = self._plant(site, design, answers, parts, resolved, going)
        going.check()
        air, air_findings = prove_air(site, design, layout, answers, resolved)
        water, water_findings = prove_water(site, plant)
        order = {d.id: i for i, d in enumerate(design.drops)}
        drops = sorted((d for a in answers for d in a.drops), key=lambda d: order[d.drop])
        proof = Proof(
            drops=tuple(drops),
            lines=tuple(a.line for a in answers),
            plant=plant,
            air=air,
            water=water,
            assumptions=assumptions_of(site, design, answers),
        )
        return proof, (*findings, *plant_findings, *air_findings, *water_findings)

    @staticmethod
    def _lines(
        site: Site, design: Design, layout: Layout, resolved: Resolved
    ) -> Iterator[tuple[Product, int, LineParts, tuple[int, ...], PlantUnit, int, Pump, Site]]:
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
                yield product, product_at, made, drops_at, known.unit, unit_at, known.pump, site

    @staticmethod
    def _plant(
        site: Site,
        design: Design,
        answers: Iterable[LineAnswer],
        parts: Catalogue,
        resolved: Resolved,
        going: Going,
    ) -> tuple[tuple[PlantProof, ...], list[Finding]]:
        by_line = {a.line.line: a for a in answers}
        products = {p.id: p for p in design.products}
        proofs: list[PlantProof] = []
        findings: list[Finding] = []
        for i, known in enumerate(resolved.plant):
            going.check()
            product = known.unit.product
            answer = by_line.get(product)
            if answer is None:
                continue
            proof, found = prove_plant(site, products[product], known, i, answer, parts.tanks)
            if proof is not None:
                proofs.append(proof)
            findings.extend(found)
        return tuple(proofs), findings


def prove(
    site: Site, design: Design, layout: Layout, parts: Catalogue, going: Going = ALONE
) -> tuple[Proof, tuple[Finding, ...]]:
    """The proof of a design from nothing; may raise `Stopped`."""
    return Prover()(site, design, layout, parts, going=going)
