"""What a stranger's file says is shown as text in every window: no markup, no picture of the disk, nothing obeyed."""

from __future__ import annotations

import ast
import re
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractItemModel, QAbstractListModel, QModelIndex, QPoint
from PySide6.QtGui import QAction, QColor, QImage, Qt, QTextDocument
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QCompleter,
    QHeaderView,
    QLabel,
    QLineEdit,
    QMessageBox,
    QPlainTextEdit,
    QPushButton,
    QStatusBar,
    QTabWidget,
    QToolTip,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from estimator.acts.issue import issue, withdraw
from estimator.desk.doing.exchange_dialog import BulkDialog, ImportDialog
from estimator.desk.doing.questions import Dialogs
from estimator.desk.form.inputs import LineEdit, TextArea
from estimator.desk.plain import Label, menu_words, tip, title
from estimator.model.edit import with_value
from estimator.store import autosave
from estimator.store.book_exchange import export_book
from estimator.store.document import JobFile
from estimator.store.jobs import save_job
from estimator.store.pricebooks import save_price_book, user_price_book_path
from estimator.study import study
from tests.days import STUDIED
from tests.desk.hands import Hands
from tests.desk.test_propose import propose
from tests.hostile import FREE_TEXTS, MARKUP, hostile, hostile_job

DESK = Path(__file__).parents[2] / "estimator" / "desk"
_OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
_ROLES = {
    "text": Qt.ItemDataRole.DisplayRole,
    "tip": Qt.ItemDataRole.ToolTipRole,
    "status": Qt.ItemDataRole.StatusTipRole,
    "what's this": Qt.ItemDataRole.WhatsThisRole,
    "accessible text": Qt.ItemDataRole.AccessibleTextRole,
    "accessible description": Qt.ItemDataRole.AccessibleDescriptionRole,
}
_GUESSED = {"tip", "what's this", "label"}
"""Where the toolkit guesses whether a text is markup."""
_WITH_KEYS = {"action", "button", "buddy"}
"""Where an ampersand marks a key."""


def of_model(model: QAbstractItemModel, below: QModelIndex) -> Iterator[tuple[str, str]]:
    """Every text of a model's cells and headings, with its role."""
    # The toolkit hides the number of columns of a list, which is one.
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(below)
    for column in range(columns):
        for name, role in _ROLES.items():
            text = model.headerData(column, Qt.Orientation.Horizontal, role)
            if isinstance(text, str):
                yield name, text
    for row in range(model.rowCount(below)):
        for column in range(columns):
            index = model.index(row, column, below)
            for name, role in _ROLES.items():
                text = index.data(role)
                if isinstance(text, str):
                    yield name, text
            if column == 0 and model.rowCount(index):
                yield from of_model(model, index)


def texts_in(window: QWidget) -> Iterator[tuple[str, str, str]]:
    """Every text that a window shows or tells: whose, what of it, the text. What is being edited stays as it is."""
    for widget in (window, *window.findChildren(QWidget)):
        whose = f"{type(widget).__name__} {widget.objectName()}"
        yield whose, "tip", widget.toolTip()
        yield whose, "status", widget.statusTip()
        yield whose, "what's this", widget.whatsThis()
        yield whose, "accessible text", widget.accessibleName()
        yield whose, "accessible description", widget.accessibleDescription()
        yield whose, "title", widget.windowTitle()
        if isinstance(widget, QLabel):
            plain = widget.textFormat() is Qt.TextFormat.PlainText
            yield whose, "text" if plain else "label", widget.text()
            if widget.buddy() is not None:
                yield whose, "buddy", widget.text()
        if isinstance(widget, QAbstractButton):
            yield whose, "button", widget.text()
        if isinstance(widget, QTabWidget):
            for i in range(widget.count()):
                yield whose, "button", widget.tabText(i)
        if isinstance(widget, QLineEdit | QPlainTextEdit):
            yield whose, "text", widget.placeholderText()
        if isinstance(widget, QLineEdit) and (completer := widget.completer()) is not None:
            for _, text in of_model(completer.model(), QModelIndex()):
                yield whose, "completer", text
        if isinstance(widget, QStatusBar):
            yield whose, "text", widget.currentMessage()
        # A heading is a view of its table's model once more.
        if isinstance(widget, QComboBox | QAbstractItemView) and not isinstance(widget, QHeaderView):
            model = widget.model()
            if model is not None:
                for what, text in of_model(model, QModelIndex()):
                    yield whose, what, text
    for action in window.findChildren(QAction):
        whose = f"action {action.objectName()}"
        yield whose, "action", action.text()
        yield whose, "tip", action.toolTip()
        yield whose, "status", action.statusTip()


