"""The worked example of the documentation against the program, and against the formulas written out here."""

from __future__ import annotations

import math
import re
from importlib import resources

import pytest
from fluids.friction import helical_laminar_fd_White
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimator.reference.catalogue import catalogue
from estimator.sizing.types import BoardProof, DropProof
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


TANK = "interior"
PSI, GPM = 6.894757293168, 3.785411784


@pytest.fixture(scope="module")
def board() -> BoardProof:
    """Of the upgrade, whose board stands under the pressure of the street."""
    with resources.as_file(resources.files("resources") / "examples" / "harrow-mill.baydrop") as path:
        made = study(load_job(path), shipped_price_book(), STUDIED)
    assert made.proof.board is not None
    return made.proof.board


def of_the_tank() -> dict[str, tuple[str, str]]:
    """Step and both results of the table about the tank."""
    text = resources.files("resources").joinpath("worked-example.md").read_text(encoding="utf-8")
    told = {}
    for line in text.split("# Worked example: one tank")[1].splitlines():
        cells = [cell.strip("* ") for cell in line.split("|")[1:-1]]
        if len(cells) == 4:
            told[cells[0]] = cells[2], cells[3]
    return told


def number(text: str) -> float:
    found = re.match(r"[−-]?([\d.,]+)", text)
    assert found is not None, text
    return float(found[1].replace(",", ""))


def by_hand(tanks: int, drill_mm: float = 2.0828) -> dict[str, float]:
    """The same steps from the formulas, solved by scipy instead of by guessing.

    Water of 15 °C by IAPWS-95 (999.103 kg/m3). Curves of device and proportioner by scipy's PchipInterpolator.
    """
    parts = catalogue()
    (device,) = (b for b in parts.backflow if b.key == "backflow-device")
    (made,) = (x for x in parts.proportioners if x.key == "prop-standard")
    loss, vacuum_of = (
        PchipInterpolator([x for x, _ in points], [y for _, y in points])
        for points in (device.loss_kpa, made.vacuum_kpa)
    )

    def street(q: float) -> float:
        return 62 * PSI - 12 * PSI * float((q / (6 * GPM)) ** (1 / 0.54))

    def spare(q: float) -> float:
        return street(q) - float(loss(q)) - 300.0 * (q / tanks / 11.6) ** 2

    q = float(brentq(spare, 1e-6, 80.0, xtol=1e-12))
    board = street(q) - float(loss(q))
    rho, mu, bore, tip = 1.05 * 999.103, 5e-3, 6.35e-3, drill_mm / 1000.0
    blocked, lift = 1000.0 * float(vacuum_of(board)), rho * 9.80665 * 1.0

    def vacuum(flow: float) -> float:
        # Falls evenly with what is drawn, to nothing at 1.2 parts to one of water.
        return blocked * (1.0 - flow * 60_000.0 / (q / tanks) / 1.2)

    def losses(flow: float) -> tuple[float, float]:
        speed = flow / (0.25 * math.pi * bore**2)
        reynolds, dynamic = rho * speed * bore / mu, 0.5 * rho * speed**2
        assert reynolds < 2300.0
        return (2000.0 / reynolds + 50.0) * dynamic, 64.0 / reynolds * 2.0 / bore * dynamic

    def through(drop: float) -> float:
        ideal = math.sqrt(2.0 * drop / rho)
        reynolds = rho * ideal * tip / mu
        ultimate = 0.827 - 0.0085 * 4.0
        bump = 0.005 * 4.0 / (1.0 + 7.5 * math.log10(0.00015 * reynolds) ** 2)
        cd = 1.0 / (1.0 / ultimate + 20.0 / reynolds * (1.0 + 2.25 * 4.0) - bump)
        return cd * 0.25 * math.pi * tip**2 * ideal

    def missing(d: float) -> float:
        return vacuum(through(d)) - lift - sum(losses(through(d))) - d

    drop = float(brentq(missing, 1.0, blocked - lift, xtol=1e-9))
    foot, tube = losses(through(drop))
    concentrate = 60_000.0 * through(drop)
    return {
        "water drawn": q,
        "street": street(q),
        "backflow prevention": float(loss(q)),
        "at the board": board,
        "each proportioner takes": q / tanks,
        "vacuum that it makes": vacuum(through(drop)) / 1000.0,
        "lift of 1 m": lift / 1000.0,
        "foot valve, two-K": foot / 1000.0,
        "suction tube 2 m, 6.35 mm": tube / 1000.0,
        "left for the tip": drop / 1000.0,
        "tip 2.0828 mm, length 4 bores": concentrate,
        "mixture": q / tanks / concentrate,
    }


@pytest.mark.parametrize(("column", "tanks"), [(0, 1), (1, 3)])
def test_the_tank_by_hand_is_what_the_formulas_give(column: int, tanks: int) -> None:
    told, computed = of_the_tank(), by_hand(tanks)
    assert set(computed) <= set(told)
    for step, value in computed.items():
        assert number(told[step][column]) == pytest.approx(value, rel=1e-3), step


@pytest.mark.parametrize(("column", "tanks"), [(0, 1), (1, 3)])
def test_the_tank_by_hand_is_what_the_program_says(board: BoardProof, column: int, tanks: int) -> None:
    told = of_the_tank()
    product = next(p for p in board.products if p.product == TANK)
    case = product.alone if tanks == 1 else product.first
    assert case.inlet_pa is not None and case.dilution is not None and case.flow_m3_s is not None
    assert case.inlet_pa / 1000.0 == pytest.approx(number(told["at the board"][column]), rel=1e-3)
    assert 60_000.0 * case.flow_m3_s == pytest.approx(number(told["water drawn"][column]), rel=1e-3)
    assert case.dilution == pytest.approx(number(told["mixture"][column]), rel=1e-3)


def test_the_shampoo_of_the_text(board: BoardProof) -> None:
    text = resources.files("resources").joinpath("worked-example.md").read_text(encoding="utf-8")
    found = re.search(r"goes from (\d+):1 to (\d+):1", text)
    assert found is not None
    shampoo = next(p for p in board.products if p.product == "shampoo")
    assert shampoo.alone.dilution is not None and shampoo.first.dilution is not None
    assert [round(shampoo.alone.dilution), round(shampoo.first.dilution)] == [int(found[1]), int(found[2])]
