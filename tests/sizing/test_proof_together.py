"""Lines are proved together for speed alone: each gets what it would have got by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from estimator.going import Going, Stopped
from estimator.layout.plan import lay_out
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.reference.catalogue import catalogue
from estimator.sizing.line_proof import LineAnswer, LineCase, prove_lines
from estimator.sizing.proof import Prover, prove
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from tests.days import STUDIED
from tests.large_jobs import large_job
from tests.work import calls_of

SHARE = 0.1


def _job() -> Job:
    return large_job(SHARE, options=False)


def test_a_line_proved_alone_is_the_same_to_the_last_bit(monkeypatch: pytest.MonkeyPatch) -> None:
    job, parts = _job(), catalogue()
    layout, _ = lay_out(job.site, job.design, parts)
    together = prove(job.site, job.design, layout, parts)
    monkeypatch.setattr("estimator.sizing.proof._BATCH", 1)
    assert prove(job.site, job.design, layout, parts) == together


def test_an_edit_of_one_line_gives_what_a_proof_from_nothing_gives() -> None:
    job, parts = _job(), catalogue()
    layout, _ = lay_out(job.site, job.design, parts)
    prover = Prover()
    prover(job.site, job.design, layout, parts)
    edited = with_value(job, ("design", "drops", 3, "nozzle_size"), "05")
    assert prover(edited.site, edited.design, layout, parts) == prove(
        edited.site, edited.design, layout, parts
    )


def test_a_line_that_cannot_be_proved_takes_no_other_with_it() -> None:
    job, parts = _job(), catalogue()
    layout, _ = lay_out(job.site, job.design, parts)
    whole, _ = prove(job.site, job.design, layout, parts)
    # A length that no tube has: the network refuses it.
    first, *others = layout.lines
    bad = replace(first, segments=(replace(first.segments[0], length_m=float("inf")), *first.segments[1:]))
    proof, findings = prove(job.site, job.design, replace(layout, lines=(bad, *others)), parts)
    assert [f.place for f in findings if f.rule == "proof-not-solved"] == ["design.products.0"]
    assert proof.lines == whole.lines[1:]


class _Left(Going):
    """Left at its n-th question."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.asked, self._at = 0, at

    def check(self) -> None:
        self.asked += 1
        if self.asked == self._at:
            self.leave()
        super().check()


def test_a_study_that_is_left_stops_at_its_next_question_and_keeps_what_it_has() -> None:
    job, book = _job(), shipped_price_book()
    whole = Pipeline().study(job, book, STUDIED)
    counted = _Left(0)
    Pipeline().study(job, book, STUDIED, counted)
    assert counted.asked > len(job.design.products)  # of each line's plant, and of each stage
    for at in range(1, counted.asked, 7):
        pipeline, going = Pipeline(), _Left(at)
        with pytest.raises(Stopped):
            pipeline.study(job, book, STUDIED, going)
        assert going.asked == at
        assert pipeline.study(job, book, STUDIED) == whole


def test_lines_of_a_proof_that_was_left_are_not_proved_again(monkeypatch: pytest.MonkeyPatch) -> None:
    job, parts = _job(), catalogue()
    layout, _ = lay_out(job.site, job.design, parts)
    monkeypatch.setattr("estimator.sizing.proof._BATCH", 10)
    prover = Prover()
    with pytest.raises(Stopped):
        prover(job.site, job.design, layout, parts, going=_Left(4))
    proved: list[int] = []
    real = prove_lines

    def counted(cases: Sequence[LineCase]) -> list[LineAnswer]:
        proved.append(len(cases))
        return real(cases)

    monkeypatch.setattr("estimator.sizing.proof.prove_lines", counted)
    prover(job.site, job.design, layout, parts)
    assert proved == [10]


def test_the_work_of_a_proof_grows_with_the_lines_and_no_faster() -> None:
    parts = catalogue()

    def work(share: float) -> int:
        job = large_job(share, options=False)
        layout, _ = lay_out(job.site, job.design, parts)
        prove(job.site, job.design, layout, parts)  # what is kept by value is there both times
        return calls_of(lambda: prove(job.site, job.design, layout, parts))

    assert work(0.1) < 2.2 * work(0.05)