def wrong_in(window: QWidget) -> set[str]:
    """What of a window is not shown as text."""
    found = set()
    for whose, what, text in texts_in(window):
        if _OBEYED.search(text):
            found.add(f"{whose}, {what}: obeyed: {text!r}")
        if what in _GUESSED and "<img" in text and Qt.mightBeRichText(text):
            found.add(f"{whose}, {what}: markup: {text!r}")
        if what == "label" and "<img" in text:
            found.add(f"{whose}, {what}: markup: {text!r}")
        if what in _WITH_KEYS and re.search("(?<!&)&y", text):
            found.add(f"{whose}, {what}: a key: {text!r}")
    return found


def test_the_walk_notices_what_is_not_guarded(desk: Hands) -> None:
    window = QWidget(desk.window)
    window.setToolTip(MARKUP)
    QLabel(MARKUP, window)
    QPushButton(MARKUP, window)
    QComboBox(window).addItem(hostile(1))
    QLineEdit(window).setCompleter(QCompleter([hostile(1)], window))
    QTreeWidgetItem(QTreeWidget(window), [""]).setToolTip(0, MARKUP)
    kinds = sorted({wrong.split(":")[0] for wrong in wrong_in(window)})
    assert kinds == [
        "QComboBox , text",
        "QLabel , label",
        "QLineEdit , completer",
        "QListView , text",  # what the box unfolds to
        "QPushButton , button",
        "QTreeWidget , tip",
        "QWidget , tip",
    ]
    window.deleteLater()


def holds(window: QWidget, words: str) -> bool:
    """Whether a text is told somewhere in a window."""
    return any(words in text for _, _, text in texts_in(window))


@pytest.fixture
def strange(desk: Hands, tmp_path: Path) -> Hands:
    """The hostile job with a hostile revision, withdrawn with a hostile reason, in a file with a hostile name."""
    job, put = hostile_job()
    assert len(put) >= FREE_TEXTS
    session = desk.window.session
    session.today = lambda: STUDIED
    plain = with_value(job, ("alternatives",), ())
    made = issue(study(plain, session.book, STUDIED), hostile(90), lambda _: b"%PDF")
    made = withdraw(made, "A", STUDIED, hostile(91))
    whole = job.model_copy(update={"issued": made.issued, "ledger": made.ledger})
    entries = tuple(
        e.model_copy(update={"description": hostile(i), "source": hostile(i), "correlation": hostile(i)})
        for i, e in enumerate(session.book.entries)
    )
    session.act("Hostile book", book=session.book.model_copy(update={"entries": entries}))
    name = f"a{MARKUP.replace('/', '_')}[*]\u202e.baydrop"
    session.open(whole, tmp_path / name)
    return desk


def test_every_view_and_page_shows_it_as_text(strange: Hands) -> None:
    window = strange.window
    wrong: set[str] = set()
    for i in range(window.tabs.count()):
        window.tabs.setCurrentIndex(i)
        if window.tabs.currentWidget() is window.options:
            strange.wait_for_options()
        wrong |= wrong_in(window)
    for page in window.pages:
        window.go_to_page(page)
        wrong |= wrong_in(window)
    rows = strange.rows("drops")
    rows.select([0, 1])
    window.session.said.emit(f"Wrote {hostile(1)}.")
    wrong |= wrong_in(window)
    for listing in ("file.recent", "edit.history", "options.ready"):
        strange.listing(listing)
    wrong |= wrong_in(window)
    assert sorted(wrong) == []
    assert holds(window, MARKUP)


def test_every_dialog_shows_it_as_text(strange: Hands) -> None:
    window = strange.window
    dialog = propose(strange)
    wrong = wrong_in(dialog)
    assert holds(dialog, MARKUP)
    dialog.reject()
    window.exchange.change_group()
    bulk = window.exchange.dialog
    assert isinstance(bulk, BulkDialog)
    bulk.percent.setText("3")
    wrong |= wrong_in(bulk)
    assert holds(bulk, MARKUP)
    bulk.reject()
    assert sorted(wrong) == []


