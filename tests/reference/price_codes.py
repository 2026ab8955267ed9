"""Every code of the price book that a takeoff from a catalogue can ask for."""

from __future__ import annotations

from estimator.reference.catalogue import TABLES, Catalogue, Part

__all__ = ["price_codes"]


def price_codes(parts: Catalogue) -> frozenset[str]:
    """Of parts, sets, makes of nozzles, straight hoses, fittings of tubes and pick-ups of proportioners."""
    listed = [part for table in TABLES for part in getattr(parts, table) if isinstance(part, Part)]
    codes = {part.code for part in listed} | set(parts.codes.values())
    codes |= {code for make in parts.nozzle_makes for code in make.codes.values()}
    codes |= {hose.straight_code for hose in parts.hoses}
    codes |= {code for tube in parts.tubes for code in tube.fitting_codes.values()}
    codes |= {part.code for made in parts.proportioners for part in made.pick_up.values()}
    return frozenset(codes - {""})
