"""What the safety data sheet of a product says of its concentrate, as far as a board has to know it."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import AfterValidator, Field, StringConstraints
from pydantic_core import PydanticCustomError

from estimator.model.choices import Answer, Chemistry, Pictogram, SignalWord
from estimator.model.spec import Frozen, spec
from estimator.units import Dimension, Measure, Quantity

__all__ = ["HazardCode", "SafetySheet"]

_MOST_STATEMENTS = 40


def _once(items: tuple[str, ...]) -> tuple[str, ...]:
    twice = next((item for item in items if items.count(item) > 1), None)
    if twice is not None:
        raise PydanticCustomError(
            "stands_twice", "“{item}” stands here twice; keep one.", {"item": str(twice)}
        )
    return items


HazardCode = Annotated[str, StringConstraints(max_length=12, pattern=r"^(EU)?H[0-9]{3}[A-Za-z]{0,3}$")]
"""Number of a hazard statement of the GHS, "H314", or of a supplemental one of the European Union, "EUH031"."""


class SafetySheet(Frozen):
    """What the safety data sheet says of the concentrate. What is not stated counts as the worse case."""

    classes: Annotated[tuple[Chemistry, ...], Field(max_length=len(Chemistry)), AfterValidator(_once)] = spec(
        "Classes of chemistry",
        "From sections 3 and 10 of the safety data sheet; several where it is a blend. Decide materials, mixing and "
        "cautions.",
        default=(),
    )
    ph: Annotated[float, Field(ge=0.0, le=14.0)] | None = spec(
        "Acidity (pH)", "Of the concentrate, section 9.", default=None
    )
    flash_point: Annotated[Quantity, Measure(Dimension.TEMPERATURE, "-60 °C", "400 °C")] | None = spec(
        "Flash point",
        "Of the concentrate, section 9; leave it empty where the sheet says there is none.",
        default=None,
    )
    oxidiser: Answer = spec(
        "Holds an oxidiser",
        "Chlorine or oxygen bleach, peracid, nitrate: sections 3 and 10.",
        default=Answer.NOT_KNOWN,
    )
    reducer: Answer = spec(
        "Holds a reducer",
        "Thioglycolate (iron remover), sulphite, thiosulphate: sections 3 and 10.",
        default=Answer.NOT_KNOWN,
    )
    amine: Answer = spec(
        "Holds an amine or ammonia",
        "Ethanolamine, ammonium salts and the like: section 3.",
        default=Answer.NOT_KNOWN,
    )
    pictograms: Annotated[tuple[Pictogram, ...], Field(max_length=len(Pictogram)), AfterValidator(_once)] = (
        spec("Pictograms", "Of the concentrate, section 2.", default=())
    )
    signal_word: SignalWord | None = spec("Signal word", "Of the concentrate, section 2.", default=None)
    statements: Annotated[
        tuple[HazardCode, ...], Field(max_length=_MOST_STATEMENTS), AfterValidator(_once)
    ] = spec(
        "Hazard statements",
        "Their numbers from section 2, one a line, such as H314.",
        default=(),
    )
    dated: date | None = spec("Date of the sheet", "When it was revised last, section 16.", default=None)

    @property
    def is_read(self) -> bool:
        """Whether the hazard statements were taken over, so that one that is not there is not on the sheet."""
        return bool(self.statements) or self.signal_word is SignalWord.NONE
