"""Two prices side by side, row by row: what was added, removed, changed.

The differences of the rows and of the sums under them add up to the difference of the totals exactly. Compared the
other way round, every difference has the opposite sign, added is removed, and the order is the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from estimator.model.issued import Issued, IssuedRow, IssuedSum, TextError, handed, job_then
from estimator.money import minor_units
from estimator.pricing.old_keys import issued_keys
from estimator.pricing.policy import CostOdds
from estimator.pricing.price import quantity_of
from estimator.pricing.types import CostRange, Price
from estimator.sizing.types import Proof
from estimator.takeoff.types import Section
from estimator.takeoff.words import RowWords

__all__ = [
    "ChangeKind",
    "CompareError",
    "Comparison",
    "Line",
    "Lines",
    "OptionFigures",
    "Repriced",
    "RowChange",
    "SumChange",
    "compare",
    "issued_rows",
    "lines_of",
    "lines_of_issued",
    "option_figures",
]


_LISTED_AT_MOST: Final = 8
"""So many rows are told one by one where the figures in the price book moved."""


class CompareError(ValueError):
    """Prices that cannot be compared; the message says why."""


class ChangeKind(StrEnum):
    """What happened to a row."""

    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class Line:
    """One row of a price as the customer sees it; amounts are firm.

    Attributes:
        key: what makes it the same row in another price, whatever it is called there.
        detail: what it is for, in words.
    """

    key: str
    section: Section
    code: str
    detail: str
    description: str
    unit: str
    quantity: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True)
class Lines:
    """A firm price: rows and the sums under them, with their signs, make the total."""

    currency: str
    rows: tuple[Line, ...]
    sums: tuple[tuple[str, Decimal], ...]
    total: Decimal


def lines_of(price: Price, words: RowWords) -> Lines:
    """The firm figures of a price; rows that are not bought are left out.

    Args:
        words: how rows are called in the job that was priced.
    """
    totals = price.totals
    taxes: dict[str, Decimal] = {}
    for line in price.taxes:
        taxes[line.name] = taxes.get(line.name, Decimal(0)) + line.tax.likely
    sums = (
        ("Contingency", totals.contingency.likely),
        ("Discount", -totals.discount.likely),
        *taxes.items(),
        ("Rounding", totals.rounding.likely),
    )
    rows = tuple(
        Line(
            r.takeoff.key,
            r.takeoff.section,
            r.takeoff.code,
            words.detail(r.takeoff),
            r.description,
            r.unit,
            quantity_of(r.takeoff),
            r.price.likely,
        )
        for r in price.rows
        if r.takeoff.quantity > 0
    )
    return Lines(price.currency, rows, sums, totals.total.likely)


def issued_rows(lines: Lines) -> tuple[tuple[IssuedRow, ...], tuple[IssuedSum, ...]]:
    """Rows and sums as an issued revision keeps them."""
    rows = tuple(
        IssuedRow(
            key=r.key,
            code=r.code,
            section=r.section,
            detail=r.detail,
            description=r.description,
            unit=r.unit,
            quantity=r.quantity,
            price=r.price,
        )
        for r in lines.rows
    )
    return rows, tuple(IssuedSum(name=name, amount=amount) for name, amount in lines.sums)


def lines_of_issued(issued: Issued) -> Lines:
    """The firm figures of an issued revision, as they were.

    Raises:
        CompareError: its content cannot be read.
    """
    try:
        figures = handed(issued)
        # Only rows that were issued without keys need the job to be matched.
        products = () if all(r.key for r in figures.rows) else job_then(issued).design.products
    except TextError as error:
        raise CompareError(f"Revision {issued.letter} cannot be compared: {error}") from None
    rows = tuple(
        Line(key, r.section, r.code, r.detail, r.description, r.unit, r.quantity, r.price)
        for key, r in zip(issued_keys(figures.rows, products), figures.rows, strict=True)
    )
    sums = tuple((s.name, s.amount) for s in figures.sums)
    return Lines(figures.currency, rows, sums, figures.total)


@dataclass(frozen=True, slots=True)
class RowChange:
    """One row that differs. Where it was not there, quantity and price are zero."""

    kind: ChangeKind
    key: str
    section: Section
    code: str
    detail: str
    description: str
    unit: str
    quantity_before: Decimal
    quantity_after: Decimal
    price_before: Decimal
    price_after: Decimal

    @property
    def difference(self) -> Decimal:
        """Of the price; positive where the newer one is dearer."""
        return self.price_after - self.price_before

    @property
    def same_quantity(self) -> bool:
        """Whether only its price is another."""
        return self.quantity_before == self.quantity_after


@dataclass(frozen=True, slots=True)
class SumChange:
    """One of the sums under the rows."""

    name: str
    before: Decimal
    after: Decimal

    @property
    def difference(self) -> Decimal:
        """Positive where the newer price is dearer for it."""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class Repriced:
    """Rows of the same quantity that cost another price, told in one line."""

    rows: tuple[RowChange, ...]

    @property
    def before(self) -> Decimal:
        """Sum of the older prices."""
        return sum((row.price_before for row in self.rows), Decimal(0))

    @property
    def after(self) -> Decimal:
        """Sum of the newer prices."""
        return sum((row.price_after for row in self.rows), Decimal(0))

    @property
    def difference(self) -> Decimal:
        """Sum of the rows' own differences."""
        return self.after - self.before

    @property
    def words(self) -> str:
        """What it is called."""
        return f"{len(self.rows)} items of the same quantity at another price"


