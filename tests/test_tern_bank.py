"""The truck wash: an acid and a hypochlorite on one board, and an option that may be signed."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.cli import main
from estimator.documents.quote import write_quote
from estimator.model.finding import Severity
from estimator.model.grades import Grade
from estimator.model.option_designs import option_name
from estimator.shown.figures import figures_of
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.studies import pages_of

EXAMPLE = Path(__file__).parent.parent / "resources" / "examples" / "tern-bank.baydrop"


@pytest.fixture(scope="module")
def made() -> Study:
    return study(load_job(EXAMPLE), shipped_price_book(), STUDIED)


def test_the_one_thing_wrong_is_the_pair_that_must_never_meet(made: Study) -> None:
    """Acids with hypochlorite give off chlorine (EPA-600/2-80-076; second-hand); all else works and is priced."""
    wrong = [f for f in made.findings if f.severity is Severity.ERROR]
    assert [(f.rule, f.grade, f.option) for f in wrong] == [("mixing-forbidden", Grade.NEVER, "base")]
    assert made.findings[0] is wrong[0]
    assert all(drop.verdict.holds for each in (made, *made.offers) for drop in each.proof.drops)
    assert made.price.complete and [offer.option for offer in made.offers] == ["option-1"]


def test_its_paper_says_so_where_it_is_signed(made: Study) -> None:
    """On the cover, at the option, above the signature and in the safety notes; the option stands without it."""
    pages = pages_of(write_quote(made))
    cover, text = pages[0], " ".join(pages)
    never = "“Acid trailer brightener” and “Trailer sanitiser (hypochlorite)” must never meet"
    assert never in cover and "This cannot be accepted as it is" in cover
    assert text.count(never) >= 3
    assert "“Trailer sanitiser (quaternary)” comes out 64:1 instead of 60:1." in text
    assert "gives off chlorine gas" in text[text.index("Safety notes") :]


def test_the_cover_tells_what_can_be_ordered_and_for_how_much(made: Study) -> None:
    """Somebody who reads one page sees each option with its sum, not the base option's alone."""
    cover = " ".join(pages_of(write_quote(made))[0].split())
    figures = figures_of(made.job)
    for each in (made, *made.offers):
        name = option_name(made.job, each.option)
        listed = f"{name} (base option)" if each is made else name
        assert f"{listed} {figures.money(each.price.totals.total.likely)}" in cover


def test_quote_and_revision_wait(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job, paper = tmp_path / "job.baydrop", tmp_path / "offer.pdf"
    job.write_bytes(EXAMPLE.read_bytes())
    day = ["--date", STUDIED.isoformat()]
    assert main(["quote", str(job), "--pdf", str(paper), *day]) == 1
    assert main(["issue", str(job), "--reason", "First offer", "--pdf", str(paper), *day]) == 1
    assert "must never meet" in capsys.readouterr().err
    assert list(tmp_path.glob("*.pdf")) == [] and load_job(job).issued == ()
