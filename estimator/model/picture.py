"""A picture kept in a job: the bytes of a PNG in base 64. How it gets there is `acts.logo`.

A file may come from anybody, so a text is looked at without unpacking it: letters, size, the signature and the header
of ISO/IEC 15948 (PNG), clauses 5.2 and 11.2.2 (from memory).
"""

from __future__ import annotations

import base64
import binascii
import struct
from typing import Annotated, Final

from pydantic import AfterValidator, StringConstraints
from pydantic_core import PydanticCustomError

__all__ = ["MOST_BYTES", "MOST_PIXELS", "Picture", "picture_bytes", "picture_size"]

MOST_BYTES: Final = 1_000_000
"""Of the kept PNG."""
MOST_PIXELS: Final = 16_000_000

_MOST_TEXT: Final = (MOST_BYTES + 2) // 3 * 4
_HEADER: Final = struct.Struct(">8s4x4sII")
_SIGNATURE: Final = b"\x89PNG\r\n\x1a\n"


def picture_bytes(text: str) -> bytes:
    """The PNG of a kept picture.

    Raises:
        ValueError: the text is no base 64.
    """
    try:
        return base64.b64decode(text.encode("ascii"), validate=True)
    except (UnicodeEncodeError, binascii.Error):
        raise ValueError("the text is no base 64") from None


def picture_size(text: str) -> tuple[int, int]:
    """Width and height of a kept picture in pixels, as its header says.

    Raises:
        ValueError: the text is no base 64 of a PNG.
    """
    # 32 letters are 24 bytes: the signature, and width and height of the first chunk.
    head = picture_bytes(text[:32])
    if len(head) < _HEADER.size:
        raise ValueError("too short for a PNG")
    signature, chunk, width, height = _HEADER.unpack(head)
    if signature != _SIGNATURE or chunk != b"IHDR" or not width or not height:
        raise ValueError("no header of a PNG")
    return width, height


def _checked(text: str) -> str:
    if not text:
        return text
    try:
        width, height = picture_size(text)
        size = len(picture_bytes(text))
    except ValueError:
        raise PydanticCustomError(
            "picture", "This is no picture as a job keeps it; choose it again from its file."
        ) from None
    if width * height > MOST_PIXELS or size > MOST_BYTES:
        raise PydanticCustomError(
            "picture_size", "This picture is larger than a job keeps; choose it again from its file."
        )
    return text


Picture = Annotated[str, StringConstraints(max_length=_MOST_TEXT), AfterValidator(_checked)]
"""Empty for none."""
