"""The catalogue with a person's own figures: makers' pumps, proportioners and nozzles beside the shipped ones."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from estimator.model.finding import Amount, Finding, IdKind, Number, Ref, Severity, facts
from estimator.model.makers import MakerData, OwnNozzle, OwnProportioner, OwnPump
from estimator.reference.catalogue import Catalogue, NozzleSize, Proportioner, Pump
from estimator.units import Dimension

if TYPE_CHECKING:
    from estimator.hydraulics.pump import PumpFit

__all__ = ["with_makers"]

_L_MIN = 1e-3 / 60.0
_SAID = "Maker's data, entered by hand."


def _wetted(materials: str) -> dict[str, str]:
    """What a person stated, of the part as a whole."""
    words = materials.strip()
    return {"wetted part": words} if words else {}


def _pump(own: OwnPump) -> tuple[Pump, PumpFit]:
    from estimator.hydraulics.pump import MakerPoint, fit_curve  # loaded with the first pump of a maker

    fit = fit_curve([MakerPoint(p.air.si, p.flow.si, p.discharge.si) for p in own.points])
    return (
        Pump(
            key=own.key,
            name=own.name or own.key,
            code=own.code,
            note=_SAID,
            max_l_min=own.max_flow.si / _L_MIN,
            max_kpa=own.max_air.si / 1000.0,
            droop_linear=fit.linear_pa_s_m3 * _L_MIN / 1000.0,
            droop_quadratic=fit.quadratic_pa_s2_m6 * _L_MIN**2 / 1000.0,
            air_factor=own.air_factor,
            wetted=_wetted(own.materials),
        ),
        fit,
    )


def _proportioner(own: OwnProportioner) -> Proportioner:
    return Proportioner(
        key=own.key,
        name=own.name or own.key,
        code=own.code,
        note=_SAID,
        flow_l_min=own.flow.si / _L_MIN,
        at_kpa=own.at.si / 1000.0,
        vacuum_kpa=tuple((p.inlet.si / 1000.0, p.vacuum.si / 1000.0) for p in own.vacuum),
        gone_at_ratio=own.gone_at,
        wetted=_wetted(own.materials),
    )


def _nozzle(own: OwnNozzle) -> NozzleSize:
    return NozzleSize(
        key=own.key,
        name=own.name or own.key,
        colour="",
        l_min_at_300_kpa=own.flow.si / _L_MIN * math.sqrt(300_000.0 / own.at.si),
        note=_SAID,
        min_kpa=own.window_low.si / 1000.0,
        max_kpa=own.window_high.si / 1000.0,
        wetted=_wetted(own.materials),
    )


def _fit_findings(own: OwnPump, fit: PumpFit, place: str) -> Iterator[Finding]:
    pump = Ref(IdKind.PUMP, own.key)
    if fit.left_out:
        yield Finding(
            Severity.WARNING,
            place,
            "pump-fit",
            "Pump {pump}: the {droop} droop of its curve came out negative and is left out; check the points.",
            facts=facts(pump=pump, droop=fit.left_out),
        )
    for number, miss_pa in fit.missed:
        yield Finding(
            Severity.WARNING,
            place,
            "pump-fit",
            "Pump {pump}: its curve misses point {number} by {miss}; check the points.",
            facts=facts(pump=pump, number=Number(number, 0), miss=Amount(miss_pa, Dimension.PRESSURE)),
        )


def with_makers(makers: MakerData, parts: Catalogue) -> tuple[Catalogue, tuple[Finding, ...]]:
    """The catalogue with makers' data added after the shipped parts.

    Args:
        makers: what a person entered.
        parts: the shipped catalogue.

    Returns:
        The catalogue, and findings: a key that is taken (that entry is left out), remarks on a curve's fit.
    """
    if not (makers.pumps or makers.proportioners or makers.nozzles):
        return parts, ()
    findings: list[Finding] = []
    pumps, proportioners, sizes = list(parts.pumps), list(parts.proportioners), list(parts.nozzle_sizes)

    def free(key: str, taken: list[str], place: str) -> bool:
        if key not in taken:
            return True
        findings.append(
            Finding(
                Severity.ERROR,
                place,
                "maker-key-taken",
                "Makers' data, key “{key}” stands already in the catalogue or in this list; choose another. The entry "
                "is not used.",
                facts=facts(key=key),
            )
        )
        return False

    for i, own_pump in enumerate(makers.pumps):
        if free(own_pump.key, [p.key for p in pumps], f"design.makers.pumps.{i}.key"):
            pump, fit = _pump(own_pump)
            pumps.append(pump)
            findings.extend(_fit_findings(own_pump, fit, f"design.makers.pumps.{i}.points"))
    for i, own_proportioner in enumerate(makers.proportioners):
        if free(own_proportioner.key, [p.key for p in proportioners], f"design.makers.proportioners.{i}.key"):
            proportioners.append(_proportioner(own_proportioner))
    for i, own_nozzle in enumerate(makers.nozzles):
        if free(own_nozzle.key, [s.key for s in sizes], f"design.makers.nozzles.{i}.key"):
            sizes.append(_nozzle(own_nozzle))
    added = {"pumps": tuple(pumps), "proportioners": tuple(proportioners), "nozzle_sizes": tuple(sizes)}
    return parts.model_copy(update=added), tuple(findings)
