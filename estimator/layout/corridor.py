"""The shared corridor at run height: a tree of straight runs that grows and never moves what it has."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from estimator.layout.spots import Spot, Stretch

__all__ = ["Corridor"]


class Corridor:
    """A tree of spots joined by straight runs, rooted above the board.

    Growing only adds spots and runs (a run may be cut in two where a new one joins it), so the way to a spot
    that is reached already stays the same, whatever comes later.
    """

    def __init__(self, root: Spot) -> None:
        self.root = root
        self._beside: dict[Spot, set[Spot]] = {root: set()}
        self._anchors: list[Spot] = [root]

    def stretches(self) -> list[Stretch]:
        """Every run once, the smaller spot first, in order of place."""
        return sorted((a, b) for a, around in self._beside.items() for b in around if a < b)

    def reach(self, spots: Sequence[Spot]) -> None:
        """Grow to spots by as little added run as can be found."""
        if not spots:
            return
        from estimator.layout.steiner import grow  # loaded, numpy with it, when there is somewhere to go

        tree = self.stretches()
        added = grow(tree, self.root, spots, self._anchors)
        for a, b in added:
            self._touch(a, tree)
            self._touch(b, tree)
        for a, b in added:
            self._join(a, b)
        for spot in spots:
            self._touch(spot, tree)
        self._anchors.extend({*spots, *(s for run in added for s in run)} - set(self._anchors))

    def rail(self, middle: Spot, ends: Iterable[Spot]) -> None:
        """Grow along a straight rail from its middle, which the tree reaches, to places on it.

        Where the tree runs along or across the rail already, it is used.
        """
        places = list(ends)
        if not places:
            return
        axis = 0 if any(p[0] != middle[0] for p in places) else 1
        level = middle[1 - axis]
        low = min(middle[axis], *(p[axis] for p in places))
        high = max(middle[axis], *(p[axis] for p in places))
        # Parts of the rail that the tree touches, as places along it.
        near = [
            (a, b)
            for a, around in self._beside.items()
            if a[1 - axis] <= level and a[axis] <= high
            for b in around
            if a < b and b[1 - axis] >= level and b[axis] >= low
        ]
        touched = [(a[axis], b[axis]) for a, b in near]
        for place in sorted(places, key=lambda p: (abs(p[axis] - middle[axis]), p)):
            t = place[axis]
            if place in self._beside:
                continue
            if not any(a <= t <= b for a, b in touched):
                start = middle[axis]
                for low_end, high_end in touched:
                    if start < high_end < t:
                        start = high_end
                    elif t < low_end < start:
                        start = low_end
                foot = (start, level) if axis == 0 else (level, start)
                self._touch(foot, near)
                self._join(foot, place)
                touched.append((min(start, t), max(start, t)))
            else:
                self._touch(place, near)

    def upstream(self) -> dict[Spot, Spot]:
        """Each spot's neighbour on the way to the root, nearest spots first; the root has none."""
        towards: dict[Spot, Spot] = {}
        order = [self.root]
        for spot in order:
            for other in sorted(self._beside[spot]):
                if other != towards.get(spot):
                    towards[other] = spot
                    order.append(other)
        return towards

    def _join(self, a: Spot, b: Spot) -> None:
        self._beside.setdefault(a, set()).add(b)
        self._beside.setdefault(b, set()).add(a)

    def _touch(self, spot: Spot, runs: Sequence[Stretch]) -> None:
        """Make `spot` an end of runs if it lies inside one of them."""
        if spot in self._beside:
            return
        for a, b in runs:
            if a[0] <= spot[0] <= b[0] and a[1] <= spot[1] <= b[1]:
                if b not in self._beside[a]:
                    # Cut before in this step: its parts are not in `runs`.
                    self._touch(spot, self.stretches())
                    return
                self._beside[a].discard(b)
                self._beside[b].discard(a)
                self._join(a, spot)
                self._join(spot, b)
                return
