"""Gannet Quay from nothing to revision B by the command line alone."""

from __future__ import annotations

from pathlib import Path

from estimator.cli import main

__all__ = ["FIRST", "SECOND", "designed", "revised"]

EDITS = Path(__file__).with_name("gannet_quay.json")

FIRST, SECOND = "2027-03-01", "2027-03-08"
"""Days of the two revisions."""


def run(*arguments: object) -> None:
    """One command that must go well, with the person's own price book."""
    assert main([str(a) for a in arguments]) == 0, arguments


def designed(folder: Path) -> Path:
    """The job as the shipped example is."""
    job = folder / "gannet-quay.baydrop"
    inputs = ("--bays", 3, "--drops-per-side", 2, "--floor-width", "24 m", "--floor-depth", "14 m")
    run("build", job, *inputs, "--date", FIRST)
    run("edit", job, "--from", EDITS, "--date", FIRST)
    return job


def revised(folder: Path) -> Path:
    """With an option on the quote, issued twice with three changes between."""
    job = designed(folder)
    run("option", "alternate", job, "product-less", "--date", FIRST)
    run("option", "offer", job, "option-1", "--date", FIRST)
    run("issue", job, "--reason", "First offer", "--pdf", folder / "a.pdf", "--date", FIRST)
    run(
        "edit",
        job,
        *("--set", "terms.discount_percent=8", "--set", "customer.contact=Front desk"),
        *("--set", "design.drops.3-l-glass.hose_length=7 m"),
        *("--date", SECOND),
    )
    run("issue", job, "--reason", "After the visit", "--pdf", folder / "b.pdf", "--date", SECOND)
    return job
