"""At the window: what must never go out is first, keeps papers back, and is signed for with a name and a reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from estimator.acts.options import with_option
from estimator.acts.sign import sign_for
from estimator.desk.doing.sign_dialog import SignDialog
from estimator.documents.quote import write_quote
from estimator.model.choices import Chemistry
from estimator.model.edit import with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.signing import blocking
from estimator.shown.entries import entries_of
from estimator.store.jobs import load_job
from estimator.study import study
from tests.desk.hands import Hands
from tests.documents.studies import text_of

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"


def bleached() -> Job:
    """The example with bleach in the place of its foam, beside solvents."""
    job = load_job(EXAMPLE)
    return with_value(job, ("design", "products", 0, "sheet", "classes"), (Chemistry.HYPOCHLORITE,))


def optional() -> Job:
    """The example with bleach in an offered option alone."""
    base = load_job(EXAMPLE)
    job, _ = with_option(base, "With bleach", bleached().design, offered=True)
    return job


def first_line(desk: Hands) -> str:
    return desk.window.findings.table.lines[0].cells[0]


def choose_first(desk: Hands) -> None:
    table = desk.window.findings.table
    assert table.select(table.lines[0].key)


def ask(desk: Hands) -> SignDialog:
    """The dialog for the first entry of the list."""
    choose_first(desk)
    desk.press(desk.window.findings.sign)
    dialog = desk.window.signing.dialog
    assert dialog is not None and dialog.isVisible()
    return dialog


def sign_all(desk: Hands) -> None:
    """Sign for every entry that keeps something back."""
    while blocking(desk.window.session.whole, desk.window.session.findings):
        table, view = desk.window.findings.table, desk.window.findings
        for line in table.lines:
            table.select(line.key)
            if view.sign.isVisible():
                break
        desk.press(view.sign)
        dialog = desk.window.signing.dialog
        assert dialog is not None
        fill(desk, dialog, "A. Demo", "Two rooms.")
        desk.press(dialog.take)


def fill(desk: Hands, dialog: SignDialog, name: str, reason: str) -> None:
    dialog.name.setFocus()
    dialog.name.selectAll()
    desk.type(dialog.name, name)
    dialog.reason.setFocus()
    dialog.reason.selectAll()
    desk.type(dialog.reason, reason)


def test_what_must_never_go_out_is_first_in_list_and_header(desk: Hands) -> None:
    window = desk.window
    window.session.open(bleached(), None)
    assert first_line(desk).startswith("■ Never: ") and "must never meet" in first_line(desk)
    number = sum(f.grade is Grade.NEVER for f in window.session.findings)
    assert window.header.counts[Grade.NEVER].accessibleName() == f"{number} never"
    desk.press(window.header.counts[Grade.NEVER])
    chosen = window.findings.chosen
    assert chosen is not None and chosen.grade is Grade.NEVER
    # Source and who decides are in view, not in a tip alone.
    more = window.findings.more
    assert more.isVisible()
    assert "Can kill." in more.text() and "Source: " in more.text()
    assert "Decided by: local authority." in more.text()


def test_signing_asks_for_name_and_reason_and_can_be_undone(desk: Hands) -> None:
    session, view = desk.window.session, desk.window.findings
    session.open(bleached(), None)
    before = session.whole
    dialog = ask(desk)
    for name, reason, words in (("", "why", "needs the name"), ("A. Demo", " ", "needs a reason")):
        fill(desk, dialog, name, reason) if name else desk.type(dialog.reason, reason)
        desk.press(dialog.take)
        assert dialog.isVisible() and words in dialog.refused.text()
        assert session.whole is before
    fill(desk, dialog, "A. Demo", "Two rooms.")
    desk.press(dialog.take)
    assert not dialog.isVisible()
    signed = next(line for line in view.table.lines if "Signed for by A. Demo on " in line.cells[0])
    assert signed.cells[0].startswith("✓ Signed for: ")
    # What still keeps papers back comes first and is counted.
    keys = [line.key for line in view.table.lines]
    left = [line.key for line in view.table.lines if line.cells[0].startswith("■")]
    assert left and keys.index(signed.key) == len(left)
    number = len(blocking(session.whole, session.findings))
    assert desk.window.header.counts[Grade.NEVER].accessibleName() == f"{number} never"
    assert signed.cells[0].endswith(": Two rooms.")
    view.table.select(signed.key)
    assert view.take_back.isVisible() and not view.sign.isVisible()
    desk.press(view.take_back)
    counts = [len(session.whole.signed)]
    for _ in range(2):
        desk.command("edit.undo")
        counts.append(len(session.whole.signed))
    assert counts == [0, 1, 0] and session.whole == before


def test_an_entry_of_several_is_signed_for_whole(desk: Hands) -> None:
    session = desk.window.session
    job = load_job(EXAMPLE)
    for at in (0, 1):
        job = with_value(job, ("design", "products", at, "sheet", "classes"), ())
    session.open(job, None)
    entry = next(e for e in entries_of(session.findings) if e.first.rule == "class-missing")
    assert len(entry.findings) == 2
    dialog = ask(desk)
    assert len(dialog.table.lines) == 2
    fill(desk, dialog, "A", "b")
    desk.press(dialog.take)
    assert {sign.objects for sign in session.whole.signed} == {(p.name,) for p in job.design.products[:2]}
    assert blocking(session.whole, session.findings) == ()


def test_enter_goes_through_the_objects_of_an_entry(desk: Hands) -> None:
    window = desk.window
    job = load_job(EXAMPLE)
    for at in (1, 3):
        job = with_value(job, ("design", "products", at, "sheet", "classes"), ())
    window.session.open(job, None)
    places: list[str] = []
    window.findings.wanted.connect(lambda place, _: places.append(place))
    choose_first(desk)
    for _ in range(3):
        desk.key(window.findings.table, Qt.Key.Key_Return)
    assert places == [f"design.products.{at}.sheet.classes" for at in (1, 3, 1)]


def test_the_command_applies_to_what_can_be_signed_for(desk: Hands) -> None:
    window = desk.window
    window.session.open(bleached(), None)
    choose_first(desk)
    actions = window.menus.actions
    assert actions["findings.sign"].isEnabled() and not actions["findings.unsign"].isEnabled()
    table = window.findings.table
    table.select(table.lines[-1].key)
    assert not actions["findings.sign"].isEnabled()
    assert not window.findings.sign.isVisible()
    choose_first(desk)
    desk.command("findings.sign")
    assert window.signing.dialog is not None
    window.signing.dialog.reject()


def test_no_draft_is_written_unasked_and_one_that_is_says_so(desk: Hands, tmp_path: Path) -> None:
    session, said = desk.window.session, desk.said
    session.open(bleached(), None)
    said.saves = tmp_path / "a.pdf"
    desk.command("file.quote")
    assert "must never go out" in said.asked[-1] and not list(tmp_path.glob("*.pdf"))
    said.yes = True
    desk.command("file.quote")
    draft = tmp_path / "a-draft.pdf"
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)
    assert "This cannot be accepted as it is" in text_of(draft.read_bytes())


def test_an_option_still_worked_out_keeps_a_draft_back_too(desk: Hands, tmp_path: Path) -> None:
    """Nothing was asked, because the list did not hold it yet: nothing is written, and that is told."""
    session, said = desk.window.session, desk.said
    session.open(optional(), None)
    assert session.studies.missing and not blocking(session.whole, session.findings)
    said.saves = tmp_path / "a.pdf"
    desk.command("file.quote")
    desk.bot.waitUntil(lambda: bool(said.told), timeout=60_000)
    assert "must never go out" in said.told[-1][1][0]
    assert not list(tmp_path.glob("*.pdf"))


def test_a_revision_waits_for_offered_options_and_for_their_signatures(desk: Hands, tmp_path: Path) -> None:
    window, said = desk.window, desk.said
    session = window.session
    job_file = tmp_path / "job.baydrop"
    session.open(optional(), job_file)
    window.show_view("revisions")
    view = window.revisions
    desk.type(view.reason, "First")
    heard: list[str] = []
    session.said.connect(heard.append)
    said.yes = True
    view.start()
    assert any("still being worked out" in words for words in heard) and not said.told
    # It goes on by itself, and what is wrong in the option keeps it back.
    desk.bot.waitUntil(lambda: bool(said.told), timeout=60_000)
    ((title, (words,)),) = said.told
    assert title == "The revision was not issued" and "must never go out" in words
    assert session.whole.issued == ()
    said.saves = tmp_path / "a.pdf"
    sign_all(desk)
    view.start()
    desk.bot.waitUntil(lambda: bool(session.whole.issued), timeout=60_000)
    desk.bot.waitUntil(lambda: not window.files.papers.is_busy, timeout=60_000)
    assert "Signed for by A. Demo" in text_of((tmp_path / "a.pdf").read_bytes())


def test_the_table_of_options_tells_what_is_open_in_each(desk: Hands) -> None:
    window = desk.window
    window.session.open(optional(), None)
    window.show_view("options")
    desk.wait_for_options()
    by_key = {line.key: line for line in window.options.all.lines}
    column = 2
    assert "■" not in by_key["base"].cells[column] and "▲" in by_key["base"].cells[column]
    assert by_key["option-1"].cells[column].startswith("■ ")
    assert "must never meet" in by_key["option-1"].told
    session = window.session
    never = blocking(session.whole, session.findings)
    session.act_whole("Sign", sign_for(session.whole, never, "A", "b", session.today()))

    def told() -> str:
        return {line.key: line for line in window.options.all.lines}["option-1"].cells[column]

    # The views follow an act in pieces, between the person's events.
    desk.bot.waitUntil(lambda: "■" not in told() and "▲" in told(), timeout=60_000)


def test_the_plan_marks_the_drops_of_what_must_never_go_out(desk: Hands) -> None:
    window = desk.window
    session = window.session
    session.open(load_job(EXAMPLE), None)
    assert window.plan.view.at_risk() == {}
    job = bleached()
    session.open(job, None)
    bleach = job.design.products[0].id
    marked = window.plan.view.at_risk()
    assert {d.id for d in job.design.drops if d.service == bleach} <= set(marked)
    assert "in&nbsp;a&nbsp;square" in window.plan.key.text()
    window.plan.view.choose([next(iter(marked))])
    assert "must never meet" in window.plan.view.accessibleDescription()
    sign_all(desk)
    assert window.plan.view.at_risk() == {}


@pytest.mark.parametrize("text", ["<b>A</b> & B", "A[*]", "A\u202eB"])
def test_a_strangers_name_is_shown_as_text(desk: Hands, text: str) -> None:
    session = desk.window.session
    session.open(bleached(), None)
    never = blocking(session.whole, session.findings)
    session.act_whole("Sign", sign_for(session.whole, never, text, text, session.today()))
    told = [line.cells[0] for line in desk.window.findings.table.lines]
    assert any(text in words for words in told)


def test_an_option_that_nobody_can_sign_keeps_nothing_back_while_it_is_worked_on(
    desk: Hands, tmp_path: Path
) -> None:
    """Its findings are in the list, because it is in view; the quote is of the base design alone."""
    session, said = desk.window.session, desk.said
    job, option = with_option(load_job(EXAMPLE), "With bleach", bleached().design, offered=False)
    session.open(job, None)
    session.work_on(option)
    assert first_line(desk).startswith("■ Never: ")
    said.saves, said.yes = tmp_path / "a.pdf", True
    desk.command("file.quote")
    desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)
    assert not any("must never go out" in question for question in said.asked)
    assert "cannot be accepted" not in text_of((tmp_path / "a-draft.pdf").read_bytes())


def test_the_base_keeps_back_while_an_option_with_the_same_finding_is_worked_on(
    desk: Hands, tmp_path: Path
) -> None:
    """The list tells it once, of the option in view, which is not offered; it is the base's, too."""
    session, said = desk.window.session, desk.said
    base = bleached()
    job, option = with_option(
        base, "Other", with_value(base.design, ("clip_spacing",), base.design.drop_spacing)
    )
    session.open(job, None)
    session.work_on(option)
    assert {f.option for f in session.findings if f.grade is Grade.NEVER} == {option}
    said.saves = tmp_path / "a.pdf"
    desk.command("file.quote")
    assert "must never go out" in said.asked[-1]
    window = desk.window
    window.show_view("revisions")
    desk.type(window.revisions.reason, "First")
    window.revisions.start()
    assert "must never go out" in said.told[-1][1][0]


def test_a_signature_that_holds_for_nothing_is_told_and_can_be_taken_back(desk: Hands) -> None:
    """Only the command line told it: at the desk it stayed in the job unseen. No paper prints it as one that holds."""
    desk.window.session.open(bleached(), None)
    sign_all(desk)
    signed = desk.window.session.whole.signed
    assert signed
    desk.window.session.act_whole(
        "Mend", with_value(desk.window.session.whole, ("design",), load_job(EXAMPLE).design)
    )
    view = desk.window.findings
    stale = [line for line in view.table.lines if "holds for nothing found now" in line.cells[0]]
    assert len(stale) == len(signed)
    session = desk.window.session
    assert "Signed for" not in text_of(write_quote(study(session.whole, session.book, session.today())))
    assert view.table.select(stale[0].key)
    assert view.chosen is None and view.chosen_stale in signed
    desk.press(view.take_back)
    assert len(session.whole.signed) == len(signed) - 1
    desk.command("edit.undo")
    assert session.whole.signed == signed
