"""The company's logo: taken from a picture file into the job, and left out again.

Whatever a file holds, only its pixels are kept: it is unpacked within limits, made as large as a cover needs at most
and written anew as PNG, without what a camera or a program noted in it.
"""

from __future__ import annotations

import base64
import struct
import zlib
from io import BytesIO
from typing import Final

from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.picture import MOST_PIXELS, picture_bytes

__all__ = ["MOST_FILE_BYTES", "LogoError", "is_readable", "logo_from", "with_logo", "without_logo"]

MOST_FILE_BYTES: Final = 20_000_000
"""Of the file that a logo is taken from."""

_PATH: Final = ("company", "logo")
_ROOM: Final = (720, 240)
"""Pixels that are kept: 61 x 20 mm at 300 to the inch."""
_DRAWINGS: Final = (b"<svg", b"<?xml", b"<!doctype", b"%pdf", b"%!ps")
_BROKEN: Final = (
    *(OSError, ValueError, SyntaxError, TypeError, LookupError, AttributeError, EOFError, ArithmeticError),
    *(NotImplementedError, MemoryError, struct.error, zlib.error),
)
"""What the picture library may raise on a damaged file."""


class LogoError(ValueError):
    """No logo can be made of the file; the message says why and what would be right."""


def logo_from(content: bytes) -> str:
    """A picture as a job keeps it.

    Args:
        content: of a PNG or JPEG file.

    Raises:
        LogoError: it is none, is damaged, or has too many bytes or pixels.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError  # loaded when a picture is wanted

    if len(content) > MOST_FILE_BYTES:
        raise LogoError(f"Logo: the file is larger than {MOST_FILE_BYTES // 1_000_000} MB; save it smaller.")
    start = content[:200].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith(_DRAWINGS):
        raise LogoError("Logo: this is a drawing of lines and no picture; save it as PNG first.")
    try:
        with Image.open(BytesIO(content), formats=("PNG", "JPEG")) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise _too_many()
            # A photograph is unpacked no larger than is wanted.
            picture.draft("RGB", (2 * _ROOM[0], 2 * _ROOM[1]))
            upright = ImageOps.exif_transpose(picture)
            seen_through = upright.has_transparency_data
            plain = upright.convert("RGBA" if seen_through else "RGB")
        plain.thumbnail(_ROOM, Image.Resampling.LANCZOS)
        file = BytesIO()
        Image.frombytes(plain.mode, plain.size, plain.tobytes()).save(file, "PNG", optimize=True)
    except LogoError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_many() from None
    except UnidentifiedImageError:
        raise LogoError("Logo: this is no picture; choose a PNG or JPEG file.") from None
    except _BROKEN:
        raise LogoError("Logo: the picture is damaged and cannot be read; save it anew.") from None
    return base64.b64encode(file.getvalue()).decode("ascii")


def is_readable(logo: str) -> bool:
    """Whether a kept picture can be unpacked: what was looked at when the job was read is its header alone."""
    from PIL import Image

    if not logo:
        return True
    try:
        with Image.open(BytesIO(picture_bytes(logo)), formats=("PNG",)) as picture:
            picture.load()
    except _BROKEN:
        return False
    return True


def _too_many() -> LogoError:
    return LogoError(
        f"Logo: the picture has more than {MOST_PIXELS // 1_000_000} megapixels; save it smaller."
    )


def with_logo(job: Job, logo: str) -> Job:
    """The job with a logo that `logo_from` made."""
    return with_value(job, _PATH, logo)


def without_logo(job: Job) -> Job:
    """The job without one."""
    return with_value(job, _PATH, "")
