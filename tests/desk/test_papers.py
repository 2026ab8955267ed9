"""Papers never vanish: every one that was asked for appears, closing waits, what is in view is what is written."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from estimator.desk.views.preview import PreviewPane
from estimator.documents import quote
from estimator.going import ALONE, Going
from estimator.store.files import write_whole
from estimator.study import Study
from tests.desk.hands import Hands
from tests.desk.test_revisions import issue


@pytest.fixture
def printer(monkeypatch: pytest.MonkeyPatch) -> Iterator[Printer]:
    """The printing of drafts, counted, and held up while its gate is closed."""
    made = Printer()
    monkeypatch.setattr("estimator.documents.quote.write_quote", made)
    yield made
    made.gate.set()


class Printer:
    """Prints as the document room does."""

    def __init__(self) -> None:
        self.gate = threading.Event()
        self.gate.set()
        self.started = threading.Event()
        self.printed: list[date] = []
        self.asks: list[Going] = []
        self._write: Callable[[Study, Going], bytes] = quote.write_quote

    def __call__(self, study: Study, going: Going = ALONE) -> bytes:
        self.asks.append(going)
        self.started.set()
        assert self.gate.wait(30)
        self.printed.append(study.on)
        return self._write(study, going)


def ask_for(desk: Hands, path: Path) -> None:
    """Choose the command and name the file."""
    desk.said.saves, desk.said.yes = path, True
    desk.command("file.quote")


def preview(desk: Hands) -> PreviewPane:
    """The preview in view, with its quote."""
    desk.command("view.preview")
    pane = desk.window.preview
    desk.bot.waitUntil(lambda: pane.shown is not None and not pane.work.is_busy, timeout=30_000)
    return pane


def all_written(desk: Hands) -> None:
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)


def test_papers_in_a_row_all_appear(desk: Hands, tmp_path: Path, printer: Printer) -> None:
    """Three asked for while the first is under way; the second of them vanished once. The job's one draft is made
    once for all of them."""
    desk.quick()
    printer.gate.clear()
    paths = [tmp_path / f"{name}-draft.pdf" for name in "abc"]
    for path in paths:
        ask_for(desk, path)
    papers, busy = desk.window.files.papers, desk.window.busy
    assert papers.queue.names == tuple(path.name for path in paths)
    assert (busy.isVisible(), busy.what.text()) == (True, "Writing")
    assert (busy.bar.value(), busy.bar.maximum()) == (0, 3)
    printer.gate.set()
    all_written(desk)
    assert [path.exists() for path in paths] == [True] * 3
    assert len({path.read_bytes() for path in paths}) == len(printer.printed) == 1
    assert not busy.isVisible()


def test_each_paper_is_of_the_job_as_it_was_asked_for(desk: Hands, tmp_path: Path) -> None:
    """An edit between two papers is in the second alone."""
    desk.quick()
    first, second = tmp_path / "a-draft.pdf", tmp_path / "b-draft.pdf"
    ask_for(desk, first)
    before = desk.window.session.study
    desk.put(desk.editor("quote", "title"), "Another")
    ask_for(desk, second)
    after = desk.window.session.study
    all_written(desk)
    assert first.read_bytes() == quote.write_quote(before)
    assert second.read_bytes() == quote.write_quote(after) != first.read_bytes()


def test_closing_waits_for_a_paper(desk: Hands, tmp_path: Path, printer: Printer) -> None:
    """The window stays until the paper is there, and says what it waits for; then it closes by itself."""
    desk.quick()
    printer.gate.clear()
    path = tmp_path / "a-draft.pdf"
    ask_for(desk, path)
    window = desk.window
    assert not window.close()
    assert window.isVisible()
    assert path.name in window.statusBar().currentMessage()
    assert desk.said.unsaved_asked == 0
    printer.gate.set()
    desk.bot.waitUntil(lambda: not window.isVisible(), timeout=30_000)
    assert path.exists()
    assert desk.said.unsaved_asked == 1


def test_a_paper_that_cannot_be_written_keeps_the_window_open(
    desk: Hands, tmp_path: Path, printer: Printer
) -> None:
    """It is told, and can be written elsewhere."""
    desk.quick()
    printer.gate.clear()
    ask_for(desk, tmp_path / "no such folder" / "a-draft.pdf")
    assert not desk.window.close()
    printer.gate.set()
    desk.bot.waitUntil(lambda: bool(desk.said.told), timeout=30_000)
    all_written(desk)
    assert desk.said.told[-1][0] == "The paper was not written"
    assert desk.window.isVisible()


def test_cancel_leaves_what_is_not_written_and_a_window_that_waits_closes(
    desk: Hands, tmp_path: Path, printer: Printer
) -> None:
    """Neither the paper under way nor the one that waits appears; the window no longer waits."""
    desk.quick()
    printer.gate.clear()
    for name in ("a-draft.pdf", "b-draft.pdf"):
        ask_for(desk, tmp_path / name)
    desk.bot.waitUntil(printer.started.is_set, timeout=30_000)
    assert not desk.window.close()
    desk.press(desk.window.busy.cancel)
    assert "not written" in desk.window.statusBar().currentMessage()
    assert printer.asks[0].is_left, "what draws the paper was not told that nobody waits for it"
    printer.gate.set()
    desk.bot.waitUntil(lambda: not desk.window.isVisible(), timeout=30_000)
    assert list(tmp_path.glob("*.pdf")) == []


def test_the_quote_in_view_is_the_one_that_is_written(desk: Hands, tmp_path: Path, printer: Printer) -> None:
    """One study, one printing, the same bytes."""
    desk.quick()
    pane = preview(desk)
    assert pane.shown is not None
    path = tmp_path / "a-draft.pdf"
    ask_for(desk, path)
    all_written(desk)
    assert path.read_bytes() == pane.shown.pdf
    assert len(printer.printed) == 1


def test_a_new_day_renews_the_quote_in_view_and_says_so(
    desk: Hands, tmp_path: Path, printer: Printer
) -> None:
    """Written between midnight and the renewal it is the paper that is seen; afterwards that of the new day."""
    session, days = desk.window.session, [date(2027, 3, 1)]
    session.today = lambda: days[0]
    desk.quick()
    pane = preview(desk)
    seen = pane.shown
    assert seen is not None
    assert seen.on == days[0]
    assert not session.follow_day()
    days[0] = date(2027, 3, 2)
    ask_for(desk, tmp_path / "a-draft.pdf")
    all_written(desk)
    assert (tmp_path / "a-draft.pdf").read_bytes() == seen.pdf
    assert session.follow_day()
    desk.bot.waitUntil(lambda: pane.shown is not seen, timeout=30_000)
    renewed = pane.shown
    assert renewed is not None
    assert (renewed.on, session.study.on, session.base_study.on) == (days[0],) * 3
    assert "made anew" in desk.window.statusBar().currentMessage()
    assert "March 2, 2027" in desk.window.statusBar().currentMessage()
    ask_for(desk, tmp_path / "b-draft.pdf")
    all_written(desk)
    assert (tmp_path / "b-draft.pdf").read_bytes() == renewed.pdf != seen.pdf
    assert printer.printed == [date(2027, 3, 1), date(2027, 3, 2)]


def test_midnight_while_the_file_is_named_changes_nothing(
    desk: Hands, tmp_path: Path, printer: Printer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The view is renewed behind the question; what was seen when the paper was asked for is written."""
    session, days = desk.window.session, [date(2027, 3, 1)]
    session.today = lambda: days[0]
    desk.quick()
    pane = preview(desk)
    seen = pane.shown
    assert seen is not None

    def named(title: str, kinds: str, suggestion: Path) -> tuple[Path, str]:
        days[0] = date(2027, 3, 2)
        assert session.follow_day()
        desk.bot.waitUntil(lambda: pane.shown is not seen, timeout=30_000)
        return tmp_path / "a-draft.pdf", kinds

    monkeypatch.setattr(desk.said, "save_file", named)
    desk.said.yes = True
    desk.command("file.quote")
    all_written(desk)
    assert (tmp_path / "a-draft.pdf").read_bytes() == seen.pdf
    assert pane.shown is not None
    assert pane.shown.pdf != seen.pdf
    assert printer.printed == [date(2027, 3, 1), date(2027, 3, 2)]


