"""The emergency card says what this job can bring about, and where what it needs is."""

from __future__ import annotations

from estimator.model.choices import Chemistry, Wall
from estimator.model.design import Design
from estimator.model.finding import filled, plain
from estimator.model.site import Board, Site
from estimator.safety.emergency import emergency
from tests.safety.scene import design, drop, product


def lines(made: Design, site: Site | None = None) -> dict[str, str]:
    return {
        filled(line.title, line.facts, plain): filled(line.sentence, line.facts, plain)
        for line in emergency(site or Site(), made)
    }


def test_an_empty_job_has_no_card() -> None:
    assert lines(Design()) == {}


def test_air_alone_has_nothing_to_rinse() -> None:
    assert set(lines(design(drops=(drop("d", "air"),)))) == {"Burst hose"}


def test_the_board_is_where_the_survey_says() -> None:
    made = design(product("foam", Chemistry.STRONG_ALKALI), drops=(drop("a", "foam"),))
    for wall in Wall:
        found = lines(made, Site(board=Board(wall=wall)))
        assert f"plant board on the {wall.value} wall" in found["Spill, burst hose or tube"]


def test_eyewash_and_fluoride() -> None:
    mild = design(product("wash", Chemistry.NEUTRAL_DETERGENT), drops=(drop("a", "wash"),))
    rim = design(product("rim", Chemistry.FLUORIDE_ACID), drops=(drop("a", "rim"),))
    splash = "Splash in the eyes or on the skin"
    assert "eyewash" not in lines(mild)[splash] and not any(
        "wash" in title for title in lines(mild) if title != splash
    )
    found = lines(rim)
    assert "No eyewash is part of this system" in found[splash]
    assert "calcium gluconate" in found["“rim”"]
    with_one = rim.model_copy(update={"common": rim.common.model_copy(update={"eyewash": True})})
    assert "An eyewash is part of this system" in lines(with_one)[splash]
