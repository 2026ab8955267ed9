"""Foam guns of Gannet Quay (invented, gun data too): both pressures act, the ratio is judged, a long spray is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from estimator.model.finding import Severity
from estimator.study import Study
from tests.sizing.conftest import rules

Studied = Callable[..., Study]
Edit = tuple[tuple[str | int, ...], Any]


def air_line(text: str) -> Edit:
    return ("design", "lines", 0, "regulator"), text


def pump(text: str) -> Edit:
    return ("design", "plant", 0, "regulator"), text


def ratios(made: Study) -> list[float]:
    assert all(one.ratio is not None for one in made.proof.foam)
    return [one.ratio or 0.0 for one in made.proof.foam]


def told(made: Study, rule: str) -> tuple[str, Severity, str]:
    found = next(f for f in made.findings if f.rule == rule)
    return found.place, found.severity, found.message.replace("\N{NO-BREAK SPACE}", " ")


def test_both_pressures_decide_what_each_foam_gun_makes(studied: Studied) -> None:
    made = studied()
    foam = made.proof.foam
    assert [one.drop for one in foam] == ["1-l-prewash", "1-r-prewash", "2-l-prewash", "2-r-prewash"]
    alone = {d.drop: d.together for d in made.proof.drops}
    for one in foam:
        assert one.solution_m3_s < alone[one.drop].flow_m3_s  # the air keeps some of it back
        assert one.solution_pa == alone[one.drop].nozzle_pressure_pa
        assert 0.0 < one.chamber_pa < min(one.solution_pa, one.air_pa)
    low_air, high_pump = studied(air_line("3 bar")), studied(pump("6 bar"))
    for other in (low_air, high_pump):
        assert all(a < b for a, b in zip(ratios(other), ratios(made), strict=True))


@pytest.mark.parametrize(
    ("edits", "word"),
    [((air_line("0.8 bar"),), "wet"), ((pump("2.6 bar"),), "dry"), ((air_line("0.15 bar"),), "wet")],
)
def test_foam_outside_what_its_gun_makes_is_told(
    studied: Studied, edits: tuple[Edit, ...], word: str
) -> None:
    assert "foam-ratio" not in rules(studied())
    place, severity, message = told(studied(*edits), "foam-ratio")
    assert place.startswith("design.drops.") and place.endswith(".gun") and severity is Severity.WARNING
    assert f"too {word}" in message and "30 to 150" in message


def test_nine_minutes_of_spraying_a_vehicle_are_told(studied: Studied) -> None:
    made = studied()
    place, severity, message = told(made, "spray-long")
    # 12 L at 1.32 L/min: 547 s.
    assert (place, severity) == ("design.products.0.use_per_vehicle", Severity.NOTE)
    assert "12 L a vehicle take 9 min" in message
    short = studied((("design", "products", 0, "use_per_vehicle"), "6 L"))
    assert "spray-long" not in rules(short)
