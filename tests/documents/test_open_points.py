"""What is open stands on the cover and above the signature, in the customer's words, what can hurt first."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from estimator.acts.options import with_option
from estimator.acts.sign import sign_for
from estimator.documents.pages import open_points
from estimator.documents.quote import write_quote
from estimator.model.choices import Answer, Chemistry
from estimator.model.edit import with_value
from estimator.model.grades import RULES, Danger
from estimator.model.job import Job
from estimator.model.sheet import SafetySheet
from estimator.model.signing import blocking
from estimator.shown.findings import CUSTOMER
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study, study
from tests.days import STUDIED
from tests.documents.every_paper import JOBS, printed
from tests.documents.studies import made, pages_of, raw, text_of
from tests.large_jobs import large_job

STOPPED = "This cannot be accepted as it is"


def bleached(job: dict[str, Any]) -> dict[str, Any]:
    job["design"]["products"][0]["sheet"]["classes"] = ["hypochlorite"]
    return job


def above_signature(pdf: bytes) -> str:
    """From the list of what is to be settled to the place of the signatures."""
    text = text_of(pdf)
    start = text.index("To be settled")
    return text[start : text.index("Acceptance", start)]


def test_what_can_hurt_stands_on_the_cover_and_above_the_signature() -> None:
    """The compressor of 8 bar at blow guns of the example, with who decides where somebody does."""
    pdf = write_quote(made(raw()))
    cover = pages_of(pdf)[0]
    assert "Before you sign: what can hurt people and is still open." in cover
    for text in (cover, above_signature(pdf)):
        assert "Danger. Your compressor's 8 bar reaches the air guns" in text
        assert "burns skin and this quote holds no drench shower" in text
        assert "Decided by: local authority." in text
    assert STOPPED not in text_of(pdf)
    # What costs air and hurts nobody stands in the list alone.
    assert "are lost on the way" not in cover


def test_a_job_with_nothing_open_says_nothing() -> None:
    text = text_of(write_quote(made(raw("harrow-mill"))))
    assert "Before you sign" not in text and "To be settled" not in text


def test_a_draft_that_is_kept_back_says_so_on_cover_and_above_the_signature() -> None:
    found = made(bleached(raw()))
    assert blocking(found.job, found.findings)
    pdf = write_quote(found)
    for text in (pages_of(pdf)[0], above_signature(pdf)):
        assert STOPPED in text and "Stop. " in text and "must never meet" in text
    assert pages_of(pdf)[0].index("Stop. ") < pages_of(pdf)[0].index("Danger. ")


def test_who_signed_stands_beside_the_finding() -> None:
    found = made(bleached(raw()))
    never = blocking(found.job, found.findings)
    job = sign_for(found.job, never, "A. Demo <b>", "Two rooms & a wall.", STUDIED)
    pdf = write_quote(study(job, shipped_price_book(), STUDIED))
    for text in (pages_of(pdf)[0], above_signature(pdf)):
        assert STOPPED not in text and "Stop." not in text
        assert "Signed for by A. Demo <b> on " in text and ": Two rooms & a wall." in text


def test_what_still_stops_the_paper_stands_before_what_was_signed_for() -> None:
    """A product without a class and a pair that must not meet; the class is first in the list of findings."""
    job = bleached(raw())
    job["design"]["products"][3]["sheet"]["classes"] = []
    found = made(job)
    never = blocking(found.job, found.findings)
    missing = [f for f in never if f.rule == "class-missing"]
    signed = sign_for(found.job, missing, "A. Demo", "Why.", STUDIED)
    cover = pages_of(write_quote(study(signed, shipped_price_book(), STUDIED)))[0]
    assert cover.index("Stop. ") < cover.index("must never meet") < cover.index("Signed for by A. Demo")


def test_an_option_dangerous_only_with_the_base_is_on_the_paper_under_its_name() -> None:
    base = Job.model_validate_json(json.dumps(raw()))
    design = with_value(base.design, ("products", 0, "sheet", "classes"), (Chemistry.HYPOCHLORITE,))
    job, _ = with_option(base, "With bleach", design, offered=True)
    pdf = write_quote(study(job, shipped_price_book(), STUDIED))
    for text in (pages_of(pdf)[0], above_signature(pdf)):
        assert STOPPED in text and "Stop. Option “With bleach”: " in text


def of_sixty_drops() -> Study:
    """60 wet drops of which many are below their window, one acid and no eyewash. Invented demo data."""
    whole = large_job(60 / 1600, options=False)
    no = SafetySheet(oxidiser=Answer.NO, reducer=Answer.NO, amine=Answer.NO)
    products = tuple(
        p.model_copy(
            update={
                "sheet": no.model_copy(
                    update={"classes": (Chemistry.NEUTRAL_DETERGENT if i else Chemistry.MINERAL_ACID,)}
                )
            }
        )
        for i, p in enumerate(whole.design.products)
    )
    drops = tuple(d.model_copy(update={"nozzle_size": "08"}) for d in whole.design.drops)
    design = whole.design.model_copy(update={"products": products, "drops": drops})
    return study(with_value(whole, ("design",), design), shipped_price_book(), STUDIED)


def test_of_sixty_wet_drops_the_finding_that_can_hurt_is_first_on_the_cover() -> None:
    found = of_sixty_drops()
    assert len(found.job.design.drops) == 60
    pdf = write_quote(found)
    cover = pages_of(pdf)[0]
    head = "Before you sign: what can hurt people and is still open. "
    assert cover[cover.index(head) + len(head) :].startswith("Danger. “Product 0” can be corrosive")
    assert above_signature(pdf).startswith("To be settled Danger. “Product 0” can be corrosive")


def test_what_the_cover_has_no_room_for_is_told_with_its_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a cover with room for one point."""
    monkeypatch.setattr(open_points, "_MOST_ON_COVER", 1)
    pages = pages_of(write_quote(made(raw())))
    found = re.search(r"And (\d+) more: all of them stand above the signature, page (\d+)\.", pages[0])
    assert found is not None
    assert "To be settled" in pages[int(found[2]) - 1] and int(found[2]) > 1
    text = " ".join(pages)
    block = text[text.index("To be settled", len(pages[0])) :]
    assert block.count("Danger. ") >= 1 + int(found[1])


@pytest.mark.parametrize("name", [name for name in JOBS if name != "empty"])
def test_the_cover_leads_to_the_safety_notes(name: str) -> None:
    """What is to be known, as that a concentrate can burn, is no open point and stands there alone."""
    pages = pages_of(printed(name, "quote").pdf)
    found = re.search(r"what to do in an emergency: safety notes, page (\d+)\.", pages[0])
    assert found is not None and "Safety notes Chemicals and pressure" in pages[int(found[1]) - 1]
    assert "safety notes, page" not in pages_of(printed("empty", "quote").pdf)[0]


@pytest.mark.parametrize("rule", [rule for rule, traits in RULES.items() if traits.danger is not Danger.NONE])
def test_every_rule_that_can_hurt_has_words_for_the_one_who_signs(rule: str) -> None:
    assert rule in CUSTOMER