def test_after_an_edit_that_the_view_does_not_show_yet_the_paper_is_of_the_edit(
    desk: Hands, tmp_path: Path, printer: Printer
) -> None:
    """What is still in view is of the job before; the new one is drawn once, for the view and for the file."""
    desk.quick()
    pane = preview(desk)
    seen = pane.shown
    assert seen is not None
    printer.gate.clear()
    desk.put(desk.editor("quote", "title"), "Another")
    assert pane.shown is seen
    for name in ("a", "b"):
        ask_for(desk, tmp_path / f"{name}-draft.pdf")
    printer.gate.set()
    all_written(desk)
    desk.bot.waitUntil(lambda: not pane.work.is_busy, timeout=30_000)
    assert pane.shown is not None
    assert pane.shown.whole.quote.title == "Another"
    written = {(tmp_path / f"{name}-draft.pdf").read_bytes() for name in ("a", "b")}
    assert written == {pane.shown.pdf}
    assert seen.pdf not in written
    assert len(printer.printed) == 2


def test_out_of_view_the_paper_is_of_the_day_it_is_written(desk: Hands, tmp_path: Path) -> None:
    """What nobody looks at is no promise."""
    session, days = desk.window.session, [date(2027, 3, 1)]
    session.today = lambda: days[0]
    desk.quick()
    pane = preview(desk)
    seen = pane.shown
    desk.command("view.plan")
    days[0] = date(2027, 3, 2)
    ask_for(desk, tmp_path / "a-draft.pdf")
    all_written(desk)
    session.follow_day()
    assert (tmp_path / "a-draft.pdf").read_bytes() == quote.write_quote(session.study)
    assert seen is not None
    assert (tmp_path / "a-draft.pdf").read_bytes() != seen.pdf


