"""The worked example of the documentation against the program, and against the formulas written out here."""

from __future__ import annotations

import math
import re
from importlib import resources

import pytest
from fluids.friction import helical_laminar_fd_White

from estimator.sizing.types import DropProof
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED

DROP = "3-r-sanitiser"


@pytest.fixture(scope="module")
def proof() -> DropProof:
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        made = study(load_job(path), shipped_price_book(), STUDIED)
    return next(d for d in made.proof.drops if d.drop == DROP)


def test_document_and_program_agree_within_one_percent(proof: DropProof) -> None:
    # Published in the project's own documentation, computed by hand step by step.
    text = resources.files("resources").joinpath("worked-example.md").read_text(encoding="utf-8")
    pressure = re.search(r"\*\*at the nozzle\*\* \| \| \*\*([\d.]+) kPa", text)
    flow = re.search(r"with \*\*([\d.]+) L/min", text)
    assert pressure is not None
    assert flow is not None
    assert proof.alone.nozzle_pressure_pa / 1000.0 == pytest.approx(float(pressure[1]), rel=0.01)
    assert proof.alone.flow_m3_s * 60_000.0 == pytest.approx(float(flow[1]), rel=0.01)


def test_losses_from_pump_to_nozzle_add_up(proof: DropProof) -> None:
    """Each loss from its formula at the program's flow; the sum must leave the program's nozzle pressure.

    Water at 15 °C: IAPWS-95 (999.103 kg/m3, 1.13757 mPa s). Coil: White 1929 by fluids 1.3.1. Catalogue figures are
    invented demo data.
    """
    q, rho, mu = proof.alone.flow_m3_s, 999.103, 1.13757e-3
    l_min = 60_000.0 * q
    pressure = 400e3 - 1000.0 * (8.0 * l_min + 0.5 * l_min**2) + rho * 9.80665 * 0.4
    speed = q / (0.25 * math.pi * 0.006**2)
    reynolds = rho * speed * 0.006 / mu
    assert reynolds < 2300.0
    dynamic = 0.5 * rho * speed**2
    pressure -= 64.0 / reynolds * 25.935 / 0.006 * dynamic
    k1 = 2 * 500.0 + 2 * 800.0 + 200.0 + 500.0
    k_infinity = (2 * 0.15 + 2 * 0.4 + 0.1 + 0.15) * (1.0 + 25.4 / 6.0)
    pressure -= (k1 / reynolds + k_infinity) * dynamic
    pressure -= 10e3 + (60.0 * l_min / 1000.0 / 0.45) ** 2 * 1e5
    speed = q / (0.25 * math.pi * 0.00635**2)
    factor = helical_laminar_fd_White(rho * speed * 0.00635 / mu, 0.00635, 0.0762)
    pressure -= factor * 6.0 / 0.00635 * 0.5 * rho * speed**2
    pressure -= (l_min / 5.0) ** 2 * 1e5
    assert proof.alone.nozzle_pressure_pa == pytest.approx(pressure, rel=2e-3)
