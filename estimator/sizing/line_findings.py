"""What the proof of a line has to say: pressure, velocity, rating, pump, use. Sentences with their place."""

from __future__ import annotations

from collections.abc import Iterator

from estimator.model.design import PlantUnit, Product
from estimator.model.finding import Finding, Severity
from estimator.model.site import Site
from estimator.reference.catalogue import Pump
from estimator.sizing import rules
from estimator.sizing.line_proof import LineAnswer
from estimator.sizing.types import DropProof, Verdict

__all__ = ["drop_findings", "line_findings"]

_SOURCE = "hydraulic proof"
_BAR = 1e5
_L_MIN = 1e-3 / 60.0


def drop_findings(proof: DropProof, at: int) -> Iterator[Finding]:
    """Findings of one drop; `at` is its position in the design's list."""
    place = f"design.drops.{at}"
    others = f" with {', '.join(proof.rivals)} open too" if proof.rivals else ""
    low, high = proof.window_low_pa / _BAR, proof.window_high_pa / _BAR
    if proof.verdict is Verdict.NO_FLOW:
        yield Finding(
            Severity.ERROR,
            f"{place}.nozzle_size",
            "drop-no-flow",
            f"{proof.drop}: nothing comes out{others}. The gun is above what the pump's pressure reaches: raise the "
            "regulator setting, or hang the drop lower.",
            _SOURCE,
        )
    elif proof.verdict is Verdict.LOW:
        yield Finding(
            Severity.ERROR,
            f"{place}.nozzle_size",
            "drop-pressure-low",
            f"{proof.drop}: {proof.together.nozzle_pressure_pa / _BAR:.2f} bar at the nozzle{others}; its window is "
            f"{low:.2f} to {high:.2f} bar. A smaller nozzle, a wider tube or hose, or a higher regulator setting "
            "lifts it.",
            _SOURCE,
        )
    elif proof.verdict is Verdict.HIGH:
        yield Finding(
            Severity.ERROR,
            f"{place}.nozzle_size",
            "drop-pressure-high",
            f"{proof.drop}: {proof.alone.nozzle_pressure_pa / _BAR:.2f} bar at the nozzle with no other gun open; its "
            f"window is {low:.2f} to {high:.2f} bar. A lower regulator setting or a larger nozzle lowers it.",
            _SOURCE,
        )
    wanted = proof.wanted_flow_m3_s
    if wanted is not None and proof.verdict is not Verdict.NO_FLOW:
        given = proof.together.flow_m3_s
        if rules.off_wanted(given, wanted):
            word = "less" if given < wanted else "more"
            yield Finding(
                Severity.WARNING,
                f"{place}.wanted_flow",
                "drop-wanted-flow",
                f"{proof.drop}: {given / _L_MIN:.2f} L/min{others}, {word} than the wanted {wanted / _L_MIN:.2f} L/min "
                f"by over {rules.WANTED_TOLERANCE:.0%}. Choose another nozzle size or regulator setting.",
                _SOURCE,
            )


def line_findings(
    answer: LineAnswer,
    product: Product,
    product_at: int,
    unit: PlantUnit,
    unit_at: int,
    pump: Pump,
    site: Site,
) -> Iterator[Finding]:
    """Findings of one line as a whole."""
    proof = answer.line
    plant = f"design.plant.{unit_at}"
    if rules.above(unit.regulator.si, site.air.pressure.si):
        yield Finding(
            Severity.ERROR,
            f"{plant}.regulator",
            "regulator-above-compressor",
            f"“{product.name}”: the regulator is set to {unit.regulator.text}, above the compressor's "
            f"{site.air.pressure.text}, and can give no more than that. The proof takes the compressor's pressure.",
            _SOURCE,
        )
    if rules.above(unit.regulator.si, pump.max_kpa * 1000.0):
        yield Finding(
            Severity.ERROR,
            f"{plant}.regulator",
            "regulator-above-pump",
            f"“{product.name}”: {unit.regulator.text} is above the pump's limit of {pump.max_kpa / 100.0:.1f} bar "
            "(catalogue data). Lower the setting or choose another pump.",
            _SOURCE,
        )
    if rules.above(proof.flow_m3_s, proof.pump_capacity_m3_s):
        yield Finding(
            Severity.ERROR,
            f"{plant}.pump",
            "pump-too-small",
            f"“{product.name}”: {proof.guns_open} guns take {proof.flow_m3_s / _L_MIN:.1f} L/min; the pump gives "
            f"{pump.max_l_min:.1f} L/min at most (catalogue data). Choose a larger pump or smaller nozzles.",
            _SOURCE,
        )
    if rules.too_slow(proof.use_probability):
        yield Finding(
            Severity.ERROR,
            f"design.products.{product_at}.use_per_vehicle",
            "line-too-slow",
            f"“{product.name}”: the guns would have to spray longer than the busy hour has. Larger nozzles, more "
            "drops, or a corrected use per vehicle lifts it.",
            _SOURCE,
        )
    fast = [s for s in proof.segments if rules.too_fast(s.velocity_m_s)]
    if fast:
        worst = max(fast, key=lambda s: s.velocity_m_s)
        yield Finding(
            Severity.WARNING,
            f"design.products.{product_at}",
            "tube-velocity",
            f"“{product.name}”: {worst.velocity_m_s:.1f} m/s in segment {worst.segment}; over "
            f"{rules.MAX_VELOCITY_M_S:.0f} m/s a tube is noisy and wears. A wider tube lowers it.",
            "common practice, no source",
        )
    weak = [s for s in proof.segments if rules.over_rating(s.pressure_pa, s.rating_pa)]
    if weak:
        worst = max(weak, key=lambda s: s.pressure_pa - s.rating_pa)
        told = (
            f"its rating at {site.water.temperature.text} is {worst.rating_pa / _BAR:.1f} bar"
            if worst.rating_pa > 0.0
            else f"its rating is not known at {site.water.temperature.text}"
        )
        yield Finding(
            Severity.ERROR,
            f"design.products.{product_at}",
            "tube-rating",
            f"“{product.name}”: up to {worst.pressure_pa / _BAR:.1f} bar in segment {worst.segment}; {told} "
            "(confirm with the maker's data). Lower the regulator setting or choose another tube.",
            _SOURCE,
        )
