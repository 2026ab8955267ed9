"""The shipped catalogue: nozzle sizes after ISO 10625, curves that are possible, a price for every part."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import pytest
from pydantic import ValidationError

from estimator.layout.types import FittingKind
from estimator.model.choices import NozzleType
from estimator.model.design import Drop, LinePlan, PlantUnit
from estimator.model.makers import OwnProportioner
from estimator.model.spec import fields_of
from estimator.reference.catalogue import TABLES, Catalogue, catalogue
from estimator.safety.materials import materials_in
from estimator.store.pricebooks import shipped_price_book
from tests.reference.price_codes import price_codes

# Colours and US gpm at 40 psi: McCloskey, Andrade-Sanchez and Brown, Univ. of Arizona Cooperative Extension, 2012,
# table 1, which states ISO 10625 (confirmed). L/min at 300 kPa: public calculators that cite ISO 10625 (second-hand).
_ISO_10625 = {
    "01": ("orange", 0.40, 0.10),
    "015": ("green", 0.60, 0.15),
    "02": ("yellow", 0.80, 0.20),
    "025": ("lilac", 1.00, 0.25),
    "03": ("blue", 1.20, 0.30),
    "04": ("red", 1.60, 0.40),
    "05": ("brown", 2.00, 0.50),
    "06": ("grey", 2.40, 0.60),
    "08": ("white", 3.20, 0.80),
}
# From memory of ISO 10625.
_LARGER = {"10": ("light blue", 4.00), "15": ("light green", 6.00)}
_L_PER_GAL = 3.785_411_784
_KPA_PER_PSI = 6.894_757_293


def test_nozzle_sizes_of_the_standard() -> None:
    shipped = {s.key: (s.colour, s.l_min_at_300_kpa) for s in catalogue().nozzle_sizes}
    assert shipped == {**{k: v[:2] for k, v in _ISO_10625.items()}, **_LARGER}


@pytest.mark.parametrize(("size", "row"), _ISO_10625.items())
def test_both_nominal_columns_agree_within_two_percent(size: str, row: tuple[str, float, float]) -> None:
    # Both columns are nominal: 0.20 gpm at 40 psi is 0.790 L/min at 300 kPa by the square-root law, nominal 0.80.
    by_law = row[2] * _L_PER_GAL * (300 / (40 * _KPA_PER_PSI)) ** 0.5
    nominal = next(s.l_min_at_300_kpa for s in catalogue().nozzle_sizes if s.key == size)
    assert nominal == pytest.approx(by_law, rel=0.02)


def test_every_code_has_a_price_and_every_price_a_part() -> None:
    assert {e.code for e in shipped_price_book().entries} == price_codes(catalogue())


def test_every_part_says_that_it_is_demo_data() -> None:
    parts = catalogue()
    assert "demo data" in parts.note
    for table in TABLES:
        for part in getattr(parts, table):
            assert ("ISO 10625" if table == "nozzle_sizes" else "demo data") in part.note, part.key


def test_every_nozzle_type_and_fitting_is_there() -> None:
    parts = catalogue()
    assert {n.key for n in parts.nozzles} == {t.value for t in NozzleType}
    assert all(n.key == n.type.value for n in parts.nozzles)
    for tube in parts.tubes:
        assert set(tube.fitting_codes) == {k.value for k in FittingKind}


def test_defaults_of_the_model_are_choices() -> None:
    parts = catalogue()
    for model in (Drop, PlantUnit, LinePlan):
        for field in fields_of(model):
            default = model.model_fields[field.name].default
            if field.catalogue:
                assert default in {key for key, _ in parts.choices(field.catalogue)}, field.name


def test_figures_are_possible() -> None:
    parts = catalogue()
    for tube in parts.tubes:
        assert 0.5 < tube.bore_mm / tube.od_mm < 0.9
        # Thin-wall hoop stress at the rating, p (OD - t) / (2 t); polyethylene lasts at about 4 to 5 MPa of it at
        # room temperature (common practice, no source).
        wall = (tube.od_mm - tube.bore_mm) / 2
        assert tube.rating_kpa * (tube.od_mm - wall) / (2 * wall) < 5_000
        assert tube.derating[0][1] == 1.0
        assert all(a[1] > b[1] > 0 for a, b in pairwise(tube.derating))
    for hose in parts.hoses:
        assert hose.bore_mm / hose.coil_diameter_mm < 0.1
    for unit in parts.proportioners:
        # No vacuum beyond the standard atmosphere less the vapour pressure of water at 20 °C (101.3 - 2.3 kPa).
        assert all(0 < vacuum < 99 for _, vacuum in unit.vacuum_kpa)
        assert all(a[1] < b[1] for a, b in pairwise(unit.vacuum_kpa))
    for pump in parts.pumps:
        droop = pump.droop_linear * pump.max_l_min + pump.droop_quadratic * pump.max_l_min**2
        assert 0 < droop < pump.max_kpa
    for gun in parts.guns:
        assert materials_in(gun.body), gun.key
        assert materials_in(gun.seal), gun.key
        assert (gun.air_free_l_min > 0) == (gun.for_air or gun.for_foam)


def test_a_metal_gun_costs_more_than_a_plastic_one() -> None:
    # Common practice, no source.
    book, guns = shipped_price_book(), {g.key: g for g in catalogue().guns}
    plastic, metal = (book.entry(guns[key].code) for key in ("gun-plastic", "gun-metal"))
    assert plastic is not None
    assert metal is not None
    assert metal.low > plastic.high > Decimal(0)


# Round flows at which proportioners are sold everywhere, US gpm and L/min; from memory, no source.
_NAMEPLATE_L_MIN = (*(gpm * _L_PER_GAL for gpm in (1, 2, 3, 3.5, 4, 6, 8, 10)), *range(1, 61))


def test_demo_flows_are_on_no_nameplate() -> None:
    """A figure of our own is never one that a person would take for a maker's."""
    for unit in catalogue().proportioners:
        nearest = min(_NAMEPLATE_L_MIN, key=lambda flow: abs(flow - unit.flow_l_min))
        assert abs(unit.flow_l_min - nearest) >= 0.2, (unit.key, unit.flow_l_min, nearest)
    default = OwnProportioner.model_fields["flow"].default
    assert default == f"{catalogue().proportioners[0].flow_l_min} L/min"


