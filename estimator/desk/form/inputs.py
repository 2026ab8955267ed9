"""Input widgets that commit when editing is finished, and leave undo to the job when nothing is being typed."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPoint, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QFocusEvent,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QWheelEvent,
)
from PySide6.QtWidgets import QCheckBox, QComboBox, QLineEdit, QPlainTextEdit, QPushButton, QWidget

__all__ = ["CheckBox", "ComboBox", "LineEdit", "TextArea", "button_of"]


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
        super().keyPressEvent(event)


class TextArea(QPlainTextEdit):
    """Several lines of text. Tab leaves it; `committed` comes when it is left or on Ctrl+Enter."""

    committed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown = ""
        self.setTabChangesFocus(True)

    def show_text(self, text: str) -> None:
        """Show a text as the one that holds."""
        self._shown = text
        if self.toPlainText() != text:
            self.setPlainText(text)

    @property
    def is_typing(self) -> bool:
        """Whether the text differs from the one that holds."""
        return self.toPlainText() != self._shown

    def finish(self) -> None:
        """Hand the text over if it was changed."""
        if self.is_typing:
            self._shown = self.toPlainText()
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


class ComboBox(QComboBox):
    """A choice. Scrolling the form past it does not change it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)

    def paintEvent(self, event: QPaintEvent) -> None:
        """A chevron says that there is a choice."""
        super().paintEvent(event)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().placeholderText().color(), 1.6))
        x, y = self.width() - 14.0, self.height() / 2
        painter.drawPolyline(QPolygonF([QPointF(x - 4, y - 2), QPointF(x, y + 2), QPointF(x + 4, y - 2)]))

    def wheelEvent(self, event: QWheelEvent) -> None:
        """The wheel scrolls the form."""
        event.ignore()


def button_of(action: QAction, parent: QWidget) -> QPushButton:
    """A button that does what an action does, under the action's short words."""
    button = QPushButton(action.iconText(), parent)
    button.setAutoDefault(False)
    button.setToolTip(action.toolTip())
    button.setAccessibleDescription(action.toolTip())
    button.setEnabled(action.isEnabled())
    button.clicked.connect(lambda _=False: action.trigger())
    action.enabledChanged.connect(button.setEnabled)
    return button


class CheckBox(QCheckBox):
    """Yes or no; partly checked where several rows differ."""

    def sizeHint(self) -> QSize:
        """Room for the box, the word and the frame of the keyboard."""
        text = self.fontMetrics().size(0, self.text())
        return QSize(text.width() + 36, max(text.height() + 8, 26))

    def hitButton(self, pos: QPoint) -> bool:
        """The box and its word."""
        return self.rect().contains(pos)

    def paintEvent(self, event: QPaintEvent) -> None:
        """A box with a plain outline in light and dark, a tick for yes, a bar where rows differ."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        palette = self.palette()
        middle = self.height() / 2
        box = QRectF(5, middle - 8, 16, 16)
        state = self.checkState()
        on = state is not Qt.CheckState.Unchecked
        accent = palette.color(palette.ColorRole.Accent)
        outline = accent if on else palette.placeholderText().color()
        painter.setPen(QPen(outline, 1.5))
        painter.setBrush(accent if on else palette.base())
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(QPen(palette.base().color(), 2))
        if state is Qt.CheckState.Checked:
            tick = [QPointF(9, middle), QPointF(12, middle + 3.5), QPointF(17.5, middle - 4)]
            painter.drawPolyline(QPolygonF(tick))
        elif on:
            painter.drawLine(QPointF(9, middle), QPointF(17, middle))
        painter.setPen(palette.windowText().color())
        painter.drawText(
            QRectF(28, 0, self.width() - 28, self.height()), Qt.AlignmentFlag.AlignVCenter, self.text()
        )
        if self.hasFocus():
            painter.setPen(QPen(accent, 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(1, 1, self.sizeHint().width() - 2, self.height() - 2), 4, 4)

    def nextCheckState(self) -> None:
        """A click never leads back to partly checked."""
        self.setChecked(self.checkState() != Qt.CheckState.Checked)
