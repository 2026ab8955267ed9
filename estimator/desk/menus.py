"""Menus and keys."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from estimator.units import UnitSystem

if TYPE_CHECKING:
    from estimator.desk.window import Window

__all__ = ["Menus"]

_UNITS = {UnitSystem.METRIC: "&Metric (m, bar, L/min)", UnitSystem.US: "&US (ft, psi, gpm)"}


class Menus:
    """The menu bar of the window; every command is here, so every command can be reached by keyboard."""

    def __init__(self, window: Window) -> None:
        self._window = window
        bar = window.menuBar()
        files, session = window.files, window.session
        self.file = bar.addMenu("&File")
        self._add(self.file, "&New", files.new, QKeySequence.StandardKey.New)
        self._add(self.file, "&Open…", files.open, QKeySequence.StandardKey.Open)
        self.recent = self.file.addMenu("Open &recent")
        self.examples = self.file.addMenu("Open &example")
        for path in files.examples():
            self._add(
                self.examples,
                path.stem.replace("-", " ").title(),
                partial(files.open_example, path),
            )
        self.file.addSeparator()
        self._add(self.file, "&Save", files.save, QKeySequence.StandardKey.Save)
        self._add(self.file, "Save &as…", files.save_as, "Ctrl+Shift+S")
        self.file.addSeparator()
        self._add(self.file, "Write quote &PDF…", files.write_pdf, "Ctrl+P")
        self.file.addSeparator()
        self._add(self.file, "&Quit", window.close, "Ctrl+Q")

        self.edit = bar.addMenu("&Edit")
        self.undo = self._add(self.edit, "&Undo", session.undo, QKeySequence.StandardKey.Undo)
        self.redo = self._add(self.edit, "&Redo", session.redo, QKeySequence.StandardKey.Redo)
        self.history = self.edit.addMenu("&History")
        self.history.aboutToShow.connect(self._fill_history)
        self.edit.addSeparator()
        self.row_actions = [
            self._add(self.edit, "&Add row", lambda: self._row("add"), "Ctrl+Ins"),
            self._add(self.edit, "&Duplicate row", lambda: self._row("duplicate"), "Ctrl+D"),
            self._add(self.edit, "Re&move rows", lambda: self._row("remove"), "Ctrl+Del"),
            self._add(self.edit, "Move row u&p", lambda: self._row("up"), "Ctrl+Shift+Up"),
            self._add(self.edit, "Move row do&wn", lambda: self._row("down"), "Ctrl+Shift+Down"),
        ]

        self.view = bar.addMenu("&View")
        for i, name in enumerate(
            (
                "&Floor plan",
                "&Takeoff and price",
                "Quote pre&view",
                "Pr&oof",
                "Range and ris&k",
                "Op&tions",
                "Re&visions",
            )
        ):
            self._add(self.view, name, partial(window.tabs.setCurrentIndex, i), f"Ctrl+{i + 1}")
        self._add(self.view, "Buyin&g", window.show_buying, "Ctrl+8")
        self.view.addSeparator()
        self._add(self.view, "&Next pane", lambda: window.cycle_panes(1), "F6")
        self._add(self.view, "Pre&vious pane", lambda: window.cycle_panes(-1), "Shift+F6")
        self._add(self.view, "&Reset pane widths", window.set_room)
        self.view.addSeparator()
        units = self.view.addMenu("&Units shown")
        self.units = QActionGroup(window)
        for system, text in _UNITS.items():
            action = self._add(units, text, partial(files.show_units, system))
            action.setCheckable(True)
            action.setData(system)
            self.units.addAction(action)
        theme = self.view.addMenu("T&heme")
        self.themes = QActionGroup(window)
        for choice, text in (("system", "&Follow the system"), ("light", "&Light"), ("dark", "&Dark")):
            action = self._add(theme, text, partial(files.show_theme, choice))
            action.setCheckable(True)
            action.setData(choice)
            self.themes.addAction(action)

        self.go = bar.addMenu("&Go")
        for i, page in enumerate(window.pages.values()):
            key = f"Alt+{(i + 1) % 10}" if i < 10 else f"Alt+Shift+{i - 9}"
            self._add(self.go, page.title, partial(window.enter, page.key), key)
        self.options = bar.addMenu("&Options")
        self._add(self.options, "&Make an option from the one worked on", self._make_option, "Ctrl+Shift+O")
        self.ready = self.options.addMenu("&Ready-made")
        self.ready.aboutToShow.connect(self._fill_ready)
        self._add(self.options, "&Side by side", partial(window.tabs.setCurrentWidget, window.options))
        self.options.addSeparator()
        self._add(self.options, "&Issue revision…", self._issue, "Ctrl+Shift+R")
        self.size = bar.addMenu("&Sizes")
        self._add(self.size, "&Propose sizes…", window.proposer.start, "Ctrl+R")
        self.book = bar.addMenu("Price &book")
        self._add(self.book, "&Edit price book", lambda: window.enter("book"), "Ctrl+B")
        exchange = window.exchange
        self._add(self.book, "&Import CSV or XLSX…", exchange.import_book)
        self._add(self.book, "E&xport CSV or XLSX…", exchange.export_book)
        self._add(self.book, "&Change prices by a percentage…", exchange.change_group)
        self.book.addSeparator()
        self._add(self.book, "&Hold these prices", exchange.hold)
        self._add(self.book, "Take &new prices…", exchange.take_new)
        self._add(self.book, "&Let go of held prices", exchange.release)
        help_menu = bar.addMenu("&Help")
        self._add(help_menu, "&Keys", files.tell_keys, "F1")
        self._add(help_menu, "&About Baydrop", files.tell_about)

    def _add(
        self,
        menu: QMenu,
        text: str,
        do: Callable[[], object],
        key: str | QKeySequence.StandardKey | None = None,
    ) -> QAction:
        action = QAction(text, self._window)
        if isinstance(key, QKeySequence.StandardKey):
            action.setShortcuts(key)
        elif key is not None:
            action.setShortcut(QKeySequence(key))

        def run() -> None:
            self._window.finish_typing()
            do()

        action.triggered.connect(lambda _=False: run())
        menu.addAction(action)
        return action

    def _make_option(self) -> None:
        window = self._window
        window.tabs.setCurrentWidget(window.options)
        window.options.all.select(window.session.option)
        window.options.make_copy()
        window.options.name.setFocus()
        window.options.name.selectAll()

    def _fill_ready(self) -> None:
        window = self._window
        window.tabs.setCurrentWidget(window.options)
        window.options.all.select(window.session.option)
        window.options.fill_menu()
        self.ready.clear()
        self.ready.addActions(window.options.menu.actions())

    def _issue(self) -> None:
        window = self._window
        window.tabs.setCurrentWidget(window.revisions)
        window.revisions.reason.setFocus()
        if window.revisions.reason.text().strip():
            window.revisions.start()

    def _row(self, button: str) -> None:
        rows = self._window.rows_in_view()
        if rows is not None and rows.buttons[button].isEnabled():
            rows.buttons[button].click()
        else:
            self._window.say("No list is in view, or no row is selected.")

    def refresh(self) -> None:
        """Names of undo and redo, recent files, what is checked."""
        window = self._window
        past = window.session.history
        self.undo.setText(f"&Undo: {_plain(past.undo_name)}" if past.undo_name else "&Undo")
        self.undo.setEnabled(bool(past.undo_name))
        self.redo.setText(f"&Redo: {_plain(past.redo_name)}" if past.redo_name else "&Redo")
        self.redo.setEnabled(bool(past.redo_name))
        self.recent.clear()
        for path in window.files.recent():
            self._add(self.recent, _plain(str(path)), partial(window.files.open_path, path))
        self.recent.setEnabled(not self.recent.isEmpty())
        for action in self.units.actions():
            action.setChecked(action.data() == window.session.job.units)
        for action in self.themes.actions():
            action.setChecked(action.data() == window.files.theme)

    def _fill_history(self) -> None:
        self.history.clear()
        past = self._window.session.history
        names = ("As it was opened", *past.names)
        for position in range(max(0, past.position - 15), min(len(names), past.position + 16)):
            action = self._add(
                self.history, _plain(names[position]), partial(self._window.session.go_to, position)
            )
            action.setCheckable(True)
            action.setChecked(position == past.position)


def _plain(text: str) -> str:
    """A person's text in a menu: an ampersand stays one."""
    return text.replace("&", "&&")
