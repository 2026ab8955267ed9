"""A disk that does not answer, at the other end of a line that broke: the window goes on and nothing is lost."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton

from estimator.desk import app
from estimator.desk.doing.disk import OWN_FOLDER_AWAY
from estimator.desk.doing.questions import Dialogs, UnsavedAnswer
from estimator.model.edit import with_value
from estimator.model.issued import kept_paper
from estimator.model.job import Job
from estimator.model.party import Party
from estimator.model.pricebook import PriceBook
from estimator.store import autosave, jobs
from estimator.store.document import JobFile
from estimator.store.files import read_whole
from estimator.store.jobs import load_job, save_job
from estimator.store.lock import holder_of
from estimator.store.pricebooks import load_price_book, shipped_price_book, user_price_book_path
from estimator.store.settings import load_settings
from tests.desk.hands import Hands, Said

NAMES = ("stat", "lstat", "open", "replace", "link", "unlink", "scandir")


class Line:
    """What leads to a folder; while it is broken every call of the system that asks there hangs."""

    def __init__(self, folder: Path, patch: pytest.MonkeyPatch) -> None:
        self.folder, self._whole = folder, threading.Event()
        self._whole.set()
        self.hanging = 0
        for name in NAMES:
            patch.setattr(os, name, self._slow(getattr(os, name)))

    def _slow(self, real: Any) -> Any:
        def call(path: Any = ".", *arguments: Any, **named: Any) -> Any:
            there = isinstance(path, str | os.PathLike) and os.fspath(path).startswith(f"{self.folder}")
            if there and not self._whole.is_set():
                assert threading.current_thread() is not threading.main_thread(), "the window hangs"
                self.hanging += 1
                self._whole.wait(30)
                self.hanging -= 1
            return real(path, *arguments, **named)

        return call

    def breaks(self) -> None:
        """From now on."""
        self._whole.clear()

    def mends(self) -> None:
        """What hung goes on."""
        self._whole.set()


@pytest.fixture
def line(desk: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Line]:
    """To a folder of jobs; the person does not wait."""
    folder = tmp_path / "far"
    folder.mkdir()
    made = Line(folder, monkeypatch)
    desk.said.waits = False
    yield made
    made.mends()


@pytest.fixture
def path(desk: Hands, line: Line) -> Path:
    """Of a job there that is open and edited."""
    path = line.folder / "quay.baydrop"
    save_job(path, Job(customer=Party(name="Quay")))
    assert desk.window.files.open_path(path)
    desk.window.files.disk.patience_s = 0.0
    desk.window.session.patience_s = 0.0
    desk.put(desk.editor("customer", "name"), "Mine")
    return path


def test_a_save_is_waited_for(desk: Hands, line: Line, path: Path) -> None:
    """The window is painted and answers meanwhile; when the disk does, the job is saved."""
    line.breaks()
    desk.said.waits = True
    QTimer.singleShot(20, line.mends)
    assert desk.window.files.save()
    assert desk.said.waited == ["quay.baydrop"]
    assert load_job(path).customer.name == "Mine"
    assert not desk.window.session.is_modified


def test_a_save_that_is_not_waited_for(desk: Hands, line: Line, path: Path, tmp_path: Path) -> None:
    """Nothing is lost, here or there; what reaches the disk after all is not gone over unasked."""
    line.breaks()
    assert not desk.window.files.save()
    (title, words), desk.said.told = desk.said.told[-1], []
    assert title == "Whether the job was saved is not known"
    assert words[0] == "“quay.baydrop” is on a disk that does not answer."
    assert desk.window.session.is_modified
    desk.window.files.write_recovery()
    assert [c.title for c in autosave.copies()[0]] == ["Mine"]
    line.mends()
    desk.bot.waitUntil(lambda: load_job(path).customer.name == "Mine", timeout=20_000)
    desk.bot.waitUntil(lambda: not line.hanging, timeout=20_000)
    desk.put(desk.editor("customer", "name"), "Later")
    desk.said.waits = True
    assert not desk.window.files.save()
    assert "was changed by somebody else" in desk.said.asked[-1]
    desk.said.choices, desk.said.saves = [0], tmp_path / "near.baydrop"
    assert desk.window.files.save()
    assert load_job(tmp_path / "near.baydrop").customer.name == "Later"
    assert load_job(path).customer.name == "Mine"


def test_another_disk_is_saved_to_while_the_first_hangs(
    desk: Hands, line: Line, path: Path, tmp_path: Path
) -> None:
    line.breaks()
    desk.said.saves = tmp_path / "near.baydrop"
    desk.window.files.disk.patience_s = 0.2
    assert desk.window.files.save_as()
    assert load_job(tmp_path / "near.baydrop").customer.name == "Mine"
    assert not desk.window.session.is_modified


def test_a_revision_is_not_issued_on_a_disk_that_hangs(desk: Hands, line: Line, tmp_path: Path) -> None:
    """Neither revision nor paper; the job is as it was."""
    desk.named_job()
    desk.said.saves = path = line.folder / "quay.baydrop"
    assert desk.window.files.save()
    desk.window.files.disk.patience_s = 0.2
    desk.said.saves, desk.said.yes = tmp_path / "a.pdf", True
    view = desk.window.revisions
    view.reason.setText("Offer")
    line.breaks()
    with pytest.MonkeyPatch.context() as patch:
        # Which file a name leads to is asked before; by then the line holds.
        patch.setattr(os.path, "realpath", lambda name, **_: os.fspath(name))
        view.start()
        desk.bot.waitUntil(lambda: bool(desk.said.told), timeout=60_000)
    assert desk.said.told[-1][0] == "Whether the job was saved is not known"
    assert not desk.window.session.whole.issued and not (tmp_path / "a.pdf").exists()
    line.mends()
    desk.bot.waitUntil(lambda: bool(load_job(path).issued), timeout=20_000)
    # It reached the disk after all. It is met, and not gone over.
    desk.said.choices, desk.said.waits = [1], True
    assert desk.window.files.save()
    assert [r.letter for r in desk.window.session.whole.issued] == ["A"]


def test_looking_at_what_others_did_hangs_nothing(desk: Hands, line: Line, path: Path) -> None:
    """It did, at every return to the window. A second look does not begin while the first one hangs."""
    line.breaks()
    for _ in range(3):
        desk.window.files.look_outside()
    assert desk.window.files.looking[0].is_busy
    desk.bot.waitUntil(lambda: line.hanging == 1, timeout=20_000)
    line.mends()
    desk.bot.waitUntil(lambda: not desk.window.files.looking[0].is_busy, timeout=20_000)
    assert "somebody else" not in desk.window.statusBar().currentMessage()
    save_job(path, Job(customer=Party(name="Theirs")))
    desk.window.files.look_outside()
    desk.bot.waitUntil(lambda: not desk.window.files.looking[0].is_busy, timeout=20_000)
    assert desk.window.statusBar().currentMessage().endswith("was changed by somebody else; saving asks.")


def test_a_copy_whose_file_hangs_is_offered(desk: Hands, line: Line) -> None:
    """The start hung."""
    path = line.folder / "quay.baydrop"
    save_job(path, Job(customer=Party(name="Quay")))
    autosave.write("c", Job(customer=Party(name="Mine")), path, held=JobFile.read(path)[0].mark)
    line.breaks()
    desk.window.files.disk.patience_s = 0.0
    desk.said.choices = [0]
    assert desk.window.files.offer_recovery()
    assert "“quay.baydrop” is on a disk that does not answer." in desk.said.asked[-1]
    assert desk.job.customer.name == "Mine"


def test_a_lock_that_is_had_too_late_is_let_go_of(
    desk: Hands, line: Line, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file was read, then its disk went away: it is not opened, and later it is open to others."""
    path = line.folder / "quay.baydrop"
    save_job(path, Job())
    taken, take = threading.Event(), JobFile.take

    def late(file: JobFile, *, over: bool = False) -> None:
        line.breaks()
        take(file, over=over)
        taken.set()

    monkeypatch.setattr(JobFile, "take", late)
    desk.window.files.disk.patience_s = 0.0
    assert not desk.window.files.open_path(path)
    assert desk.said.told[-1][0] == "This file cannot be opened"
    assert desk.window.session.path is None
    desk.bot.waitUntil(lambda: line.hanging == 1, timeout=20_000)
    line.mends()
    assert taken.wait(20)
    desk.bot.waitUntil(lambda: holder_of(path) is None, timeout=20_000)


