"""Options at the desk: made, worked on, compared, offered, undone."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PySide6.QtCore import Qt

from estimator.acts.alternates import alternates, with_mounts
from estimator.acts.options import with_option, without_option
from estimator.desk.views.options import comparison_lines
from estimator.going import ALONE, Going
from estimator.model.choices import Mount
from estimator.model.datum import Datum
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.makers import OwnNozzle
from estimator.model.option_designs import design_of, option_ids, option_name, own_changes, worked_on
from estimator.model.options import BASE, HowChanged, OptionChange
from estimator.model.pricebook import PriceBook
from estimator.model.site import Site
from estimator.pricing.compare import Line as PriceLine
from estimator.pricing.compare import Lines as PriceLines
from estimator.pricing.compare import compare, lines_of
from estimator.shown.entries import entries_of
from estimator.shown.figures import Figures
from estimator.sizing.proof import Prover
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline, Study, study
from estimator.takeoff.types import Section
from estimator.takeoff.words import row_words
from estimator.units import Dimension, UnitSystem, parse
from tests.days import STUDIED
from tests.desk.hands import Hands, shown

OPTIONS_TAB = 5


def open_options(desk: Hands) -> None:
    """A quick build with the options in view."""
    desk.quick()
    desk.window.tabs.setCurrentIndex(OPTIONS_TAB)


def ready_made(desk: Hands, name: str) -> None:
    """One click on a ready-made alternate."""
    view = desk.window.options
    view.menu.aboutToShow.emit()
    found = [a for a in view.menu.actions() if a.text() == name]
    assert found, [a.text() for a in view.menu.actions()]
    found[0].trigger()


def test_forms_change_the_option_that_is_worked_on(desk: Hands) -> None:
    """The base design stays; plan, price and proof are those of the option; undo leads all the way back."""
    open_options(desk)
    session, view = desk.window.session, desk.window.options
    base = session.whole
    desk.press(view.copy)
    assert session.option == "option-1"
    reach = desk.window.since.reach
    assert reach.currentText() == "Edits go to all options"
    spacing = desk.editor("design", "clip_spacing")
    desk.put(spacing, "80 cm")
    assert session.whole.design.clip_spacing.text == "80 cm"
    assert design_of(session.whole, "option-1") == session.whole.design
    session.undo()
    reach.setCurrentIndex(1)
    reach.activated.emit(1)
    assert session.only_here is True
    desk.put(desk.editor("design", "common", "eyewash"), not base.design.common.eyewash)
    assert session.whole.design == base.design
    changed = design_of(session.whole, "option-1")
    assert changed.common.eyewash is not base.design.common.eyewash
    assert session.job.design == changed
    wanted = study(worked_on(session.whole, "option-1"), session.book, STUDIED)
    assert session.study.price == wanted.price
    assert session.study.layout == wanted.layout
    assert session.base_study.price == study(base, session.book, STUDIED).price
    bar = desk.window.since.option
    assert bar.currentData() == "option-1"
    bar.setCurrentIndex(bar.findData(BASE))
    bar.activated.emit(bar.currentIndex())
    assert session.option == BASE
    assert session.job.design == base.design
    for _ in range(3):
        session.undo()
    assert session.whole == base
    assert session.option == BASE
    for _ in range(2):
        session.redo()
    assert session.job.design == changed


def test_every_ready_made_alternate_is_one_click(desk: Hands) -> None:
    """Each makes one option more under its own name with just its design, as one act."""
    open_options(desk)
    session, view = desk.window.session, desk.window.options
    offers = alternates(session.whole.design)
    assert len(offers) >= 4
    for alternate, design in offers:
        position = session.history.position
        assert view.all.select(BASE)
        ready_made(desk, alternate.name)
        assert session.history.position == position + 1
        assert design_of(session.whole, session.option) == design
        assert option_name(session.whole, session.option) == alternate.name
    assert len(view.all.lines) == len(offers) + 1
    desk.wait_for_options()
    figures = session.studies.figures(BASE)
    assert figures is not None
    assert figures.drops is not None
    inside = f"{figures.inside} of {figures.drops} drops"
    assert view.all.lines[0].cells[6] == inside


def test_two_are_compared_row_by_row_both_ways(desk: Hands) -> None:
    """The table is the comparison; turned around each difference has the opposite sign."""
    open_options(desk)
    session, view = desk.window.session, desk.window.options
    ready_made(desk, "One product less")
    option = session.option
    desk.wait_for_options()
    studies = [study(worked_on(session.whole, o), session.book, STUDIED) for o in (BASE, option)]
    wanted = compare(*(lines_of(made.price, row_words(made.job)) for made in studies))
    assert wanted.rows
    assert view.first.currentData() == BASE
    assert view.second.currentData() == option
    assert len(view.rows.lines) == len(wanted.alone) + len(wanted.sums) + 1 + (wanted.repriced is not None)
    assert [line.cells[1] for line in view.rows.lines[: len(wanted.alone)]] == [
        r.kind.value for r in wanted.alone
    ]
    ahead = view.difference.text()
    view.first.setCurrentIndex(1)
    view.second.setCurrentIndex(0)
    back = view.difference.text()
    assert {ahead.strip("+-−"), back.strip("+-−")} == {ahead.strip("+-−")}
    assert ahead != back


def test_rename_offer_make_base_and_remove(desk: Hands) -> None:
    """Each is one act that undo takes back."""
    open_options(desk)
    session, view = desk.window.session, desk.window.options
    ready_made(desk, "One product less")
    view.name.setFocus()
    view.name.selectAll()
    desk.type(view.name, "Small one")
    desk.window.finish_typing()
    assert option_name(session.whole, "option-1") == "Small one"
    desk.press(view.offered)
    assert session.whole.alternatives[0].offered
    before = session.whole
    desk.press(view.base)
    assert session.whole.design.products == design_of(before, "option-1").products
    assert session.option == BASE
    assert len(session.job.design.products) == len(before.design.products) - 1
    session.undo()
    assert session.whole == before
    assert session.option == "option-1"
    view.all.select("option-1")
    desk.press(view.remove)
    assert option_ids(session.whole) == (BASE,)
    assert session.option == BASE
    session.undo()
    assert session.whole == before
    assert not desk.said.told


def test_a_saved_job_holds_all_options(desk: Hands, tmp_path: Path) -> None:
    """What is saved is the whole job, whichever option is in view."""
    open_options(desk)
    session = desk.window.session
    ready_made(desk, "One product less")
    assert session.option != BASE
    desk.said.saves = tmp_path / "job.baydrop"
    assert desk.window.files.save()
    assert load_job(desk.said.saves) == session.whole
    assert not session.is_modified


def test_rows_at_another_price_are_one_line_on_screen() -> None:
    """The terms alone moved: one line with the sum of the differences, which its tip tells row by row."""
    job = load_job(Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop")
    dearer = job.model_copy(update={"terms": job.terms.model_copy(update={"rule_percent": Decimal(60)})})
    before, after = (study(j, shipped_price_book(), STUDIED) for j in (job, dearer))
    made = compare(*(lines_of(s.price, row_words(s.job)) for s in (before, after)))
    lines = comparison_lines(made, Figures("en_US", "USD", UnitSystem.METRIC))
    assert [line.cells[0] for line in lines if line.key == "repriced"] == [
        f"{len(made.rows)} items of the same quantity at another price"
    ]
    assert len(lines) == 1 + len(made.sums) + 1
    (folded,) = (line for line in lines if line.key == "repriced")
    assert len(folded.told.splitlines()) == len(made.rows)


def test_options_are_worked_out_beside_the_window(desk: Hands) -> None:
    """Each is shown as soon as it is there; meanwhile the table says so and how far the work is."""
    open_options(desk)
    ready_made(desk, "One product less")
    view, studies = desk.window.options, desk.window.session.studies
    assert studies.is_busy
    assert [line.cells[1] for line in view.all.lines] == ["…", "…"]
    assert view.cancel.isVisible()
    assert view.progress.isVisible()
    assert view.state.text() == "0 of 2 options worked out"
    desk.wait_for_options()
    assert not view.cancel.isVisible()
    assert not view.progress.isVisible()
    assert studies.missing == ()
    wanted = study(worked_on(desk.window.session.whole, "option-1"), desk.window.session.book, STUDIED)
    made = studies.of("option-1")
    assert made is not None
    assert made.price == wanted.price


def test_work_on_options_can_be_stopped_and_taken_up_again(desk: Hands) -> None:
    """What is there stays; what is not says so, and one press works it out."""
    open_options(desk)
    ready_made(desk, "One product less")
    view, studies = desk.window.options, desk.window.session.studies
    desk.press(view.cancel)
    desk.wait_for_options()
    assert studies.missing == (BASE, "option-1")
    assert [line.cells[1] for line in view.all.lines] == ["not worked out"] * 2
    assert view.state.text() == "2 options not worked out"
    desk.press(view.again)
    desk.wait_for_options()
    assert {studies.of(option) is not None for option in (BASE, "option-1")} == {True}
    assert not view.again.isVisible()


def test_an_edit_meanwhile_is_what_counts(desk: Hands) -> None:
    """Work on a job that holds no longer is left; every figure is of the job that holds."""
    open_options(desk)
    ready_made(desk, "One product less")
    desk.put(desk.editor("terms", "discount_percent"), "10")
    desk.put(desk.editor("terms", "discount_percent"), "20")
    session = desk.window.session
    desk.wait_for_options()
    for option in option_ids(session.whole):
        made = session.studies.of(option)
        assert made is not None
        assert made.price == study(worked_on(session.whole, option), session.book, STUDIED).price


def test_an_option_that_cannot_be_worked_out_is_told(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """The others stay, the window too."""

    alone = Pipeline.alone

    def broken(self: Pipeline, job: Job, book: PriceBook, on: date, option: str, going: Going) -> Study:
        if option != BASE:
            raise ZeroDivisionError("no option today")
        return alone(self, job, book, on, option, going)

    open_options(desk)
    desk.wait_for_options()
    view = desk.window.options
    session = desk.window.session
    ready_made(desk, "One product less")
    desk.wait_for_options()
    session.work_on(BASE)
    monkeypatch.setattr(Pipeline, "alone", broken)
    desk.put(desk.editor("terms", "discount_percent"), "10")
    desk.wait_for_options()
    assert "no option today" in desk.window.statusBar().currentMessage()
    assert session.studies.missing == ("option-1",)
    assert view.all.lines[1].cells[1] == "not worked out"
    assert view.again.isVisible()


def test_quantities_and_money_follow_the_locale_on_screen() -> None:
    """One setting for both: 1 234.5 m and 1.00 EUR as CLDR writes them in German."""
    section = next(iter(Section))
    rows = [
        PriceLine("k", section, "C", "", "Tube", "m", Decimal(quantity), Decimal(price))
        for quantity, price in (("1234.5", "1"), ("2000", "23940"))
    ]
    before, after = (PriceLines("EUR", (row,), (), row.price) for row in rows)
    (line, _) = comparison_lines(compare(before, after), Figures("de_DE", "EUR", UnitSystem.METRIC))
    assert line.cells[2:4] == ("1.234,5 m · 1,00\xa0€", "2.000 m · 23.940,00\xa0€")


def test_what_an_option_has_of_its_own_is_listed_and_given_up(desk: Hands) -> None:
    """Both changed: told first, kept, then the base's is taken; each is one act."""
    open_options(desk)
    session, view = desk.window.session, desk.window.options
    ready_made(desk, "Metal guns")
    option = session.option
    changed = own_changes(session.whole, option)[0].change.place[1]
    place = [drop.id for drop in session.whole.design.drops].index(changed)
    first = session.whole.design.drops[place]
    count = len(view.own.lines)
    assert count == len(own_changes(session.whole, option)) > 0
    assert all(first.id not in line.cells[0] for line in view.own.lines)
    session.work_on(BASE)
    desk.window.session.act(
        "Foam", job=with_value(session.job, ("design", "drops", place, "gun"), "gun-foam")
    )
    view.all.select(option)
    assert "1 changed in the base too" in view.own_title.text()
    assert "keeps its own" in view.own.lines[0].cells[3]
    assert view.own.select(view.own.lines[0].key)
    desk.press(view.keep_own)
    assert "in the base too" not in view.own_title.text()
    assert design_of(session.whole, option).drops[place].gun == "gun-metal"
    view.own.select(f"set drops / {first.id} / gun")
    desk.press(view.take_base)
    assert design_of(session.whole, option).drops[place].gun == "gun-foam"
    assert len(view.own.lines) == count - 1
    session.undo()
    assert len(view.own.lines) == count


