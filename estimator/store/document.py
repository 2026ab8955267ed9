"""A job's file from opening to closing, for every front end.

Its name has its ending before anybody asks about replacing a file of that name. What the file held when it was read or
written last is remembered by its fingerprint and compared before each save: what somebody else put there is never
written over unasked. Who has the file open is told by a lock. What a save goes over is kept as an earlier version.
"""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from estimator.acts.issue import IssueError, check_lineage
from estimator.going import ALONE, Going
from estimator.model.issued import Issued
from estimator.model.job import Job
from estimator.store.backups import keep_earlier
from estimator.store.files import FileKind, FileTrouble, fingerprint, kind_of, shown, sweep, write_whole
from estimator.store.jobs import (
    EXTENSION,
    JobFileError,
    job_bytes,
    job_bytes_at,
    job_from_bytes,
    near_limits,
    refuse,
)
from estimator.store.lock import Lock, LockHolder, holder_of, sweep_locks, take_lock, wait_for_lock

__all__ = ["NOT_KNOWN", "ChangedOutside", "JobFile", "named"]

NOT_KNOWN: Final = "?"
"""The fingerprint of a file of which it is not known what it held: anything in it counts as changed outside."""


class ChangedOutside(Exception):
    """The file holds something else than it did; nothing was written. The message is a sentence for a person.

    Attributes:
        path: of the file.
        theirs: the job that it holds now, None where it holds none that can be read.
    """

    def __init__(self, path: Path, theirs: Job | None) -> None:
        what = "holds another job now" if theirs is not None else "holds no job that can be read any more"
        super().__init__(f"“{shown(path.name)}” was changed by somebody else since it was opened; it {what}.")
        self.path = path
        self.theirs = theirs


def named(path: Path, ending: str = EXTENSION, *others: str) -> Path:
    """The name that a file is written under: with its ending, added to whatever was typed.

    Args:
        path: as typed.
        ending: what is added to a name that has none of them, dots in it or not.
        others: further endings that are right.

    >>> named(Path("foo")).name, named(Path("v1.2")).name, named(Path("foo.BAYDROP")).name
    ('foo.baydrop', 'v1.2.baydrop', 'foo.BAYDROP')
    """
    return path if path.suffix.casefold() in (ending, *others) else path.with_name(path.name + ending)


@dataclass(slots=True)
class JobFile:
    """A job's file.

    Attributes:
        path: of the file, with its ending.
        mark: fingerprint of what it held when it was read or written last; None where there was no file.
        issued: the revisions in it then; None where nobody looked. While the mark holds, a save asks these and does
            not read and check the whole file again.
        lock: ours, None where none is held.
    """

    path: Path
    mark: str | None
    lock: Lock | None = None
    issued: tuple[Issued, ...] | None = None

    @classmethod
    def read(
        cls, path: Path, known: tuple[JobFile, Job] | None = None, going: Going = ALONE
    ) -> tuple[JobFile, Job]:
        """A file and the job that it holds; it is not locked.

        Args:
            known: what was read there a moment ago: the answer, if the file still holds that.
            going: asked and told on the way.

        Raises:
            JobFileError: see `load_job`.
            Stopped: it is not wanted any more.
        """
        content = job_bytes_at(path, going)
        if known is not None and known[0].mark == fingerprint(content):
            return known
        job = job_from_bytes(content, shown(path.name), going)
        return cls(path, fingerprint(content), issued=job.issued), job

    @classmethod
    def to_be(cls, path: Path) -> JobFile:
        """A file that a job is to be written to, over what it holds now if anything: ask before.

        Raises:
            JobFileError: something else than a job stands there, or it cannot be read.
        """
        path = named(path)
        content = _there(path)
        if content is None:
            return cls(path, None)
        kind = kind_of(content)
        if kind not in (FileKind.JOB, FileKind.EMPTY) and _job_in(content, path.name) is None:
            refuse(
                "other-kind",
                f"“{shown(path.name)}” holds {kind.value}, not a job, and stays as it is; choose another name.",
            )
        return cls(path, fingerprint(content))

    def held_by(self) -> LockHolder | None:
        """Who else has it open, None where nobody has."""
        if self.lock is not None and self.lock.is_held:
            return None
        return holder_of(self.path)

    def take(self, *, over: bool = False) -> None:
        """Lock it until it is closed; where no lock can be kept, as on a read-only disk, nothing happens.

        Args:
            over: take the lock over from whoever holds it.

        Raises:
            Locked: somebody else has it open.
        """
        sweep(self.path.parent)
        sweep_locks(self.path.parent)
        self.lock = take_lock(self.path, over=over)

    def close(self) -> None:
        """Let go of the file."""
        if self.lock is not None:
            self.lock.release()
            self.lock = None

    def is_changed_outside(self) -> bool:
        """Whether it holds something else than it did; False while it cannot be read or is not there."""
        try:
            content = _there(self.path)
        except JobFileError:
            return False
        return content is not None and fingerprint(content) != self.mark

    def save(self, job: Job) -> str:
        """Write the job, whole or not at all.

        Returns:
            Sentences of what should be known, "" where all is well.

        Raises:
            Locked: somebody else has it open, or took the lock over.
            ChangedOutside: it holds something else than it did.
            JobFileError: it cannot be written, or would go over a revision that the job does not know, or could not
                be read again. In all cases the file is as it was.
        """
        # Our lock may be taken over while we write; whoever does so writes when we are done, and compares then.
        writing = wait_for_lock(self.path)
        lock = None
        try:
            held = self.lock is not None and self.lock.is_held
            lock = None if held else take_lock(self.path)
            return self._save(job)
        finally:
            if lock is not None:
                if self.lock is not None:
                    self.lock = lock  # ours was lost while nobody else took it
                else:
                    lock.release()
            if writing is not None:
                writing.release()

    def _save(self, job: Job) -> str:
        name = shown(self.path.name)
        content = job_bytes(job, name)
        before = _there(self.path)
        notes = [near_limits(content, name)]
        if before is not None:
            if fingerprint(before) != self.mark:
                raise ChangedOutside(self.path, _job_in(before, name))
            if self.issued is None:
                kept = _job_in(before, name)
                self.issued = kept.issued if kept is not None else ()
            try:
                check_lineage(job, self.issued)
            except IssueError as error:
                refuse("lineage", str(error))
            if before and before != content:
                with contextlib.suppress(OSError):
                    notes.append(keep_earlier(self.path, before, self.path.stat().st_mtime))
        try:
            # What stands there is what was opened, or what was asked about.
            write_whole(self.path, content, over_any=before is not None)
        except FileTrouble as trouble:
            refuse("file", str(trouble))
        self.mark, self.issued = fingerprint(content), job.issued
        return " ".join(note for note in notes if note)


def _there(path: Path) -> bytes | None:
    """What a file holds, None where there is none.

    Raises:
        JobFileError: something stands there that cannot be read.
    """
    try:
        path.stat()
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        pass
    return job_bytes_at(path)


def _job_in(content: bytes, name: str) -> Job | None:
    try:
        return job_from_bytes(content, name)
    except JobFileError:
        return None
