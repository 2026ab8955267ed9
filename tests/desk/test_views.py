"""What stands beside the form: plan, prices, findings, themes, sizes."""

from __future__ import annotations

import math
import re
from functools import partial

import pytest
from PySide6.QtCore import QEvent, QPoint, QRectF, Qt
from PySide6.QtGui import QHelpEvent
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QPushButton,
    QScrollArea,
    QSplitter,
    QStyleOptionComboBox,
    QToolTip,
)

from estimator.desk.doing.files import Files
from estimator.desk.form.inputs import CheckBox, ComboBox, LineEdit
from estimator.desk.form.pages import FormPage, Page, RowsPage, place_of
from estimator.desk.form.rows import RowsEditor
from estimator.desk.session import Session
from estimator.desk.theme import DARK, LIGHT, THEMES, Theme
from estimator.desk.window import Window
from estimator.model.countries import Country
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.shown.lines import HUES
from estimator.shown.names import Names
from estimator.store.pricebooks import shipped_price_book
from tests.desk.hands import Hands, Said, room_of


def test_a_click_on_a_drop_selects_its_row(desk: Hands) -> None:
    """From the drawing to the form, and from the form to the drawing."""
    desk.quick()
    view = desk.window.plan.view
    desk.bot.waitUntil(lambda: view.spot_of(desk.job.design.drops[0].id) is not None)
    drop = desk.job.design.drops[5]
    spot = view.spot_of(drop.id)
    assert spot is not None
    assert view.drop_at(spot) == drop.id
    desk.click(view, at=spot.toPoint())
    page = desk.window.page
    assert isinstance(page, RowsPage)
    assert page.key == "drops"
    assert page.rows.selection == [5]
    assert view.chosen == (drop.id,)
    page.rows.select([1, 2])
    assert view.chosen == tuple(d.id for d in desk.job.design.drops[1:3])


def test_every_drop_has_a_symbol_of_its_own(desk: Hands) -> None:
    """No symbol lies on another at the smallest window, so each can be clicked."""
    desk.window.resize(desk.window.minimumSize())
    desk.quick()
    view = desk.window.plan.view
    drops = [d.id for d in desk.job.design.drops]
    desk.bot.waitUntil(lambda: all(view.spot_of(d) is not None for d in drops))
    view.repaint()
    for drop in drops:
        spot = view.spot_of(drop)
        assert spot is not None
        assert view.drop_at(spot) == drop


@pytest.mark.parametrize(("size", "least"), [((911, 480), 4.5), ((1366, 768), 4.5), ((2400, 1500), 9.0)])
def test_symbols_keep_off_those_of_the_other_side(desk: Hands, size: tuple[int, int], least: float) -> None:
    """Those of opposite drops lay on one another in a small window; in a large one they have their full size."""
    desk.command("file.example.gannet-quay")
    desk.window.resize(*size)
    desk.window.show_view("plan")
    view = desk.window.plan.view
    desk.bot.wait(50)
    view.set_zoom(1.0)
    view.repaint()
    drops = [d.id for d in desk.job.design.drops]
    found = [(view.spot_of(d), view._radii.get(d)) for d in drops]
    for i, (spot, radius) in enumerate(found):
        assert spot is not None
        assert radius is not None
        assert radius >= least
        for other, its in found[:i]:
            assert other is not None
            assert its is not None
            apart = math.hypot(spot.x() - other.x(), spot.y() - other.y())
            assert apart >= radius + its, (drops[i], apart, view.size())


@pytest.mark.parametrize("size", [(911, 480), (1366, 768), (2400, 1500)])
def test_the_name_of_the_eyewash_lies_on_no_drop(desk: Hands, size: tuple[int, int]) -> None:
    """In a small window it hid two drops and the hall's depth; without room the key and the cross's tip tell it."""
    desk.command("file.example.tern-bank")
    desk.window.resize(*size)
    desk.window.show_view("plan")
    view = desk.window.plan.view
    drops = [d.id for d in desk.job.design.drops]
    desk.bot.waitUntil(lambda: all(view.spot_of(d) is not None for d in drops))
    view.set_zoom(1.0)
    view.repaint()
    box = view.wash_box
    if box is None:
        assert size == (911, 480)
    else:
        assert QRectF(view.rect()).contains(box)
        for drop in drops:
            spot, radius = view.spot_of(drop), view._radii[drop]
            assert spot is not None
            assert not box.intersects(QRectF(spot.x() - radius, spot.y() - radius, 2 * radius, 2 * radius))
    assert "Eyewash,&nbsp;shower" in desk.window.plan.key.text()


