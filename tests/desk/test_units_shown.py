"""What the views of price and buying say of lengths is in the units of the job."""

from __future__ import annotations

import re

from estimator.model.edit import with_value
from estimator.units import UnitSystem
from tests.desk.hands import Hands
from tests.layout.examples import gannet_quay

_METRES = re.compile(r"\d[\s\u00a0]m\b")


def test_a_job_in_us_units_is_priced_and_bought_in_feet(desk: Hands) -> None:
    """The price view said “23.94 m” beside a paper that said 78.5 ft (23.94 m / 0.3048, exact)."""
    window = desk.window
    window.session.open(with_value(gannet_quay(), ("units",), UnitSystem.US), None)
    desk.command("view.takeoff")
    lines = [row for line in window.prices.table.lines for row in line.children]
    units = {row.cells[2] for row in lines if row.cells[2]}
    assert "ft" in units and "m" not in units
    assert "78.5" in {row.cells[1] for row in lines if row.cells[2] == "ft"}
    desk.command("view.buying")
    bought = window.buying.table.lines
    assert any("ft" in row.cells[1] for row in bought)
    for row in bought:
        assert not any(_METRES.search(cell) for cell in row.cells[1:]), row.cells
        window.buying.table.select(row.key)
        assert not _METRES.search(window.buying.cuts.text())
