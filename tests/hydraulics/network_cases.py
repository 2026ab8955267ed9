"""Random networks for the property tests: made up, no source."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from estimator.hydraulics.friction import FloatArray
from estimator.hydraulics.network import Solution
from estimator.hydraulics.network_model import Network

WATER = {"density_kg_m3": 998.2, "viscosity_pa_s": 1.0016e-3}
BORES_M = (4.318e-3, 6.35e-3, 9.525e-3, 12.7e-3, 19.05e-3)


@st.composite
def trees(draw: st.DrawFn, rings: int = 0) -> Network:
    """A tree of up to 60 outlets (with ``rings`` extra tubes, a looped line)."""
    nodes = draw(st.integers(2, 40))
    parents = [draw(st.integers(max(0, i - 4), i - 1)) for i in range(1, nodes)]
    start, end = parents, list(range(1, nodes))
    for _ in range(rings):
        a = draw(st.integers(0, nodes - 2))
        start.append(a)
        end.append(draw(st.integers(a + 1, nodes - 1)))
    tubes = len(start)
    outlets = draw(st.integers(1, 60))
    dice = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    bore = dice.choice(BORES_M, tubes)
    return Network.build(
        elevation_m=dice.uniform(0.0, draw(st.sampled_from((0.5, 4.0, 30.0))), nodes),
        tube_from=start,
        tube_to=end,
        length_m=dice.uniform(0.2, 25.0, tubes),
        bore_m=bore,
        minor_k=dice.uniform(0.0, 5.0, tubes),
        minor_k1=np.where(dice.random(tubes) < 0.3, 800.0, 0.0),
        coil_diameter_m=np.where(dice.random(tubes) < draw(st.sampled_from((0.0, 0.3))), 14.0 * bore, 0.0),
        outlet_node=dice.integers(0, nodes, outlets),
        outlet_coefficient=10.0 ** dice.uniform(-8.4, -7.0, outlets),
        source_pressure_pa=draw(st.floats(1e5, 7e5)),
        source_linear_pa_s_m3=draw(st.sampled_from((0.0, 2e8))),
        source_quadratic_pa_s2_m6=draw(st.sampled_from((0.0, 1e12))),
        density_kg_m3=draw(st.floats(750.0, 1400.0)),
        viscosity_pa_s=10.0 ** draw(st.floats(-3.3, 0.5)),
    )


def some_sets(net: Network, seed: int, sets: int = 6) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """Open-sets, among them none open and all open."""
    dice = np.random.default_rng(seed)
    table = dice.random((sets, net.outlet_node.size)) < dice.random((sets, 1))
    table[0], table[-1] = False, True
    return table


def one_hose(**changes: object) -> Network:
    """A source, one hose, one nozzle; any argument of Network.build may be changed."""
    values: dict[str, object] = {
        "elevation_m": [0.0, 0.0],
        "tube_from": [0],
        "tube_to": [1],
        "length_m": [10.0],
        "bore_m": [6.35e-3],
        "outlet_node": [1],
        "outlet_coefficient": [1.2 / 60000.0 / 300e3**0.5],
        "source_pressure_pa": 400e3,
        **WATER,
        **changes,
    }
    build: object = Network.build
    assert callable(build)
    made = build(**values)
    assert isinstance(made, Network)
    return made


def outlet_pressures(answer: Solution) -> FloatArray:
    """Pressure at every outlet in every open-set (sets, outlets) [Pa]; 0 where shut."""
    table = np.zeros((answer.sets, answer.network.outlet_node.size))
    table[answer.case, answer.outlet] = answer.pressure_pa
    return table
