"""Which tube each segment of a line has."""

from __future__ import annotations

from estimator.layout.types import LineLayout
from estimator.model.design import Design, LinePlan

__all__ = ["line_plan", "segment_tubes"]


def line_plan(design: Design, line_id: str) -> LinePlan:
    """What was decided about a line; the defaults where nothing was."""
    return next((plan for plan in design.lines if plan.service == line_id), None) or LinePlan(service=line_id)


def segment_tubes(design: Design, line: LineLayout) -> dict[str, str]:
    """Segment id -> catalogue key of its tube, in the order of the line's segments."""
    plan = line_plan(design, line.id)
    chosen: dict[str, str] = {}
    for own in plan.segment_tubes:
        chosen.setdefault(own.segment, own.tube)
    return {segment.id: chosen.get(segment.id, plan.tube) for segment in line.segments}
