"""A stranger's text on paper, in the terminal, in JSON, in file names: shown as text or told, never obeyed."""

from __future__ import annotations

import argparse
import io
import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from estimator.acts.issue import issue
from estimator.cli import main
from estimator.cli.program import parser
from estimator.documents.quote import QuoteError, write_quote
from estimator.model.edit import with_value
from estimator.model.finding import Severity
from estimator.shown.papers import paper_stem
from estimator.shown.plain import HIDDEN
from estimator.store.jobs import job_from_text, job_text, save_job
from estimator.store.pricebooks import save_price_book, shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.hostile import MARKUP, harmless, hostile, hostile_job

PRINTED = ("quote.title", "customer.name", "company.name", "terms.extras.0.description", "terms.tax_name")
"""Some fields that stand on every quote."""


def test_a_job_of_such_texts_is_saved_and_opened_the_same() -> None:
    job, _ = hostile_job()
    assert job_from_text(job_text(job), "job") == job


def test_the_paper_shows_markup_and_formulas_as_text() -> None:
    """Bookmarks and the document's own words too; no picture is drawn but the plan, no link or script stands in it."""
    job, put = hostile_job(harmless)
    pdf = write_quote(study(job, shipped_price_book(), STUDIED))
    reader = PdfReader(io.BytesIO(pdf))
    words = "".join("".join(page.extract_text().split()) for page in reader.pages)
    for place in PRINTED:
        assert "".join(put[place].split()) in words, place
    assert reader.metadata is not None
    assert MARKUP in str(reader.metadata.title)
    assert not any(page.images for page in reader.pages)
    assert not re.search(rb"/(URI|JavaScript|JS|Launch|EmbeddedFile|OpenAction)\b", pdf)


def test_what_no_paper_can_print_is_told_by_field() -> None:
    job, _ = hostile_job()
    with pytest.raises(QuoteError) as refused:
        write_quote(study(job, shipped_price_book(), STUDIED))
    found = {finding.place for finding in refused.value.findings}
    assert {"customer.name", "quote.title", "company.name"} <= found
    assert all(finding.severity is Severity.ERROR for finding in refused.value.findings)
    assert not any(HIDDEN.search(finding.message) for finding in refused.value.findings)


JOB, BOOK, OTHER, PDF, NEW = "JOB", "BOOK", "OTHER", "PDF", "NEW"
"""What stands for files in a command: a hostile job, price book and other price book; a paper; a file that is not
there."""
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("check", JOB),
    ("study", JOB, "--json", "-"),
    ("quote", JOB, "--pdf", PDF),
    ("quote", JOB, "--pdf", PDF, "--revision", "A"),
    ("propose", JOB),
    ("edit", JOB, "--set", "quote.notes=x"),
    ("edit", JOB, "--set", f"terms.discount_percent={hostile(1)}"),
    ("issue", JOB, "--reason", hostile(1), "--pdf", PDF, "--anyway"),
    ("sign", JOB, hostile(1), "--name", hostile(2), "--reason", hostile(3)),
    ("unsign", JOB, hostile(1)),
    ("safety", JOB, "--pdf", PDF),
    ("labels", JOB, "--pdf", PDF),
    ("withdraw", JOB, "A", "--reason", hostile(1)),
    ("build", NEW, "--products", "4"),
    ("import", OTHER),
    ("import", OTHER, "--replace", "--take"),
    ("option list", JOB),
    ("option own", JOB, "option-2"),
    ("option add", JOB, "--name", hostile(1)),
    ("option copy", JOB, "option-2", "--name", hostile(1)),
    ("option alternate", JOB, hostile(1)),
    ("option rename", JOB, "option-2", hostile(1)),
    ("option offer", JOB, "option-2"),
    ("option keep-own", JOB, "option-2", "design.products.nobody"),
    ("option take-base", JOB, "option-2", "design.products.nobody"),
    ("option make-base", JOB, "option-2"),
    ("option remove", JOB, "option-2"),
    ("logo choose", JOB, hostile(1)),
    ("logo remove", JOB),
    ("prices hold", JOB),
    ("prices renew", JOB),
    ("prices release", JOB),
    ("prices percent", "3", "--group", hostile(1)),
    ("prices percent", "3"),
    ("prices complete",),
    ("fit", JOB, "--list"),
    ("prices edit", "--set", f"entries.0.description={hostile(1)}"),
    ("prices export", OTHER),
)
_UNDATED = ("import", "prices edit", "prices complete", "prices export", "build")
_NOTHING_OF_THE_JOB = ("fit",)
"""Every part of that job stands its product: there is nothing to tell of it."""
_OWN_JSON = ("study", "prices export")


