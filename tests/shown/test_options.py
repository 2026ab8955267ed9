"""What an option has of its own, in words without an id."""

from __future__ import annotations

import pytest
from pydantic import BaseModel

from estimator.model.datum import Datum
from estimator.model.design import Bay, Design, Drop, Product
from estimator.model.job import Job
from estimator.model.makers import MakerData, OwnNozzle
from estimator.model.option_changes import as_data, changes_of
from estimator.model.option_designs import option_findings
from estimator.model.options import Alternative, HowChanged, OptionChange
from estimator.shown.options import own_words

BASE = Design(
    products=(Product(id="p-7", name="Soap"),),
    bays=(Bay(id="b-7", name="North bay"),),
    drops=(Drop(id="d-7", bay="b-7", service="p-7"),),
    makers=MakerData(nozzles=(OwnNozzle(key="k-7", name="Slotted tip"),)),
)


def with_option(*changes: OptionChange, base: Design = BASE) -> Job:
    return Job(design=base, alternatives=(Alternative(id="option-1", name="Other", changes=changes),))


def added(place: tuple[str, ...], row: BaseModel) -> OptionChange:
    return OptionChange(kind=HowChanged.ADD, place=place, value=Datum.of(as_data(row)))


def put(value: object, *place: str) -> OptionChange:
    return OptionChange(kind=HowChanged.SET, place=place, value=Datum.of(value), instead_of=Datum.of(None))


def test_a_makers_nozzle_is_called_by_its_name() -> None:
    tip = BASE.makers.nozzles[0]
    other = BASE.model_copy(
        update={"makers": MakerData(nozzles=(tip.model_copy(update={"name": "Slotted tip, long"}),))}
    )
    less = BASE.model_copy(update={"makers": MakerData()})
    assert [w.what for w in own_words(with_option(*changes_of(BASE, less)), "option-1")] == [
        "Makers' data, Nozzles, Slotted tip"
    ]
    more = own_words(with_option(*changes_of(less, BASE), base=less), "option-1")
    assert [w.what for w in more] == ["Makers' data, Nozzles, Slotted tip"]
    renamed = own_words(with_option(*changes_of(BASE, other)), "option-1")
    assert [w.what for w in renamed] == ["Makers' data, Nozzles, Slotted tip, long, Nozzle"]


def test_a_nozzle_without_a_name_is_called_by_its_position() -> None:
    bare = BASE.model_copy(update={"makers": MakerData(nozzles=(OwnNozzle(key="k-7"),))})
    less = BASE.model_copy(update={"makers": MakerData()})
    (words,) = own_words(with_option(*changes_of(bare, less), base=bare), "option-1")
    assert words.what == "Makers' data, Nozzles 1"


CHANGES = (
    added(("drops", "d-9"), Drop(id="d-9", bay="b-9", service="p-7")),
    put("gun-metal", "drops", "d-8", "gun"),
    put("p-9", "drops", "d-7", "service"),
    OptionChange(kind=HowChanged.REMOVE, place=("bays", "b-8")),
)


def test_a_drop_of_its_own_that_lost_its_bay_is_still_called_by_its_product() -> None:
    own = {w.change.place: w for w in own_words(with_option(*CHANGES), "option-1")}
    assert own["drops", "d-9"].what == "a bay that is not there left, Soap"
    assert own["drops", "d-8", "gun"].what == "a drop that is not there, Gun"


@pytest.mark.parametrize("at", range(len(CHANGES)))
def test_what_does_nothing_is_told_without_an_id(at: int) -> None:
    """The id of what is gone tells a person nothing; the field that would be changed does."""
    said = [f.message for f in option_findings(with_option(CHANGES[at]))]
    assert len(said) == 1
    assert "-7" not in said[0]
    assert "-8" not in said[0]
    assert "-9" not in said[0]
    wanted = (
        "Drops, Bay: the bay that this row needs is gone from the base.",
        "Drops, Gun: the row that this option changes is gone from the base.",
        "Drops, Service: the product that this row needs is gone from the base.",
        "Bays: the row that this option leaves out is gone from the base.",
    )[at]
    assert wanted in said[0]
