"""A study as JSON with documented, stable keys: SI with the unit in the key, money as decimal text.

Top level::

    format    number of this document's format: 1
    on        day that it holds for: age of prices, validity of the quote
    job       title, quote_number, revision (letter issued last, "" before the first), customer, currency
    drops     every drop of the design, in design order
    lines     every line with a drop: products in design order, air last
    proof     what comes out of every nozzle; plant, air and water
    takeoff   every row to buy, in quote order
    price     rows, sections and totals
    findings  what must never go out first, then what else can hurt people, then the rest by grade
    bought    whole coils, stock lengths and packs against what is needed
    risk      how sure the cost is (null: an amount is too large for it)
    options   every option, the base design first
    revisions what was issued, oldest first
    changes   what moved since the revision that stands (null: there is none, or it cannot be compared)

One of each::

    drops     id, bay, side, service, hose, hose_bore, hose_length_m, gun, nozzle, nozzle_size, nozzle_make,
              fan_angle_rad, spray_distance_m, wanted_flow_m3_s (null: the nozzle's rated flow), existing,
              hose_start_m ([x, y, z] where the hose leaves the tube; null where it could not be laid out)
    lines     id, length_m, segments: id, upstream ("" at the board), drops, ends_at_drop ("" at a tee),
              length_m (the one that counts), computed_m, measured, existing, points_m ([x, y, z] each),
              fittings: kind, at_m, objects, existing
    proof     drops (liquid, in design order): drop, line, alone and together (flow_m3_s, nozzle_pressure_pa
              gauge: with no other gun of the line open, and in the design case), rivals (drops open too in the
              design case), window_low_pa, window_high_pa, wanted_flow_m3_s, spray_width_m, spray_s_per_vehicle,
              verdict, room (greater of pressure and nearest end of the window over the lesser, less 1; negative
              outside), nearest_end;
              lines: line, guns_open, guns_basis, use_probability, flow_m3_s, pump_pressure_pa,
              pump_capacity_m3_s, pump_air_m3_s (free air at the site), segments (segment, tube, flow_m3_s,
              velocity_m_s, pressure_pa, rating_pa), worst_drop;
              plant: product, busy_hour_draw_m3, refill_m3_s, tank_m3, dry_chance, smallest_tank, tip_drill,
              dilution, lean, rich (parts of water over the day; null: not known at some hour, or none drawn), worn
              (parts of water with a tip 5 % wider; null: not known), verdict, dry_low and dry_high (95 % interval of
              dry_chance; both 0: it certainly does not run dry), spray_s (a gun is open at a go), full_m3_s (refill
              while water passes; refill_m3_s is less where a break tank fills more slowly);
              air (null: nothing asks for air), free air at reference: demand_m3_s, leak_m3_s, purge_m3_s (of the
              dryer), supply_m3_s, reference, board_pa (just before the compressor starts), head_pa (of the air line:
              the same, or its own regulator's setting), cut_in_assumed, burst_s (how long
              the receiver carries the demand; null: the compressor does, or the receiver is not stated),
              worst_drop, worst_pressure_pa, drops (drop, outlet_pa, gun_pa behind the hose), verdict;
              foam, a foam gun: drop, line, solution_pa and air_pa at the gun, chamber_pa where they meet,
              solution_m3_s, air_m3_s (free air at the site), ratio of air to solution (null: no solution comes),
              low and high (ratios that it makes foam of);
              water (null: no plant): demand_m3_s, supply_m3_s, verdict;
              board (null: no proportioner was proved, or the survey gives no water): static_pa, static_assumed,
              at_once (tanks that fill at once in 99 % of the busy hour, at most), products: product; alone, busy and
              first (its tank filling alone, the busy hour, all tanks at once): inlet_pa (gauge, shared; null: no
              water), dilution (null: none is drawn, or it is not known), flow_m3_s (water of all that fill), along_pa
              (gauge, at each of points); points (what the water passes between street and board);
              day (null: no day tank): days simulated (0: all is certain without), sprays_as_one (in a row that were
              taken together, 1 none), mixtures (empty: no moment can miss what is asked for): product, rich and lean
              (parts of water that 99 % of what is sprayed lies between; null: plain water), known (false: a
              proportioner is not known at a pressure that was met, and lean is the worst it can be), order of the first
              fill (null: all at once, or no order helps): turns (products, takes_s), total_s, at_once_s (null: never);
              assumptions: sentences
    takeoff   code, section, description, unit, quantity, existing, pieces_m, objects, detail (in words), key (what
              the row is for: the same in every option and revision, whatever it is called)
    price     currency, complete, rows (one a takeoff row, in its order): code, known, unit_price,
              labour_minutes, material, labour, cost, price, taxable, source (of the figure in the price
              book), firm_cost (that the firm price is made from), tax_rate (id, "" the main one), moves_with
              (cause it shares with other rows, "" none), dated (null: not stated);
              sections: section, cost, price;
              totals: cost, rows, contingency, subtotal, discount, net, taxable, tax, rounding, total,
              labour_minutes;
              taxes: id ("" the main rate), name, percent, taxable, tax;
              stages: name, percent (null: the rest), amount; empty where the shares do not add up;
              basis of the firm price: kind, confidence_percent (null unless it is the confidence), firm_cost,
              words
    findings  severity, place, rule, message, source, defer_to, option (the offered option that alone has it), grade
              ("never", "mend", "look", "know"; an error is of one of the first two), danger (what its rule can do to
              people in words, "" nothing), signed (null: nobody signed for it): name, reason, dated
    bought    code, detail (lines, colour), services, unit, needed, bought, offcut, packs (size, count),
              needed_cost, cost, extra (cost less needed_cost), cuts (length_m, pieces_m), proved (no cheaper set
              exists), priced, note
    risk      of the cost: p10, p50, p90, mean, floor, ceiling; sd (exact beta variance) and classic_sd
              ((high - low) / 6 a row), in currency units; confidence (0 to 1) that the net price covers the
              cost; margin_percent at likely cost (null: no price), least_margin_percent as set,
              least_margin_confidence (0 to 1); words; firmness (null: the likely cost is 0): below_percent,
              above_percent, like_class of AACE 18R-97 by width alone (null: wider than any), words;
              spread, largest share first: code, section, detail, share (0 to 1) of the variance, range_without
              (P10 to P90 with this row firm);
              firm_up of the first three: range_before, range_after, falls_percent, sentence
    options   id ("base" first), name, offered, complete, net, total, cost (likely), p10, p50, p90 of the cost,
              drops, inside (their window), outside (ids), difference of the total to the base (null: the base, or
              a price is missing)
    revisions letter, dated, reason, total (null where its content cannot be read), fingerprint, short (its form on
              the paper), pdf_fingerprint, paper_kept (whether the file holds the PDF), withdrawn (null while it
              holds): dated, reason
    changes   letter, difference of the total, words (a sentence each); rows: kind, code, section, detail,
              quantity_before, quantity_after, price_before, price_after, difference;
              sums: name, before, after, difference

An amount of money is ``{"low": "1.20", "likely": "1.50", "high": "2.10"}`` in the price's currency;
`unit_price`, `labour_minutes` and
percents of the terms are single decimal texts, as are all amounts of stages, risk, changes, revisions and
differences, and `cost`, `p10`, `p50`, `p90` of an option. Plan x runs east, y north, z up from the floor.
Keys are only ever added; the format number changes if one must change its meaning. There is no NaN and no
infinity.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, replace
from decimal import Decimal
from enum import Enum
from typing import Any, Final

from estimator.layout.types import LineLayout, Point, Segment
from estimator.model.design import Drop
from estimator.model.issued import Issued, TextError, handed
from estimator.model.option_designs import option_name
from estimator.model.options import BASE
from estimator.model.seals import short
from estimator.model.signing import Signatures
from estimator.pricing.compare import CompareError, option_figures
from estimator.pricing.firmness import firmness
from estimator.pricing.policy import what_it_buys
from estimator.pricing.revise import changes_since
from estimator.pricing.risk import RiskError, RiskModel, RiskResult
from estimator.pricing.spread import firm_up, spread
from estimator.pricing.types import CostRange, Price, PricedRow
from estimator.shown.findings import Sentences, sentences_of
from estimator.shown.signed_words import signed_document
from estimator.shown.sources import source_in
from estimator.sizing.types import FillingOrder, Proof
from estimator.study import Study
from estimator.takeoff.buying import AmountRange, BoughtRow
from estimator.takeoff.words import RowWords, row_words

__all__ = ["STUDY_FORMAT", "study_document", "study_json"]

STUDY_FORMAT: Final = 1
_SPREAD_ROWS: Final = 12
_FIRMED: Final = 3
_MARGIN_STEP: Final = Decimal("0.0001")


def _point(point: Point) -> list[float]:
    return [point.x, point.y, point.z]


def _money(amounts: CostRange | AmountRange) -> dict[str, str]:
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
        "nozzle_make": drop.nozzle_make,
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


def _proof(proof: Proof, reference: str, say: Sentences) -> dict[str, Any]:
    board = proof.board
    # The board itself is solved again by whoever reads the job; what it came to is told here.
    made: dict[str, Any] = _plain(asdict(replace(proof, board=None, day=None)))
    if board is not None:
        names = ("static_pa", "static_assumed", "at_once", "points")
        made["board"] = {name: _plain(getattr(board, name)) for name in names}
        made["board"]["products"] = [_plain(asdict(product)) for product in board.products]
    if proof.day is not None:
        made["day"] = {
            "days": proof.day.days,
            "sprays_as_one": proof.day.sprays_as_one,
            "mixtures": [
                {key: None if value == math.inf else value for key, value in asdict(mixture).items()}
                for mixture in proof.day.mixtures
            ],
            "order": _order(proof.day.order),
        }
    made["assumptions"] = [say.phrase(phrase) for phrase in proof.assumptions]
    for row, line in zip(made["lines"], proof.lines, strict=True):
        row["guns_basis"] = say.phrase(line.guns_basis)
    if made["air"] is not None:
        made["air"]["reference"] = reference
    return made


def _order(order: FillingOrder | None) -> dict[str, Any] | None:
    if order is None:
        return None
    made: dict[str, Any] = _plain(asdict(order))
    return {**made, "at_once_s": None if order.at_once_s == math.inf else order.at_once_s}


def _takeoff(row: PricedRow, words: RowWords) -> dict[str, Any]:
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
        "detail": words.detail(part),
        "key": part.key,
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
                "firm_cost": str(row.firm_cost),
                "tax_rate": row.tax,
                "moves_with": row.correlation,
                "dated": row.dated.isoformat() if row.dated else None,
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
            "rounding": _money(totals.rounding),
            "total": _money(totals.total),
            "labour_minutes": str(totals.labour_minutes),
        },
        "taxes": [
            {
                "id": t.id,
                "name": t.name,
                "percent": str(t.percent),
                "taxable": _money(t.taxable),
                "tax": _money(t.tax),
            }
            for t in price.taxes
        ],
        "stages": [
            {"name": s.name, "percent": _text(s.percent), "amount": str(s.amount)} for s in price.stages
        ],
        "basis": {
            "kind": price.basis.kind.value,
            "confidence_percent": _text(price.basis.confidence_percent),
            "firm_cost": str(price.basis.cost),
            "words": price.basis.words,
        },
    }


def _text(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount)


def _bought(row: BoughtRow, words: RowWords) -> dict[str, Any]:
    return {
        "code": row.code,
        "detail": words.bought(row.services, row.colour),
        "services": list(row.services),
        "unit": row.unit,
        "needed": row.needed,
        "bought": row.bought,
        "offcut": row.offcut,
        "packs": [{"size": pack.size, "count": pack.count} for pack in row.packs],
        "needed_cost": _money(row.needed_cost),
        "cost": _money(row.cost),
        "extra": _money(row.extra),
        "cuts": [{"length_m": length, "pieces_m": list(pieces)} for length, pieces in row.cuts],
        "proved": row.proved,
        "priced": row.priced,
        "note": row.note,
    }


def _model(study: Study) -> RiskModel | None:
    try:
        return study.risk
    except RiskError:
        return None


def _firmness(odds: RiskResult) -> dict[str, Any] | None:
    firm = firmness(odds.floor, odds.likely, odds.ceiling)
    if firm is None:
        return None
    return {
        "below_percent": str(firm.below_percent.quantize(_MARGIN_STEP)),
        "above_percent": str(firm.above_percent.quantize(_MARGIN_STEP)),
        "like_class": firm.like_class,
        "words": firm.words,
    }


def _risk(study: Study, model: RiskModel | None) -> dict[str, Any] | None:
    if model is None:
        return None
    odds, words = model.result, row_words(study.job)
    bought = what_it_buys(study.price, study.job.terms, odds)
    rows = {row.takeoff.key: row for row in study.price.rows}
    firm = firm_up(model, _FIRMED, {key: row.description for key, row in rows.items()})
    return {
        "p10": str(odds.p10),
        "p50": str(odds.p50),
        "p90": str(odds.p90),
        "mean": str(odds.mean),
        "floor": str(odds.floor),
        "ceiling": str(odds.ceiling),
        "sd": odds.sd,
        "classic_sd": odds.classic_sd,
        "confidence": bought.confidence,
        "margin_percent": _text(bought.margin_percent and bought.margin_percent.quantize(_MARGIN_STEP)),
        "least_margin_percent": str(bought.least_margin_percent),
        "least_margin_confidence": bought.least_confidence,
        "words": bought.words,
        "firmness": _firmness(odds),
        "spread": [
            {
                "code": rows[one.item.key].takeoff.code,
                "section": rows[one.item.key].takeoff.section.value,
                "detail": words.detail(rows[one.item.key].takeoff),
                "share": one.share,
                "range_without": str(one.range_without),
            }
            for one in spread(model, _SPREAD_ROWS)
        ],
        "firm_up": {
            "range_before": str(firm.range_before),
            "range_after": str(firm.range_after),
            "falls_percent": firm.falls_percent,
            "sentence": firm.sentence,
        },
    }


def _options(study: Study) -> list[dict[str, Any]]:
    job = study.job
    offered = {a.id: a.offered for a in job.alternatives}
    found = []
    for made in (study, *study.options):
        option, model = made.option, _model(made)
        of = option_figures(
            option, option_name(job, option), made.price, made.proof, model.result if model else None
        )
        base = study.price
        known = option != BASE and base.complete and of.complete
        found.append(
            {
                "id": of.id,
                "name": of.name,
                "offered": offered.get(option, True),
                "complete": of.complete,
                "net": _money(of.net),
                "total": _money(of.total),
                "cost": str(of.cost),
                "p10": _text(of.p10),
                "p50": _text(of.p50),
                "p90": _text(of.p90),
                "drops": of.drops,
                "inside": of.inside,
                "outside": list(of.outside or ()),
                "difference": str(of.total.likely - base.totals.total.likely) if known else None,
            }
        )
    return found


def _changes(study: Study) -> dict[str, Any] | None:
    try:
        moved = changes_since(study.job, study.price, study.prices)
    except CompareError:
        return None
    if moved is None:
        return None
    return {
        "letter": moved.letter,
        "difference": str(moved.difference),
        "words": list(moved.words),
        "rows": [
            {
                "kind": r.kind.value,
                "code": r.code,
                "section": r.section.value,
                "detail": r.detail,
                "quantity_before": str(r.quantity_before),
                "quantity_after": str(r.quantity_after),
                "price_before": str(r.price_before),
                "price_after": str(r.price_after),
                "difference": str(r.difference),
            }
            for r in moved.price.rows
        ],
        "sums": [
            {
                "name": s.name,
                "before": str(s.before),
                "after": str(s.after),
                "difference": str(s.difference),
            }
            for s in moved.price.sums
        ],
    }


def _revision(issued: Issued) -> dict[str, Any]:
    try:
        figures = handed(issued)
    except TextError:
        figures = None
    withdrawn = issued.withdrawn
    return {
        "letter": issued.letter,
        "dated": figures.dated.isoformat() if figures else None,
        "reason": figures.reason if figures else None,
        "total": str(figures.total) if figures else None,
        "fingerprint": issued.fingerprint,
        "short": short(issued.fingerprint),
        "pdf_fingerprint": issued.paper_fingerprint,
        "paper_kept": bool(issued.paper),
        "withdrawn": None
        if withdrawn is None
        else {"dated": withdrawn.dated.isoformat(), "reason": withdrawn.reason},
    }


def study_document(study: Study) -> dict[str, Any]:
    """The study as plain lists, dictionaries, text, numbers and flags; see the module for the keys."""
    job, words, say = study.job, row_words(study.job), sentences_of(study)
    starts, signatures = study.layout.drop_points, Signatures(job)
    return {
        "format": STUDY_FORMAT,
        "on": study.on.isoformat(),
        "job": {
            "title": job.quote.title,
            "quote_number": job.quote.number,
            "revision": job.ledger.last,
            "customer": job.customer.name,
            "currency": job.terms.currency,
        },
        "drops": [_drop(d, starts.get(d.id)) for d in job.design.drops],
        "lines": [_line(line) for line in study.layout.lines],
        "proof": _proof(study.proof, job.site.air.reference.value, say),
        "takeoff": [_takeoff(row, words) for row in study.price.rows],
        "price": _price(study.price),
        "findings": [
            {
                "severity": f.severity.value,
                "place": f.place,
                "rule": f.rule,
                "message": say.installer(f),
                "customer": say.customer(f),
                "source": source_in(f.source, job.site.country),
                "defer_to": f.defer_to,
                "option": f.option,
                "grade": f.grade.value,
                "danger": f.danger.words,
                "signed": None if (sign := signatures.of(f)) is None else signed_document(sign),
            }
            for f in study.findings
        ],
        "bought": [_bought(row, words) for row in study.bought],
        "risk": _risk(study, _model(study)),
        "options": _options(study),
        "revisions": [_revision(r) for r in job.issued],
        "changes": _changes(study),
    }


def study_json(study: Study) -> str:
    """The study as JSON text, the same for the same study to the last character.

    Raises:
        ValueError: a figure is NaN or infinite (a fault of the program: no stage may give one).
    """
    return json.dumps(study_document(study), ensure_ascii=False, allow_nan=False, indent=2) + "\n"