def test_the_window_closes_while_the_disk_of_its_job_hangs(desk: Hands, line: Line, path: Path) -> None:
    """Its lock cannot be removed there."""
    line.breaks()
    desk.window.files.look_outside()
    desk.said.unsaved = UnsavedAnswer.DISCARD
    assert desk.window.close()
    assert line.hanging
    # The application is told once more that it is in front, while it ends.
    desk.window.files.look_outside()


def test_the_question_goes_away_when_the_disk_answers(desk: Hands) -> None:
    """And at once where the person does not wait."""
    there: list[bool] = []
    QTimer.singleShot(30, lambda: there.append(True))
    dialogs = Dialogs()
    assert dialogs.wait_for(lambda: bool(there), "a\nb<b>.baydrop")
    there.clear()
    seen: list[str] = []

    def press() -> None:
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        seen.append(box.text())
        button = box.defaultButton()
        assert isinstance(button, QPushButton)
        button.click()

    QTimer.singleShot(100, press)
    assert not dialogs.wait_for(lambda: bool(there), "a\nb<b>.baydrop")
    assert seen == ["“a\N{REPLACEMENT CHARACTER}b<b>.baydrop” is on a disk that does not answer."]


def test_jobs_are_read_by_the_calls_that_hang(line: Line, tmp_path: Path) -> None:
    """Of the line itself: in the window's own thread it says so."""
    save_job(line.folder / "a.baydrop", Job())
    line.breaks()
    with pytest.raises(AssertionError, match="the window hangs"):
        jobs.load_job(line.folder / "a.baydrop")


