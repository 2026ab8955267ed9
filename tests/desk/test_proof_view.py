"""The proof on the desk: tables, units, sorting, going to a field, the floor plan, a maker's own figures.

Gannet Quay is invented demo data. Figures shown are compared with those of the study, whose physics has its own
tests; conversions with the definitions 1 bar = 100 kPa, 1 psi = 6,894.757 Pa and 1 US gallon = 3.785411784 L
(confirmed: NIST SP 811).
"""

from __future__ import annotations

from importlib import resources

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from estimator.desk.tables import ReadTable
from estimator.desk.theme import DARK, LIGHT, Theme
from estimator.desk.views.plan import PlanView
from estimator.desk.views.proof import ProofView
from estimator.model.design import AIR
from estimator.shown.proof_tables import assumed
from estimator.shown.standing import Standing, standing_of
from estimator.sizing.types import DropProof, DropState, End, Verdict
from estimator.store.jobs import load_job
from estimator.units import UnitSystem
from tests.desk.hands import Hands

PSI, GALLON = 6894.757, 3.785411784e-3


@pytest.fixture
def quay(desk: Hands) -> Hands:
    """The example is open and the proof in view."""
    with resources.as_file(resources.files("resources") / "examples" / "gannet-quay.baydrop") as path:
        desk.window.session.open(load_job(path), path)
    desk.window.show_view("proof")
    return desk


def view(hands: Hands) -> ProofView:
    return hands.window.proof


def texts(table: ReadTable, column: int) -> list[str]:
    """What a column shows, from the top."""
    model = table.model()
    return [str(model.index(i, column).data()) for i in range(model.rowCount())]


def ids(table: ReadTable) -> list[str]:
    """Of the drops of the rows, from the top."""
    return table.keys


def headings(table: ReadTable) -> list[str]:
    model = table.model()
    across = Qt.Orientation.Horizontal
    return [" ".join(str(model.headerData(i, across)).split()) for i in range(model.columnCount())]


def column_of(table: ReadTable, heading: str) -> int:
    return headings(table).index(heading)


def nozzle(hands: Hands, drop: int, size: str) -> None:
    """The person chooses another nozzle."""
    hands.put(hands.editor("drops", drop, "nozzle_size"), size)


def test_every_liquid_drop_has_its_row_with_the_figures_of_the_study(quay: Hands) -> None:
    table, proof = view(quay).drops, quay.window.session.study.proof
    assert len(proof.drops) == sum(d.service != AIR for d in quay.job.design.drops) > 10
    assert ids(table) == [d.drop for d in proof.drops]
    for heading, figures in (
        ("Alone L/min", [d.alone.flow_m3_s * 60e3 for d in proof.drops]),
        ("Alone bar", [d.alone.nozzle_pressure_pa / 1e5 for d in proof.drops]),
        ("Together L/min", [d.together.flow_m3_s * 60e3 for d in proof.drops]),
        ("Together bar", [d.together.nozzle_pressure_pa / 1e5 for d in proof.drops]),
        ("Spray width m", [d.spray_width_m for d in proof.drops]),
    ):
        assert texts(table, column_of(table, heading)) == [f"{f:.2f}" for f in figures], heading
    assert set(texts(table, column_of(table, "Verdict"))) == {"✓ inside its window"}
    assert texts(table, 0)[0] == "Bay 1 left"


def test_lines_plant_and_sentences_tell_everything(quay: Hands) -> None:
    shown, proof = view(quay), quay.window.session.study.proof
    lines, plant = shown.lines, shown.plant
    assert texts(lines, column_of(lines, "Guns together")) == [str(x.guns_open) for x in proof.lines]
    assert texts(lines, column_of(lines, "Why that many guns")) == [
        "99\xa0% of the busy hour, %d guns each open %.1f\xa0%% of the time".replace("99\xa0%", "99\xa0%%")
        % (sum(d.line == x.line for d in proof.drops), 100 * x.use_probability)
        for x in proof.lines
    ]
    fastest = [max(s.velocity_m_s for s in x.segments) for x in proof.lines]
    assert texts(lines, column_of(lines, "Fastest m/s")) == [f"{v:.2f}" for v in fastest]
    assert texts(plant, column_of(plant, "Tip drill")) == [str(p.tip_drill) for p in proof.plant]
    assert texts(plant, column_of(plant, "Tank L")) == [f"{p.tank_m3 * 1e3:.1f}" for p in proof.plant]
    assert texts(plant, column_of(plant, "Runs dry days")) == [
        f"{100 * p.dry_chance:.1f}\xa0%" for p in proof.plant
    ]
    said = [line.cells[0] for line in shown.list.lines]
    assert said[0].startswith("✓ Compressed air, enough")
    assert said[1].startswith("✓ Water, enough")
    assert said[2].startswith("Shared water: 4\xa0bar at the tie-in with nothing running.")
    assert [s.removeprefix("Assumed: ") for s in said[3:]] == list(assumed(quay.window.session.study))
    assert "generic demo data" in shown.demo.text()


