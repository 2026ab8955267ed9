"""A part that does not stand its product fails its line, wherever a verdict is told."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from estimator.documents.quote import write_quote
from estimator.model.edit import with_value
from estimator.model.grades import Grade
from estimator.model.job import Job
from estimator.pricing.compare import option_figures
from estimator.shipped import shipped
from estimator.shown.proof_tables import drop_table, line_table, plant_table
from estimator.shown.standing import Standing
from estimator.sizing.types import Verdict
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.documents.studies import text_of

DAY = date(2027, 3, 1)


def gannet() -> Job:
    """The example, whose two solvents are drawn by PVDF and FKM."""
    return load_job(Path(str(shipped("examples/gannet-quay.baydrop"))))


def with_epdm() -> Study:
    """The remover drawn through EPDM, which petroleum dissolves (firm, from memory of general handbooks)."""
    job = gannet()
    at = next(i for i, unit in enumerate(job.design.plant) if unit.product == "remover")
    return study(
        with_value(job, ("design", "plant", at, "proportioner"), "prop-standard"), shipped_price_book(), DAY
    )


def test_the_shipped_line_works_and_the_same_with_a_part_that_dissolves_fails() -> None:
    sound, broken = study(gannet(), shipped_price_book(), DAY), with_epdm()
    assert all(d.verdict.holds for d in sound.proof.drops)
    failed = {d.drop for d in broken.proof.drops if not d.verdict.holds}
    assert failed == {d.id for d in broken.job.design.drops if d.service == "remover"}
    assert {d.verdict for d in broken.proof.drops if d.drop in failed} == {Verdict.UNFIT}
    # Pressures are what they were: nothing else moves.
    assert [d.together for d in broken.proof.drops] == [d.together for d in sound.proof.drops]
    (plant,) = [p for p in broken.proof.plant if p.product == "remover"]
    assert plant.verdict is Verdict.UNFIT and not plant.verdict.holds
    assert broken.findings[0].rule == "part-material" and broken.findings[0].grade is Grade.NEVER


def test_every_table_of_the_proof_and_of_the_options_tells_it() -> None:
    broken = with_epdm()
    for table in (drop_table(broken), line_table(broken), plant_table(broken)):
        told = [cell for row in table.rows for cell in row.cells if "does not stand the product" in cell.text]
        assert told, table.columns
    assert Standing.UNFIT in {c.standing for row in line_table(broken).rows for c in row.cells}
    figures = option_figures("base", "Base", broken.price, broken.proof)
    assert (
        figures.inside == len(broken.proof.drops) - 4
        and figures.outside is not None
        and len(figures.outside) == 4
    )


def test_the_paper_never_says_that_all_is_well() -> None:
    text = text_of(write_quote(with_epdm()))
    assert "hang on a line with a part that does not stand its product" in text
    assert "Every liquid drop is inside its nozzle's window" not in text
    assert "is not made for “Insect and tar remover”" in text
