"""What a product comes out at, in words: beside what is wanted, and how it stands to that; by table and by sentence."""

from __future__ import annotations

from typing import Final

from estimator.model.design import Product
from estimator.shown.figures import Figures
from estimator.shown.proof_tables import NOT_KNOWN, Cell, ProofColumn, ProofWords, Row, Table
from estimator.shown.standing import Standing
from estimator.sizing import rules
from estimator.sizing.types import BoardProof, Mixture, SharedWater
from estimator.study import Study
from estimator.units import Dimension

__all__ = ["board_table", "mixture_lines", "ratio", "stands", "wanted_words"]

_WHOLE_FROM: Final = 20.0
"""From so many parts of water on decimals would tell more than anybody can measure."""


def ratio(parts: float, figures: Figures) -> str:
    """Parts of water to one of concentrate, as a reader can measure them.

    >>> from estimator.units import UnitSystem
    >>> [ratio(parts, Figures("de_DE", "EUR", UnitSystem.METRIC)) for parts in (8.43, 63.7)]
    ['8,4:1', '64:1']
    """
    return f"{figures.number(parts, 0 if parts >= _WHOLE_FROM else 1)}:1"


def wanted_words(product: Product, figures: Figures) -> str:
    """What the person wants, with what the label allows where both ends are stated."""
    wanted = ratio(product.dilution, figures)
    low, high = product.label_strongest, product.label_weakest
    if low is None or high is None:
        return wanted
    return f"{wanted} (label {ratio(low, figures)} to {ratio(high, figures)})"


def stands(given: float | None, product: Product) -> tuple[Standing, str]:
    """How a mixture stands to what its product allows; None where it is not known."""
    if given is None:
        return Standing.UNKNOWN, "not known"
    if not rules.misses(product, given):
        return Standing.GOOD, "inside its range"
    return Standing.SHORT, "leaner than its range" if given > product.dilution else "richer than its range"


def _products(study: Study) -> dict[str, Product]:
    return {product.id: product for product in study.job.design.products}


def _cases(board: BoardProof, shared: SharedWater) -> tuple[tuple[str, Mixture], ...]:
    """The moments that count, each in words; one that is another's double is left out."""
    cases = [("alone", shared.alone)]
    if board.at_once > 1:
        cases.append((f"with {board.at_once} filling", shared.busy))
    if len(board.products) > max(1, board.at_once):
        cases.append(("with all filling", shared.first))
    return tuple(cases)


def board_table(study: Study) -> Table:
    """What each product comes out at, and at which pressure: its tank alone, the busy hour, all tanks at once."""
    of, board = ProofWords(study), study.proof.board
    pressure = of.unit(Dimension.PRESSURE)
    columns = [
        ProofColumn("product", "Product", "The product.", figures=False),
        ProofColumn("wanted", "Wanted (label)", "Parts of water to one of concentrate.", figures=False),
        ProofColumn("alone", f"Alone, at {pressure}", "While its tank fills alone."),
        ProofColumn(
            "busy",
            f"Busy hour, at {pressure}",
            "With those beside it that may fill at once in the busy hour.",
        ),
        ProofColumn("first", f"All, at {pressure}", "With all tanks filling at once, as on the first day."),
        ProofColumn("verdict", "Verdict", "How the mixture stands to what the label allows.", figures=False),
    ]
    products = _products(study)
    rows = () if board is None else tuple(_row(board, s, products[s.product], of) for s in board.products)
    table = Table(tuple(columns), rows)
    if board is None or board.at_once > 1:
        return table
    # Where one tank at most fills in the busy hour, that hour is the tank alone.
    return table.only(*(column.key for column in columns if column.key != "busy"))


def _mixture(case: Mixture, of: ProofWords) -> Cell:
    if case.dilution is None:
        return Cell(NOT_KNOWN, float("-inf"))
    parts = ratio(case.dilution, of.figures)
    at = "" if case.inlet_pa is None else f", {of.cell(case.inlet_pa, Dimension.PRESSURE).text}"
    return Cell(f"{parts}{at}", case.dilution)


def _row(board: BoardProof, shared: SharedWater, product: Product, of: ProofWords) -> Row:
    name = of.names.product(product.id)
    wanted = wanted_words(product, of.figures)
    standing, verdict = Standing.GOOD, "inside its range"
    for words, case in _cases(board, shared):
        standing, verdict = stands(case.dilution, product)
        if standing is not Standing.GOOD:
            verdict = f"{verdict} {words}"
            break
    cells = (
        Cell(name, name),
        Cell(wanted, product.dilution),
        _mixture(shared.alone, of),
        _mixture(shared.busy, of),
        _mixture(shared.first, of),
        Cell(f"{standing.sign} {verdict}", verdict, standing),
    )
    return Row(product.id, "design.plant", cells, f"{name}: {verdict}.", ())


def mixture_lines(study: Study) -> tuple[str, ...]:
    """For the customer, a line a product: what comes out, and whether that holds while other tanks fill too."""
    board = study.proof.board
    if board is None:
        return ()
    of, products = ProofWords(study), _products(study)
    return tuple(_line(board, s, products[s.product], of) for s in board.products)


def _line(board: BoardProof, shared: SharedWater, product: Product, of: ProofWords) -> str:
    name, figures = of.names.product(product.id), of.figures
    cases = _cases(board, shared)
    known = [(words, case.dilution, stands(case.dilution, product)) for words, case in cases]
    first = known[0][1]
    if first is None:
        return f"{name}: wanted {wanted_words(product, figures)}; what comes out is not known yet."
    text = f"{name}: about {ratio(first, figures)}, wanted {wanted_words(product, figures)}"
    wrong = next(((w, d, s[1]) for w, d, s in known if s[0] is not Standing.GOOD), None)
    if wrong is not None:
        words, dilution, verdict = wrong
        figure = (
            "what comes out is not known"
            if dilution is None
            else f"about {ratio(dilution, figures)}, {verdict}"
        )
        return f"{text}; {words} {figure}."
    if len(known) == 1:
        return f"{text}."
    words, dilution, _ = known[-1]
    return f"{text}; {words} about {ratio(dilution or 0.0, figures)}, still inside its range."
