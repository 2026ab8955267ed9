"""What a takeoff is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Self
from urllib.parse import quote

from estimator.model.choices import Section

__all__ = ["RowFor", "Section", "TakeoffRow", "row_key"]


@dataclass(frozen=True, slots=True)
class RowFor:
    """What tells a row from others of its code: data, never words.

    Attributes:
        service: for tube, id of the product in it, or compressed air's.
        length_mm: of each hose, rounded to the millimetre.
        nozzle_size: key of the size in the catalogue or the makers' data.
        fan_angle_cdeg: spray angle of a fan nozzle in hundredths of a degree.
        own_part: key of a maker's own pump or proportioner.
    """

    service: str = ""
    length_mm: int | None = None
    nozzle_size: str = ""
    fan_angle_cdeg: int | None = None
    own_part: str = ""

    @classmethod
    def hose(cls, length_m: float) -> Self:
        """A hose of that length in metres.

        >>> RowFor.hose(5.9999999) == RowFor.hose(6.0)
        True
        """
        return cls(length_mm=_whole(length_m * 1000.0))

    @classmethod
    def nozzle(cls, size: str, fan_angle_rad: float | None = None) -> Self:
        """A nozzle of that size; the angle where it is a fan's."""
        angle = None if fan_angle_rad is None else _whole(math.degrees(fan_angle_rad) * 100.0)
        return cls(nozzle_size=size, fan_angle_cdeg=angle)


def _whole(value: float) -> int:
    # To the nearest, so that one length typed in two units is one length.
    return math.floor(value + 0.5)


def row_key(section: Section, code: str, of: RowFor) -> str:
    """The identity of a row, the same in every job, option and revision.

    >>> row_key(Section.DROPS, "HCO-06", RowFor(length_mm=6000))
    'drops/HCO-06/length_mm=6000'
    """
    parts = [section.name.lower(), quote(code, safe="")]
    for field in fields(of):
        value = getattr(of, field.name)
        if value not in ("", None):
            parts.append(f"{field.name}={quote(str(value), safe='')}")
    return "/".join(parts)


@dataclass(frozen=True, slots=True)
class TakeoffRow:
    """One part to buy.

    Attributes:
        code: price book code.
        section: section of the quote.
        quantity: to buy, in the price book's unit of sale (metres for tube and strut).
        existing: quantity that hangs there already and stays (not bought).
        objects: ids of the objects it came from: drops, segments ("line/segment"), stations, products.
        pieces_m: for tube and strut, the uncut pieces in metres that make up `quantity`.
        of: what tells this row from others of its code; `takeoff.words` says it to a person.
        by_object: what of `quantity` is bought for each of the objects alone, in their order; the rest serves several
            of them. Empty where nothing is known of it.
    """

    code: str
    section: Section
    quantity: float
    existing: float
    objects: tuple[str, ...]
    pieces_m: tuple[float, ...] = ()
    of: RowFor = RowFor()
    by_object: tuple[float, ...] = ()

    @property
    def key(self) -> str:
        """Its identity; no two rows of a takeoff share one."""
        return row_key(self.section, self.code, self.of)
