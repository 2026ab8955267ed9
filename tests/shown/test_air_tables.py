"""What reaches each air gun and foam gun, as a table: the figures of the proof in the job's units."""

from __future__ import annotations

from dataclasses import replace

import pytest

from estimator.documents.quote import write_quote
from estimator.model.edit import with_value
from estimator.shown.air_tables import air_table
from estimator.shown.proof_tables import sentences
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.studies import DAY, made, raw, text_of

PSI = 0.45359237 * 9.80665 / 0.0254**2  # exact by definition; NIST SP 811, appendix B


@pytest.fixture(scope="module")
def metric() -> Study:
    return made(raw("gannet-quay"))


def test_each_outlet_has_the_figures_of_the_proof(metric: Study) -> None:
    air, table = metric.proof.air, air_table(metric)
    assert air is not None and [row.key for row in table.rows] == [drop.drop for drop in air.drops]
    keys = [column.key for column in table.columns]
    foam = {one.drop: one for one in metric.proof.foam}
    for row, drop in zip(table.rows, air.drops, strict=True):
        cells = dict(zip(keys, row.cells, strict=True))
        assert cells["outlet"].text == f"{drop.outlet_pa / 1e5:.2f}"
        assert drop.gun_pa is not None and cells["gun"].text == f"{drop.gun_pa / 1e5:.2f}"
        one = foam.get(drop.drop)
        assert (cells["ratio"].text == "–") is (one is None)
        if one is not None and one.ratio is not None:
            assert cells["ratio"].text == f"{one.ratio:.0f}:1" and cells["foam"].words == "foams"
        assert drop.drop not in row.told  # names, no ids


def test_in_the_units_of_the_job() -> None:
    soap = made(raw("tern-bank"))
    air = soap.proof.air
    assert air is not None
    first = air_table(soap).rows[0]
    assert f"{air.drops[0].outlet_pa / PSI:.1f}".rstrip("0").rstrip(".") in first.told and "psi" in first.told
    assert "bar" not in first.told and "gpm" in first.told


def test_foam_that_fails_says_how(metric: Study) -> None:
    def foam_words(setting: str) -> set[str]:
        job = with_value(metric.job, ("design", "lines", 0, "regulator"), setting)
        table = air_table(study(job, shipped_price_book(), STUDIED))
        at = [column.key for column in table.columns].index("foam")
        return {row.cells[at].text for row in table.rows} - {"–"}

    assert foam_words("0.8 bar") == {"↓ too wet"}
    assert foam_words("16 bar") == {"✓ foams"}  # no more than the compressor gives


def test_paper_and_sentences_tell_air_before_the_compressor_starts(metric: Study) -> None:
    text = text_of(write_quote(replace(metric, on=DAY)))
    basis = text[text.rindex("Basis of design") :]
    assert "Compressed air at each gun" in basis
    for one in metric.proof.foam:
        assert one.ratio is not None and f"{one.ratio:.0f}:1" in basis
    assert (
        "starting again at 6.5\xa0bar" in basis.replace("6.5 bar", "6.5\xa0bar") and "receiver 500" in basis
    )
    said = next(s.text for s in sentences(metric) if s.text.startswith("Compressed air"))
    assert "Just before the compressor starts the board has 6.3\xa0bar" in said
    small = with_value(metric.job, ("site", "air", "free_air"), "300 L/min")
    told = next(
        s.text for s in sentences(study(small, shipped_price_book(), STUDIED)) if "Compressed air" in s.text
    )
    assert "The receiver carries what is above that for" in told


def test_of_very_many_the_lowest_are_printed(metric: Study) -> None:
    table = air_table(metric, 3)
    air = metric.proof.air
    assert air is not None and len(table.rows) == 3
    lowest = sorted(air.drops, key=lambda drop: drop.outlet_pa)[:3]
    assert [row.key for row in table.rows] == [drop.drop for drop in lowest]
