"""Limits that findings and notes share."""

from __future__ import annotations

from typing import Final

__all__ = ["BLOW_OFF_LIMIT_PA", "COLD_WATER_K", "TABLE_LIMIT_K"]

BLOW_OFF_LIMIT_PA: Final = 30 * 6894.757293168 * (1 - 1e-9)
"""30 psi, 29 CFR 1910.242(b); less a rounding, so that 30 psi typed in any unit is at the limit."""
COLD_WATER_K: Final = 273.15 + 5
"""Below it water, and the hall it stands in, is close to freezing; common practice, no source."""
TABLE_LIMIT_K: Final = 273.15 + 25
"""What the materials table is stated for."""
