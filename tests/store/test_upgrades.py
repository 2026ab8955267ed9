"""Files of older formats: kept samples open, and what they say is what they said."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path

import pytest

from estimator.model.job import FORMAT
from estimator.model.upgrades import upgraded
from estimator.store.jobs import load_job

SAMPLES = sorted((Path(__file__).parent / "format_1").glob("*.baydrop"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_a_file_of_format_1_opens(path: Path) -> None:
    job = load_job(path)
    assert job.format == FORMAT
    old = json.loads(path.read_text(encoding="utf-8"))
    assert [d.id for d in job.design.drops] == [d["id"] for d in old["design"]["drops"]]
    assert str(job.design.drops[0].hose_length) == old["design"]["drops"][0]["hose_length"]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_what_was_read_is_left_as_it_was(path: Path) -> None:
    data = json.loads(path.read_text(encoding="utf-8"))
    before = deepcopy(data)
    assert upgraded(data)["format"] == FORMAT
    assert data == before
