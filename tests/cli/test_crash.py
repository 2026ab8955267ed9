"""Issuing with the program killed at every call that changes the disk: revision and paper both exist, or neither."""

from __future__ import annotations

import os
import shutil
import sys
from datetime import date

import pytest

from estimator.documents.quote import write_revision
from estimator.model.issued import Issued, kept_paper
from estimator.model.revisions import issue_findings
from estimator.store.jobs import load_job
from estimator.store.pricebooks import load_price_book
from estimator.study import Study, study
from tests.cli.hands import Terminal
from tests.killing import KILLED, killed_at


def swept(terminal: Terminal, before: bytes) -> None:
    """The job as it was, and nothing else but the price book: no earlier version, lock or paper of another run."""
    for path in terminal.folder.iterdir():
        if path.is_dir():
            shutil.rmtree(path)
        elif path != terminal.book:
            path.unlink()
    terminal.job.write_bytes(before)


@pytest.mark.skipif(sys.platform == "win32", reason="a process is copied as it stands")
def test_a_kill_at_any_call_leaves_revision_and_paper_or_neither(
    named: Terminal, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The copy beside the job is there whole or not at all, and only of a revision that the job holds."""
    before = named.job.read_bytes()
    copy, reached = named.folder / "a.pdf", tmp_path_factory.mktemp("count") / "reached"
    issuing = ("issue", "JOB", "--reason", "First", "--anyway", "--pdf", copy, "--date", "2027-03-01")
    # Study and paper are the same every time; only what reaches the disk is of interest.
    made = study(load_job(named.job), load_price_book(named.book), date(2027, 3, 1))
    papers: dict[str, bytes] = {}

    def drawn(of: Study, issued: Issued) -> bytes:
        if issued.fingerprint not in papers:
            papers[issued.fingerprint] = write_revision(of, issued)
        return papers[issued.fingerprint]

    monkeypatch.setattr("estimator.cli.issuing.study", lambda *_: made)
    monkeypatch.setattr("estimator.documents.quote.write_revision", drawn)
    named.good(*issuing)
    outcomes: list[tuple[bool, bool]] = []
    while not reached.exists():
        number = len(outcomes) + 1
        assert number < 200
        swept(named, before)
        child = os.fork()
        if not child:
            killed_at(number, lambda: named.run(*issuing), reached)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        assert code == (0 if reached.exists() else KILLED)
        whole = load_job(named.job)
        assert not issue_findings(whole)
        outcomes.append((bool(whole.issued), copy.exists()))
        if whole.issued:
            pdf = kept_paper(whole.issued[0])
            assert pdf.startswith(b"%PDF") and pdf.rstrip().endswith(b"%%EOF")
            if copy.exists():
                assert copy.read_bytes() == pdf
        else:
            assert named.job.read_bytes() == before and not copy.exists()
            # What the kill left behind, a lock too, is in nobody's way.
            named.good(*issuing)
            assert [r.letter for r in named.whole.issued] == ["A"]
    # Killed before the job was saved, between job and copy, and not at all; each was met.
    assert set(outcomes) == {(False, False), (True, False), (True, True)}
    assert int(reached.read_text(encoding="ascii")) == len(outcomes) - 1 >= 8
    # What was lost is the copy alone: it is made again from the job.
    copy.unlink()
    named.good("quote", "JOB", "--revision", "A", "--pdf", copy)
    assert copy.read_bytes() == kept_paper(load_job(named.job).issued[0])
