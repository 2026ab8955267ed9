"""Recovery copies: there after a crash, gone when discarded, never outside their folder."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from estimator.model.job import Job
from estimator.model.party import Party, QuoteInfo
from estimator.store import autosave
from estimator.store.autosave import AutosaveError, CopyChanged, RecoveryCopy

NOON = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)


def test_written_listed_read_discarded(tmp_path: Path) -> None:
    assert autosave.copies() == ((), ())
    job = Job(quote=QuoteInfo(title="Three bays, Ж"), customer=Party(name="Somebody"))
    original = tmp_path / "a.baydrop"
    east = timezone(timedelta(hours=5))
    other = Job(customer=Party(name="Somebody"))
    marks = {
        "one": autosave.write("one", job, original, NOON),
        "two": autosave.write("two", other, None, datetime(2026, 11, 1, 18, 0, tzinfo=east)),
    }
    assert autosave.copies() == (
        (
            RecoveryCopy("two", None, NOON + timedelta(hours=1), "Somebody", mark=marks["two"]),
            RecoveryCopy("one", original, NOON, "Three bays, Ж", mark=marks["one"]),
        ),
        (),
    )
    assert autosave.read("one") == job
    autosave.discard("one", marks["one"])
    autosave.discard("one", marks["one"])
    assert [c.job_id for c in autosave.copies()[0]] == ["two"]
    with pytest.raises(AutosaveError, match="There is no file"):
        autosave.read("one")


def test_a_later_copy_takes_the_place_of_the_first() -> None:
    mark = autosave.write("one", Job(), None, NOON)
    later = Job(quote=QuoteInfo(title="later"))
    autosave.write("one", later, None, mark=mark)
    (copy,), _ = autosave.copies()
    assert copy.written > NOON - timedelta(days=3650)
    assert autosave.read("one") == later


def test_a_copy_that_somebody_else_changed_is_neither_written_over_nor_removed() -> None:
    mark = autosave.write("one", Job(), None, NOON)
    path = autosave.path_of("one")
    theirs = path.read_bytes().replace(b'"title": ""', b'"title": "theirs"')
    path.write_bytes(theirs)
    for known in (mark, None):
        with pytest.raises(CopyChanged, match="changed by somebody else"):
            autosave.write("one", Job(), None, mark=known)
    autosave.discard("one", mark)
    assert path.read_bytes() == theirs
    (copy,), _ = autosave.copies()
    autosave.discard("one", copy.mark)
    assert not path.exists()


@pytest.mark.parametrize("job_id", ["", "../a", "a/b", "a.b", "a\n", "é", "x" * 65, "C:"])
def test_an_id_cannot_lead_out_of_the_folder(job_id: str) -> None:
    for act in (lambda: autosave.write(job_id, Job(), None), lambda: autosave.read(job_id)):
        with pytest.raises(ValueError, match="job id"):
            act()
    with pytest.raises(ValueError, match="job id"):
        autosave.discard(job_id, "")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b"\xff",
        b"[" * 200_000,
        b'{"job": 1}',
        b'{"job": {}, "written": 5, "original": null}',
        b'{"job": {}, "written": "soon", "original": null}',
        b'{"job": {}, "written": "2026-11-01T12:00:00+00:00", "original": 7}',
        b'{"job": {}, "original": null}',
    ],
)
def test_a_broken_copy_is_told_and_left(home: Path, content: bytes) -> None:
    autosave.write("good", Job(), None, NOON)
    broken = autosave.folder() / "bad.recovery"
    broken.write_bytes(content)
    found, (finding,) = autosave.copies()
    assert [c.job_id for c in found] == ["good"]
    assert "bad.recovery" in finding.message
    assert broken.read_bytes() == content
    with pytest.raises(AutosaveError):
        autosave.read("bad")


def test_a_folder_that_cannot_be_looked_into_is_told(home: Path) -> None:
    """What may lie there is not taken for nothing."""
    home.mkdir(parents=True)
    autosave.folder().write_text("a file stands here", encoding="utf-8")
    found, (finding,) = autosave.copies()
    assert found == ()
    assert "unsaved work" in finding.message and "Not a directory" in finding.message


def test_a_copy_that_cannot_be_written_is_told(home: Path) -> None:
    home.parent.mkdir(parents=True)
    home.write_text("a file stands here", encoding="utf-8")
    with pytest.raises(AutosaveError, match="not written"):
        autosave.write("one", Job(), None, NOON)
    assert [f.rule for f in autosave.copies()[1]] == ["recovery-unseen"]


assert autosave.copies() == ((), ())


def test_a_copy_that_could_not_be_read_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """A job larger than a file may be got a copy, and no copy could be opened after a crash."""
    autosave.write("a", Job(), None)
    size = autosave.path_of("a").stat().st_size
    autosave.path_of("a").unlink()
    monkeypatch.setattr(autosave, "_MOST_BYTES", size - 1)
    with pytest.raises(AutosaveError, match="could not be read again"):
        autosave.write("a", Job(), None)
    assert not autosave.path_of("a").exists()
