"""Which font prints which character, and what no font here can print.

Latin, Greek and Cyrillic come from an embedded font with an open licence. Chinese, Japanese and Korean come from
the standard CID fonts of PDF (ISO 32000-1, 9.7.5.2, table 118), which a viewer supplies; what those hold is told
from the national character sets that their collections were made from.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Final

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFont

from estimator.documents.toolkit import look_inside_only

__all__ = ["PLAIN", "STRONG", "CannotPrintError", "cannot_print", "fit", "register", "runs", "width_pt"]

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


@dataclass(frozen=True, slots=True)
class _CidFont:
    """A standard CID font, with the character set (as a codec's name) that its collection surely holds."""

    name: str
    codec: str


_CHINESE: Final = _CidFont("STSong-Light", "gbk")
_TRADITIONAL: Final = _CidFont("MSung-Light", "big5")
_JAPANESE: Final = _CidFont("HeiseiKakuGo-W5", "shift_jis")
_KOREAN: Final = _CidFont("HYGothic-Medium", "cp949")
_CID: Final = (_CHINESE, _TRADITIONAL, _JAPANESE, _KOREAN)


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
    for cid in _CID:
        pdfmetrics.registerFont(UnicodeCIDFont(cid.name))
    return frozenset.intersection(*held)


def _order(text: str, locale: str) -> tuple[_CidFont, ...]:
    """CID fonts, the likeliest first: the text's own script decides, then the locale, for Han characters
    look different in each."""
    language = locale.split("_", maxsplit=1)[0].lower()
    if any("\u3040" <= c <= "\u30ff" for c in text):
        first = _JAPANESE
    elif any("\uac00" <= c <= "\ud7a3" or "\u1100" <= c <= "\u11ff" for c in text):
        first = _KOREAN
    elif language == "ja":
        first = _JAPANESE
    elif language == "ko":
        first = _KOREAN
    elif language == "zh" and any(part in {"TW", "HK", "MO", "Hant"} for part in locale.split("_")):
        first = _TRADITIONAL
    else:
        first = _CHINESE
    return (first, *(font for font in _CID if font is not first))


@lru_cache(maxsize=4096)
def _holds(font: _CidFont, character: str) -> bool:
    # The Unicode encodings of these fonts are two bytes wide: nothing outside the first plane.
    if ord(character) > 0xFFFF or unicodedata.category(character) in {"Co", "Cn", "Cs", "Cf", "Cc"}:
        return False
    try:
        character.encode(font.codec)
    except UnicodeEncodeError:
        return False
    return True


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


def _font_of(character: str, face: str, order: tuple[_CidFont, ...]) -> str | None:
    if ord(character) in register():
        return face
    return next((font.name for font in order if _holds(font, character)), None)


def cannot_print(text: str) -> tuple[str, ...]:
    """Characters of a text that no font here can print, each once, in order.

    >>> cannot_print("Łódź Ωμέγα Жук 清洗")
    ()
    >>> [hex(ord(c)) for c in cannot_print("wash \U0001f697 bay")]
    ['0x1f697']
    """
    order = _order(text, "")
    missing = (c for c in _clean(text) if _font_of(c, PLAIN, order) is None)
    return tuple(dict.fromkeys(missing))


@lru_cache(maxsize=4096)
def runs(text: str, face: str, locale: str = "") -> tuple[tuple[str, str], ...]:
    """(font, piece) pairs of a text, cleaned of line breaks.

    Args:
        text: any text.
        face: `PLAIN` or `STRONG`, for what the embedded font holds.
        locale: decides between CID fonts where the text does not.

    Raises:
        CannotPrintError: a character that `cannot_print` names.
    """
    order = _order(text, locale)
    found: list[tuple[str, str]] = []
    font_now, piece = "", ""
    for character in _clean(text):
        font = _font_of(character, face, order)
        if font is None:
            raise CannotPrintError(text)
        if font != font_now and piece:
            found.append((font_now, piece))
            piece = ""
        font_now = font
        piece += character
    if piece:
        found.append((font_now, piece))
    return tuple(found)


def width_pt(text: str, face: str, size_pt: float, locale: str = "") -> float:
    """Width in points of a text on one line."""
    return sum(pdfmetrics.stringWidth(piece, font, size_pt) for font, piece in runs(text, face, locale))


def fit(text: str, face: str, size_pt: float, room_pt: float, locale: str = "") -> str:
    """The text, or as much of it as fits in `room_pt` points with an ellipsis; "" where not even that fits.

    >>> fit("Bay 1", PLAIN, 9.0, 100.0)
    'Bay 1'
    >>> fit("Bay 1", PLAIN, 9.0, 15.0)
    'B…'
    """
    if width_pt(text, face, size_pt, locale) <= room_pt:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if width_pt(text[:middle].rstrip() + "…", face, size_pt, locale) <= room_pt:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…" if low else ""
