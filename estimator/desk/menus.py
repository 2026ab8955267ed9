"""Menu bar, context menus and the list of keys, grown from the declared commands."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial

from PySide6.QtCore import QObject, QSize, Qt
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QDialog, QLineEdit, QMenu, QMenuBar, QVBoxLayout, QWidget

from estimator.desk.commands import Command, Listing, MenuEntry, key_lines
from estimator.desk.plain import tip
from estimator.desk.room import fit_in_room
from estimator.desk.tables import ReadTable, TableLine

__all__ = ["KeysDialog", "Menus"]


class Menus(QObject):
    """The menu bar; every command is in it, so every command can be reached by keyboard.

    Args:
        commands: what there is.
        bar: where the menus go.
        first: done before each command, such as taking over what is being typed.
        say: tells a sentence.

    Attributes:
        actions: an action of each command by its id; buttons follow them.
        menus: menus and submenus by their words, "&File" or "&File/Open &example", and listings by their id.
    """

    def __init__(
        self,
        commands: Iterable[Command | Listing],
        bar: QMenuBar,
        first: Callable[[], object],
        say: Callable[[str], object],
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self._first, self._say, self._bar = first, say, bar
        self.commands = tuple(commands)
        self.actions: dict[str, QAction] = {}
        self.menus: dict[str, QMenu] = {}
        for item in self.commands:
            menu = self._menu(item.menu)
            if item.apart:
                menu.addSeparator()
            if isinstance(item, Listing):
                self._add_listing(menu, item)
            else:
                self.actions[item.id] = self._action(item, parent)
                menu.addAction(self.actions[item.id])

    def _menu(self, path: tuple[str, ...]) -> QMenu:
        key = "/".join(path)
        if key not in self.menus:
            above = self._menu(path[:-1]) if len(path) > 1 else self._bar
            self.menus[key] = above.addMenu(path[-1])
            self.menus[key].aboutToShow.connect(self.refresh)
        return self.menus[key]

    def _add_listing(self, menu: QMenu, listing: Listing) -> None:
        below = menu.addMenu(listing.words)
        self.menus[listing.id] = below
        below.aboutToShow.connect(partial(self.fill, below, listing))

    def fill(self, menu: QMenu, listing: Listing) -> None:
        """The lines of a listing as they are now."""
        menu.clear()
        for entry in listing.entries():
            self._add_entry(menu, entry)
        if menu.isEmpty():
            menu.addAction(listing.otherwise).setEnabled(False)

    def _add_entry(self, menu: QMenu, entry: MenuEntry) -> None:
        action = menu.addAction(entry.words)
        # Else the toolkit takes its words for its tip, and guesses whether they are markup.
        action.setToolTip(tip(entry.words.replace("&&", "&")))
        if entry.ticked is not None:
            action.setCheckable(True)
            action.setChecked(entry.ticked)
        action.triggered.connect(lambda _=False: self._run(entry.does))

    def _run(self, does: Callable[[], object]) -> None:
        self._first()
        does()

    def _action(self, command: Command, parent: QWidget) -> QAction:
        action = QAction(command.words, parent)
        action.setObjectName(command.id)
        action.setIconText(command.button or command.name)
        if command.told:
            action.setToolTip(tip(command.told))
            action.setStatusTip(command.told)
        keys: list[QKeySequence] = []
        for key in command.keys:
            keys += [QKeySequence(key)] if isinstance(key, str) else QKeySequence.keyBindings(key)
        action.setShortcuts(keys)
        action.setCheckable(command.ticked is not None)
        action.triggered.connect(lambda _=False: self.do(command))
        return action

    def do(self, command: Command) -> None:
        """Do a command, or say why it cannot be done."""
        self._first()
        if command.applies():
            command.does()
        else:
            self._say(command.refusal)
        self.refresh()

    def refresh(self) -> None:
        """Words, ticks and what can be done, as they are now."""
        for command in self.commands:
            if isinstance(command, Listing):
                continue
            action = self.actions[command.id]
            if command.now is not None:
                action.setText(command.now())
            if command.ticked is not None:
                action.setChecked(command.ticked())
            action.setEnabled(command.applies())

    def context(self, place: str, parent: QWidget) -> QMenu | None:
        """The context menu of a place, None if no command belongs there."""
        self.refresh()
        menu = QMenu(parent)
        menu.addActions(
            [self.actions[c.id] for c in self.commands if isinstance(c, Command) and place in c.here]
        )
        if menu.isEmpty():
            return None
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        return menu

    def show_keys(self, parent: QWidget) -> KeysDialog:
        """A list of all commands with their keys; Enter does one."""
        return KeysDialog(key_lines(self.commands), self.do_named, parent)

    def do_named(self, name: str) -> None:
        """Do the command of an id."""
        for command in self.commands:
            if isinstance(command, Command) and command.id == name:
                self.do(command)


class KeysDialog(QDialog):
    """Commands and keys: words narrow the list, Enter does the command of the current row."""

    def __init__(
        self, rows: Iterable[tuple[str, str, str]], do: Callable[[str], object], parent: QWidget
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Keys and commands")
        self._rows, self._perform = tuple(rows), do
        column = QVBoxLayout(self)
        self.words = QLineEdit(self)
        self.words.setPlaceholderText("Show only commands with these words")
        self.words.setAccessibleName("Words of the command")
        self.words.setAccessibleDescription("Only commands with these words are shown; Enter does the first.")
        self.words.setClearButtonEnabled(True)
        self.words.textChanged.connect(lambda _: self._show())
        self.table = ReadTable(
            "Commands and their keys", "Enter does the command.", ("Command", "Keys"), self
        )
        self.table.entered.connect(self._do)
        self.words.returnPressed.connect(lambda: self._do(self.table.current))
        column.addWidget(self.words)
        column.addWidget(self.table, 1)
        fit_in_room(self, QSize(620, 480))
        self._show()

    def _show(self) -> None:
        wanted = self.words.text().casefold().split()
        lines = [
            TableLine(key or f" {i}", (words, keys))
            for i, (key, words, keys) in enumerate(self._rows)
            if all(w in f"{words} {keys}".casefold() for w in wanted)
        ]
        self.table.show_lines(lines)
        if lines and not self.table.current:
            self.table.select(lines[0].key)

    def _do(self, key: str) -> None:
        if key and not key.startswith(" "):
            self.accept()
            self._perform(key)
