"""A signature in words, for list, command line and paper."""

from __future__ import annotations

from estimator.model.signed import SignOff
from estimator.shown.figures import Figures

__all__ = ["signed_document", "signed_words", "stale_words"]


def signed_words(sign: SignOff, figures: Figures) -> str:
    """Who signed, when and why, as one sentence.

    Args:
        sign: the signature.
        figures: write its day as the job does.
    """
    reason = " ".join(sign.reason.split())
    end = "" if reason.endswith((".", "!", "?")) else "."
    return f"Signed for by {' '.join(sign.name.split())} on {figures.day(sign.dated)}: {reason}{end}"


def stale_words(sign: SignOff, figures: Figures) -> str:
    """A signature that holds for nothing any more, as sentences."""
    about = ", ".join(f"“{name}”" for name in sign.objects) or "the whole"
    return (
        f"{signed_words(sign, figures)} That was about {about} and holds for nothing found now: it is mended, or it is "
        "another and asked about again."
    )


def signed_document(sign: SignOff) -> dict[str, str]:
    """A signature as data."""
    return {"name": sign.name, "reason": sign.reason, "dated": sign.dated.isoformat()}
