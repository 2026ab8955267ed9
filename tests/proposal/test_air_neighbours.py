"""The sizes beside those of the air line are judged by the proof, not guessed from their cost."""

from __future__ import annotations

from decimal import Decimal

from estimator.layout.plan import lay_out
from estimator.model.design import AIR
from estimator.model.finding import plain
from estimator.model.job import Job
from estimator.proposal.plant import with_tubes
from estimator.proposal.propose import propose
from estimator.reference.catalogue import catalogue
from estimator.sizing.proof import prove
from estimator.store.pricebooks import shipped_price_book


def test_each_neighbour_stands_as_the_proof_says(gannet: Job) -> None:
    parts = catalogue()
    layout, _ = lay_out(gannet.site, gannet.design, parts)
    proposal = propose(gannet.site, gannet.design, layout, parts, shipped_price_book(), Decimal(55))
    line = layout.line(AIR)
    assert line is not None
    air = next(p for p in proposal.lines if p.line == AIR)
    seen = {True: 0, False: 0}
    for choice in air.choices[:6]:
        segment = choice.place.removeprefix(f"lines.{AIR}.").removesuffix(".tube")
        for near in (choice.smaller, choice.larger):
            if near is None:
                continue
            other = with_tubes(proposal.design, line, {segment: near.size})
            _, findings = prove(gannet.site, other, layout, parts)
            fails = any(f.rule in ("air-header-drop", "air-line-choked") for f in findings)
            assert near.verdict.holds is not fails, choice.place
            assert "of the supply" in plain(near.note) or "choke" in plain(near.note)
            seen[near.verdict.holds] += 1
    assert min(seen.values()) >= 2
