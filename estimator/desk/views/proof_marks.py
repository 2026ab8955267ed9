"""The colour of a standing."""

from __future__ import annotations

from estimator.desk.theme import Theme
from estimator.shown.standing import Standing

__all__ = ["colour_of"]

# At least 4.5 to 1 on paper and ground of either theme.
_GOOD = {"light": "#1c6b3a", "dark": "#7fd3a0"}


def colour_of(theme: Theme, standing: Standing) -> str:
    """Colour of a standing as #rrggbb; the sign and the words always stand beside it."""
    if standing is Standing.GOOD:
        return _GOOD[theme.name]
    if standing is Standing.CLOSE:
        return theme.warning
    return theme.faint if standing is Standing.UNKNOWN else theme.error
