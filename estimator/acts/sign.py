"""Signing for what must never go out, and taking a signature back: acts on the whole job that can be undone."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from pydantic import ValidationError

from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.problems import problems_of
from estimator.model.signed import MOST_SIGNED, SignOff
from estimator.model.signing import Signatures

__all__ = ["SignError", "sign_for", "without_signs"]


class SignError(ValueError):
    """It cannot be signed for; the message says why and what would be right."""


def sign_for(job: Job, findings: Iterable[Finding], name: str, reason: str, on: date) -> Job:
    """The job with a signature for each of some findings.

    Args:
        job: the whole job.
        findings: what must never go out, each in the design that it names.
        name: who signs.
        reason: why it may go out as it is.
        on: the day.

    Raises:
        SignError: there is no name, no reason, nothing to sign for, or a finding that is not of the hardest grade.
    """
    made: list[SignOff] = []
    signatures = Signatures(job)
    for finding in findings:
        if finding.grade is not Grade.NEVER:
            raise SignError("Only what must never go out is signed for; this finding keeps nothing back.")
        about = signatures.about(finding)
        try:
            sign = SignOff(
                rule=about.rule,
                objects=about.objects,
                seal=about.seal,
                name=name.strip(),
                reason=reason.strip(),
                dated=on,
            )
        except ValidationError as error:
            raise SignError(" ".join(f.message for f in problems_of(error, SignOff))) from None
        if sign.seal not in {other.seal for other in made}:
            made.append(sign)
    if not made:
        raise SignError("There is nothing to sign for.")
    new = {sign.seal for sign in made}
    signed = (*(sign for sign in job.signed if sign.seal not in new), *made)
    if len(signed) > MOST_SIGNED:
        raise SignError(
            f"A job holds at most {MOST_SIGNED} signatures; take back those that are of no use any more."
        )
    return with_value(job, ("signed",), signed)


def without_signs(job: Job, signs: Iterable[SignOff]) -> Job:
    """The job without some signatures."""
    gone = tuple(signs)
    return with_value(job, ("signed",), tuple(sign for sign in job.signed if sign not in gone))
