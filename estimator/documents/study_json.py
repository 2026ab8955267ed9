"""A study as JSON with documented, stable keys: SI with the unit in the key, money as decimal text.

Top level::

    format    number of this document's format: 1
    job       title, quote_number, revision, customer, currency
    drops     every drop of the design, in design order
    lines     every line with a drop: products in design order, air last
    proof     what comes out of every nozzle; plant, air and water
    takeoff   every row to buy, in quote order
    price     rows, sections and totals
    findings  errors first

One of each::

    drops     id, bay, side, service, hose, hose_bore, hose_length_m, gun, nozzle, nozzle_size, fan_angle_rad,
              spray_distance_m, wanted_flow_m3_s (null: the nozzle's rated flow), existing,
              hose_start_m ([x, y, z] where the hose leaves the tube; null where it could not be laid out)
    lines     id, length_m, segments: id, upstream ("" at the board), drops, ends_at_drop ("" at a tee),
              length_m (the one that counts), computed_m, measured, existing, points_m ([x, y, z] each),
              fittings: kind, at_m, objects, existing
    proof     drops (liquid, in design order): drop, line, alone and together (flow_m3_s, nozzle_pressure_pa
              gauge: with no other gun of the line open, and in the design case), rivals (drops open too in the
              design case), window_low_pa, window_high_pa, wanted_flow_m3_s, spray_width_m, spray_s_per_vehicle,
              verdict, margin (distance to the nearer end of the window as a share of it, negative outside);
              lines: line, guns_open, guns_basis, use_probability, flow_m3_s, pump_pressure_pa,
              pump_capacity_m3_s, pump_air_m3_s (free air at the site), segments (segment, tube, flow_m3_s,
              velocity_m_s, pressure_pa, rating_pa), worst_drop;
              plant: product, busy_hour_draw_m3, refill_m3_s, tank_m3, dry_chance, smallest_tank, tip_drill,
              dilution, lean, rich, verdict;
              air (null: nothing asks for air), free air at reference: demand_m3_s, leak_m3_s, supply_m3_s,
              reference, worst_drop, worst_pressure_pa, verdict;
              water (null: no plant): demand_m3_s, supply_m3_s, verdict;
              assumptions: sentences
    takeoff   code, section, description, unit, quantity, existing, pieces_m, objects, detail
    price     currency, complete, rows (one a takeoff row, in its order): code, known, unit_price,
              labour_minutes, material, labour, cost, price, taxable, source (of the figure in the price
              book); sections: section, cost, price;
              totals: cost, rows, contingency, subtotal, discount, net, taxable, tax, total, labour_minutes
    findings  severity, place, rule, message, source, defer_to

An amount of money is ``{"low": "1.20", "likely": "1.50", "high": "2.10"}`` in the price's currency;
`unit_price` and `labour_minutes` are single decimal texts. Plan x runs east, y north, z up from the floor.
Keys are only ever added; the format number changes if one must change its meaning. There is no NaN and no
infinity.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from enum import Enum
from typing import Any, Final

from estimator.layout.types import LineLayout, Point, Segment
from estimator.model.design import Drop
from estimator.pricing.types import CostRange, Price, PricedRow
from estimator.sizing.types import Proof
from estimator.study import Study

__all__ = ["STUDY_FORMAT", "study_document", "study_json"]

STUDY_FORMAT: Final = 1


def _point(point: Point) -> list[float]:
    return [point.x, point.y, point.z]


def _money(amounts: CostRange) -> dict[str, str]:
    return {"low": str(amounts.low), "likely": str(amounts.likely), "high": str(amounts.high)}


def _drop(drop: Drop, start: Point | None) -> dict[str, Any]:
    return {
        "id": drop.id,
        "bay": drop.bay,
        "side": drop.side.value,
        "service": drop.service,
        "hose": drop.hose.value,
        "hose_bore": drop.hose_bore,
        "hose_length_m": drop.hose_length.si,
        "gun": drop.gun,
        "nozzle": drop.nozzle.value,
        "nozzle_size": drop.nozzle_size,
        "fan_angle_rad": drop.fan_angle.si,
        "spray_distance_m": drop.spray_distance.si,
        "wanted_flow_m3_s": drop.wanted_flow.si if drop.wanted_flow else None,
        "existing": drop.existing,
        "hose_start_m": _point(start) if start else None,
    }


def _segment(segment: Segment) -> dict[str, Any]:
    return {
        "id": segment.id,
        "upstream": segment.upstream,
        "drops": list(segment.drops),
        "ends_at_drop": segment.ends_at_drop,
        "length_m": segment.length_m,
        "computed_m": segment.computed_m,
        "measured": segment.measured,
        "existing": segment.existing,
        "points_m": [_point(p) for p in segment.points],
        "fittings": [
            {"kind": f.kind.value, "at_m": _point(f.at), "objects": list(f.objects), "existing": f.existing}
            for f in segment.fittings
        ],
    }


def _line(line: LineLayout) -> dict[str, Any]:
    return {"id": line.id, "length_m": line.length_m, "segments": [_segment(s) for s in line.segments]}


def _plain(value: Any) -> Any:
    """Tuples as lists and enumerations as their text."""
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return value.value if isinstance(value, Enum) else value


def _proof(proof: Proof, reference: str) -> dict[str, Any]:
    made: dict[str, Any] = _plain(asdict(proof))
    if made["air"] is not None:
        made["air"]["reference"] = reference
    return made


def _takeoff(row: PricedRow) -> dict[str, Any]:
    part = row.takeoff
    return {
        "code": part.code,
        "section": part.section.value,
        "description": row.description,
        "unit": row.unit,
        "quantity": part.quantity,
        "existing": part.existing,
        "pieces_m": list(part.pieces_m),
        "objects": list(part.objects),
        "detail": part.detail,
    }


def _price(price: Price) -> dict[str, Any]:
    totals = price.totals
    return {
        "currency": price.currency,
        "complete": price.complete,
        "rows": [
            {
                "code": row.takeoff.code,
                "known": row.known,
                "unit_price": str(row.unit_price),
                "labour_minutes": str(row.labour_minutes),
                "material": _money(row.material),
                "labour": _money(row.labour),
                "cost": _money(row.cost),
                "price": _money(row.price),
                "taxable": _money(row.taxable_price),
                "source": row.source,
            }
            for row in price.rows
        ],
        "sections": [
            {"section": s.section.value, "cost": _money(s.cost), "price": _money(s.price)}
            for s in price.sections
        ],
        "totals": {
            "cost": _money(totals.cost),
            "rows": _money(totals.rows),
            "contingency": _money(totals.contingency),
            "subtotal": _money(totals.subtotal),
            "discount": _money(totals.discount),
            "net": _money(totals.net),
            "taxable": _money(totals.taxable),
            "tax": _money(totals.tax),
            "total": _money(totals.total),
            "labour_minutes": str(totals.labour_minutes),
        },
    }


def study_document(study: Study) -> dict[str, Any]:
    """The study as plain lists, dictionaries, text, numbers and flags; see the module for the keys."""
    job = study.job
    starts = study.layout.drop_points
    return {
        "format": STUDY_FORMAT,
        "job": {
            "title": job.quote.title,
            "quote_number": job.quote.number,
            "revision": job.quote.revision,
            "customer": job.customer.name,
            "currency": job.terms.currency,
        },
        "drops": [_drop(d, starts.get(d.id)) for d in job.design.drops],
        "lines": [_line(line) for line in study.layout.lines],
        "proof": _proof(study.proof, job.site.air.reference.value),
        "takeoff": [_takeoff(row) for row in study.price.rows],
        "price": _price(study.price),
        "findings": [
            {
                "severity": f.severity.value,
                "place": f.place,
                "rule": f.rule,
                "message": f.message,
                "source": f.source,
                "defer_to": f.defer_to,
            }
            for f in study.findings
        ],
    }


def study_json(study: Study) -> str:
    """The study as JSON text, the same for the same study to the last character.

    Raises:
        ValueError: a figure is NaN or infinite (a fault of the program: no stage may give one).
    """
    return json.dumps(study_document(study), ensure_ascii=False, allow_nan=False, indent=2) + "\n"
