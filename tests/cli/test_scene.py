"""The first example job from nothing to revision B, without a window."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.cli import main
from estimator.store.jobs import job_text, load_job
from tests.cli.gannet_quay import FIRST, designed, revised

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"


@pytest.fixture(autouse=True)
def _own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))


def test_gannet_quay_from_nothing_is_the_shipped_file(tmp_path: Path) -> None:
    assert designed(tmp_path).read_text(encoding="utf-8") == job_text(load_job(EXAMPLE))


def test_gannet_quay_from_nothing_to_revision_b(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two papers stand beside the job; the job still prints the first as it was; a second run makes the same bytes."""
    job = revised(tmp_path)
    whole = load_job(job)
    assert [issued.letter for issued in whole.issued] == ["A", "B"]
    again = tmp_path / "again.pdf"
    assert main(["quote", str(job), "--pdf", str(again), "--revision", "A"]) == 0
    assert again.read_bytes() == (tmp_path / "a.pdf").read_bytes() != (tmp_path / "b.pdf").read_bytes()
    assert main(["check", str(job), "--date", FIRST]) == 0
    other = tmp_path / "other"
    other.mkdir()
    assert revised(other).read_bytes() == job.read_bytes()
    assert (other / "b.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()
