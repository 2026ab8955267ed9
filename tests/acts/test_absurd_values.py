"""Absurd and likely-wrong texts typed into every declared field: each is taken and kept, or refused in one sentence.

What is right of a refusal is of this project: the field's label, what would be taken, the job's units.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, Final

import pytest
from pydantic import BaseModel

from estimator.acts.edits import Edit, edited
from estimator.acts.options import with_option
from estimator.acts.places import written
from estimator.acts.quick_build import QuickBuild, quick_design
from estimator.acts.rows import choices, with_field
from estimator.acts.typed import Path, put
from estimator.layout.plan import lay_out
from estimator.model.choices import Section
from estimator.model.design import LinePlan, MeasuredLength, SegmentTube
from estimator.model.edit import EditError, value_at, with_value
from estimator.model.finding import Finding, Severity, facts
from estimator.model.job import Job
from estimator.model.options import Alternative
from estimator.model.pricebook import PinnedPrices
from estimator.model.spec import FieldKind, fields_of
from estimator.model.terms import ExtraRow, SectionRule, Stage, TaxRate
from estimator.reference.catalogue import catalogue
from estimator.reference.own_parts import with_makers
from estimator.shown.findings import sentences_of_job
from estimator.store.jobs import job_from_text, job_text
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Pipeline
from estimator.units import Dimension, UnitSystem, parse, preferred_unit
from tests.days import STUDIED
from tests.every_field import Field, fields_in, makers

BOOK: Final = shipped_price_book()
LETTERS: Final = "x" * 10_000
_LONGEST: Final = 600
_METRIC: Final = r"m|cm|mm|bar|kPa|MPa|Pa|mbar|L/min|mL/min|L/h|L/s|m3/h|m3/min|L|mL|m3|°C|C|K|m/s"
_US: Final = r"ft|in|yd|psi|gpm|gal/min|gph|fl oz/min|cfm|scfm|gal|qt|fl oz|°F|F|ft/s"
_RIGHT: Final = re.compile(
    r"such as|must|at most|remove|write|outside .+ to .|the \w+ are|give|choose|they are|Only .+ allowed|use one of|"
    r"neither yes nor no|from its file"
)


def tiny_job(system: UnitSystem, locale: str) -> Job:
    """One bay with one drop on each of two products, and something in every list."""
    site, design = quick_design(QuickBuild(bays=1, products=2, drops_per_side=1), Job().site)
    first = design.products[0].id
    segment = lay_out(site, design, catalogue())[0].lines[0].segments[0].id
    plan = LinePlan(
        service=first,
        segment_tubes=(SegmentTube(segment=segment, tube="tube-10"),),
        measured=(MeasuredLength(segment=segment, length=parse("9 m", Dimension.LENGTH)),),
    )
    design = design.model_copy(update={"makers": makers(), "lines": (plan,)})
    job = Job(site=site, design=design, units=system)
    job = with_value(job, ("terms", "locale"), locale)
    extra = ExtraRow(description="Freight", low=Decimal(80), likely=Decimal(100), high=Decimal(130))
    for path, value in (
        (("terms", "more_taxes"), (TaxRate(id="low", name="Low rate", percent=Decimal(5)),)),
        (("terms", "extras"), (extra,)),
        (("terms", "section_rules"), (SectionRule(section=Section.DROPS, percent=Decimal(30)),)),
        (("terms", "stages"), (Stage(name="Order", percent=Decimal(40)), Stage(name="Done", percent=None))),
    ):
        job = with_value(job, path, value)
    # Of the job's prices a few are its own.
    pinned = PinnedPrices(taken=STUDIED, currency=BOOK.currency, entries=BOOK.entries[:3])
    job = with_value(job, ("prices",), pinned)
    other = with_value(job.design, ("drops", 0, "gun"), "gun-metal")
    return with_option(job, "Other guns", other, offered=True)[0]


METRIC: Final = tiny_job(UnitSystem.METRIC, "en_US")
OTHERS: Final = {"us": tiny_job(UnitSystem.US, "en_US"), "german": tiny_job(UnitSystem.METRIC, "de_DE")}
FIELDS: Final = {field.name: field for field in fields_in(METRIC)}
SENTENCES: Final = {id(job): sentences_of_job(job) for job in (METRIC, *OTHERS.values())}
PARTS: Final = with_makers(METRIC.design.makers, catalogue())[0]
FIGURES: Final = (FieldKind.QUANTITY, FieldKind.NUMBER, FieldKind.WHOLE, FieldKind.DATE)
PIPELINE: Final = Pipeline()


def declared(model: type[BaseModel], seen: frozenset[type[BaseModel]] = frozenset()) -> Iterator[str]:
    """Every field declared below a model, but what no edit reaches."""
    for field in fields_of(model):
        if model is Job and (field.name in Job.sealed or field.name in Job.acted):
            continue
        if (model, field.name) == (Alternative, "changes"):
            continue
        if field.model is None:
            yield f"{model.__name__}.{field.name}"
        elif field.model not in seen:
            yield from declared(field.model, seen | {model})


def texts(field: Field) -> Iterator[str]:
    """What somebody may type by mistake, or out of spite."""
    yield from ("", " ", "letters", "-1", "0", "99999999999999999999", "1e300", "1e999", "3,5", "3.5")
    yield from ("1,500", "1.500", "5", "nan", "inf", "true", "<b>bold</b> & {label} %s", LETTERS)
    yield from (
        "a\x07b",
        "a\x00b",
        "\ud800",
        "a\nb",
        "=1+1",
        "٣",
        "²",
        "1_000",
        "2027-13-45",
        "DEM",
        "xx_YY",
        "air",
    )
    spec = field.spec
    if spec.dimension is not None:
        own = {preferred_unit(spec.dimension, system) for system in UnitSystem}
        yield "5 psi" if spec.dimension is not Dimension.PRESSURE else "5 m"
        yield "5 smoots"
        for unit in sorted(own):
            yield from (
                f"{n} {unit}" for n in ("-5", "0", "99999999", "1e300", "3,5", "1,500", "five", "nan")
            )
            yield from (unit, f"1e999 {unit}", f"5 {unit} 5", f"5 {unit} {'x' * 10_000}")


def values(field: Field) -> Iterator[Any]:
    """The same, and what JSON may hold in the place of a text."""
    yield from texts(field)
    yield from (None, True, False, 0, -1, 10**30, 0.5, float("nan"), float("inf"), [], ["x"], {}, {"a": "b"})


def by_commands(job: Job, place: Path, value: Any) -> tuple[Job, tuple[Finding, ...]]:
    """What the command line makes of it: the job afterwards, or the findings of its refusal."""
    try:
        done = edited(job, [Edit("set", (written(job, place),), value)]).whole
    except EditError as error:
        return job, error.findings
    assert isinstance(done, Job)
    return done, ()


def by_desk(job: Job, field: Field, place: Path, text: str) -> tuple[Job, tuple[Finding, ...]]:
    """What the desk makes of it: the job afterwards, or the finding of what is kept back."""
    typed = put(
        job,
        {},
        field.model,
        field.spec,
        [place[:-1]],
        text,
        place=with_field,
        choices=choices(job, field.spec, PARTS),
        locale=job.terms.locale,
    )
    assert isinstance(typed.whole, Job)
    if not typed.refused:
        assert not typed.kept
        return typed.whole, ()
    assert typed.whole is job and typed.kept[place].raw == text, "what was typed is lost"
    reason = typed.kept[place].reason
    return job, (Finding(Severity.ERROR, "", "not-taken", "{reason}", facts=facts(reason=reason)),)


def wrong_of(refusal: tuple[Finding, ...], job: Job, field: Field, typed: str) -> str:
    """What is wrong with a refusal, "" if nothing is."""
    if len(refusal) != 1:
        return f"{len(refusal)} findings"
    said = SENTENCES[id(job)].installer(refusal[0])
    # What was typed is told in quotes and is nobody's sentence.
    own = re.sub(r"“([^”]*)”", lambda m: "“”" if m[1].rstrip("…") in typed else m[0], said)
    if field.spec.label.casefold() not in own.casefold():
        return f"does not name “{field.spec.label}”: {said}"
    if len(said) > _LONGEST or not said.endswith(".") or re.search(r"[.!?]\s+[A-Z]", own):
        return f"is not one sentence: {said}"
    if not _RIGHT.search(own):
        return f"does not tell what would be right: {said}"
    foreign = _METRIC if job.units is UnitSystem.US else _US
    told = own.split(":", 1)[1]
    if field.spec.dimension is not None and re.search(rf"(?<![\w/°·])(?:{foreign})(?![\w/·])", told):
        return f"speaks in foreign units: {said}"
    return ""


def kept_by_file(job: Job) -> bool:
    """Whether saving and opening gives the very same."""
    return job_from_text(job_text(job), "tiny.baydrop") == job


def walk(field: Field, job: Job) -> tuple[int, list[Job], list[str]]:
    """Types everything into a field, by both ways.

    Returns:
        How many cases there were, the different jobs that were made, and what is wrong.
    """
    place = field.places[0]
    cases, made, wrong = 0, [], []
    beside = [str(value_at(job, other)) for other in field.places[1:2]]
    for value in (*values(field), *beside):
        ways = [by_commands(job, place, value)]
        if isinstance(value, str):
            ways.append(by_desk(job, field, place, value))
        for new, refusal in ways:
            cases += 1
            if refusal:
                if why := wrong_of(refusal, job, field, str(value)):
                    wrong.append(f"{value!r:.40}: {why}")
            elif new is not job and new not in made:
                made.append(new)
    return cases, made, wrong


def test_every_declared_field_is_walked() -> None:
    assert set(declared(Job)) == set(FIELDS)


@pytest.mark.parametrize("name", FIELDS)
def test_an_absurd_value_is_kept_or_refused_in_one_sentence(name: str) -> None:
    field = FIELDS[name]
    cases, made, wrong = walk(field, METRIC)
    for job in made:
        assert kept_by_file(job), "what was taken does not come back"
        assert PIPELINE.study(job, BOOK, STUDIED).job == job
    assert cases > len(list(texts(field)))
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("other", OTHERS)
@pytest.mark.parametrize("name", [name for name, field in FIELDS.items() if field.spec.kind in FIGURES])
def test_a_figure_is_kept_or_refused_in_the_units_and_number_format_of_the_job(name: str, other: str) -> None:
    _, made, wrong = walk(FIELDS[name], OTHERS[other])
    assert all(map(kept_by_file, made))
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("sentence", "why"),
    [
        ("This must be a length.", "does not name"),
        ("Floor width: that is wrong. Write another.", "is not one sentence"),
        ("Floor width: that is wrong.", "does not tell what would be right"),
        ("Floor width: write a length such as 5 m.", "speaks in foreign units"),
        ("Floor width: write a length such as 16 ft.", ""),
    ],
)
def test_a_poor_refusal_is_found(sentence: str, why: str) -> None:
    refusal = (Finding(Severity.ERROR, "site.floor.width", "quantity", sentence),)
    found = wrong_of(refusal, OTHERS["us"], FIELDS["Floor.width"], "5 smoots")
    assert found.startswith(why) and bool(found) == bool(why)
