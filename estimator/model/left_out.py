"""What a quote usually leaves to others, above all to licensed trades: the one place of the sentences.

They are exclusions that the program knows by a key, so that a quote which sells what it leaves out is found
(`pricing.sold`). Which work needs a licence is common practice, no source; the local authority decides.
"""

from __future__ import annotations

from enum import StrEnum

__all__ = ["LeftOut"]


class LeftOut(StrEnum):
    """Something that the quote leaves out, in printing order."""

    WATER = "water"
    BACKFLOW = "backflow"
    ELECTRICAL = "electrical"
    AIR = "air"
    DRAINS = "drains"
    PERMITS = "permits"
    CONCENTRATES = "concentrates"

    @property
    def label(self) -> str:
        """A few words, for a list to tick."""
        return {
            LeftOut.WATER: "Plumbing of the water tie-in",
            LeftOut.BACKFLOW: "Backflow protection in the water line",
            LeftOut.ELECTRICAL: "Electrical work",
            LeftOut.AIR: "Compressor and the shop's air lines",
            LeftOut.DRAINS: "Drains and interceptors",
            LeftOut.PERMITS: "Permits",
            LeftOut.CONCENTRATES: "Concentrates",
        }[self]

    @property
    def sentence(self) -> str:
        """As it is printed on the quote."""
        return {
            LeftOut.WATER: "Plumbing of the water tie-in, which is a licensed plumber's.",
            LeftOut.BACKFLOW: "A backflow preventer in the building's water line, with its installation and its tests, "
            "which are a licensed trade's; an air gap at the board is part of the system.",
            LeftOut.ELECTRICAL: "Electrical work, which is a licensed electrician's.",
            LeftOut.AIR: "The compressor, its dryer and the shop's own air lines up to the tie-in.",
            LeftOut.DRAINS: "Drains, interceptors and leave to discharge into them.",
            LeftOut.PERMITS: "Permits and inspections of any authority.",
            LeftOut.CONCENTRATES: "The concentrates.",
        }[self]