@dataclass(frozen=True, slots=True)
class Comparison:
    """A newer price against an older one; rows that are the same are left out.

    Attributes:
        rows: every row that differs.
        own: codes whose own figure in the price book moved; every other price moved with the terms alone.
    """

    currency: str
    rows: tuple[RowChange, ...]
    sums: tuple[SumChange, ...]
    before: Decimal
    after: Decimal
    own: frozenset[str] = frozenset()

    @property
    def repriced(self) -> Repriced | None:
        """The rows whose price moved with the terms alone, None below two; and those of many figures that moved."""
        same = [row for row in self.rows if row.kind is ChangeKind.CHANGED and row.same_quantity]
        apart = [row for row in same if row.code in self.own or row.section is Section.EXTRAS]
        together = [row for row in same if len(apart) > _LISTED_AT_MOST or row not in apart]
        return Repriced(tuple(together)) if len(together) > 1 else None

    @property
    def alone(self) -> tuple[RowChange, ...]:
        """The rows to be told one by one: with `repriced`, each row once."""
        folded = self.repriced
        return tuple(row for row in self.rows if folded is None or row not in folded.rows)

    @property
    def difference(self) -> Decimal:
        """Of the totals: the sum of the differences of rows and sums."""
        return self.after - self.before


def _by_key(rows: Iterable[Line]) -> dict[str, Line]:
    made: dict[str, Line] = {}
    for row in rows:
        if row.key in made:
            raise CompareError(
                f"{row.code}: the row stands twice in one price; nothing can be matched with it."
            )
        made[row.key] = row
    return made


def compare(before: Lines, after: Lines, *, own: Iterable[str] = ()) -> Comparison:
    """A newer price against an older one.

    Args:
        own: codes whose own figure in the price book is another one.

    Raises:
        CompareError: prices in two currencies.
    """
    if before.currency != after.currency:
        raise CompareError(
            f"Prices in {before.currency} and in {after.currency} cannot be compared; figures are not converted."
        )
    old, new = _by_key(before.rows), _by_key(after.rows)
    order = list(Section)
    nothing = Decimal(0).scaleb(-minor_units(before.currency))
    changes = []
    either = old | new
    for shown in sorted(either.values(), key=lambda line: (order.index(line.section), line.code, line.key)):
        a, b = old.get(shown.key), new.get(shown.key)
        if a and b and (a.quantity, a.price) == (b.quantity, b.price):
            continue
        kind = ChangeKind.CHANGED if a and b else ChangeKind.ADDED if b else ChangeKind.REMOVED
        changes.append(
            RowChange(
                kind,
                shown.key,
                shown.section,
                shown.code,
                shown.detail,
                shown.description,
                shown.unit,
                a.quantity if a else Decimal(0),
                b.quantity if b else Decimal(0),
                a.price if a else nothing,
                b.price if b else nothing,
            )
        )
    sums_before, sums_after = dict(before.sums), dict(after.sums)
    names = sorted(sums_before.keys() | sums_after.keys())
    sums = tuple(
        SumChange(name, sums_before.get(name, nothing), sums_after.get(name, nothing))
        for name in names
        if sums_before.get(name, nothing) != sums_after.get(name, nothing)
    )
    return Comparison(before.currency, tuple(changes), sums, before.total, after.total, frozenset(own))


@dataclass(frozen=True, slots=True)
class OptionFigures:
    """One option in a table of all.

    Attributes:
        id, name: of the option.
        net, total: price range; likely is the firm price.
        cost: likely cost. `p10`, `p50`, `p90`: of the cost, None without a distribution.
        drops: liquid drops that were proved. `inside`: how many of them work: inside their window, on a line
            whose parts stand its product.
        outside: ids of those that are not. All three None without a proof.
        complete: everything to buy has a price.
    """

    id: str
    name: str
    currency: str
    net: CostRange
    total: CostRange
    cost: Decimal
    p10: Decimal | None
    p50: Decimal | None
    p90: Decimal | None
    drops: int | None
    inside: int | None
    outside: tuple[str, ...] | None
    complete: bool


def option_figures(
    option: str, name: str, price: Price, proof: Proof | None = None, odds: CostOdds | None = None
) -> OptionFigures:
    """Price, range and function of one option."""
    drops = None if proof is None else tuple(proof.drops)
    outside = None if drops is None else tuple(d.drop for d in drops if not d.verdict.holds)
    p10, p50, p90 = (odds.cost_at(chance) if odds else None for chance in (0.1, 0.5, 0.9))
    return OptionFigures(
        id=option,
        name=name,
        currency=price.currency,
        net=price.totals.net,
        total=price.totals.total,
        cost=price.totals.cost.likely,
        p10=p10,
        p50=p50,
        p90=p90,
        drops=None if drops is None else len(drops),
        inside=None if drops is None or outside is None else len(drops) - len(outside),
        outside=outside,
        complete=price.complete,
    )
