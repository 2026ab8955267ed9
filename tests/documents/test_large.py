"""A job at its limits still prints, with repeated table heads and inside the margins."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from estimator.documents.quote import write_quote
from estimator.documents.sheet import page_of
from estimator.units import UnitSystem
from tests.documents.studies import DAY, made, pages_of, raw, strays


def _large() -> dict[str, Any]:
    """60 bays, 40 products, 600 drops, no two sides alike."""
    job = raw()
    design = job["design"]
    product, bay, drop = design["products"][0], design["bays"][0], design["drops"][0]
    unit = design["plant"][0]
    job["site"]["floor"].update(width="200 m", depth="100 m")
    design["products"] = [{**product, "id": f"p{i}", "name": f"Product {i}"} for i in range(40)]
    design["plant"] = [{**unit, "product": f"p{i}"} for i in range(40)]
    design["bays"] = [
        {
            **bay,
            "id": f"b{i}",
            "name": f"Bay {i}",
            "x": f"{3 + 6 * (i % 30)} m",
            "y": f"{2 + 20 * (i // 30)} m",
        }
        for i in range(60)
    ]
    design["drops"] = [
        {
            **drop,
            "id": f"d{i}",
            "bay": f"b{i % 60}",
            "side": "left" if (i // 60) % 2 else "right",
            "service": f"p{(i * 7 + i // 60) % 40}",
            "hose_length": f"{3 + i % 9} m",
        }
        for i in range(600)
    ]
    design["lines"] = []
    return job


def test_six_hundred_drops() -> None:
    study = made(_large())
    assert len(study.job.design.drops) == 600
    pdf = write_quote(replace(study, on=DAY))
    pages = pages_of(pdf)
    assert "600 hose drops" in pages[0]
    # A section that runs over pages repeats its head on each of them.
    heads = [i for i, text in enumerate(pages) if "Lines Quantity Unit Unit price Price" in text]
    assert len(heads) > 1
    assert all(pages[i].count("Lines Quantity Unit Unit price Price") == 1 for i in heads)
    paper = page_of(UnitSystem.METRIC)
    assert strays(pdf, paper.side - 1, 20.0, 20.0) == []
    assert all(f"Page {i} of {len(pages)}" in text for i, text in enumerate(pages, start=1))
