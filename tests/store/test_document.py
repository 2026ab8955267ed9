"""A job's file from opening to closing: names, locks, what somebody else put there, earlier versions, limits."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.party import Party
from estimator.store import backups, document, jobs
from estimator.store.document import NOT_KNOWN, ChangedOutside, JobFile, named
from estimator.store.files import FileTrouble, read_whole, sweep, write_whole
from estimator.store.jobs import JobFileError, job_from_text, job_text, load_job, save_job
from estimator.store.lock import Locked, holder_of, lock_path, sweep_locks, take_lock
from estimator.store.processes import Process, this_process
from tests.ordinary import ordinary


def job_of(name: str) -> Job:
    return Job(customer=Party(name=name))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    folder = tmp_path / "jobs"
    folder.mkdir()
    path = folder / "quay.baydrop"
    save_job(path, job_of("first"))
    return path


def gone() -> int:
    """The id of a process that has ended."""
    with subprocess.Popen([sys.executable, "-c", ""]) as process:
        return process.pid


def lock_of(path: Path, machine: str, number: int) -> None:
    content = {
        "user": "ann",
        "machine": machine,
        "process": number,
        "began": "",
        "since": "2026-11-25T08:30:00+00:00",
        "token": "t",
    }
    lock_path(path).write_text(json.dumps(content), encoding="utf-8")


class TestNames:
    def test_the_ending_is_added_to_whatever_was_typed(self) -> None:
        """A dot in the name is no ending of ours."""
        assert named(Path("a/quay v1.2")) == Path("a/quay v1.2.baydrop")
        assert named(Path("a/quay.pdf")) == Path("a/quay.pdf.baydrop")
        assert named(Path("quote.PDF"), ".pdf") == Path("quote.PDF")

    @pytest.mark.parametrize(
        ("content", "kind"),
        [
            (b"%PDF-1.7", "a PDF"),
            (b"PK\x03\x04", "a workbook"),
            (b"\xff\xd8\xff\xe0 a photo", "another program"),
            (b"currency,USD\n", "a price book"),
            (b'{"format": 1, "program": "x"}', "data in JSON"),
        ],
    )
    def test_a_file_of_another_kind_is_never_written_over(
        self, tmp_path: Path, content: bytes, kind: str
    ) -> None:
        path = tmp_path / "taken.baydrop"
        path.write_bytes(content)
        with pytest.raises(JobFileError, match=kind):
            JobFile.to_be(path)
        with pytest.raises(JobFileError, match=kind):
            save_job(path, Job())
        assert path.read_bytes() == content

    def test_a_job_written_by_hand_in_another_order_is_a_job(self, path: Path) -> None:
        """The first key is not the format there; it is opened, so it is saved."""
        data = json.loads(path.read_text(encoding="utf-8"))
        path.write_text(json.dumps(dict(reversed(data.items()))), encoding="utf-8")
        file, job = JobFile.read(path)
        file.save(with_value(job, ("customer", "name"), "second"))
        assert load_job(path).customer.name == "second"
        assert JobFile.to_be(path).mark == file.mark


class TestChangedOutside:
    def test_what_somebody_else_saved_is_not_written_over(self, path: Path) -> None:
        mine, job = JobFile.read(path)
        theirs, _ = JobFile.read(path)
        theirs.save(job_of("theirs"))
        with pytest.raises(ChangedOutside, match="another job") as caught:
            mine.save(with_value(job, ("customer", "name"), "mine"))
        assert caught.value.theirs == job_of("theirs") == load_job(path)
        assert mine.is_changed_outside()
        assert not theirs.is_changed_outside()

    def test_a_file_that_was_damaged_meanwhile_is_not_written_over(self, path: Path) -> None:
        mine, job = JobFile.read(path)
        path.write_bytes(b"{")
        with pytest.raises(ChangedOutside, match="no job") as caught:
            mine.save(job)
        assert caught.value.theirs is None
        assert path.read_bytes() == b"{"

    def test_a_file_of_which_nothing_is_known_is_asked_about(self, path: Path) -> None:
        with pytest.raises(ChangedOutside):
            JobFile(path, NOT_KNOWN).save(job_of("mine"))

    def test_a_file_that_was_moved_away_is_written_again(self, path: Path) -> None:
        file, job = JobFile.read(path)
        path.unlink()
        assert not file.is_changed_outside()
        file.save(job)
        assert load_job(path) == job

    def test_a_folder_that_went_away_is_told(self, path: Path) -> None:
        """As a network drive does."""
        file, job = JobFile.read(path)
        path.parent.rename(path.parent.with_name("gone"))
        with pytest.raises(JobFileError, match="cannot be written"):
            file.save(job)


class TestLocks:
    def test_a_second_window_is_told_who_has_it(self, path: Path) -> None:
        first, job = JobFile.read(path)
        first.take()
        second, _ = JobFile.read(path)
        with pytest.raises(Locked, match=rf"on this computer \(process {os.getpid()}\) since \w+ \d+, 20"):
            second.take()
        with pytest.raises(Locked):
            second.save(job)
        assert first.held_by() is None
        first.close()
        assert second.held_by() is None
        second.take()
        assert second.save(job_of("second")) == ""
        second.close()
        assert [p.name for p in path.parent.iterdir()] == [path.name]

    def test_the_lock_of_a_process_that_is_gone_counts_for_nothing(self, path: Path) -> None:
        lock_of(path, this_process().machine, gone())
        file, job = JobFile.read(path)
        assert file.held_by() is None
        file.take()
        file.save(job)
        file.close()

    def test_the_id_of_a_process_that_is_gone_may_be_given_out_again(self) -> None:
        """Only where the system tells when a process began can the two be told apart."""
        me = this_process()
        assert me.is_there()
        if me.began:
            assert not Process(me.machine, me.number, "0").is_there()

    def test_a_lock_of_another_machine_can_be_taken_over(self, path: Path) -> None:
        """Whether its process is gone cannot be seen; whoever had it is told at its next save."""
        lock_of(path, "the-other-one", 4711)
        file, job = JobFile.read(path)
        with pytest.raises(
            Locked, match=r"by ann on “the-other-one” \(process 4711\) since November 25, 2026"
        ):
            file.take()
        file.take(over=True)
        file.save(job)
        third, _ = JobFile.read(path)
        third.take(over=True)
        with pytest.raises(Locked):
            file.save(job)
        file.close()
        assert third.lock is not None
        assert third.lock.is_held, "closing the first does not take the third one's lock away"
        third.close()

    @pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"user": 1}', b"\xff", b"[" * 9000])
    def test_a_damaged_lock_is_somebody(self, path: Path, content: bytes) -> None:
        lock_path(path).write_bytes(content)
        file, _ = JobFile.read(path)
        with pytest.raises(Locked, match="a program that left no name"):
            file.take()
        file.take(over=True)
        file.close()
        assert holder_of(path) is None

    @pytest.mark.parametrize("call", ["lstat", "unlink"])
    def test_a_disk_that_fails_as_a_lock_is_let_go_of_locks_nobody_out(
        self, path: Path, monkeypatch: pytest.MonkeyPatch, call: str
    ) -> None:
        """The lock that could not be looked at, or not be removed, is this very process's own."""
        for writing in (False, True):
            lock = take_lock(path, writing=writing)
            assert lock is not None
            with monkeypatch.context() as broken:
                broken.setattr(os, call, fail)
                lock.release()
            again = take_lock(path, writing=writing)
            assert again is not None
            again.release()
        assert [p.name for p in path.parent.iterdir()] == [path.name]

    def test_only_what_dead_processes_left_is_swept(self, path: Path) -> None:
        folder, here = path.parent, this_process()
        dead, alive, far = (
            folder / f".{key}-{number}-{'0' * 16}.part"
            for key, number in (
                (here.machine_key, gone()),
                (here.machine_key, os.getpid()),
                ("0" * 12, gone()),
            )
        )
        old = folder / f".{'1' * 16}.part"
        for part in (dead, alive, far, old):
            part.write_bytes(b"x")
        os.utime(old, (0, 0))
        assert sweep(folder) == 2
        assert not dead.exists()
        assert not old.exists()
        assert alive.exists()
        assert far.exists()
        lock_of(folder / "a", here.machine, gone())
        lock_of(folder / "b", "the-other-one", 1)
        lock = take_lock(folder / "c")
        broken, older = lock_path(folder / "d"), lock_path(folder / "e")
        others = folder / "packages.lock"
        for path in (broken, older, others):
            path.write_bytes(b"[[")
        for path in (older, others):
            os.utime(path, (0, 0))
        assert sweep_locks(folder) == 2
        assert lock is not None
        assert lock.is_held
        # One that is being written at this moment, and a file of another program, stay.
        assert (broken.exists(), older.exists(), others.exists()) == (True, False, True)

    def test_a_file_in_a_folder_that_is_not_there_has_no_lock(self, tmp_path: Path) -> None:
        assert take_lock(tmp_path / "none" / "a.baydrop") is None
        assert holder_of(tmp_path / "a\0b") is None


