"""The network solver at its edges: nothing open, shut branches, extremes, the pump curve, bad input,
failure."""

from __future__ import annotations

import doctest
import math
from types import ModuleType

import numpy as np
import pytest

from estimator.hydraulics import network as module
from estimator.hydraulics import network_model, network_tree
from estimator.hydraulics.network import compile_lines, compile_network
from estimator.hydraulics.network_errors import ConvergenceError, NetworkError, NetworkInputError
from estimator.hydraulics.network_flat import FLOWING, ISOLATED, NO_FLOW
from estimator.hydraulics.network_model import GRAVITY_M_S2, Network
from tests.hydraulics.by_hand import coil_loss, tube_loss
from tests.hydraulics.network_cases import WATER, one_hose

BOTH = pytest.mark.parametrize("general", [False, True])


def comb(**changes: object) -> Network:
    """Three drops on a trunk; invented."""
    values: dict[str, object] = {
        "elevation_m": [0.0, 2.5, 2.5, 2.5, 1.0, 1.0, 1.0],
        "tube_from": [0, 1, 2, 1, 2, 3],
        "tube_to": [1, 2, 3, 4, 5, 6],
        "length_m": [12.0, 4.5, 4.5, 6.0, 6.0, 6.0],
        "bore_m": [9.525e-3, 9.525e-3, 9.525e-3, 6.35e-3, 6.35e-3, 6.35e-3],
        "outlet_node": [4, 5, 6],
        "outlet_coefficient": [6e-8, 6e-8, 6e-8],
        **changes,
    }
    return one_hose(**values)


@pytest.mark.parametrize("place", [module, network_model])
def test_worked_examples_in_the_module_run(place: ModuleType) -> None:
    result = doctest.testmod(place)
    assert result.attempted > 0 and result.failed == 0


@BOTH
def test_no_gun_open(general: bool) -> None:
    answer = compile_network(comb(), general=general).solve([[], [1], []])
    assert answer.sets == 3
    assert answer.source_flow_m3_s[0] == answer.source_flow_m3_s[2] == 0.0 < answer.source_flow_m3_s[1]
    static = 400e3 - 998.2 * GRAVITY_M_S2 * np.array([0.0, 2.5, 2.5, 2.5, 1.0, 1.0, 1.0])
    np.testing.assert_allclose(answer.node_pressure_pa()[0], static, rtol=1e-12)


@BOTH
def test_only_empty_sets(general: bool) -> None:
    answer = compile_network(comb(), general=general).solve(np.zeros((2, 3), dtype=np.bool_))
    assert answer.flow_m3_s.size == 0 and answer.flow_table().shape == (2, 3)


@BOTH
def test_no_set_at_all(general: bool) -> None:
    answer = compile_network(comb(), general=general).solve([])
    assert answer.sets == 0 and answer.flow_table().shape == (0, 3)


@BOTH
def test_one_gun_by_hand(general: bool) -> None:
    """Energy from source to nozzle, each part by its own function."""
    net = comb(
        minor_k=[1.0, 0, 0, 3.0, 0, 0],
        minor_k1=[0.0, 0, 0, 800.0, 0, 0],
        coil_diameter_m=[0, 0, 0, 0.08, 0, 0],
    )
    answer = compile_network(net, general=general).solve([[0]])
    q = float(answer.flow_m3_s[0])
    trunk = tube_loss(q, 12.0, 9.525e-3, 1.5e-6, 998.2, 1.0016e-3)
    hose = coil_loss(q, 6.0, 6.35e-3, 0.08, 1.5e-6, 998.2, 1.0016e-3)
    fittings = 1.0 * 998.2 * trunk.velocity_m_s**2 / 2.0
    fittings += (800.0 / hose.reynolds + 3.0) * 998.2 * hose.velocity_m_s**2 / 2.0
    nozzle = (q / 6e-8) ** 2
    spent = trunk.loss_pa + hose.loss_pa + fittings + nozzle + 998.2 * GRAVITY_M_S2 * 1.0
    assert spent == pytest.approx(400e3, rel=1e-8)
    assert answer.pressure_pa[0] == pytest.approx(nozzle, rel=1e-12)


