"""What a takeoff is made of."""

from __future__ import annotations

from dataclasses import dataclass

from estimator.model.choices import Section

__all__ = ["Section", "TakeoffRow"]


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
        detail: what tells this row from others of its code ("foam pre-wash line, blue"), may be empty.
    """

    code: str
    section: Section
    quantity: float
    existing: float
    objects: tuple[str, ...]
    pieces_m: tuple[float, ...] = ()
    detail: str = ""
