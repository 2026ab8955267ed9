"""Edits as data: fields, rows, several in one go or none; every refusal names its place."""

from __future__ import annotations

import re
from typing import Any

import pytest

from estimator.acts.edits import edited, edits_from, texts_into
from estimator.acts.places import PlaceError, place_at, written
from estimator.acts.quick_build import QuickBuild, built
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.store.jobs import job_text
from estimator.store.pricebooks import shipped_price_book


@pytest.fixture(scope="module")
def job() -> Job:
    """2 bays, one side each, 2 products, 2 drops a side and air: 6 drops."""
    return built(Job(), QuickBuild(bays=2, sides=1, products=2, drops_per_side=2))


def do(job: Job, *edits: dict[str, Any]) -> Job:
    whole = edited(job, edits_from(list(edits))).whole
    assert isinstance(whole, Job)
    return whole


def refused(whole: Job | PriceBook, *edits: object) -> str:
    with pytest.raises(EditError) as caught:
        edited(whole, edits_from(list(edits)))
    assert all(f.place for f in caught.value.findings)
    return " ".join(f.message for f in caught.value.findings)


class TestPlaces:
    def test_a_row_is_named_by_its_id_or_by_its_position(self, job: Job) -> None:
        place = place_at(job, "design.drops.2-l-prewash.gun")
        assert place.path == ("design", "drops", 3, "gun")
        assert place_at(job, "design.drops.3.gun") == place
        assert written(job, place.path) == "design.drops.2-l-prewash.gun"

    def test_an_id_of_digits_wins_over_a_position(self, job: Job) -> None:
        numbered = do(job, {"rename": "design.drops.2-l-prewash", "to": "0"})
        assert place_at(numbered, "design.drops.0").path == ("design", "drops", 3)

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("design.drop", "no field “drop” here; the fields are name, products, bays, drops"),
            ("design.drops.9-x", "no row “9-x” in Drops; they are 1-l-prewash, 1-l-remover, 1-l-air"),
            ("design.drops.17", "no row “17”"),
            ("design.drops.-1", "no row “-1”"),
            ("design.name.x", "“x” stands below a field that has no parts"),
            ("design.model_fields", "no field “model_fields”"),
            ("", "There is no place; write one such as customer.name"),
            ("prices.entries", "prices.entries: .*: nothing is stated here yet"),
        ],
    )
    def test_a_place_that_is_not_there(self, job: Job, text: str, words: str) -> None:
        with pytest.raises(PlaceError, match=words):
            place_at(job, text)


