"""A person at the window: types, chooses, presses; never sets the job."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path as FilePath
from typing import Any

from pydantic import BaseModel
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QWidget
from pytestqt.qtbot import QtBot

from estimator.acts.typed import text_of
from estimator.desk.doing.questions import Dialogs, UnsavedAnswer
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.form import Form
from estimator.desk.form.inputs import CheckBox, ChoicesBox, ComboBox, LineEdit, TextArea
from estimator.desk.form.pages import BookPage, FormPage, QuickPage, RowsPage
from estimator.desk.form.rows import RowsEditor
from estimator.desk.window import Window
from estimator.model.job import Job
from estimator.model.spec import FieldKind, fields_of

__all__ = ["Hands", "Said", "room_of", "shown"]


def room_of(box: QComboBox) -> int:
    """Pixels that a drop-down has for the words that it shows."""
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    field = QStyle.SubControl.SC_ComboBoxEditField
    return box.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, field, box).width()


class Said(Dialogs):
    """Answers the window's questions as the test wants, and keeps what the window told."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[tuple[str, tuple[str, ...]]] = []
        self.unsaved = UnsavedAnswer.DISCARD
        self.unsaved_asked = 0
        self.yes = False
        self.asked: list[str] = []
        self.choices: list[int | None] = []
        self.waits = True
        self.waited: list[str] = []
        self.opens: FilePath | None = None
        self.saves: FilePath | None = None

    def tell(self, title: str, sentences: Sequence[str]) -> None:
        """Keep it."""
        self.told.append((title, tuple(sentences)))

    def ask(self, title: str, question: str, yes: str, no: str = "Cancel") -> bool:
        """The answer set before."""
        self.asked.append(question)
        return self.yes

    def choose(
        self, title: str, question: str, more: str, choices: Sequence[str], otherwise: str = "Cancel"
    ) -> int | None:
        """The answers set before, one after the other; after them the first choice or none, as `yes` says."""
        self.asked.append(f"{question} {more}")
        if self.choices:
            return self.choices.pop(0)
        return 0 if self.yes else None

    def wait_for(self, is_there: Callable[[], bool], name: str) -> bool:
        """Wait for it, or not, as set before."""
        self.waited.append(name)
        while self.waits and not is_there():
            QTest.qWait(1)
        return is_there()

    def ask_unsaved(self, name: str, warning: str = "") -> UnsavedAnswer:
        """The answer set before."""
        self.unsaved_asked += 1
        return self.unsaved

    def open_file(self, title: str, kinds: str, folder: FilePath | None = None) -> FilePath | None:
        """The file set before."""
        return self.opens

    def save_file(self, title: str, kinds: str, suggestion: FilePath) -> tuple[FilePath, str] | None:
        """The file set before, of the first kind."""
        return None if self.saves is None else (self.saves, kinds.partition(";;")[0])


