"""Objects are called by their names; what has none, or shares one, is told by kind and position."""

from __future__ import annotations

from estimator.layout.plan import lay_out
from estimator.model.choices import SideName
from estimator.model.design import AIR, Bay, Design, Product
from estimator.model.finding import IdKind, Ref
from estimator.model.makers import MakerData, OwnNozzle
from estimator.reference.catalogue import catalogue
from estimator.shown.names import Names
from tests.layout.examples import bay, design, drop, hall

LEFT, RIGHT = SideName.LEFT, SideName.RIGHT


def _named() -> Design:
    made = design(
        (bay("a", 3.0, 4.0), bay("b", 12.0, 4.0)),
        (drop("a", LEFT, "soap"), drop("a", LEFT, "wax"), drop("b", RIGHT, "soap"), drop("b", RIGHT, AIR)),
    )
    bays = tuple(
        b.model_copy(update={"name": name}) for b, name in zip(made.bays, ("Bay 1", "Bay 2"), strict=True)
    )
    products = tuple(p.model_copy(update={"name": p.id.title()}) for p in made.products)
    return made.model_copy(update={"bays": bays, "products": products})


def test_drops_are_told_by_their_place_and_what_they_give() -> None:
    names = Names(_named())
    assert [names.drop(d.id) for d in _named().drops] == [
        "Bay 1 left, Soap",
        "Bay 1 left, Wax",
        "Bay 2 right, Soap",
        "Bay 2 right, Compressed air",
    ]


def test_drops_alike_are_told_apart() -> None:
    made = _named()
    twin = made.drops[0].model_copy(update={"id": "twin"})
    names = Names(made.model_copy(update={"drops": (*made.drops, twin)}))
    assert names.drop(made.drops[0].id) == "Bay 1 left, Soap (1 of 2)"
    assert names.drop("twin") == "Bay 1 left, Soap (2 of 2)"


def test_what_has_no_name_or_shares_one_is_told_by_its_position() -> None:
    names = Names(
        Design(
            products=(Product(id="x", name="Wash"), Product(id="y"), Product(id="z", name=" Wash\n")),
            bays=(Bay(id="b1"), Bay(id="b2", name="North")),
        )
    )
    assert [names.product(p) for p in "xyz"] == ["Wash (product 1)", "product 2", "Wash (product 3)"]
    assert [names.bay(b) for b in ("b1", "b2")] == ["bay 1", "North"]
    assert names.ref(Ref(IdKind.STATION, "b2", "left")) == "“North left”"


def test_a_piece_of_tube_is_told_by_its_ends() -> None:
    made = _named()
    layout, _ = lay_out(hall(), made, catalogue())
    line = layout.line("soap")
    assert line is not None
    names = Names(made, layout)
    told = {names.segment("soap", s.id) for s in line.segments}
    # By hand: from the board one tube to where the ways to the two bays part, and one from there to each drop.
    branch = "the branch for 2 drops at “Bay 1” and 1 more"
    assert told == {
        f"the tube from the board to {branch}",
        f"the tube from {branch} to “Bay 1 left, Soap”",
        f"the tube from {branch} to “Bay 2 right, Soap”",
    }
    assert names.segment("soap", "gone") == "a tube of “Soap”"


def test_a_makers_part_is_told_by_its_name() -> None:
    makers = MakerData(nozzles=(OwnNozzle(key="n-7", name="Grey flat 7"),))
    names = Names(Design(makers=makers))
    assert names.ref(Ref(IdKind.NOZZLE_SIZE, "n-7")) == "“Grey flat 7”"
    assert names.ref(Ref(IdKind.GUN, "gun-plastic")) == "“Spray gun, plastic body”"
