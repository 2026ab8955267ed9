"""From an older file format to the one this program writes: pure steps on a copy, one a format number.

A step takes the parsed data of a file of its format and gives that of the next. It supposes nothing: a file may be
damaged, and what is wrong with it is told afterwards, by validation. What a step cannot read it leaves as it is.

They stand here because two rooms ask for them: the store for a file, and an issued revision for the job it was made
of, which is kept in the words of its own format and brought up only to be looked at.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Mapping
from typing import Any, Final

from estimator.model.choices import LineColour
from estimator.model.colours import free_colour
from estimator.model.option_changes import Unreadable, differences_of
from estimator.model.pricebook import is_demo_source
from estimator.model.seals import canonical_text, following, seal_of
from estimator.model.snapshot import FORMAT

__all__ = ["mark_demo_entries", "upgraded"]

Data = dict[str, Any]


def _groups(value: object) -> list[Data]:
    """The groups of a list; nothing of what is no list of groups."""
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


def _letters(data: Data) -> None:
    """The letter of a quote was typed; it is counted from the revisions now. One that is no letter stays readable."""
    quote = data.get("quote")
    if not isinstance(quote, dict) or not isinstance(quote.get("revision"), str):
        return
    typed = quote["revision"].strip()
    issued = [r["letter"] for r in _groups(data.get("issued")) if _is_letter(r.get("letter"))]
    first = issued[0] if issued else typed.upper()
    quote["first_letter"] = first if _is_letter(first) else "A"
    del quote["revision"]
    known = following(issued[-1]) if issued else quote["first_letter"]
    if typed and typed.upper() != known:
        for name, most in (("number", 120), ("notes", 2000)):
            if isinstance(quote.get(name), str):
                text = f"{quote[name]} revision {typed}".strip()
                if len(text) <= most:
                    quote[name] = text
                    return


def _is_letter(value: object) -> bool:
    return isinstance(value, str) and re.fullmatch("[A-Z]{1,2}", value) is not None


def _line_colours(data: Data) -> None:
    """Lines were coloured by their place. In an option a product keeps the base's colour."""
    known: dict[str, LineColour] = {}
    for design in (data.get("design"), *(a.get("design") for a in _groups(data.get("alternatives")))):
        _colour_design(design, known)


def _colour_design(design: object, known: dict[str, LineColour]) -> None:
    products = _groups(design.get("products")) if isinstance(design, dict) else []
    products = [p for p in products if isinstance(p.get("id"), str) and "colour" not in p]
    for place, product in enumerate(products):
        others = [known[p["id"]] for p in products if p["id"] in known]
        colour = known.setdefault(product["id"], free_colour(others, min(place, len(others))))
        product["colour"] = colour.value


def _demo_marks(data: Data) -> None:
    """Prices that a job holds on to had no mark of demo data."""
    prices = data.get("prices")
    if isinstance(prices, dict):
        mark_demo_entries(prices)


def mark_demo_entries(data: Data) -> None:
    """Entries of format 1 had no mark of demo data: `PriceEntry` tells the demo book's own.

    Args:
        data: a group that holds `entries`; it is changed.
    """
    for entry in _groups(data.get("entries")):
        entry.setdefault("demo", is_demo_source(entry.get("source")))


def _papers(data: Data) -> None:
    """A revision keeps its old content as the very text that its fingerprint is of; it had no paper in the file."""
    records = data.get("issued")
    if not isinstance(records, list):
        return
    data["issued"] = [_paper(record) for record in records]
    last = data["issued"][-1] if records else {}
    known = isinstance(last, dict) and all(
        isinstance(last.get(name), str) for name in ("letter", "fingerprint", "paper_fingerprint")
    )
    data["ledger"] = {
        "last": last["letter"] if known else "",
        "seal": seal_of(last["fingerprint"], last["paper_fingerprint"]) if known else "",
        "withdrawals": "",
    }


def _paper(record: Any) -> Any:
    hashes = ("fingerprint", "pdf_fingerprint")
    if not isinstance(record, dict) or not all(name in record for name in ("letter", "snapshot", *hashes)):
        return record
    text = canonical_text({name: value for name, value in record.items() if name not in hashes})
    return {
        "letter": record["letter"],
        "text": text,
        "fingerprint": record["fingerprint"],
        "paper": "",
        "paper_fingerprint": record["pdf_fingerprint"],
        "withdrawn": None,
    }


def _options_as_differences(data: Data) -> None:
    """An option was a whole design; now it is what it has otherwise than the base design."""
    alternatives = data.get("alternatives")
    for option in alternatives if isinstance(alternatives, list) else ():
        if not isinstance(option, dict) or "design" not in option or "changes" in option:
            continue
        try:
            changes = differences_of(data.get("design"), option["design"])
        except Unreadable:
            continue
        del option["design"]
        option["changes"] = changes