class TestFields:
    def test_a_typed_text_stays_as_typed(self, job: Job) -> None:
        made = do(job, {"set": "design.drops.1-l-prewash.hose_length", "to": "12 ft 6 in"})
        assert made.design.drops[0].hose_length.text == "12 ft 6 in"

    def test_several_places_one_text(self, job: Job) -> None:
        drops = [f"design.drops.{d.id}.hose_length" for d in job.design.drops]
        found = edited(job, edits_from({"set": drops, "to": "7 m"}))
        assert found.names == ("Hose length of 6 rows: 7 m",)
        assert isinstance(found.whole, Job)
        assert {d.hose_length.text for d in found.whole.design.drops} == {"7 m"}

    def test_a_choice_by_its_key_or_its_name(self, job: Job) -> None:
        for text in ("gun-metal", "spray gun, METAL body"):
            made = do(job, {"set": "design.drops.1-l-remover.gun", "to": text})
            assert made.design.drops[1].gun == "gun-metal"

    def test_numbers_flags_dates_and_what_is_not_stated(self, job: Job) -> None:
        made = do(
            job,
            {"set": "design.products.prewash.dilution", "to": 35},
            {"set": "design.products.prewash.container_price", "to": None},
            {"set": "design.common.eyewash", "to": False},
            {"set": "design.common.containment", "to": "no"},
            {"set": "quote.dated", "to": "2027-03-01"},
            {"set": "design.pinned", "to": ["drops.1-l-remover.nozzle_size"]},
        )
        product = made.design.products[0]
        assert (product.dilution, product.container_price) == (35.0, None)
        assert made.design.common.eyewash is made.design.common.containment is False
        assert str(made.quote.dated) == "2027-03-01"
        assert made.design.pinned == ("drops.1-l-remover.nozzle_size",)

    def test_a_group_of_texts_may_pass_through_what_is_not_allowed(self, job: Job) -> None:
        """Low above likely is no error when likely and high follow, in whichever order."""
        made = do(job, {"set": "terms.labour", "to": {"low": "200", "high": "240", "likely": "220"}})
        assert [str(getattr(made.terms.labour, n)) for n in ("low", "likely", "high")] == [
            "200",
            "220",
            "240",
        ]
        single = [{"set": f"terms.labour.{n}", "to": t} for n, t in (("low", "200"), ("likely", "220"))]
        assert "low ≤ likely ≤ high" in refused(job, *single)
        assert do(job, *single, {"set": "terms.labour.high", "to": "240"}) == made

    def test_a_group_that_is_not_stated_is_stated_and_let_go(self, job: Job) -> None:
        entry = {"code": "GUN-PL", "description": "Demo", "low": "1", "likely": "2", "high": "3"}
        prices = {"currency": "USD", "taken": "2027-03-01", "entries": [entry]}
        made = do(job, {"set": "prices", "to": prices}, {"set": "prices.entries.GUN-PL.high", "to": "4"})
        assert made.prices is not None and str(made.prices.entries[0].high) == "4"
        assert do(made, {"set": "prices", "to": None}).prices is None
        assert do(job, {"set": "prices", "to": None}).prices is None

    @pytest.mark.parametrize(
        ("place", "text", "words"),
        [
            ("design.drops.1-l-prewash.hose_length", "7", "Hose length: .*has no unit"),
            ("design.drops.1-l-prewash.hose_length", "900 m", "Hose length: .*outside"),
            ("design.drops.1-l-prewash.gun", "gun-gold", "Gun: “gun-gold” is not one of the choices; they are gun-p"),
            ("design.drops.1-l-prewash.bay", "bay-9", "Bay: “bay-9” is not one of the choices; they are bay-1, bay-2"),
            ("design.products.prewash.dilution", "forty", "Dilution: “forty” is not a number"),
            ("design.products.prewash.dilution", [1], "Dilution: this must be a text"),
            ("design.common", "yes", "This is a group of fields"),
            ("quote.dated", "soon", "“soon” is not a date"),
            ("design.common.eyewash", "perhaps", "neither yes nor no"),
            ("issued", [], "what was issued stays as it is"),
        ],
    )  # fmt: skip
    def test_a_text_that_is_not_allowed(self, job: Job, place: str, text: object, words: str) -> None:
        said = refused(job, {"set": place, "to": text})
        assert re.search(words, said), said


