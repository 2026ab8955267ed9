"""A stranger's text on paper, in the terminal, in JSON, in file names: shown as text or told, never obeyed."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from estimator.cli import main
from estimator.documents.quote import QuoteError, write_quote
from estimator.model.edit import with_value
from estimator.model.finding import Severity
from estimator.shown.papers import paper_stem
from estimator.shown.plain import HIDDEN
from estimator.store.jobs import job_from_text, job_text, save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from tests.days import STUDIED
from tests.hostile import MARKUP, harmless, hostile_job

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


@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("study",),
        ("propose",),
        ("option", "list"),
        ("option", "own"),
        ("edit", "--set", "quote.notes=x"),
        ("prices", "hold"),
    ],
)
def test_the_terminal_obeys_nothing(
    command: tuple[str, ...],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Names, sentences and JSON of a job with a control character in every text; the option's name is shown by all."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job, _ = hostile_job()
    path = tmp_path / "job.baydrop"
    save_job(path, job)
    words, rest = command[: 2 if command[0] in ("option", "prices") else 1], command[1:]
    rest = () if words == command else rest
    if words == ("option", "own"):
        rest = (job.alternatives[0].id,)
    forms: tuple[tuple[str, ...], ...] = ((), ("--json",))
    forms = {"check": ((),), "study": (("--json", "-"),)}.get(command[0], forms)
    for form in forms:
        main([*words, str(path), *rest, *form, "--date", STUDIED.isoformat()])
        said = capsys.readouterr()
        assert "Command line" not in said.err
        assert "<img" in said.out + said.err
        assert [line for line in (said.out + said.err).split("\n") if HIDDEN.search(line)] == []
        if form:
            json.loads(said.out)


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
