"""What an offered option has wrong stands in the list of findings, whatever view is in front."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt

from estimator.acts.options import with_option
from estimator.going import ALONE
from estimator.model.choices import Chemistry
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.model.option_designs import design_of
from estimator.model.options import BASE
from estimator.shown.entries import entries_of
from estimator.sizing.proof import Prover
from estimator.store.jobs import load_job
from estimator.study import study
from tests.days import STUDIED
from tests.desk.hands import Hands

EXAMPLE = Path(__file__).parents[2] / "resources" / "examples" / "gannet-quay.baydrop"


def gannet_quay(*, offered: bool = True) -> Job:
    """The example with two options: one with a nozzle far too large, one with bleach beside ammonia."""
    job = load_job(EXAMPLE)
    large = with_value(job.design, ("drops", 0, "nozzle_size"), "15")
    bleach = with_value(job.design, ("products", 0, "sheet", "classes"), (Chemistry.HYPOCHLORITE,))
    bleach = with_value(bleach, ("products", 1, "sheet", "classes"), (Chemistry.AMMONIA,))
    for name, design in (("Large nozzle", large), ("Bleach", bleach)):
        assert isinstance(design, Design)
        job, _ = with_option(job, name, design, offered=offered)
    return job


def listed(desk: Hands) -> list[str]:
    """The sentences of the list."""
    return [line.cells[0] for line in desk.window.findings.table.lines]


def test_what_offered_options_have_wrong_is_listed_without_opening_their_view(desk: Hands) -> None:
    """A drop out of its window and a forbidden mixture; each under the name of its option, and counted above.

    Expected: what the study of the whole job finds in those options and not in the base.
    """
    session = desk.window.session
    job = gannet_quay()
    session.open(job, None)
    desk.wait_for_options()
    whole = study(job, session.book, STUDIED)
    rules = {(f.option, f.rule) for f in whole.findings}
    assert {("option-1", "drop-pressure-low"), ("option-2", "mixing-forbidden")} <= rules
    assert session.findings == whole.findings
    sentences = listed(desk)
    assert len(sentences) == len(entries_of(whole.findings))
    for name, words in (("Large nozzle", "its window is"), ("Bleach", "They must never meet")):
        assert any(f"Option “{name}”: " in s and words in s for s in sentences), sentences
    never = sum(f.grade is Grade.NEVER for f in whole.findings)
    assert never > 0
    assert desk.window.header.counts[Grade.NEVER].accessibleName() == f"{never} never"


def test_an_entry_leads_to_its_option(desk: Hands) -> None:
    """Enter on it: the option is worked on and its field is in front; the list then tells it as what is seen."""
    session, window = desk.window.session, desk.window
    session.open(gannet_quay(), None)
    desk.wait_for_options()
    table = window.findings.table
    key = next(k for k in table.keys if k.startswith("drop-pressure-low"))
    assert table.select(key)
    desk.key(table, Qt.Key.Key_Return)
    desk.wait_for_options()
    assert session.option == "option-1"
    assert window.page.key == "drops"
    low = [f for f in session.findings if f.rule == "drop-pressure-low"]
    assert [f.option for f in low] == ["option-1"]
    assert {f.option for f in session.findings if f.rule == "mixing-forbidden"} == {"option-2"}
    assert not any("Option “Large nozzle”" in s for s in listed(desk))
    assert any("its window is" in s for s in listed(desk))


def test_the_list_says_that_options_are_still_worked_out(
    desk: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the edit until the last of them is there; where the person left them, that they are not in the list."""
    session = desk.window.session
    session.open(gannet_quay(), None)
    assert listed(desk)[-1] == "… 2 offered options are still being worked out."
    desk.wait_for_options()
    assert not any("worked out" in s for s in listed(desk))
    desk.put(desk.editor("terms", "discount_percent"), "10")
    session.studies.stop()
    assert (
        listed(desk)[-1]
        == "▲ 2 offered options were not worked out: what is wrong there is not in this list."
    )
    session.studies.again()
    desk.wait_for_options()
    assert not any("worked out" in s for s in listed(desk))


def test_options_not_offered_are_not_worked_out_unseen(desk: Hands) -> None:
    """Nobody relies on them: neither proved nor listed before the options are in view; then proved, and not listed."""
    session = desk.window.session
    session.open(gannet_quay(offered=False), None)
    assert not session.studies.is_busy
    assert session.studies.of("option-1") is None
    desk.window.show_view("options")
    desk.wait_for_options()
    assert session.studies.of("option-1") is not None
    assert {f.option for f in session.findings} == {BASE}


def test_the_base_is_listed_while_an_option_is_worked_on(desk: Hands) -> None:
    """The customer can sign the base too: what is wrong there alone stands in the list and leads there."""
    session, window = desk.window.session, desk.window
    job = gannet_quay()
    # The base has the mixture; the option without it is the one worked on.
    whole = job.model_copy(update={"design": design_of(job, "option-2"), "alternatives": ()})
    whole, option = with_option(whole, "Without bleach", job.design, offered=True)
    session.open(whole, None)
    session.work_on(option)
    desk.wait_for_options()
    mixing = next(f for f in session.findings if f.rule == "mixing-forbidden")
    assert mixing.option == BASE
    assert all("Base design: " in s for s in listed(desk) if "must never meet" in s)
    assert any("must never meet" in s for s in listed(desk))
    assert window.go_to(mixing.place, mixing.option)
    assert session.option == BASE


def test_table_list_and_paper_prove_each_design_once(desk: Hands, monkeypatch: pytest.MonkeyPatch) -> None:
    """An edit of all three designs: three proofs, whoever asks afterwards."""
    session = desk.window.session
    session.open(gannet_quay(), None)
    desk.wait_for_options()
    proofs: list[object] = []
    prove = Prover.__call__

    def counted(self: Prover, *inputs: Any, **more: Any) -> Any:
        proofs.append(inputs)
        return prove(self, *inputs, **more)

    monkeypatch.setattr(Prover, "__call__", counted)
    desk.put(desk.editor("site", "use", "vehicles_per_hour"), "2")
    desk.wait_for_options()
    assert len(proofs) == 3
    desk.window.show_view("options")
    desk.wait_for_options()
    session.whole_study()(ALONE)
    desk.window.show_view("preview")
    desk.bot.waitUntil(lambda: not desk.window.preview.work.is_busy, timeout=60_000)
    assert len(proofs) == 3
