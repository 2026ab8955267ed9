"""The hashes of issued revisions, as plain text in and out: the records and the steps that bring old ones up ask here.

SHA-256 after FIPS 180-4, in hexadecimal.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

__all__ = ["canonical_text", "fingerprint", "following", "place_of", "seal_of", "short"]


def canonical_text(data: Mapping[str, Any]) -> str:
    """The one text of some data: JSON, keys sorted, no spaces."""
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def fingerprint(text: str) -> str:
    """SHA-256 of a text as UTF-8; a character that is half of a pair counts as the bytes it stands for."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def short(of: str) -> str:
    """A fingerprint's short form, as it stands on the paper: its first 16 digits (64 bit).

    >>> short("b912445ade7bfbdb42ab2a89a37ed10c22119a7a56bc0d742c615536c88bd74f")
    'b912-445a-de7b-fbdb'
    """
    return "-".join(of[i : i + 4] for i in range(0, 16, 4))


def seal_of(text_fingerprint: str, paper_fingerprint: str) -> str:
    """Over the fingerprints of a revision and of its paper; the next revision's text holds it."""
    return fingerprint(f"{text_fingerprint}:{paper_fingerprint}")


def place_of(letter: str) -> int:
    """Place of a letter in A, B, … Z, AA, AB …; 0 for none.

    >>> place_of(""), place_of("A"), place_of("AA")
    (0, 1, 27)
    """
    number = 0
    for character in letter:
        number = number * 26 + ord(character) - ord("A") + 1
    return number


def following(letter: str) -> str:
    """The letter after another; A after none.

    >>> following(""), following("Z"), following("AZ")
    ('A', 'AA', 'BA')
    """
    number, text = place_of(letter) + 1, ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("A") + rest) + text
    return text
