"""Files of the window: open, save, recent, recovery, price book, quote; nothing is ever lost by a bad one."""

from __future__ import annotations

import errno
import json
import os
import re
import sys
import threading
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFileDialog, QMessageBox

from estimator.desk.app import Unexpected, make_window
from estimator.desk.doing.exchange_dialog import ImportDialog
from estimator.desk.doing.files import Files
from estimator.desk.doing.questions import Dialogs, UnsavedAnswer
from estimator.desk.form.inputs import LineEdit
from estimator.desk.session import Session
from estimator.desk.views.preview import PreviewPane
from estimator.desk.window import Window
from estimator.documents.quote import write_quote
from estimator.model.job import Job
from estimator.model.party import Party
from estimator.model.pricebook import MOST_ENTRIES, PriceBook
from estimator.store import autosave, pricebooks
from estimator.store.document import JobFile
from estimator.store.jobs import load_job, save_job
from estimator.store.lock import lock_path, take_lock
from estimator.store.pricebooks import (
    load_price_book,
    save_price_book,
    shipped_price_book,
    user_price_book,
    user_price_book_path,
)
from estimator.store.settings import ThemeChoice, load_settings
from estimator.units import UnitSystem
from tests.desk.hands import Hands, Said
from tests.documents.studies import text_of


def test_save_open_and_recent(desk: Hands, tmp_path: Path) -> None:
    """Saved as it is, opened as it was, and first among the recent ones."""
    desk.quick()
    desk.said.saves = tmp_path / "quay.baydrop"
    desk.command("file.save-as")
    assert load_job(tmp_path / "quay.baydrop") == desk.job
    assert desk.window.session.document.saved is desk.job
    desk.put(desk.editor("customer", "name"), "Quay")
    assert desk.window.session.is_modified
    assert "*" in desk.window.header.title.text()
    desk.command("file.save")
    assert load_job(tmp_path / "quay.baydrop").customer.name == "Quay"
    desk.command("file.new")
    assert desk.job == Job()
    assert desk.said.unsaved_asked == 0
    recent = desk.listing("file.recent")
    assert [a.text() for a in recent] == [str(tmp_path / "quay.baydrop")]
    recent[0].trigger()
    assert desk.job.customer.name == "Quay"
    assert desk.window.session.history.undo_name == ""


