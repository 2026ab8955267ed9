"""The safety page: every finding that can hurt is on it once, for every design that can be signed."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest
from hypothesis import given, settings

from estimator.acts.options import with_option
from estimator.model.choices import Chemistry
from estimator.model.design import Design
from estimator.model.edit import with_value
from estimator.model.grades import Danger, traits_of
from estimator.model.job import Job
from estimator.safety.notes import safety_notes
from estimator.shown.cautions import cautions, emergency_lines, on_this_job
from estimator.shown.findings import sentences_of
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.documents.studies import raw
from tests.random_jobs import jobs

ON = date(2027, 3, 1)


def page(made: Study) -> str:
    """All that the page says."""
    return " ".join(
        " ".join((c.title, c.text, *c.state, *c.about)) for c in cautions(made, sentences_of(made))
    )


@settings(max_examples=20)
@given(jobs())
def test_every_finding_that_can_hurt_is_told(drawn: Job) -> None:
    """By its own sentence, or by a note that says the same."""
    made = study(drawn, shipped_price_book(), ON)
    say = sentences_of(made)
    told = page(made)
    notes = [n for s in (made, *made.offers) for n in safety_notes(s.job.site, s.job.design)]
    tells = {rule for note in notes for rule in note.tells}
    for finding in made.findings:
        said = say.customer(finding)
        if said is None or traits_of(finding.rule).danger is Danger.NONE or finding.rule in tells:
            continue
        # Alike findings are one entry; then the sentence of the first of them stands for all.
        alike = [f for f in made.findings if f.rule == finding.rule and f.option == finding.option]
        assert any((say.customer(f) or "") in told for f in alike), finding.rule


def test_what_can_do_most_harm_stands_first() -> None:
    made = study(Job.model_validate_json(json.dumps(raw())), shipped_price_book(), ON)
    dangers = [caution.danger.value for caution in cautions(made, sentences_of(made))]
    assert dangers == sorted(dangers, reverse=True)
    assert dangers[0] == Danger.LIFE.value


@pytest.mark.parametrize("offered", [True, False])
def test_an_option_that_can_be_signed_speaks_for_itself(offered: bool) -> None:
    """Hypochlorite and an acid are in the option alone: told under its name where it is offered, else not at all."""
    job = Job.model_validate_json(json.dumps(raw()))
    bleach = with_value(job.design, ("products", 0, "sheet", "classes"), (Chemistry.HYPOCHLORITE,))
    bleach = with_value(bleach, ("products", 1, "sheet", "classes"), (Chemistry.FLUORIDE_ACID,))
    assert isinstance(bleach, Design)
    job, _ = with_option(job, "Bleach", bleach, offered=offered)
    made = study(job, shipped_price_book(), ON)
    told = page(made)
    assert (
        "With option “Bleach”: “Alkaline foam pre-wash” and “Insect and tar remover” must never meet" in told
    ) is (offered)
    assert ("gives off chlorine gas" in told) is offered
    gluconate = [line for line in emergency_lines(made, sentences_of(made)) if "calcium gluconate" in line[1]]
    assert bool(gluconate) is offered


def test_what_is_on_tap_of_every_design_that_can_be_signed() -> None:
    job = Job.model_validate_json(json.dumps(raw()))
    other = with_value(job.design, ("products", 1, "name"), "Other remover")
    assert isinstance(other, Design)
    job, _ = with_option(job, "Other", other, offered=True)
    made = study(job, shipped_price_book(), ON)
    told = on_this_job(made, sentences_of(made))
    assert told[:2] == ("1 Alkaline foam pre-wash", "2 Insect and tar remover")
    assert told[5:] == ("A Compressed air", "Other remover with option “Other”")


def test_no_sentence_stands_twice() -> None:
    made = study(Job.model_validate_json(json.dumps(raw())), shipped_price_book(), ON)
    lines = [c.text for c in cautions(made, sentences_of(made))]
    lines += [line for c in cautions(made, sentences_of(made)) for line in c.state]
    assert len(lines) == len(set(lines))
    assert not re.search(r"\bmay be flammable\b.*\bmay be flammable\b", " ".join(lines))
