"""Any name prints as itself, wraps, and never reaches a parser; what cannot print is told."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest

from estimator.acts.options import with_option
from estimator.cli import main
from estimator.documents.faces import cannot_print
from estimator.documents.quote import QuoteError, unprintable, write_quote
from estimator.documents.sheet import page_of
from estimator.model.edit import value_at, with_value
from estimator.model.makers import MakerData, OwnNozzle
from estimator.store.jobs import save_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.documents.studies import DAY, made, packed, pages_of, quoted, raw, reader, strays, text_of
from tests.every_field import changed
from tests.hostile import harmless, hostile_job

MARKUP = (
    '<b>Bold</b> & Sons <img src="file:///etc/passwd"/>',
    "</para><font color='red'>",
    "&lt;i&gt; &amp; &#65;",
    '<a href="javascript:alert(1)">x</a>',
    "{0} %s ${HOME} =1+1",
)

SCRIPTS = {
    "Latin": "Łódź Ærøskøbing Ğüneş Ñandú Þór Šťastný Đặng Ẹ̀kọ́"[:46],
    "Greek": "Καθαρισμός Οχημάτων Άλφα",
    "Greek, polytonic": "ἀρχὴ ὑδάτων",
    "Cyrillic": "Мойка «Чайка» Ґанок Їжак Ћуприја",
    "Mixed": "Gannet Мойка Ωμέγα",
}


def _named(name: str) -> dict[str, Any]:
    job = raw()
    job["customer"]["name"] = name
    job["company"]["name"] = name
    job["quote"]["title"] = name
    job["quote"]["notes"] = name
    job["design"]["products"][0]["name"] = name
    job["design"]["bays"][0]["name"] = name
    job["terms"]["tax_name"] = name
    job["terms"]["assumptions"] = [name]
    job["terms"]["exclusions"] = [name]
    return job


def _times(pages: int) -> int:
    """How often a name of `_named` must stand on so many pages, at the least.

    Footer of every page and header of all but the first; then customer and company (cover, acceptance: 4), title,
    notes, tax, assumption, exclusion (5), the product (scope, key, sides, row, safety: 5).
    """
    return 2 * pages - 1 + 14


@pytest.mark.parametrize("name", MARKUP)
def test_markup_prints_as_itself(name: str) -> None:
    pages = pages_of(quoted(_named(name)))
    assert packed(" ".join(pages)).count(packed(name)) >= _times(len(pages))
    assert "root:" not in " ".join(pages)


@pytest.mark.parametrize("name", SCRIPTS.values(), ids=SCRIPTS.keys())
def test_scripts_print_as_themselves(name: str) -> None:
    import unicodedata

    study = made(_named(name))
    assert unprintable(study) == ()
    pages = reader(write_quote(replace(study, on=DAY))).pages
    text = packed("".join(page.extract_text() for page in pages))
    assert text.count(packed(unicodedata.normalize("NFC", name))) >= _times(len(pages))


def test_embedded_fonts_are_subsets() -> None:
    pdf = quoted(raw())
    # Each font of the package is some 200 kB as a whole; what is embedded of it are the letters that are set.
    document = reader(pdf)
    sizes = []
    for number in range(1, len(document.xref[0])):
        told = document.get_object(number)
        if isinstance(told, pypdf.generic.DictionaryObject) and "/FontFile2" in told:
            font = told["/FontFile2"].get_object()
            assert isinstance(font, pypdf.generic.StreamObject)
            sizes.append(len(font.get_data()))
    assert len(sizes) == 2 and max(sizes) < 40_000, sizes


@pytest.mark.parametrize(
    ("place", "label", "character", "code", "name"),
    [
        ("customer.name", "Customer, Name", "\U0001f697", "U+1F697", "AUTOMOBILE"),
        ("company.address", "Company, Address", "\u05d0", "U+05D0", "HEBREW LETTER ALEF"),
        ("quote.title", "Quote, Job title", "\u0e01", "U+0E01", "THAI CHARACTER KO KAI"),
        ("terms.tax_name", "Terms, Tax name", "\ue000", "U+E000", "unnamed"),
        ("design.products.1.name", "Products 2, Product", "\u0627", "U+0627", "ARABIC LETTER ALEF"),
        ("design.bays.2.name", "Bays 3, Bay", "\u2603\ufe0f", "U+FE0F", "VARIATION SELECTOR-16"),
        ("terms.exclusions.0", "Terms, Exclusions 1", "\u200b", "U+200B", "ZERO WIDTH SPACE"),
    ],
)
def test_unprintable_names_field_and_character(
    place: str, label: str, character: str, code: str, name: str
) -> None:
    job = raw()
    job["terms"]["exclusions"] = ["Permits."]
    target: Any = job
    *steps, last = (int(s) if s.isdigit() else s for s in place.split("."))
    for step in steps:
        target = target[step]
    target[last] = f"Before {character} after"
    study = made(job)
    findings = [f for f in unprintable(study) if f.place == place]
    assert len(findings) == 1
    assert findings[0].message.startswith(label)
    assert f"{code} ({name})" in findings[0].message
    with pytest.raises(QuoteError) as caught:
        write_quote(replace(study, on=DAY))
    assert place in {f.place for f in caught.value.findings}


FOREIGN = {
    "Arabic": "مغسلة",
    "Hebrew": "מכבסה",
    "emoji": "wash \U0001f697",
    "a control for direction": "a\u202eb",
    "Chinese": "车辆清洗中心",
    "Japanese": "みなと洗車",
    "Korean": "부두 세차",
}
NOT_PRINTED = re.compile(r"design\.(lines|pinned|makers)|terms\.extras\.0\.tax|.*\.(id|key)$")
"""Places whose text stands on no paper of this job: what refers to something, and parts that it does not use."""


@pytest.mark.parametrize("text", FOREIGN.values(), ids=FOREIGN.keys())
def test_every_field_that_is_printed_is_refused_by_its_name(text: str) -> None:
    """Each field that takes any text, one after the other."""
    job, put = hostile_job(harmless)
    whole = study(job, shipped_price_book(), STUDIED)
    asked = 0
    for place in put:
        path = tuple(int(step) if step.isdigit() else step for step in place.split("."))
        several = isinstance(value_at(job, path), tuple)
        new = changed(job, path, (text,) if several else text)
        if new is None or NOT_PRINTED.match(place):
            continue
        found = unprintable(replace(whole, job=new))
        assert {f.place for f in found} == {f"{place}.0" if several else place}
        assert "No font for others" in found[0].message and "U+" in found[0].message
        asked += 1
    assert asked > 35


def test_no_field_takes_a_control_character() -> None:
    job, put = hostile_job(harmless)
    for place in put:
        path = tuple(int(step) if step.isdigit() else step for step in place.split("."))
        text = "a\x07b"
        assert changed(job, path, (text,) if isinstance(value_at(job, path), tuple) else text) is None, place


def test_a_makers_part_is_refused_where_it_is_used() -> None:
    """Its name stands among the items: the printing ended with a code point and no field."""
    plain = made(raw()).job
    makers = MakerData(nozzles=(OwnNozzle(key="own-7", name="فوهة"),))
    job = with_value(plain, ("design", "makers"), makers)
    assert unprintable(study(job, shipped_price_book(), STUDIED)) == ()
    job = with_value(job, ("design", "drops", 0, "nozzle_size"), "own-7")
    whole = study(job, shipped_price_book(), STUDIED)
    assert {f.place for f in unprintable(whole)} == {"design.makers.nozzles.0.name"}
    # In an offered option alone no field is known, and the text is told all the same.
    other, _ = with_option(plain, "Another", with_value(job, ("quote", "notes"), "").design, offered=True)
    with pytest.raises(QuoteError, match="cannot be printed"):
        write_quote(study(other, shipped_price_book(), STUDIED))


@pytest.mark.parametrize(("field", "label"), [("name", "Customer, Name"), ("address", "Customer, Address")])
def test_the_command_line_says_which_field(
    field: str,
    label: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job = made(raw()).job
    save_job(tmp_path / "job.baydrop", with_value(job, ("customer", field), "מכבסה"))
    for command in ("quote", "safety", "labels"):
        paper = tmp_path / f"{command}-draft.pdf"
        day = ["--date", STUDIED.isoformat()]
        assert main([command, str(tmp_path / "job.baydrop"), "--pdf", str(paper), *day]) == 2
        said = capsys.readouterr().err
        assert label in said and "HEBREW LETTER" in said and not paper.exists()


def test_unprintable_locale_is_told() -> None:
    job = raw()
    job["terms"]["locale"] = "ar_EG"
    places = {f.place for f in unprintable(made(job))}
    assert places == {"terms.locale"}


def test_examples_have_nothing_unprintable() -> None:
    for name in ("gannet-quay", "harrow-mill"):
        assert unprintable(made(raw(name))) == ()


def test_spaces_of_any_kind_print_as_spaces() -> None:
    assert cannot_print("a\u202fb\u2007c\u3000d\te") == ()


@pytest.mark.parametrize("system", list(UnitSystem))
@pytest.mark.parametrize("name", ["W" * 120, "ш" * 120, "Καθαρισμός" * 12, "i" * 119 + "W"])
def test_long_names_wrap_inside_the_margins(name: str, system: UnitSystem) -> None:
    job = _named(name)
    job["units"] = system.value
    job["quote"]["number"] = name
    for block in ("company", "customer"):
        for field in ("contact", "phone", "email"):
            job[block][field] = name
    for item in (*job["design"]["products"], *job["design"]["bays"]):
        item["name"] = name
    pdf = quoted(job)
    paper = page_of(system)
    assert strays(pdf, paper.side - 1, 20.0, 20.0) == []
    # A page's end may part a name from its rest, so the printed characters are counted: of ten names and more.
    printed = Counter(packed(text_of(pdf)))
    assert all(printed[c] >= 10 * name.count(c) for c in set(name))


def test_longest_texts_split_over_pages() -> None:
    job = raw()
    long = "ЖФЩЮ" * 500
    job["company"]["address"] = long
    job["customer"]["address"] = "\n".join("x" for _ in range(1000))
    job["quote"]["notes"] = long
    job["terms"]["assumptions"] = [long] * 6
    job["terms"]["exclusions"] = ["word " * 399] * 6
    pdf = quoted(job)
    # Address, notes and six assumptions, each with 500 of every character.
    printed = Counter("".join(page.extract_text() for page in reader(pdf).pages))
    assert [printed[c] for c in "ЖФЩЮ"] == [8 * 500] * 4
    assert printed["x"] >= 1000
    paper = page_of(UnitSystem.METRIC)
    assert strays(pdf, paper.side - 1, 20.0, 20.0) == []
