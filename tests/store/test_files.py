"""Writing a file as a whole: after any failure the old one is as it was and nothing is left beside it."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from estimator.going import Going, Stopped
from estimator.store import files
from estimator.store.backups import earlier_of, keep_earlier
from estimator.store.files import FileTrouble, read_whole, write_whole
from estimator.store.processes import this_process


def fail(*_: object, **__: object) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod", "fdopen"])
def test_a_failure_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    path = tmp_path / "a.baydrop"
    path.write_bytes(b"old")
    with monkeypatch.context() as broken:
        broken.setattr(os, step, fail)
        with pytest.raises(FileTrouble, match="unharmed"):
            write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.baydrop"]


def test_the_old_file_is_there_until_the_new_one_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.baydrop"
    path.write_bytes(b"old")
    seen: list[tuple[bytes, bytes]] = []
    rename = os.replace

    def watched(source: Path, target: Path) -> None:
        seen.append((Path(source).read_bytes(), Path(target).read_bytes()))
        rename(source, target)

    monkeypatch.setattr(os, "replace", watched)
    write_whole(path, b"new")
    assert seen == [(b"new", b"old")]
    assert path.read_bytes() == b"new"


@pytest.mark.skipif(os.name != "posix", reason="POSIX permissions and links")
def test_permissions_and_links_are_kept(tmp_path: Path) -> None:
    path, link = tmp_path / "real.baydrop", tmp_path / "link.baydrop"
    path.write_bytes(b"old")
    path.chmod(0o640)
    link.symlink_to(path)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert path.read_bytes() == b"new"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.skipif(os.name != "posix", reason="POSIX permissions")
def test_a_new_file_has_the_usual_permissions(tmp_path: Path) -> None:
    plain, written = tmp_path / "plain", tmp_path / "written"
    plain.write_bytes(b"")
    write_whole(written, b"")
    assert written.stat().st_mode == plain.stat().st_mode


def test_a_write_protected_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.baydrop"
    path.write_bytes(b"old")
    path.chmod(stat.S_IREAD)
    with pytest.raises(FileTrouble, match="write-protected"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"


def test_what_is_not_a_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="not a file"):
        write_whole(tmp_path, b"new")
    with pytest.raises(FileTrouble, match="not a file"):
        read_whole(tmp_path, 10)
    with pytest.raises(FileTrouble, match="There is no file “none”"):
        read_whole(tmp_path / "none", 10)
    with pytest.raises(FileTrouble, match="cannot be written"):
        write_whole(tmp_path / "no folder" / "a", b"new")
    with pytest.raises(FileTrouble, match="not allowed"):
        read_whole(tmp_path / "a\x00b", 10)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileTrouble, match="not a file"):
        read_whole(tmp_path / "pipe", 10)


def test_the_limit_is_the_last_size_that_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"x" * 1000)
    assert read_whole(path, 1000) == b"x" * 1000
    with pytest.raises(FileTrouble, match="larger than"):
        read_whole(path, 999)


def test_a_large_file_is_read_in_pieces_and_can_be_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It was one call, which a slow disk may take any time for."""
    monkeypatch.setattr(files, "_AT_ONCE", 100)
    path = tmp_path / "a"
    content = bytes(range(256)) * 4
    path.write_bytes(content)
    assert [read_whole(path, most) for most in (1024, 5000)] == [content] * 2
    with pytest.raises(FileTrouble, match="larger than"):
        read_whole(path, 1023)
    going = Going()
    going.leave()
    with pytest.raises(Stopped):
        read_whole(path, 5000, going)


def test_a_file_that_grows_while_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody appends whenever a piece was read: read up to the limit and no further, or told and not taken."""
    monkeypatch.setattr(files, "_AT_ONCE", 100)
    path = tmp_path / "log"

    class Appending(Going):
        def check(self) -> None:
            with path.open("ab") as file:
                file.write(b"x" * 300)

    path.write_bytes(b"x" * 300)
    with pytest.raises(FileTrouble, match="larger than"):
        read_whole(path, 2000, Appending())
    assert path.stat().st_size < 10_000

    class Once(Going):
        def check(self) -> None:
            if path.stat().st_size == 150:
                with path.open("ab") as file:
                    file.write(b"y" * 60)

    path.write_bytes(b"x" * 150)
    with pytest.raises(FileTrouble, match="being written by another program"):
        read_whole(path, 2000, Once())


def test_messages_hold_no_control_characters_and_end(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble) as caught:
        read_whole(tmp_path / ("n\n" * 100), 10)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 320


def test_what_a_dead_process_left_is_swept_by_whoever_writes_there_next(tmp_path: Path) -> None:
    """Beside a paper, where no job is opened, and among earlier versions; what a living process writes there stays."""
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        gone = process.pid
    key, job = this_process().machine_key, tmp_path / "jobs" / "a.baydrop"
    assert keep_earlier(job, b"first", 0.0) == ""
    (version,) = earlier_of(job)
    papers = tmp_path / "papers"
    papers.mkdir()
    left = [
        folder / f".{key}-{number}-{'0' * 16}.part"
        for folder in (papers, version.path.parent)
        for number in (gone, os.getpid())
    ]
    for part in left:
        part.write_bytes(b"half of it")
    write = "import sys; from estimator.store.files import write_whole; from pathlib import Path; "
    act = f"{write}write_whole(Path(sys.argv[1]), b'%PDF'); write_whole(Path(sys.argv[2]), b'x')"
    places = [str(papers / "a.pdf"), str(version.path.parent / "file.txt")]
    subprocess.run([sys.executable, "-c", act, *places], check=True)
    assert [part.exists() for part in left] == [False, True, False, True]
