"""What the safety rules look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

from estimator.model.choices import Chemistry
from estimator.model.design import Design, Drop, Product
from estimator.model.finding import Finding, IdKind, Listed, Ref
from estimator.model.site import AirSupply, Site, WaterSupply
from estimator.reference.resolved import Resolved
from estimator.safety.hazards import Hazards, hazards_of

__all__ = ["FIRE", "LOCAL", "Rule", "Scene", "classes_of", "drops_named", "named", "products_named"]

LOCAL: Final = "local authority"
FIRE: Final = "local fire authority"


@dataclass(frozen=True)
class Scene:
    """A design with its parts and the day it is looked at."""

    site: Site
    design: Design
    known: Resolved
    on: date

    @property
    def air(self) -> AirSupply:
        """The shop's compressor."""
        return self.site.air

    @property
    def water(self) -> WaterSupply:
        """Water at the tie-in."""
        return self.site.water

    def of_chemistry(self, wanted: Iterable[Chemistry]) -> tuple[Product, ...]:
        """Products with one of these classes, in design order."""
        group = frozenset(wanted)
        return tuple(p for p in self.design.products if group & set(p.sheet.classes))

    def such(self, holds: Callable[[Hazards], bool]) -> tuple[Product, ...]:
        """Products whose hazards are such, in design order."""
        return tuple(p for p in self.design.products if holds(hazards_of(p.sheet)))

    def place_of(self, product: Product, field: str = "sheet.classes") -> str:
        """Where the form asks for a field of a product."""
        return f"design.products.{self._products_at[product.id]}.{field}"

    def place_of_drop(self, drop: Drop, field: str) -> str:
        """Where the form asks for a field of a drop."""
        return f"design.drops.{self._drops_at[drop.id]}.{field}"

    def drops_of(self, product: Product) -> tuple[Drop, ...]:
        """Drops of a product in design order."""
        return self._by_service.get(product.id, ())

    @cached_property
    def _products_at(self) -> dict[str, int]:
        return {product.id: i for i, product in enumerate(self.design.products)}

    def place_of_plant(self, product: str) -> str:
        """The plant of a product."""
        return f"design.plant.{self._plant_at[product]}"

    def place_of_line(self, service: str) -> str:
        """What was decided about the line of a service."""
        return f"design.lines.{self._lines_at[service]}"

    @cached_property
    def _plant_at(self) -> dict[str, int]:
        return {unit.product: i for i, unit in reversed(list(enumerate(self.design.plant)))}

    @cached_property
    def _lines_at(self) -> dict[str, int]:
        return {plan.service: i for i, plan in reversed(list(enumerate(self.design.lines)))}

    @cached_property
    def _drops_at(self) -> dict[str, int]:
        return {drop.id: i for i, drop in enumerate(self.design.drops)}

    @cached_property
    def _by_service(self) -> dict[str, tuple[Drop, ...]]:
        found: dict[str, list[Drop]] = {}
        for drop in self.design.drops:
            found.setdefault(drop.service, []).append(drop)
        return {service: tuple(drops) for service, drops in found.items()}


Rule = Callable[[Scene], Iterator[Finding]]
"""One rule: from the scene to its findings."""


def named(product: Product) -> Ref:
    """A product in a sentence."""
    return Ref(IdKind.PRODUCT, product.id)


def products_named(products: Iterable[Product]) -> Listed:
    """Products in a sentence."""
    return Listed(tuple(named(p) for p in products))


def drops_named(drops: Iterable[Drop]) -> Listed:
    """Drops in a sentence."""
    return Listed(tuple(Ref(IdKind.DROP, d.id) for d in drops))


def classes_of(product: Product) -> str:
    """What a product is, in words."""
    return ", ".join(c.label[:1].lower() + c.label[1:] for c in product.sheet.classes) or "of no class yet"