def test_a_text_being_typed_is_saved_too(desk: Hands, tmp_path: Path) -> None:
    """The save key while typing takes the text over first."""
    field = desk.editor("customer", "name").input
    field.setFocus()
    desk.type(field, "Quay")
    desk.said.saves = tmp_path / "a.baydrop"
    desk.key(field, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert load_job(tmp_path / "a.baydrop").customer.name == "Quay"


@pytest.mark.parametrize(
    "content", [b"", b"{", b"%PDF-1.7", b"\x00\xff", b'{"format": 99}', b"[1, 2]", b'{"format": 1}']
)
def test_a_bad_file_leaves_the_open_job_unharmed(desk: Hands, tmp_path: Path, content: bytes) -> None:
    """Sentences, no traceback; the job and the file stay as they were."""
    desk.quick()
    before, acts = desk.job, desk.window.session.history.position
    bad = tmp_path / "bad.baydrop"
    bad.write_bytes(content)
    desk.said.opens = bad
    desk.command("file.open")
    assert desk.job is before
    assert desk.window.session.history.position == acts
    title, sentences = desk.said.told[-1]
    assert title == "This file cannot be opened"
    assert sentences
    assert all(s.endswith((".", "…")) for s in sentences)
    assert "Traceback" not in " ".join(sentences)
    assert bad.read_bytes() == content
    assert desk.window.files.recent() == ()


def test_unsaved_changes_are_asked_about(desk: Hands, tmp_path: Path) -> None:
    """Cancel stays, do not save goes, save saves first; a job that cannot be saved stays."""
    desk.quick()
    built = desk.job
    desk.said.unsaved = UnsavedAnswer.CANCEL
    assert not desk.window.close()
    desk.command("file.new")
    assert desk.job is built
    desk.said.unsaved = UnsavedAnswer.SAVE
    desk.said.saves = tmp_path / "no such folder" / "a.baydrop"
    desk.command("file.new")
    assert desk.job is built
    assert desk.said.told[-1][0] == "The job was not saved"
    desk.said.saves = tmp_path / "a.baydrop"
    desk.command("file.new")
    assert desk.job == Job()
    assert load_job(tmp_path / "a.baydrop") == built


def test_the_recovery_copy_is_written_offered_and_removed(desk: Hands, home: Path, tmp_path: Path) -> None:
    """What a window that ended badly left is offered by the next one, not while the first one is open."""
    desk.quick()
    desk.window.files.write_recovery()
    (copy,), problems = autosave.copies()
    assert not problems
    assert autosave.read(copy.job_id) == desk.job
    session = Session(Job(), shipped_price_book())
    said = Said()
    said.yes = True
    second = Window(session, Files(session, said), said)
    desk.bot.addWidget(second)
    assert not second.files.offer_recovery(), "it is open in the first window"
    lock = desk.window.files._lock
    assert lock is not None
    lock.release()
    assert second.files.offer_recovery()
    assert session.job == desk.job
    assert session.is_modified
    said.unsaved = UnsavedAnswer.DISCARD
    second.close()
    desk.said.saves = tmp_path / "kept.baydrop"
    assert desk.window.files.save()
    assert autosave.copies() == ((), ())


def test_an_unexpected_exception_keeps_the_job(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """The person is told, a recovery copy is there, the job is as it was."""
    desk.quick()
    before = desk.job
    told: list[str] = []
    hook = Unexpected()
    hook.look_after(desk.window)
    monkeypatch.setattr(hook, "tell", told.append)
    monkeypatch.setattr(sys, "__excepthook__", lambda *_: None)
    hook(RuntimeError, RuntimeError("the roof fell in"), None)
    assert "the roof fell in" in told[0]
    assert desk.job is before
    (copy,), _ = autosave.copies()
    assert autosave.read(copy.job_id) == before


def test_a_price_book_edit_prices_the_job_anew(desk: Hands) -> None:
    """Firm price, low and high follow at once; the person's own file too; undo brings both back."""
    desk.quick()
    session = desk.window.session
    before, book = session.study.price, session.book
    code = next(r.takeoff.code for r in before.rows if r.takeoff.quantity)
    at = next(i for i, e in enumerate(book.entries) if e.code == code)
    table = desk.rows("book")
    table.filter.setText(code)
    table.select([at])
    high = desk.editor_here("high")
    desk.put(high, str(book.entries[at].high + 100))
    assert session.study.price.totals.total.high > before.totals.total.high
    assert session.study.price.totals.total.likely == before.totals.total.likely
    assert desk.window.header.firm.text()
    assert user_price_book() == session.book
    session.undo()
    assert session.study.price == before
    assert user_price_book() == book


def test_a_price_cell_that_is_not_allowed_says_so_in_its_cell(desk: Hands) -> None:
    """low ≤ likely ≤ high: the cell keeps the text with a cross and a sentence, the book its last value."""
    session = desk.window.session
    book = session.book
    rows = desk.rows("book").rows
    column = [f.name for f in rows.fields].index("low")
    cell = rows.index(0, column)
    assert not rows.setData(cell, "9999", Qt.ItemDataRole.EditRole)
    assert session.book is book
    assert rows.data(cell, Qt.ItemDataRole.DisplayRole) == "✕ 9999"
    assert "low ≤ likely ≤ high" in str(rows.data(cell, Qt.ItemDataRole.ToolTipRole))
    assert any("low ≤ likely ≤ high" in f.message for f in session.findings)
    for name in ("likely", "high"):
        rows.setData(
            rows.index(0, [f.name for f in rows.fields].index(name)), "9999", Qt.ItemDataRole.EditRole
        )
    entry = session.book.entries[0]
    assert (entry.low, entry.likely, entry.high) == (Decimal(9999),) * 3
    assert not session.book_holder.pending


def test_a_price_book_can_be_imported_and_exported(desk: Hands, tmp_path: Path) -> None:
    """CSV both ways; a bad file changes nothing."""
    session = desk.window.session
    book = session.book
    desk.said.saves = tmp_path / "out.csv"
    desk.command("book.export")
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)
    assert load_price_book(tmp_path / "out.csv") == book
    fewer = book.model_copy(update={"entries": book.entries[:5]})
    save_price_book(tmp_path / "in.csv", fewer)
    desk.said.opens = tmp_path / "in.csv"
    desk.command("book.import")
    desk.bot.waitUntil(lambda: not desk.window.exchange.reading.is_busy, timeout=60_000)
    dialog = desk.window.exchange.dialog
    assert isinstance(dialog, ImportDialog)
    dialog.mode.setCurrentIndex(dialog.mode.findData("replace"))
    assert session.book == book
    desk.press(dialog.take)
    assert session.book == fewer
    session.undo()
    assert session.book == book
    (tmp_path / "bad.csv").write_text("=1+1", encoding="utf-8")
    desk.said.opens = tmp_path / "bad.csv"
    desk.command("book.import")
    desk.bot.waitUntil(lambda: not desk.window.exchange.reading.is_busy, timeout=60_000)
    assert session.book == book
    assert desk.said.told[-1][0] == "This price book cannot be used"


def test_a_broken_price_book_file_is_left_as_it_is(home: Path, qtbot: object) -> None:
    """The demo book is used, the person is told, edits do not overwrite the broken file."""
    user_price_book()
    user_price_book_path().write_text("not a price book", encoding="utf-8")
    window, sentences = make_window()
    assert sentences
    assert window.session.book == shipped_price_book()
    window.session.act("Fewer", book=shipped_price_book().model_copy(update={"entries": ()}))
    assert user_price_book_path().read_text(encoding="utf-8") == "not a price book"
    window.files.dialogs = Said()
    window.close()
    window.deleteLater()


def test_the_quote_is_written_and_shown(desk: Hands, tmp_path: Path) -> None:
    """The file holds what the document room writes for that day; the preview turns its pages."""
    desk.quick()
    desk.put(desk.editor("quote", "dated"), "2027-03-31")
    target = tmp_path / "quote-draft.pdf"
    desk.said.saves = target
    desk.said.yes = True
    desk.command("file.quote")
    desk.bot.waitUntil(target.exists, timeout=20_000)
    assert target.read_bytes() == write_quote(desk.window.session.study)
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy)
    desk.command("view.preview")
    pane = desk.window.preview
    assert isinstance(pane, PreviewPane)
    desk.bot.waitUntil(lambda: pane.shown is not None, timeout=20_000)
    pages = int(pane.place.text().split()[-1])
    assert pages >= 3
    assert pane.place.text() == f"Page 1 of {pages}"
    desk.press(pane.forward)
    assert pane.place.text() == f"Page 2 of {pages}"
    first = pane.picture.pixmap().width()
    pane.zoom.setCurrentIndex(pane.zoom.findData(2.0))
    assert pane.picture.pixmap().width() > first
    for _ in range(pages):
        pane.turn(1)
    assert pane.page == pages - 1
    assert not pane.forward.isEnabled()


