"""A person's text where a terminal or a window would obey what it holds instead of showing it."""

from __future__ import annotations

import re
from typing import Final

__all__ = ["HIDDEN", "written_out"]

HIDDEN: Final = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""What is obeyed: control characters of C0 and C1, line separators, changes of direction; and halves of a character."""


def written_out(text: str, keep: str = "") -> str:
    """The text with what would be obeyed as a code.

    Args:
        text: of a person.
        keep: characters that stay, such as a line end.

    >>> written_out("\\x1b[2J\\u202etxt\\n", keep="\\n")
    '\\\\x1b[2J\\\\u202etxt\\n'
    """
    return HIDDEN.sub(lambda match: match[0] if match[0] in keep else _code(match[0]), text)


def _code(character: str) -> str:
    return f"\\x{ord(character):02x}" if ord(character) < 256 else f"\\u{ord(character):04x}"
