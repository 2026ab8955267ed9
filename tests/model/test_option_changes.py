"""What an option has otherwise than the base design: told, applied, and told when it does nothing or is wrong."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given

from estimator.model.datum import Datum
from estimator.model.design import AIR, Bay, Design, Drop, LinePlan, MeasuredLength, PlantUnit, Product
from estimator.model.edit import EditError, inserted, moved, removed, with_value
from estimator.model.finding import Severity
from estimator.model.job import FORMAT, Job
from estimator.model.option_changes import (
    Unreadable,
    _Applying,
    applied,
    as_data,
    changes_of,
    differences_of,
)
from estimator.model.option_designs import (
    OwnState,
    design_of,
    option_findings,
    option_name,
    own_changes,
    worked_on,
)
from estimator.model.options import Alternative, HowChanged, OptionChange
from estimator.model.upgrades import upgraded
from estimator.store.jobs import JobFileError, job_from_text, job_text, load_job
from estimator.units import Dimension, parse
from tests.random_edits import edited_design
from tests.random_jobs import RANDOMS, jobs

EXAMPLES = Path(__file__).parents[2] / "resources" / "examples"
EXAMPLE = EXAMPLES / "gannet-quay.baydrop"
BASE_DESIGN = Design(
    products=(Product(id="soap", name="Soap"), Product(id="wax", name="Wax")),
    bays=(Bay(id="b1"), Bay(id="b2")),
    drops=(
        Drop(id="d1", bay="b1", service="soap"),
        Drop(id="d2", bay="b1", service="wax"),
        Drop(id="d3", bay="b2", service="wax"),
        Drop(id="d4", bay="b2", service=AIR, gun="gun-air"),
    ),
    plant=(PlantUnit(product="soap"), PlantUnit(product="wax")),
    lines=(LinePlan(service="wax"),),
)
DESIGNS = (BASE_DESIGN, *(load_job(path).design for path in sorted(EXAMPLES.glob("*.baydrop"))))


def option(*changes: OptionChange) -> Alternative:
    return Alternative(id="option-1", name="Other", changes=changes)


def own(design: Design) -> Alternative:
    return option(*changes_of(BASE_DESIGN, design))


def put(*place: str, value: object = None, instead_of: object = None) -> OptionChange:
    return OptionChange(
        kind=HowChanged.SET, place=place, value=Datum.of(value), instead_of=Datum.of(instead_of)
    )


def out(*place: str) -> OptionChange:
    return OptionChange(kind=HowChanged.REMOVE, place=place)


def told(design: Design) -> list[tuple[str, str]]:
    return [(c.kind.value, c.key) for c in changes_of(BASE_DESIGN, design)]


@given(RANDOMS)
def test_what_differs_put_onto_the_base_gives_the_other_design(rng: Random) -> None:
    """To the last row and its place: of designs a few edits apart, and of two jobs."""
    base = edited_design(rng, rng.choice(DESIGNS), renaming=False)
    other = rng.choice((*DESIGNS, edited_design(rng, base, 20), edited_design(rng, base)))
    made = applied(base, Alternative(id="o", changes=changes_of(base, other)))
    assert made.wrong == made.idle == ()
    assert as_data(made.design) == as_data(other)
    assert made.design == other


@given(jobs())
def test_a_job_with_options_comes_back_from_its_file(job: Job) -> None:
    back = job_from_text(job_text(job), "job")
    assert back == job
    for alternative in job.alternatives:
        assert design_of(back, alternative.id) == design_of(job, alternative.id)
        assert design_of(job, alternative.id) is design_of(job, alternative.id)
        assert worked_on(job, alternative.id).design == design_of(job, alternative.id)


def test_each_kind_of_difference_is_told_by_ids() -> None:
    length = parse("7 m", Dimension.LENGTH)
    assert told(with_value(BASE_DESIGN, ("drops", 2, "gun"), "gun-metal")) == [("set", "drops / d3 / gun")]
    assert told(with_value(BASE_DESIGN, ("bays", 0, "left", "station"), length)) == [
        ("set", "bays / b1 / left / station")
    ]
    measured = (MeasuredLength(segment="a/b", length=length),)
    assert told(with_value(BASE_DESIGN, ("lines", 0, "measured"), measured)) == [
        ("add", "lines / wax / measured / a/b")
    ]
    assert told(removed(BASE_DESIGN, ("drops",), 1)) == [("remove", "drops / d2")]
    assert told(moved(BASE_DESIGN, ("drops",), 3, 0)) == [("move", "drops / d4")]
    new = Drop(id="d9", bay="b1", service="soap")
    (added,) = changes_of(BASE_DESIGN, inserted(BASE_DESIGN, ("drops",), 1, new))
    assert (added.key, added.after, added.value.data["bay"]) == ("drops / d9", "d1", "b1")


def test_what_hangs_on_a_bay_or_product_goes_with_it_and_is_no_change_of_its_own() -> None:
    """Also a drop that the base gets afterwards."""
    smaller = Design(
        products=BASE_DESIGN.products[:1],
        bays=BASE_DESIGN.bays,
        drops=(BASE_DESIGN.drops[0], BASE_DESIGN.drops[3]),
        plant=BASE_DESIGN.plant[:1],
    )
    assert told(smaller) == [("remove", "products / wax")]
    new = Drop(id="d9", bay="b1", service="wax")
    base = inserted(BASE_DESIGN, ("drops",), 4, new)
    assert applied(base, own(smaller)).design == smaller


def test_an_option_follows_the_base_where_it_has_nothing_of_its_own() -> None:
    """A drop, a length and a new order reach it; its gun stays; the new row of its own stands after the same one."""
    other = with_value(BASE_DESIGN, ("drops", 1, "gun"), "gun-metal")
    other = inserted(other, ("drops",), 1, Drop(id="d9", bay="b1", service="soap"))
    alternative = own(other)
    base = removed(BASE_DESIGN, ("drops",), 3)
    base = moved(base, ("drops",), 0, 2)
    base = with_value(base, ("drops", 0, "hose_length"), parse("9 m", Dimension.LENGTH))
    made = applied(base, alternative).design
    assert [d.id for d in made.drops] == ["d2", "d3", "d1", "d9"]
    assert made.drops[0].gun == "gun-metal"
    assert made.drops[0].hose_length.text == "9 m"
    # Its anchor gone, it stands at the end.
    without = removed(base, ("drops",), 2)
    assert [d.id for d in applied(without, alternative).design.drops] == ["d2", "d3", "d9"]


def test_how_its_own_stands_to_the_base() -> None:
    """Own; both; same; idle. Expected by hand from what was done to the base."""
    other = with_value(BASE_DESIGN, ("drops", 0, "gun"), "gun-metal")
    other = with_value(other, ("drops", 1, "nozzle_size"), "04")
    other = with_value(other, ("common", "eyewash"), True)
    other = removed(other, ("drops",), 3)
    job = Job(design=BASE_DESIGN, alternatives=(own(other),))
    assert {o.state for o in own_changes(job, "option-1")} == {OwnState.OWN}
    assert own_changes(job, "base") == ()
    base = with_value(BASE_DESIGN, ("drops", 1, "nozzle_size"), "06")
    base = with_value(base, ("common", "eyewash"), True)
    base = with_value(base, ("drops", 3, "hose_length"), parse("8 m", Dimension.LENGTH))
    base = removed(base, ("drops",), 0)
    later = Job(design=base, alternatives=job.alternatives)
    states = {o.change.key: (o.state, o.base) for o in own_changes(later, "option-1")}
    assert states.pop("drops / d4")[0] is OwnState.BOTH
    assert states == {
        "drops / d1 / gun": (OwnState.IDLE, None),
        "drops / d2 / nozzle_size": (OwnState.BOTH, "06"),
        "common / eyewash": (OwnState.SAME, True),
    }
    made = design_of(later, "option-1")
    assert [(d.id, d.nozzle_size) for d in made.drops] == [("d2", "04"), ("d3", "03")]


def test_a_change_of_what_the_base_no_longer_has_does_nothing_is_told_and_is_kept() -> None:
    """A drop that is gone, a bay that a drop of its own needs, a product that a drop is put to."""
    lone = Drop(id="d9", bay="b2", service="soap")
    job = Job(
        design=Design(
            products=BASE_DESIGN.products[:1], bays=BASE_DESIGN.bays[:1], drops=BASE_DESIGN.drops[:1]
        ),
        alternatives=(
            option(
                put("drops", "d3", "gun", value="gun-metal"),
                OptionChange(kind=HowChanged.ADD, place=("drops", "d9"), value=Datum.of(as_data(lone))),
                put("drops", "d1", "service", value="wax"),
                out("bays", "b2"),
            ),
        ),
    )
    assert design_of(job, "option-1") == job.design
    findings = option_findings(job)
    assert {f.severity for f in findings} == {Severity.WARNING}
    assert sorted(f.place for f in findings) == [f"alternatives.0.changes.{i}" for i in range(4)]
    words = " ".join(f.message for f in findings)
    for part in (
        "“Other”",
        "Drops, Gun: the row",
        "Bay: the bay",
        "Service: the product",
        "leaves out is gone",
    ):
        assert part in words
    assert job_from_text(job_text(job), "job") == job


@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ((put("drops", "d1", "gunn", value="x"),), 0, "there is no field “gunn”"),
        ((put("nowhere", value="x"),), 0, "there is no field “nowhere”"),
        ((put("common", value={}),), 0, "changed field by field"),
        ((put("drops", "d1", value={}),), 0, "changed field by field"),
        ((put("drops", "d1", "gun", "more", value="x"),), 0, "nothing below"),
        ((put("drops", "d1", "gun", value=7),), 0, "must be text"),
        ((put("drops", "d1", "hose_length", value="6 psi"),), 0, "does not measure length"),
        ((put("drops", "d1", "hose_length", value="6000 m"),), 0, "outside"),
        ((put("tube_allowance", value="1e400"),), 0, "must be a number"),
        ((put("name", value="a"), put("name", value="b")), 1, "twice"),
        ((out("drops", "d1"), put("drops", "d1", "gun", value="gun-metal")), 1, "twice"),
        ((out("drops", "d1"), out("drops", "d1")), 1, "twice"),
        (
            (OptionChange(kind=HowChanged.ADD, place=("drops", "d9"), value=Datum.of({"id": "d9"})),),
            0,
            "“bay” is missing",
        ),
        (
            (
                OptionChange(
                    kind=HowChanged.ADD,
                    place=("drops", "d9"),
                    value=Datum.of(as_data(BASE_DESIGN.drops[0])),
                ),
            ),
            0,
            "must be the same",
        ),
    ],
)
def test_a_change_that_no_design_can_take_is_refused_with_its_place(
    changes: tuple[OptionChange, ...], place: int, words: str
) -> None:
    with pytest.raises(EditError) as caught:
        with_value(Job(design=BASE_DESIGN), ("alternatives",), (option(*changes),))
    found = caught.value.findings[0]
    assert found.place == f"alternatives.0.changes.{place}"
    assert "Option “Other”" in found.message
    assert words in found.message


def test_a_file_that_is_wrong_is_refused_with_its_place() -> None:
    data = json.loads(job_text(Job(design=BASE_DESIGN, alternatives=(own(BASE_DESIGN),))))

    def refused(**fields: Any) -> str:
        text = json.dumps({**data, "alternatives": [{**data["alternatives"][0], **fields}]})
        with pytest.raises(JobFileError) as caught:
            job_from_text(text, "job")
        return " ".join(f"{f.place}: {f.message}" for f in caught.value.findings)

    change = json.loads(put("drops", "d1", "gun", value="gun-metal").model_dump_json())
    assert "alternatives.0.changes.0.after" in refused(
        changes=[{k: change[k] for k in change if k != "after"}]
    )
    assert "one of 'set'" in refused(changes=[{**change, "kind": "swap"}])
    assert "must be a list" in refused(changes={})
    assert "alternatives.0.changes.0.place" in refused(changes=[{**change, "place": []}])
    # Brought up by half: the number says 2, the option is as in format 1.
    half = refused(design=data["design"])
    assert "alternatives.0" in half
    assert "holds its whole design" in half


@given(jobs())
def test_options_of_format_1_become_differences_of_the_same_designs(job: Job) -> None:
    """Each option of the old file was a whole design; its design is the same afterwards."""
    old = json.loads(job_text(job))
    designs = {a.id: design_of(job, a.id) for a in job.alternatives}
    old["format"] = 1
    old["issued"] = []
    for option_data in old["alternatives"]:
        del option_data["changes"]
        option_data["design"] = as_data(designs[option_data["id"]])
    before = json.dumps(old)
    made = upgraded(old)
    assert json.dumps(old) == before
    assert made["format"] == FORMAT
    back = job_from_text(before, "old")
    assert {a.id: design_of(back, a.id) for a in back.alternatives} == designs
    assert [option_name(back, a.id) for a in back.alternatives] == [
        a.name.strip()
        or (designs[a.id].name.strip() if designs[a.id].name != job.design.name else "")
        or a.id
        for a in job.alternatives
    ]


def test_an_old_file_whose_option_cannot_be_read_is_left_as_it_is_and_told() -> None:
    job = Job(design=BASE_DESIGN)
    old = json.loads(job_text(job))
    whole = as_data(BASE_DESIGN)
    del whole["drops"]
    old |= {"format": 1, "alternatives": [{"id": "a", "name": "", "offered": False, "design": whole}, 7]}
    made = upgraded(old)
    assert made["alternatives"][0]["design"] == whole
    assert made["alternatives"][1] == 7
    with pytest.raises(JobFileError, match="holds its whole design"):
        job_from_text(json.dumps(old), "old")
    with pytest.raises(Unreadable):
        differences_of({}, 3)


def test_an_option_costs_what_it_changes_and_not_what_the_job_is() -> None:
    """Size in the file grows with the changes; a design of the example takes over 20 kB."""
    job = load_job(EXAMPLE)
    base = len(job_text(job))
    other = with_value(job.design, ("drops", 0, "gun"), "gun-plastic")

    def with_options(count: int) -> int:
        made = tuple(Alternative(id=f"o{i}", changes=changes_of(job.design, other)) for i in range(count))
        return len(job_text(with_value(job, ("alternatives",), made)))

    one = with_options(1) - base
    assert one < 700
    assert with_options(20) - base < 20 * one + 100


def test_rows_put_in_one_after_another_are_not_looked_for_in_all_before() -> None:
    """20,000 of them took 7 s for an option alone; counted are the comparisons of a name with another."""
    compared = 0

    class Counted(str):
        __slots__ = ()

        def __eq__(self, other: object) -> bool:
            nonlocal compared
            compared += 1
            return str.__eq__(self, other) is True

        __hash__ = str.__hash__

    number = 1_000
    names = [Counted(f"p{i}") for i in range(number)]
    changes = [
        OptionChange.model_construct(
            kind=HowChanged.ADD, place=("products", name), after=Counted(f"p{i - 1}") if i else ""
        )
        for i, name in enumerate(names)
    ]
    rows: dict[str, Any] = {name: object() for name in names}
    order = _Applying(changes)._ordered(rows, (), "id", list(enumerate(names)))
    assert order == [f"p{i}" for i in range(number)]
    assert compared < 10 * number
