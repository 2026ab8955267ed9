"""Every public function of the physics has a worked example that runs, and names its source."""

from __future__ import annotations

import doctest
import importlib
import inspect
import re
from types import FunctionType

import pytest

MODULES = (
    "limits",
    "water",
    "solution",
    "nozzle",
    "valve",
    "fittings",
    "drills",
    "orifice",
    "simultaneous",
    "pump",
    "air",
    "proportioner",
    "tank",
)
# Looking something up in a table, or checking a number, is no formula.
NO_FORMULA = {
    "within",
    "above_zero",
    "zero_or_more",
    "fitting",
    "status",
    "outside_limits",
    "nozzle_size",
    "site_reference",
    "tank",
}


def _public_functions(name: str) -> list[tuple[str, FunctionType]]:
    module = importlib.import_module(f"estimator.hydraulics.{name}")
    return [
        (key, value)
        for key, value in vars(module).items()
        if inspect.isfunction(value) and value.__module__ == module.__name__ and not key.startswith("_")
    ]


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    module = importlib.import_module(f"estimator.hydraulics.{name}")
    result = doctest.testmod(module)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_has_an_example_and_a_source(name: str) -> None:
    functions = _public_functions(name)
    assert functions
    for key, function in functions:
        text = inspect.getdoc(function) or ""
        assert ">>>" in text, f"{name}.{key} has no worked example"
        if key not in NO_FORMULA:
            assert re.search(r"[Ss]ource|\[\d\]_|no source", text), f"{name}.{key} names no source"
            assert re.search(r"\[[^\]]*(m|s|Pa|K|-|h|W|kg)[^\]]*\]", text), f"{name}.{key} names no unit"