class TestEarlierVersions:
    def test_the_last_five_are_kept_outside_the_jobs_folder(self, path: Path, home: Path) -> None:
        file, _ = JobFile.read(path)
        for i in range(8):
            assert file.save(job_of(f"version {i}")) == ""
        kept = backups.earlier_of(path)
        assert [backups.read_earlier(v).customer.name for v in kept] == [
            f"version {i}" for i in (6, 5, 4, 3, 2)
        ]
        assert all(home in v.path.parents and v.of == path for v in kept)
        assert [p.name for p in path.parent.iterdir()] == [path.name]
        path.unlink()
        assert backups.earlier_of_all() == kept[:1]

    def test_saving_the_same_twice_keeps_nothing_more(self, path: Path) -> None:
        file, job = JobFile.read(path)
        file.save(job)
        file.save(job)
        assert backups.earlier_of(path) == ()

    def test_a_version_that_cannot_be_kept_does_not_stop_the_save(self, path: Path, home: Path) -> None:
        home.parent.mkdir(parents=True)
        home.write_text("a file stands here", encoding="utf-8")
        file, _ = JobFile.read(path)
        assert "not kept" in file.save(job_of("second"))
        assert load_job(path).customer.name == "second"


class TestLineage:
    def test_a_save_checks_no_job_but_the_one_that_it_writes(
        self, path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What was on the disk was read and validated anew with each save, for its revisions."""
        file, _ = JobFile.read(path)
        read: list[str] = []
        real = jobs.job_from_bytes

        def counted(content: bytes, name: str) -> Job:
            read.append(name)
            return real(content, name)

        monkeypatch.setattr(document, "job_from_bytes", counted)
        file.save(job_of("second"))
        file.save(job_of("third"))
        assert read == []

    def test_what_another_put_there_is_still_compared(self, path: Path) -> None:
        file, _ = JobFile.read(path)
        save_job(path, job_of("theirs"))
        with pytest.raises(ChangedOutside):
            file.save(job_of("mine"))


class TestLimits:
    def test_what_is_saved_can_be_opened(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """The limit of saving is that of loading, to the byte; near it there is a warning."""
        size = len(job_text(Job()).encode("utf-8"))
        path = tmp_path / "a.baydrop"
        for most, saved in ((size - 1, False), (size, True), (2 * size, True)):
            monkeypatch.setattr(jobs, "MOST_BYTES", most)
            if saved:
                note = JobFile(path, None).save(Job())
                assert ("begin a new quote" in note) == (most == size)
                assert load_job(path) == Job()
                path.unlink()
            else:
                with pytest.raises(JobFileError, match="could not be opened again"):
                    JobFile(path, None).save(Job())
                assert not path.exists()

    def test_millions_of_empty_lists_are_refused_unread(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """The count is of what stands outside of texts; brackets in a note are no structure."""
        monkeypatch.setattr(json, "loads", lambda *_, **__: pytest.fail("it was read"))
        with pytest.raises(JobFileError, match="groups and lists"):
            job_from_text('{"format": 2, "a": [' + "[]," * 600_000 + "[]]}", "a")
        with pytest.raises(JobFileError, match="groups and lists"):
            job_from_text('{"format": 2, "a": [' + "0," * 5_000_000 + "0]}", "a")

    def test_brackets_in_texts_are_no_structure(self, monkeypatch: pytest.MonkeyPatch) -> None:
        plain = job_text(Job())
        monkeypatch.setattr(jobs, "_MOST_PARTS", plain.count("[") + plain.count("{"))
        job = job_of('[["{,' * 15)
        assert job_from_text(job_text(job), "a") == job


def fail(*_: Any, **__: Any) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def failing_at(call: int, real: Callable[..., Any], counter: list[int]) -> Callable[..., Any]:
    def maybe(*arguments: Any, **named_ones: Any) -> Any:
        counter[0] += 1
        if counter[0] == call:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*arguments, **named_ones)

    return maybe


@pytest.mark.parametrize("step", ["open", "fdopen", "fsync", "chmod", "replace", "link", "mkdir"])
def test_a_disk_that_is_full_at_any_call_loses_nothing(
    path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    """Each call of each kind in turn fails once: the file is the old or the new job, whole, and can be saved again."""
    for call in range(1, 60):
        before = load_job(path)
        file, _ = JobFile.read(path)
        new = job_of(f"{step} {call}")
        counter = [0]
        with monkeypatch.context() as broken:
            broken.setattr(os, step, failing_at(call, getattr(os, step), counter))
            try:
                file.take()
                file.save(new)
                saved = True
            except JobFileError as error:
                assert "No space left" in str(error)
                saved = False
            file.close()
        assert load_job(path) == (new if saved else before)
        assert not list(path.parent.glob("*.part"))
        file.save(new)
        assert load_job(path) == new
        assert [p.name for p in path.parent.iterdir()] == [path.name], "a lock was left"
        if counter[0] < call:
            return
    pytest.fail(f"more than 59 calls of {step}")


class TestBadInput:
    def test_a_loop_of_links(self, tmp_path: Path) -> None:
        loop = tmp_path / "loop.baydrop"
        loop.symlink_to(loop)
        for act in (lambda: JobFile.read(loop), lambda: JobFile.to_be(loop), lambda: save_job(loop, Job())):
            with pytest.raises(JobFileError):
                act()
        assert take_lock(loop) is None or loop.is_symlink()

    def test_a_folder_a_device_and_a_pipe(self, tmp_path: Path) -> None:
        pipe = tmp_path / "pipe.baydrop"
        os.mkfifo(pipe)
        for odd in (tmp_path, Path("/dev/zero"), pipe):
            with pytest.raises(JobFileError, match="not a file"):
                JobFile.read(odd)
            with pytest.raises(FileTrouble, match="not a file"):
                write_whole(odd, b"x")

    def test_a_name_of_255_bytes(self, tmp_path: Path) -> None:
        """The longest that there is can be saved, locked and read; with an ending on top it is told."""
        path = tmp_path / ("q" * (255 - len(".baydrop")) + ".baydrop")
        file = JobFile.to_be(path)
        file.take()
        file.save(Job())
        file.close()
        assert load_job(path) == Job()
        with pytest.raises(JobFileError, match="too long"):
            JobFile.to_be(tmp_path / ("q" * 255))

    def test_a_file_that_grows_while_it_is_read(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "a"
        path.write_bytes(b"x")
        look, looks = os.fstat, [0]

        def grown(handle: int) -> os.stat_result:
            looks[0] += 1
            if looks[0] == 2:
                with path.open("ab") as file:
                    file.write(b"y")
            return look(handle)

        # The file itself asks for its size too; only what comes after the reading matters here.
        with monkeypatch.context() as patch:
            patch.setattr(os, "fstat", grown)
            with pytest.raises(FileTrouble, match="being written by another program"):
                read_whole(path, 1000)
        assert read_whole(path, 1000) == b"xy"


READ_ONLY = """
import sys
from pathlib import Path
folder = Path(sys.argv[1])
from estimator.model.job import Job
from estimator.store.document import JobFile
from estimator.store.jobs import JobFileError
file, job = JobFile.read(folder / "quay.baydrop")
file.take()
assert file.lock is None, "no lock can be kept"
try:
    file.save(job)
except JobFileError as error:
    assert "ermission" in str(error), str(error)
    print("refused")
file.close()
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="permissions of Linux")
def test_a_folder_that_only_can_be_read(path: Path, tmp_path: Path) -> None:
    """Opened without a lock; saving is told. Root may write anything, so an ordinary user looks."""
    before = path.read_bytes()
    path.parent.chmod(0o555)
    try:
        ran = subprocess.run(
            ordinary(sys.executable, "-c", READ_ONLY, str(path.parent)),
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "BAYDROP_HOME": str(tmp_path / "home")},
        )
        assert ran.stdout == "refused\n", ran.stderr
    finally:
        path.parent.chmod(0o755)
    assert path.read_bytes() == before
