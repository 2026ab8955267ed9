"""Acts on the options of a job; each takes a job and gives a new one, whole and checked.

An option is what it has otherwise than the base design. An edit of the base design reaches every option, except where
an option has its own. An edit made while working on an option goes to the base design, and so to all options, or
stays in that option where only it is meant, where it has its own already, or where the base lacks what it hangs on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from estimator.acts.following import cannot_follow
from estimator.acts.rows import free_id
from estimator.model.datum import Datum
from estimator.model.design import Design
from estimator.model.edit import EditError, inserted, removed, with_value
from estimator.model.finding import Finding, Severity
from estimator.model.job import Job
from estimator.model.option_changes import (
    REFERENCES,
    applied,
    changes_of,
    key_name,
)
from estimator.model.option_designs import (
    LostChange,
    OwnState,
    alternative_of,
    design_of,
    option_ids,
    option_name,
    own_changes,
    place_of_option,
    worked_on,
)
from estimator.model.options import BASE, Alternative, HowChanged, OptionChange
from estimator.model.spec import FieldKind, fields_of

__all__ = [
    "edited",
    "free_name",
    "kept_own",
    "lost_changes",
    "made_base",
    "taken_from_base",
    "with_design",
    "with_edit",
    "with_option",
    "without_option",
]

Path = tuple[str | int, ...]
_ID_LISTS: Final = ("products", "bays", "drops")


# Options as a whole.


def with_option(job: Job, name: str, design: Design, *, offered: bool = False) -> tuple[Job, str]:
    """The job with one option more, at the end, and its id: the first of option-1, option-2 … that is free.

    Args:
        design: of the option; what it has otherwise than the base design becomes the option's own.

    Raises:
        EditError: the name or the design is not allowed, or there are too many.
    """
    new = free_id("option", option_ids(job))
    _check(job, design)
    option = Alternative(id=new, offered=offered, changes=changes_of(job.design, design))
    whole = inserted(job, ("alternatives",), len(job.alternatives), option)
    return with_value(whole, ("alternatives", len(job.alternatives), "name"), name), new


def free_name(job: Job, wanted: str) -> str:
    """A name that no option has: the wanted one, or with the first number from 2 that is free."""
    taken = {option_name(job, option) for option in option_ids(job)}
    number, name = 2, wanted
    while name in taken:
        name, number = f"{wanted} {number}", number + 1
    return name


def without_option(job: Job, option: str) -> Job:
    """The job without one alternative.

    Raises:
        LookupError: there is none of that id; the base design cannot be removed.
    """
    return removed(job, ("alternatives",), place_of_option(job, option))


def made_base(job: Job, option: str) -> Job:
    """The job with an alternative and the base design changed over; names go with their designs.

    No design changes by it: every other option is told anew by what it has otherwise than the new base design.

    Raises:
        LookupError: there is none of that id.
    """
    if option == BASE:
        return job
    designs = {name: design_of(job, name) for name in option_ids(job)}
    base = designs[option].model_copy(update={"name": option_name(job, option)})
    designs[option] = designs[BASE]
    names = {option: option_name(job, BASE)}
    alternatives = tuple(
        a.model_copy(
            update={
                "name": names.get(a.id, option_name(job, a.id)),
                "changes": changes_of(base, designs[a.id]),
            }
        )
        for a in job.alternatives
    )
    return _job(job, base, alternatives)


def _check(job: Job, design: Design) -> None:
    """As a design of its own, so that a problem is told at its place in it and not as a change of an option."""
    with_value(with_value(job, ("alternatives",), ()), ("design",), design)


def _job(job: Job, base: Design, alternatives: tuple[Alternative, ...], *, only_here: bool = False) -> Job:
    """The job with another base design and other alternatives, checked once, together.

    Args:
        only_here: whether the edit could be made in one option alone, where another one refuses it.
    """
    without = with_value(job, ("alternatives",), ()) if job.alternatives else job
    alone = with_value(without, ("design",), base)
    try:
        return with_value(alone, ("alternatives",), alternatives)
    except EditError as error:
        raise cannot_follow(error, base, alternatives, only_here=only_here) from None


# Ids.


def _pairs(before: Sequence[Any], after: Sequence[Any]) -> dict[str, str]:
    """Rows that stand where they stood under another id and are otherwise the same."""
    old, new = {row.id for row in before}, {row.id for row in after}
    return {
        a.id: b.id
        for a, b in zip(before, after, strict=False)
        if a.id not in new and b.id not in old and a.model_copy(update={"id": b.id}) == b
    }


def _renames(before: Design, after: Design) -> dict[str, dict[str, str]]:
    """New ids by old ones, by list."""
    found: dict[str, dict[str, str]] = {}
    for name in ("products", "bays"):
        found[name] = _pairs(getattr(before, name), getattr(after, name))
    # A drop that follows its product or bay is the same drop: looked at under the new names.
    found["drops"] = _pairs(_renamed_design(before, found).drops, after.drops)
    return {name: ids for name, ids in found.items() if ids}


def _follow(list_name: str, attribute: str, renames: Mapping[str, dict[str, str]]) -> dict[str, str]:
    for kind, references in REFERENCES.items():
        if (list_name, attribute) in references and kind in renames:
            return renames[kind]
    return {}


def _renamed_row(
    list_name: str, row: dict[str, Any], renames: Mapping[str, dict[str, str]]
) -> dict[str, Any]:
    fields = dict(row)
    for attribute, value in row.items():
        ids = _follow(list_name, attribute, renames)
        if attribute == "id":
            ids = renames.get(list_name, {})
        if isinstance(value, str) and value in ids:
            fields[attribute] = ids[value]
    return fields


def _renamed_design(design: Design, renames: Mapping[str, dict[str, str]]) -> Design:
    """A design with ids changed and everything that refers to them following."""
    if not renames:
        return design
    fields: dict[str, Any] = {}
    for spec in fields_of(Design):
        rows = getattr(design, spec.name)
        if spec.kind is FieldKind.LIST:
            rows = tuple(
                row
                if (made := _renamed_row(spec.name, dict(row), renames)) == dict(row)
                else row.model_copy(update=made)
                for row in rows
            )
        fields[spec.name] = rows
    return Design(**fields)


def _renamed_change(change: OptionChange, renames: Mapping[str, dict[str, str]]) -> OptionChange:
    place = list(change.place)
    list_name = place[0]
    spec = next((f for f in fields_of(Design) if f.name == list_name), None)
    if spec is None or spec.kind is not FieldKind.LIST or spec.model is None:
        return change
    # A plan or a plant unit is called by the product that it is for.
    key = key_name(spec.model)
    ids = renames.get(list_name, {}) if key == "id" else _follow(list_name, key, renames)
    update: dict[str, Any] = {
        "after": ids.get(change.after, change.after) if len(place) == 2 else change.after
    }
    if len(place) > 1:
        place[1] = ids.get(place[1], place[1])
        update["place"] = tuple(place)
    for name in ("value", "instead_of"):
        data = getattr(change, name).data
        if len(place) == 2 and isinstance(data, dict):
            data = _renamed_row(list_name, data, renames)
        elif len(place) == 3 and isinstance(data, str):
            follow = _follow(list_name, place[2], renames)
            data = follow.get(data, data)
        else:
            continue
        update[name] = Datum.of(data)
    return change.model_copy(update=update)


def _renamed_option(option: Alternative, renames: Mapping[str, dict[str, str]]) -> Alternative:
    changes = tuple(_renamed_change(change, renames) for change in option.changes)
    return option if changes == option.changes else option.model_copy(update={"changes": changes})


# An edit of the base design.


def _added(option: Alternative, list_name: str) -> set[str]:
    return {
        change.place[1]
        for change in option.changes
        if change.kind is HowChanged.ADD and len(change.place) == 2 and change.place[0] == list_name
    }


def _out_of_the_way(option: Alternative, before: Design, after: Design) -> Alternative:
    """The option with another id for a row of its own where the base now has a row of that id."""
    renames: dict[str, dict[str, str]] = {}
    for name in _ID_LISTS:
        old, new = ({row.id for row in getattr(d, name)} for d in (before, after))
        own = _added(option, name)
        for taken in sorted(own & (new - old)):
            stem = taken.rstrip("0123456789").rstrip("-") or name.rstrip("s")
            fresh = free_id(stem[:34], old | new | own | set(renames.get(name, {}).values()))
            renames.setdefault(name, {})[taken] = fresh
    return _renamed_option(option, renames) if renames else option


def _followed(
    before: Design, after: Design, option: Alternative, renames: Mapping[str, dict[str, str]]
) -> Alternative:
    """An option after an edit of the base design."""
    if not option.changes:
        return option
    was = {told.position for told in applied(before, option).idle}
    option = _renamed_option(_out_of_the_way(option, before, after), renames)
    # What did nothing before is a person's to clear up; what hangs on what has just gone goes with it.
    lost = {told.position for told in applied(after, option).idle} - was
    if not lost:
        return option
    kept = tuple(change for i, change in enumerate(option.changes) if i not in lost)
    return option.model_copy(update={"changes": kept})


def _with_base(job: Job, design: Design, *, only_here: bool = False) -> Job:
    if design is job.design or design == job.design:
        return job
    renames = _renames(job.design, design)
    followers = tuple(_followed(job.design, design, a, renames) for a in job.alternatives)
    return _job(job, design, followers, only_here=only_here)


def lost_changes(before: Job, after: Job) -> tuple[LostChange, ...]:
    """Changes of options that an edit of the base design took along, as what they hung on is gone.

    Args:
        before, after: the job before and after one edit.
    """
    if before.design is after.design:
        return ()
    found = []
    renames = _renames(before.design, after.design)
    for option in after.alternatives:
        if option.id not in option_ids(before):
            continue
        old = alternative_of(before, option.id)
        was = {told.position for told in applied(before.design, old).idle}
        gone = {told.position for told in applied(after.design, _renamed_option(old, renames)).idle} - was
        kept = _own_places(option)
        found += [
            LostChange(option.id, old.changes[i]) for i in sorted(gone) if old.changes[i].place not in kept
        ]
    return tuple(found)


# An edit of an option.


def _own_places(option: Alternative) -> set[tuple[str, ...]]:
    return {change.place for change in option.changes if change.kind is not HowChanged.MOVE}


def _is_own(change: OptionChange, own: set[tuple[str, ...]], moved: set[tuple[str, ...]]) -> bool:
    if change.kind is HowChanged.MOVE:
        return change.place in moved or change.place in own
    return any(change.place[: n + 1] in own for n in range(len(change.place)))


def _anchored(change: OptionChange, design: Design, known: set[str]) -> OptionChange:
    """An added or moved row after the nearest row before it that the base design has too."""
    if (
        change.kind not in (HowChanged.ADD, HowChanged.MOVE)
        or len(change.place) != 2
        or change.after in known
    ):
        return change
    rows = getattr(design, change.place[0])
    order = [getattr(row, key_name(type(row))) for row in rows]
    for key in reversed(order[: order.index(change.place[1])]):
        if key in known:
            return change.model_copy(update={"after": key})
    return change.model_copy(update={"after": ""})


def _for_all(base: Design, option: Alternative, before: Design, after: Design) -> Design:
    """The base design with that part of an option's edit that is not the option's own business."""
    own = _own_places(option)
    moved = {change.place for change in option.changes if change.kind is HowChanged.MOVE}
    chosen = [c for c in changes_of(before, after) if not _is_own(c, own, moved)]
    # What the base cannot take, as it lacks the bay or the product, is idle there and stays the option's own.
    idle = {
        told.position for told in applied(base, option.model_copy(update={"changes": tuple(chosen)})).idle
    }
    chosen = [c for i, c in enumerate(chosen) if i not in idle]
    rows: dict[str, set[str]] = {}
    for spec in fields_of(Design):
        if spec.kind is FieldKind.LIST and spec.model is not None:
            key = key_name(spec.model)
            rows[spec.name] = {getattr(row, key) for row in getattr(base, spec.name)}
    for change in chosen:
        if change.kind is HowChanged.ADD and len(change.place) == 2:
            rows[change.place[0]].add(change.place[1])
    placed = tuple(_anchored(c, after, rows.get(c.place[0], set())) for c in chosen)
    made = applied(base, option.model_copy(update={"changes": placed}))
    if made.wrong:
        raise EditError(
            tuple(
                Finding(
                    Severity.ERROR,
                    "design",
                    told.rule,
                    f"The base design cannot follow: {told.sentence} Change it there first, or make this edit only "
                    "here.",
                )
                for told in made.wrong
            )
        )
    return made.design


def _overlap(one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    short = min(len(one), len(other))
    return one[:short] == other[:short]


def _with_own(job: Job, option: str, design: Design) -> Job:
    """The job in which an option has just that design, by what it has otherwise than the base design."""
    place = place_of_option(job, option)
    alternative = job.alternatives[place]
    old = {(c.kind, c.place): own for own in own_changes(job, option) for c in (own.change,)}
    told = {(c.kind, c.place): c for c in changes_of(job.design, design)}
    changes = [
        # What the base had when the option changed it first stays known.
        c.model_copy(update={"instead_of": old[at].change.instead_of}) if at in old else c
        for at, c in told.items()
    ]
    for own in old.values():
        # A change that does nothing now is kept: it is the option's own, should the base move again.
        idle = own.state is OwnState.IDLE
        same = own.state is OwnState.SAME and own.change.kind is HowChanged.SET
        if (idle or same) and not any(_overlap(own.change.place, place) for _, place in told):
            changes.append(own.change)
    whole = with_value(
        job, ("alternatives", place), alternative.model_copy(update={"changes": tuple(changes)})
    )
    if design_of(whole, option) == design:
        return whole
    # A kept change that would come to life again is out of date.
    exact = alternative.model_copy(update={"changes": tuple(changes[: len(told)])})
    return with_value(job, ("alternatives", place), exact)


def with_design(job: Job, option: str, design: Design, *, only_here: bool = False) -> Job:
    """The job after an edit that made another design of an option's.

    The option has just that design afterwards. What it has not of its own goes to the base design as well, and so to
    all options; with `only_here` all of it stays in the option. An id that is changed is changed everywhere.

    Args:
        option: id of the option worked on; of the base design, the edit is the base's.

    Raises:
        LookupError: there is none of that id.
        EditError: the job would not hold together.
    """
    before = design_of(job, option)
    if design is before or design == before:
        return job
    if option == BASE:
        return _with_base(job, design)
    _check(job, design)
    renames = _renames(before, design)
    if renames:
        common = {
            name: {
                old: new for old, new in ids.items() if old not in _added(alternative_of(job, option), name)
            }
            for name, ids in renames.items()
        }
        job = _with_base(job, _renamed_design(job.design, common))
        place = place_of_option(job, option)
        own = _renamed_option(job.alternatives[place], renames)
        job = with_value(job, ("alternatives", place), own)
        before = design_of(job, option)
    if not only_here:
        base = _for_all(job.design, alternative_of(job, option), before, design)
        job = _with_base(job, base, only_here=True)
    return _with_own(job, option, design)


def with_edit(job: Job, option: str, seen: Job, *, only_here: bool = False) -> Job:
    """The whole job after an edit of what is seen while working on an option.

    Args:
        seen: `worked_on(job, option)`, or for the base design the job itself, with the edit made. All but the design
            is common to all options.

    Raises:
        LookupError: there is none of that id.
        EditError: the job would not hold together.
    """
    common = {
        name: getattr(seen, name)
        for name in type(job).model_fields
        if option == BASE or name not in ("alternatives", *job.sealed)
    }
    common["design"] = job.design
    if option != BASE:
        common |= {name: getattr(job, name) for name in ("alternatives", *job.sealed)}
    return with_design(Job(**common), option, seen.design, only_here=only_here)


def edited(job: Job, option: str, path: Path, value: Any, *, only_here: bool = False) -> Job:
    """The job with one value set while working on an option.

    Args:
        path: in the job as it is seen then: ("design", "drops", 2, "gun") is of the option's third drop.

    Raises:
        LookupError: there is no such option, or nothing stands at the path.
        EditError: the value is not allowed.
    """
    seen = job if option == BASE else worked_on(job, option)
    return with_edit(job, option, with_value(seen, path, value), only_here=only_here)


# What an option has of its own.


def _place_of(job: Job, option: str, change: OptionChange) -> tuple[int, int]:
    place = place_of_option(job, option)
    for i, own in enumerate(job.alternatives[place].changes):
        if (own.kind, own.place) == (change.kind, change.place):
            return place, i
    raise LookupError(f"Option “{option_name(job, option)}” does not change {change.key}.")


def taken_from_base(job: Job, option: str, change: OptionChange) -> Job:
    """The job in which an option has at one place again what the base design has.

    What the option has of its own and cannot stand without it goes too.

    Args:
        change: the one of `own_changes` that is given up.

    Raises:
        LookupError: there is no such option, or it does not change that.
        EditError: the option would not hold together.
    """
    place, at = _place_of(job, option, change)
    alternative = job.alternatives[place]
    was = applied(job.design, alternative).idle
    fewer = alternative.model_copy(update={"changes": _without(alternative.changes, {at})})
    idle = {fewer.changes[told.position] for told in applied(job.design, fewer).idle}
    idle -= {alternative.changes[told.position] for told in was}
    lost = {i for i, own in enumerate(fewer.changes) if own in idle}
    return with_value(
        job, ("alternatives", place, "changes"), _without(fewer.changes, lost) if lost else fewer.changes
    )


def _without(changes: tuple[OptionChange, ...], positions: set[int]) -> tuple[OptionChange, ...]:
    return tuple(change for i, change in enumerate(changes) if i not in positions)


def kept_own(job: Job, option: str, change: OptionChange) -> Job:
    """The job in which an option's own stands against the base design as it is now: looked at, and kept.

    Raises:
        LookupError: there is no such option, or it does not change that.
    """
    place, at = _place_of(job, option, change)
    own = own_changes(job, option)[at]
    return with_value(job, ("alternatives", place, "changes", at, "instead_of"), Datum.of(own.base))
