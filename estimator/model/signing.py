"""Which findings somebody signed for, and which still keep a quote and a revision back."""

from __future__ import annotations

from collections.abc import Iterable

from estimator.model.finding import Finding
from estimator.model.grades import Grade
from estimator.model.option_designs import design_of, option_ids
from estimator.model.signed import Naming, Signable, SignOff, signable
from estimator.model.snapshot import Snapshot

__all__ = ["Signatures", "blocking"]


class Signatures:
    """The signatures of a job against what is found in it.

    The same finding in another design of the job is signed for with it. A signature for what is not found any more, or
    is another by now, holds for nothing.

    Args:
        job: the whole job.
    """

    def __init__(self, job: Snapshot) -> None:
        self._job = job
        self._signs = {(sign.rule, sign.objects, sign.seal): sign for sign in job.signed}
        self._names: dict[str, Naming] = {}

    def about(self, finding: Finding) -> Signable:
        """What a signature for a finding is about.

        Args:
            finding: in the design that it names.
        """
        option = finding.option
        names = self._names.get(option)
        if names is None:
            known = option in option_ids(self._job)
            names = self._names[option] = Naming(design_of(self._job, option) if known else self._job.design)
        return signable(finding, names)

    def of(self, finding: Finding) -> SignOff | None:
        """The signature for a finding, None where there is none; only what must never go out is signed for."""
        if finding.grade is not Grade.NEVER or not self._signs:
            return None
        about = self.about(finding)
        return self._signs.get((about.rule, about.objects, about.seal))

    def blocks(self, finding: Finding) -> bool:
        """Whether a finding keeps a quote and a revision back: it must never go out, and nobody signed for it."""
        return finding.grade is Grade.NEVER and self.of(finding) is None

    def stale(self, findings: Iterable[Finding]) -> tuple[SignOff, ...]:
        """Signatures that hold for none of these findings."""
        held = [sign for f in findings if (sign := self.of(f)) is not None]
        return tuple(sign for sign in self._job.signed if sign not in held)


def blocking(job: Snapshot, findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """What keeps a quote and a revision back.

    Args:
        job: the whole job, with its signatures.
        findings: of all its designs that can be signed.
    """
    signatures = Signatures(job)
    return tuple(f for f in findings if signatures.blocks(f))