def _own_nozzle(desk: Hands) -> None:
    """A base with a maker's nozzle of 1.5 to 5 bar, an option in which its window begins at 4 bar, and another."""
    desk.quick()
    session = desk.window.session
    base = with_value(session.whole, ("design", "makers", "nozzles"), (OwnNozzle(key="own"),))
    high = with_value(
        base, ("design", "makers", "nozzles", 0, "window_low"), parse("4 bar", Dimension.PRESSURE)
    )
    whole, _ = with_option(base, "High window", high.design, offered=True)
    whole, _ = with_option(whole, "Panels", with_mounts(base.design, Mount.PANEL))
    session.open(whole, None)


@pytest.mark.parametrize("option", [BASE, "option-2"])
def test_an_edit_that_an_option_cannot_follow_stays_at_its_field(desk: Hands, option: str) -> None:
    """The base's window would end at 3 bar, below the 4 bar at which that of an option begins."""
    _own_nozzle(desk)
    session = desk.window.session
    session.work_on(option)
    before = session.whole
    editor = desk.editor("design", "makers", "nozzles", 0, "window_high")
    desk.put(editor, "3 bar")
    assert session.whole == before
    assert shown(editor) == "3 bar"
    assert editor.error.isVisible()
    sentence = editor.error.text()
    assert sentence.startswith("✕ Option “High window” cannot follow: ")
    assert "“Window from” (4 bar) must be below “Window to” (3 bar)" in sentence
    advice = "Change that option first." if option == BASE else "or make this edit only here."
    assert sentence.endswith(advice)
    (finding,) = (f for f in session.findings if f.rule == "not-taken")
    assert finding.place == "design.makers.nozzles.0.window_high"
    if option != BASE:
        session.only_here = True
    else:
        session.act_whole("Remove", without_option(before, "option-1"))
    desk.put(desk.editor("design", "makers", "nozzles", 0, "window_high"), "3 bar")
    assert session.job.design.makers.nozzles[0].window_high.text == "3 bar"
    assert not editor.error.isVisible()