def test_no_such_table() -> None:
    with pytest.raises(LookupError):
        catalogue().choices("note")


@pytest.mark.parametrize(
    ("table", "field", "value"),
    [
        ("guns", "kv", 0.0),
        ("tubes", "derating", ()),
        ("tubes", "derating", ((40.0, 0.7), (23.0, 1.0))),
        ("nozzles", "max_kpa", 1.0),
    ],
)
def test_an_impossible_part_is_refused(table: str, field: str, value: object) -> None:
    parts = catalogue()
    first = getattr(parts, table)[0]
    with pytest.raises(ValidationError, match=field if field != "max_kpa" else "min_kpa"):
        type(first)(**{**dict(first), field: value})


def test_doubled_keys_are_refused() -> None:
    parts = catalogue()
    with pytest.raises(ValidationError, match="keys must differ"):
        Catalogue(**{**dict(parts), "guns": (parts.guns[0], parts.guns[0])})


def test_a_reduced_pressure_assembly_takes_what_they_take() -> None:
    # From memory: roughly 0.7 to 1 bar, at the flows of such a board.
    (assembly,) = (part for part in catalogue().backflow if part.key == "backflow-assembly")
    assert [flow for flow, _ in assembly.loss_kpa][:3] == [0.0, 20.0, 40.0]
    assert all(70.0 <= loss <= 100.0 for flow, loss in assembly.loss_kpa if flow <= 40.0)
