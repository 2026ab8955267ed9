"""The basis of design prints the figures of the proof in the paper's units, with the verdict of every drop."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest

from estimator.documents.quote import write_quote
from estimator.sizing.types import DropProof, End, Verdict
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
    pressure, pascal, fine, flow, cubic, small, _, _ = UNITS[name]
    assert f"Flow {flow} Pressure {pressure} Window {pressure} Verdict" in text
    names = {p.id: p.name for p in study.job.design.products}
    groups: dict[object, list[DropProof]] = {}
    for proof in study.proof.drops:
        groups.setdefault((proof.line, proof.window_low_pa, proof.window_high_pa, proof.verdict), []).append(
            proof
        )
    assert groups and len(groups) < len(study.proof.drops)
    for group in groups.values():
        first = group[0]
        ends = [
            (min(low), max(high))
            for low, high in (
                ([d.together.flow_m3_s for d in group], [d.alone.flow_m3_s for d in group]),
                ([d.together.nozzle_pressure_pa for d in group], [d.alone.nozzle_pressure_pa for d in group]),
            )
        ]
        told = []
        for (low, high), scale, places in zip(ends, (cubic, pascal), (small, fine), strict=True):
            figures = (_fixed(low / scale, places), _fixed(high / scale, places))
            told.append("–".join(dict.fromkeys(figures)))
        told.append(
            "–".join(_fixed(end / pascal, fine) for end in (first.window_low_pa, first.window_high_pa))
        )
        assert f"{' '.join(told)} {WORDS[first.verdict]}" in text
        assert re.search(rf"{re.escape(names[first.line])} {len(group)} ", text)
    for line in study.proof.lines:
        start = f"{names[line.line]} {line.guns_open} {_fixed(line.flow_m3_s / cubic, small)}"
        assert (
            f"{start} {_fixed(line.pump_capacity_m3_s / cubic, small)} {_fixed(line.pump_pressure_pa / pascal, fine)}"
            in text
        )


def test_every_figure_has_its_verdict() -> None:
    """A line and a plant that fail say so in their own row; they were bare figures."""
    job = raw()
    job["site"]["air"]["pressure"] = "1.5 bar"
    study = made(job)
    text = _basis(study)
    lines = text[text.index("Lines in the design case") : text.index("What comes out")]
    assert lines.count("pressure too low") == len(study.proof.lines) > 0
    job = raw()
    # 30 vehicles that take 100 L each from 16 guns in the place of 4: more than the proportioner makes in an hour.
    job["site"]["use"]["vehicles_per_hour"] = 30
    job["design"]["products"][0]["use_per_vehicle"] = "100 L"
    foam = [d for d in job["design"]["drops"] if d["service"] == job["design"]["products"][0]["id"]]
    job["design"]["drops"] += [{**d, "id": f"{d['id']}-{i}"} for i in range(3) for d in foam]
    study = made(job)
    text = _basis(study)
    plant = text[text.index("Plant Product") :]
    assert {proof.verdict.holds for proof in study.proof.plant} == {True, False}
    for verdict in {proof.verdict for proof in study.proof.plant}:
        assert ("keeps up" if verdict.holds else verdict.value) in plant


def test_many_equal_rows_are_few() -> None:
    """192 rows stood on six pages: as many rows as there are products, windows and verdicts, whatever the bays."""
    job = raw()
    few = _basis(made(job)).count("inside its window")
    drops = job["design"]["drops"]
    job["design"]["drops"] = [{**d, "id": f"{d['id']}-{i}"} for i in range(3) for d in drops]
    study = made(job)
    assert len(study.proof.drops) == 48
    assert len({(d.line, d.window_low_pa, d.verdict) for d in study.proof.drops}) < 12
    assert _basis(study).count("window") < few + 24


def test_what_was_not_proved_is_not_called_inside() -> None:
    job = raw()
    air = [d for d in job["design"]["drops"] if d["service"] == "air"]
    job["design"]["drops"] = air
    assert "This design has no drops for liquids." in _basis(made(job))


def test_drops_outside_their_window_are_told() -> None:
    job = raw()
    # A compressor at 1.5 bar cannot bring the pumps to the 1.5 bar that the nozzles ask for.
    job["site"]["air"]["pressure"] = "1.5 bar"
    study = made(job)
    low = [d for d in study.proof.drops if d.verdict is Verdict.LOW]
    assert len(low) == len(study.proof.drops) == 16
    text = _basis(study)
    assert text.count("pressure too low") >= len({d.line for d in low})
    assert "16 of 16 liquid drops are outside their nozzle's window." in text
    assert "Every liquid drop is inside" not in text
    assert "Every liquid drop is inside its nozzle's window." in _basis(made(raw()))


def test_closest_to_an_end_is_the_drop_with_the_least_room() -> None:
    """Bay 2's prewash has 1.89 bar over a low end of 1.5; bay 3's glass, which was named, 3.80 under a high of 5."""
    job = raw()
    unit = next(u for u in job["design"]["plant"] if u["product"] == "prewash")
    unit["regulator"] = "3.6 bar"
    text = _basis(made(job))
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
