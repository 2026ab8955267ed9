"""Findings about harm to people and parts, as far as the job tells.

Each rule is one small function from what it needs to its findings; `safety_findings` runs them all. What is a
fact of another's trade or of a local code is deferred to them in the finding. No finding is a promise that
there is no hazard.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

from estimator.model.design import Design
from estimator.model.finding import Finding
from estimator.model.site import Site
from estimator.reference.resolved import Resolved
from estimator.safety import (
    codes,
    country,
    drains,
    hall,
    mixing,
    service,
    sheets,
    spray,
    training,
    tray,
    washing,
    water_protection,
    wetted,
)
from estimator.safety.scene import Rule, Scene

__all__ = ["SafetyChecks", "safety_findings"]

_RULES: Final[tuple[Rule, ...]] = (
    sheets.classes_missing,
    sheets.contradictions,
    mixing.mixing,
    mixing.open_questions,
    mixing.fluoride,
    washing.eyewash,
    washing.eyewash_way,
    washing.shower,
    wetted.wetted_parts,
    codes.tank_covers,
    tray.containment,
    drains.drain,
    codes.blow_off,
    spray.foam_and_mist,
    spray.vented_caps,
    service.lockout,
    service.trapped_pressure,
    service.labels,
    training.programme,
    service.heights,
    hall.winter,
    codes.water_temperature,
    sheets.label_ranges,
    water_protection.backflow,
    water_protection.air_gap,
    water_protection.yearly_test,
    sheets.sheets_incomplete,
    country.country,
)


_OF_DESIGN: Final = frozenset({wetted.wetted_parts})
"""Rules that look at neither site nor day, and take long enough to be kept."""


class SafetyChecks:
    """The safety findings of a design; what rules of the design alone say is kept until design or parts change."""

    def __init__(self) -> None:
        self._design: Design | None = None
        self._known: Resolved | None = None
        self._kept: dict[Rule, tuple[Finding, ...]] = {}

    def __call__(self, site: Site, design: Design, known: Resolved, on: date) -> tuple[Finding, ...]:
        """See :func:`safety_findings`."""
        if self._design is not design or self._known is not known:
            self._design, self._known, self._kept = design, known, {}
        scene = Scene(site, design, known, on)
        return tuple(finding for rule in _RULES for finding in self._of(rule, scene))

    def _of(self, rule: Rule, scene: Scene) -> Iterable[Finding]:
        if rule not in _OF_DESIGN:
            return rule(scene)
        if rule not in self._kept:
            self._kept[rule] = tuple(rule(scene))
        return self._kept[rule]


def safety_findings(site: Site, design: Design, known: Resolved, on: date) -> tuple[Finding, ...]:
    """All safety findings of a design.

    Args:
        site: the survey.
        design: the design.
        known: its parts, looked up; a key that the catalogue lacks is told there.
        on: the day that the age of safety data sheets is counted to.

    Returns:
        Findings, each with rule, source and who decides; in the order of the rules.
    """
    return SafetyChecks()(site, design, known, on)
