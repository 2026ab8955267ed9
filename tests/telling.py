"""A finding made of a sentence and its facts, for tests of how it is told."""

from __future__ import annotations

from estimator.model.finding import Fact, Finding, Severity, facts

__all__ = ["saying"]


def saying(sentence: str, **named: Fact) -> Finding:
    """A finding that says just this."""
    return Finding(Severity.ERROR, "site", "test", sentence, facts=facts(**named))
