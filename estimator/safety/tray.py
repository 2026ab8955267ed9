"""The tray below the concentrates, and what it must hold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from estimator.model.design import Product
from estimator.model.finding import Amount, Finding, Severity, facts
from estimator.safety.scene import LOCAL, Scene
from estimator.units import Dimension

__all__ = ["containment", "tray_volume"]


def tray_volume(products: Iterable[Product]) -> tuple[float, float, float]:
    """What a tray below all concentrates must hold, the largest container, and all of them, m3.

    V = max(largest, all / 10): 40 CFR 264.175(b)(3), which is for hazardous waste and a reference only here.

    >>> from estimator.units import parse
    >>> drums = Product(id="a", container=parse("208 L", Dimension.VOLUME), containers=4)
    >>> [round(v * 1000) for v in tray_volume([drums])]
    [208, 208, 832]
    """
    kept = [(p.container.si, p.containers) for p in products]
    largest = max((volume for volume, _ in kept), default=0.0)
    every = sum(volume * count for volume, count in kept)
    return max(largest, every / 10.0), largest, every


def containment(scene: Scene) -> Iterator[Finding]:
    """A tray below the concentrates, and what it must hold."""
    common = scene.design.common
    if not scene.design.products:
        return
    holds, largest, every = (Amount(v, Dimension.VOLUME, 0) for v in tray_volume(scene.design.products))
    source = "common practice; 40 CFR 264.175(b)(3) as a reference only (it is for hazardous waste)"
    known = facts(holds=holds, largest=largest, every=every)
    size = "the largest container ({largest}), or a tenth of all of them ({every}) if that is more: {holds}"
    if not common.containment and not common.existing:
        yield Finding(
            Severity.WARNING,
            "design.common.containment",
            "containment-missing",
            f"Containment tray: none is chosen. A tray that holds {size}, keeps a leak off the floor and out of the "
            "drain.",
            source,
            LOCAL,
            known,
        )
        return
    stated = common.tray_volume
    if stated is not None:
        if stated.si < holds.si * (1 - 1e-9):
            yield Finding(
                Severity.WARNING,
                "design.common.tray_volume",
                "containment-small",
                f"Tray holds: {{stated}} is too little. It must hold {size}.",
                source,
                LOCAL,
                (*known, *facts(stated=Amount.of(stated))),
            )
        return
    yield Finding(
        Severity.NOTE,
        "design.common.tray_volume",
        "containment-size",
        f"Containment tray: make sure that it holds {size}."
        + (" The one that stays was made for what stood there before." if common.existing else ""),
        source,
        LOCAL,
        known,
    )
