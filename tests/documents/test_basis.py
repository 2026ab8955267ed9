"""The basis of design prints the figures of the proof in the paper's units, with the verdict of every drop."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest

from estimator.documents.quote import write_quote
from estimator.sizing.types import End, Verdict
from estimator.study import Study
from tests.documents.studies import DAY, made, raw, text_of

# Pascals in a bar: exact. In a psi: 0.45359237 kg x 9.80665 m/s2 / (0.0254 m)^2. Cubic metres in a US gallon: 231 in3.
# Feet: 0.3048 m. All exact by definition; NIST SP 811, appendix B. Confirmed.
PSI = 0.45359237 * 9.80665 / 0.0254**2
GALLON = 231 * 0.0254**3
UNITS = {
    "gannet-quay": ("bar", 1e5, 2, "L/min", 1e-3 / 60, 2, "m", 1.0),
    "harrow-mill": ("psi", PSI, 1, "gpm", GALLON / 60, 3, "ft", 0.3048),
}
WORDS = {
    Verdict.GOOD: "inside its window",
    Verdict.CLOSE: "inside its window, close to its end",
    Verdict.LOW: "pressure too low",
    Verdict.HIGH: "pressure too high",
    Verdict.NO_FLOW: "no flow",
}


def _fixed(value: float, places: int) -> str:
    return f"{Decimal(repr(value)).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP):,f}"


def _basis(study: Study) -> str:
    text = text_of(write_quote(replace(study, on=DAY)))
    return text[text.rindex("Basis of design") :]


@pytest.mark.parametrize("name", UNITS)
def test_figures_are_those_of_the_proof(name: str) -> None:
    study = made(raw(name))
    text = _basis(study)
    pressure, pascal, fine, flow, cubic, small, length, metre = UNITS[name]
    assert f"Alone {flow} Alone {pressure}" in text and f"Fastest {length}/s" in text
    design = study.job.design
    bays = {b.id: b.name for b in design.bays}
    drops, names = {d.id: d for d in design.drops}, {p.id: p.name for p in design.products}
    assert study.proof.drops
    for proof in study.proof.drops:
        drop = drops[proof.drop]
        ends = (proof.window_low_pa, proof.window_high_pa)
        figures = [
            f"{_fixed(state.flow_m3_s / cubic, small)} {_fixed(state.nozzle_pressure_pa / pascal, fine)}"
            for state in (proof.alone, proof.together)
        ]
        window = "–".join(_fixed(end / pascal, fine) for end in ends)
        place = f"{bays[drop.bay]} {drop.side.value} {names[drop.service]}"
        assert f"{place} {' '.join(figures)} {window} {WORDS[proof.verdict]}" in text
    for line in study.proof.lines:
        fastest = max(s.velocity_m_s for s in line.segments) / metre
        start = f"{names[line.line]} {line.guns_open} {_fixed(line.flow_m3_s / cubic, small)}"
        assert f"{start} {_fixed(line.pump_pressure_pa / pascal, fine)}" in text
        assert f" {_fixed(fastest, 2)} " in text[text.index(start) :][:120]


def test_drops_outside_their_window_are_told() -> None:
    job = raw()
    # A compressor at 1.5 bar cannot bring the pumps to the 1.5 bar that the nozzles ask for.
    job["site"]["air"]["pressure"] = "1.5 bar"
    study = made(job)
    low = [d for d in study.proof.drops if d.verdict is Verdict.LOW]
    assert len(low) == len(study.proof.drops) == 16
    text = _basis(study)
    assert text.count("too low") == 16
    assert "16 of 16 liquid drops are outside their nozzle's window." in text
    assert "Every liquid drop is inside" not in text
    assert "Every liquid drop is inside its nozzle's window." in _basis(made(raw()))


def test_closest_to_an_end_is_the_drop_with_the_least_room() -> None:
    """Bay 2's prewash has 1.89 bar over a low end of 1.5; bay 3's glass, which was named, 3.88 under a high of 5."""
    text = _basis(made(raw()))
    told = text[text.index("Closest to an end: ") :][:140]
    assert told.startswith(
        "Closest to an end: Bay 2 right, Alkaline foam pre-wash, 1.89 bar in the design case, "
    )
    assert "window 1.5 bar to 5 bar." in told


def test_near_the_high_end_the_pressure_alone_is_told() -> None:
    job = raw()
    for unit in job["design"]["plant"]:
        unit["regulator"] = "4.9 bar" if unit["product"] == "glass" else "3.5 bar"
    job["site"]["air"]["pressure"] = "8 bar"
    study = made(job)
    worst = min(study.proof.drops, key=lambda d: d.room)
    assert worst.nearest_end is End.HIGH and worst.line == "glass"
    told = _basis(study).split("Closest to an end: ")[1][:120]
    assert f"{_fixed(worst.alone.nozzle_pressure_pa / 1e5, 2)} bar with no other gun open, window" in told
