"""`fit`: what stands a product is told with its price, and put in."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.shipped import shipped
from estimator.store.jobs import load_job
from tests.cli.hands import Terminal


@pytest.fixture
def wrong(terminal: Terminal) -> Terminal:
    """The example with its remover drawn through EPDM."""
    shutil.copy(Path(str(shipped("examples/gannet-quay.baydrop"))), terminal.job)
    terminal.run("edit", "JOB", "--set", "design.plant.remover.proportioner=prop-standard")
    return terminal


def test_the_list_changes_nothing_and_the_act_mends_it(wrong: Terminal) -> None:
    before = wrong.job.read_bytes()
    wrong.run("fit", "JOB", "--list", "--json")
    assert '"prop-standard-fkm"' in wrong.out
    wrong.run("fit", "JOB", "--list")
    assert "Nothing was changed." in wrong.out and "Wrote" not in wrong.out
    assert "--out" in wrong.refused("fit", "JOB", "--list", "--out", "other.baydrop")
    assert wrong.job.read_bytes() == before
    told = wrong.json("fit", "JOB")
    (part,) = told["parts"]
    assert part["place"] == "design.plant.1.proportioner" and part["taken"] == "prop-standard-fkm"
    assert Decimal(part["offers"][0]["extra"]) > 0
    assert not [f for f in told["findings"] if f["rule"] == "part-material"]
    assert load_job(wrong.job).design.plant[1].proportioner == "prop-standard-fkm"
    assert "Nothing to fit" in wrong.refused("fit", "JOB")


def test_bad_input(wrong: Terminal) -> None:
    assert "there is: prop-standard-fkm" in wrong.refused("fit", "JOB", "--with", "pump-half")
    assert "Nothing to fit" in wrong.refused("fit", "JOB", "--at", "design.plant.0.pump")
    assert "--option" in wrong.refused("fit", "JOB", "--option", "nowhere")
