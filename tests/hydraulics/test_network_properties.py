"""Laws every network keeps, on random trees of up to 60 outlets and on looped lines.

No outside source is needed: continuity, energy and monotony of the flow in a passive network are the
yardstick.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.hydraulics import network as network_module
from estimator.hydraulics import network_topology, network_tree
from estimator.hydraulics.network import Solution, compile_lines, compile_network
from estimator.hydraulics.network_flat import NO_FLOW
from estimator.hydraulics.network_model import Network, head_ends, pressure_scale, tube_law
from estimator.hydraulics.network_ring import losses
from tests.hydraulics.network_cases import outlet_pressures, some_sets, trees

SEED = st.integers(0, 2**32 - 1)
# pressures of two solves agree to this part of the line's pressure: sixty edges at 1e-9 each
SLACK = 1e-7


def check_balance(answer: Solution) -> None:
    """Continuity at every node and energy along every tube and nozzle, worked out anew."""
    net = answer.network
    tube = answer.tube_flow_m3_s()
    out = answer.flow_table()
    pressure = answer.node_pressure_pa()
    for row in range(answer.sets):
        gap = np.zeros(net.elevation_m.size)
        np.add.at(gap, net.tube_to, tube[row])
        np.subtract.at(gap, net.tube_from, tube[row])
        np.subtract.at(gap, net.outlet_node, out[row])
        gap[net.source_node] += answer.source_flow_m3_s[row]
        assert np.abs(gap).max() <= 1e-9 * max(answer.source_flow_m3_s[row], 1e-12)
    assert (np.abs(answer.continuity_m3_s) <= 1e-9 * np.maximum(answer.source_flow_m3_s, 1e-12)).all()
    scale = pressure_scale(net)
    head = pressure + head_ends(net)
    loss, _ = losses(tube_law(net), tube.T)
    off = head[:, net.tube_from] - head[:, net.tube_to] - loss.T
    assert np.abs(off).max() <= SLACK * scale
    flowing = answer.status != NO_FLOW
    at_node = pressure[answer.case, net.outlet_node[answer.outlet]]
    law = (answer.flow_m3_s / net.outlet_coefficient[answer.outlet]) ** 2
    assert (np.abs(at_node - law)[flowing] <= SLACK * scale).all()
    assert (at_node[~flowing] <= SLACK * scale).all()
    assert (answer.energy_pa <= 1e-9 * scale).all()


@settings(max_examples=80, deadline=None)
@given(trees(), SEED)
def test_flow_in_is_flow_out_and_energy_balances_in_trees(net: Network, seed: int) -> None:
    check_balance(compile_network(net).solve(some_sets(net, seed)))


@settings(max_examples=50, deadline=None)
@given(trees(rings=3), SEED)
def test_flow_in_is_flow_out_and_energy_balances_in_loops(net: Network, seed: int) -> None:
    check_balance(compile_network(net).solve(some_sets(net, seed)))


@settings(max_examples=60, deadline=None)
@given(trees(), SEED)
def test_both_solvers_and_both_sweeps_agree(net: Network, seed: int) -> None:
    sets = some_sets(net, seed)
    scale = pressure_scale(net)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(network_module, "sweep", network_tree.sweep_small)
        small = compile_network(net).solve(sets)
        patch.setattr(network_module, "sweep", network_tree.sweep_arrays)
        arrays = compile_network(net).solve(sets)
    general = compile_network(net, general=True).solve(sets)
    for other in (arrays, general):
        assert np.abs(small.pressure_pa - other.pressure_pa).max() <= SLACK * scale


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2).flatmap(lambda rings: trees(rings=rings)), SEED)
def test_batched_equals_one_by_one(net: Network, seed: int) -> None:
    sets = some_sets(net, seed)
    plan = compile_network(net)
    together = plan.solve(sets)
    scale = pressure_scale(net)
    for row in range(sets.shape[0]):
        alone = plan.solve(sets[row : row + 1])
        here = together.case == row
        assert (together.outlet[here] == alone.outlet).all()
        assert (np.abs(together.pressure_pa[here] - alone.pressure_pa) <= SLACK * scale).all()
        assert together.source_flow_m3_s[row] == pytest.approx(alone.source_flow_m3_s[0], rel=1e-6, abs=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.lists(trees(), min_size=2, max_size=4), SEED)
def test_lines_together_equal_lines_alone(nets: list[Network], seed: int) -> None:
    sets = [some_sets(net, seed + i) for i, net in enumerate(nets)]
    for net, table, together in zip(nets, sets, compile_lines(nets).solve(sets), strict=True):
        alone = compile_network(net).solve(table)
        assert (together.outlet == alone.outlet).all() and (together.case == alone.case).all()
        limit = SLACK * pressure_scale(net)
        assert (np.abs(together.pressure_pa - alone.pressure_pa) <= limit).all()


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2).flatmap(lambda rings: trees(rings=rings)), SEED)
def test_one_more_gun_never_raises_anothers_pressure_nor_lowers_the_total(net: Network, seed: int) -> None:
    dice = np.random.default_rng(seed)
    base = dice.random(net.outlet_node.size) < 0.5
    extra = int(dice.integers(net.outlet_node.size))
    base[extra] = False
    more = base.copy()
    more[extra] = True
    answer = compile_network(net).solve(np.stack((base, more)))
    slack = SLACK * pressure_scale(net)
    before, after = outlet_pressures(answer)
    assert (after[base] <= before[base] + slack).all()
    pressure = answer.node_pressure_pa()
    # shutting that gun raises the pressure at every node, or leaves it where nothing flows
    assert (pressure[1] <= pressure[0] + slack).all()
    total = answer.source_flow_m3_s
    assert total[1] >= total[0] * (1.0 - 1e-6) - 1e-12


def feeds(net: Network, tube: int) -> set[int]:
    """Nodes below a tube of a tree written from parent to child."""
    below = {int(net.tube_to[tube])}
    for a, b in zip(net.tube_from.tolist(), net.tube_to.tolist(), strict=True):
        if a in below:
            below.add(b)
    return below


@settings(max_examples=80, deadline=None)
@given(trees(), SEED, st.floats(1.0, 4.0))
def test_a_wider_tube_never_lowers_a_pressure_it_feeds_nor_the_total(
    net: Network, seed: int, factor: float
) -> None:
    """Outlets on other branches may lose a little, see the next test; those the tube feeds never do."""
    tube = int(np.random.default_rng(seed).integers(net.tube_from.size))
    bore = net.bore_m.copy()
    bore[tube] *= factor
    coil = net.coil_diameter_m.copy()
    coil[tube] = 0.0 if coil[tube] == 0.0 else coil[tube] * factor
    sets = some_sets(net, seed)
    plan = compile_network(net)
    narrow = plan.solve(sets)
    wide = plan.resized(net.resized(bore_m=bore, coil_diameter_m=coil)).solve(sets)
    slack = SLACK * pressure_scale(net)
    fed = np.isin(net.outlet_node[narrow.outlet], sorted(feeds(net, tube)))
    assert (wide.pressure_pa[fed] >= narrow.pressure_pa[fed] - slack).all()
    assert (wide.source_flow_m3_s >= narrow.source_flow_m3_s * (1.0 - 1e-6) - 1e-12).all()


@settings(max_examples=60, deadline=None)
@given(trees(), SEED, st.floats(1.0, 4.0))
def test_a_wider_first_tube_never_lowers_the_worst_pressure(net: Network, seed: int, factor: float) -> None:
    feeder = np.flatnonzero(net.tube_from == net.source_node)
    if feeder.size != 1 or (net.outlet_node == net.source_node).any():
        return
    bore = net.bore_m.copy()
    bore[feeder] *= factor
    coil = net.coil_diameter_m.copy()
    coil[feeder] *= factor
    sets = some_sets(net, seed)[1:]
    narrow = compile_network(net).solve(sets)
    wide = compile_network(net.resized(bore_m=bore, coil_diameter_m=coil)).solve(sets)
    slack = SLACK * pressure_scale(net)
    for row in range(sets.shape[0]):
        here = narrow.case == row
        if here.any():
            assert wide.pressure_pa[here].min() >= narrow.pressure_pa[here].min() - slack


def test_widening_one_branch_takes_from_the_other() -> None:
    """Why the two tests above do not say "any tube": a wide branch draws more through the shared trunk."""
    net = Network.build(
        elevation_m=[0.0, 0.0, 0.0, 0.0],
        tube_from=[0, 1, 1],
        tube_to=[1, 2, 3],
        length_m=[20.0, 10.0, 30.0],
        bore_m=[6.35e-3, 4.318e-3, 4.318e-3],
        outlet_node=[2, 3],
        outlet_coefficient=[6e-8, 6e-8],
        source_pressure_pa=400e3,
        density_kg_m3=998.2,
        viscosity_pa_s=1.0016e-3,
    )
    before = compile_network(net).solve([[0, 1]]).pressure_pa
    after = compile_network(net.resized(bore_m=[6.35e-3, 9.525e-3, 4.318e-3])).solve([[0, 1]]).pressure_pa
    assert after[0] > before[0]
    assert after[1] < before[1] == before.min()


@settings(max_examples=60, deadline=None)
@given(trees(), SEED)
def test_coils_never_beat_straight_hoses(net: Network, seed: int) -> None:
    sets = some_sets(net, seed)
    straight = compile_network(net.resized(coil_diameter_m=0.0)).solve(sets)
    coiled = compile_network(net.resized(coil_diameter_m=14.0 * net.bore_m)).solve(sets)
    assert (coiled.source_flow_m3_s <= straight.source_flow_m3_s * (1.0 + 1e-6) + 1e-12).all()


@settings(max_examples=40, deadline=None)
@given(trees())
def test_vanishing_nozzles_leave_static_pressure(net: Network) -> None:
    small = net.resized(outlet_coefficient=1e-16)
    answer = compile_network(small).solve(np.ones((1, net.outlet_node.size), dtype=np.bool_))
    static = net.source_pressure_pa - head_ends(net)[net.outlet_node]
    scale = pressure_scale(net)
    # 60 nozzles of 1e-16 draw so little that even 0.5 Pa s through a kilometre takes less than this
    assert np.abs(outlet_pressures(answer)[0] - static).max() <= 1e-4 * scale


@settings(max_examples=40, deadline=None)
@given(trees(), SEED)
def test_a_resized_plan_equals_a_new_one(net: Network, seed: int) -> None:
    dice = np.random.default_rng(seed)
    other = net.resized(
        bore_m=net.bore_m * dice.uniform(1.0, 2.0, net.bore_m.size),
        coil_diameter_m=0.0,
        outlet_coefficient=net.outlet_coefficient * 1.3,
        source_pressure_pa=net.source_pressure_pa * 1.1,
    )
    sets = some_sets(net, seed)
    plan = compile_network(net)
    plan.solve(sets)
    reused, fresh = plan.resized(other).solve(sets), compile_network(other).solve(sets)
    assert (reused.flow_m3_s == fresh.flow_m3_s).all()
    assert (plan.solve(sets).flow_m3_s == compile_network(net).solve(sets).flow_m3_s).all()


@settings(max_examples=60, deadline=None)
@given(trees(), SEED)
def test_packing_one_by_one_equals_packing_on_arrays(net: Network, seed: int) -> None:
    way = network_topology.walk(net)
    shape = network_topology.forest([network_topology.shape_of(net, way)], np.array([net.tube_from.size]))
    open_ = np.random.default_rng(seed).random(net.outlet_node.size) < 0.6
    open_[0] = True
    number = np.sort(shape.outlet_number[open_])
    case, line = np.full(number.size, 3), np.zeros(number.size, dtype=np.int64)
    one = network_topology.pack_one(shape, 3, number, 0)
    many = network_topology.pack_many(shape, case, number, line)
    assert one.junctions == many.junctions
    for name in ("top", "bottom", "above", "case"):
        assert getattr(one, name).tolist() == getattr(many, name).tolist(), name
    assert [(*s[:3], s[3].tolist()) for s in one.steps] == [(*s[:3], s[3].tolist()) for s in many.steps]


@settings(max_examples=60, deadline=None)
@given(trees(), SEED)
def test_losses_one_by_one_and_on_arrays_agree(net: Network, seed: int) -> None:
    sets = some_sets(net, seed)
    found = []
    for few in (0, 10**6):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(network_module, "sweep", network_tree.sweep_small)
            patch.setattr(network_tree, "_FEW", few)
            found.append(compile_network(net).solve(sets).pressure_pa)
    assert np.abs(found[0] - found[1]).max(initial=0.0) <= SLACK * pressure_scale(net)


@settings(max_examples=60, deadline=None)
@given(st.lists(trees(), min_size=2, max_size=5), SEED)
def test_a_line_solved_on_arrays_is_the_same_to_the_last_bit_whatever_is_solved_beside_it(
    nets: list[Network], seed: int
) -> None:
    sets = [some_sets(net, seed + i) for i, net in enumerate(nets)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(network_module, "sweep", network_tree.sweep_arrays)
        together = compile_lines(nets).solve(sets)
        for net, table, answer in zip(nets, sets, together, strict=True):
            alone = compile_network(net).solve(table)
            assert answer.flow_m3_s.tolist() == alone.flow_m3_s.tolist()
            assert answer.source_flow_m3_s.tolist() == alone.source_flow_m3_s.tolist()
            for row in range(table.shape[0]):
                one = compile_network(net).solve(table[row : row + 1])
                assert one.flow_m3_s.tolist() == alone.flow_m3_s[alone.case == row].tolist()