def test_us_units(quay: Hands) -> None:
    quay.window.files.show_units(UnitSystem.US)
    table, proof = view(quay).drops, quay.window.session.study.proof
    assert texts(table, column_of(table, "Together psi")) == [
        f"{d.together.nozzle_pressure_pa / PSI:.1f}" for d in proof.drops
    ]
    assert texts(table, column_of(table, "Together gpm")) == [
        f"{d.together.flow_m3_s * 60 / GALLON:.3f}" for d in proof.drops
    ]
    assert "Fastest ft/s" in headings(view(quay).lines)


def test_it_follows_every_edit_and_undo(quay: Hands) -> None:
    table = view(quay).drops
    verdict = column_of(table, "Verdict")
    nozzle(quay, 0, "15")
    assert texts(table, verdict)[0] == "↓ pressure too low"
    assert "1 ↓ pressure too low" in view(quay).summary.text()
    quay.window.session.undo()
    assert texts(table, verdict)[0] == "✓ inside its window"
    assert "↓" not in view(quay).summary.text()


def test_an_edit_out_of_view_is_there_when_it_comes_into_view(quay: Hands) -> None:
    window = quay.window
    window.show_view("plan")
    nozzle(quay, 0, "15")
    window.show_view("proof")
    table = view(quay).drops
    assert texts(table, column_of(table, "Verdict"))[0] == "↓ pressure too low"


def test_a_heading_sorts_by_the_figure_not_by_its_text(quay: Hands) -> None:
    nozzle(quay, 0, "15")
    table = view(quay).drops
    column = column_of(table, "Room")
    table.sortByColumn(column, Qt.SortOrder.AscendingOrder)
    rooms = [float(t.removesuffix("\xa0%")) for t in texts(table, column)]
    assert rooms == sorted(rooms)
    assert rooms[0] < 0
    assert ids(table)[0] == quay.job.design.drops[0].id


@pytest.mark.parametrize("by", ["enter", "double click"])
def test_a_row_leads_to_its_field(quay: Hands, by: str) -> None:
    table = view(quay).drops
    table.sortByColumn(column_of(table, "Room"), Qt.SortOrder.DescendingOrder)
    drop = ids(table)[2]
    index = table.model().index(2, 0)
    table.setCurrentIndex(index)
    if by == "enter":
        table.setFocus()
        quay.key(table, Qt.Key.Key_Return)
    else:
        centre: QPoint = table.visualRect(index).center()
        quay.click(table.viewport(), centre)
        QTest.mouseDClick(table.viewport(), Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, centre)
    assert quay.window.page.key == "drops"
    rows = quay.window.rows_in_view()
    assert rows is not None
    assert [quay.job.design.drops[i].id for i in rows.selection] == [drop]
    assert quay.window.focusWidget() is quay.editor_here("nozzle_size").input


def test_lines_plant_and_sentences_lead_somewhere(quay: Hands) -> None:
    shown = view(quay)
    for table, page in ((shown.lines, "plant"), (shown.plant, "plant")):
        shown.parts.setCurrentWidget(table)
        table.setCurrentIndex(table.model().index(1, 0))
        quay.key(table, Qt.Key.Key_Return)
        assert quay.window.page.key == page
        rows = quay.window.rows_in_view()
        assert rows is not None
        assert rows.selection == [1]
    shown.parts.setCurrentWidget(shown.air)
    shown.air.setCurrentIndex(shown.air.model().index(1, 0))
    quay.key(shown.air, Qt.Key.Key_Return)
    assert quay.window.page.key == "drops"
    assert quay.window.focusWidget() is quay.editor_here("gun").input
    shown.parts.setCurrentWidget(shown.list)
    assert shown.list.current == shown.list.keys[0]
    quay.key(shown.list, Qt.Key.Key_Return)
    assert quay.window.focusWidget() is quay.editor("site", "air", "free_air").input


def test_selecting_here_and_on_the_plan_correspond(quay: Hands) -> None:
    table, plan = view(quay).drops, quay.window.plan.view
    table.select(ids(table)[3])
    drop = ids(table)[3]
    assert plan.chosen == (drop,)
    told = view(quay).told.text()
    assert (
        " ".join(texts(table, i)[3] for i in (0, 1)).replace("left ", "left, ").replace("right ", "right, ")
        in told
    )
    assert drop not in told
    other = quay.window.session.study.proof.drops[5].drop
    plan.drop_chosen.emit(other, False)
    assert table.selected == [other]


def test_what_is_selected_stays_through_an_edit(quay: Hands) -> None:
    table = view(quay).drops
    key = ids(table)[4]
    table.select(key)
    nozzle(quay, 0, "15")
    view(quay).choose([key])
    quay.window.session.undo()
    assert table.selected == [key]


def test_names_for_a_screen_reader(quay: Hands) -> None:
    shown = view(quay)
    for widget in (shown.drops, shown.lines, shown.plant, shown.list, shown.propose, shown.parts):
        assert widget.accessibleName() or widget is shown.propose
        assert widget.accessibleDescription() or widget is shown.parts
    index = shown.drops.model().index(0, column_of(shown.drops, "Room"))
    assert str(index.data(Qt.ItemDataRole.AccessibleTextRole)).startswith("Room: ")


