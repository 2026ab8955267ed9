"""What somebody signed for: a finding that must never go out, taken on with a name, a reason and a day.

It is kept by what was found: the rule, the objects and all that was told of them. Where any of that is another by now,
the signature is of something else, and the finding is asked about again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any, Final

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from estimator.model.called import bay_names, service_names
from estimator.model.design import Design
from estimator.model.finding import Amount, Fact, Facts, Finding, IdKind, Listed, Phrase, Ref, plain, refs_of
from estimator.model.seals import canonical_text, fingerprint
from estimator.model.spec import Frozen, LongText, ShortText, spec

__all__ = ["MOST_SIGNED", "Naming", "SignOff", "Signable", "short_seal", "signable"]

MOST_SIGNED: Final = 2000
_MOST_OBJECTS: Final = 2000


def _who(name: str) -> str:
    if not name.strip():
        raise PydanticCustomError("blank", "A signature needs the name of the one who signs.")
    return name


def _why(reason: str) -> str:
    if not reason.strip():
        raise PydanticCustomError("blank", "A signature needs a reason: why this may go out as it is.")
    return reason


class SignOff(Frozen):
    """That somebody takes on what must otherwise never go out."""

    rule: ShortText = spec("Rule", "Name of the rule that found it.")
    objects: Annotated[tuple[LongText, ...], Field(max_length=_MOST_OBJECTS)] = spec(
        "Objects", "What it is about, by the names of that day."
    )
    seal: Annotated[str, Field(max_length=64, pattern=r"^([0-9a-f]{64})?$")] = spec(
        "Seal", "SHA-256 of all that was found; another one is another finding."
    )
    name: Annotated[ShortText, AfterValidator(_who)] = spec("Name", "Who signs.")
    reason: Annotated[LongText, AfterValidator(_why)] = spec("Reason", "Why it may go out as it is.")
    dated: date = spec("Signed on", "Day of the signature.")


def short_seal(seal: str) -> str:
    """What a person names a finding or a signature by: the first digits of its seal."""
    return seal[:12]


@dataclass(frozen=True, slots=True)
class Signable:
    """What a signature is about; see `SignOff`."""

    rule: str
    objects: tuple[str, ...]
    seal: str

    @property
    def short(self) -> str:
        """What a person names it by on the command line."""
        return short_seal(self.seal)


def signable(finding: Finding, names: Naming) -> Signable:
    """What a signature for a finding is about.

    Amounts count as they are told, in metric units, so that neither a change of units nor one that nobody can read
    asks again. A product counts with its name: another name may be another product.

    Args:
        finding: what was found.
        names: of the design that it was found in.
    """
    refs = tuple(refs_of(finding.facts))
    objects = tuple(dict.fromkeys(name for ref in refs if (name := names.of(ref))))
    text = canonical_text(
        {"rule": finding.rule, "facts": _told(finding.facts), "names": [names.of(ref) for ref in refs]}
    )
    return Signable(finding.rule, objects, fingerprint(text))


class Naming:
    """What the objects of a design are called, made once for all its findings."""

    def __init__(self, design: Design) -> None:
        self._services, self._bays = service_names(design), bay_names(design)
        self._drops = {d.id: d for d in design.drops}

    def of(self, ref: Ref) -> str:
        """The name of an object, "" for a part of the catalogue."""
        if ref.kind in (IdKind.PRODUCT, IdKind.LINE):
            return self._services.get(ref.id, ref.id)
        if ref.kind is IdKind.SEGMENT:
            return self._services.get(ref.of, ref.of)
        if ref.kind in (IdKind.BAY, IdKind.STATION):
            return f"{self._bays.get(ref.id, ref.id)} {ref.of}".strip()
        drop = self._drops.get(ref.id) if ref.kind is IdKind.DROP else None
        if drop is None:
            return ""
        bay = self._bays.get(drop.bay, drop.bay)
        return f"{bay} {drop.side.value}, {self._services.get(drop.service, drop.service)}"


def _told(known: Facts) -> list[list[Any]]:
    return [[name, _one(fact)] for name, fact in known]


def _one(fact: Fact) -> Any:
    """A fact as data that is equal where a person reads the same."""
    if isinstance(fact, Amount):
        return plain(replace(fact, typed=""))
    if isinstance(fact, Ref):
        return [fact.kind.value, fact.id, fact.of]
    if isinstance(fact, Listed):
        return [item if isinstance(item, str) else _one(item) for item in fact.items]
    if isinstance(fact, Phrase):
        return _told(fact.facts)
    return plain(fact)
