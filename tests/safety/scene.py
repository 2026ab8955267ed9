"""A small catalogue and designs for the safety tests; every figure is invented demo data."""

from __future__ import annotations

from typing import Any

from estimator.model.choices import Answer, Chemistry, NozzleType
from estimator.model.design import Bay, Design, Drop, PlantUnit, Product
from estimator.model.sheet import SafetySheet
from estimator.reference.catalogue import Backflow, Catalogue, CheckValve, Gun, Tube

__all__ = ["PARTS", "design", "drop", "product"]


def _gun(key: str, body: str, seal: str) -> Gun:
    return Gun(
        key=key, name=f"{body} gun", code="G-1", grade="demo", body=body, seal=seal, kv=0.5, rating_kpa=1000.0
    )


PARTS = Catalogue(
    guns=(
        _gun("gun-plastic", "polypropylene", "FKM"),
        _gun("gun-nitrile", "polypropylene", "NBR"),
        _gun("gun-metal", "brass", "EPDM"),
        _gun("gun-strange", "unobtainium", "FKM"),
    ),
    nozzles=(),
    nozzle_sizes=(),
    hoses=(),
    tubes=(
        Tube(
            key="tube-8",
            name="polyethylene 8 x 6",
            code="T-8",
            od_mm=8.0,
            bore_mm=6.0,
            rating_kpa=1000.0,
            fitting_rating_kpa=1000.0,
            derating=((23.0, 1.0), (60.0, 0.5)),
            check_valve=CheckValve(kv=0.45, cracking_kpa=10.0),
            fitting_codes={},
            wetted={"wall": "polyethylene"},
        ),
    ),
    proportioners=(),
    tanks=(),
    pumps=(),
    backflow=(Backflow(key="backflow-air-gap", name="air gap", code="B-1"),),
    codes={},
)


def product(key: str, *classes: Chemistry, dilution: float = 20.0, **sheet: Any) -> Product:
    """A product named after its key, with every question of its sheet answered by no unless it is given."""
    answers: dict[str, Any] = dict.fromkeys(("oxidiser", "reducer", "amine"), Answer.NO)
    return Product(
        id=key,
        name=key.title(),
        sheet=SafetySheet(classes=classes, **{**answers, **sheet}),
        dilution=dilution,
    )


def drop(key: str, service: str, gun: str = "gun-plastic", nozzle: NozzleType = NozzleType.STREAM) -> Drop:
    """A drop in the one bay."""
    return Drop(id=key, bay="bay-1", service=service, gun=gun, nozzle=nozzle)


def design(*products: Product, drops: tuple[Drop, ...] = (), **more: Any) -> Design:
    """One bay with these products, each with its plant."""
    plain: dict[str, Any] = {"plant": tuple(PlantUnit(product=p.id) for p in products)}
    return Design(products=products, bays=(Bay(id="bay-1"),), drops=drops, **{**plain, **more})
