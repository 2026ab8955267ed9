"""The second front end: commands, exit codes, and every bad input as a sentence with exit code 2."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from estimator.acts.alternates import with_mounts
from estimator.acts.issue import issue
from estimator.acts.options import with_option
from estimator.cli import main
from estimator.documents import study_json as study_json_module
from estimator.documents.quote import write_revision
from estimator.documents.study_json import study_json
from estimator.model.choices import HoseKind, Mount
from estimator.model.countries import Country
from estimator.model.design import LinePlan, MeasuredLength
from estimator.model.edit import with_value
from estimator.model.finding import in_order
from estimator.model.job import Job
from estimator.model.option_designs import worked_on
from estimator.model.seals import short
from estimator.model.terms import Stage
from estimator.pricing.book_changes import stale_findings
from estimator.pricing.risk import RiskModel, items_of
from estimator.reference.stock import stock_book
from estimator.shown.entries import entries_of
from estimator.store.jobs import load_job, save_job
from estimator.store.pricebooks import load_price_book
from estimator.study import study
from estimator.units import Dimension, parse
from tests.days import STUDIED
from tests.documents.studies import text_of

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "resources" / "examples" / "gannet-quay.baydrop"
PRICES = ROOT / "resources" / "price-book.csv"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    made = tmp_path / "job.baydrop"
    made.write_bytes(EXAMPLE.read_bytes())
    return made


def run(*arguments: object, prices: Path | None = PRICES) -> int:
    own = ["--prices", str(prices)] if prices else []
    return main([*(str(a) for a in arguments), *own])


def shell(*arguments: object, home: Path) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own with an empty home folder."""
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "DISPLAY", "BAYDROP_"))}
    environment |= {"HOME": str(home), "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(
        [sys.executable, "-m", "estimator.cli", *map(str, arguments)],
        capture_output=True, text=True, encoding="utf-8", cwd=ROOT, env=environment, check=False, timeout=120,
    )  # fmt: skip


def with_revisions(path: Path) -> Path:
    """The job with an option, stages and revision A of 2027-03-01 with its paper; then another hose and a discount."""
    book = load_price_book(PRICES)
    made = load_job(path)
    made, _ = with_option(made, "Panels", with_mounts(made.design, Mount.PANEL), offered=True)
    made = with_value(
        made, ("terms", "stages"), (Stage(name="Deposit", percent=Decimal(40)), Stage(name="Rest"))
    )
    priced = study(made, book, date(2027, 3, 1))
    made = issue(priced, "First quote", partial(write_revision, priced))
    made = with_value(made, ("design", "drops", 0, "hose"), HoseKind.STRAIGHT)
    made = with_value(made, ("terms", "discount_percent"), Decimal(5))
    save_job(path, made)
    return path