# The person's own folder.


@pytest.fixture
def own(desk: Hands, home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Line]:
    """The line to it; nobody is asked to wait."""
    made = Line(home, monkeypatch)
    desk.window.files.own.patience_s = 0.01
    files = desk.window.files
    yield made
    made.mends()
    # No event runs here: the window may be about to be deleted.
    pause = threading.Event()
    for _ in range(20_000):
        if not files.own.is_away:
            break
        pause.wait(0.001)


def _mended(desk: Hands, own: Line) -> None:
    own.mends()
    desk.bot.waitUntil(lambda: not desk.window.files.own.is_away, timeout=20_000)
    desk.window.files.own.patience_s = None


def test_the_window_goes_on_while_the_own_folder_hangs(desk: Hands, own: Line, tmp_path: Path) -> None:
    """Acts, theme, a saved job, its earlier versions: nothing waits, and nobody is asked."""
    said: list[str] = []
    desk.window.session.said.connect(said.append)
    own.breaks()
    desk.put(desk.editor("customer", "name"), "Mine")
    desk.window.files.write_recovery()
    desk.window.files.show_theme("dark")
    assert desk.window.files.earlier() == ()
    assert desk.window.files.own.is_away and not desk.said.waited
    desk.window.files.own.hanging.start(0)
    desk.bot.waitUntil(lambda: OWN_FOLDER_AWAY in said, timeout=20_000)
    assert desk.window.files.theme == "dark" and desk.job.customer.name == "Mine"
    _mended(desk, own)
    desk.window.files.show_theme("light")
    assert load_settings()[0].theme.value == "light"


def test_a_recovery_copy_that_hung_is_written_later(desk: Hands, own: Line) -> None:
    """By the call that hung, then again with what was done meanwhile; one copy, and none when nothing is unsaved."""
    desk.put(desk.editor("customer", "name"), "First")
    desk.window.files.write_recovery()
    own.breaks()
    desk.put(desk.editor("customer", "name"), "Second")
    desk.window.files.write_recovery()
    desk.put(desk.editor("customer", "name"), "Third")
    desk.window.files.write_recovery()
    assert desk.window.files.own.is_away
    _mended(desk, own)
    desk.window.files.write_recovery()
    (copy,), _ = autosave.copies()
    assert autosave.read(copy.job_id).customer.name == "Third"
    for _ in range(3):
        desk.command("edit.undo")
    assert not desk.window.session.is_modified
    desk.bot.waitUntil(lambda: not autosave.copies()[0], timeout=20_000)


