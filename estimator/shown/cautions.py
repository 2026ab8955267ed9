"""The safety page as a model: the cautions of every design that can be signed, and the findings that go with each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimator.model.called import service_names
from estimator.model.design import AIR, Design
from estimator.model.grades import Danger
from estimator.safety.emergency import emergency
from estimator.safety.notes import SafetyNote, safety_notes
from estimator.shown.entries import customer_entries
from estimator.shown.findings import Sentences
from estimator.shown.names import quoted
from estimator.shown.sources import source_in
from estimator.study import Study

__all__ = ["Caution", "cautions", "emergency_lines", "on_this_job"]


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution in words.

    Attributes:
        title: a few words; "" where a finding stands for itself.
        text: one or a few sentences.
        source: where it comes from, as the rule states it.
        danger: what it is about can do to people.
        state: how it stands on this job, a sentence each, from the findings.
        about: names of the products it speaks of, where it does not name them and does not speak of all.
    """

    title: str
    text: str
    source: str
    danger: Danger
    state: tuple[str, ...] = ()
    about: tuple[str, ...] = ()


def _about(note: SafetyNote, told: str, design: Design, called: Mapping[str, str]) -> tuple[str, ...]:
    concerned = tuple(called[c] for c in note.concerns)
    if {p.id for p in design.products} <= set(note.concerns) or all(name in told for name in concerned):
        return ()
    return concerned


def _designs(study: Study, say: Sentences) -> Iterator[tuple[str, Study, Sentences]]:
    """Words before what holds for one of the options alone, its study, and who makes its sentences."""
    yield "", study, say
    for made in study.offers:
        named = quoted(say.names.option(made.option))
        yield f"With option {named}: ", made, say.for_option(made.option)


def _named(study: Study, say: Sentences) -> Iterator[tuple[SafetyNote, str, str, tuple[str, ...]]]:
    """Each note with its words; of an option only what the designs before it do not say."""
    seen: set[tuple[str, str]] = set()
    for before, made, words in _designs(study, say):
        called = service_names(made.job.design)
        for note in safety_notes(made.job.site, made.job.design):
            told = words.told(note.sentence, note.facts)
            if (note.title, told) not in seen:
                seen.add((note.title, told))
                yield note, before, told, _about(note, f"{note.title} {told}", made.job.design, called)


def cautions(study: Study, say: Sentences) -> tuple[Caution, ...]:
    """The cautions, what can do most harm first.

    Every finding that can hurt somebody and concerns the one who signs is told: by a caution that says the same, with
    the caution that it belongs to, or as one of its own.

    Args:
        study: of the base design with its offered options.
        say: makes the sentences.
    """
    notes = list(_named(study, say))
    told = {rule for note, _, _, _ in notes for rule in note.tells}
    place = {rule: i for i, (note, _, _, _) in reversed(list(enumerate(notes))) for rule in note.rules}
    states: dict[int, list[str]] = {}
    alone: list[Caution] = []
    hurting = (f for f in study.findings if f.hurts and f.rule not in told)
    for entry in customer_entries(hurting):
        finding, said = entry.first, entry.customer(say) or ""
        if finding.rule in place:
            states.setdefault(place[finding.rule], []).append(said)
        else:
            alone.append(Caution("", said, source_in(finding.source, study.job.site.country), finding.danger))
    made = [
        Caution(
            note.title,
            before + text,
            source_in(note.source, study.job.site.country),
            note.danger,
            tuple(states.get(i, ())),
            about,
        )
        for i, (note, before, text, about) in enumerate(notes)
    ]
    return tuple(sorted((*made, *alone), key=lambda caution: -caution.danger.value))


def emergency_lines(study: Study, say: Sentences) -> tuple[tuple[str, str], ...]:
    """Title and sentence of each line of the emergency card.

    Lines that only an option needs are there too: the card must be right whatever is ordered.
    """
    lines: dict[tuple[str, str], None] = {}
    for _, made, words in _designs(study, say):
        for line in emergency(made.job.site, made.job.design):
            lines.setdefault((words.told(line.title, line.facts), words.told(line.sentence, line.facts)))
    return tuple(lines)


def _on_tap(design: Design) -> tuple[str, ...]:
    called = service_names(design)
    air = (AIR,) if any(d.service == AIR for d in design.drops) else ()
    return tuple(called[service] for service in (*(p.id for p in design.products), *air))


def on_this_job(study: Study, say: Sentences) -> tuple[str, ...]:
    """What is on tap, numbered as on the floor plan; then what an option that can be signed has besides."""
    known = _on_tap(study.job.design)
    tags = (*(str(i + 1) for i in range(len(study.job.design.products))), "A")
    told = [f"{tag} {name}" for tag, name in zip(tags, known, strict=False)]
    for made in study.offers:
        option = quoted(say.names.option(made.option))
        told += [f"{name} with option {option}" for name in _on_tap(made.job.design) if name not in known]
    return tuple(told)
