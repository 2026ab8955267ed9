"""A text in a cell of a table that a spreadsheet will read: the same text, and never a formula.

A text that a spreadsheet would take for a formula is written with an apostrophe in front. A spreadsheet that parts
cells at semicolons, tabs or line breaks finds further beginnings inside a text: an apostrophe stands there too.
"""

from __future__ import annotations

import re
from typing import Final

__all__ = ["escaped", "unescaped"]

_BEGINS: Final = "=+\\-@\uff1d\uff0b\uff0d\uff20"
"""What a formula begins with, in the wide forms of East Asian keyboards too (common practice, no source)."""
_FORMULA: Final = re.compile(rf"'*[{_BEGINS}\t\r]")
_INSIDE: Final = re.compile(rf"([;\t\r\n][\s\"]*)('*[{_BEGINS}])")
_INSIDE_ESCAPED: Final = re.compile(rf"([;\t\r\n][\s\"]*)'('*[{_BEGINS}])")


def escaped(text: str) -> str:
    """A text as it is written into a cell.

    >>> escaped("=1+1")
    "'=1+1"
    """
    inside = _INSIDE.sub(r"\1'\2", text)
    return "'" + inside if _FORMULA.match(text) else inside


def unescaped(text: str) -> str:
    """The text that a cell was written for.

    >>> unescaped(escaped("-5; =1"))
    '-5; =1'
    """
    if "'" not in text:
        return text
    whole = text[1:] if text.startswith("'") and _FORMULA.match(text) else text
    return _INSIDE_ESCAPED.sub(r"\1\2", whole)
