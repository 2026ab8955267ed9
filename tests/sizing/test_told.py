"""What the physics refuses is told as facts: in the units and the number format of the job."""

from __future__ import annotations

import math

import pytest

from estimator.hydraulics.limits import OutOfRange
from estimator.hydraulics.network_errors import ConvergenceError
from estimator.model.design import Design
from estimator.model.finding import Phrase
from estimator.shown.figures import Figures
from estimator.shown.findings import Sentences
from estimator.shown.names import Names
from estimator.sizing import told
from estimator.units import UnitSystem

_US = Sentences(Figures("de_DE", "USD", UnitSystem.US), Names(Design()))
_METRIC = Sentences(Figures("de_DE", "EUR", UnitSystem.METRIC), Names(Design()))


@pytest.mark.parametrize(
    ("error", "metric", "us"),
    [
        # By definition: 0 °C = 273.15 K = 32 °F; 1 bar = 14.5038 psi; 1 gpm = 3.785412 L/min (NIST SP 811).
        (
            OutOfRange("temperature_k", 363.15, 273.15, 333.15, "K"),
            "90 °C is outside 0 °C to 60 °C, and nothing is known there",
            "194 °F is outside 32 °F to 140 °F, and nothing is known there",
        ),
        (
            OutOfRange("flow_m3_s", -1e-4 / 6.0, 0.0, math.inf, "m3/s"),
            "-1 L/min is too little; 0 L/min or more would be right",
            "-0,264 gpm is too little; 0 gpm or more would be right",
        ),
        (
            OutOfRange("pressure_pa", 0.0, 0.0, math.inf, "Pa", "the pump gives none", open_low=True),
            "0 bar is too little; more than 0 bar would be right; the pump gives none",
            "0 psi is too little; more than 0 psi would be right; the pump gives none",
        ),
        (
            OutOfRange("probability", 1.25, 0.0, 1.0, "-"),
            "1,25 is outside 0 to 1, and nothing is known there",
            "1,25 is outside 0 to 1, and nothing is known there",
        ),
        (
            OutOfRange("mass_flow_kg_s", 0.1254, 0.0, 0.1, "kg/s"),
            "0,125 kg/s is outside 0 kg/s to 0,1 kg/s, and nothing is known there",
            "0,125 kg/s is outside 0 kg/s to 0,1 kg/s, and nothing is known there",
        ),
        (
            OutOfRange("bore_m", math.nan, 0.0, math.inf, "m", open_low=True),
            "what is not a number is too little; more than 0 m would be right",
            "what is not a number is too little; more than 0 ft would be right",
        ),
    ],
)
def test_what_is_out_of_range(error: OutOfRange, metric: str, us: str) -> None:
    """“flow_m3_s: -1.66667e-05 m3/s is out of range” was read where there is one limit."""
    phrase = told.out_of_range(error)
    assert _METRIC.phrase(phrase).replace("\u00a0", " ") == metric
    assert _US.phrase(phrase).replace("\u00a0", " ") == us


def test_what_has_no_balance() -> None:
    """“line 0, open-set 3: …, out by 2.5e+04 Pa on the way to node 7” was read."""
    fact = told.not_solved(ConvergenceError(0, 3, 7, 25_000.0))
    assert isinstance(fact, Phrase)
    said = "no balance of flow and pressure was found; {} are still open"
    assert _METRIC.phrase(fact).replace("\u00a0", " ") == said.format("0,25 bar")
    assert _US.phrase(fact).replace("\u00a0", " ") == said.format("3,6 psi")
