"""Input widgets that commit when editing is finished, and leave undo to the job when nothing is being typed."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QFocusEvent,
    QHelpEvent,
    QIcon,
    QKeyEvent,
    QKeySequence,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QMenu,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QStyle,
    QStyleOptionComboBox,
    QToolButton,
    QToolTip,
    QWidget,
    QWidgetAction,
)

from estimator.desk.plain import Label, shown_text, tip
from estimator.model.picture import picture_bytes, picture_size

__all__ = [
    "CheckBox",
    "ChoicesBox",
    "ComboBox",
    "HelpStrip",
    "LineEdit",
    "PictureButton",
    "TextArea",
    "button_of",
    "scrolled",
    "sign_button_of",
]


def _is_undo(event: QEvent) -> bool:
    return (
        event.type() == QEvent.Type.ShortcutOverride
        and isinstance(event, QKeyEvent)
        and (event.matches(QKeySequence.StandardKey.Undo) or event.matches(QKeySequence.StandardKey.Redo))
    )


class LineEdit(QLineEdit):
    """A line of text. `committed` comes with the text when it was changed by typing and is finished."""

    committed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown = ""
        self.editingFinished.connect(self.finish)

    def show_text(self, text: str) -> None:
        """Show a text as the one that holds."""
        self._shown = text
        if self.text() != text:
            self.setText(text)
            self.setCursorPosition(0)
        self.setModified(False)

    @property
    def is_typing(self) -> bool:
        """Whether the text differs from the one that holds."""
        return self.text() != self._shown

    def finish(self) -> None:
        """Hand the text over if it was changed."""
        if self.is_typing:
            self._shown = self.text()
            self.committed.emit(self.text())

    def event(self, event: QEvent) -> bool:
        """Undo belongs to the job unless a text is being typed."""
        if _is_undo(event) and not self.is_typing:
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape brings back the text that holds."""
        if event.key() == Qt.Key.Key_Escape and self.is_typing:
            self.show_text(self._shown)
            self.selectAll()
            return
        again = not self.is_typing and bool(self.property("refused"))
        super().keyPressEvent(event)
        # What was refused may be allowed by now: what it did not suit was changed elsewhere.
        if again and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.committed.emit(self.text())


