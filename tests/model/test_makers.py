"""A maker's own data that cannot hold is told by the name of the part, as a person knows it."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from estimator.model.makers import OwnNozzle, OwnProportioner, OwnPump


@pytest.mark.parametrize(
    ("model", "kind"), [(OwnNozzle, "Nozzle"), (OwnPump, "Pump"), (OwnProportioner, "Proportioner")]
)
@pytest.mark.parametrize(
    ("name", "called"), [("Slotted  tip", "Slotted tip"), ("", "k-7"), ("A {key}", "A {key}")]
)
def test_bad_figures_are_told_by_name(
    model: type[OwnNozzle | OwnPump | OwnProportioner], kind: str, name: str, called: str
) -> None:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(
            {"key": "k-7", "name": name, "flow": "0 L/min"}
            if model is OwnNozzle
            else {"key": "k-7", "name": name}
        )
    assert f"{kind} “{called}”: " in caught.value.errors(include_url=False)[0]["msg"]
