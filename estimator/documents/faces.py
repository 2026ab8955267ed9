"""Which font prints which character, and what no font here can print.

Latin, Greek and Cyrillic come from an embedded font with an open licence. What it does not hold is refused by name: a
font that is not embedded looks otherwise, or not at all, on the next machine, and what is handed over must read the
same everywhere. No font for Chinese, Japanese and Korean comes with the program: those with an open licence that the
PDF library could embed are larger than all the rest of it.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from importlib import resources
from typing import Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from estimator.documents.toolkit import look_inside_only

__all__ = ["PLAIN", "STRONG", "CannotPrintError", "cannot_print", "fit", "printed", "register", "width_pt"]

PLAIN: Final = "BaydropSans"
STRONG: Final = "BaydropSans-Strong"

_FILES: Final = {PLAIN: "SourceSansPro-Regular.ttf", STRONG: "SourceSansPro-Semibold.ttf"}


class CannotPrintError(ValueError):
    """A text holds a character that no font here prints.

    Attributes:
        text: it.
    """

    def __init__(self, text: str) -> None:
        super().__init__(f"{', '.join(f'U+{ord(c):04X}' for c in cannot_print(text))} cannot be printed")
        self.text = text


@lru_cache(maxsize=1)
def register() -> frozenset[int]:
    """Make the fonts known to the PDF library; once is enough.

    Returns:
        Code points that both embedded weights hold.

    Raises:
        ModuleNotFoundError: the package that carries the embedded font is not installed.
    """
    look_inside_only()
    folder = resources.files("font_source_sans_pro").joinpath("files")
    held: list[frozenset[int]] = []
    for name, file in _FILES.items():
        with resources.as_file(folder.joinpath(file)) as path:
            font = TTFont(name, str(path))
        pdfmetrics.registerFont(font)
        held.append(frozenset(font.face.charToGlyph))
    return frozenset.intersection(*held)


def _clean(text: str) -> str:
    """Composed form; every kind of space the font lacks prints as the nearest space it has."""
    composed = unicodedata.normalize("NFC", text)
    held = register()

    def one(character: str) -> str:
        if character in "\t\n\r":
            return " "
        if unicodedata.category(character) == "Zs" and ord(character) not in held:
            return "\u00a0" if character in "\u202f\u2007" else " "
        return character

    return "".join(map(one, composed))


def cannot_print(text: str) -> tuple[str, ...]:
    """Characters of a text that no font here can print, each once, in order.

    >>> cannot_print("Łódź Ωμέγα Жук")
    ()
    >>> [hex(ord(c)) for c in cannot_print("wash \U0001f697 bay")]
    ['0x1f697']
    """
    held = register()
    return tuple(dict.fromkeys(c for c in _clean(text) if ord(c) not in held))


@lru_cache(maxsize=4096)
def printed(text: str) -> str:
    """A text as it is printed: composed, with line breaks and odd spaces as the spaces that the font has.

    Raises:
        CannotPrintError: a character that `cannot_print` names.
    """
    if cannot_print(text):
        raise CannotPrintError(text)
    return _clean(text)


def width_pt(text: str, face: str, size_pt: float) -> float:
    """Width in points of a text on one line."""
    return float(pdfmetrics.stringWidth(printed(text), face, size_pt))


def fit(text: str, face: str, size_pt: float, room_pt: float) -> str:
    """The text, or as much of it as fits in `room_pt` points with an ellipsis; "" where not even that fits.

    >>> fit("Bay 1", PLAIN, 9.0, 100.0)
    'Bay 1'
    >>> fit("Bay 1", PLAIN, 9.0, 15.0)
    'B…'
    """
    if width_pt(text, face, size_pt) <= room_pt:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_pt(text[:middle].rstrip() + "…", face, size_pt) <= room_pt:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…" if low else ""
