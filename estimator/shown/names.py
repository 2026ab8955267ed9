"""What a person calls the objects of a job. An id is for the file; where there is no name, kind and position tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from estimator.layout.types import Layout, Segment
from estimator.model.called import (
    bay_names,
    distinct,
    drop_names,
    numbered,
    on_one_line,
    service_names,
)
from estimator.model.design import BOARD_WATER, Design
from estimator.model.finding import IdKind, Ref
from estimator.model.options import BASE
from estimator.reference.catalogue import TABLES, Catalogue, catalogue
from estimator.reference.own_parts import with_makers

__all__ = ["Names", "quoted"]


def quoted(name: str) -> str:
    """A name inside a sentence."""
    return f"“{name}”"


class Names:
    """Names of the objects of one design, and of the parts it is made of.

    Args:
        design: the design.
        layout: where its tubes run, for the names of segments; without it a segment is told by its line.
        parts: the catalogue that its keys are of; the shipped one with the design's makers' data if left out.
        options: names of the job's options by id.
    """

    def __init__(
        self,
        design: Design,
        layout: Layout | None = None,
        parts: Catalogue | None = None,
        options: Mapping[str, str] | None = None,
    ) -> None:
        self._design = design
        self._layout = layout
        self._by_id = {drop.id: i for i, drop in enumerate(design.drops)}
        self._services = service_names(design)
        self._bays = bay_names(design)
        self._options = distinct((options or {}).items(), "option") | {BASE: "the base design"}
        self._drops = drop_names(design)
        self._places = {
            d.id: self._drops[d.id].replace(f", {self.line(d.service)}", "") for d in design.drops
        }
        known = parts or with_makers(design.makers, catalogue())[0]
        self._parts = {table: dict(known.choices(table)) for table in TABLES}
        self._segments: dict[str, dict[str, str]] = {}

    def product(self, product: str) -> str:
        """A liquid."""
        return self._services.get(product, "a product that is not there")

    def line(self, service: str) -> str:
        """A product, compressed air, or the water that all products share."""
        return "Water of the board" if service == BOARD_WATER else self.product(service)

    def bay(self, bay: str) -> str:
        """A bay."""
        return self._bays.get(bay, "a bay that is not there")

    def station(self, bay: str, side: str) -> str:
        """A side of a bay ("Bay 1 left")."""
        return f"{self.bay(bay)} {side}"

    def drop(self, drop: str) -> str:
        """A drop, by where it hangs and what it gives ("Bay 1 left, Foam pre-wash")."""
        return self._drops.get(drop, "a drop that is not there")

    def service_of(self, drop: str) -> str:
        """Id of what a drop gives, "" where there is no such drop."""
        found = self._by_id.get(drop)
        return self._design.drops[found].service if found is not None else ""

    def place(self, drop: str) -> str:
        """Where a drop hangs, told apart from those that give the same there ("Bay 1 left")."""
        return self._places.get(drop, "a drop that is not there")

    def option(self, option: str) -> str:
        """An option, or the base design."""
        return self._options.get(option, "an option that is not there")

    def part(self, table: str, key: str) -> str:
        """A part of the catalogue or of makers' data; a key that neither knows is told as it was given."""
        return on_one_line(self._parts[table].get(key, "")) or key

    def segment(self, line: str, segment: str) -> str:
        """A piece of tube by its ends ("the tube from the board to “Bay 2 left, Wax”")."""
        known = self._segments.get(line)
        if known is None:
            laid = self._layout.line(line) if self._layout else None
            known = self._segments[line] = self._ends(laid.segments if laid else ())
        return known.get(segment, f"a tube of {quoted(self.line(line))}")

    def _ends(self, segments: Iterable[Segment]) -> dict[str, str]:
        ordered = tuple(segments)
        ends = {s.id: self._end(s) for s in ordered}
        return numbered(
            (s.id, f"the tube from {ends.get(s.upstream, 'the board')} to {ends[s.id]}") for s in ordered
        )

    def _end(self, segment: Segment) -> str:
        if segment.ends_at_drop:
            return quoted(self.drop(segment.ends_at_drop))
        behind = sorted(self._by_id[drop] for drop in segment.drops if drop in self._by_id)
        drops = (self._design.drops[i] for i in behind)
        sides = dict.fromkeys((self.station(d.bay, d.side.value), self.bay(d.bay)) for d in drops)
        bays = list(dict.fromkeys(bay for _, bay in sides))
        at = next(iter(sides))[0] if len(sides) == 1 else bays[0] if bays else ""
        more = f" and {len(bays) - 1} more" if len(bays) > 1 else ""
        return f"the branch for {len(segment.drops)} drops at {quoted(at)}{more}"

    def object(self, key: str) -> str:
        """What a takeoff row came from, in a sentence."""
        if key in self._drops:
            return quoted(self._drops[key])
        if key.startswith("terms."):
            return "the terms of the job"
        if "/" in key:
            return self.segment(*key.split("/", 1))
        bay, _, side = key.rpartition("-")
        if bay in self._bays:
            return quoted(self.station(bay, side))
        return "the board" if key == "board" else quoted(self.line(key))

    def ref(self, ref: Ref) -> str:
        """An object in a sentence, its name quoted."""
        if ref.kind is IdKind.SEGMENT:
            return self.segment(ref.of, ref.id)
        if ref.kind is IdKind.STATION:
            return quoted(self.station(ref.id, ref.of))
        if ref.kind is IdKind.OPTION:
            return quoted(self.option(ref.id)) if ref.id != BASE else self.option(ref.id)
        if ref.kind is IdKind.OBJECT:
            return self.object(ref.id)
        simple = {
            IdKind.PRODUCT: self.product,
            IdKind.LINE: self.line,
            IdKind.BAY: self.bay,
            IdKind.DROP: self.drop,
        }
        if ref.kind in simple:
            return quoted(simple[ref.kind](ref.id))
        return quoted(self.part(ref.kind.value, ref.id))