@BOTH
def test_a_shut_branch_is_reported_and_takes_nothing(general: bool) -> None:
    net = comb(tube_closed=np.array([False, False, True, False, False, False]))
    answer = compile_network(net, general=general).solve([[0, 1, 2], [2]])
    assert answer.status.tolist() == [FLOWING, FLOWING, ISOLATED, ISOLATED]
    assert answer.flow_table()[0, 2] == 0.0 and answer.source_flow_m3_s[1] == 0.0
    assert (answer.node_pressure_pa()[0] != 0.0).tolist() == [True, True, True, False, True, True, False]
    two = compile_network(comb(), general=general).solve([[0, 1]])
    np.testing.assert_allclose(answer.flow_table()[0, :2], two.flow_table()[0, :2], rtol=1e-9)


@BOTH
def test_an_outlet_above_the_head_does_not_flow(general: bool) -> None:
    net = comb(elevation_m=[0.0, 2.5, 2.5, 2.5, 1.0, 50.0, 1.0])
    answer = compile_network(net, general=general).solve([[0, 1], [1], [0]])
    assert answer.status.tolist() == [FLOWING, NO_FLOW, NO_FLOW, FLOWING]
    assert answer.flow_m3_s[1] == answer.flow_m3_s[2] == 0.0
    # the pressure that is there, below zero: source less lift
    assert answer.pressure_pa[2] == pytest.approx(400e3 - 998.2 * GRAVITY_M_S2 * 50.0, rel=1e-9)
    assert answer.source_flow_m3_s[0] == pytest.approx(answer.source_flow_m3_s[2], rel=1e-9)


@BOTH
@pytest.mark.parametrize("pressure", [0.0, -20e3])
def test_a_source_without_pressure(pressure: float, general: bool) -> None:
    answer = compile_network(comb(source_pressure_pa=pressure), general=general).solve([[0, 1, 2]])
    assert answer.status.tolist() == [NO_FLOW] * 3
    assert answer.source_flow_m3_s[0] == 0.0


@BOTH
def test_an_outlet_on_the_source_and_two_on_one_node(general: bool) -> None:
    net = one_hose(outlet_node=[0, 1, 1], outlet_coefficient=[6e-8, 3e-8, 3e-8])
    answer = compile_network(net, general=general).solve([[0, 1, 2]])
    assert answer.flow_m3_s[0] == pytest.approx(6e-8 * 400e3**0.5, rel=1e-9)
    assert answer.flow_m3_s[1] == pytest.approx(answer.flow_m3_s[2], rel=1e-12)
    both = compile_network(one_hose(outlet_coefficient=[6e-8]), general=general).solve([[0]])
    assert answer.flow_m3_s[1] * 2.0 == pytest.approx(both.flow_m3_s[0], rel=1e-9)


@BOTH
def test_pump_curve(general: bool) -> None:
    net = comb(source_linear_pa_s_m3=4e8, source_quadratic_pa_s2_m6=2e12)
    answer = compile_network(net, general=general).solve([[0, 1, 2]])
    q = float(answer.source_flow_m3_s[0])
    assert answer.source_pressure_pa[0] == pytest.approx(400e3 - 4e8 * q - 2e12 * q * q, rel=1e-12)
    fixed = compile_network(comb(source_pressure_pa=float(answer.source_pressure_pa[0])), general=general)
    np.testing.assert_allclose(fixed.solve([[0, 1, 2]]).flow_m3_s, answer.flow_m3_s, rtol=1e-7)


@BOTH
def test_thousand_fold_bores(general: bool) -> None:
    bores = [0.5, 1e-3, 0.3, 0.5e-3, 6.35e-3, 0.25]
    answer = compile_network(comb(bore_m=bores), general=general).solve([[0, 1, 2], [0], [2]])
    assert (answer.status == FLOWING).all()
    q = float(answer.flow_table()[1, 0])
    loss = tube_loss(q, 12.0, 0.5, 1.5e-6, 998.2, 1.0016e-3).loss_pa
    loss += tube_loss(q, 6.0, 0.5e-3, 1.5e-6, 998.2, 1.0016e-3).loss_pa
    assert loss + (q / 6e-8) ** 2 + 998.2 * GRAVITY_M_S2 == pytest.approx(400e3, rel=1e-8)


@BOTH
def test_honey(general: bool) -> None:
    """10 Pa s: laminar, so one hose with a wide nozzle is Hagen-Poiseuille, q = pi d^4 dp/(128 mu L)."""
    net = one_hose(viscosity_pa_s=10.0, density_kg_m3=1420.0, outlet_coefficient=[1e-6])
    answer = compile_network(net, general=general).solve([[0]])
    want = math.pi * 6.35e-3**4 * 400e3 / (128.0 * 10.0 * 10.0)
    assert answer.flow_m3_s[0] == pytest.approx(want, rel=1e-6)