class TextArea(QPlainTextEdit):
    """Several lines of text. Tab leaves it; `committed` comes when it is left or on Ctrl+Enter."""

    committed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown = ""
        self._untouched = ""
        self.setTabChangesFocus(True)

    def show_text(self, text: str) -> None:
        """Show a text as the one that holds."""
        if self._shown != text or self.is_typing:
            self.setPlainText(text)
            self._untouched = self.text()
        self._shown = text

    @property
    def is_typing(self) -> bool:
        """Whether the text differs from the one that holds."""
        # A document does not give every text back as it was put in.
        return self.text() != self._untouched

    def text(self) -> str:
        """What stands in it; hard spaces and line separators stay, which the toolkit's plain text replaces."""
        return self.document().toRawText().replace("\N{PARAGRAPH SEPARATOR}", "\n")

    def finish(self) -> None:
        """Hand the text over if it was changed."""
        if self.is_typing:
            self._shown = self._untouched = self.text()
            self.committed.emit(self._shown)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Leaving finishes; a menu that pops up does not."""
        super().focusOutEvent(event)
        if event.reason() != Qt.FocusReason.PopupFocusReason:
            self.finish()

    def event(self, event: QEvent) -> bool:
        """Undo belongs to the job unless a text is being typed."""
        if _is_undo(event) and not self.is_typing:
            event.ignore()
            return False
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Ctrl+Enter finishes, Escape brings back the text that holds."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and (
            event.modifiers() & Qt.KeyboardModifier.ControlModifier
        ):
            self.finish()
            return
        if event.key() == Qt.Key.Key_Escape and self.is_typing:
            self.show_text(self._shown)
            return
        super().keyPressEvent(event)


_BESIDE_WORDS = 48
"""Of the words of a drop-down: its frame, its margins and its arrow (pixels)."""


_MARGIN_OF_WORDS = 4
_BESIDE_CHOICES = 28
"""Of the words in the list of a drop-down: its frame and its bar for scrolling (pixels)."""


class ComboBox(QComboBox):
    """A choice. Scrolling the form past it does not change it.

    Where it has no room for all words of what is chosen it leaves out their middle, as names of parts tell at both ends
    what they are, and its tip tells them whole; its list is as wide as its longest choice.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)

    def offer(self, words: str, key: object) -> None:
        """One more choice."""
        self.addItem(shown_text(words), key)

    def show_whole(self, most: int | None = None) -> None:
        """Be as wide as its longest choice: where the words are the point, no neighbour makes it narrower.

        Args:
            most: pixels that it takes at the most, for choices that people name.
        """
        words = [self.itemText(i) for i in range(self.count())]
        widest = max((self.fontMetrics().horizontalAdvance(text) for text in words), default=0)
        wide = widest + _BESIDE_WORDS
        self.setMinimumWidth(wide if most is None else min(wide, most))

    @property
    def offered(self) -> list[tuple[object, str]]:
        """Keys and words of all choices."""
        return [(self.itemData(i), self.itemText(i)) for i in range(self.count())]

    def offers(self, choices: Iterable[tuple[object, str]]) -> bool:
        """Whether these are the choices, by key and words."""
        return self.offered == [(key, shown_text(words)) for key, words in choices]

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel scrolls the form."""
        event.ignore()

    @property
    def is_cut(self) -> bool:
        """Whether it has less room than what is chosen needs."""
        return self.fontMetrics().horizontalAdvance(self.currentText()) > self._room()

    def _room(self) -> int:
        """Pixels that it has for words."""
        option = QStyleOptionComboBox()
        super().initStyleOption(option)
        field = QStyle.SubControl.SC_ComboBoxEditField
        return self.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, field, self).width()

    def initStyleOption(self, option: QStyleOptionComboBox) -> None:
        """What is painted: the words with their middle left out where they do not fit."""
        super().initStyleOption(option)
        if self.is_cut:
            middle = Qt.TextElideMode.ElideMiddle
            # The style puts its own margin around them.
            cut = self.fontMetrics().elidedText(self.currentText(), middle, self._room() - _MARGIN_OF_WORDS)
            option.currentText = cut

    def event(self, event: QEvent) -> bool:
        """Its tip begins with what is chosen where that is cut."""
        if event.type() == QEvent.Type.ToolTip and isinstance(event, QHelpEvent) and self.is_cut:
            told = f"{self.currentText()}\n{self.accessibleDescription()}".strip()
            QToolTip.showText(event.globalPos(), tip(told), self)
            return True
        return super().event(event)

    def showPopup(self) -> None:
        """The list shows every choice whole as far as the screen goes."""
        screen = self.screen().availableGeometry()
        whole = self.view().sizeHintForColumn(0) + _BESIDE_CHOICES
        self.view().setTextElideMode(Qt.TextElideMode.ElideMiddle)
        self.view().setMinimumWidth(min(max(whole, self.width()), screen.width()))
        super().showPopup()
        opened = self.view().window()
        over = opened.geometry().right() - screen.right()
        if over > 0:
            opened.move(max(opened.x() - over, screen.left()), opened.y())


class ChoicesBox(QPushButton):
    """Several of some choices: a button with what is chosen, which opens the list to tick. `committed` comes with the
    keys, parted by commas, when the list is left and something was changed."""

    committed = Signal(str)

    def __init__(self, none: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._none = self._words = none
        self._shown: tuple[str, ...] = ()
        self.setAutoDefault(False)
        self.setObjectName("choices")
        menu = QMenu(self)
        self.list = QListWidget(menu)
        self.list.setMinimumWidth(280)
        action = QWidgetAction(menu)
        action.setDefaultWidget(self.list)
        menu.addAction(action)
        menu.aboutToShow.connect(self._open)
        menu.aboutToHide.connect(self._close)
        self.setMenu(menu)

    def offer(self, choices: Iterable[tuple[str, str]]) -> None:
        """The choices, by key and words."""
        self.list.clear()
        for key, words in choices:
            self.list.addItem(shown_text(words))
            item = self.list.item(self.list.count() - 1)
            item.setData(Qt.ItemDataRole.UserRole, key)
            item.setFlags(
                Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsUserCheckable
            )
            item.setCheckState(Qt.CheckState.Unchecked)
        rows = min(self.list.count(), 20)
        self.list.setFixedHeight(rows * max(self.list.sizeHintForRow(0), 18) + 8)

    def show_chosen(self, keys: Iterable[str], words: str = "") -> None:
        """Show what is chosen.

        Args:
            keys: of the choices.
            words: in the place of theirs, where several rows differ.
        """
        self._shown = tuple(keys)
        for item in self._items():
            chosen = item.data(Qt.ItemDataRole.UserRole) in self._shown
            item.setCheckState(Qt.CheckState.Checked if chosen else Qt.CheckState.Unchecked)
        text = words or ", ".join(i.text() for i in self._items() if i.checkState() is Qt.CheckState.Checked)
        self._words = text or self._none
        self._fit()

    @property
    def chosen(self) -> tuple[str, ...]:
        """Keys of what is ticked."""
        items = (i for i in self._items() if i.checkState() is Qt.CheckState.Checked)
        return tuple(str(i.data(Qt.ItemDataRole.UserRole)) for i in items)

    def _items(self) -> list[QListWidgetItem]:
        return [self.list.item(row) for row in range(self.list.count())]

    def _open(self) -> None:
        self.list.setMinimumWidth(max(self.width(), 280))
        self.list.setFocus(Qt.FocusReason.PopupFocusReason)
        if self.list.currentRow() < 0:
            self.list.setCurrentRow(0)

    def _close(self) -> None:
        if self.chosen != self._shown:
            self.committed.emit(", ".join(self.chosen))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More room shows more of what is chosen."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = max(self.width() - 34, 60)
        self.setText(
            self.fontMetrics().elidedText(shown_text(self._words), Qt.TextElideMode.ElideRight, room)
        )


class PictureButton(QPushButton):
    """A picture: shown on a button, which opens what can be done with it.

    Signals:
        choose_wanted: another one from a file.
        remove_wanted: none any more.
    """

    choose_wanted = Signal()
    remove_wanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAutoDefault(False)
        self.setIconSize(QSize(120, 40))
        menu = QMenu(self)
        menu.addAction("Choose a &file…").triggered.connect(lambda _=False: self.choose_wanted.emit())
        self._remove = menu.addAction("&Remove")
        self._remove.triggered.connect(lambda _=False: self.remove_wanted.emit())
        self.setMenu(menu)
        self._shown: str | None = None

    def show_picture(self, picture: str) -> None:
        """Show what holds: a picture as a job keeps it, "" for none."""
        if picture == self._shown:
            return
        self._shown = picture
        pixmap = QPixmap()
        if picture:
            pixmap.loadFromData(picture_bytes(picture), "PNG")
        self.setIcon(QIcon(pixmap))
        size = "{} × {} pixels".format(*picture_size(picture)) if picture else "None chosen"
        self.setText(size if picture and not pixmap.isNull() else "Damaged" if picture else size)
        self._remove.setEnabled(bool(picture))


class HelpStrip(Label):
    """A sentence or two about what the keyboard is on; it never grows beyond four lines, the tip holds all of it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__("", parent)
        self.setObjectName("help")
        self.setWordWrap(True)
        self.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.setAccessibleName("Help for the field")
        line = self.fontMetrics().lineSpacing()
        self.setMinimumHeight(line * 2 + 14)
        self.setMaximumHeight(line * 4 + 14)
        self._whole = ""

    def tell(self, text: str) -> None:
        """Show a text, cut at a word where there is no room for all of it."""
        self._whole = text
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """More room shows more of the text."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def _fit(self) -> None:
        words = self._whole.split(" ")
        least, most = 0, len(words)
        while least < most:
            middle = (least + most + 1) // 2
            least, most = (middle, most) if self._fits(self._cut(words, middle)) else (least, middle - 1)
        self.setText(self._cut(words, least))
        self.setToolTip(tip(self._whole if least < len(words) else ""))

    @staticmethod
    def _cut(words: list[str], count: int) -> str:
        return " ".join(words) if count == len(words) else " ".join(words[:count]) + " …"

    def _fits(self, text: str) -> bool:
        room = max(self.width() - 16, 80)
        wrapped = self.fontMetrics().boundingRect(0, 0, room, 10_000, Qt.TextFlag.TextWordWrap, text)
        return wrapped.height() <= self.maximumHeight() - 12


def scrolled(widget: QWidget, parent: QWidget) -> QScrollArea:
    """The widget as large as its room, and scrolled where that is less than it needs."""
    area = QScrollArea(parent)
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    widget.setAutoFillBackground(False)
    area.viewport().setAutoFillBackground(False)
    area.setWidget(widget)
    return area


def button_of(action: QAction, parent: QWidget) -> QPushButton:
    """A button that does what an action does, under the action's short words."""
    button = QPushButton(action.iconText(), parent)
    button.setAutoDefault(False)
    button.setToolTip(tip(action.toolTip()))
    button.setAccessibleDescription(action.toolTip())
    button.setEnabled(action.isEnabled())
    button.clicked.connect(lambda _=False: action.trigger())
    action.enabledChanged.connect(button.setEnabled)
    return button


def sign_button_of(action: QAction, sign: str, parent: QWidget) -> QToolButton:
    """A small button that does what an action does and is down while it is ticked; a sign stands for its words.

    Args:
        action: of a command that is ticked or not.
        sign: one character.
    """
    button = QToolButton(parent)
    button.setText(sign)
    button.setCheckable(True)
    keys = ", ".join(key.toString(QKeySequence.SequenceFormat.NativeText) for key in action.shortcuts())
    button.setToolTip(tip(f"{action.iconText()} ({keys}). {action.statusTip()}"))
    button.setAccessibleName(action.iconText())
    button.setAccessibleDescription(action.statusTip())

    def do() -> None:
        action.trigger()
        # The act may have been refused.
        button.setChecked(action.isChecked())

    button.clicked.connect(lambda _=False: do())
    action.toggled.connect(button.setChecked)
    return button


class CheckBox(QCheckBox):
    """Yes or no; partly checked where several rows differ."""

    def hitButton(self, pos: QPoint) -> bool:
        """The whole line of the box."""
        return self.rect().contains(pos)

    def nextCheckState(self) -> None:
        """A click never leads back to partly checked."""
        self.setChecked(self.checkState() != Qt.CheckState.Checked)
