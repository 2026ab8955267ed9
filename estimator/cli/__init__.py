"""The second front end: everything a person can do to a job, without a window or a display."""

from estimator.cli.program import main

__all__ = ["main"]
