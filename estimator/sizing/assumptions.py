"""What the proof assumes, as facts for the basis of design."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.hydraulics.friction import RE_LAMINAR, RE_TURBULENT
from estimator.hydraulics.simultaneous import CRITERION
from estimator.model.design import Design
from estimator.model.finding import Amount, Listed, Number, Phrase, facts
from estimator.model.site import Site
from estimator.sizing import rules, told
from estimator.sizing.line_network import GUN_HEIGHT_M, TUBE_ROUGHNESS_M
from estimator.sizing.line_proof import LineAnswer
from estimator.units import Dimension

__all__ = ["assumptions_of"]


def assumptions_of(site: Site, design: Design, answers: Sequence[LineAnswer]) -> tuple[Phrase, ...]:
    """What a customer and a colleague can check, a sentence each."""
    busy = told.share(CRITERION)
    said = [
        Phrase(
            "Pump, proportioner, gun, nozzle and hose figures are generic demo data; confirm with the maker's data."
        ),
        Phrase(
            "Guns are held {height} above the floor. Tube is drawn plastic ({roughness}).",
            facts(
                height=Amount(GUN_HEIGHT_M, Dimension.LENGTH, 1),
                roughness=Amount(TUBE_ROUGHNESS_M, Dimension.ROUGHNESS),
            ),
        ),
        Phrase(
            "Solutions flow at {temperature}; unless stated they are as thin as water.",
            facts(temperature=Amount.of(site.water.temperature)),
        ),
        Phrase(
            "Guns that run together, unless stated: Hunter's {busy} of the busy hour (NBS BMS65, 1940).",
            facts(busy=busy),
        ),
        Phrase("Each drop is proved with the other guns open that hurt it most."),
        Phrase(
            "Friction: laminar, a bridge from Re {low} to {high}, Colebrook above; coils after White, Mori, Nakayama.",
            facts(low=Number(RE_LAMINAR, 0), high=Number(RE_TURBULENT, 0)),
        ),
        Phrase("Spray width is the theoretical one; the real width is less far from the nozzle."),
        Phrase("The dilution of each tip must be confirmed by a test on site."),
        Phrase(
            "Air: one at work in each bay, unless that is too few for what is sprayed; whoever opens a gun, and what "
            "the others ask for in {busy} of such moments. Each uses what the pressure behind its hose drives at the "
            "head of the air line, which may lose {loss}.",
            facts(busy=busy, loss=told.share(rules.HEADER_DROP_SHARE)),
        ),
    ]
    viscous = tuple(told.product(p.id) for p in design.products if p.viscosity is not None)
    if viscous:
        said.append(Phrase("Stated viscosity of the solution: {products}.", facts(products=Listed(viscous))))
    slow = tuple(told.product(a.line.line) for a in answers if rules.too_slow(a.line.use_probability))
    if slow:
        said.append(Phrase("All guns are taken as open on: {products}.", facts(products=Listed(slow))))
    return tuple(said)
