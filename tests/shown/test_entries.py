"""Equal sentences are one entry with its objects; what differs in anything else stays apart."""

from __future__ import annotations

from dataclasses import replace

from estimator.model.design import Bay, Design, Drop, Product
from estimator.model.finding import Amount, Finding, IdKind, Ref, Severity, facts
from estimator.model.job import Job
from estimator.shown.entries import customer_entries, entries_of
from estimator.shown.figures import Figures
from estimator.shown.findings import Sentences
from estimator.shown.names import Names
from estimator.units import Dimension, UnitSystem
from tests.documents.studies import made, raw

NAMES = ("Foam", "Wax", "Rim acid", "Glass")


def job() -> Job:
    products = tuple(Product(id=f"p{i}", name=name) for i, name in enumerate(NAMES))
    return Job(
        design=Design(
            products=products,
            bays=(Bay(id="b", name="Bay 1"),),
            drops=(Drop(id="d", bay="b", service="p0"),),
        )
    )


def missing(product: str, option: str = "base") -> Finding:
    known = facts(product=Ref(IdKind.PRODUCT, product))
    return Finding(Severity.ERROR, product, "class-missing", "No class: {product}.", "s", "", known, option)


def say() -> Sentences:
    return Sentences(Figures("en_US", "USD", UnitSystem.METRIC), Names(job().design))


def test_one_sentence_of_several_products_is_one_entry_with_all_of_them() -> None:
    other = Finding(Severity.NOTE, "x", "other", "Between.")
    entries = entries_of((missing("p0"), other, missing("p1"), missing("p2")))
    assert [entry.installer(say()) for entry in entries] == [
        "No class: “Foam”. The same holds for “Wax” and “Rim acid”.",
        "Between.",
    ]
    assert [f.place for f in entries[0].findings] == ["p0", "p1", "p2"]
    assert entries[0].source(None) == "Source: s."


def test_what_differs_in_grade_option_or_another_fact_is_not_put_together() -> None:
    def told(product: str, why: str) -> Finding:
        sentence = "No class: {product}, {why}."
        return replace(missing(product), sentence=sentence, facts=(*missing(product).facts, *facts(why=why)))

    assert len(entries_of((told("p0", "a"), told("p1", "b")))) == 2
    assert len(entries_of((told("p0", "a"), told("p1", "a")))) == 1
    one = missing("p0")
    for unlike in (
        replace(missing("p1"), severity=Severity.WARNING),
        missing("p1", "option-1"),
        replace(missing("p1"), defer_to="somebody"),
        replace(missing("p1"), sentence="Not one class: {product}."),
    ):
        assert len(entries_of((one, unlike))) == 2


def test_a_pair_is_put_together_by_its_first_object_and_then_by_its_second() -> None:
    def pair(a: str, b: str) -> Finding:
        known = facts(a=Ref(IdKind.PRODUCT, a), b=Ref(IdKind.PRODUCT, b))
        return Finding(Severity.ERROR, b, "mixing-forbidden", "{a} with {b}.", facts=known)

    told = [e.installer(say()) for e in entries_of((pair("p0", "p3"), pair("p1", "p3")))]
    assert told == ["“Foam” with “Glass”. The same holds for “Glass” with “Wax”."]
    told = [e.installer(say()) for e in entries_of((pair("p0", "p1"), pair("p0", "p2")))]
    assert told == ["“Foam” with “Wax”. The same holds for “Foam” with “Rim acid”."]


def test_what_a_sentence_for_another_reader_does_not_name_may_differ() -> None:
    """The one who signs is not told the classes of a pair, so pairs of several classes are one entry there."""

    def pair(b: str, b_is: str) -> Finding:
        known = facts(a=Ref(IdKind.PRODUCT, "p0"), b=Ref(IdKind.PRODUCT, b), b_is=b_is)
        return Finding(Severity.ERROR, b, "mixing-forbidden", "{a} with {b}, {b_is}.", facts=known)

    both = pair("p1", "an acid"), pair("p2", "an amine")
    assert len(entries_of(both)) == 2
    (entry,) = entries_of(both, words=lambda _: "{a}, {b}")
    assert entry.findings == both


def test_a_sentence_that_names_nothing_tells_how_often_it_holds() -> None:
    entries = entries_of(Finding(Severity.ERROR, place, "r", "Wrong.") for place in "abc")
    assert [e.installer(say()) for e in entries] == ["Wrong. The same at two other places."]


def test_nothing_is_lost_of_a_real_job() -> None:
    raw_job = raw()
    for product in raw_job["design"]["products"]:
        product["sheet"]["classes"] = []
    findings = made(raw_job).findings
    entries = entries_of(findings)
    assert sorted(map(repr, findings)) == sorted(repr(f) for e in entries for f in e.findings)
    (entry,) = [e for e in entries if e.first.rule == "class-missing"]
    assert len(entry.findings) == len(raw_job["design"]["products"]) > 3


def test_for_the_customer_many_that_differ_in_figures_alone_are_one_line() -> None:
    """17 drops with 17 pressures were 17 lines; three stay as they are, and a danger is told each time."""

    def low(drop: str, kpa: float) -> Finding:
        told = facts(
            drop=Ref(IdKind.DROP, drop),
            pressure=Amount(kpa * 1000.0, Dimension.PRESSURE),
            others="",
            low=Amount(150_000.0, Dimension.PRESSURE),
        )
        return Finding(
            Severity.ERROR, drop, "drop-pressure-low", "{drop} {pressure} {others} {low}", "", "", told
        )

    few = [low("d", 100.0 + i) for i in range(3)]
    assert len(customer_entries(few)) == 3
    (entry,) = customer_entries([*few, low("d", 110.0), low("d", 111.0)])
    assert len(entry.findings) == 5
    said = entry.customer(say()) or ""
    assert (
        "1\N{NO-BREAK SPACE}bar" in said
        and "So it is, with other figures, at" in said
        and said.count("nozzle is made for") == 1
    )
    hot = [replace(f, rule="pressure-trapped") for f in (low("d", 100.0 + i) for i in range(5))]
    assert len(customer_entries(hot)) == 5