def test_a_finding_of_an_option_leads_to_the_option(desk: Hands) -> None:
    """What it has of its own and does nothing to that row; what is wrong in its design to the field, worked on."""
    desk.quick()
    session, window = desk.window.session, desk.window
    whole, _ = with_option(session.whole, "Panels", with_mounts(session.whole.design, Mount.PANEL))
    idle = OptionChange(kind=HowChanged.SET, place=("drops", "gone", "gun"), value=Datum.of("gun-metal"))
    changes = (*whole.alternatives[0].changes, idle)
    session.open(with_value(whole, ("alternatives", 0, "changes"), changes), None)
    place = f"alternatives.0.changes.{len(changes) - 1}"
    told = [e.first.place for e in entries_of(session.findings)]
    table = window.findings.table
    assert len(table.keys) == len(told)
    assert table.select(table.keys[told.index(place)])
    desk.key(table, Qt.Key.Key_Return)
    assert window.options.isVisible()
    assert window.options.chosen == "option-1"
    assert window.options.own.current == "set drops / gone / gun"
    assert session.option == BASE
    assert window.go_to("alternatives.0.name")
    assert window.options.name.hasFocus()
    window.findings.wanted.emit("design.drops.1.gun", "option-1")
    assert session.option == "option-1"
    assert window.page.key == "drops"
    assert desk.rows("drops").selection == [1]


