"""Forms grown from the declarations: everything is there, has a name, and keeps what was typed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from pydantic import BaseModel
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QCalendarWidget,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QPlainTextEdit,
    QScrollBar,
    QWidget,
)

from estimator.desk.form.fields import other_system
from estimator.desk.form.form import Form
from estimator.desk.form.inputs import ComboBox, LineEdit
from estimator.desk.form.pages import FormPage, RowsPage
from estimator.model.design import Product
from estimator.model.job import Job
from estimator.model.pricebook import PriceEntry
from estimator.model.site import Floor
from estimator.model.spec import FieldKind, fields_of
from estimator.model.terms import LabourRate
from estimator.shown.field_words import described
from estimator.shown.figures import Figures
from estimator.units import UnitSystem
from tests.desk.hands import Hands


def every_field(model: type[BaseModel], above: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Paths of all declared fields below a model, lists entered."""
    found: list[tuple[str, ...]] = []
    for field in fields_of(model):
        path = (*above, field.name)
        if field.model is not None:
            found += every_field(field.model, path)
        else:
            found.append(path)
    return found


def editors_below(form: Form, above: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    """Paths of all editors of a form."""
    found = {(*above, name) for name in form.editors}
    for name, group in form.groups.items():
        found |= editors_below(group, (*above, name))
    for name, rows in form.lists.items():
        assert isinstance(rows.form, Form)
        found |= editors_below(rows.form, (*above, name))
    return found


def test_every_declared_field_of_a_job_has_an_editor(desk: Hands) -> None:
    """Nothing that a person states is out of reach.

    Aside: the file's format number, the units (View menu), what is frozen, the options (they have a view), and the
    prices pinned from the book.
    """
    found: set[tuple[str, ...]] = set()
    for key, page in desk.window.pages.items():
        if isinstance(page, FormPage | RowsPage):
            found |= editors_below(desk.form(key), tuple(str(step) for step in page.path))
    # What is signed for is signed in the list of what is missing or wrong.
    elsewhere = {"format", "units", "prices", "alternatives", "signed", *Job.sealed}
    assert found == {path for path in every_field(Job) if path[0] not in elsewhere}


def inputs_of(window: QWidget) -> list[QWidget]:
    """Widgets that take the keyboard, without the inner parts of the toolkit's own ones."""
    found = []
    for kind in (QLineEdit, QPlainTextEdit, QComboBox, QAbstractButton, QAbstractItemView):
        for widget in window.findChildren(kind):
            above = widget.parentWidget()
            inner = False
            while above is not None and above is not window:
                inner = inner or isinstance(above, QComboBox | QCalendarWidget | QHeaderView | QScrollBar)
                above = above.parentWidget()
            if (
                not inner
                and not isinstance(widget, QHeaderView)
                and widget.focusPolicy() is not Qt.FocusPolicy.NoFocus
                and not widget.objectName().startswith("qt_")
            ):
                found.append(widget)
    return found


def test_every_input_has_an_accessible_name_and_description(desk: Hands) -> None:
    """A screen reader says what each input is and what it wants."""
    desk.quick()
    for key in desk.window.pages:
        desk.window.go_to_page(key)
    inputs = inputs_of(desk.window)
    assert len(inputs) > 120
    for widget in inputs:
        name = widget.accessibleName()
        if isinstance(widget, QAbstractButton):
            assert name or widget.text(), widget
            continue
        assert name, (type(widget).__name__, widget.objectName())
        assert widget.accessibleDescription(), name


@pytest.mark.parametrize(
    ("page", "path", "text", "words"),
    [
        ("site", ("floor", "width"), "24 psi", "does not measure length"),
        ("site", ("floor", "width"), "24", "has no unit"),
        ("site", ("floor", "width"), "-4 m", "outside 2\xa0m to 500\xa0m"),
        ("site", ("floor", "width"), "9e999 m", "too large"),
        ("site", ("use", "vehicles_per_hour"), "many", "is not a number"),
        ("site", ("use", "vehicles_per_hour"), "nan", "is not a number"),
        ("site", ("use", "vehicles_per_hour"), "1,000", "two ways"),
        ("site", ("use", "guns_open"), "2.5", "whole number"),
        ("quote", ("dated",), "31.3.2027", "is not a date"),
        ("customer", ("name",), "x" * 300, "too long"),
        ("terms", ("currency",), "ABC", "ISO 4217"),
        ("terms", ("rule_percent",), "100", "below 100"),
    ],
)
def test_a_text_that_is_not_allowed_stays_with_its_sentence(
    desk: Hands, page: str, path: tuple[str, ...], text: str, words: str
) -> None:
    """The job keeps its last value, the typed text and the reason stand at the field and in the list."""
    before = desk.job
    editor = desk.editor(page, *path)
    desk.put(editor, text)
    assert desk.job is before
    assert isinstance(editor.input, LineEdit)
    assert editor.input.text() == text
    assert not editor.error.isHidden()
    assert words in editor.error.text()
    assert any(words.replace("\xa0", " ") in f.message for f in desk.window.session.findings)
    assert "Not allowed" in editor.input.accessibleDescription()
    # Elsewhere and back: still there.
    desk.window.go_to_page("bays")
    desk.editor(page, *path)
    assert editor.input.text() == text
    assert words in editor.error.text()
    # Right at last.
    right = {"width": "24 m", "dated": "2027-03-31", "name": "Quay", "currency": "EUR"}.get(path[-1], "5")
    desk.put(editor, right)
    assert editor.error.isHidden()
    assert not desk.window.session.job_holder.pending
    assert desk.job != before


def test_escape_brings_back_the_value_while_typing(desk: Hands) -> None:
    """Nothing is committed by Escape."""
    editor = desk.editor("site", "floor", "depth")
    field = editor.input
    assert isinstance(field, LineEdit)
    field.setFocus()
    desk.type(field, "9")
    desk.key(field, Qt.Key.Key_Escape)
    assert field.text() == "14 m"
    assert desk.window.session.history.position == 0


def test_low_likely_high_can_be_raised_one_after_the_other(desk: Hands) -> None:
    """What is kept back is tried again with its neighbours; the whole change is then one act."""
    rate = desk.job.terms.labour
    assert (rate.low, rate.likely, rate.high) == (
        Decimal(45),
        Decimal(55),
        Decimal(70),
    )  # invented demo defaults
    for name, text in (("low", "80"), ("likely", "90")):
        editor = desk.editor("terms", "labour", name)
        desk.put(editor, text)
        assert "low ≤ likely ≤ high" in editor.error.text()
    assert desk.job.terms.labour == rate
    desk.put(desk.editor("terms", "labour", "high"), "100")
    assert desk.job.terms.labour == LabourRate.model_validate(
        {"low": 80, "likely": 90, "high": 100}, strict=False
    )
    assert not desk.window.session.job_holder.pending
    assert desk.window.session.history.position == 1


def test_not_stated_is_an_empty_field(desk: Hands) -> None:
    """An optional value can be given and taken away."""
    editor = desk.editor("site", "use", "guns_open")
    assert isinstance(editor.input, LineEdit)
    assert editor.input.placeholderText() == "Not stated"
    desk.put(editor, "4")
    assert desk.job.site.use.guns_open == 4
    desk.put(editor, "")
    assert desk.job.site.use.guns_open is None


def test_several_rows_are_set_as_one_act(desk: Hands) -> None:
    """Rows selected together take one value; what differs says so."""
    desk.quick()
    rows = desk.rows("drops")
    acts = desk.window.session.history.position
    liquid = [i for i, d in enumerate(desk.job.design.drops) if d.service != "air"]
    rows.select(liquid)
    editor = desk.editor_here("gun")
    desk.put(editor, "gun-metal")
    assert {desk.job.design.drops[i].gun for i in liquid} == {"gun-metal"}
    assert desk.window.session.history.position == acts + 1
    assert "rows" in desk.window.session.history.undo_name
    rows.select(list(range(len(desk.job.design.drops))))
    gun = desk.editor_here("gun").input
    assert isinstance(gun, ComboBox)
    assert gun.currentIndex() == -1
    assert gun.placeholderText() == "Several values"
    assert not desk.editor_here("id").input.isEnabled()


def test_an_id_takes_its_references_along(desk: Hands) -> None:
    """A renamed product stays on its drops and its plant; a removed one takes them along; undo restores."""
    desk.quick()
    before = desk.job
    product = before.design.products[0].id
    used = sum(d.service == product for d in before.design.drops)
    assert used > 0
    desk.put(desk.editor("products", 0, "id"), "foam")
    assert sum(d.service == "foam" for d in desk.job.design.drops) == used
    assert desk.job.design.plant[0].product == "foam"
    rows = desk.rows("products")
    rows.select([0])
    desk.press(rows.buttons["remove"])
    assert len(desk.job.design.drops) == len(before.design.drops) - used
    assert "drops" in desk.window.session.history.undo_name
    desk.window.session.undo()
    desk.window.session.undo()
    assert desk.job == before


def test_a_doubled_id_is_refused_at_its_field(desk: Hands) -> None:
    """Ids must differ; the list stays as it was."""
    desk.quick()
    before = desk.job
    other = before.design.products[1].id
    editor = desk.editor("products", 0, "id")
    desk.put(editor, other)
    assert desk.job is before
    assert "must differ" in editor.error.text()


def test_rows_can_be_added_duplicated_moved_and_removed(desk: Hands) -> None:
    """Buttons of a list; what is kept back moves with its row."""
    rows = desk.rows("products")
    desk.press(rows.buttons["add"])
    desk.press(rows.buttons["add"])
    assert [p.id for p in desk.job.design.products] == ["product-1", "product-2"]
    desk.put(desk.editor_here("dilution"), "lots")
    desk.press(rows.buttons["up"])
    assert [p.id for p in desk.job.design.products] == ["product-2", "product-1"]
    field = desk.editor_here("dilution").input
    assert isinstance(field, LineEdit)
    assert field.text() == "lots"
    desk.press(rows.buttons["duplicate"])
    assert [p.id for p in desk.job.design.products] == ["product-2", "product-3", "product-1"]
    desk.press(rows.buttons["remove"])
    assert len(desk.job.design.products) == 2
    assert list(desk.window.session.job_holder.pending) == [("design", "products", 0, "dilution")]


def test_a_drop_needs_a_bay_first(desk: Hands) -> None:
    """The button says what is missing instead of making a row that refers to nothing."""
    rows = desk.rows("drops")
    desk.press(rows.buttons["add"])
    assert "Add a bay first" in rows.problem.text()
    assert not rows.problem.isHidden()
    assert desk.job == Job()


@pytest.mark.qt_log_ignore("This plugin does not support")  # no window system offscreen to raise a popup
def test_a_measured_length_offers_the_segments_of_its_line(desk: Hands) -> None:
    """Nested lists; the segment names come from the layout, and the length wins."""
    desk.quick()
    rows = desk.rows("lines")
    desk.press(rows.buttons["add"])
    assert rows.form is not None
    measured = rows.form.lists["measured"]
    desk.press(measured.buttons["add"])
    assert measured.form is not None
    editor = measured.form.editors["segment"]
    # Air has a plan of its own from quick build.
    line = desk.window.session.study.layout.line(desk.job.design.lines[1].service)
    assert line is not None
    holder = desk.window.session.job_holder
    assert holder.suggestions(editor.field, ("design", "lines", 1, "measured", 0)) == tuple(
        s.id for s in line.segments
    )
    segment = line.segments[0]
    desk.put(editor, segment.id)
    desk.put(measured.form.editors["length"], "41 ft")
    line = desk.window.session.study.layout.line(line.id)
    assert line is not None
    found = next(s for s in line.segments if s.id == segment.id)
    assert found.measured
    assert found.length_m == pytest.approx(41 * 0.3048)  # NIST SP 811: 1 ft = 0.3048 m


def test_the_other_system_is_shown_beside_a_quantity() -> None:
    """Metric text is shown in US units and the other way round; NIST SP 811: 1 ft = 0.3048 m."""
    field = next(f for f in fields_of(Floor) if f.name == "width")
    assert other_system("24 m", field, UnitSystem.METRIC) == "= 78.7 ft"
    assert other_system("24 m", field, UnitSystem.US) == "= 78.7 ft"
    assert other_system("10 ft", field, UnitSystem.METRIC) == "= 3.05 m"
    assert other_system("10 ft", field, UnitSystem.US) == "= 3.05 m"
    assert other_system("10 furlong", field, UnitSystem.US) == ""


def test_switching_units_changes_no_typed_quantity(desk: Hands) -> None:
    """Only what figures are shown in changes; it is an act that can be undone."""
    desk.quick()
    before = desk.job
    desk.window.files.show_units(UnitSystem.US)
    assert desk.job.units is UnitSystem.US
    assert desk.job.model_copy(update={"units": before.units}) == before
    editor = desk.editor("site", "floor", "width")
    assert isinstance(editor.input, LineEdit)
    assert editor.input.text() == "20 m"
    desk.window.session.undo()
    assert desk.job == before


def test_help_names_limits_units_and_what_may_stay_empty() -> None:
    """The help line is made of the declaration."""
    fields = {f.name: f for f in fields_of(Product)}
    metric, us = (Figures("en_US", "USD", system) for system in UnitSystem)
    assert "May stay empty" in described(fields["viscosity"], metric)
    assert "0.1\xa0L to 1,200\xa0L" in described(fields["container"], metric)
    assert "With a unit: L, mL" in described(fields["container"], metric)
    # 0.1 L = 0.0264 gal, 1200 L = 317.006 gal (1 US gal = 231 in3 = 3.785411784 L, exact), rounded to the inside.
    assert "0.03\xa0gal to 317\xa0gal" in described(fields["container"], us)
    kinds = {f.kind for f in fields_of(PriceEntry)}
    assert FieldKind.DATE in kinds


def test_quick_build_tells_what_does_not_fit(desk: Hands) -> None:
    """Too many bays for the floor: a sentence at the field, no design; right again builds."""
    form = desk.form("quick")
    desk.put(form.editors["bays"], "9")
    desk.press_build()
    assert not form.editors["bays"].error.isHidden()
    assert "do not fit" in form.editors["bays"].error.text()
    assert desk.job == Job()
    desk.put(form.editors["bays"], "3")
    desk.press_build()
    assert len(desk.job.design.bays) == 3
    assert desk.window.session.history.position == 1
    assert len(form.editors) <= 10


def test_keyboard_alone_builds_and_undoes(desk: Hands) -> None:
    """Tab through the quick build, Space on its button, undo and redo keys, a pane key, a page key."""
    window = desk.window
    window.enter("quick")

    def here() -> QWidget:
        found = QApplication.focusWidget()
        assert found is not None
        return found

    desk.type(here(), "3")
    seen = []
    for _ in range(16):
        seen.append(here().accessibleName() or here().property("text"))
        if here().property("text") == "&Build the design":
            break
        desk.key(here(), Qt.Key.Key_Tab)
    assert here().property("text") == "&Build the design", seen
    assert len(seen) == 11  # ten inputs and the button
    desk.key(here(), Qt.Key.Key_Space)
    assert len(desk.job.design.bays) == 3
    desk.key(here(), Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.job == Job()
    desk.key(here(), Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert len(desk.job.design.bays) == 3
    panes = []
    for _ in range(5):
        desk.key(here(), Qt.Key.Key_F6)
        panes.append(here().accessibleName())
    assert "Parts of the job" in panes
    assert "What is missing or wrong" in panes
    assert "Floor plan" in panes
    desk.key(here(), Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier)
    assert window.page.key == "site"
    assert here().accessibleName() == "Floor width"


def test_undo_key_in_a_field_that_is_not_being_typed_in(desk: Hands) -> None:
    """After a value is taken over the undo key takes the act back, though the keyboard is in the field."""
    editor = desk.editor("site", "floor", "width")
    desk.put(editor, "30 m")
    assert desk.job.site.floor.width.text == "30 m"
    desk.key(editor.input, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert desk.job == Job()
    assert isinstance(editor.input, LineEdit)
    assert editor.input.text() == "20 m"