def test_the_plan_by_keyboard(desk: Hands) -> None:
    """Arrows go from drop to drop, Enter opens the form, plus zooms."""
    desk.quick()
    view = desk.window.plan.view
    view.setFocus()
    desk.key(view, Qt.Key.Key_Right)
    desk.key(view, Qt.Key.Key_Right)
    assert view.chosen == (desk.job.design.drops[1].id,)
    assert Names(desk.job.design).drop(view.chosen[0]) in view.accessibleDescription()
    assert view.chosen[0] not in view.accessibleDescription()
    desk.key(view, Qt.Key.Key_Left)
    assert view.chosen == (desk.job.design.drops[0].id,)
    desk.key(view, Qt.Key.Key_Return)
    assert desk.window.page.key == "drops"
    width = view.width()
    desk.key(view, Qt.Key.Key_Plus)
    assert view.width() > width
    desk.key(view, Qt.Key.Key_0)
    assert view.width() == width


def test_a_price_row_tells_what_it_comes_from(desk: Hands) -> None:
    """Its objects stand below the table and are marked on the plan; sums are those of the study."""
    desk.quick()
    window = desk.window
    table = window.prices.table
    price = window.session.study.price
    assert len(table.lines) == len(price.sections) + 1
    assert table.select(table.lines[0].children[0].key)
    row = window.prices.current
    assert row is not None
    names, told = Names(desk.job.design, window.session.study.layout), window.prices.origin.text()
    assert all(names.object(key) in told for key in row.takeoff.objects[:12])
    assert not any(re.search(rf"(?<![\w-]){re.escape(d.id)}(?![\w-])", told) for d in desk.job.design.drops)
    assert window.plan.view.marked == frozenset(row.takeoff.objects)
    sections, sums = table.lines[:-1], table.lines[-1]
    assert sum(len(section.children) for section in sections) == len(price.rows)
    total = sums.children[-1]
    assert total.cells[4] == window.header.firm.text()


def test_folded_sections_stay_folded_through_an_edit(desk: Hands) -> None:
    desk.quick()
    table = desk.window.prices.table
    desk.window.show_view("takeoff")
    first, chosen = table.lines[0], table.lines[1].children[0].key
    table.collapse(table.lines_model.find(first.key))
    table.select(chosen)
    desk.put(desk.editor("terms", "rule_percent"), "31")
    assert table.lines[0] != first
    assert not table.isExpanded(table.lines_model.find(first.key))
    assert table.isExpanded(table.lines_model.find(table.lines[1].key))
    assert table.current == chosen


def test_enter_on_a_finding_goes_to_its_field(desk: Hands) -> None:
    """The list is counted in the header; its first error leads to the field that is wrong."""
    desk.quick()
    desk.put(desk.editor("site", "water", "pressure"), "wet")
    desk.window.go_to_page("terms")
    header = desk.window.header
    assert header.counts[Grade.MEND].isEnabled()
    assert header.counts[Grade.MEND].text().startswith("✕ ")
    desk.press(header.counts[Grade.MEND])
    found = desk.window.findings.table
    found.select(next(line.key for line in found.lines if "Water pressure" in line.cells[0]))
    found.setFocus()
    desk.key(found, Qt.Key.Key_Return)
    assert desk.window.page.key == "site"
    focus = QApplication.focusWidget()
    assert isinstance(focus, LineEdit)
    assert focus.accessibleName() == "Water pressure"
    assert "Water pressure" in desk.window.help.text()


def test_every_finding_leads_somewhere(desk: Hands) -> None:
    """Places of all findings of the example are a field, a row, or plainly none."""
    desk.command("file.example.gannet-quay")
    session = desk.window.session
    assert session.findings
    for finding in session.findings:
        place = place_of(session, finding.place)
        assert place is not None, finding
        assert desk.window.go_to(finding.place)
    bay = session.job.design.bays[0].id
    for where, page in (
        (session.job.design.drops[3].id, "drops"),
        (f"{bay}-left", "bays"),
        ("prewash", "products"),
        ("air", "lines"),
        (session.book.entries[0].code, "book"),
        ("design.common.eyewash", "design"),
    ):
        found = place_of(session, where)
        assert found is not None
        assert found.page == page
    assert place_of(session, "nowhere") is None


