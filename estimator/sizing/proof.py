"""The whole proof of a design: lines, plant, air and water, and what each of them has to say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import NetworkError
from estimator.hydraulics.pump import barometric_pressure
from estimator.hydraulics.solution import liquid
from estimator.layout.types import Layout, LineLayout
from estimator.model.design import AIR, Design, Drop, LinePlan, PlantUnit, Product
from estimator.model.finding import Fact, Finding, Severity, facts
from estimator.model.site import Site
from estimator.reference.catalogue import Catalogue
from estimator.sizing import rules, told
from estimator.sizing.air_proof import prove_air
from estimator.sizing.assumptions import assumptions_of
from estimator.sizing.line_findings import drop_findings, line_findings
from estimator.sizing.line_network import UnknownPartError, line_parts
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
    layout: LineLayout,
    product: Product,
    product_at: int,
    drops: tuple[tuple[int, Drop], ...],
    plan: LinePlan,
    unit: PlantUnit | None,
    unit_at: int,
    site: Site,
    parts: Catalogue,
) -> LineResult:
    place = f"design.products.{product_at}"
    if unit is None:
        return None, ()  # layout has said already that the product has no plant
    pump = next((p for p in parts.pumps if p.key == unit.pump), None)
    if pump is None:
        return None, ()  # layout names the unknown pump
    try:
        line = line_parts(layout, (d for _, d in drops), plan, parts)
    except UnknownPartError:
        return None, ()  # layout names each unknown choice
    if not line.drops:
        return None, ()
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
    at = {d.id: i for i, d in drops}
    found = (
        *line_findings(answer, product, product_at, unit, unit_at, pump, site),
        *(f for proof in answer.drops for f in drop_findings(proof, at[proof.drop])),
    )
    return answer, found


class Prover:
    """Proves designs and keeps each line's answer for as long as nothing it depends on has changed."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[tuple[Any, ...], LineResult]] = {}

    def __call__(
        self, site: Site, design: Design, layout: Layout, parts: Catalogue
    ) -> tuple[Proof, tuple[Finding, ...]]:
        """The proof of a design with its findings; pure."""
        answers: list[LineAnswer] = []
        findings: list[Finding] = []
        kept: dict[str, tuple[tuple[Any, ...], LineResult]] = {}
        for inputs in self._lines(site, design, layout, parts):
            key = inputs[0].id
            known = self._kept.get(key)
            result = known[1] if known is not None and known[0] == inputs else _line(*inputs)
            kept[key] = (inputs, result)
            if result[0] is not None:
                answers.append(result[0])
            findings.extend(result[1])
        self._kept = kept
        plant, plant_findings = self._plant(site, design, answers, parts)
        air, air_findings = prove_air(site, design, layout, answers, parts)
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
        site: Site, design: Design, layout: Layout, parts: Catalogue
    ) -> Iterator[tuple[LineLayout, Product, int, Any, LinePlan, PlantUnit | None, int, Site, Catalogue]]:
        plans = {plan.service: plan for plan in design.lines}
        units = {unit.product: (i, unit) for i, unit in enumerate(design.plant)}
        products = {product.id: (i, product) for i, product in enumerate(design.products)}
        for line in layout.lines:
            if line.id == AIR or not line.segments:
                continue
            product_at, product = products[line.id]
            unit_at, unit = units.get(line.id, (-1, None))
            drops = tuple((i, d) for i, d in enumerate(design.drops) if d.service == line.id)
            plan = plans.get(line.id) or LinePlan(service=line.id)
            yield line, product, product_at, drops, plan, unit, unit_at, site, parts

    @staticmethod
    def _plant(
        site: Site, design: Design, answers: Iterable[LineAnswer], parts: Catalogue
    ) -> tuple[tuple[PlantProof, ...], list[Finding]]:
        by_line = {a.line.line: a for a in answers}
        products = {p.id: p for p in design.products}
        proofs: list[PlantProof] = []
        findings: list[Finding] = []
        for i, unit in enumerate(design.plant):
            answer = by_line.get(unit.product)
            if answer is None:
                continue
            proof, found = prove_plant(site, products[unit.product], unit, i, answer, parts)
            if proof is not None:
                proofs.append(proof)
            findings.extend(found)
        return tuple(proofs), findings


def prove(site: Site, design: Design, layout: Layout, parts: Catalogue) -> tuple[Proof, tuple[Finding, ...]]:
    """The proof of a design from nothing."""
    return Prover()(site, design, layout, parts)
