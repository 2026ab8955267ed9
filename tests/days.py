"""The day that tests study jobs on, where the day does not matter: the shipped prices are fresh then."""

from datetime import date
from typing import Final

STUDIED: Final = date(2026, 12, 1)
