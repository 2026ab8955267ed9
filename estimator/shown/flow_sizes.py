"""Sizes of nozzles in words: a flow at a pressure, in the units of the job."""

from __future__ import annotations

from typing import Final

from estimator.reference.catalogue import Catalogue
from estimator.shown.figures import Figures
from estimator.units import Dimension

__all__ = ["flow_sizes"]

_NOMINAL_PA: Final = 300_000.0  # of ISO 10625, which the catalogue's flows are stated at
_L_MIN: Final = 1e-3 / 60.0


def flow_sizes(parts: Catalogue, figures: Figures) -> tuple[tuple[str, str], ...]:
    """Key of each nozzle size, a maker's own too, with its name and what it gives.

    >>> from estimator.reference.catalogue import catalogue
    >>> from estimator.units import UnitSystem
    >>> [
    ...     dict(flow_sizes(catalogue(), Figures("de_DE", "EUR", system)))["04"].replace("\\xa0", " ")
    ...     for system in UnitSystem
    ... ]
    ['04 red, 1,6 L/min at 3 bar', '04 red, 0,423 gpm at 43,5 psi']
    """
    at = figures.amount(_NOMINAL_PA, Dimension.PRESSURE)
    return tuple(
        (size.key, f"{size.name}, {figures.amount(size.l_min_at_300_kpa * _L_MIN, Dimension.FLOW)} at {at}")
        for size in parts.nozzle_sizes
    )
