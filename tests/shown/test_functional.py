"""What an option does otherwise stands in the words of the one who signs, and nothing of it is left out."""

from __future__ import annotations

import json
from typing import Any

import pytest

from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.shown.figures import Figures
from estimator.shown.functional import functional_words
from estimator.units import UnitSystem
from tests.documents.studies import raw

METRIC = Figures("en_US", "USD", UnitSystem.METRIC)


def base() -> Design:
    return Job.model_validate_json(json.dumps(raw())).design


def words(option: Design) -> tuple[str, ...]:
    return tuple(line.replace("\xa0", " ") for line in functional_words(base(), option, METRIC))


def test_the_same_design_works_alike() -> None:
    assert words(base()) == ()


@pytest.mark.parametrize(
    ("place", "value", "told"),
    [
        (("products", 2, "dilution"), 20.0, "“Citrus degreaser” comes out 20:1 instead of 15:1."),
        (
            ("products", 2, "name"),
            "Other degreaser",
            "“Other degreaser” takes the place of “Citrus degreaser”.",
        ),
        (
            ("plant", 1, "regulator"),
            "3.2 bar",
            "Pump of “Insect and tar remover” set to 3.2 bar instead of 4 bar.",
        ),
        (("plant", 1, "tank_cover"), False, "Day tank of “Insect and tar remover” without a cover."),
        (("common", "eyewash"), False, "Without an eyewash."),
        (("common", "containment"), False, "Without a containment tray."),
        (
            ("plant", 1, "tank"),
            "tank-120",
            "Covered day tank 120 L instead of Covered day tank 30 L for “Insect and tar remover”.",
        ),
    ],
)
def test_each_difference_is_told(place: tuple[str | int, ...], value: Any, told: str) -> None:
    design = with_value(base(), place, value)
    assert isinstance(design, Design)
    found = words(design)
    assert found == (told,)


def test_an_exchange_of_guns_is_one_sentence_with_its_number() -> None:
    made = base()
    drops = tuple(
        d.model_copy(update={"gun": "gun-plastic"}) if d.gun == "gun-metal" else d for d in made.drops
    )
    count = sum(d.gun == "gun-metal" for d in made.drops)
    assert count > 1
    (line,) = words(made.model_copy(update={"drops": drops}))
    assert line.endswith("hose drops.") and "instead of" in line


def test_products_and_drops_that_come_and_go() -> None:
    made = base()
    gone = made.products[-1]
    left = made.model_copy(
        update={
            "products": made.products[:-1],
            "drops": tuple(d for d in made.drops if d.service != gone.id),
            "plant": tuple(u for u in made.plant if u.product != gone.id),
            "lines": tuple(line for line in made.lines if line.service != gone.id),
        }
    )
    assert words(left) == (f"Not on tap: “{gone.name}”.",)
    back = tuple(line.replace("\xa0", " ") for line in functional_words(left, made, METRIC))
    assert back == (f"“{gone.name}” is on tap too, 64:1.",)
    fewer = made.model_copy(update={"drops": made.drops[1:]})
    (line,) = words(fewer)
    assert line == "Three hose drops for “Alkaline foam pre-wash” instead of 4."