def _sheets(data: Data) -> None:
    """A product had one class of chemistry, which was "neutral-detergent" until somebody chose.

    That default cannot be told from a choice, and an acid left at it would go out as harmless: it is asked for again.
    """
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            _changed_sheet(change)
    design = data.get("design")
    for product in _groups(design.get("products")) if isinstance(design, dict) else ():
        _sheet_of(product)


def _changed_sheet(change: Data) -> None:
    place = change.get("place")
    if not isinstance(place, list) or place[:1] != ["products"]:
        return
    if len(place) == 2:
        for side in ("value", "instead_of"):
            if isinstance(change.get(side), dict):
                _sheet_of(change[side])
    elif place[2:] == ["chemistry"]:
        change["place"] = [*place[:2], "sheet", "classes"]
        for side in ("value", "instead_of"):
            if side in change:
                change[side] = _classes(change[side])


def _classes(chemistry: object) -> list[object]:
    return [] if chemistry in (None, "neutral-detergent") else [chemistry]


def _sheet_of(product: Data) -> None:
    if "sheet" in product:
        return
    product["sheet"] = {
        "classes": _classes(product.pop("chemistry", None)),
        "ph": None,
        "flash_point": None,
        "oxidiser": "not-known",
        "reducer": "not-known",
        "amine": "not-known",
        "pictograms": [],
        "signal_word": None,
        "statements": [],
        "dated": None,
    }
    for name in ("label_strongest", "label_weakest"):
        product.setdefault(name, None)
    product.setdefault("containers", 1)


def _words_of_the_order(data: Data) -> None:
    """Numbers, the place of the work and the texts of an order had no fields: an older file has none of them.

    Its exclusions are all in the person's own words, so none of the usual ones is added to what was agreed.
    """
    for block, names in (
        ("company", ("licence", "tax_number", "logo")),
        ("quote", ("order_number", "site_address")),
        ("terms", ("payment_terms", "change_orders", "warranty", "insurance")),
    ):
        group = data.get(block)
        if isinstance(group, dict):
            for name in names:
                group.setdefault(name, "")
    terms = data.get("terms")
    if isinstance(terms, dict):
        terms.setdefault("lead_time", None)
        terms.setdefault("left_out", [])


def _signatures(data: Data) -> None:
    """Nobody could sign for a finding."""
    data.setdefault("signed", [])


def _presentation(data: Data) -> None:
    """Every quote showed unit prices, totals by section and the allowance."""
    data.setdefault("presentation", {"unit_prices": True, "totals_by": "section", "fold_allowance": False})


def _surroundings(data: Data) -> None:
    """Of a job's surroundings nothing was stated, and of tray, eyewash and valves at most whether they are there."""
    site, design = data.get("site"), data.get("design")
    if isinstance(site, dict):
        for name, nothing in (
            ("country", None),
            ("drain", "not-known"),
            ("coldest", None),
            ("ventilated", "not-known"),
        ):
            site.setdefault(name, nothing)
        if isinstance(site.get("water"), dict):
            site["water"].setdefault("static_pressure", None)
    common = design.get("common") if isinstance(design, dict) else None
    if isinstance(common, dict):
        unknown = {"shower": False, "stays": False, "x": None, "y": None, "water": None, "ahead": "not-known"}
        common.setdefault("wash", unknown)
        for name in ("tray_volume", "spout_bore", "air_gap", "mouth_height"):
            common.setdefault(name, None)
        common.setdefault("yearly_test", "")
        for name in ("water_lockout", "air_lockout"):
            common.setdefault(name, "not-stated")


def _label_sheet(data: Data) -> None:
    """There were no labels to print."""
    presentation = data.get("presentation")
    if isinstance(presentation, dict):
        sheet = {"columns": 2, "rows": 5, "width": "90 mm", "height": "50 mm"}
        presentation.setdefault("labels", {**sheet, "gap_across": "5 mm", "gap_down": "5 mm"})


def _materials(data: Data) -> None:
    """Of a maker's own part nobody said what it is made of."""
    design = data.get("design")
    makers = design.get("makers") if isinstance(design, dict) else None
    if isinstance(makers, dict):
        for parts in makers.values():
            for part in _groups(parts):
                part.setdefault("materials", "")
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:1] == ["makers"]:
                for part in _groups([change.get("value"), change.get("instead_of")]):
                    if "key" in part:
                        part.setdefault("materials", "")


def _falling_vacuum(data: Data) -> None:
    """What was drawn took nothing of the vacuum of a maker's proportioner."""
    design = data.get("design")
    makers = design.get("makers") if isinstance(design, dict) else None
    rows = _groups(makers.get("proportioners")) if isinstance(makers, dict) else []
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:2] == ["makers", "proportioners"]:
                rows += [p for p in _groups([change.get("value"), change.get("instead_of")]) if "key" in p]
    for row in rows:
        row.setdefault("gone_at", None)