def test_a_blank_job_has_an_empty_proof(desk: Hands) -> None:
    shown = desk.window.proof
    assert shown.drops.model().rowCount() == 0
    assert "Nothing to prove yet" in shown.summary.text()
    assert not shown.propose.isEnabled()


def test_no_figure_on_the_screen_is_nan_or_infinite_when_the_survey_is_bad(quay: Hands) -> None:
    for field, text in (("free_air", "0 L/min"), ("pressure", "0 bar")):
        quay.put(quay.editor("site", "air", field), text)
    quay.put(quay.editor("site", "water", "pressure"), "0 bar")
    shown = view(quay)
    said = [line.cells[0] for line in shown.list.lines]
    for table in (shown.drops, shown.lines, shown.plant):
        for column in range(table.model().columnCount()):
            said += texts(table, column)
    assert len(said) > 50
    assert not [s for s in said if "nan" in s.casefold().split() or "inf" in s.casefold().split()]
    assert any("✕ no flow" in s or "↓" in s for s in said)


def _drop(verdict: Verdict, room: float) -> DropProof:
    state = DropState(1e-5, 2e5)
    return DropProof("a", "soap", state, state, (), 1e5, 4e5, None, 0.1, 10.0, verdict, room, End.LOW)


def test_each_verdict_has_its_own_sign_and_words() -> None:
    assert standing_of(_drop(Verdict.GOOD, 0.3)) is Standing.GOOD
    assert standing_of(_drop(Verdict.CLOSE, 0.02)) is Standing.CLOSE
    assert standing_of(_drop(Verdict.LOW, -0.1)) is Standing.LOW
    assert standing_of(_drop(Verdict.HIGH, -0.1)) is Standing.HIGH
    assert standing_of(_drop(Verdict.NO_FLOW, -1.0)) is Standing.NO_FLOW
    assert standing_of(None) is Standing.UNKNOWN
    drops = (Standing.GOOD, Standing.CLOSE, Standing.LOW, Standing.HIGH, Standing.NO_FLOW, Standing.UNKNOWN)
    assert len({s.sign for s in drops}) == len(drops)
    assert len({s.words for s in Standing}) == len(Standing)


def _luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda t: t.name)
def test_verdicts_can_be_read(theme: Theme) -> None:
    # Contrast of at least 4.5:1 (WCAG 2.2, 1.4.3, from memory).
    for standing in Standing:
        for ground in (theme.paper, theme.ground):
            low, high = sorted((_luminance(theme.standing(standing)), _luminance(ground)))
            assert (high + 0.05) / (low + 0.05) >= 4.5, (standing, ground)


def test_the_floor_plan_tells_verdicts_by_sign_and_words(quay: Hands) -> None:
    window = quay.window
    window.show_view("plan")
    plan: PlanView = window.plan.view
    good = plan.grab().toImage()
    assert "✓" in window.plan.key.text()
    assert "↓" not in window.plan.key.text()
    nozzle(quay, 0, "15")
    assert "↓" in window.plan.key.text()
    assert "pressure&nbsp;too&nbsp;low" in window.plan.key.text()
    plan.choose([quay.job.design.drops[0].id])
    assert "pressure too low, room -" in plan.accessibleDescription()
    plan.choose([])
    assert plan.grab().toImage() != good


def test_a_makers_own_pump_can_be_entered_and_chosen(quay: Hands) -> None:
    form = quay.form("design").groups["makers"]
    quay.press(form.lists["pumps"].buttons["add"])
    own = quay.job.design.makers.pumps
    assert len(own) == 1
    quay.put(quay.editor("design", "makers", "pumps", 0, "name"), "Own pump")
    quay.put(quay.editor("design", "makers", "pumps", 0, "points", 1, "discharge"), "3.4 bar")
    assert quay.job.design.makers.pumps[0].points[1].discharge.text == "3.4 bar"
    before = quay.window.session.study.proof.lines[0]
    quay.put(quay.editor("plant", 0, "pump"), own[0].key)
    assert quay.job.design.plant[0].pump == own[0].key
    after = quay.window.session.study.proof.lines[0]
    assert after.pump_pressure_pa != before.pump_pressure_pa
    table = quay.rows("plant").table
    assert "Own pump" in [str(table.model().index(0, i).data()) for i in range(table.model().columnCount())]


def test_a_makers_own_nozzle_and_proportioner_can_be_chosen(quay: Hands) -> None:
    form = quay.form("design").groups["makers"]
    for name in ("proportioners", "nozzles"):
        quay.press(form.lists[name].buttons["add"])
    makers = quay.job.design.makers
    nozzle(quay, 0, makers.nozzles[0].key)
    quay.put(quay.editor("plant", 0, "proportioner"), makers.proportioners[0].key)
    assert quay.job.design.drops[0].nozzle_size == makers.nozzles[0].key
    assert quay.job.design.plant[0].proportioner == makers.proportioners[0].key
    places = [f.place for f in quay.window.session.findings if f.severity.value == "error"]
    assert "design.drops.0.nozzle_size" not in places
    assert "design.plant.0.proportioner" not in places
