"""What the survey says of the water, in words: each reading with where it comes from."""

from __future__ import annotations

from estimator.model.site import WaterSupply
from estimator.shown.figures import Figures

__all__ = ["water_words"]


def water_words(water: WaterSupply, figures: Figures) -> str:
    """Pressures, flow, temperatures and hardness in one line, without a full stop.

    Args:
        water: of the survey.
        figures: the job's units and language.
    """
    typed = figures.typed
    said = [f"{typed(water.pressure)} while {typed(water.flow)} flows ({water.test_reading.value})"]
    static = [
        f"{typed(pressure)} {when}"
        for pressure, when in (
            (water.static_pressure, "with nothing running"),
            (water.low_static, "at the lowest of the day"),
            (water.high_static, "at the highest of the day"),
        )
        if pressure is not None
    ]
    if static:
        said.insert(0, f"{', '.join(static)} ({water.static_reading.value})")
    warm = [
        f"{typed(temperature)}{when}"
        for temperature, when in (
            (water.temperature, ""),
            (water.winter, " in winter"),
            (water.summer, " in summer"),
        )
        if temperature is not None
    ]
    said.append(f"{', '.join(warm)} ({water.temperature_reading.value})")
    if water.hardness is not None:
        hard = figures.number(water.hardness, 0)
        said.append(f"hardness {hard}\u00a0mg/L as calcium carbonate ({water.hardness_reading.value})")
    if water.rise is not None:
        said.append(f"board {typed(water.rise)} above the tie-in")
    return "; ".join(said)
