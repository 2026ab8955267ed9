"""Reads the small part of an EPANET input file that the check networks use, into a Network in SI."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from estimator.hydraulics.network_model import GRAVITY_M_S2, Network

FOLDER = Path(__file__).parent / "networks"
# EPANET's relative viscosity is times 1.1e-5 ft2/s (EPANET 2.2 user manual, [OPTIONS]); confirmed by
# computation
EPANET_VISCOSITY_M2_S = 1.1e-5 * 0.3048**2
DENSITY_KG_M3 = 1000.0


@dataclass(frozen=True)
class CheckNetwork:
    """A network with the names its rows have in the file."""

    network: Network
    nodes: tuple[str, ...]
    tubes: tuple[str, ...]
    outlets: tuple[str, ...]


def sections(path: Path) -> dict[str, list[list[str]]]:
    """Rows of each section, split at blanks, without comments."""
    found: dict[str, list[list[str]]] = {}
    rows: list[list[str]] = []
    for raw in path.read_text().splitlines():
        text = raw.split(";")[0].strip()
        if text.startswith("["):
            rows = found.setdefault(text.strip("[]"), [])
        elif text:
            rows.append(text.split())
    return found


def from_inp(path: Path) -> CheckNetwork:
    """The network in an .inp file: L/min, D-W head loss, emitters, one reservoir."""
    part = sections(path)
    heads = {row[0]: float(row[1]) for row in part["RESERVOIRS"]}
    elevation = {row[0]: float(row[1]) for row in part["JUNCTIONS"]}
    (source, head), *_ = heads.items()
    nodes = (source, *elevation)
    index = {name: i for i, name in enumerate(nodes)}
    pipes = part["PIPES"]
    options = {row[0]: row[-1] for row in part["OPTIONS"]}
    viscosity = float(options["Viscosity"]) * EPANET_VISCOSITY_M2_S * DENSITY_KG_M3

    def column(at: int, factor: float) -> list[float]:
        return [float(row[at]) * factor for row in pipes]

    network = Network.build(
        elevation_m=[0.0, *elevation.values()],
        tube_from=[index[row[1]] for row in pipes],
        tube_to=[index[row[2]] for row in pipes],
        length_m=column(3, 1.0),
        bore_m=column(4, 1e-3),
        roughness_m=column(5, 1e-3),
        minor_k=column(6, 1.0),
        tube_closed=np.array([row[7].lower() == "closed" for row in pipes]),
        outlet_node=[index[row[0]] for row in part["EMITTERS"]],
        outlet_coefficient=[
            float(row[1]) / 60000.0 / (DENSITY_KG_M3 * GRAVITY_M_S2) ** 0.5 for row in part["EMITTERS"]
        ],
        source_node=0,
        source_pressure_pa=head * DENSITY_KG_M3 * GRAVITY_M_S2,
        density_kg_m3=DENSITY_KG_M3,
        viscosity_pa_s=viscosity,
    )
    return CheckNetwork(
        network, nodes, tuple(row[0] for row in pipes), tuple(row[0] for row in part["EMITTERS"])
    )


def head_m(pressure_pa: float) -> float:
    """Pressure as metres of the liquid of the check networks."""
    return pressure_pa / (DENSITY_KG_M3 * GRAVITY_M_S2)


def all_open(check: CheckNetwork) -> Sequence[Sequence[int]]:
    """One open-set with every outlet open."""
    return [list(range(len(check.outlets)))]