def test_a_recovery_copy_in_passing_is_not_waited_for(desk: Hands, own: Line) -> None:
    """However patient the window is with its folder elsewhere: this test would not end."""
    desk.window.files.own.patience_s = 600.0
    own.breaks()
    desk.put(desk.editor("customer", "name"), "Mine")
    desk.window.files.write_recovery_soon()
    assert desk.window.files.own.is_away
    _mended(desk, own)
    assert [copy.title for copy in autosave.copies()[0]] == ["Mine"]


def test_a_recovery_copy_that_only_took_long_is_not_written_again(
    desk: Hands, own: Line, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That of a large job takes longer than anybody waits: it would be written for ever."""
    written: list[Job] = []
    write = autosave.write

    def counted(job_id: str, job: Job, *rest: Any, **more: Any) -> str:
        written.append(job)
        return write(job_id, job, *rest, **more)

    monkeypatch.setattr(autosave, "write", counted)
    own.breaks()
    desk.put(desk.editor("customer", "name"), "Mine")
    desk.window.files.write_recovery()
    _mended(desk, own)
    for _ in range(3):
        desk.window.files.write_recovery()
    assert len(written) == 1
    desk.put(desk.editor("customer", "name"), "More")
    desk.window.files.write_recovery()
    assert [job.customer.name for job in written] == ["Mine", "More"]


def test_a_copy_that_is_not_wanted_any_more_goes_when_it_is_there(desk: Hands, own: Line) -> None:
    """Written by a call that hung while the person undid all that it holds."""
    own.breaks()
    desk.put(desk.editor("customer", "name"), "Mine")
    desk.window.files.write_recovery()
    assert desk.window.files.own.is_away
    desk.command("edit.undo")
    assert not desk.window.session.is_modified
    _mended(desk, own)
    desk.window.files.own.let(lambda: None)
    assert not autosave.copies()[0]


def test_a_price_that_hung_is_kept_once(desk: Hands, own: Line) -> None:
    """It holds in the window; the file gets it when it answers, and the next edit finds no conflict."""
    own.breaks()
    book = desk.window.session.book
    first, second, *rest = book.entries

    def describe(text: str) -> PriceBook:
        return book.model_copy(
            update={"entries": (first.model_copy(update={"description": text}), second, *rest)}
        )

    desk.window.session.act("Price", book=describe("Hung"))
    assert desk.window.files.own.is_away and desk.window.session.book.entries[0].description == "Hung"
    _mended(desk, own)
    desk.bot.waitUntil(lambda: load_price_book(user_price_book_path()) == describe("Hung"), timeout=20_000)
    desk.window.session.act("Price", book=describe("Then"))
    assert not desk.said.asked
    assert load_price_book(user_price_book_path()).entries[0].description == "Then"


def test_the_window_closes_while_the_own_folder_hangs(desk: Hands, own: Line) -> None:
    own.breaks()
    desk.window.files.show_theme("dark")
    assert desk.window.files.own.is_away
    assert desk.window.close()
    own.mends()


def test_a_start_is_asked_about_once_where_the_own_folder_hangs(
    desk: Hands, own: Line, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without waiting: the demo prices, which are not kept, and what is there stays as it is."""
    own.breaks()
    monkeypatch.setattr(app, "Dialogs", Said)
    monkeypatch.setattr(Said, "wait_for", lambda *_: False)
    window, sentences = app.make_window()
    assert sentences[0] == "“your price book” is on a disk that does not answer."
    assert not window.files.offer_recovery()
    assert window.session.book == shipped_price_book()
    own.mends()
    window.close()
    window.deleteLater()


# A name that was just picked.


@pytest.mark.parametrize("command", ["file.save-as", "file.quote", "book.export"])
def test_a_name_on_a_disk_that_hangs_is_not_waited_for(desk: Hands, line: Line, command: str) -> None:
    """Whether something is there already is asked beside the window; nothing is written, and that is told."""
    desk.quick()
    line.breaks()
    desk.window.files.disk.patience_s = 0.0
    desk.said.saves, desk.said.yes = line.folder / "a.pdf", True
    desk.command(command)
    desk.bot.waitUntil(lambda: bool(desk.said.told), timeout=20_000)
    (title, words) = desk.said.told[-1]
    assert title == "Nothing was written" and words[0].endswith("is on a disk that does not answer.")
    line.mends()
    assert not list(line.folder.iterdir())


# What finishes while a disk is waited for.


@pytest.fixture
def late(desk: Hands, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[threading.Event]:
    """Another job is being opened, and is read when this is set."""
    other, may, read = tmp_path / "other.baydrop", threading.Event(), JobFile.read
    save_job(other, Job(customer=Party(name="Other")))

    def slowly(path: Path, *rest: Any) -> Any:
        if path == other:
            assert may.wait(30)
        return read(path, *rest)

    monkeypatch.setattr(JobFile, "read", slowly)
    yield may
    may.set()


def test_a_job_that_is_read_while_another_is_saved_is_opened_afterwards(
    desk: Hands, line: Line, path: Path, late: threading.Event, tmp_path: Path
) -> None:
    """It was saved into the file of the other one, which was lost."""
    assert not desk.window.files.open_path(tmp_path / "other.baydrop")
    line.breaks()
    desk.said.waits = True
    QTimer.singleShot(20, late.set)
    QTimer.singleShot(300, line.mends)
    assert desk.window.files.save()
    assert load_job(path).customer.name == "Mine"
    desk.bot.waitUntil(lambda: desk.job.customer.name == "Other", timeout=20_000)
    assert desk.window.session.path == tmp_path / "other.baydrop" and not desk.said.unsaved_asked
    assert load_job(path).customer.name == "Mine"
    assert load_job(tmp_path / "other.baydrop").customer.name == "Other"


def test_a_job_that_is_read_while_a_revision_is_issued_is_opened_afterwards(
    desk: Hands, line: Line, late: threading.Event, tmp_path: Path
) -> None:
    """Revision and paper are there, in the file of their own job and beside it; then the other job is open."""
    desk.named_job()
    desk.said.waits = True
    desk.said.saves = path = line.folder / "quay.baydrop"
    assert desk.window.files.save()
    desk.window.files.disk.patience_s, desk.window.session.patience_s = 0.2, 0.0
    desk.said.saves, desk.said.yes = tmp_path / "a.pdf", True
    view = desk.window.revisions
    view.reason.setText("Offer")
    waits: list[str] = []

    def breaks(path: Path, name: str, whole: Job) -> bool:
        # As the revision is about to be saved its disk goes away, and the other job is there.
        line.breaks()
        QTimer.singleShot(250, late.set)
        QTimer.singleShot(600, line.mends)
        waits.append(name)
        return keep(path, name, whole)

    with pytest.MonkeyPatch.context() as patch:
        keep = desk.window.files.keep_final
        patch.setattr(desk.window.files, "keep_final", breaks)
        view.start()
        assert not desk.window.files.open_path(tmp_path / "other.baydrop")
        desk.bot.waitUntil(lambda: desk.job.customer.name == "Other", timeout=60_000)
    assert waits and desk.said.waited
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)
    (issued,) = load_job(path).issued
    assert (tmp_path / "a.pdf").read_bytes() == kept_paper(issued)
    assert not desk.window.session.whole.issued
    assert load_job(tmp_path / "other.baydrop").customer.name == "Other"


def test_a_logo_that_is_read_while_a_revision_is_issued_is_not_lost(
    desk: Hands, line: Line, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is an act of its own after the one that cannot be undone; that went over it."""
    desk.named_job()
    desk.said.saves = path = line.folder / "quay.baydrop"
    assert desk.window.files.save()
    made = with_value(desk.window.session.whole, ("quote", "title"), "Sealed")
    may = threading.Event()

    def slowly(*arguments: Any) -> bytes:
        assert may.wait(30)
        return read_whole(*arguments)

    monkeypatch.setattr("estimator.desk.doing.logo.read_whole", slowly)
    desk.said.opens = tmp_path / "logo.png"
    Image.new("RGB", (300, 100), (20, 90, 20)).save(desk.said.opens)
    desk.window.logo.choose()
    desk.window.files.disk.patience_s = 0.0
    line.breaks()
    desk.said.waits = True
    QTimer.singleShot(20, may.set)
    QTimer.singleShot(400, line.mends)
    assert desk.window.files.keep_final(path, "Issue", made)
    desk.bot.waitUntil(lambda: not desk.window.logo.reading.is_busy, timeout=20_000)
    desk.bot.waitUntil(lambda: bool(desk.job.company.logo), timeout=20_000)
    assert desk.job.quote.title == "Sealed" and load_job(path).quote.title == "Sealed"
    assert desk.window.session.is_modified