def every_command() -> set[str]:
    """The commands of the program, those with acts as command and act."""

    def below(some: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
        acts = [a for a in some._actions if isinstance(a, argparse._SubParsersAction)]
        return {name: made for act in acts for name, made in act.choices.items()}

    return {
        f"{name} {act}".strip()
        for name, made in below(parser()).items()
        for act in (below(made) or {"": made})
    }


def test_every_command_is_walked() -> None:
    assert {command[0] for command in COMMANDS} == every_command()


@pytest.fixture(scope="module")
def strangers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What the files hold: the job with a revision, a price book of such texts, and another one."""
    folder = tmp_path_factory.mktemp("strangers")
    job, _ = hostile_job()
    book = shipped_price_book()
    plain = with_value(job, ("alternatives",), ())
    made = issue(study(plain, book, STUDIED), hostile(90), lambda _: b"%PDF")
    save_job(folder / "job", job.model_copy(update={"issued": made.issued, "ledger": made.ledger}))
    for name, first in (("book", 0), ("other", 100)):
        entries = tuple(
            e.model_copy(update={"description": hostile(first + i), "source": hostile(first + i)})
            for i, e in enumerate(book.entries)
        )
        save_price_book(folder / name, book.model_copy(update={"entries": entries}))
    return {name: (folder / name).read_bytes() for name in ("job", "book", "other")}


@pytest.mark.parametrize(
    "command", COMMANDS, ids=lambda command: " ".join(command)[:40].encode("ascii", "replace")
)
def test_the_terminal_obeys_nothing(
    command: tuple[str, ...],
    strangers: dict[str, bytes],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Names, sentences and JSON of a job and a price book with a control character in every text, in files with such
    names; what is refused too."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    base = f"{hostile(3).replace('/', '_')}"
    said_something = False
    for form in ((), ("--json",)):
        name, *rest = command
        if form and name in _OWN_JSON:
            continue
        folder = tmp_path / f"f{len(form)}"
        folder.mkdir()
        files = {
            JOB: folder / f"{base}.baydrop",
            BOOK: folder / f"{base}-book.csv",
            OTHER: folder / f"{base}-other.csv",
            PDF: folder / f"{base}.pdf",
            NEW: folder / f"{base}-new.baydrop",
        }
        for word, content in ((JOB, "job"), (BOOK, "book"), (OTHER, "other")):
            files[word].write_bytes(strangers[content])
        given = [str(files.get(word, word)) for word in rest]
        day = () if name in _UNDATED or "--revision" in rest else ("--date", STUDIED.isoformat())
        prices = () if name == "withdraw" else ("--prices", str(files[BOOK]))
        code = main([*name.split(), *given, *form, *day, *prices])
        said = capsys.readouterr()
        assert "Command line" not in said.err and "usage" not in said.err, said.err
        assert [line for line in (said.out + said.err).split("\n") if HIDDEN.search(line)] == []
        said_something |= "<img" in said.out + said.err
        if form and code != 2:
            json.loads(said.out)
    assert said_something or command[0] in _NOTHING_OF_THE_JOB


def test_a_paper_has_a_name_that_every_disk_takes() -> None:
    """Letters, digits, hyphens; at most 255 bytes with its ending, in letters of four bytes too."""
    job, _ = hostile_job()
    for number in (
        "../../etc/passwd",
        "CON",
        "\U00010400" * 100,
        "a\u202eb\x9b",
        "\u6e05" * 120,
        "   ",
        "...",
    ):
        stem = paper_stem(with_value(job, ("quote", "number"), number), letter="A")
        assert re.fullmatch(r"[^\W_]+(-[^\W_]+)*", stem), stem
        assert len(f"{stem} withdrawn (99).pdf".encode()) <= 255
        assert stem not in {"con", "nul", "aux", "prn"}
