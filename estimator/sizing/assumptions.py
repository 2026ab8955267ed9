"""What the proof assumes, in sentences for the basis of design."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.model.design import Design
from estimator.model.site import Site
from estimator.sizing import rules
from estimator.sizing.line_network import GUN_HEIGHT_M
from estimator.sizing.line_proof import LineAnswer

__all__ = ["assumptions_of"]


def assumptions_of(site: Site, design: Design, answers: Sequence[LineAnswer]) -> tuple[str, ...]:
    """Sentences a customer and a colleague can check."""
    said = [
        "Pump, proportioner, gun, nozzle and hose figures are generic demo data; confirm with the maker's data.",
        f"Guns are held {GUN_HEIGHT_M:.1f} metres (4 feet) above the floor. Tube is drawn plastic (0.0015 mm).",
        f"Solutions flow at {site.water.temperature.text}; unless stated they are as thin as water.",
        "Guns that run together, unless stated: Hunter's 99 % of the busy hour (NBS BMS65, 1940).",
        "Each drop is proved with the other guns open that hurt it most.",
        "Friction: laminar, a bridge from Re 2,300 to 4,000, Colebrook above; coils after White, Mori, Nakayama.",
        "Spray width is the theoretical one; the real width is less far from the nozzle.",
        "The dilution of each tip must be confirmed by a test on site.",
        f"Air: the sum not exceeded in 99 % of the busy hour; the air line may lose {rules.HEADER_DROP_SHARE:.0%}.",
    ]
    names = {p.id: p.name or p.id for p in design.products}
    viscous = [names[p.id] for p in design.products if p.viscosity is not None]
    if viscous:
        said.append(f"Stated viscosity of the solution: {', '.join(viscous)}.")
    slow = [names[a.line.line] for a in answers if rules.too_slow(a.line.use_probability)]
    if slow:
        said.append(f"All guns are taken as open on: {', '.join(slow)}.")
    return tuple(said)
