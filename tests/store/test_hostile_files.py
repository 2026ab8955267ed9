"""A small sample of what `tests/benchmarks/hostile_files.py` opens: an answer or a sentence, never a traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.hostile_files import KINDS, content_of, open_one


@pytest.mark.parametrize(("kind", "number"), [("jobs", 12), ("books", 12), ("workbooks", 6)])
def test_a_hostile_file_is_opened_or_told(tmp_path: Path, kind: str, number: int) -> None:
    told = 0
    for i in range(number):
        path = tmp_path / f"file{KINDS[kind][0]}"
        path.write_bytes(content_of(kind, i, seed=1))
        outcome = open_one(kind, i, path)
        assert outcome.traceback == "", f"{kind}:{i}"
        told += outcome.told != ""
    assert told, "files that are all in order are no sample"


@pytest.mark.parametrize("kind", KINDS)
def test_a_hostile_file_can_be_made_again(kind: str) -> None:
    assert content_of(kind, 3, seed=1) == content_of(kind, 3, seed=1) != content_of(kind, 3, seed=2)
