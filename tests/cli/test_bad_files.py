"""Something else than a file where a command reads or writes one: a sentence that names it, at once; nothing lost."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.bad_files import BAD, LONGEST, not_for_ever, state
from tests.cli.hands import Terminal

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes, devices and links of POSIX")

DAY = ("--date", "2027-03-01")
READS = {
    "job": (".baydrop", ("check", "X")),
    "job changed": (".baydrop", ("edit", "X", "--set", "customer.name=A")),
    "job issued": (".baydrop", ("issue", "X", "--reason", "r", "--pdf", "-")),
    "import CSV": (".csv", ("import", "X")),
    "import workbook": (".xlsx", ("import", "X", "--take")),
    "logo": (".png", ("logo", "choose", "JOB", "X")),
    "edits": (".json", ("edit", "JOB", "--from", "X")),
}
WRITES = {
    "new job": (".baydrop", ("build", "X", "--bays", "1")),
    "another job": (".baydrop", ("edit", "JOB", "--set", "customer.name=A", "--out", "X")),
    "draft": ("-draft.pdf", ("quote", "JOB", "--pdf", "X", "--anyway")),
    "safety notes": (".pdf", ("safety", "JOB", "--pdf", "X")),
    "study": (".json", ("study", "JOB", "--json", "X")),
    "export CSV": (".csv", ("prices", "export", "X")),
    "export workbook": (".xlsx", ("prices", "export", "X")),
}


def given(terminal: Terminal, kind: str, ending: str, command: tuple[str, ...]) -> tuple[Path, list[object]]:
    """The place where it stands, in a folder of its own, and the command that is given it."""
    folder = terminal.folder / "bad"
    folder.mkdir()
    place = BAD[kind](folder / f"a{ending}")
    return place, [place if part == "X" else part for part in command]


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize("what", READS)
def test_it_is_not_read(built: Terminal, what: str, kind: str) -> None:
    place, command = given(built, kind, *READS[what])
    before = state(built.folder)
    with not_for_ever():
        told = built.refused(*command)
    # As much of the name as a sentence has.
    assert place.name[:60] in told and told.count("\n") == 1, told
    assert state(built.folder) == before


@pytest.mark.parametrize("kind", BAD)
@pytest.mark.parametrize("what", WRITES)
def test_it_is_not_written_over(built: Terminal, what: str, kind: str) -> None:
    """The longest name that a system allows can be written."""
    place, command = given(built, kind, *WRITES[what])
    before = state(built.folder)
    with not_for_ever():
        code = built.run(*command)
    if kind == LONGEST:
        assert code in (0, 1) and place.stat().st_size, built.err
        return
    assert code == 2 and "Traceback" not in built.err
    last = built.err.splitlines()[-1]
    assert place.name[:60] in last or place.parent.name in last, last
    assert state(built.folder) == before


@pytest.mark.parametrize("kind", [kind for kind in BAD if kind != LONGEST])
def test_a_price_book_that_is_none(built: Terminal, kind: str) -> None:
    """To price with, and to edit."""
    place, _ = given(built, kind, ".csv", ())
    before = state(built.folder)
    built.book = place
    for command in (("check", "JOB"), ("prices", "edit", "--set", "pump-air.high=1", "--take")):
        with not_for_ever():
            assert built.run(*command) == 2
        assert place.name[:60] in built.err and built.err.count("\n") == 1, built.err
    assert state(built.folder) == before
