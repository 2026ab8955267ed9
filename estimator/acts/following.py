"""An edit of the base design that an option cannot follow, told by the option's name and with what would be right."""

from __future__ import annotations

from collections.abc import Sequence

from estimator.model.design import Design
from estimator.model.edit import EditError
from estimator.model.finding import Finding, Severity
from estimator.model.option_changes import applied
from estimator.model.options import Alternative

__all__ = ["cannot_follow"]


def cannot_follow(
    error: EditError, base: Design, alternatives: Sequence[Alternative], *, only_here: bool = False
) -> EditError:
    """The error of an edit with what options refuse in their own words; anything else as it was.

    Args:
        error: of the job with the edited base design and these alternatives.
        base: the base design after the edit, right as a design of its own.
        alternatives: as they would stand beside it.
        only_here: the edit was made in an option, where it could stay.
    """
    advice = f"Change that option first{', or make this edit only here' if only_here else ''}."

    def told(i: int, place: str, rule: str, sentence: str) -> Finding:
        name = alternatives[i].name.strip() or alternatives[i].id
        words = f"Option “{name}” cannot follow: {sentence} {advice}"
        return Finding(Severity.ERROR, place, rule, words)

    found = [
        told(i, f"alternatives.{i}.changes.{one.position}", f"option_{one.rule}", one.sentence)
        for i, alternative in enumerate(alternatives)
        for one in applied(base, alternative).wrong
    ]
    if not found:
        # The changes apply, and what comes of them does not hold together.
        for finding in error.findings:
            head, _, rest = finding.place.partition(".")
            number = rest.partition(".")[0]
            of_option = head == "alternatives" and number.isdigit() and int(number) < len(alternatives)
            found.append(
                told(int(number), finding.place, finding.rule, finding.message) if of_option else finding
            )
    return EditError(tuple(found))
