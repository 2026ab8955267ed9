"""What happened to a row follows the units and the number format of the job."""

from __future__ import annotations

from decimal import Decimal

from estimator.pricing.compare import ChangeKind, RowChange
from estimator.shown.changes import row_change_words
from estimator.shown.figures import Figures
from estimator.takeoff.types import Section
from estimator.units import UnitSystem


def test_a_row_in_german_and_in_feet() -> None:
    """“1234.5 m → 2000.25 m” was read everywhere. 1 m = 3.28084 ft (NIST SP 811)."""
    nothing = Decimal(0)
    quantities = Decimal("1234.5"), Decimal("2000.250")
    section = next(iter(Section))
    row = RowChange(ChangeKind.CHANGED, "k", section, "C", "", "Tube", "m", *quantities, nothing, nothing)
    german = row_change_words(row, Figures("de_DE", "EUR", UnitSystem.METRIC))
    assert german.replace("\u00a0", " ") == "Tube: 1.234,5 m → 2.000,25 m."
    us = row_change_words(row, Figures("en_US", "USD", UnitSystem.US))
    assert us.replace("\u00a0", " ") == "Tube: 4,050.2 ft → 6,562.5 ft."