def test_a_copy_of_an_issued_paper_is_written_beside_the_window(
    desk: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unpacking and writing of up to 40 MB; closing waits for it as for any paper, a failure is told."""
    writers: list[threading.Thread] = []

    def write(path: Path, content: bytes) -> None:
        writers.append(threading.current_thread())
        write_whole(path, content)

    monkeypatch.setattr("estimator.desk.doing.papers.write_whole", write)
    desk.named_job()
    issue(desk, "First", tmp_path / "a.pdf")
    view, papers = desk.window.revisions, desk.window.files.papers
    desk.said.saves = tmp_path / "copy.pdf"
    desk.press(view.again)
    assert papers.queue.names == ("copy.pdf",)
    all_written(desk)
    assert (tmp_path / "copy.pdf").read_bytes() == (tmp_path / "a.pdf").read_bytes()
    assert len(writers) == 2
    assert threading.main_thread() not in writers
    desk.said.saves = tmp_path / "no such folder" / "copy.pdf"
    desk.press(view.again)
    all_written(desk)
    assert desk.said.told[-1][0] == "The paper was not written"


def test_the_preview_can_be_left_and_made_again(desk: Hands, printer: Printer) -> None:
    """Cancel in the status line; the view says so and makes it when it is shown again."""
    desk.quick()
    printer.gate.clear()
    desk.command("view.preview")
    pane = desk.window.preview
    desk.bot.waitUntil(printer.started.is_set, timeout=30_000)
    desk.press(desk.window.busy.cancel)
    printer.gate.set()
    desk.bot.waitUntil(lambda: not pane.work.is_busy, timeout=30_000)
    assert pane.shown is None
    assert "was not made" in pane.picture.text()
    desk.command("view.plan")
    assert preview(desk).shown is not None
