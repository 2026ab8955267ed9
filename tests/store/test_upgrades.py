"""Files of older formats: kept samples open, and what they say is what they said."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from estimator.model.job import FORMAT
from estimator.model.upgrades import _line_colours, upgraded
from estimator.store.jobs import load_job

SAMPLES = sorted((Path(__file__).parent / "format_1").glob("*.baydrop"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_file_of_format_1_opens(path: Path) -> None:
    job = load_job(path)
    assert job.format == FORMAT
    old = json.loads(path.read_text(encoding="utf-8"))
    assert [d.id for d in job.design.drops] == [d["id"] for d in old["design"]["drops"]]
    assert str(job.design.drops[0].hose_length) == old["design"]["drops"][0]["hose_length"]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_what_was_read_is_left_as_it_was(path: Path) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    before = deepcopy(data)
    assert upgraded(data)["format"] == FORMAT
    assert data == before


def _coloured(products: list[str], option: list[str]) -> tuple[dict[str, str], dict[str, str]]:
    """Colours by product in the base design and in one option, both of format 1."""
    data = json.loads(SAMPLES[0].read_text(encoding="utf-8"))
    product = {k: v for k, v in data["design"]["products"][0].items() if k != "colour"}
    data["design"] = {"products": [{**product, "id": p} for p in products]}
    data["alternatives"] = [{"design": {"products": [{**product, "id": p} for p in option]}}]
    _line_colours(data)
    designs = (data["design"], data["alternatives"][0]["design"])
    base, other = ({p["id"]: p["colour"] for p in d["products"]} for d in designs)
    return base, other


def test_products_of_format_1_get_colours_that_differ_and_options_agree() -> None:
    base, option = _coloured(["foam", "wax", "glass"], ["new", "foam", "glass"])
    assert list(base.values()) == ["blue", "orange", "green"]
    assert {p: option[p] for p in ("foam", "glass")} == {p: base[p] for p in ("foam", "glass")}
    assert option["new"] not in ("blue", "green")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_the_samples_have_no_two_lines_of_one_colour(path: Path) -> None:
    colours = [p.colour for p in load_job(path).design.products]
    assert len(set(colours)) == len(colours)


def test_what_is_no_product_is_left_as_it_is() -> None:
    data: dict[str, Any] = {
        "design": {"products": [3, {"id": ["a"]}, {"name": "x"}]},
        "alternatives": {"a": 1},
    }
    before = deepcopy(data)
    _line_colours(data)
    assert data == before
