"""What stands a product in place of a part that does not, and its price."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

from estimator.acts.fitting import fits
from estimator.acts.propose import offer
from estimator.model.choices import Chemistry
from estimator.model.edit import with_value
from estimator.model.finding import Finding
from estimator.model.job import Job
from estimator.reference.catalogue import catalogue
from estimator.shipped import shipped
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study

DAY = date(2027, 3, 1)


def job(chemistry: Chemistry = Chemistry.PETROLEUM_SOLVENT, **fields: object) -> Job:
    """The example with its remover drawn through EPDM (firm: petroleum dissolves it; from memory of handbooks)."""
    made = load_job(Path(str(shipped("examples/gannet-quay.baydrop"))))
    at = next(i for i, unit in enumerate(made.design.plant) if unit.product == "remover")
    made = with_value(made, ("design", "plant", at, "proportioner"), "prop-standard")
    product = next(i for i, p in enumerate(made.design.products) if p.id == "remover")
    made = with_value(made, ("design", "products", product, "sheet", "classes"), (chemistry,))
    for name, value in fields.items():
        made = with_value(made, ("design", "products", product, name), value)
    return made


def never(of: Job) -> list[Finding]:
    return [f for f in study(of, shipped_price_book(), DAY).findings if f.rule == "part-material"]


def test_what_stands_it_is_offered_with_what_the_whole_job_costs_more() -> None:
    before = job()
    (finding,) = never(before)
    (fit,) = fits(before, shipped_price_book(), DAY, finding)
    assert fit.key == "prop-standard-fkm"
    totals = [study(one, shipped_price_book(), DAY).price.totals.total.likely for one in (before, fit.job)]
    assert fit.extra == totals[1] - totals[0] > Decimal(0)
    assert never(fit.job) == []


def test_where_nothing_stands_it_nothing_is_offered() -> None:
    """EPDM does not stand petroleum, nor FKM ammonia (firm, from memory): for a blend of both there is no seal."""
    made = job()
    product = next(i for i, p in enumerate(made.design.products) if p.id == "remover")
    blend = (Chemistry.PETROLEUM_SOLVENT, Chemistry.AMMONIA)
    made = with_value(made, ("design", "products", product, "sheet", "classes"), blend)
    found = [f for f in never(made) if f.place.endswith(".proportioner")]
    assert len(found) == 1
    assert fits(made, shipped_price_book(), DAY, found[0]) == ()


def test_every_part_of_an_undiluted_solvent_can_be_mended_one_after_the_other() -> None:
    """Pump, fittings and proportioner of EPDM; each offer mends its own place and leaves the others."""
    made = job(dilution=0.0, label_strongest=None, label_weakest=None)
    left = never(made)
    assert {f.place.rpartition(".")[2] for f in left} >= {
        *("proportioner", "pump", "tank", "hose_bore", "nozzle_make")
    }
    for _ in range(len(left)):
        finding = never(made)[0]
        offers = fits(made, shipped_price_book(), DAY, finding)
        assert offers, finding.message
        assert [o.extra for o in offers] == sorted(o.extra for o in offers if o.extra is not None)
        made = offers[0].job
        assert len(never(made)) == len(left) - 1
        left = never(made)
    assert left == []


def test_a_part_without_a_price_is_offered_without_one() -> None:
    before = job()
    book = shipped_price_book()
    poor = book.model_copy(update={"entries": tuple(e for e in book.entries if e.code != "FTV-FK")})
    (fit,) = fits(before, poor, DAY, never(before)[0])
    assert fit.extra is None


def test_a_nozzle_is_exchanged_by_what_it_is_made_of() -> None:
    """Undiluted terpene crazes polypropylene (firm, from memory): PVDF with ceramic and stainless steel are offered."""
    made = job(Chemistry.TERPENE, dilution=0.0, label_strongest=None, label_weakest=None)
    found = next(f for f in never(made) if f.place.endswith(".nozzle_make"))
    offers = fits(made, shipped_price_book(), DAY, found)
    assert {o.key for o in offers} == {"make-ceramic", "make-steel"}
    assert all(o.extra is not None and o.extra > 0 for o in offers)
    nozzles = {d.nozzle_make for d in offers[0].job.design.drops if d.service == "remover"}
    assert nozzles == {offers[0].key}
    rows = {row.code for row in study(offers[0].job, shipped_price_book(), DAY).takeoff}
    assert "NZF-SS" in rows or "NZF-CE" in rows


def test_another_size_of_a_tank_is_of_the_same_make() -> None:
    """What proof and proposal name in place of a tank keeps the seal that was chosen for the product."""
    made = load_job(Path(str(shipped("examples/gannet-quay.baydrop"))))
    made = with_value(made, ("design", "plant", 1, "tank"), "tank-120-fkm")
    proof = study(made, shipped_price_book(), DAY).proof
    assert proof.plant[1].smallest_tank.endswith("-fkm")
    assert not any(p.smallest_tank.endswith("-fkm") for i, p in enumerate(proof.plant) if i != 1)
    taken = offer(made, shipped_price_book(), catalogue(), (), DAY).proposal.design
    assert taken.plant[1].tank.endswith("-fkm") and not taken.plant[0].tank.endswith("-fkm")


def test_booster_pumps_that_hold_every_mixture_are_offered_behind_a_break_tank() -> None:
    before = load_job(Path(str(shipped("examples/gannet-quay.baydrop"))))
    before = with_value(before, ("design", "common", "booster"), "no-booster")
    made = study(before, shipped_price_book(), DAY)
    (finding,) = (f for f in made.findings if f.rule == "break-tank-no-pressure")
    offers = fits(before, shipped_price_book(), DAY, finding)
    assert [fit.key for fit in offers] == ["booster-small", "booster-large"]  # the cheaper first
    for fit in offers:
        after = study(fit.job, shipped_price_book(), DAY)
        assert fit.extra == after.price.totals.total.likely - made.price.totals.total.likely > Decimal(0)
        assert not [
            f for f in after.findings if f.rule.startswith(("dilution-off", "dilution-busy", "break-tank"))
        ]
        assert len(after.proof.plant) == 5
    # A sanitiser that must be nearly exact: the small pump falls off too far with all tanks filling.
    at = next(i for i, p in enumerate(before.design.products) if p.id == "sanitiser")
    exact = with_value(before, ("design", "products", at, "label_weakest"), 65.0)
    assert [fit.key for fit in fits(exact, shipped_price_book(), DAY, finding)] == ["booster-large"]
