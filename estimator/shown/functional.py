"""What an option does otherwise than the base design, for the one who signs: products, dilutions, drops, parts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from estimator.model.choices import NozzleType, Provided
from estimator.model.design import AIR, Design, Drop
from estimator.model.finding import some
from estimator.shown.figures import Figures
from estimator.shown.names import Names, quoted
from estimator.shown.scope import classes_text, dilution_text

__all__ = ["functional_words"]

_MOST: Final = 4


def functional_words(base: Design, option: Design, figures: Figures) -> tuple[str, ...]:
    """What works otherwise, a sentence each, what is on tap first; empty where none of it is otherwise.

    Args:
        base: the base design.
        option: the design of the option.
        figures: how numbers are written.
    """
    return tuple(_Compared(base, option, figures).sentences())


class _Compared:
    def __init__(self, base: Design, option: Design, figures: Figures) -> None:
        self._base, self._option, self._figures = base, option, figures
        self._was, self._now = Names(base), Names(option)

    def sentences(self) -> Iterator[str]:
        yield from self._products()
        yield from self._drops()
        yield from self._parts()
        yield from self._plant()
        yield from self._common()

    def _products(self) -> Iterator[str]:
        old = {p.id: p for p in self._base.products}
        new = {p.id: p for p in self._option.products}
        for key, product in new.items():
            name = quoted(self._now.product(key))
            if key not in old:
                yield f"{name} is on tap too, {dilution_text(product.dilution, self._figures)}."
                continue
            was = old[key]
            if (before := quoted(self._was.product(key))) != name:
                yield f"{name} takes the place of {before}."
            if was.dilution != product.dilution:
                made, before = (dilution_text(p.dilution, self._figures) for p in (product, was))
                yield f"{name} comes out {made} instead of {before}."
            if was.sheet.classes != product.sheet.classes:
                yield f"{name} is another product: {classes_text(product)} instead of {classes_text(was)}."
        gone = [quoted(self._was.product(key)) for key in old if key not in new]
        if gone:
            yield f"Not on tap: {some(gone, _MOST)}."

    def _drops(self) -> Iterator[str]:
        counts = [Counter(d.service for d in design.drops) for design in (self._base, self._option)]
        shared = {p.id for p in self._base.products} & {p.id for p in self._option.products} | {AIR}
        for service in dict.fromkeys((*counts[1], *counts[0])):
            before, after = (count[service] for count in counts)
            if before != after and service in shared:
                drops = self._figures.count(after, "hose drop", start=True) if after else "No hose drop"
                yield f"{drops} for {quoted(self._now.line(service))} instead of {before or 'none'}."
        bays = [{d.bay for d in design.drops} for design in (self._base, self._option)]
        if more := [quoted(self._now.bay(b)) for b in sorted(bays[1] - bays[0])]:
            yield f"It serves {some(more, _MOST)} too."
        if fewer := [quoted(self._was.bay(b)) for b in sorted(bays[0] - bays[1])]:
            yield f"It does not serve {some(fewer, _MOST)}."

    def _parts(self) -> Iterator[str]:
        """Guns, nozzles and hoses of the drops that both have: each exchange once, with how many drops it is at."""
        old = {d.id: d for d in self._base.drops}
        changed: Counter[tuple[str, str, str]] = Counter()
        for drop in self._option.drops:
            if (was := old.get(drop.id)) is not None:
                for what, before, after in zip(
                    ("gun", "nozzle", "hose"),
                    self._fitted(was, self._was),
                    self._fitted(drop, self._now),
                    strict=True,
                ):
                    if before != after:
                        changed[what, before, after] += 1
        for (_, before, after), number in changed.items():
            yield f"{after} instead of {before}, at {self._figures.count(number, 'hose drop')}."

    def _fitted(self, drop: Drop, names: Names) -> tuple[str, str, str]:
        gun = names.part("guns", drop.gun)
        nozzle = f"{drop.nozzle.label}, size {names.part('nozzle_sizes', drop.nozzle_size)}"
        if drop.nozzle is not NozzleType.NONE:
            nozzle += f", {names.part('nozzle_makes', drop.nozzle_make)}"
        length = self._figures.length(drop.hose_length.si)
        hose = f"{names.part('hoses', drop.hose_bore)}, {drop.hose.label.lower()}, {length}"
        return gun, nozzle, hose

    def _plant(self) -> Iterator[str]:
        old = {u.product: u for u in self._base.plant}
        for unit in self._option.plant:
            was = old.get(unit.product)
            if was is None:
                continue
            name = quoted(self._now.product(unit.product))
            for table, before, after in (
                ("proportioners", was.proportioner, unit.proportioner),
                ("tanks", was.tank, unit.tank),
                ("pumps", was.pump, unit.pump),
            ):
                if before != after:
                    yield f"{self._now.part(table, after)} instead of {self._was.part(table, before)} for {name}."
            if was.regulator.si != unit.regulator.si:
                now, before = (self._figures.typed(each.regulator) for each in (unit, was))
                yield f"Pump of {name} set to {now} instead of {before}."
            if was.tank_cover != unit.tank_cover:
                yield f"Day tank of {name} {'with' if unit.tank_cover else 'without'} a cover."

    def _common(self) -> Iterator[str]:
        was, now = self._base.common, self._option.common
        for part, table, old, new in (
            ("Backflow protection", "backflow", was.backflow, now.backflow),
            ("Booster pump", "boosters", was.booster, now.booster),
            ("Pressure-reducing valve", "reducers", was.reducer, now.reducer),
        ):
            if old != new:
                yield f"{part}: {self._now.part(table, new)} instead of {self._was.part(table, old)}."
        if now.reducer == was.reducer and now.reducer_setting.si != was.reducer_setting.si:
            set_to, before_it = (self._figures.typed(each.reducer_setting) for each in (now, was))
            yield f"Pressure-reducing valve set to {set_to} instead of {before_it}."
        for had, has, what in (
            (*(each.water_lockout is Provided.QUOTED for each in (was, now)), "a lockable water valve"),
            (*(each.air_lockout is Provided.QUOTED for each in (was, now)), "a lockable air valve"),
            (was.eyewash, now.eyewash, "an eyewash"),
            (was.wash.shower, now.wash.shower, "a drench shower"),
            (was.containment, now.containment, "a containment tray"),
        ):
            if had != has:
                yield f"With {what}." if has else f"Without {what}."