def test_a_paper_has_its_ending_whatever_dots_are_in_its_name(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """“no. 7” was taken for an ending; what is told is the file that is written."""
    assert run("quote", job, "--pdf", tmp_path / "Quote no. 7", "--date", "2027-03-01") == 0
    assert (tmp_path / "Quote no. 7-draft.pdf").read_bytes().startswith(b"%PDF")
    assert "Quote no. 7-draft.pdf." in capsys.readouterr().out
    given = ("--reason", "First", "--date", "2027-03-01", "--json", "--anyway")
    assert run("issue", job, "--pdf", tmp_path / "paper 1.2", *given) == 0
    assert json.loads(capsys.readouterr().out)["pdf"] == str(tmp_path / "paper 1.2.pdf")
    paper = (tmp_path / "paper 1.2.pdf").read_bytes()
    assert run("quote", job, "--pdf", tmp_path / "copy of 1.2", "--revision", "A") == 0
    assert (tmp_path / "copy of 1.2.pdf").read_bytes() == paper


class TestRevisions:
    def test_an_issued_revision_prints_as_it_was_given_out(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        with_revisions(job)
        target, later = tmp_path / "a.pdf", tmp_path / "later.pdf"
        # A book at other prices changes nothing of it.
        dearer = tmp_path / "book.csv"
        text = PRICES.read_text(encoding="utf-8")
        dearer.write_text(text.replace("120,145,175", "220,245,275", 1), encoding="utf-8")
        assert dearer.read_text(encoding="utf-8") != text
        assert run("quote", job, "--pdf", target, "--revision", "a", prices=dearer) == 0
        issued = load_job(job).issued[0]
        assert hashlib.sha256(target.read_bytes()).hexdigest() == issued.paper_fingerprint
        # The short form that the paper carries is told by quote and by check.
        told = f"know  issued.0  Revision A of March 1, 2027: fingerprint {short(issued.fingerprint)}, its paper is in"
        assert told in capsys.readouterr().err
        assert short(issued.fingerprint) in PdfReader(target).pages[0].extract_text()
        assert run("check", job, "--date", "2027-03-02") == 0
        assert told in capsys.readouterr().out
        assert run("quote", job, "--pdf", later, "--revision", "A", "--date", "2027-05-01") == 2
        assert "--date: an issued revision is copied as it was handed over" in capsys.readouterr().err
        assert not later.exists()

    def test_the_job_as_it_is_now_lists_its_changes(self, job: Path, tmp_path: Path) -> None:
        with_revisions(job)
        target = tmp_path / "b-draft.pdf"
        assert run("quote", job, "--pdf", target, "--date", "2027-03-09") == 0
        text = " ".join(p.extract_text() for p in PdfReader(target).pages)
        assert "Changes since revision A" in text and "Discount: 0 % → 5 %." in " ".join(text.split())

    def test_a_revision_that_is_not_there(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        target = tmp_path / "x.pdf"
        assert run("quote", job, "--pdf", target, "--revision", "A") == 2
        assert "There is no revision A. Issued are: none yet." in capsys.readouterr().err
        with_revisions(job)
        assert run("quote", job, "--pdf", target, "--revision", "C") == 2
        assert "There is no revision C. Issued are: A." in capsys.readouterr().err
        assert not target.exists()

    def test_a_tampered_revision_is_told_by_check_and_by_quote(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        with_revisions(job)
        assert run("check", job, "--date", "2027-03-02") == 0
        capsys.readouterr()
        document = json.loads(job.read_text(encoding="utf-8"))
        document["issued"][0]["text"] = document["issued"][0]["text"].replace("First quote", "Last quote")
        job.write_text(json.dumps(document), encoding="utf-8")
        assert run("check", job, "--date", "2027-03-02") == 1
        assert "mend  issued.0  Revision A: its content is not what was issued" in capsys.readouterr().out
        assert run("quote", job, "--pdf", tmp_path / "a.pdf", "--revision", "A") == 1
        assert "not what was issued" in capsys.readouterr().err

    def test_a_paper_that_is_damaged_or_was_not_kept_is_told_and_nothing_is_drawn_in_its_place(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        with_revisions(job)
        target = tmp_path / "a.pdf"
        document = json.loads(job.read_text(encoding="utf-8"))
        document["issued"][0]["paper"] = document["issued"][0]["paper"][:-8]
        job.write_text(json.dumps(document), encoding="utf-8")
        assert run("check", job, "--date", "2027-03-02") == 1
        assert "mend  issued.0  Revision A: the paper in the file is damaged" in capsys.readouterr().out
        assert run("quote", job, "--pdf", target, "--revision", "A") == 2
        assert "the paper in the file is damaged and cannot be read" in capsys.readouterr().err
        old = ROOT / "tests" / "store" / "format_1" / "gannet-quay-revised.baydrop"
        assert run("quote", old, "--pdf", target, "--revision", "B") == 2
        assert "Revision B: its paper is not in the file" in capsys.readouterr().err
        assert not target.exists()

    def test_check_tells_old_prices_and_an_expired_quote(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        with_revisions(job)
        # Terms of the example: valid for 30 days, from 1 March to 31 March.
        assert run("check", job, "--date", "2027-03-31") == 0
        assert "expired" not in capsys.readouterr().out
        assert run("check", job, "--date", "2027-04-01") == 0
        assert (
            "look  quote.dated  Revision A expired: it was valid until March 31, 2027"
            in capsys.readouterr().out
        )
        document = json.loads(job.read_text(encoding="utf-8"))
        for entry in document["prices"]["entries"]:
            entry["dated"] = "2026-03-01"
        job.write_text(json.dumps(document), encoding="utf-8")
        assert run("check", job, "--date", "2027-03-01") == 0
        assert "older than" not in capsys.readouterr().out
        assert run("check", job, "--date", "2027-03-02") == 0
        assert "of the prices used are older than 365 days" in capsys.readouterr().out

    def test_study_json_holds_risk_options_buying_and_changes(self, job: Path, tmp_path: Path) -> None:
        with_revisions(job)
        target = tmp_path / "study.json"
        assert run("study", job, "--json", target) == 0
        document = json.loads(target.read_text(encoding="utf-8"))
        whole, book = load_job(job), load_price_book(PRICES)
        made = study(whole, book, STUDIED)
        odds = RiskModel(items_of(made.price, made.prices.entries), "USD").result
        risk = document["risk"]
        assert [risk[k] for k in ("p10", "p50", "p90", "floor", "ceiling")] == [
            str(a) for a in (odds.p10, odds.p50, odds.p90, odds.floor, odds.ceiling)
        ]
        shares = [row["share"] for row in risk["spread"]]
        assert len(shares) == 12 and shares == sorted(shares, reverse=True) and 0.5 < sum(shares) <= 1
        base, panels = document["options"]
        assert (base["id"], panels["name"], panels["offered"]) == ("base", "Panels", True)
        alone = study(worked_on(whole, panels["id"]), made.prices, STUDIED).price.totals.total.likely
        assert Decimal(panels["difference"]) == alone - made.price.totals.total.likely != 0
        changes = document["changes"]
        assert changes["letter"] == "A" and changes["words"] == [
            "Drops “Bay 1 left, Alkaline foam pre-wash”, Hose: Coil → Straight.",
            "Discount: 0 % → 5 %.",
        ]
        parts = [Decimal(x["difference"]) for x in (*changes["rows"], *changes["sums"])]
        assert sum(parts) == Decimal(changes["difference"]) < 0
        # Five lines of liquid in one size; air in a wider one.
        tubes = [row for row in document["bought"] if row["code"] in ("TUB-08", "TUB-12")]
        assert [row["code"] for row in tubes].count("TUB-08") == 5 and len(tubes) == 6
        for row in tubes:
            cut = [piece for one in row["cuts"] for piece in one["pieces_m"]]
            assert sum(cut) == pytest.approx(row["needed"], abs=0.01)
            assert row["bought"] == sum(p["size"] * p["count"] for p in row["packs"]) >= row["needed"]
        stages = document["price"]["stages"]
        assert sum(Decimal(s["amount"]) for s in stages) == Decimal(
            document["price"]["totals"]["total"]["likely"]
        )

    def test_a_run_longer_than_the_longest_coil_is_an_error(
        self, job: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        longest = max(size.length_m for coil in stock_book().coils for size in coil.sizes)
        made = load_job(job)
        line = study(made, load_price_book(PRICES), STUDIED).layout.lines[0]
        measured = MeasuredLength(
            segment=line.segments[0].id, length=parse(f"{longest + 5} m", Dimension.LENGTH)
        )
        lines = (LinePlan(service=line.id, measured=(measured,)),)
        save_job(job, with_value(made, ("design", "lines"), lines))
        assert run("check", job) == 1
        assert (
            f"longer than the longest stock length of {longest:g} m. It is not spliced"
            in capsys.readouterr().out
        )


class TestCommands:
    def test_without_arguments_it_prints_help(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main([]) == 0
        out = capsys.readouterr().out
        assert all(word in out for word in ("quote", "study", "check", "Exit codes"))

    def test_study_writes_the_documented_keys(self, job: Path, tmp_path: Path) -> None:
        target = tmp_path / "study.json"
        assert run("study", job, "--json", target) == 0
        document = json.loads(target.read_text(encoding="utf-8"))
        assert list(document) == [
            "format", "on", "job", "drops", "lines", "proof", "takeoff", "price", "findings",
            "bought", "risk", "options", "revisions", "changes",
        ]  # fmt: skip
        assert len(document["drops"]) == 22
        assert [line["id"] for line in document["lines"]][-1] == "air"
        assert len(document["takeoff"]) == len(document["price"]["rows"])
        # 24 m x 14 m floor: every corner of every tube is inside the hall.
        for line in document["lines"]:
            for segment in line["segments"]:
                assert all(0 <= x <= 24 and 0 <= y <= 14 for x, y, _ in segment["points_m"])
        assert document["price"]["totals"]["total"]["likely"].count(".") == 1

    def test_every_key_is_documented(self, job: Path) -> None:
        words = set(re.findall(r"[a-z_0-9]+", study_json_module.__doc__ or ""))

        def keys(value: Any) -> set[str]:
            if isinstance(value, dict):
                return set(value).union(*(keys(v) for v in value.values()))
            if isinstance(value, list):
                return set().union(*(keys(v) for v in value))
            return set()

        whole = load_job(with_revisions(job))
        found = keys(json.loads(study_json(study(whole, load_price_book(PRICES), STUDIED))))
        assert {"pdf_fingerprint", "quantity_before", "range_without", "pieces_m", "percent"} <= found
        assert len(found) > 100
        assert found - words == set()

    def test_study_to_the_output_stream_is_the_same_text(self, job: Path, capsysbinary: Any) -> None:
        assert run("study", job, "--json", "-", "--date", STUDIED.isoformat()) == 0
        written = capsysbinary.readouterr().out.decode("utf-8")
        assert written == study_json(study(load_job(job), load_price_book(PRICES), STUDIED))
        assert "NaN" not in written and "Infinity" not in written

    def test_safety_notes_are_a_draft_until_the_job_is_as_it_was_issued(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """What is on the wall says whether it is the system that was handed over."""
        paper, quote = tmp_path / "notes.pdf", tmp_path / "quote.pdf"
        day = ["--date", STUDIED.isoformat()]
        assert main(["safety", str(job), "--pdf", str(paper), *day]) == 0
        assert f"Wrote {paper}." in capsys.readouterr().out
        assert "DRAFT" in text_of(paper.read_bytes())
        assert main(["issue", str(job), "--reason", "First offer", "--pdf", str(quote), *day]) == 0
        assert main(["safety", str(job), "--pdf", str(paper), *day]) == 0
        text = text_of(paper.read_bytes())
        assert "DRAFT" not in text and "Revision A" in text and "In an emergency" in text
        assert main(["edit", str(job), "--set", "design.common.eyewash=false", *day]) == 0
        assert main(["safety", str(job), "--pdf", str(paper), *day]) == 0
        assert "DRAFT" in text_of(paper.read_bytes())

    def test_safety_notes_of_an_empty_job_are_refused(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        empty = tmp_path / "empty.baydrop"
        save_job(empty, Job())
        assert main(["safety", str(empty), "--pdf", str(tmp_path / "notes.pdf")]) == 2
        assert "nothing to print on it yet" in capsys.readouterr().err
        assert not (tmp_path / "notes.pdf").exists()

    def test_quote_is_the_same_bytes_for_the_same_date(self, job: Path, tmp_path: Path) -> None:
        first, second, later = (tmp_path / f"{name}-draft.pdf" for name in ("first", "second", "later"))
        assert run("quote", job, "--pdf", first, "--date", "2027-03-31") == 0
        assert run("quote", job, "--pdf", second, "--date", "2027-03-31") == 0
        assert run("quote", job, "--pdf", later, "--date", "2027-04-01") == 0
        assert first.read_bytes().startswith(b"%PDF-")
        assert first.read_bytes() == second.read_bytes() != later.read_bytes()

    @pytest.mark.parametrize(
        ("typed", "written"),
        [
            ("offer.pdf", "offer-draft.pdf"),
            ("Offer.PDF", "Offer-draft.PDF"),
            ("offer", "offer-draft.pdf"),
            ("q-7-draft.pdf", "q-7-draft.pdf"),
            ("my DRAFT 2.pdf", "my DRAFT 2.pdf"),
            ("draftsman.pdf", "draftsman-draft.pdf"),
        ],
    )
    def test_the_file_of_a_draft_is_named_so_and_that_of_a_revision_as_typed(
        self, typed: str, written: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        out = tmp_path / "out"
        out.mkdir()
        assert run("quote", job, "--pdf", out / typed, "--date", "2027-03-31") == 0
        assert [p.name for p in out.iterdir()] == [written]
        assert capsys.readouterr().out == f"Wrote {out / written}.\n"
        (out / written).unlink()
        with_revisions(job)
        assert run("quote", job, "--pdf", out / typed, "--revision", "A") == 0
        copy = typed if typed.casefold().endswith(".pdf") else f"{typed}.pdf"
        assert [p.name for p in out.iterdir()] == [copy]
        assert capsys.readouterr().out == f"Wrote {out / copy}.\n"

    def test_a_draft_never_goes_over_an_input_under_its_new_name_either(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        book = tmp_path / "book-draft.pdf"
        book.write_bytes(PRICES.read_bytes())
        assert run("quote", job, "--pdf", tmp_path / "book", prices=book) == 2
        assert "is the input itself" in capsys.readouterr().err
        assert book.read_bytes() == PRICES.read_bytes()

    def test_the_date_of_the_command_line_wins(self, job: Path, tmp_path: Path) -> None:
        document = json.loads(job.read_text(encoding="utf-8"))
        document["quote"]["dated"] = "2026-01-15"
        job.write_text(json.dumps(document), encoding="utf-8")
        own, given, again = (tmp_path / f"{name}-draft.pdf" for name in ("own", "given", "again"))
        assert run("quote", job, "--pdf", own) == 0
        assert run("quote", job, "--pdf", again) == 0
        assert run("quote", job, "--pdf", given, "--date", "2027-03-31") == 0
        assert own.read_bytes() == again.read_bytes() != given.read_bytes()

    def test_a_date_past_the_calendar_is_refused(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        target = tmp_path / "quote-draft.pdf"
        assert run("quote", job, "--pdf", target, "--date", "9999-12-31") == 2
        assert "9999-12-31" in capsys.readouterr().err
        assert not target.exists()

    def test_check_prints_a_finding_a_line(self, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert run("check", job) == 0
        lines = capsys.readouterr().out.splitlines()
        made = study(load_job(job), load_price_book(PRICES), STUDIED)
        # The demo prices have no date, which only a check on a day can tell.
        old = stale_findings(made.price, made.job.terms, date.today())
        entries = entries_of(in_order((*made.findings, *old)))
        assert len(lines) == len(entries) > 0
        for line, entry in zip(lines, entries, strict=True):
            grade, place, sentence = line.split("  ", 2)
            assert (grade, place) == (entry.grade.value, entry.first.place)
            assert sentence.endswith(".")
            # Source and who decides stand in the line.
            assert sentence.endswith(" ".join(entry.source(Country.US).split()))
        assert any("Decided by: local authority." in line for line in lines)

    def test_quote_prints_what_it_warns_of(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        """The compressor of 8 bar at blow guns is a warning: it was written without a word."""
        assert run("quote", job, "--pdf", tmp_path / "q.pdf", "--date", STUDIED.isoformat()) == 0
        told = capsys.readouterr().err
        assert "look  site.air.pressure  Compressor pressure: 8 bar reaches the air drops" in told
        assert "Source: OSHA 29 CFR 1910.242(b), less than 30 psi." in told

    def test_check_of_a_job_with_errors_is_exit_code_1(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        bare = tmp_path / "bare.csv"
        kept = [x for x in PRICES.read_text(encoding="utf-8").splitlines() if not x.startswith("CLP-00,")]
        bare.write_text("\n".join(kept) + "\n", encoding="utf-8")
        assert run("check", job, prices=bare) == 1
        assert "CLP-00" in capsys.readouterr().out

    def test_no_quote_is_written_where_the_price_is_not_complete(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        bare, target = tmp_path / "bare.csv", tmp_path / "quote-draft.pdf"
        kept = [x for x in PRICES.read_text(encoding="utf-8").splitlines() if not x.startswith("CLP-00,")]
        bare.write_text("\n".join(kept) + "\n", encoding="utf-8")
        assert run("quote", job, "--pdf", target, prices=bare) == 1
        assert "not complete" in capsys.readouterr().err
        assert not target.exists()

    def test_output_over_an_older_output_is_whole(self, job: Path, tmp_path: Path) -> None:
        target = tmp_path / "study.json"
        target.write_text('{"format": 1, "older": true}', encoding="utf-8")
        assert run("study", job, "--json", target) == 0
        assert "older" not in target.read_text(encoding="utf-8")
        assert json.loads(target.read_text(encoding="utf-8"))["format"] == 1
        assert sorted(p.name for p in tmp_path.iterdir()) == ["job.baydrop", "study.json"]


class TestProcess:
    def test_it_needs_no_window_and_check_needs_no_pdf_library(self, job: Path, tmp_path: Path) -> None:
        program = (
            "import sys; from estimator.cli import main; code = main(sys.argv[1:]); "
            "heavy = [m for m in sys.modules if m in {'PySide6', 'shiboken6', 'reportlab', 'reportlab.rl_config'}]; "
            "print(heavy, file=sys.stderr); sys.exit(code)"
        )
        done = subprocess.run(
            [sys.executable, "-c", program, "check", str(job), "--prices", str(PRICES)],
            capture_output=True, text=True, encoding="utf-8", cwd=ROOT, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert done.stderr.strip() == "[]"

    def test_the_quote_needs_no_window(self, job: Path, tmp_path: Path) -> None:
        program = (
            "import sys; from estimator.cli import main; code = main(sys.argv[1:]); "
            "sys.exit(9 if any(m.startswith(('PySide6', 'shiboken6')) for m in sys.modules) else code)"
        )
        target = tmp_path / "quote-draft.pdf"
        done = subprocess.run(
            [sys.executable, "-c", program, "quote", str(job), "--pdf", str(target), "--prices", str(PRICES)],
            capture_output=True, text=True, encoding="utf-8", cwd=ROOT, check=False, timeout=120,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert target.stat().st_size > 1000

    def test_the_users_own_price_book_is_made_on_first_use(self, job: Path, tmp_path: Path) -> None:
        home = tmp_path / "home"
        home.mkdir()
        done = shell("check", job, home=home)
        assert done.returncode == 0, done.stderr
        assert list(home.rglob("*.csv"))

    def test_bad_input_is_a_sentence_and_no_traceback(self, tmp_path: Path) -> None:
        done = shell("check", tmp_path / "nowhere.baydrop", home=tmp_path)
        assert done.returncode == 2
        assert "nowhere.baydrop" in done.stderr and "Traceback" not in done.stderr
        assert done.stdout == ""


class TestCommandLine:
    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (["draw", "x"], "draw"),
            (["quote", "x"], "--pdf"),
            (["study"], "JOB"),
            (["check", "x", "--loud"], "--loud"),
        ],
    )
    def test_a_wrong_command_line(
        self, arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(arguments) == 2
        assert words in capsys.readouterr().err

    @pytest.mark.parametrize("text", ["31.3.2027", "2027-02-30", "20270331", "soon", "", "2027-3-1"])
    def test_a_wrong_date(
        self, text: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        target = tmp_path / "quote-draft.pdf"
        assert run("quote", job, "--pdf", target, "--date", text) == 2
        err = capsys.readouterr().err
        assert "--date" in err and "2027-03-31" in err
        assert not target.exists()

    def test_output_never_goes_over_a_job_or_a_price_book(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        before = job.read_bytes()
        link = tmp_path / "link.json"
        link.symlink_to(job)
        book = tmp_path / "book.csv"
        book.write_bytes(PRICES.read_bytes())
        other = tmp_path / "other.baydrop"
        for target in (job, link, other, book):
            assert run("study", job, "--json", target, prices=book) == 2
            assert "--json" in capsys.readouterr().err
        assert job.read_bytes() == before
        assert book.read_bytes() == PRICES.read_bytes()
        assert not other.exists()

    @pytest.mark.parametrize(
        ("target", "words"),
        [("gone/study.json", "there is no folder"), (".", "not a file name"), (" ", "not a")],
    )
    def test_output_that_cannot_be(
        self,
        target: str,
        words: str,
        job: Path,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        monkeypatch.chdir(tmp_path)
        assert run("study", job, "--json", target) == 2
        assert words in capsys.readouterr().err

    def test_a_failed_write_leaves_what_was_there(
        self,
        job: Path,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        target = tmp_path / "study.json"
        target.write_text('{"older": true}', encoding="utf-8")

        def full(*_: object) -> None:
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("os.fsync", full)
        assert run("study", job, "--json", target) == 2
        assert "No space left on device" in capsys.readouterr().err
        assert target.read_text(encoding="utf-8") == '{"older": true}'
        assert sorted(p.name for p in tmp_path.iterdir()) == ["job.baydrop", "study.json"]


Change = Callable[[dict[str, Any]], object]


def put(*path: Any) -> Change:
    """Put the last item at the path of the others."""
    *way, last, value = path

    def change(document: dict[str, Any]) -> None:
        at: Any = document
        for step in way:
            at = at[step]
        at[last] = value

    return change


JOBS: list[tuple[str, Change, tuple[str, ...]]] = [
    ("newer format", put("format", 99), ("99", "newer")),
    ("format is text", put("format", "one"), ("ormat",)),
    (
        "duplicate drop",
        lambda d: d["design"]["drops"].append(d["design"]["drops"][0]),
        ("1-l-prewash", "differ"),
    ),
    ("duplicate product", lambda d: d["design"]["products"].append(d["design"]["products"][1]), ("remover",)),
    ("unknown bay", put("design", "drops", 3, "bay", "bay-9"), ("There is no bay “bay-9”", "bay-1")),
    ("unknown service", put("design", "drops", 3, "service", "wax"), ("There is no service “wax”",)),
    ("missing key", lambda d: d["design"]["drops"][0].pop("bay"), ("Drops 1, Bay", "missing")),
    ("unknown key", put("design", "colour", "blue"), ("colour", "not known")),
    ("number for a length", put("site", "floor", "width", 24), ("Floor width", "unit")),
    ("text for a number", put("design", "products", 0, "dilution", "forty"), ("Dilution", "number")),
    ("list for a group", put("site", []), ("Survey",)),
    ("negative length", put("site", "floor", "width", "-24 m"), ("Floor width", "outside")),
    ("absurd length", put("site", "floor", "width", "1e300 m"), ("Floor width", "outside")),
    ("endless length", put("site", "floor", "width", "1e999 m"), ("Floor width", "too large")),
    ("length NaN", put("site", "floor", "width", "nan m"), ("Floor width", "one number and a unit")),
    ("unknown unit", put("site", "floor", "width", "24 smoots"), ("Floor width", "smoots", "use one of")),
    ("length in psi", put("site", "floor", "width", "24 psi"), ("Floor width", "psi", "length")),
    ("no unit", put("site", "floor", "width", "24"), ("Floor width", "has no unit")),
    ("negative dilution", put("design", "products", 0, "dilution", -1.0), ("Dilution", "at least 0")),
    ("NaN dilution", put("design", "products", 0, "dilution", float("nan")), ("Dilution",)),
    ("infinite dilution", put("design", "products", 0, "dilution", float("inf")), ("Dilution",)),
    ("name of 300", put("customer", "name", "x" * 300), ("Customer, Name", "120 characters")),
    ("rate low above high", put("terms", "labour", "low", "999"), ("Labour rate", "low ≤ likely ≤ high")),
    ("margin of 100 %", put("terms", "rule_percent", "100"), ("below 100 %",)),
    ("unknown currency", put("terms", "currency", "XQX"), ("Currency", "ISO 4217")),
    (
        "unknown chemistry",
        put("design", "products", 0, "sheet", "classes", ["magic"]),
        ("Classes of chemistry", "one of"),
    ),
]


class TestBadJobs:
    def refused(self, path: Path, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
        before = path.read_bytes()
        out = path.parent / "out"
        out.mkdir()
        for arguments in (
            ["check", path],
            ["study", path, "--json", out / "x.json"],
            ["quote", path, "--pdf", out / "x.pdf"],
        ):
            assert run(*arguments) == 2
            said = capsys.readouterr()
            assert said.out == ""
            for word in words:
                assert word in said.err
            assert said.err.rstrip().endswith(".")
            assert "Traceback" not in said.err and "pydantic" not in said.err
        assert list(out.iterdir()) == []
        assert path.read_bytes() == before

    @pytest.mark.parametrize(("change", "words"), [c[1:] for c in JOBS], ids=[c[0] for c in JOBS])
    def test_a_wrong_field(
        self, change: Change, words: tuple[str, ...], job: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        document = json.loads(job.read_text(encoding="utf-8"))
        change(document)
        job.write_text(json.dumps(document), encoding="utf-8")
        self.refused(job, words, capsys)

    @pytest.mark.parametrize(
        "content",
        [
            b"",
            b"   \n",
            EXAMPLE.read_bytes()[:2000],
            b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n",
            b"\x00\x01\x02",
            b"[1, 2, 3]",
            b'"a job"',
            b"null",
            b"[" * 200_000,
            b'{"a":' * 50_000,
            b"\xff\xfe{\x00}\x00",
            b"code,low,likely,high\nA1,1,2,3\n",
        ],
        ids=[
            "empty",
            "blank",
            "cut",
            "pdf",
            "binary",
            "list",
            "text",
            "null",
            "deep",
            "deeper",
            "utf-16",
            "csv",
        ],
    )
    def test_a_file_that_is_no_job(
        self, content: bytes, job: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        job.write_bytes(content)
        self.refused(job, (job.name,), capsys)

    def test_a_job_that_is_not_there_or_is_a_folder(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        for path in (tmp_path / "nowhere.baydrop", tmp_path):
            assert run("check", path) == 2
            said = capsys.readouterr()
            assert str(path) in said.err and "Traceback" not in said.err

    def test_every_wrong_field_is_told_at_once(self, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
        document = json.loads(job.read_text(encoding="utf-8"))
        for name, value in (("width", "24 psi"), ("depth", "-1 m")):
            document["site"]["floor"][name] = value
        job.write_text(json.dumps(document), encoding="utf-8")
        assert run("check", job) == 2
        err = capsys.readouterr().err
        assert "Floor width" in err and "Floor depth" in err


def _first_part(old: str, new: str) -> Callable[[str], str]:
    def change(text: str) -> str:
        assert text.count(old) >= 1
        return text.replace(old, new, 1)

    return change


BOOKS: list[tuple[str, Callable[[str], str], tuple[str, ...]]] = [
    ("low above high", _first_part("120,145,175", "999,145,175"), ("low ≤ likely ≤ high",)),
    ("negative", _first_part("120,145,175", "-1,145,175"), ("column low", "from 0 up")),
    ("NaN", _first_part("120,145,175", "nan,145,175"), ("column low", "nan")),
    ("infinity", _first_part("120,145,175", "120,145,inf"), ("column high", "inf")),
    ("text", _first_part("120,145,175", "120,dear,175"), ("column likely", "dear")),
    ("duplicate code", _first_part("PRP-HI,", "PRP-ST,"), ("PRP-ST",)),
    ("code of small letters", _first_part("PRP-ST,", "prp st,"), ("column code", "capital")),
    ("unknown currency", _first_part("currency,USD", "currency,XQX"), ("ISO 4217",)),
    ("no heading", lambda text: "\n".join(text.splitlines()[2:]), ()),
    ("empty", lambda _: "", ()),
]


class TestPriceBooks:
    @pytest.mark.parametrize(("change", "words"), [c[1:] for c in BOOKS], ids=[c[0] for c in BOOKS])
    def test_a_wrong_price_book(
        self,
        change: Callable[[str], str],
        words: tuple[str, ...],
        job: Path,
        tmp_path: Path,
        capsys: pytest.CaptureFixture[str],
    ) -> None:
        book = tmp_path / "book.csv"
        book.write_text(change(PRICES.read_text(encoding="utf-8")), encoding="utf-8")
        before = book.read_bytes()
        assert run("check", job, prices=book) == 2
        said = capsys.readouterr()
        assert said.out == "" and "book.csv" in said.err and "Traceback" not in said.err
        for word in words:
            assert word in said.err
        assert book.read_bytes() == before

    def test_a_price_book_that_is_not_there(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert run("check", job, prices=tmp_path / "none.csv") == 2
        assert "none.csv" in capsys.readouterr().err

    def test_a_book_in_another_currency_is_an_error_finding(
        self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        book = tmp_path / "book.csv"
        text = PRICES.read_text(encoding="utf-8")
        book.write_text(text.replace("currency,USD", "currency,EUR", 1), encoding="utf-8")
        assert run("check", job, prices=book) == 1
        assert "not converted" in capsys.readouterr().out


class TestNamesAreOnlyText:
    @pytest.mark.parametrize(
        "name",
        ["<b>A & B</b>", '<img src="file:///etc/passwd"/>', "=1+1", "&amp; &#60; {0} %s", "../../etc/passwd"],
    )
    def test_markup_formulas_and_paths_come_out_as_typed(self, name: str, job: Path, tmp_path: Path) -> None:
        document = json.loads(job.read_text(encoding="utf-8"))
        document["customer"]["name"] = name
        document["quote"]["title"] = name
        for product in document["design"]["products"]:
            product["name"] = name
        for bay in document["design"]["bays"]:
            bay["name"] = name
        job.write_text(json.dumps(document), encoding="utf-8")
        out, pdf = tmp_path / "study.json", tmp_path / "quote-draft.pdf"
        assert run("study", job, "--json", out) == 0
        made = json.loads(out.read_text(encoding="utf-8"))
        assert made["job"]["customer"] == made["job"]["title"] == name
        assert run("quote", job, "--pdf", pdf, "--date", "2027-03-31") == 0
        from pypdf import PdfReader

        text = " ".join(page.extract_text() for page in PdfReader(pdf).pages)
        assert "".join(name.split()) in "".join(text.split())


class TestAsJson:
    """What quote and check tell as JSON is what they tell in words."""

    def test_check(self, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
        document = json.loads(job.read_text(encoding="utf-8"))
        document["design"]["drops"][0]["gun"] = "no-such-gun"
        job.write_text(json.dumps(document), encoding="utf-8")
        with_words = run("check", job, "--date", STUDIED.isoformat()), capsys.readouterr().out
        as_json = (
            run("check", job, "--date", STUDIED.isoformat(), "--json"),
            json.loads(capsys.readouterr().out),
        )
        assert with_words[0] == as_json[0] == 1
        found = as_json[1]["findings"]
        lines = [f"{f['grade']}  {f['place'] or '-'}  {f['sentence']}" for f in found]
        for i, f in enumerate(found):
            lines[i] += f" Source: {f['source']}." if f["source"] else ""
            lines[i] += f" Decided by: {f['decides']}." if f["decides"] else ""
        assert [" ".join(x.split()) for x in lines] == [
            " ".join(x.split()) for x in with_words[1].splitlines()
        ]
        assert any(f["source"] for f in found) and any(f["decides"] for f in found)

    def test_quote(self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        target = tmp_path / "offer.pdf"
        assert run("quote", job, "--pdf", target, "--date", STUDIED.isoformat(), "--json") == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["draft"], told["revision"]) == (True, None)
        assert Path(told["pdf"]).read_bytes().startswith(b"%PDF-") and not target.exists()
        with_revisions(job)
        assert run("quote", job, "--pdf", target, "--revision", "a", "--json") == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["draft"], told["revision"], told["pdf"]) == (False, "A", str(target))
        assert short(load_job(job).issued[0].fingerprint) in told["findings"][0]["sentence"]

    def test_one_output_stream_takes_one_of_both(self, job: Path, capsys: pytest.CaptureFixture[str]) -> None:
        assert run("quote", job, "--pdf", "-", "--json") == 2
        told = capsys.readouterr()
        assert "--json: the output stream takes the paper already" in told.err and told.out == ""

    def test_no_price_no_paper(self, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        book = tmp_path / "book.csv"
        lines = PRICES.read_text(encoding="utf-8").splitlines()
        book.write_text("\n".join(x for x in lines if not x.startswith("GUN-")), encoding="utf-8")
        target = tmp_path / "offer.pdf"
        assert run("quote", job, "--pdf", target, "--json", prices=book) == 1
        told = capsys.readouterr()
        assert json.loads(told.out)["pdf"] is None and "no quote is written" in told.err
        assert not list(tmp_path.glob("*.pdf"))