@BOTH
@pytest.mark.parametrize("pressure", np.linspace(12e3, 60e3, 25).tolist())
def test_transition_flow_balances(pressure: float, general: bool) -> None:
    net = comb(source_pressure_pa=pressure, outlet_coefficient=[2.5e-7] * 3, elevation_m=[0.0] * 7)
    answer = compile_network(net, general=general).solve([[0, 1, 2], [2]])
    assert (answer.energy_pa <= 1e-9 * pressure).all()
    assert ((answer.tube_reynolds() > 2300.0) & (answer.tube_reynolds() < 4000.0)).any()


def test_open_sets_in_every_form_agree() -> None:
    plan = compile_network(comb())
    table = np.array([[True, False, True], [False, True, True]])
    as_flags = plan.solve(table)
    as_numbers = plan.solve(np.array([[0, 2], [1, 2]]))
    as_lists = plan.solve([[2, 0], [1, 2]])
    np.testing.assert_array_equal(as_flags.flow_table(), as_numbers.flow_table())
    np.testing.assert_allclose(as_flags.flow_table(), as_lists.flow_table(), rtol=1e-12)
    # the answer keeps the order the outlets were named in
    assert as_lists.outlet.tolist() == [2, 0, 1, 2]
    assert as_lists.flow_m3_s[0] == pytest.approx(as_flags.flow_table()[0, 2], rel=1e-12)


def test_tree_and_loop_in_one_batch() -> None:
    loop = comb(
        tube_from=[0, 1, 2, 1, 2, 3, 3],
        tube_to=[1, 2, 3, 4, 5, 6, 1],
        length_m=[12.0, 4.5, 4.5, 6.0, 6.0, 6.0, 7.0],
        bore_m=[9.525e-3] * 3 + [6.35e-3] * 3 + [9.525e-3],
    )
    tree_answer, loop_answer = compile_lines([comb(), loop]).solve([[[0, 1, 2]], [[0, 1, 2], [1]]])
    assert loop_answer.source_flow_m3_s[0] > tree_answer.source_flow_m3_s[0]
    assert loop_answer.sets == 2


def test_velocity_and_reynolds_of_tubes() -> None:
    answer = compile_network(one_hose()).solve([[0]])
    q = float(answer.source_flow_m3_s[0])
    there = tube_loss(q, 10.0, 6.35e-3, 1.5e-6, 998.2, 1.0016e-3)
    assert answer.tube_flow_m3_s()[0, 0] / (0.25 * math.pi * 6.35e-3**2) == pytest.approx(
        there.velocity_m_s, rel=1e-12
    )
    assert answer.tube_reynolds()[0, 0] == pytest.approx(there.reynolds, rel=1e-12)


def test_what_is_outside_the_friction_law_is_said() -> None:
    net = one_hose(coil_diameter_m=0.02, source_pressure_pa=200e3)
    assert any("coil diameter" in text for _, text in compile_network(net).solve([[0]]).outside(0))
    slow = compile_network(one_hose(source_pressure_pa=200e3)).solve([[0], []])
    assert 2300.0 < slow.tube_reynolds()[0, 0] < 4000.0
    assert [(tube, "transition" in text) for tube, text in slow.outside(0)] == [(0, True)]
    assert slow.outside(1) == ()


@pytest.mark.parametrize(
    ("field", "index", "changes"),
    [
        ("bore_m", 2, {"bore_m": [9e-3, 9e-3, 0.0, 6e-3, 6e-3, 6e-3]}),
        ("length_m", 0, {"length_m": [0.0, 1, 1, 1, 1, 1]}),
        ("length_m", None, {"length_m": [1.0, 1]}),
        ("roughness_m", 1, {"roughness_m": [0, -1e-6, 0, 0, 0, 0]}),
        ("roughness_m", 0, {"roughness_m": 5e-3}),
        ("minor_k", 5, {"minor_k": [0, 0, 0, 0, 0, -1.0]}),
        ("minor_k1", 5, {"minor_k1": [0, 0, 0, 0, 0, math.nan]}),
        ("coil_diameter_m", 0, {"coil_diameter_m": [5e-3, 0, 0, 0, 0, 0]}),
        ("elevation_m", 1, {"elevation_m": [0, math.inf, 2, 2, 1, 1, 1]}),
        ("elevation_m", None, {"elevation_m": ["up", 2, 2, 2, 1, 1, 1]}),
        ("tube_to", 3, {"tube_to": [1, 2, 3, 9, 5, 6]}),
        ("tube_closed", None, {"tube_closed": [0, 0, 0, 0, 0, 1]}),
        ("outlet_node", 0, {"outlet_node": [-1, 5, 6]}),
        ("outlet_coefficient", 1, {"outlet_coefficient": [6e-8, 0.0, 6e-8]}),
        ("source_node", None, {"source_node": 7}),
        ("source_pressure_pa", None, {"source_pressure_pa": math.nan}),
        ("source_linear_pa_s_m3", None, {"source_linear_pa_s_m3": -1.0}),
        ("density_kg_m3", None, {"density_kg_m3": 0.0}),
        ("viscosity_pa_s", None, {"viscosity_pa_s": -1e-3}),
    ],
)
def test_bad_networks_name_the_field_and_row(
    field: str, index: int | None, changes: dict[str, object]
) -> None:
    with pytest.raises(NetworkInputError, match=field) as caught:
        comb(**changes)
    assert (caught.value.field, caught.value.index) == (field, index)


