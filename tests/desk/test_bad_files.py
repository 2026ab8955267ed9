"""Something else than a file where the desk reads or writes one: told in a sentence, at once; nothing is lost."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from estimator.store.pricebooks import user_price_book_path
from estimator.store.settings import settings_path
from tests.bad_files import BAD, LONGEST, not_for_ever, state
from tests.desk.hands import Hands

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes, devices and links of POSIX")


def read_job(desk: Hands) -> None:
    desk.command("file.open")


def read_book(desk: Hands) -> None:
    desk.command("book.import")
    desk.bot.waitUntil(lambda: not desk.window.exchange.reading.is_busy, timeout=20_000)
    assert desk.window.exchange.dialog is None


def read_logo(desk: Hands) -> None:
    desk.command("company.logo")
    desk.bot.waitUntil(lambda: not desk.window.logo.reading.is_busy, timeout=20_000)


def write_job(desk: Hands) -> None:
    desk.command("file.save-as")


def written(command: str) -> Callable[[Hands], None]:
    def write(desk: Hands) -> None:
        desk.command(command)
        desk.bot.waitUntil(lambda: not desk.window.files.papers.is_busy, timeout=60_000)

    return write


READS: dict[str, tuple[str, Callable[[Hands], None]]] = {
    "job": (".baydrop", read_job),
    "import CSV": (".csv", read_book),
    "import workbook": (".xlsx", read_book),
    "logo": (".png", read_logo),
}
WRITES: dict[str, tuple[str, Callable[[Hands], None]]] = {
    "job": (".baydrop", write_job),
    "draft": ("-draft.pdf", written("file.quote")),
    "safety notes": (".pdf", written("file.safety")),
    "export CSV": (".csv", written("book.export")),
    "export workbook": (".xlsx", written("book.export")),
}


@pytest.mark.parametrize("what", READS)
def test_it_is_not_read(desk: Hands, tmp_path: Path, what: str) -> None:
    """The open job stays as it is."""
    ending, read = READS[what]
    desk.put(desk.editor("customer", "name"), "Mine")
    for number, (kind, make) in enumerate(BAD.items()):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        place = desk.said.opens = make(folder / f"a{ending}")
        before, desk.said.told = state(folder), []
        with not_for_ever():
            read(desk)
        ((_, words),) = desk.said.told
        assert len(words) == 1 and place.name[:60] in words[0], (kind, words)
        assert state(folder) == before, kind
    assert desk.job.customer.name == "Mine" and desk.window.session.path is None
    assert desk.window.session.is_modified


@pytest.mark.parametrize("what", WRITES)
def test_it_is_not_written_over(desk: Hands, tmp_path: Path, what: str) -> None:
    """Although the person said yes to replacing it. The longest name that a system allows can be written."""
    ending, write = WRITES[what]
    desk.quick()
    desk.said.yes = True
    for number, (kind, make) in enumerate(BAD.items()):
        folder = tmp_path / f"{number}"
        folder.mkdir()
        place = desk.said.saves = make(folder / f"a{ending}")
        before, desk.said.told = state(folder), []
        with not_for_ever():
            write(desk)
        if kind == LONGEST:
            assert not desk.said.told and place.stat().st_size, (kind, desk.said.told)
            continue
        ((_, words),) = desk.said.told
        assert len(words) == 1 and place.name[:60] in words[0], (kind, words)
        assert state(folder) == before, kind
        assert desk.window.session.path is None or what == "job"


@pytest.mark.parametrize("kind", [kind for kind in BAD if kind.startswith("a ") and kind != "a longer name"])
def test_settings_and_price_book_of_ones_own(desk: Hands, home: Path, kind: str) -> None:
    """What stands in their place stays; what was edited holds in the window, and the status line says that it is not
    kept."""
    said: list[str] = []
    desk.window.session.said.connect(said.append)
    for path in (settings_path(), user_price_book_path()):
        path.unlink(missing_ok=True)
        BAD[kind](path)
    before = state(home)
    book = desk.window.session.book
    entry = book.entries[0].model_copy(update={"description": "Edited"})
    with not_for_ever():
        desk.window.session.act("Price", book=book.model_copy(update={"entries": (entry, *book.entries[1:])}))
        desk.window.files.look_outside()
        desk.window.show_theme("dark")
        desk.window.files.show_theme("dark")
    assert desk.window.session.book.entries[0].description == "Edited"
    assert "The price book was not kept" in " ".join(said)
    after = state(home)
    name = user_price_book_path().name
    assert after[name] == before[name]
    assert desk.window.files.theme == "dark"
