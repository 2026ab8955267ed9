"""Scene: at a customer's desk, a compressor of 340 L/min free air at 0.7 MPa on a receiver of 50 L.

The survey is taken at Gannet Quay (invented). The shop dries with towels, so no blow-off; two and a half vehicles in
the busy hour, 5 % leaks, and the air line is set to the 0.4 MPa that its foam guns are stated at. The owner wants a fat
foam: nozzle 10 on the first foam gun.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from estimator.model.finding import Severity
from estimator.study import Study

SURVEY = (
    (("site", "air", "free_air"), "340 L/min"),
    (("site", "air", "pressure"), "0.7 MPa"),
    (("site", "air", "leak_percent"), Decimal(5)),
    (("site", "use", "blow_off_per_vehicle"), "0 s"),
    (("site", "use", "vehicles_per_hour"), 2.5),
    (("design", "lines", 0, "regulator"), "0.4 MPa"),
    (("site", "air", "receiver"), "50 L"),
)
GUN = ("design", "drops", 0, "nozzle_size")


def errors(made: Study) -> list[str]:
    return [f"{f.place}: {f.message}" for f in made.findings if f.severity is Severity.ERROR]


def test_the_program_says_what_fails_and_a_smaller_nozzle_mends_it(studied: Callable[..., Study]) -> None:
    wanted = studied(*SURVEY, (GUN, "10"))
    said = errors(wanted)
    assert len(said) == 1
    assert said[0].startswith("design.drops.0.nozzle_size: “1-l-prewash”: ")
    assert "A smaller nozzle" in said[0]
    mended = studied(*SURVEY, (GUN, "04"))
    assert errors(mended) == []
    # The compressor is just enough: what three people ask for stays under the delivery less leaks.
    air = mended.proof.air
    assert air is not None
    assert air.demand_m3_s < air.supply_m3_s - air.leak_m3_s


def test_one_for_two_foam_guns_is_too_small_for_three_people(studied: Callable[..., Study]) -> None:
    # Who foams finds both others at it in more than one of a hundred moments.
    made = studied(*SURVEY, (GUN, "04"), (("site", "air", "free_air"), "240 L/min"))
    assert [line for line in errors(made) if line.startswith("site.air.free_air: ")] == errors(made) != []


def test_with_the_air_drops_in_use_the_compressor_is_named(studied: Callable[..., Study]) -> None:
    made = studied(*SURVEY[:2])
    said = [line for line in errors(made) if line.startswith("site.air.free_air: ")]
    assert len(said) == 1
    assert "are there after 10 % leaks" in said[0]
    assert "larger compressor" in said[0]