def test_every_message_shows_it_as_text(strange: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    wrong: set[str] = set()
    seen: list[str] = []

    def execute(box: QMessageBox) -> int:
        wrong.update(wrong_in(box))
        seen.append(box.text() + box.informativeText())
        return 0

    monkeypatch.setattr(QMessageBox, "exec", execute)
    dialogs = Dialogs()
    dialogs.stand_above(strange.window)
    dialogs.tell(hostile(1), [hostile(2)])
    dialogs.ask(hostile(1), hostile(2), hostile(3), hostile(4))
    dialogs.ask_unsaved(hostile(1), hostile(2))
    dialogs.choose(hostile(1), hostile(2), hostile(3), [hostile(4), hostile(5)])
    assert sorted(wrong) == []
    assert len(seen) == 4 and all(MARKUP in text for text in seen)


def strange_name(ending: str) -> str:
    """A name of a file as a disk takes it: the same without the one sign that parts folders."""
    return f"{hostile(7).replace('/', '_')}[*]{ending}"


def test_the_preview_of_an_import_shows_it_as_text(strange: Hands, tmp_path: Path) -> None:
    """Name of the file, entries that come, go and change, warnings; a file that is none too."""
    exchange, book = strange.window.exchange, strange.window.session.book
    theirs = tuple(
        e.model_copy(update={"description": hostile(300 + i), "low": 0, "likely": 0, "high": 0})
        for i, e in enumerate(book.entries[1:])
    )
    strange.said.opens = tmp_path / strange_name(".csv")
    new = theirs[0].model_copy(update={"code": "NEW", "description": hostile(299)})
    export_book(strange.said.opens, book.model_copy(update={"entries": (*theirs, new)}))
    exchange.import_book()
    strange.bot.waitUntil(lambda: exchange.dialog is not None, timeout=30_000)
    dialog = exchange.dialog
    assert isinstance(dialog, ImportDialog)
    wrong = wrong_in(strange.window) | wrong_in(dialog)
    dialog.mode.setCurrentIndex(dialog.mode.findData("replace"))
    wrong |= wrong_in(dialog)
    assert {line.cells[1] for line in dialog.table.lines} == {"added", "changed", "removed"}
    assert holds(dialog, MARKUP) and holds(dialog, MARKUP.replace("/", "_"))
    dialog.reject()
    assert sorted(wrong) == []


def test_the_papers_under_way_show_it_as_text(strange: Hands, tmp_path: Path) -> None:
    """Names of files in the status line: what is written, what closing waits for, what was left."""
    window, gate = strange.window, threading.Event()
    name = strange_name(".pdf")
    window.files.papers.start(lambda _: gate.wait(30), lambda _: None, print, tmp_path / name)
    strange.said.saves, strange.said.yes = tmp_path / name, True
    strange.command("file.quote")
    wrong = wrong_in(window)
    assert holds(window, MARKUP.replace("/", "_"))
    assert not window.close()
    wrong |= wrong_in(window)
    assert holds(window, "Closes when they are written")
    window.busy.stop()
    wrong |= wrong_in(window)
    gate.set()
    assert sorted(wrong) == []


class Boxes:
    """Every message that is shown, walked; presses the buttons of the words set before, Cancel after them."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.wrong: set[str] = set()
        self.titles: list[str] = []
        self.texts: list[str] = []
        self.press: list[str] = []
        self._pressed: QAbstractButton | None = None

        def execute(box: QMessageBox) -> int:
            # The toolkit's class hands itself over to a function alone, not to a method of another object.
            return self._execute(box)

        patch.setattr(QMessageBox, "exec", execute)
        patch.setattr(QMessageBox, "clickedButton", lambda _: self._pressed)

    def _execute(self, box: QMessageBox) -> int:
        self.wrong |= wrong_in(box)
        self.titles.append(box.windowTitle())
        self.texts.append(f"{box.text()} {box.informativeText()}")
        wanted = self.press.pop(0) if self.press else ""
        self._pressed = next((b for b in box.buttons() if wanted and b.text().startswith(wanted)), None)
        assert self._pressed is not None or not wanted, (wanted, [b.text() for b in box.buttons()])
        return 0


class RealDialogs(Dialogs):
    """The window's own messages; files are named as set before."""

    opens: Path | None = None
    saves: Path | None = None

    def open_file(self, title: str, kinds: str, folder: Path | None = None) -> Path | None:
        """The file set before."""
        return self.opens

    def save_file(self, title: str, kinds: str, suggestion: Path) -> tuple[Path, str] | None:
        """The file set before."""
        return None if self.saves is None else (self.saves, kinds.partition(";;")[0])


def test_every_question_about_files_shows_it_as_text(
    strange: Hands, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Changed outside and what is different, open elsewhere, there already, not a job, earlier versions, recovery,
    price book changed in the same cells, a paper that cannot be written: as they come up, with their own words."""
    window, boxes, dialogs = strange.window, Boxes(monkeypatch), RealDialogs()
    session, files = window.session, window.files
    dialogs.stand_above(window)
    files.dialogs = dialogs
    monkeypatch.setattr(files.papers, "_dialogs", dialogs)
    monkeypatch.setattr(window.exchange, "_dialogs", dialogs)
    mine = session.whole
    path = tmp_path / strange_name(".baydrop")
    dialogs.saves = path
    assert files.save_as()
    # Changed outside.
    theirs = with_value(mine, ("customer", "name"), hostile(400))
    save_job(path, with_value(theirs, ("terms", "exclusions"), (hostile(401),)))
    window.files.look_outside()
    assert wrong_in(window) == set()
    session.act_whole("Mine", with_value(mine, ("quote", "title"), hostile(402)))
    boxes.press = ["Compare", "", "Keep mine"]
    dialogs.saves = None
    assert not files.save()
    assert boxes.titles == ["The job was not saved", "What is different in theirs", "The job was not saved"]
    assert hostile(400)[:8] in boxes.texts[1]
    # Open elsewhere; there already; no job.
    dialogs.saves = tmp_path / strange_name("-2.baydrop")
    assert files.save_as()
    other, _ = JobFile.read(path)
    other.take()
    boxes.press = []
    assert not files.open_path(path)
    dialogs.saves = path
    assert not files.save_as()
    other.close()
    path.write_bytes(b"{")
    assert not files.open_path(path)
    assert {"This job is open elsewhere", "Save the job", "This file cannot be opened"} <= set(boxes.titles)
    # Earlier versions; unsaved changes on the way.
    session.act_whole("Mine", with_value(mine, ("quote", "title"), hostile(403)))
    assert files.save()
    assert strange.listing("file.earlier")
    assert wrong_in(window) == set()
    session.act_whole("Mine", with_value(mine, ("quote", "title"), hostile(404)))
    boxes.press = ["Cancel"]
    files.open_earlier(files.earlier()[0][1])
    assert boxes.titles[-1] == "Unsaved changes"
    # Recovery.
    autosave.write("lost", mine, path, datetime(2027, 3, 1, 8, tzinfo=UTC))
    autosave.write("lost2", mine, files.session.path, datetime(2027, 3, 1, 8, tzinfo=UTC))
    autosave.write("lost3", mine, None, datetime(2027, 3, 1, 8, tzinfo=UTC))
    boxes.press = []
    assert not files.offer_recovery()
    assert boxes.titles.count("Unsaved work was found") == 3
    assert "<img" in boxes.texts[-1] + boxes.texts[-2]
    # The price book, in the same cells as somebody else; a book that is none; a paper without a folder.
    entry, *rest = session.book.entries
    save_price_book(
        user_price_book_path(),
        session.book.model_copy(
            update={"entries": (entry.model_copy(update={"description": hostile(410)}), *rest)}
        ),
    )
    changed = entry.model_copy(update={"description": hostile(411)})
    session.act("Mine", book=session.book.model_copy(update={"entries": (changed, *rest)}))
    assert boxes.titles[-1] == "The price book was changed by somebody else"
    dialogs.opens = tmp_path / strange_name(".csv")
    dialogs.opens.write_text(f"currency,USD\n{hostile(412)},x\n", encoding="utf-8")
    window.exchange.import_book()
    strange.bot.waitUntil(lambda: boxes.titles[-1] == "This price book cannot be used", timeout=30_000)
    gone = tmp_path / strange_name("") / strange_name(".pdf")
    files.papers.start_copy(session.whole.issued[0], gone, "never", hostile(413))
    strange.bot.waitUntil(lambda: boxes.titles[-1] == "The paper was not written", timeout=30_000)
    assert sorted(boxes.wrong) == []
    assert wrong_in(window) == set()
    files.session.was_saved(tmp_path / "done")
    files.dialogs = strange.said


def test_a_name_loads_no_picture_from_the_disk(desk: Hands, tmp_path: Path) -> None:
    """The tip of the header, the way the toolkit draws it: the picture was read and shown."""
    picture = QImage(40, 40, QImage.Format.Format_RGB32)
    picture.fill(QColor(255, 0, 0))
    path = tmp_path / "red.png"
    assert picture.save(str(path))
    name = f'<img src="{path.as_uri()}">'
    window = desk.window
    window.session.open(with_value(window.session.job, ("customer", "name"), name), None)
    QToolTip.showText(window.mapToGlobal(QPoint(20, 20)), window.header.customer.toolTip(), window)
    (shown,) = [w for w in QApplication.topLevelWidgets() if w.inherits("QTipLabel") and w.isVisible()]
    drawn = shown.grab().toImage()
    red = sum(
        drawn.pixelColor(x, y) == QColor(255, 0, 0)
        for x in range(drawn.width())
        for y in range(drawn.height())
    )
    QToolTip.hideText()
    shown.hide()
    assert red == 0
    document = QTextDocument()
    document.setHtml(window.header.customer.toolTip())
    assert name in document.toPlainText()


def test_a_file_name_keeps_its_own_star_in_the_title(strange: Hands) -> None:
    """The toolkit takes “[*]” for the place of the mark of changes."""
    assert "[*][*]" in strange.window.windowTitle()
    assert title("a[*]\x9b") == "a[*][*]\\x9b"


def test_a_text_that_is_only_looked_at_is_not_changed(desk: Hands) -> None:
    """A long text with a hard space or a line separator was handed over as another one when it was left."""
    for text in (hostile(1), "a\u00a0b", "a\u2028b", "\ufdd0x", "two\nlines", "\x9bx"):
        area, line = TextArea(desk.window), LineEdit(desk.window)
        for field in (area, line):
            field.show_text(text)
            assert not field.is_typing, repr(text)
            field.deleteLater()


def test_a_long_text_keeps_its_hard_spaces_when_it_is_edited(desk: Hands) -> None:
    area = TextArea(desk.window)
    told: list[str] = []
    area.committed.connect(told.append)
    area.show_text("5\u00a0bar\nand\u2028more")
    area.insertPlainText("x")
    area.finish()
    assert told == ["x5\u00a0bar\nand\u2028more"]
    area.deleteLater()


def test_words_of_the_guards() -> None:
    assert tip("5 < 6 & 7") == "5 < 6 & 7"
    assert not Qt.mightBeRichText(tip("5 < 6 & 7"))
    assert "&lt;img" in tip(MARKUP) and "<img" not in tip(MARKUP)
    assert tip("a\x9bb\u202ec\n") == "a\\x9bb\\u202ec\n"
    assert menu_words("R&D\u2066") == "R&&D\\u2066"


# The guards cannot be passed by.


def called(path: Path) -> Iterator[tuple[int, str, ast.Call]]:
    """Every call in a file: line, the last name of what is called, the call."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
        if isinstance(node, ast.Call):
            yield node.lineno, getattr(node.func, "attr", getattr(node.func, "id", "")), node


_ONLY_GUARDED = frozenset(
    {"QLabel", "QMessageBox", "QTreeWidgetItem", "QListWidgetItem", "setWhatsThis", "setHtml", "QTextEdit"}
    | {"QTextBrowser", "QErrorMessage", "QInputDialog", "QProgressDialog", "setTextFormat", "showMessage"}
)
"""What shows a text and guesses, or obeys, what it is."""


def passed_by(folder: Path) -> list[str]:
    """Where a text is shown without a guard."""
    found = []
    for path in sorted(folder.rglob("*.py")):
        if path.name == "plain.py":
            continue
        for line, name, call in called(path):
            here = f"{path.relative_to(folder)}:{line} {name}"
            if name in _ONLY_GUARDED:
                found.append(here)
            if name in {"setToolTip", "showText", "setWindowTitle"} and call.args:
                text = call.args[1] if name == "showText" else call.args[-1]
                guard = getattr(getattr(text, "func", None), "id", "")
                constant = isinstance(text, ast.Constant)
                if not constant and guard not in {"tip", "title", "markup_tip", "as_title"}:
                    found.append(here)
    return found


def test_no_text_is_shown_without_a_guard() -> None:
    assert passed_by(DESK) == []


def test_a_text_without_a_guard_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "late.py").write_text(
        "label = QLabel(name)\nbox.setToolTip(name)\nbox.setToolTip(tip(name))\nbox.setToolTip('fixed')\n",
        encoding="utf-8",
    )
    assert passed_by(tmp_path) == ["late.py:1 QLabel", "late.py:2 setToolTip"]


def test_a_label_is_plain(desk: Hands) -> None:
    label = Label(MARKUP, desk.window)
    assert label.textFormat() is Qt.TextFormat.PlainText
    label.setText("a\x9bb")
    assert label.text() == "a\\x9bb"
    label.deleteLater()
