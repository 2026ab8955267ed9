"""What a row is for in words, made last: in the names, units and language of a job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from estimator.locales import number_text
from estimator.model.called import COMPRESSED_AIR, service_names
from estimator.model.colours import line_colours
from estimator.model.design import AIR
from estimator.model.job import Snapshot
from estimator.takeoff.types import RowFor, TakeoffRow
from estimator.units import Dimension, UnitSystem, preferred_unit, to_unit

__all__ = ["RowWords", "row_words"]

_OWN: Final = "a maker's own part"
_PLACES: Final = {UnitSystem.METRIC: 3, UnitSystem.US: 2}
"""Decimals of a hose length: a millimetre, a hundredth of a foot."""


@dataclass(frozen=True, slots=True)
class RowWords:
    """How the rows of one job are called.

    Attributes:
        services: product id, or air's -> its name.
        colours: service id -> name of its line's colour.
        sizes: key of a maker's own nozzle -> its name. `parts`: of a maker's own pump or proportioner.
        units: system that lengths are written in.
        locale: of the numbers.
    """

    services: Mapping[str, str]
    colours: Mapping[str, str]
    sizes: Mapping[str, str]
    parts: Mapping[str, str]
    units: UnitSystem
    locale: str

    def service(self, service: str) -> str:
        """What is in a line."""
        return self.services.get(service, "a product that is not there")

    def of(self, of: RowFor) -> str:
        """What tells a row from others of its code; empty where the code tells enough."""
        words = []
        if of.own_part:
            words.append(self.parts.get(of.own_part, _OWN))
        if of.service:
            words.append(f"{self.service(of.service)} line")
            words.append(self.colours.get(of.service, ""))
        if of.length_mm is not None:
            words.append(f"{self._length(of.length_mm)} each")
        if of.nozzle_size:
            words.append(self.sizes.get(of.nozzle_size, f"size {of.nozzle_size}"))
        if of.fan_angle_cdeg is not None:
            words.append(f"{number_text(Decimal(of.fan_angle_cdeg) / 100, 2, self.locale)}\u00a0°")
        return ", ".join(filter(None, words))

    def detail(self, row: TakeoffRow) -> str:
        """The same of a takeoff row."""
        return self.of(row.of)

    def bought(self, services: Iterable[str], colour: str) -> str:
        """What tube is bought for: its lines, and its colour where lines share one."""
        lines = " and ".join(f"{self.service(service)} line" for service in services)
        return ", ".join(part for part in (lines, colour) if part)

    def named(self, description: str, row: TakeoffRow) -> str:
        """A row under the name of its part.

        Args:
            description: of its code in the price book.
        """
        detail = self.detail(row)
        return f"{description}, {detail}" if detail else description

    def _length(self, length_mm: int) -> str:
        unit = preferred_unit(Dimension.LENGTH, self.units)
        length = to_unit(length_mm / 1000.0, Dimension.LENGTH, unit)
        return f"{number_text(length, _PLACES[self.units], self.locale)}\u00a0{unit}"


def row_words(job: Snapshot) -> RowWords:
    """How the rows of a job are called."""
    design, makers = job.design, job.design.makers
    return RowWords(
        services=service_names(design) | {AIR: COMPRESSED_AIR.lower()},
        colours=line_colours(design),
        sizes={nozzle.key: nozzle.name.strip() or "a maker's own nozzle" for nozzle in makers.nozzles},
        parts={pump.key: pump.name.strip() or _OWN for pump in makers.pumps}
        | {one.key: one.name.strip() or _OWN for one in makers.proportioners},
        units=job.units,
        locale=job.terms.locale,
    )
