"""One declared field on a form: label, input, unit hint, and the sentence of what is not allowed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from pydantic import BaseModel
from PySide6.QtCore import QDate, QLocale, QObject, QStringListModel, Qt, Signal
from PySide6.QtWidgets import (
    QCalendarWidget,
    QCompleter,
    QHBoxLayout,
    QMenu,
    QSizePolicy,
    QToolButton,
    QWidget,
    QWidgetAction,
)

from estimator.acts.typed import Path, text_of
from estimator.desk.form.inputs import CheckBox, ChoicesBox, ComboBox, LineEdit, PictureButton, TextArea
from estimator.desk.holder import Holder
from estimator.desk.plain import Label, shown_text, tip
from estimator.model.spec import FieldKind, FieldSpec
from estimator.shown.field_words import described
from estimator.units import QuantityError, UnitSystem, display, parse, preferred_unit

__all__ = ["FieldEditor", "other_system"]

_SEVERAL = "Several values"


def other_system(text: str, field: FieldSpec, system: UnitSystem, locale: str = "en_US") -> str:
    """The typed quantity as the other system writes it, "" where that says nothing new.

    It is the system shown unless the text is in that system's own unit already.
    """
    if field.dimension is None:
        return ""
    try:
        quantity = parse(text, field.dimension)
    except QuantityError:
        return ""
    if len({preferred_unit(field.dimension, s) for s in UnitSystem}) == 1:
        return ""
    unit = preferred_unit(field.dimension, system)
    if quantity.text.endswith(unit):
        system = UnitSystem.US if system is UnitSystem.METRIC else UnitSystem.METRIC
    return "= " + display(quantity.si, field.dimension, system, locale=locale)


class FieldEditor(QObject):
    """Input of one field for one or several rows at once.

    Attributes:
        label: for the left column of the form.
        box: the input with its unit, for the middle column.
        input: the widget that takes the focus.
        error: the sentence of what is not allowed, hidden while all is well.
        calendar: of a date, else None.
        described: help and limits, as they are told now.
    """

    focused = Signal(str)

    def __init__(self, holder: Holder, model: type[BaseModel], field: FieldSpec, parent: QWidget) -> None:
        super().__init__(parent)
        self.field = field
        self._holder = holder
        self._model = model
        self._parents: tuple[Path, ...] = ()
        self._system = UnitSystem.METRIC
        self.label = Label(field.label, parent)
        self.label.setWordWrap(True)
        self.label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self.error = Label("", parent)
        self.error.setObjectName("fieldError")
        self.error.setWordWrap(True)
        self.error.hide()
        self.hint = Label("", parent)
        self.hint.setObjectName("fieldHint")
        self.input: LineEdit | TextArea | ComboBox | CheckBox | ChoicesBox | PictureButton = self._make(
            parent
        )
        self.input.setObjectName(field.name)
        self.input.setAccessibleName(field.label)
        self.calendar: QCalendarWidget | None = None
        self.described = ""
        self.label.setBuddy(self.input)
        self.box = QWidget(parent)
        row = QHBoxLayout(self.box)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(6)
        row.addWidget(self.input, 1)
        if field.kind is FieldKind.DATE:
            row.addWidget(self._calendar())
        self._describe()
        if field.dimension is not None:
            self.hint.setMinimumWidth(self.hint.fontMetrics().horizontalAdvance("= 0000.00 L/min"))
            row.addWidget(self.hint)
        elif field.unit:
            self.hint.setText(field.unit)
            row.addWidget(self.hint)
        else:
            self.hint.hide()

    def _make(
        self, parent: QWidget
    ) -> LineEdit | TextArea | ComboBox | CheckBox | ChoicesBox | PictureButton:
        field = self.field
        if field.kind is FieldKind.FLAG:
            box = CheckBox("Yes", parent)
            box.clicked.connect(lambda: self._commit(box.isChecked()))
            return box
        if field.kind is FieldKind.CHOICE:
            combo = ComboBox(parent)
            combo.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            combo.activated.connect(lambda _: self._commit(str(combo.currentData() or "")))
            return combo
        if field.kind is FieldKind.CHOICES:
            several = ChoicesBox("None chosen", parent)
            several.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            several.offer(field.choices)
            several.list.setAccessibleName(f"{field.label}: tick those that apply")
            several.committed.connect(self._commit)
            return several
        if field.kind is FieldKind.PICTURE:
            picture = PictureButton(parent)
            picture.choose_wanted.connect(self._holder.picture_wanted)
            picture.remove_wanted.connect(lambda: self._commit(""))
            return picture
        if field.kind in (FieldKind.LONG_TEXT, FieldKind.TEXT_LIST):
            area = TextArea(parent)
            area.setFixedHeight(area.fontMetrics().lineSpacing() * 4 + 14)
            area.committed.connect(self._commit)
            return area
        line = LineEdit(parent)
        if field.kind is not FieldKind.TEXT:
            line.setMinimumWidth(84)
        if field.optional:
            line.setPlaceholderText("Not stated")
        line.committed.connect(self._commit)
        line.textEdited.connect(self._live)
        return line

    def _calendar(self) -> QToolButton:
        button = QToolButton(self.box)
        button.setText("▾")
        button.setAccessibleName(f"{self.field.label}: pick from a calendar")
        button.setToolTip("Pick from a calendar")
        menu = QMenu(button)
        calendar = QCalendarWidget(menu)
        calendar.setAccessibleName(f"Calendar for {self.field.label}")
        self.calendar = calendar
        action = QWidgetAction(menu)
        action.setDefaultWidget(calendar)
        menu.addAction(action)

        def picked(day: QDate) -> None:
            menu.close()
            self._commit(date(day.year(), day.month(), day.day()).isoformat())

        calendar.activated.connect(picked)
        calendar.clicked.connect(picked)
        button.setMenu(menu)
        button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        return button

    def _describe(self) -> None:
        """Help and limits, in the units and the number format that the job has now."""
        words = described(self.field, self._holder.figures)
        if words == self.described:
            return
        self.described = words
        self.input.setAccessibleDescription(words)
        self.input.setToolTip(tip(words))
        self.input.setProperty("help", f"{self.field.label}. {words}")
        if isinstance(self.input, ChoicesBox):
            self.input.list.setAccessibleDescription(words)
        if self.calendar is not None:
            self.calendar.setLocale(QLocale(self._holder.locale))

    def _live(self, text: str) -> None:
        if self.field.dimension is not None:
            self.hint.setText(other_system(text, self.field, self._system, self._holder.locale))

    def _commit(self, raw: str | bool) -> None:
        if self._parents:
            self._holder.commit(self._model, self.field, self._parents, raw)

    def bind(self, parents: Sequence[Path]) -> None:
        """Edit this field of these parents from now on."""
        self._parents = tuple(parents)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds, or the text that is kept back."""
        self._system = system
        self._describe()
        if not self._parents:
            return
        paths = [(*parent, self.field.name) for parent in self._parents]
        values = [self._holder.at(path) for path in paths]
        same = all(v == values[0] for v in values)
        pending = self._holder.pending.get(paths[0])
        why = self._holder.why(paths[0])
        self.error.setText(f"✕ {why}" if pending else "")
        self.error.setVisible(pending is not None)
        if bool(self.input.property("refused")) is not (pending is not None):
            self.input.setProperty("refused", pending is not None)
            self.input.style().unpolish(self.input)
            self.input.style().polish(self.input)
        self.input.setAccessibleDescription(
            shown_text(f"Not allowed: {why} " if pending else "") + self.described
        )
        text = text_of(self.field, values[0], self._holder.locale) if same else ""
        raw = pending.raw if pending else None
        if isinstance(self.input, CheckBox):
            self._show_flag(bool(values[0]) if raw is None else bool(raw), same or raw is not None)
        elif isinstance(self.input, ChoicesBox):
            keys = [key.strip() for key in (text if raw is None else str(raw)).split(",")]
            self.input.show_chosen(keys, "" if same or raw is not None else _SEVERAL)
        elif isinstance(self.input, PictureButton):
            self.input.show_picture(str(values[0]) if same else "")
        elif isinstance(self.input, ComboBox):
            self._show_choice(text if raw is None else str(raw), same or raw is not None)
        else:
            shown = text if raw is None else str(raw)
            if not (self.input.hasFocus() and self.input.is_typing):
                self.input.show_text(shown)
            if isinstance(self.input, LineEdit):
                self._suggest(self.input)
                none = "Not stated" if self.field.optional else ""
                self.input.setPlaceholderText(none if same else _SEVERAL)
                self.input.setAccessibleName(
                    self.field.label if same else f"{self.field.label}, several values"
                )
            if self.field.dimension is not None:
                self._live(self.input.text() if isinstance(self.input, LineEdit) else "")

    def _suggest(self, line: LineEdit) -> None:
        """Offer what usually stands here; anything else may be typed."""
        words = self._holder.suggestions(self.field, self._parents[0])
        if words and line.completer() is None:
            completer = QCompleter(line)
            completer.setModel(QStringListModel(line))
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            line.setCompleter(completer)
        if line.completer() is not None:
            model = line.completer().model()
            if isinstance(model, QStringListModel) and tuple(model.stringList()) != words:
                model.setStringList(words)

    def _show_flag(self, value: bool, same: bool) -> None:
        assert isinstance(self.input, CheckBox)
        if same:
            self.input.setChecked(value)
        else:
            self.input.setCheckState(Qt.CheckState.PartiallyChecked)

    def _show_choice(self, value: str, same: bool) -> None:
        combo = self.input
        assert isinstance(combo, ComboBox)
        choices = list(self._holder.choices(self.field, self._parents[0]))
        if self.field.optional:
            choices.insert(0, ("", "Not stated"))
        if same and value not in [key for key, _ in choices]:
            choices.append((value, f"{value} (not known here)"))
        if not combo.offers(choices):
            combo.clear()
            for key, name in choices:
                combo.offer(name, key)
        combo.setPlaceholderText("" if same else _SEVERAL)
        combo.setCurrentIndex(combo.findData(value) if same else -1)

    def focus(self) -> None:
        """Put the keyboard here."""
        self.input.setFocus(Qt.FocusReason.OtherFocusReason)
        if isinstance(self.input, LineEdit):
            self.input.selectAll()
