"""Whether people at work are told what they work with: the written programme of the shop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from estimator.model.choices import Answer
from estimator.model.design import Product
from estimator.model.finding import Finding, IdKind, Listed, Ref, Severity, facts
from estimator.safety.scene import Scene

__all__ = ["hazardous", "programme"]

_SOURCE: Final = "29 CFR 1910.1200(e) (from memory)"


def hazardous(products: tuple[Product, ...]) -> tuple[Product, ...]:
    """Products with a hazard on their safety data sheet, and those whose sheet nobody took over."""
    return tuple(
        p for p in products if not p.sheet.is_read or bool(p.sheet.statements) or bool(p.sheet.pictograms)
    )


def programme(scene: Scene) -> Iterator[Finding]:
    """A shop with hazardous products and no written programme, or nobody stated one."""
    found = hazardous(scene.design.products)
    stated = scene.site.programme
    if not found or stated is Answer.YES:
        return
    named = Listed(tuple(Ref(IdKind.PRODUCT, p.id) for p in found), len(found))
    if stated is Answer.NO:
        yield Finding(
            Severity.WARNING,
            "site.programme",
            "programme-missing",
            "Written programme: the shop has none, as stated, and gets {products}. Before work starts the employer "
            "writes down how labels, safety data sheets and training are kept, with a list of the hazardous products.",
            _SOURCE,
            "the employer",
            facts(products=named),
        )
    else:
        yield Finding(
            Severity.NOTE,
            "site.programme",
            "programme-open",
            "Written programme: it is not stated whether the shop has in writing how labels, safety data sheets and "
            "training are kept; with {products} it needs that.",
            _SOURCE,
            "the employer",
            facts(products=named),
        )