class Hands:
    """Works the window by its widgets."""

    def __init__(self, window: Window, said: Said, bot: QtBot) -> None:
        self.window = window
        self.said = said
        self.bot = bot

    @property
    def job(self) -> Job:
        """The open job, to look at."""
        return self.window.session.job

    @staticmethod
    def key(
        widget: QWidget, key: Qt.Key, modifiers: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier
    ) -> None:
        """Press and release a key."""
        QTest.keyClick(widget, key, modifiers)

    @staticmethod
    def type(widget: QWidget, text: str) -> None:
        """Type a text; a test keyboard has ASCII only."""
        QTest.keyClicks(widget, text)

    @staticmethod
    def click(widget: QWidget, at: QPoint | None = None) -> None:
        """Press and release the left button, in the middle if nowhere else is said."""
        QTest.mouseClick(
            widget, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, at or widget.rect().center()
        )

    def press(self, button: QWidget) -> None:
        """Click in the middle of a button."""
        assert button.isEnabled(), button.accessibleName()
        self.click(button)

    def command(self, name: str) -> None:
        """Choose a command in its menu."""
        action = self.window.menus.actions[name]
        assert action.isEnabled(), name
        action.trigger()

    def wait_for_options(self) -> None:
        """Until every option that is wanted is worked out beside the window."""
        self.bot.waitUntil(lambda: not self.window.session.studies.is_busy, timeout=60_000)

    def listing(self, name: str) -> list[QAction]:
        """Open a menu whose lines follow the job."""
        menu = self.window.menus.menus[name]
        menu.aboutToShow.emit()
        return menu.actions()

    def form(self, page: str) -> Form:
        """The form of a page, brought into view."""
        found = self.window.go_to_page(page)
        if isinstance(found, FormPage):
            return found.form
        if isinstance(found, QuickPage):
            return found.panel.form
        form = self.rows(page).form
        assert isinstance(form, Form)
        return form

    def rows(self, page: str) -> RowsEditor:
        """The list of a page, brought into view."""
        found = self.window.go_to_page(page)
        if isinstance(found, BookPage):
            return found.panel.rows
        assert isinstance(found, RowsPage)
        return found.rows

    def press_build(self) -> None:
        """Press the button of the quick build."""
        page = self.window.go_to_page("quick")
        assert isinstance(page, QuickPage)
        self.press(page.panel.button)

    def editor(self, page: str, *path: str | int) -> FieldEditor:
        """The editor of a field below a page."""
        found = self.window.go_to_page(page).editor_at(tuple(path))
        assert found is not None, path
        return found

    def editor_here(self, name: str) -> FieldEditor:
        """The editor of a field of the rows selected on the page in view."""
        rows = self.window.rows_in_view()
        assert rows is not None
        assert rows.form is not None
        return rows.form.editors[name]

    def quick(self) -> None:
        """A quick build with its defaults."""
        self.press_build()

    def named_job(self) -> None:
        """The quick build's design with the names without which nothing is issued."""
        self.quick()
        for page, field, text in (
            ("quote", "number", "Q-1"),
            ("company", "name", "Any installer"),
            ("customer", "name", "Any customer"),
        ):
            self.put(self.editor(page, field), text)

    def put(self, editor: FieldEditor, raw: str | bool) -> None:
        """Type, choose or tick, and leave the field."""
        field = editor.input
        if isinstance(field, CheckBox):
            if field.isChecked() is not raw:
                self.click(field)
        elif isinstance(field, ComboBox):
            wanted = field.findData(raw)
            assert wanted >= 0, f"{raw!r} is no choice of {editor.field.label}"
            field.setCurrentIndex(wanted)
            field.activated.emit(wanted)
        elif isinstance(field, ChoicesBox):
            keys = [key.strip() for key in str(raw).split(",")]
            field.menu().aboutToShow.emit()
            for row in range(field.list.count()):
                item = field.list.item(row)
                ticked = item.data(Qt.ItemDataRole.UserRole) in keys
                if (item.checkState() is Qt.CheckState.Checked) is not ticked:
                    field.list.setCurrentRow(row)
                    self.key(field.list, Qt.Key.Key_Space)
            field.menu().aboutToHide.emit()
        elif isinstance(field, TextArea):
            field.setFocus()
            field.selectAll()
            field.insertPlainText(str(raw)) if raw else field.clear()
            self.key(field, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
        else:
            assert isinstance(field, LineEdit)
            field.setFocus()
            field.selectAll()
            self.key(field, Qt.Key.Key_Delete)
            if any(ord(c) > 126 for c in str(raw)):
                # A test keyboard types only ASCII; anything else comes as a person would paste it.
                field.insert(str(raw))
                field.textEdited.emit(field.text())
            else:
                self.type(field, str(raw))
            self.key(field, Qt.Key.Key_Return)

    def fill(self, form: Form, target: BaseModel) -> None:
        """Make every field of a form say what the target says, by typing where it differs."""
        for field in fields_of(type(target)):
            value = getattr(target, field.name)
            if field.kind is FieldKind.PICTURE:
                # Taken from a file, not typed.
                assert not value, f"{field.label} is not filled in by hand"
            elif field.name in form.editors:
                editor = form.editors[field.name]
                raw: str | bool = value if isinstance(value, bool) else text_of(field, value)
                if raw != shown(editor):
                    self.put(editor, raw)
            elif field.name in form.groups:
                self.fill(form.groups[field.name], value)
            elif field.name in form.lists:
                self.fill_rows(form.lists[field.name], value)

    def fill_rows(self, rows: RowsEditor, targets: Sequence[Any]) -> None:
        """Make a list say what the targets say: remove, add, move and type."""
        wanted = [key_of(t) for t in targets]
        extra = [i for i, row in enumerate(rows.rows.rows) if key_of(row) not in wanted]
        if extra:
            rows.select(extra)
            self.press(rows.buttons["remove"])
        assert isinstance(rows.form, Form)
        for i, target in enumerate(targets):
            here = [key_of(row) for row in rows.rows.rows]
            if key_of(target) in here:
                rows.select([here.index(key_of(target))])
                for _ in range(here.index(key_of(target)) - i):
                    self.press(rows.buttons["up"])
            else:
                rows.select([i - 1] if i else [])
                self.press(rows.buttons["add"])
                if not i and here:
                    for _ in range(rows.selection[0]):
                        self.press(rows.buttons["up"])
            assert rows.selection == [i]
            self.fill(rows.form, target)


def key_of(row: Any) -> str:
    """What tells a row from its neighbours."""
    for name in ("id", "code", "service", "product", "segment"):
        if hasattr(row, name):
            return str(getattr(row, name))
    raise AssertionError(row)


def shown(editor: FieldEditor) -> str | bool:
    """What a field shows."""
    field = editor.input
    if isinstance(field, CheckBox):
        return field.isChecked()
    if isinstance(field, ComboBox):
        return str(field.currentData() or "")
    if isinstance(field, ChoicesBox):
        return ", ".join(field.chosen)
    if isinstance(field, TextArea):
        return field.toPlainText()
    return field.text()