def test_one_pipeline_serves_window_options_and_paper(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Six designs are proved once each, whoever asks: the table of options, the base's price, the quote."""
    open_options(desk)
    session = desk.window.session
    desk.wait_for_options()
    proved = counted_proofs(monkeypatch)
    for name, design in [(a.name, d) for a, d in alternates(session.whole.design)][:3]:
        whole, _ = with_option(session.whole, name, design)
        session.act_whole(name, whole)
    desk.wait_for_options()
    designs = len(option_ids(session.whole))
    after_table = len(proved)
    assert after_table == designs - 1
    session.whole_study()(ALONE)
    session.work_on("option-1")
    assert session.base_study.option == BASE
    desk.wait_for_options()
    assert len(proved) == after_table


def counted_proofs(monkeypatch: pytest.MonkeyPatch) -> list[Design]:
    """Each design that is proved from now on."""
    proved: list[Design] = []
    prove = Prover.__call__

    def counted(self: Prover, site: Site, design: Design, *inputs: Any, **more: Any) -> Any:
        proved.append(design)
        return prove(self, site, design, *inputs, **more)

    monkeypatch.setattr(Prover, "__call__", counted)
    return proved


def test_an_act_that_concerns_no_option_leaves_their_studies(desk: Hands) -> None:
    """The customer's name, an option's name, another option worked on: nothing is worked out again; a discount is."""
    open_options(desk)
    ready_made(desk, "One product less")
    desk.wait_for_options()
    view, session = desk.window.options, desk.window.session
    starts: list[int] = []
    session.studies.began.connect(lambda: starts.append(len(session.studies.missing)))
    before = session.studies.of("option-1")
    desk.put(desk.editor("customer", "name"), "Another Quay")
    view.all.select("option-1")
    view.rename("Less of it")
    session.work_on(BASE)
    assert starts == []
    after = session.studies.of("option-1")
    assert before is not None
    assert after is not None
    assert after.price == before.price
    assert "Less of it" in view.all.lines[1].cells[0]
    desk.put(desk.editor("terms", "discount_percent"), "10")
    assert starts == [2]
    desk.wait_for_options()


def test_an_edit_of_one_option_works_no_other_out_again(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only here: that option is proved once more; the base and the other two are as they were, figures and all."""
    open_options(desk)
    session = desk.window.session
    for name, design in [(a.name, d) for a, d in alternates(session.whole.design)][:3]:
        whole, _ = with_option(session.whole, name, design)
        session.act_whole(name, whole)
    session.work_on("option-1")
    session.only_here = True
    desk.wait_for_options()
    kept = {option: session.studies.figures(option) for option in (BASE, "option-2", "option-3")}
    assert None not in kept.values()
    began: list[tuple[str, ...]] = []
    session.studies.began.connect(lambda: began.append(session.studies.missing))
    proved = counted_proofs(monkeypatch)
    desk.put(desk.editor("drops", 0, "hose_length"), "7 m")
    assert began == [("option-1",)]
    desk.wait_for_options()
    assert proved == [design_of(session.whole, "option-1")]
    assert {option: session.studies.figures(option) for option in kept} == kept
    assert all(session.studies.figures(option) is figures for option, figures in kept.items())


def test_an_option_under_way_is_not_begun_again_by_a_note(
    desk: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The customer's name is typed while an option is proved: that proof ends, is the only one, and counts."""
    open_options(desk)
    session = desk.window.session
    desk.wait_for_options()
    whole, option = with_option(session.whole, "Panels", with_mounts(session.whole.design, Mount.PANEL))
    gate, began = Event(), Event()
    proved: list[Design] = []
    prove = Prover.__call__

    def slow(self: Prover, site: Site, design: Design, *inputs: Any, **more: Any) -> Any:
        proved.append(design)
        began.set()
        assert gate.wait(60)
        return prove(self, site, design, *inputs, **more)

    monkeypatch.setattr(Prover, "__call__", slow)
    session.act_whole("Panels", whole, option=BASE)
    assert began.wait(60)
    desk.put(desk.editor("customer", "name"), "Another Quay")
    assert session.studies.of(option) is None
    gate.set()
    desk.wait_for_options()
    assert proved == [design_of(whole, option)]
    made = session.studies.of(option)
    assert made is not None
    assert made.proof == study(worked_on(session.whole, option), session.book, STUDIED).proof
