"""What a table shows, before any widget: columns, lines with their cells, and the lines as text to be copied."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from estimator.store.cells import escaped

__all__ = ["Column", "Look", "TableLine", "below", "columns_of", "copied", "distinct", "with_tick"]

_CONTROL: Final = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]+")
_FIGURE: Final = re.compile(r"[+-](?=.*\d)[\d.,'\u2019\s$€£¥%]+")
"""A figure with its sign, which no spreadsheet takes for a formula: no letter, bracket or second operator."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, whether figures stand in it, and what it means."""

    heading: str
    figures: bool = False
    tip: str = ""


def columns_of(columns: Sequence[str | Column]) -> tuple[Column, ...]:
    """Columns; a heading alone that begins with ">" is one of figures.

    >>> columns_of((">Cost",))
    (Column(heading='Cost', figures=True, tip=''),)
    """
    return tuple(
        c if isinstance(c, Column) else Column(c.removeprefix(">"), c.startswith(">")) for c in columns
    )


@dataclass(frozen=True, slots=True)
class Look:
    """How one cell looks otherwise than its line, and its own tip; "" for as the line."""

    colour: str = ""
    bold: bool = False
    tip: str = ""


@dataclass(frozen=True, slots=True)
class TableLine:
    """A line of a table.

    Attributes:
        key: names it in its table; a line with "" is a remark that cannot be chosen.
        cells: a text for each column.
        told: what a tip and a screen reader say more.
        colour: of its letters, "" for that of the theme.
        bold: whether they are.
        looks: one for each column, or none at all.
        orders: what each column is sorted by; without them by its texts.
        children: lines below it, which can be folded.
        tick: whether its box is ticked; None for a line without a box.
    """

    key: str
    cells: tuple[str, ...]
    told: str = ""
    colour: str = ""
    bold: bool = False
    looks: tuple[Look, ...] = ()
    orders: tuple[float | str, ...] = ()
    children: tuple[TableLine, ...] = ()
    tick: bool | None = None


def below(lines: Iterable[TableLine]) -> Iterator[TableLine]:
    """Lines and all below them, from the top."""
    for line in lines:
        yield line
        yield from below(line.children)


def with_tick(line: TableLine, tick: bool) -> TableLine:
    """The line with its box ticked or not."""
    return replace(line, tick=tick)


def distinct(keys: Iterable[str]) -> list[str]:
    """Keys of which each names one line: those that come again are counted.

    >>> distinct(["a", "b", "a"])
    ['a', 'b', 'a #2']
    """
    seen: Counter[str] = Counter()
    found = []
    for key in keys:
        seen[key] += 1
        found.append(key if seen[key] == 1 else f"{key} #{seen[key]}")
    return found


def copied(lines: Iterable[TableLine]) -> str:
    """Lines as text for a spreadsheet: tabs between cells, each line with its end; no cell becomes a formula.

    >>> copied([TableLine("a", ("=1", "-2.50", "two\\nlines"))])
    "'=1\\t-2.50\\ttwo lines\\n"
    """

    def cell(text: str) -> str:
        flat = _CONTROL.sub(" ", text)
        return flat if _FIGURE.fullmatch(flat) else escaped(flat)

    return "".join("\t".join(cell(text) for text in line.cells) + "\n" for line in lines)