class TestRows:
    def test_a_row_is_added_with_its_texts(self, job: Job) -> None:
        made = do(
            job,
            {
                "add": "design.drops",
                "at": 0,
                "values": {"id": "x", "bay": "bay-2", "side": "right", "service": "remover"},
            },
        )
        drop = made.design.drops[0]
        assert (drop.id, drop.bay, drop.service) == ("x", "bay-2", "remover")
        assert len(made.design.drops) == 7

    def test_nested_rows_are_added(self, job: Job) -> None:
        made = do(
            job,
            {
                "add": "design.lines",
                "values": {
                    "service": "remover",
                    "measured": [{"segment": "a.b", "length": "7 m"}],
                },
            },
            {"add": "design.lines.remover.measured", "values": {"segment": "a.c", "length": "8 m"}},
            {"set": "design.lines.remover.measured.a.b.length", "to": "9 m"},
        )
        assert [(m.segment, m.length.text) for m in made.design.lines[-1].measured] == [
            ("a.b", "9 m"),
            ("a.c", "8 m"),
        ]

    def test_duplicate_move_and_remove(self, job: Job) -> None:
        found = edited(
            job,
            edits_from(
                [
                    {"duplicate": "design.drops.1-l-remover", "values": {"id": "twin", "side": "right"}},
                    {"move": "design.drops.twin", "to": 0},
                    {"remove": ["design.drops.1-l-prewash", "design.drops.1-l-air"]},
                ]
            ),
        )
        assert isinstance(found.whole, Job)
        assert [d.id for d in found.whole.design.drops] == [
            "twin", "1-l-remover", "2-l-prewash", "2-l-remover", "2-l-air",
        ]  # fmt: skip
        assert found.names[0] == "Drops: duplicate Bay 1 left, Insect and tar remover"
        assert found.names[-1] == "Drops: remove 2 rows"
        assert "design.drops.twin" in found.places

    def test_what_refers_to_a_renamed_or_removed_product_follows(self, job: Job) -> None:
        named = do(job, {"rename": "design.products.prewash", "to": "foam"})
        assert {d.service for d in named.design.drops} == {"foam", "remover", "air"}
        assert named.design.plant[0].product == "foam"
        found = edited(job, edits_from({"remove": "design.products.prewash"}))
        assert found.names == ("Products: remove Alkaline foam pre-wash with 2 drops, 1 plant unit",)

    @pytest.mark.parametrize(
        ("edit", "words"),
        [
            ({"add": "design.common"}, "this is no list"),
            ({"add": "design.drops", "at": 9}, "no position 9; the last one is 6"),
            ({"add": "design.drops", "values": {"colour": "red"}}, "no field “colour” here"),
            ({"add": "design.drops", "values": {"id": "1-l-air"}}, "ids must differ"),
            ({"add": "design.drops", "values": {"id": "a b"}}, "Only letters, digits, hyphens"),
            ({"add": "design.plant"}, "Each of them has its row already"),
            ({"remove": "design.common.eyewash"}, "this is a field"),
            ({"remove": ["design.drops.0", "design.bays.0"]}, "Rows of one list"),
            ({"move": "design.drops.0", "to": "up"}, "“up” is not a position"),
            ({"move": "design.drops.0", "to": 6}, "no position 6"),
            ({"rename": "terms.labour", "to": "x"}, "this is a field"),
            ({"rename": "design.drops.0", "to": "1-l-air"}, "ids must differ"),
        ],
    )
    def test_a_row_act_that_is_not_allowed(self, job: Job, edit: dict[str, Any], words: str) -> None:
        assert words in refused(job, edit)


class TestAllOrNothing:
    def test_one_wrong_edit_of_many_is_told_with_its_number(self, job: Job) -> None:
        before = job_text(job)
        good = {"set": "customer.name", "to": "Demo"}
        said = refused(job, good, {"set": "customer.nam", "to": "x"}, good)
        assert said.startswith("edits.1: customer.nam: there is no field “nam” here")
        assert job_text(job) == before

    @pytest.mark.parametrize(
        ("data", "words"),
        [
            (7, "an edit is a group"),
            ({}, "an edit has one of the keys set, add, duplicate, remove, move, rename"),
            ({"set": "a", "remove": "b"}, "an edit has one of the keys"),
            ({"set": "customer.name"}, "“set” needs “to”"),
            ({"set": 4, "to": "x"}, "takes a place"),
            ({"set": [], "to": "x"}, "takes a place"),
            ({"remove": "a", "to": "x"}, "“to” is no key of “remove”"),
            ({"add": "design.drops", "values": []}, "“values” is a group"),
        ],
    )
    def test_what_is_no_edit(self, job: Job, data: object, words: str) -> None:
        assert words in refused(job, data)

    def test_too_many_edits(self, job: Job) -> None:
        with pytest.raises(EditError, match="too many"):
            edits_from([{"remove": "a"}] * 20_001)


def test_a_price_book_is_edited_alike() -> None:
    book = shipped_price_book()
    code = book.entries[0].code
    found = edited(
        book,
        edits_from(
            [
                {"set": f"entries.{code}", "to": {"low": "1", "likely": "2", "high": "3"}},
                {"add": "entries", "values": {"code": "NEW-PART", "description": "Demo"}},
            ]
        ),
    ).whole
    assert isinstance(found, PriceBook)
    assert str(found.entries[0].likely) == "2"
    assert found.entries[-1].code == "NEW-PART"
    assert "There is no row" not in refused(book, {"set": f"entries.{code}.low", "to": "9999"})


def test_texts_go_into_any_declared_value() -> None:
    made = texts_into(QuickBuild(), {"bays": 3, "floor_width": "40 m", "air": "no"})
    assert isinstance(made, QuickBuild)
    assert (made.bays, made.floor_width.text, made.air) == (3, "40 m", False)
    with pytest.raises(EditError, match="no field “colour”"):
        texts_into(QuickBuild(), {"colour": "red"})
