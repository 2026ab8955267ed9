"""Keys of the rows of revisions that were issued before rows had any, read from their words of then.

What was issued is kept as it was, so its rows stay without a key; they are matched with today's by what they said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Final
from urllib.parse import quote

from estimator.model.choices import Section
from estimator.model.design import AIR, Product
from estimator.model.issued import IssuedRow
from estimator.takeoff.types import RowFor, row_key
from estimator.units import Dimension, QuantityError, parse

__all__ = ["issued_keys"]

_LINE: Final = " line"
_EACH: Final = " each"
_SIZE: Final = "size "


def issued_keys(rows: Iterable[IssuedRow], products: Iterable[Product]) -> tuple[str, ...]:
    """The key of each row: its own, or the one that it would have in a takeoff of today.

    Words that cannot be read are a key of their own. Two products of one name had one row; it goes to the first.

    Args:
        rows: of one issued revision, in its order.
        products: of the base design that was issued.
    """
    names = {"compressed air": AIR}
    for product in products:
        names.setdefault(product.name or product.id, product.id)
    extras: Counter[str] = Counter()
    keys = []
    for row in rows:
        code = row.code
        if row.section is Section.EXTRAS and not row.key:
            # The number was that of the row among all of them; now it is that in its kind.
            kind = code.rpartition("-")[0] or code
            extras[kind] += 1
            code = f"{kind}-{extras[kind]}"
        keys.append(row.key or _key(row.section, code, row.detail, names))
    return tuple(keys)


def _key(section: Section, code: str, detail: str, names: Mapping[str, str]) -> str:
    of = _read(section, detail, names)
    return (
        f"{row_key(section, code, RowFor())}/words={quote(detail)}"
        if of is None
        else row_key(section, code, of)
    )


def _read(section: Section, detail: str, names: Mapping[str, str]) -> RowFor | None:
    if not detail:
        return RowFor()
    try:
        if section is Section.LINES and detail.endswith(_LINE):
            service = names.get(detail.removesuffix(_LINE))
            return None if service is None else RowFor(service=service)
        if detail.endswith(_EACH):
            return RowFor.hose(parse(detail.removesuffix(_EACH), Dimension.LENGTH).si)
        if detail.startswith(_SIZE):
            size, comma, angle = detail.removeprefix(_SIZE).rpartition(", ")
            return RowFor.nozzle(size, parse(angle, Dimension.ANGLE).si) if comma else RowFor.nozzle(angle)
    except QuantityError:
        return None
    return None