def _luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour, W3C WCAG 2.1, definition "relative luminance"."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _contrast(a: str, b: str) -> float:
    high, low = sorted((_luminance(a), _luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_text_can_be_read_in_both_themes(theme: Theme) -> None:
    """Contrast of text at least 4.5 to 1: W3C WCAG 2.1, success criterion 1.4.3 (published)."""
    for text in (theme.ink, theme.faint, theme.error, theme.warning, theme.note, theme.good, theme.accent):
        for ground in (theme.paper, theme.ground):
            assert _contrast(text, ground) >= 4.5, (text, ground)
    assert _contrast(theme.faint, theme.raised) >= 4.5
    assert _contrast(theme.ink, theme.chosen) >= 4.5
    assert _contrast(theme.on_accent, theme.accent) >= 4.5
    for hue in HUES.values():
        colour = hue.dark if theme is DARK else hue.light
        assert _contrast(theme.paper, colour) >= 4.5, colour
        for ground in (theme.ground, theme.raised):
            # Graphics: at least 3 to 1, success criterion 1.4.11 (published).
            assert _contrast(ground, colour) >= 3.0, (ground, colour)


def test_black_on_white_is_21_to_1() -> None:
    """The contrast formula itself: the greatest possible ratio, W3C WCAG 2.1 (published)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)


def _fits(area: QScrollArea) -> bool:
    return area.horizontalScrollBar().maximum() == 0


@pytest.mark.parametrize(("width", "height"), [(1366, 768), (1920, 1080), (1000, 620), (911, 480)])
@pytest.mark.parametrize("theme", sorted(THEMES))
def test_nothing_is_cut_off(looked_at: Hands, width: int, height: int, theme: str) -> None:
    """The window fits the screen, the price and its range are shown whole, no label is wider than its room."""
    window = looked_at.window
    window.files.show_theme(theme)
    window.resize(width, height)
    window.set_room()
    QApplication.processEvents()
    assert window.width() == width
    assert window.height() == height
    for label in (window.header.firm, window.header.basis, window.header.state):
        assert label.width() >= label.sizeHint().width(), label.text()
    for key in window.pages:
        page = window.go_to_page(key)
        QApplication.processEvents()
        assert page.width() <= window.stack.width()
        area = getattr(page, "area", None)
        if area is not None and width >= 1366:
            # Nested boxes settle one after the other.
            looked_at.bot.waitUntil(partial(_fits, area), timeout=2000)
        for words in page.findChildren(QLabel):
            if words.isVisible() and words.wordWrap() and words.text():
                assert words.height() >= words.heightForWidth(words.width()) - 1, (key, words.text())


def test_a_small_window_scrolls_no_view_and_no_form_sideways(looked_at: Hands) -> None:
    """What 1366 by 768 leaves at 150 %: buttons ran out of the window, and the table of options was one row high."""
    _scrolls_nothing_sideways(looked_at)


@pytest.mark.parametrize(("example", "theme"), [("gannet-quay", "dark"), ("harrow-mill", "light")])
def test_nor_in_another_job_its_units_and_theme(desk: Hands, example: str, theme: str) -> None:
    """In US units a hint beside an input is longer, and a row of a list within a form opens one more form."""
    desk.command(f"file.example.{example}")
    desk.window.show_theme(theme)
    desk.command("view.units.us")
    _scrolls_nothing_sideways(desk)
    for page in desk.window.pages.values():
        if isinstance(page, FormPage):
            desk.window.go_to_page(page.key)
            for rows in page.form.findChildren(RowsEditor):
                desk.press(rows.buttons["add"])
                assert rows.selection or rows.problem.text(), rows.accessibleName()
            QApplication.processEvents()
            _scrolls_not_sideways(page)


def _scrolls_nothing_sideways(hands: Hands) -> None:
    window = hands.window
    window.resize(911, 480)
    window.set_room()
    for key in ("preview", "proof", "risk", "options", "revisions"):
        window.show_view(key)
        hands.wait_for_options()
        QApplication.processEvents()
        area = window._views[key]
        assert isinstance(area, QScrollArea)
        view = area.widget()
        assert view is not None
        assert view.width() <= area.viewport().width(), key
        for button in view.findChildren(QPushButton):
            if button.isVisible():
                assert button.width() >= button.sizeHint().width(), (key, button.text())
                right = button.mapTo(view, button.rect().topRight()).x()
                assert right <= area.viewport().width(), (key, button.text())
    for table in (window.options.all, window.options.own, window.options.rows, window.revisions.table):
        assert table.viewport().height() >= 3 * 23, table.accessibleName()
    for page in window.pages.values():
        window.go_to_page(page.key)
        QApplication.processEvents()
        _scrolls_not_sideways(page)


def _scrolls_not_sideways(page: Page) -> None:
    inside = getattr(page, "area", None)
    if isinstance(inside, QScrollArea):
        form = inside.widget()
        assert form is not None
        assert form.width() <= inside.viewport().width(), page.key


def test_undo_names_its_act_in_the_menu(desk: Hands) -> None:
    """The Edit menu says what would be undone and redone; the history leads anywhere."""
    desk.put(desk.editor("site", "floor", "width"), "30 m")
    desk.put(desk.editor("customer", "name"), "R&D")
    actions = desk.window.menus.actions
    undo, redo = actions["edit.undo"], actions["edit.redo"]
    assert undo.text() == "&Undo: Customer, Name: R&&D"
    undo.trigger()
    assert redo.text() == "&Redo: Customer, Name: R&&D"
    assert undo.text() == "&Undo: Floor, Floor width: 30 m"
    first, *_ = desk.listing("edit.history")
    assert first.text() == "As it was opened"
    first.trigger()
    assert desk.job.site.floor.width.text == "20 m"
    assert not undo.isEnabled()


def test_a_share_remembered_from_a_larger_window_cuts_no_form(desk: Hands) -> None:
    """In 911 points the form got what 38 % of 1,920 are of it: inputs with a unit beside them were cut."""
    window = desk.window
    window.resize(1920, 1080)
    window.set_room()
    QApplication.processEvents()
    window.go_to_page("drops")
    window.resize(911, 480)
    QApplication.processEvents()
    for key in ("site", "drops", "design"):
        _scrolls_not_sideways(window.go_to_page(key))
        QApplication.processEvents()
        _scrolls_not_sideways(window.page)
    window.split.setSizes([140, 100, 600])
    QApplication.processEvents()
    _scrolls_not_sideways(window.page)


def test_the_options_that_are_compared_are_read_whole(desk: Hands) -> None:
    """Side by side in a small window each had 89 points, and cut the names that it was there for."""
    desk.command("file.example.harrow-mill")
    desk.command("options.make")
    desk.window.resize(911, 480)
    desk.window.set_room()
    desk.window.show_view("options")
    desk.wait_for_options()
    QApplication.processEvents()
    for box in (desk.window.options.first, desk.window.options.second):
        assert box.count() == 2
        for at in range(box.count()):
            assert room_of(box) >= box.fontMetrics().horizontalAdvance(box.itemText(at)), box.itemText(at)


def test_a_row_is_headed_by_its_name(desk: Hands) -> None:
    """The heading above a drop's form, and undo after it, said “1-l-prewash”."""
    desk.command("file.example.gannet-quay")
    for page, at, name in (
        ("drops", 0, "Bay 1 left, Alkaline foam pre-wash"),
        ("products", 1, None),
        ("bays", 0, "Bay 1"),
        ("plant", 0, "Alkaline foam pre-wash"),
    ):
        rows = desk.rows(page)
        rows.select([at])
        assert rows.heading.text() == (name or desk.job.design.products[at].name)
    rows = desk.rows("drops")
    rows.select([0])
    desk.press(rows.buttons["duplicate"])
    undo = desk.window.menus.actions["edit.undo"]
    assert undo.text() == "&Undo: Drops: duplicate Bay 1 left, Alkaline foam pre-wash"
    assert rows.heading.text() == "Bay 1 left, Alkaline foam pre-wash (2 of 2)"


def test_the_help_of_the_form_tells_of_no_count(desk: Hands) -> None:
    """“Go to the first of them.” stayed below the form once a count had been pressed."""
    desk.command("file.example.gannet-quay")
    editor = desk.editor("site", "floor", "width")
    editor.focus()
    assert desk.window.help.text()
    count = next(button for button in desk.window.header.counts.values() if button.isEnabled())
    count.setFocus()
    assert desk.window.help.text() == ""
    editor.focus()
    assert desk.window.help.text()


def test_the_navigation_shows_its_counts_whole(desk: Hands) -> None:
    """“Products  4 …” at 150 %: the number of what is wrong there was cut off."""
    desk.command("file.example.gannet-quay")
    desk.window.resize(911, 480)
    desk.window.set_room()
    QApplication.processEvents()
    nav = desk.window.nav
    for key, page in desk.window.pages.items():
        item = desk.window._nav_items[key]
        if page.below:
            item.setText(0, f"{page.title}  12  ✕ 12")
        assert nav.sizeHintForColumn(0) <= nav.viewport().width(), item.text(0)
    editor = desk.editor("products", 0, "name")
    desk.put(editor, "x" * 9_999)
    item = desk.window._nav_items["products"]
    assert item.text(0) == "Products  5  ✕ 1"
    assert item.toolTip(0) == item.text(0)


def test_a_drop_down_without_room_tells_its_choice_and_its_list_all_of_each(desk: Hands) -> None:
    """“Backflow prevention device for” was all that was read of it, in its list too."""
    desk.command("file.example.harrow-mill")
    desk.window.resize(911, 480)
    desk.window.set_room()
    box = desk.editor("design", "common", "backflow").input
    assert isinstance(box, ComboBox)
    QApplication.processEvents()
    words = box.currentText()
    assert box.is_cut
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    begin, _, end = option.currentText.partition("…")
    assert words.startswith(begin)
    assert words.endswith(end)
    assert len(begin) > 8 < len(end)
    assert box.fontMetrics().horizontalAdvance(option.currentText) <= room_of(box)
    box.showPopup()
    longest = max(box.fontMetrics().horizontalAdvance(box.itemText(i)) for i in range(box.count()))
    assert box.view().viewport().width() > longest
    box.hidePopup()
    at = box.rect().center()
    QApplication.sendEvent(box, QHelpEvent(QEvent.Type.ToolTip, at, box.mapToGlobal(at)))
    assert QToolTip.text().startswith(words)
    QToolTip.hideText()
    wide = ComboBox()
    wide.offer("Short", "short")
    wide.resize(200, 26)
    assert not wide.is_cut


def test_the_name_of_the_option_worked_on_is_read_whole(desk: Hands) -> None:
    """“Second sides and glass cleaner” ended in “glas” (seen in a picture of the desk)."""
    desk.command("file.example.harrow-mill")
    QApplication.processEvents()
    box = desk.window.since.option
    assert box.currentText() == "Second sides and glass cleaner"
    assert room_of(box) >= box.fontMetrics().horizontalAdvance(box.currentText())


def test_a_drop_down_shows_all_of_its_choices(desk: Hands) -> None:
    """With the keyboard on it the list was cut off by 12 points: the board's walls hid North."""
    desk.command("file.example.gannet-quay")
    desk.command("options.make")
    wall = desk.editor("site", "board", "wall").input
    for box in (wall, desk.window.since.option):
        assert isinstance(box, ComboBox)
        for at in range(box.count()):
            box.setCurrentIndex(at)
            box.setFocus()
            box.showPopup()
            QApplication.processEvents()
            view = box.view()
            first = view.visualRect(view.model().index(0, 0))
            last = view.visualRect(view.model().index(box.count() - 1, 0))
            assert first.top() >= 0, box.currentText()
            assert last.bottom() < view.viewport().height(), box.currentText()
            box.hidePopup()


def test_all_drops_chosen_flood_nothing(desk: Hands) -> None:
    """Every drop selected, then a click beside them: the help stays within four lines, the form keeps its height."""
    desk.command("file.example.gannet-quay")
    rows = desk.rows("drops")
    view = desk.window.plan.view
    QApplication.processEvents()
    form = desk.window.stack.height()
    rows.select(range(22))
    desk.click(view, at=QPoint(4, 4))
    QApplication.processEvents()
    assert QApplication.focusWidget() is view
    assert "22 drops" in desk.window.help.text()
    line = desk.window.help.fontMetrics().lineSpacing()
    assert desk.window.help.height() <= 4 * line + 14
    assert form - desk.window.stack.height() <= 2 * line


def test_a_long_help_is_cut_at_a_word(desk: Hands) -> None:
    """The tip holds all of it; a wider strip shows more."""
    strip = desk.window.help
    text = " ".join(f"word{i}" for i in range(300))
    strip.tell(text)
    assert strip.text().endswith(" …")
    assert text.startswith(strip.text().removesuffix(" …"))
    assert strip.toolTip() == text
    strip.tell("Short.")
    assert (strip.text(), strip.toolTip()) == ("Short.", "")


def test_a_click_on_a_drop_moves_no_divider(desk: Hands) -> None:
    """The drop stays under the pointer, though its page would like more room."""
    desk.command("file.example.gannet-quay")
    window, view = desk.window, desk.window.plan.view
    window.go_to_page("site")
    desk.bot.waitUntil(lambda: view.spot_of("1-l-prewash") is not None)
    QApplication.processEvents()
    sizes, spot = window.split.sizes(), view.spot_of("1-l-prewash")
    assert spot is not None
    at = view.mapToGlobal(spot.toPoint())
    desk.click(view, at=spot.toPoint())
    QApplication.processEvents()
    view.repaint()
    assert window.page.key == "drops"
    assert window.split.sizes() == sizes
    now = view.spot_of("1-l-prewash")
    assert now is not None
    assert view.mapToGlobal(now.toPoint()) == at
    window.go_to_page("site")
    window.go_to_page("drops")  # chosen in the list, it gets its room
    assert window.split.sizes() != sizes


def test_dividers_stay_where_they_were_put(desk: Hands) -> None:
    """Between two starts: of plain and wide pages, of the views and of a list's table and form."""
    window = desk.window
    window.resize(840, 700)  # as much as the screen of a test holds
    window.go_to_page("site")
    window.split.setSizes([140, 300, 380])
    window.right.setSizes([300, 260])
    (rows,) = (s for s in desk.rows("drops").findChildren(QSplitter))
    window.split.setSizes([150, 360, 310])
    rows.setSizes([200, 180])
    QApplication.processEvents()
    wide, right, of_rows = window.split.sizes(), window.right.sizes(), rows.sizes()
    window.go_to_page("site")
    QApplication.processEvents()
    plain = window.split.sizes()
    window.close()

    session, said = Session(Job(), shipped_price_book()), Said()
    again = Window(session, Files(session, said), said)
    desk.bot.addWidget(again)
    again.begin()
    assert again.size() == window.size()
    again.go_to_page("site")
    QApplication.processEvents()
    assert again.split.sizes() == plain
    assert again.right.sizes() == right
    page = again.go_to_page("drops")
    QApplication.processEvents()
    assert again.split.sizes() == wide
    assert page.findChildren(QSplitter)[0].sizes() == of_rows
    again.close()


@pytest.mark.parametrize("layout", ["", "AAAA", "bnVsbA==", "eyJtYWluIjogWyJ4Il19"])
def test_a_layout_that_cannot_be_read_gives_the_usual_one(desk: Hands, layout: str) -> None:
    """Nothing, no letters of the kind, `null`, and a size that is no number."""
    files = desk.window.files
    files.settings = files.settings.model_copy(update={"layout": layout})
    desk.window.begin()
    assert all(size > 60 for size in desk.window.split.sizes())


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_an_empty_check_box_is_seen(desk: Hands, theme: Theme) -> None:
    """Its outline against the ground at least 3 to 1: W3C WCAG 2.1, success criterion 1.4.11 (published)."""
    desk.window.show_theme(theme.name)
    box = desk.editor("terms", "labour_taxable").input
    assert isinstance(box, CheckBox)
    picture = box.grab().toImage()
    row = [picture.pixelColor(x, picture.height() // 2).name() for x in range(20)]
    assert max(_contrast(colour, theme.ground) for colour in row) >= 3


@pytest.mark.parametrize(("width", "height"), [(1366, 768), (911, 512)])
def test_the_source_of_a_finding_covers_none_of_the_list(looked_at: Hands, width: int, height: int) -> None:
    """In a small window (a screen of 1366 by 768 at 150 %) it was written across the sentence in front."""
    window = looked_at.window
    window.resize(width, height)
    window.set_room()
    view = window.findings
    view.table.select(view.table.keys[0])
    QApplication.processEvents()
    assert view.chosen is not None
    shown = view.more.isVisible()
    assert not shown or view.table.geometry().bottom() <= view.more.geometry().top()
    assert not shown or view.more.height() >= view.more.heightForWidth(view.more.width())
    # Where there is no room the tip of the entry tells it.
    line = view.table.line_of(view.table.current)
    assert line is not None
    assert view.chosen.source(Country.US) in line.told