def test_a_node_no_tube_reaches_is_named() -> None:
    net = comb(tube_from=[0, 1, 2, 1, 2, 4], tube_to=[1, 2, 3, 4, 5, 4])
    with pytest.raises(NetworkInputError, match="starts and ends"):
        compile_network(net)
    lost = comb(tube_from=[0, 1, 2, 1, 2, 2], tube_to=[1, 2, 3, 4, 5, 5])
    with pytest.raises(NetworkInputError, match="node 6"):
        compile_network(lost)


@pytest.mark.parametrize(
    ("sets", "words"),
    [
        ([[0, 3]], "no outlet 3"),
        ([[0], [1, 1, 2]], "outlet 1 twice"),
        (np.ones((2, 4), dtype=np.bool_), "4 columns"),
        (np.ones((2, 3)), "true/false"),
        ([[0], [1.5, 2.0]], "whole outlet numbers"),
        ([[0], [True, False, True]], "whole outlet numbers"),
        (np.array([True, False, True]), "one row"),
    ],
)
def test_bad_open_sets_are_refused(sets: object, words: str) -> None:
    solve: object = compile_network(comb()).solve
    assert callable(solve)
    with pytest.raises(NetworkInputError, match=words):
        solve(sets)


@pytest.mark.parametrize("small", [True, False])
def test_failure_names_line_set_and_node(monkeypatch: pytest.MonkeyPatch, small: bool) -> None:
    """With no iteration allowed nothing balances: the typed error says where."""
    chosen = network_tree.sweep_small if small else network_tree.sweep_arrays
    monkeypatch.setattr(module, "sweep", chosen)
    monkeypatch.setattr(network_tree, "ITERATIONS", 1)
    with pytest.raises(ConvergenceError) as caught:
        compile_lines([one_hose(), comb()]).solve([[], [[], [0, 2]]])
    error = caught.value
    assert isinstance(error, NetworkError)
    assert (error.line, error.case) == (1, 1) and error.node in (1, 2, 3, 4, 6) and error.residual_pa > 0.0


def test_failure_in_a_loop_names_set_and_node(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "ITERATIONS", 1)
    with pytest.raises(ConvergenceError) as caught:
        compile_network(comb(), general=True).solve([[], [0]])
    assert (caught.value.line, caught.value.case) == (0, 1)


def test_resized_must_keep_the_layout() -> None:
    plan = compile_network(comb())
    with pytest.raises(NetworkInputError, match="layout"):
        plan.resized(comb())


def test_same_answer_twice_to_the_last_digit() -> None:
    first, second = compile_network(comb()), compile_network(comb())
    sets = [[0, 1], [2]]
    assert (first.solve(sets).flow_m3_s == second.solve(sets).flow_m3_s).all()
    first.solve([[1]])
    assert (first.solve(sets).flow_m3_s == second.solve(sets).flow_m3_s).all()


def test_kinds_of_liquid_do_not_mix() -> None:
    """The same open-set on two lines of different liquids: each keeps its own answer."""
    thick = comb(viscosity_pa_s=0.05)
    thin_answer, thick_answer = compile_lines([comb(), thick]).solve([[[0, 1]], [[0, 1]]])
    assert thick_answer.source_flow_m3_s[0] < 0.8 * thin_answer.source_flow_m3_s[0]
    assert WATER["viscosity_pa_s"] == 1.0016e-3