def test_a_quote_that_fails_tells_and_keeps_the_job(
    desk: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An exception in the worker reaches the person, not the void."""

    def fails(*_: object) -> bytes:
        raise RuntimeError("no ink")

    monkeypatch.setattr("estimator.documents.quote.write_quote", fails)
    desk.said.saves = tmp_path / "quote.pdf"
    desk.said.yes = True
    before = desk.job
    desk.window.files.papers.write_draft()
    desk.bot.waitUntil(lambda: bool(desk.said.told))
    assert desk.said.told[-1] == ("The paper could not be made", ("no ink", "The job is as it was."))
    assert list(tmp_path.glob("*.pdf")) == []
    assert desk.job is before


def test_the_file_of_a_draft_says_so_and_one_that_is_there_is_asked_for(desk: Hands, tmp_path: Path) -> None:
    """What is left out of the typed name is put in; the save dialog asked for the typed name alone."""
    desk.quick()
    target = tmp_path / "offer-draft.pdf"
    desk.said.saves = tmp_path / "offer.pdf"
    desk.said.yes = True
    desk.window.files.papers.write_draft()
    desk.bot.waitUntil(target.exists, timeout=20_000)
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy)
    assert not (tmp_path / "offer.pdf").exists()
    assert desk.window.statusBar().currentMessage() == f"Wrote {target}."
    written = target.read_bytes()
    desk.said.yes, desk.said.asked = False, []
    desk.put(desk.editor("quote", "title"), "Another")
    desk.window.files.papers.write_draft()
    assert desk.said.asked == ["“offer-draft.pdf” is there already. What it holds would be replaced."]
    assert target.read_bytes() == written


def test_the_safety_notes_are_written_for_the_wall(desk: Hands, tmp_path: Path) -> None:
    desk.quick()
    target = desk.said.saves = tmp_path / "notes.pdf"
    desk.command("file.safety")
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=20_000)
    assert desk.window.statusBar().currentMessage() == f"Wrote {target}."
    text = text_of(target.read_bytes())
    assert "In an emergency" in text and "Floor plan" in text and "$" not in text


def test_a_draft_is_asked_about_once_and_by_its_own_name(desk: Hands, tmp_path: Path) -> None:
    """The typed offer.pdf is not what is written: nobody is asked about it, whatever it holds."""
    desk.quick()
    (tmp_path / "offer.pdf").write_bytes(b"%PDF theirs")
    (tmp_path / "offer-draft.pdf").write_bytes(b"%PDF older")
    desk.said.saves, desk.said.yes = tmp_path / "offer.pdf", True
    desk.window.files.papers.write_draft()
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=20_000)
    assert desk.said.asked == ["“offer-draft.pdf” is there already. What it holds would be replaced."]
    assert (tmp_path / "offer.pdf").read_bytes() == b"%PDF theirs"
    assert (tmp_path / "offer-draft.pdf").read_bytes() != b"%PDF older"


def test_a_paper_that_still_waits_is_there_already(desk: Hands, tmp_path: Path) -> None:
    """A second one of its name would have gone over it unasked: its file was not there yet."""
    desk.quick()
    desk.said.saves = tmp_path / "offer.pdf"
    for _ in range(2):
        desk.window.files.papers.write_draft()
    assert desk.said.asked == [
        "“offer-draft.pdf” is being written just now. What it holds would be replaced."
    ]
    assert desk.window.files.papers.queue.names == ("offer-draft.pdf",)
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)


@pytest.mark.parametrize(
    ("typed", "kinds", "chosen", "name"),
    [
        ("Quote no. 7", "PDF (*.pdf)", "PDF (*.pdf)", "Quote no. 7.pdf"),
        ("quay v1.2", "Jobs (*.baydrop);;All files (*)", "All files (*)", "quay v1.2.baydrop"),
        ("prices", "CSV (*.csv);;XLSX (*.xlsx)", "XLSX (*.xlsx)", "prices.xlsx"),
        ("prices 2.5", "CSV (*.csv);;XLSX (*.xlsx)", "CSV (*.csv)", "prices 2.5.csv"),
        ("prices.XLSX", "CSV (*.csv);;XLSX (*.xlsx)", "CSV (*.csv)", "prices.XLSX"),
        ("prices.csv", "CSV (*.csv);;XLSX (*.xlsx)", "XLSX (*.xlsx)", "prices.csv"),
        ("prices", "CSV (*.csv);;XLSX (*.xlsx)", "", "prices.csv"),
    ],
)
def test_a_name_has_its_ending_before_anybody_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, typed: str, kinds: str, chosen: str, name: str
) -> None:
    """The ending that was typed; else that of the kind chosen in the dialog, whatever dots are in the name."""

    class Asked(Dialogs):
        def ask(self, title: str, question: str, yes: str, no: str = "Cancel") -> bool:
            asked.append(question)
            return False

    asked: list[str] = []
    monkeypatch.setattr(
        QFileDialog, "getSaveFileName", lambda *_, **__: (str(tmp_path / typed), chosen), raising=True
    )
    assert Asked().where_to("Write", kinds, Path("suggestion")) == tmp_path / name
    (tmp_path / name).touch()
    assert Asked().where_to("Write", kinds, Path("suggestion")) is None
    assert asked == [f"“{name}” is there already. What it holds would be replaced."]


def test_enter_alone_replaces_nothing(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """The button that a question begins with is the one that leaves everything as it is."""
    defaults: list[str] = []

    def execute(box: QMessageBox) -> int:
        defaults.append(box.defaultButton().text())
        return 0

    monkeypatch.setattr(QMessageBox, "exec", execute)
    dialogs = Dialogs()
    dialogs.stand_above(desk.window)
    assert not dialogs.ask("Write", "It is there already.", "Replace it")
    assert dialogs.choose("Unsaved", "Found.", "", ("Open it", "Discard it"), "Ask again later") is None
    assert defaults == ["Cancel", "Ask again later"]


def test_the_bar_of_what_is_under_way_takes_no_more_room_than_it_needs(desk: Hands, tmp_path: Path) -> None:
    """Its button was stretched over a fifth of the window, 258 pixels of 1366."""
    gate = threading.Event()
    desk.window.files.papers.start(lambda _: gate.wait(30), lambda _: None, print, tmp_path / "a")
    busy = desk.window.busy
    desk.bot.waitUntil(lambda: busy.isVisible() and busy.cancel.width() > 0)
    assert busy.cancel.width() == busy.cancel.sizeHint().width()
    assert busy.width() <= busy.sizeHint().width()
    gate.set()
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy)


def test_examples_open_as_new_jobs(desk: Hands) -> None:
    """Both examples are in the menu; saving asks for a name of one's own."""
    names = [a.text() for a in desk.window.menus.menus["&File/Open &example"].actions()]
    assert names == ["Gannet Quay", "Harrow Mill", "Tern Bank"]
    desk.command("file.example.gannet-quay")
    assert len(desk.job.design.drops) == 22
    assert desk.window.session.path is None


def test_the_theme_is_remembered(desk: Hands) -> None:
    """Light, dark, or as the system; the next window starts with it."""
    for choice in ("dark", "light", "system"):
        desk.window.files.show_theme(choice)
        assert Files(Session(Job(), shipped_price_book()), Said()).theme == choice
    themes = desk.window.menus.menus["&View/T&heme"].actions()
    assert [a.objectName() for a in themes if a.isChecked()] == ["view.theme.system"]


def test_a_job_named_at_the_start_is_opened(home: Path, tmp_path: Path, qtbot: object) -> None:
    """`open_path` is what the start does with its argument; a missing file tells and stays blank."""
    save_job(tmp_path / "a.baydrop", Job.model_validate({"customer": {"name": "Quay"}}))
    window, _ = make_window()
    said = Said()
    window.files.dialogs = said
    assert not window.files.open_path(tmp_path / "missing.baydrop")
    assert said.told
    assert window.session.job == Job()
    assert window.files.open_path(tmp_path / "a.baydrop")
    assert window.session.job.customer.name == "Quay"
    field = window.go_to_page("customer").editor_at(("name",))
    assert field is not None
    assert isinstance(field.input, LineEdit)
    assert field.input.text() == "Quay"
    window.close()
    window.deleteLater()


class TestNames:
    def test_the_question_about_replacing_comes_after_the_ending(self, desk: Hands, tmp_path: Path) -> None:
        """Typed “foo” while foo.baydrop is there: asked, and left alone unless the person says so."""
        save_job(tmp_path / "foo.baydrop", Job.model_validate({"customer": {"name": "Somebody"}}))
        desk.put(desk.editor("customer", "name"), "Quay")
        desk.said.saves = tmp_path / "foo"
        assert not desk.window.files.save_as()
        assert load_job(tmp_path / "foo.baydrop").customer.name == "Somebody"
        assert "“foo.baydrop” is there already" in desk.said.asked[-1]
        desk.said.yes = True
        assert desk.window.files.save_as()
        assert load_job(tmp_path / "foo.baydrop").customer.name == "Quay"

    def test_a_photo_is_not_written_over_by_a_job(self, desk: Hands, tmp_path: Path) -> None:
        photo = tmp_path / "hall.baydrop"
        photo.write_bytes(b"\xff\xd8\xff")
        desk.said.saves, desk.said.yes = photo, True
        assert not desk.window.files.save_as()
        assert photo.read_bytes() == b"\xff\xd8\xff"
        assert "another program" in desk.said.told[-1][1][0]


class TestTwoWindows:
    def open(self, desk: Hands, tmp_path: Path) -> Path:
        path = tmp_path / "quay.baydrop"
        save_job(path, Job.model_validate({"customer": {"name": "Quay"}}))
        assert desk.window.files.open_path(path)
        desk.put(desk.editor("customer", "name"), "Mine")
        return path

    @staticmethod
    def kept_in(desk: Hands) -> Path | None:
        return desk.window.session.path

    def test_the_last_one_does_not_win_in_silence(self, desk: Hands, tmp_path: Path) -> None:
        """Nothing is written; theirs can be compared with and taken, and undo brings mine back."""
        path = self.open(desk, tmp_path)
        theirs = Job.model_validate({"customer": {"name": "Theirs"}})
        save_job(path, theirs)
        assert not desk.window.files.save()
        assert load_job(path) == theirs
        desk.said.choices = [2, 1]
        assert desk.window.files.save()
        assert "Customer, Name: Mine → Theirs." in desk.said.told[-1][1]
        assert desk.job == theirs
        assert not desk.window.session.is_modified
        desk.command("edit.undo")
        assert desk.job.customer.name == "Mine"
        assert desk.window.files.save()
        assert load_job(path).customer.name == "Mine"

    def test_mine_can_be_kept_as_a_copy(self, desk: Hands, tmp_path: Path) -> None:
        path = self.open(desk, tmp_path)
        save_job(path, Job())
        desk.said.choices, desk.said.saves = [0], tmp_path / "mine"
        assert desk.window.files.save()
        assert load_job(path) == Job()
        assert load_job(tmp_path / "mine.baydrop").customer.name == "Mine"
        assert desk.window.session.path == tmp_path / "mine.baydrop"

    def test_a_job_that_is_open_elsewhere_opens_as_a_copy(self, desk: Hands, tmp_path: Path) -> None:
        path = tmp_path / "quay.baydrop"
        save_job(path, Job.model_validate({"customer": {"name": "Quay"}}))
        other, _ = JobFile.read(path)
        other.take()
        assert not desk.window.files.open_path(path)
        desk.said.choices = [0]
        assert desk.window.files.open_path(path)
        assert self.kept_in(desk) is None
        desk.said.choices = [1]
        assert desk.window.files.open_path(path)
        assert self.kept_in(desk) == path
        assert other.lock is not None
        assert not other.lock.is_held

    def test_earlier_versions_open_as_new_jobs(self, desk: Hands, tmp_path: Path) -> None:
        path = self.open(desk, tmp_path)
        assert desk.window.files.save()
        (version,) = desk.listing("file.earlier")
        version.trigger()
        assert desk.job.customer.name == "Quay"
        assert desk.window.session.path is None
        assert load_job(path).customer.name == "Mine"


class TestRecovery:
    def test_a_person_who_types_steadily_gets_a_copy(self, desk: Hands) -> None:
        """An act every second for 20 s by the window's clock: no 5 s without a copy."""
        files, now = desk.window.files, [0.0]
        files.clock = lambda: now[0]
        due: list[float] = []
        for second in range(20):
            now[0] = float(second)
            desk.window.session.act(
                "Name", job=desk.job.model_copy(update={"customer": Party(name=f"{second}")})
            )
            due.append(second + files._timer.remainingTime() / 1000)
            if due[-1] <= second + 1:
                files._timer.timeout.emit()
                (copy,), _ = autosave.copies()
                assert autosave.read(copy.job_id).customer.name == str(second)
        assert sum(at <= i + 1.0 for i, at in enumerate(due)) >= 4

    def test_undo_back_to_what_was_saved_clears_it(self, desk: Hands) -> None:
        desk.put(desk.editor("customer", "name"), "Quay")
        desk.window.files.write_recovery()
        assert len(autosave.copies()[0]) == 1
        desk.command("edit.undo")
        assert autosave.copies() == ((), ())

    def test_both_dates_and_the_difference_are_told(self, desk: Hands, tmp_path: Path) -> None:
        """A copy older than the file: opened, its save asks; beside, it has no file; discarded, it is gone."""
        path = tmp_path / "quay.baydrop"
        file = JobFile.to_be(path)
        file.save(Job.model_validate({"customer": {"name": "Saved"}}))
        held = file.mark
        file.save(Job.model_validate({"customer": {"name": "Newer"}}))
        copy = Job.model_validate({"customer": {"name": "Copy"}, "terms": {"locale": "de_DE"}})
        for answer in (0, 1, 2):
            autosave.write(f"c{answer}", copy, path, datetime(2026, 11, 25, 8, 30, tzinfo=UTC), held=held)
            desk.said.choices = [answer]
            assert desk.window.files.offer_recovery() == (answer < 2)
            told = desk.said.asked[-1]
            # The day as the copy's own job writes days; the hour is that of this computer's zone.
            day = r"2[456]\. November 2026, \d\d:\d\d:00"
            assert re.search(rf"copy was written {day}\.", told)
            assert re.search(r"quay\.baydrop was saved \d+\. \w+ \d{4}, \d\d:\d\d:\d\d", told)
            assert "Newer → Copy" in told
            assert not autosave.path_of(f"c{answer}").exists()
            if answer == 0:
                assert desk.window.session.path == path
                assert not desk.window.files.save()
                assert load_job(path).customer.name == "Newer"
            elif answer == 1:
                assert desk.window.session.path is None

    def test_a_copy_goes_only_when_the_next_one_is_whole(
        self, desk: Hands, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """On a full disk the copy of the recovered job cannot be written: the one it came from stays, until the job
        is in a file."""
        autosave.write("c", Job(customer=Party(name="Mine")), None)
        desk.said.choices = [0]

        def full(*_: object) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        with monkeypatch.context() as patch:
            patch.setattr(os, "fsync", full)
            assert desk.window.files.offer_recovery()
        assert desk.job.customer.name == "Mine"
        assert [c.job_id for c in autosave.copies()[0]] == ["c"]
        assert "No space left" in desk.window.statusBar().currentMessage()
        desk.said.saves = tmp_path / "mine.baydrop"
        assert desk.window.files.save()
        assert autosave.copies() == ((), ())

    def test_a_copy_changed_by_somebody_else_stays_beside_a_new_one(self, desk: Hands) -> None:
        desk.put(desk.editor("customer", "name"), "Quay")
        files = desk.window.files
        files.write_recovery()
        (first,), _ = autosave.copies()
        path = autosave.path_of(first.job_id)
        theirs = path.read_bytes().replace(b"Quay", b"Mole")
        path.write_bytes(theirs)
        desk.put(desk.editor("customer", "name"), "Harbour")
        files.write_recovery()
        assert path.read_bytes() == theirs
        assert {c.title for c in autosave.copies()[0]} == {"Mole", "Harbour"}
        desk.command("edit.undo")
        desk.command("edit.undo")
        assert {c.title for c in autosave.copies()[0]} == {"Mole"}

    def test_a_copy_left_under_an_earlier_name_of_this_computer_is_offered(self, desk: Hands) -> None:
        """Its lock names another computer, whose processes cannot be seen; the person knows better."""
        autosave.write("c", Job(customer=Party(name="Mine")), None)
        lock = {"user": "ann", "machine": "old-name", "process": 7, "began": "", "token": "t"}
        text = json.dumps({**lock, "since": "2026-11-25T08:30:00+00:00"})
        lock_path(autosave.path_of("c")).write_text(text, encoding="utf-8")
        desk.said.choices = [1]
        assert desk.window.files.offer_recovery()
        assert "in use by ann on “old-name”" in desk.said.asked[-1]
        assert desk.job.customer.name == "Mine"
        own = take_lock(autosave.path_of("d"))
        assert own is not None
        autosave.write("d", Job(customer=Party(name="Of an open window")), None)
        desk.said.choices = [2, 2]
        assert not desk.window.files.offer_recovery()
        assert [c.title for c in autosave.copies()[0]] == ["Of an open window", "Mine"]
        own.release()


def test_settings_of_two_windows_are_both_kept(desk: Hands, tmp_path: Path) -> None:
    """Each knows what it read at its start; the last to write does not put back what the other changed."""
    path = tmp_path / "quay.baydrop"
    save_job(path, Job())
    other = Files(Session(Job(), desk.window.session.book), Said())
    desk.command("view.theme.dark")
    other.open_path(path)
    other.show_units(UnitSystem.US)
    assert (other.theme, desk.window.files.theme) == ("system", "dark")
    other.end(b"", b"")
    desk.said.saves = tmp_path / "mine.baydrop"
    assert desk.window.files.save()
    there, _ = load_settings()
    assert (there.theme, there.units) == (ThemeChoice.DARK, UnitSystem.US)
    assert there.recent == (str(tmp_path / "mine.baydrop"), str(path))
    assert desk.window.files.recent() == (tmp_path / "mine.baydrop", path)


def test_a_colleagues_prices_do_not_vanish(desk: Hands) -> None:
    """They change one row in the file, I another one here: both are in the file, theirs is offered, undo leaves it."""
    session, path = desk.window.session, user_price_book_path()
    base = session.book

    def renamed(at: int, words: str, book: PriceBook) -> PriceBook:
        entries = list(book.entries)
        entries[at] = entries[at].model_copy(update={"description": words})
        return book.model_copy(update={"entries": tuple(entries)})

    save_price_book(path, renamed(0, "Theirs", base))
    session.act("Mine", book=renamed(1, "Mine", base))
    both = renamed(1, "Mine", renamed(0, "Theirs", base))
    assert load_price_book(path) == both
    assert session.book == renamed(1, "Mine", base)
    dialog = desk.window.exchange.dialog
    assert dialog is not None
    assert [c.words_in("en_US") for c in dialog.outcome.changes if "Theirs" in c.words_in("en_US")]
    desk.press(dialog.take)
    assert session.book == both
    session.undo()
    assert session.book == renamed(1, "Mine", base)
    assert load_price_book(path) == both, "undo changed what the colleague wrote"
    session.undo()
    assert load_price_book(path) == renamed(0, "Theirs", base)


def test_a_price_book_near_its_limit_is_warned_of_at_the_edit(
    desk: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only an import warned. Once for what is told: an edit that leaves the number of entries says it no more."""
    monkeypatch.setattr(pricebooks, "_NEAR", 0.0)
    session = desk.window.session
    said: list[str] = []
    session.said.connect(said.append)
    last = session.book.entries[-1]

    def edited(**more: object) -> PriceBook:
        entries = (*session.book.entries, last.model_copy(update=more))
        return session.book.model_copy(update={"entries": entries})

    session.act("Add", book=edited(code="NEW-1"))
    number = len(session.book.entries)
    assert said == [
        f"The price book takes {number} of {MOST_ENTRIES} entries; remove entries that are not used soon."
    ]
    entries = (*session.book.entries[:-1], last.model_copy(update={"code": "NEW-1", "description": "Other"}))
    session.act("Words", book=session.book.model_copy(update={"entries": entries}))
    assert len(said) == 1
    session.act("Add", book=edited(code="NEW-2"))
    assert f"{number + 1} of" in said[1]