def _programme(data: Data) -> None:
    """Nobody stated whether the shop has a written programme for its hazardous products."""
    site = data.get("site")
    if isinstance(site, dict):
        site.setdefault("programme", "not-known")


def _compressor(data: Data) -> None:
    """A compressor had one pressure; of cut-in, receiver, dryer and a leak test nothing was stated."""
    site = data.get("site")
    air = site.get("air") if isinstance(site, dict) else None
    if isinstance(air, dict):
        for name in ("cut_in", "receiver", "leak_loaded", "leak_unloaded"):
            air.setdefault(name, None)
        air.setdefault("supply_loss", "0 bar")
        air.setdefault("dryer_purge", "0")


def _line_regulators(data: Data) -> None:
    """No line had a regulator of its own."""
    design = data.get("design")
    plans = _groups(design.get("lines")) if isinstance(design, dict) else []
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:1] == ["lines"]:
                plans += [
                    p for p in _groups([change.get("value"), change.get("instead_of")]) if "service" in p
                ]
    for plan in plans:
        plan.setdefault("regulator", None)


def _nozzle_makes(data: Data) -> None:
    """Every nozzle was of plastic."""
    design = data.get("design")
    rows = _groups(design.get("drops")) if isinstance(design, dict) else []
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:1] == ["drops"] and len(place) == 2:
                rows += _groups([change.get("value"), change.get("instead_of")])
    for row in rows:
        row.setdefault("nozzle_make", "make-plastic")


def _board_feed(data: Data) -> None:
    """Water came to the board without booster pump, reducing valve or hose; every concentrate stood 1 m below, and how
    high the day tanks stand nobody said."""
    for design in (data.get("design"), *(a.get("design") for a in _groups(data.get("alternatives")))):
        if not isinstance(design, dict):
            continue
        if isinstance(design.get("common"), dict):
            nothing = {"booster": "no-booster", "reducer": "no-reducer", "reducer_setting": "3 bar"}
            unknown = {"feed_bore": None, "feed_length": None, "tank_level": None}
            for name, value in {**nothing, **unknown}.items():
                design["common"].setdefault(name, value)
        for unit in _groups(design.get("plant")):
            unit.setdefault("lift", "1 m")
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:1] == ["plant"]:
                for unit in _groups([change.get("value"), change.get("instead_of")]):
                    if "proportioner" in unit:
                        unit.setdefault("lift", "1 m")


_PRODUCT_FEED: Final = {
    "viscosity_at": "20 °C",
    "cold_viscosity": None,
    "cold_at": "5 °C",
    "tolerance": None,
}


def _survey_of_water(data: Data) -> None:
    """Of the water one hour was surveyed; who read it nobody said. A concentrate had one viscosity."""
    site = data.get("site")
    if isinstance(site, dict) and isinstance(site.get("water"), dict):
        for name in ("low_static", "high_static", "winter", "summer", "hardness", "rise"):
            site["water"].setdefault(name, None)
        for name in ("test_reading", "static_reading", "temperature_reading", "hardness_reading"):
            site["water"].setdefault(name, "assumed")
    for design in (data.get("design"), *(a.get("design") for a in _groups(data.get("alternatives")))):
        for product in _groups(design.get("products")) if isinstance(design, dict) else ():
            for name, value in _PRODUCT_FEED.items():
                product.setdefault(name, value)
    for option in _groups(data.get("alternatives")):
        for change in _groups(option.get("changes")):
            place = change.get("place")
            if isinstance(place, list) and place[:1] == ["products"] and len(place) == 2:
                for product in _groups([change.get("value"), change.get("instead_of")]):
                    for name, value in _PRODUCT_FEED.items():
                        product.setdefault(name, value)


_STEPS: Final[Mapping[int, tuple[Callable[[Data], None], ...]]] = {
    1: (_letters, _papers, _line_colours, _demo_marks, _options_as_differences),
    2: (_sheets, _words_of_the_order, _signatures, _presentation),
    3: (_label_sheet, _surroundings, _materials),
    4: (),
    5: (
        _programme,
        _compressor,
        _line_regulators,
        _nozzle_makes,
        _board_feed,
        _survey_of_water,
        _falling_vacuum,
    ),
}
"""By the format they start from; each changes the copy it is given. A step that gives every design a field stands
before the one that turns the options' designs into differences."""


def upgraded(data: Mapping[str, Any]) -> Data:
    """The same in the format of today; what it was made from stays as it was.

    Args:
        data: of a file whose format number is one that this program knows.
    """
    made: Data = copy.deepcopy(dict(data))
    for number in range(int(made["format"]), FORMAT):
        for step in _STEPS[number]:
            step(made)
        made["format"] = number + 1
    return made
