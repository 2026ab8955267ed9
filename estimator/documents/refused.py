"""Why a paper cannot be drawn."""

from __future__ import annotations

from estimator.model.finding import Finding

__all__ = ["QuoteError"]


class QuoteError(Exception):
    """The paper cannot be drawn as it is.

    Attributes:
        findings: why, each naming its field.
    """

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(finding.message for finding in findings))
        self.findings = findings
