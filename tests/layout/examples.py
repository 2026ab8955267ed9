"""The shipped example jobs, and small halls, for the tests of layout and takeoff."""

from __future__ import annotations

from pathlib import Path

from estimator.model.choices import NozzleType, SideName
from estimator.model.design import AIR, Bay, Design, Drop, PlantUnit, Product
from estimator.model.job import Job
from estimator.model.site import Board, Floor, Site
from estimator.units import Dimension, parse

_EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"


def gannet_quay() -> Job:
    """The new system."""
    return Job.model_validate_json((_EXAMPLES / "gannet-quay.baydrop").read_text(encoding="utf-8"))


def harrow_mill() -> Job:
    """The upgrade."""
    return Job.model_validate_json((_EXAMPLES / "harrow-mill.baydrop").read_text(encoding="utf-8"))


def tern_bank() -> Job:
    """The truck wash with a pair that must never meet."""
    return Job.model_validate_json((_EXAMPLES / "tern-bank.baydrop").read_text(encoding="utf-8"))


def metres(value: float) -> str:
    """A length as a person types it."""
    return parse(f"{value:.6f} m", Dimension.LENGTH).text


def hall() -> Site:
    """30 x 20 m, run height 3 m, board in the middle of the west wall, outlet at 1.5 m."""
    return Site(
        floor=Floor.model_validate({"width": "30 m", "depth": "20 m", "run_height": "3 m"}),
        board=Board.model_validate({"along": "10 m", "outlet_height": "1.5 m"}),
    )


def drop(bay: str, side: SideName, service: str, *, existing: bool = False, foam: bool = False) -> Drop:
    """A drop named after its place, with a gun that fits its service."""
    return Drop(
        id=f"{bay}-{side.value[0]}-{service}",
        bay=bay,
        side=side,
        service=service,
        gun="gun-air" if service == AIR else "gun-foam" if foam else "gun-plastic",
        nozzle=NozzleType.NONE if service == AIR else NozzleType.FAN,
        existing=existing,
    )


def bay(name: str, x: float, y: float) -> Bay:
    """A bay of 4 x 8 m running north-south."""
    return Bay.model_validate({"id": name, "x": metres(x), "y": metres(y), "width": "4 m", "length": "8 m"})


def design(
    bays: tuple[Bay, ...], drops: tuple[Drop, ...], products: tuple[str, ...] = ("soap", "wax")
) -> Design:
    """A design with plant for each product."""
    return Design(
        products=tuple(Product(id=p) for p in products),
        bays=bays,
        drops=drops,
        plant=tuple(PlantUnit(product=p) for p in products),
    )
