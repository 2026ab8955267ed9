"""Range and risk at the desk: the figures are those of the model made from nothing, after every edit."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel

from estimator.desk.tables import TableLine
from estimator.money import money_text
from estimator.pricing.firmness import firmness
from estimator.pricing.policy import what_it_buys
from estimator.pricing.risk import RiskModel, RiskResult, items_of
from estimator.pricing.spread import firm_up
from tests.desk.hands import Hands

RISK_TAB = 4


def fresh(desk: Hands) -> RiskModel:
    """The model of the job in view, made from nothing."""
    study = desk.window.session.study
    return RiskModel(items_of(study.price, study.prices.entries), study.price.currency)


def shown(desk: Hands, result: RiskResult) -> None:
    """What the view shows is this."""
    risk = desk.window.risk
    for key in ("floor", "p10", "p50", "p90", "ceiling"):
        amount: Decimal = getattr(result, key)
        assert risk.figures[key].text() == money_text(amount, result.currency, desk.job.terms.locale)


def test_figures_follow_every_edit(desk: Hands) -> None:
    """A model kept up edit by edit shows what one made from nothing gives: to the last bit."""
    desk.quick()
    window = desk.window
    window.tabs.setCurrentIndex(RISK_TAB)
    shown(desk, fresh(desk).result)
    before = window.risk.figures["p90"].text()
    kept = window.risk.model
    rows = desk.rows("book")
    code = window.risk.spread[0].item.key.rpartition("/")[2]
    at = [e.code for e in window.session.book.entries].index(code)
    rows.select([at])
    high = window.session.book.entries[at].high
    desk.put(desk.editor_here("high"), f"{high * 3:f}")
    assert window.session.book.entries[at].high == high * 3
    assert window.risk.figures["p90"].text() != before
    assert window.risk.model is not kept
    shown(desk, fresh(desk).result)
    window.session.undo()
    assert window.risk.figures["p90"].text() == before


def test_chart_and_sentence(desk: Hands) -> None:
    """Bars are ranked by share, each is read out with its figures, Enter leads to its price."""
    desk.quick()
    window = desk.window
    window.tabs.setCurrentIndex(RISK_TAB)
    risk, chart = window.risk, window.risk.chart
    shares = [bar.share for bar in chart.bars]
    assert shares == sorted(shares, reverse=True)
    assert 0 < sum(shares) <= 1 + 1e-9
    wanted = firm_up(fresh(desk), 3)
    assert risk.firm is not None
    assert risk.firm.falls_percent == pytest.approx(wanted.falls_percent)
    assert f"falls by {wanted.falls_percent:.0f} %" in risk.sentence.text()
    for i, bar in enumerate(chart.bars):
        said = chart.item(i).data(Qt.ItemDataRole.AccessibleTextRole)
        assert bar.name in said
        assert bar.share_text in said
    chart.setFocus()
    chart.setCurrentRow(1)
    desk.key(chart, Qt.Key.Key_Return)
    assert window.page.key == "book"
    rows = window.rows_in_view()
    assert rows is not None
    assert window.session.book.entries[rows.selection[0]].code == chart.bars[1].key


def test_confidence_and_margin_are_those_of_the_policy(desk: Hands) -> None:
    """A typed price shows what it buys; the least margin of the terms is the one that is asked for."""
    desk.quick()
    window = desk.window
    window.tabs.setCurrentIndex(RISK_TAB)
    desk.put(desk.editor("terms", "price_basis"), "typed")
    desk.put(desk.editor("terms", "typed_price"), "9000")
    desk.put(desk.editor("terms", "least_margin_percent"), "33")
    session = window.session
    bought = what_it_buys(session.study.price, session.job.terms, fresh(desk).result, session.today())
    assert window.risk.covers.text().startswith(bought.words)
    assert "33 %" in window.risk.covers.text()
    assert window.risk.basis.text() == session.study.price.basis.words


def test_the_width_of_the_cost_is_labelled(desk: Hands) -> None:
    """The words under the figures speak of the range from the hard floor to the hard ceiling."""
    desk.quick()
    desk.window.tabs.setCurrentIndex(RISK_TAB)
    result = fresh(desk).result
    found = firmness(result.floor, result.likely, result.ceiling)
    assert found is not None
    assert desk.window.risk.how_firm.text() == f"Cost: {found.words}"


def test_sums_of_the_price_hold_every_tax_and_the_rounding(desk: Hands) -> None:
    """Rounding and payments are rows of their own; a typed price names no percentage that it does not follow."""
    desk.quick()
    window = desk.window
    desk.put(desk.editor("terms", "round_to"), "100")
    price = window.session.study.price
    window.show_view("takeoff")
    table = window.prices.table

    def sums() -> Sequence[TableLine]:
        return next(line.children for line in table.lines if line.cells[0] == "Sums")

    amounts = {line.cells[0]: line.cells[4] for line in sums()}
    rounding = price.totals.rounding.likely
    assert rounding
    assert amounts["Rounding"] == money_text(rounding, price.currency, desk.job.terms.locale)
    assert price.totals.total.likely % 100 == 0
    assert sum(name.startswith(price.taxes[0].name or "Tax") for name in amounts) == 1
    desk.put(desk.editor("terms", "price_basis"), "typed")
    desk.put(desk.editor("terms", "typed_price"), "9000")
    assert any(line.cells[0] == "Contingency" for line in sums())


def test_the_header_tells_what_the_firm_price_is_made_from_and_no_cost(desk: Hands) -> None:
    """At 90 % confidence "likely" stood above the price; a low and a high stood beside a price that is firm."""
    desk.quick()
    header = desk.window.header
    desk.put(desk.editor("terms", "price_basis"), "confidence")
    desk.put(desk.editor("terms", "basis_confidence"), "90")
    assert header.basis.text() == "From the cost at 90 % confidence"
    desk.put(desk.editor("terms", "basis_confidence"), "82.5")
    desk.put(desk.editor("terms", "locale"), "de_DE")
    assert header.basis.text() == "From the cost at 82,5 % confidence"
    shown = [label.text() for label in header.findChildren(QLabel) if "$" in label.text()]
    assert shown == [header.firm.text()]
    desk.put(desk.editor("terms", "price_basis"), "typed")
    desk.put(desk.editor("terms", "typed_price"), "9000")
    assert header.basis.text() == "Typed by hand"
