"""The quote as a document: structure, properties, text, sums, and the same bytes every time."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from reportlab.platypus import Flowable

from estimator.acts.issue import issue
from estimator.documents import write as write_module
from estimator.documents.paper import Audience, Chapter, Paper, SheetLayout
from estimator.documents.quote import PAPERS, QUOTE, QuoteError, write_notes, write_quote
from estimator.documents.sheet import Sheet, page_of
from estimator.documents.style import Texts
from estimator.documents.write import write_paper
from estimator.going import Going, Stopped
from estimator.model.edit import with_value
from estimator.model.makers import MakerData, OwnNozzle, OwnPump, PumpPoint
from estimator.money import money_text, round_money
from estimator.shown.figures import figures_of
from estimator.store.pricebooks import shipped_price_book
from estimator.study import Study
from estimator.study import study as study_of
from estimator.units import Dimension, Quantity, UnitSystem, parse
from tests.documents.studies import DAY, book_with, made, pages_of, quoted, raw, reader, strays, text_of

JOBS = ("gannet-quay", "harrow-mill")


@pytest.fixture(scope="module", params=JOBS)
def example(request: pytest.FixtureRequest) -> tuple[Study, bytes]:
    study = made(raw(request.param))
    return study, write_quote(replace(study, on=DAY))


def test_pages_are_numbered_x_of_y(example: tuple[Study, bytes]) -> None:
    pages = pages_of(example[1])
    assert len(pages) > 3
    for number, text in enumerate(pages, start=1):
        assert f"Page {number} of {len(pages)}" in text


def test_paper_size_follows_the_units() -> None:
    # ISO 216: A4 is 210 mm x 297 mm. ANSI/ASME Y14.1: size A (Letter) is 8.5 in x 11 in. Confirmed.
    job = raw()
    for units, size in (("metric", (210 / 25.4 * 72, 297 / 25.4 * 72)), ("us", (612.0, 792.0))):
        job["units"] = units
        for page in reader(quoted(job)).pages:
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(size, abs=0.01)


def test_properties(example: tuple[Study, bytes]) -> None:
    study, pdf = example
    info = reader(pdf).metadata
    assert info is not None
    assert info.creator == "Baydrop"
    assert info.author == study.job.company.name
    assert info.title is not None and study.job.quote.number in info.title
    assert info.title.endswith(study.job.quote.title)
    assert info.subject is not None and study.job.customer.name in info.subject
    keywords = info.get("/Keywords")
    assert keywords is not None
    assert all(product.name in keywords for product in study.job.design.products)
    assert info.creation_date is not None and info.creation_date.date() == DAY
    assert info.modification_date is not None and info.modification_date.date() == DAY


def test_what_it_says_of_itself_in_xmp_is_what_its_properties_say() -> None:
    """ISO 16684-1, read by an independent library; a name with markup comes to no harm."""
    job = raw()
    job["company"]["name"] = "Lane & <b>Sons</b>"
    job["customer"]["name"] = "Quay Жук"
    document = reader(quoted(job))
    xmp, info = document.xmp_metadata, document.metadata
    assert xmp is not None and info is not None
    assert xmp.dc_title == {"x-default": info.title}
    assert xmp.dc_creator == ["Lane & <b>Sons</b>"] == [info.author]
    assert xmp.dc_description is not None and "Quay Жук" in xmp.dc_description["x-default"]
    assert xmp.dc_language == ["en"] and str(document.root_object["/Lang"]) == "en"
    assert xmp.pdf_producer == info.producer and xmp.xmp_creator_tool == info.creator
    assert xmp.xmp_create_date is not None and xmp.xmp_create_date.date() == DAY
    assert set(xmp.dc_subject or ()) >= {product["name"] for product in job["design"]["products"]}


def test_outline_leads_to_the_page_with_the_heading(example: tuple[Study, bytes]) -> None:
    document = reader(example[1])
    pages = pages_of(example[1])
    found: list[str] = []

    def walk(entries: object) -> None:
        assert isinstance(entries, list)
        for entry in entries:
            if isinstance(entry, list):
                walk(entry)
                continue
            found.append(str(entry.title))
            number = document.get_destination_page_number(entry)
            assert number is not None
            assert entry.title in pages[number]

    walk(document.outline)
    # Neither options nor an earlier revision nor a plan on pages of its own: those chapters are not there.
    always = [c.title for c in QUOTE.chapters if c.key not in ("changes", "options", "key")]
    assert [title for title in found if title in always] == always
    assert "Totals" in found and "Plant and board" in found


def test_same_bytes_twice_and_in_other_surroundings() -> None:
    job = raw()
    first, second = quoted(job), quoted(job)
    assert first == second
    code = (
        "import sys, hashlib; from tests.documents.studies import quoted, raw; "
        "print(hashlib.sha256(quoted(raw())).hexdigest())"
    )
    here = hashlib.sha256(first).hexdigest()
    for surroundings in (
        {"TZ": "Pacific/Auckland", "PYTHONHASHSEED": "1"},
        {"SOURCE_DATE_EPOCH": "1234567890", "LC_ALL": "C"},
    ):
        run = subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, **surroundings},
            cwd=Path(__file__).parents[2],
            capture_output=True,
            text=True,
            check=True,
        )
        assert run.stdout.strip() == here


def test_another_day_and_another_job_make_another_file() -> None:
    study = made(raw())
    assert write_quote(replace(study, on=DAY)) != write_quote(replace(study, on=date(2027, 3, 2)))
    job = raw()
    job["customer"]["name"] = "Someone else"
    assert quoted(job) != quoted(raw())


def test_dates() -> None:
    # 30 days from 1 March 2027 are 31 March 2027 (counted by hand).
    job = raw()
    job["terms"]["validity"] = "30 days"
    cover = pages_of(quoted(job))[0]
    assert "Date March 1, 2027" in cover
    assert "Valid until March 31, 2027" in cover
    job["terms"]["locale"] = "de_DE"
    cover = pages_of(quoted(job))[0]
    assert "Date 1. März 2027" in cover
    assert "Valid until 31. März 2027" in cover


def test_own_date_of_the_quote_wins_and_expiry_is_told() -> None:
    job = raw()
    job["quote"]["dated"] = "2027-01-15"
    job["terms"]["validity"] = "30 days"
    text = text_of(quoted(job))
    # 15 January + 30 days = 14 February (counted by hand), which is before the day of printing.
    assert "Valid until February 14, 2027" in text
    assert "Valid until February 14, 2027 – expired" in text
    assert "could be accepted until February 14, 2027 and was printed on March 1, 2027." in text
    assert "This quote expired on February 14, 2027; it can be accepted again once a new revision" in text
    job["quote"]["dated"] = "2027-02-20"
    assert "expired" not in text_of(quoted(job))


def test_dates_past_the_calendar_are_an_error_with_the_field() -> None:
    job = raw()
    job["quote"]["dated"] = "9999-12-31"
    with pytest.raises(QuoteError) as caught:
        quoted(job)
    assert caught.value.findings[0].place == "quote.dated"
    assert "earlier date" in str(caught.value)


def test_sums_on_paper_are_those_of_the_study(example: tuple[Study, bytes]) -> None:
    study, pdf = example
    text = text_of(pdf)
    totals = study.price.totals
    currency, locale = study.price.currency, study.job.terms.locale

    def shown(amount: Decimal) -> str:
        return money_text(amount, currency, locale)

    assert f"Sum of items {shown(totals.rows.likely)}" in text
    assert f"Net amount {shown(totals.net.likely)}" in text
    assert f"Total to pay {shown(totals.total.likely)}" in text
    assert f"on {shown(totals.taxable.likely)}) {shown(totals.tax.likely)}" in text
    assert f"for a total of {shown(totals.total.likely)}" in text
    for section in study.price.sections:
        assert f"{section.section.value}, subtotal {shown(section.price.likely)}" in text
        for row in study.price.rows_of(section.section):
            if row.takeoff.quantity > 0:
                assert row.description in text
                assert shown(row.price.likely) in text


def test_a_table_stands_once_on_a_page_and_repeats_its_head_on_the_next(example: tuple[Study, bytes]) -> None:
    study, pdf = example
    over = 0
    for section in study.price.sections:
        head = f"{section.section.value} Quantity Unit Unit price Price"
        counts = [text.count(head) for text in pages_of(pdf)]
        assert set(counts) <= {0, 1}
        over += sum(counts) > 1
    assert over >= 1


def test_printed_row_prices_add_up_to_the_printed_subtotals() -> None:
    """Read back from the paper alone, as a customer with a pocket calculator would."""
    text = text_of(quoted(raw()))
    start = text.index("Items and prices", text.index("What each bay side gets"))
    part = text[start : text.index("All amounts are in")]
    rows = [Decimal(m.replace(",", "")) for m in re.findall(r"\$[\d.,]+ \$([\d.,]+\d)", part)]
    subtotals = [Decimal(m.replace(",", "")) for m in re.findall(r"subtotal \$([\d.,]+\d)", part)]
    assert len(rows) > 20 and len(subtotals) == 5
    assert sum(rows) == sum(subtotals)
    assert f"Sum of items ${sum(subtotals):,.2f}" in text


def test_discount_is_shown_and_taken_off() -> None:
    job = raw()
    job["terms"]["discount_percent"] = "7.5"
    study = made(job)
    text = text_of(write_quote(replace(study, on=DAY)))
    discount = study.price.totals.discount.likely
    assert discount > 0
    assert f"Discount (7.5 %) -{money_text(discount, 'USD')}" in text
    assert f"Subtotal {money_text(study.price.totals.subtotal.likely, 'USD')}" in text


def test_money_and_numbers_by_locale() -> None:
    job = raw()
    job["terms"]["locale"] = "de_DE"
    study = made(job)
    text = text_of(write_quote(replace(study, on=DAY)))
    # German writes 1.234,56 (Unicode CLDR, de); the figure itself is the study's.
    whole, decimals = f"{study.price.totals.total.likely:,.2f}".split(".")
    assert f"{whole.replace(',', '.')},{decimals}" in text


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize(
    "paper", [p for p in PAPERS if p.audience is not Audience.OFFICE], ids=lambda p: str(p.key)
)
def test_nothing_of_cost_margin_codes_or_ids(name: str, paper: Paper) -> None:
    """Whoever the paper is for, unless it stays in the office."""
    job = raw(name)
    job["terms"]["rule_percent"] = "37.31"
    job["terms"]["contingency_percent"] = "5"
    study = made(job)
    text = text_of(write_paper(paper, replace(study, on=DAY)))
    for row in study.price.rows:
        assert row.takeoff.code not in text
    design = study.job.design
    ids = {d.id for d in design.drops} | {b.id for b in design.bays} | {u.tank for u in design.plant}
    assert not ids & set(re.findall(r"[\w-]+", text))
    inner = r"\b(costs?|margins?|markups?|mark-up|profit)\b"
    assert not re.search(inner, text, re.IGNORECASE)
    # The basis of design speaks of pressures that are too low or too high, never of amounts.
    before, _, basis = text.rpartition("Basis of design")
    assert not re.search(r"\b(low|likely|high)\b", before, re.IGNORECASE)
    assert "$" not in basis
    assert "37.31" not in text and "37,31" not in text
    totals = study.price.totals
    selling = {f"{a:,.2f}" for row in study.price.rows for a in (row.price.likely, row.unit_price)}
    selling |= {f"{s.price.likely:,.2f}" for s in study.price.sections}
    hidden = [totals.cost.low, totals.cost.likely, totals.cost.high, totals.total.low, totals.total.high]
    hidden += [totals.rows.low, totals.rows.high, totals.net.low, totals.net.high]
    hidden += [s.cost.likely for s in study.price.sections]
    hidden += [s.price.low for s in study.price.sections] + [s.price.high for s in study.price.sections]
    hidden += [row.cost.likely for row in study.price.rows if row.cost.likely > 100]
    figures = set(re.findall(r"\d[\d,]*\.\d\d", text))
    for amount in hidden:
        shown = f"{amount:,.2f}"
        if shown not in selling:
            assert shown not in figures


@pytest.mark.parametrize("name", JOBS)
@pytest.mark.parametrize(
    "paper", [p for p in PAPERS if p.audience is Audience.CREW], ids=lambda p: str(p.key)
)
def test_no_price_on_a_paper_for_the_crew(name: str, paper: Paper) -> None:
    study = made(raw(name))
    text = text_of(write_paper(paper, replace(study, on=DAY)))
    assert not re.search(r"[$€£]|\b(USD|EUR|prices?|total to pay|tax|discount)\b", text, re.IGNORECASE)
    prices = {f"{a:,.2f}" for row in study.price.rows for a in (row.price.likely, row.unit_price) if a}
    assert prices and not prices & set(re.findall(r"\d[\d,]*\.\d\d", text))


def test_unit_price_times_quantity_is_the_row() -> None:
    """133.7 ft of tube at $1.14 make $152.42 and the row said $152.00; 32 of 42 rows in US units missed like it."""
    for units in ("metric", "us"):
        job = raw()
        job["units"] = units
        study = made(job)
        figures = figures_of(study.job)
        checked = 0
        for row in study.price.rows:
            if not row.takeoff.quantity:
                continue
            quantity, _ = figures.quantity(row.takeoff.quantity, row.unit)
            unit = figures.unit_price(row.price.likely, row.takeoff.quantity, row.unit)
            amount = Decimal(quantity.replace(",", "")) * Decimal(unit.replace(",", "").removeprefix("$"))
            assert round_money(amount, "USD") == row.price.likely, row.description
            checked += 1
        assert checked > 30


def test_the_taxable_amount_can_be_added_up_from_the_paper() -> None:
    """Tax on material alone, 5 % allowance and 4 % discount: every term of the sum stands on the paper."""
    job = raw()
    job["terms"] |= {"tax_percent": "7", "discount_percent": "4"}
    study = made(job)
    text = text_of(write_quote(replace(study, on=DAY)))

    def amount(words: str) -> Decimal:
        return Decimal(words.replace(",", ""))

    parts = [amount(a) for a in re.findall(r"Taxable part of these \$([\d,]+\.\d\d)", text)]
    sums = r"\$([\d,]+\.\d\d) of the items, \$([\d,]+\.\d\d) of the allowance, less \$([\d,]+\.\d\d) of the discount"
    found = re.search(rf"Taxable of it: {sums} \$([\d,]+\.\d\d)", text)
    assert found is not None
    items, allowance, discount, taxable = map(amount, found.groups())
    assert sum(parts) == items
    assert items + allowance - discount == taxable == study.price.totals.taxable.likely
    assert f"(7\xa0% on ${taxable:,.2f})" in text or f"(7 % on ${taxable:,.2f})" in text
    assert 0 < taxable < study.price.totals.net.likely


def _bar(text: str) -> Quantity:
    return parse(text, Dimension.PRESSURE)


def test_makers_parts_print_by_their_names() -> None:
    """Keys of a person's own nozzle, pump and proportioner stood on the paper, or nothing at all."""
    plain = made(raw()).job
    makers = MakerData(
        pumps=(
            OwnPump(
                key="own-pump",
                name="Quiet twin pump",
                points=tuple(
                    PumpPoint(air=_bar("5 bar"), flow=parse(flow, Dimension.FLOW), discharge=_bar(pressure))
                    for flow, pressure in (("2 L/min", "4.6 bar"), ("8 L/min", "3.6 bar"))
                ),
            ),
        ),
        nozzles=(OwnNozzle(key="own-7", name="Fine fan 7"),),
    )
    job = with_value(plain, ("design", "makers"), makers)
    job = with_value(job, ("design", "plant", 0, "pump"), "own-pump")
    job = with_value(job, ("design", "drops", 0, "nozzle_size"), "own-7")
    text = text_of(write_quote(study_of(job, shipped_price_book(), DAY)))
    assert "Quiet twin pump" in text
    assert text.count("Fine fan 7") >= 2
    assert "own-7" not in text and "own-pump" not in text


def test_demo_prices_are_told_and_only_they() -> None:
    told = "prices in this document come from demo data"
    assert told in text_of(quoted(raw()))
    # Neither a supplier's name nor a word of the source makes a price an invented one.
    own = made(raw(), book_with(source="Demopark supply, list of newly invented parts", demo=False))
    assert told not in text_of(write_quote(replace(own, on=DAY)))
    marked = made(raw(), book_with(source="supplier list, March", demo=True))
    assert told in text_of(write_quote(replace(marked, on=DAY)))


def test_a_missing_price_is_open_and_never_a_zero() -> None:
    book = book_with()
    code = made(raw()).price.rows[0].takeoff.code
    poorer = book.model_copy(update={"entries": tuple(e for e in book.entries if e.code != code)})
    study = made(raw(), poorer)
    assert not study.price.complete
    text = text_of(write_quote(replace(study, on=DAY)))
    assert "This quote is not complete: one item marked “to be confirmed” has no price yet" in text
    assert text.count("to be confirmed") >= 2
    assert "to be confirmed" not in text_of(quoted(raw()))


def test_scope_of_the_new_system_in_words() -> None:
    # Hand count from the job: 3 bays, both sides; 4 + 4 + 4 + 2 + 2 = 16 liquid drops and 6 of air.
    text = text_of(quoted(raw()))
    assert "22 hose drops at six bay sides in three bays: 16 for liquids and 6 for compressed air." in text
    assert "Five products are made at the plant board on the west wall" in text
    for product in (
        "Alkaline foam pre-wash 40:1",
        "Insect and tar remover 8:1",
        "Citrus degreaser 15:1",
        "Glass and mirror cleaner 6:1",
        "Interior sanitiser (quaternary) 64:1",
    ):
        assert product in text
    assert "What stays" not in text and "Existing parts" not in text


def test_scope_of_the_upgrade_tells_what_stays() -> None:
    text = text_of(quoted(raw("harrow-mill")))
    assert "What stays" in text
    assert "Four hose drops with their hoses, guns and nozzles" in text
    assert "Existing parts that stay, not charged" in text
    study = made(raw("harrow-mill"))
    assert sum(d.existing for d in study.job.design.drops) == 4


def test_us_paper_has_lengths_in_feet() -> None:
    text = text_of(quoted(raw("harrow-mill")))
    study = made(raw("harrow-mill"))
    # 1 ft = 0.3048 m exactly (NIST SP 811, appendix B). Confirmed.
    tube = sum(line.length_m for line in study.layout.lines) / 0.3048
    assert f"{tube:.0f} ft of tube in all" in text
    assert not re.search(r"\d\s(m|bar)\b", text) and "m/s" not in text
    # 1.2 m / 0.3048 = 3.94 ft; the survey's 55 °F stands as it was typed.
    assert "Guns are held 4 ft above the floor. Tube is drawn plastic (0.000059 in)." in text


def test_safety_notes_follow_the_job() -> None:
    job = raw()
    # 30 psi (29 CFR 1910.242(b)) is 2.07 bar; the job is metric.
    assert "Compressed air. Air for cleaning must stay below 2.07 bar" in text_of(quoted(job))
    job["design"]["drops"] = [d for d in job["design"]["drops"] if d["service"] != "air"]
    text = text_of(quoted(job))
    assert "Safety notes" in text
    assert "Compressed air. Air for cleaning" not in text
    assert "from memory" not in text and "second-hand" not in text


def test_acceptance_has_both_parties_and_lines_to_sign() -> None:
    study = made(raw())
    text = text_of(write_quote(replace(study, on=DAY)))
    block = text[text.index("The customer orders the work of") :]
    assert study.job.customer.name in block and study.job.company.name in block
    assert block.count("Signature") == 2
    assert f"quote {study.job.quote.number}, draft, dated" in block


def test_an_empty_job_still_prints() -> None:
    text = text_of(quoted({}))
    assert "no hose drops yet" in text
    assert "Customer not named yet" in text and "not numbered yet" in text
    assert "Total to pay" in text


def test_a_paper_is_laid_out_once_and_its_number_of_pages_is_right(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever was printed before; the number stands on each page, at its right edge, when all pages are there."""
    made_story = write_module._story
    printings: list[Paper] = []

    def counted(paper: Paper, sheet: Sheet, going: Going) -> tuple[SheetLayout, list[Flowable]]:
        printings.append(paper)
        return made_story(paper, sheet, going)

    monkeypatch.setattr(write_module, "_story", counted)
    few = raw()
    few["design"]["drops"] = few["design"]["drops"][:1]
    long, short = made(raw()), made(few)
    papers = [write_quote(study) for study in (long, short, long, short)]
    assert len(printings) == len(papers)
    assert papers[:2] == papers[2:]
    lengths = [len(pages_of(paper)) for paper in papers]
    assert lengths[0] != lengths[1]
    for paper, length in zip(papers[:2], lengths, strict=False):
        for i, text in enumerate(pages_of(paper), start=1):
            assert text.count(f"Page {i} of {length}") == 1


def test_a_text_like_the_place_of_the_foot_is_text() -> None:
    job = raw()
    job["quote"]["notes"] = "first line\n% foot\nlast line"
    text = text_of(quoted(job))
    assert "% foot" in text and "Page 1 of" in text


def test_a_chapter_that_lies_begins_a_page_of_its_own_and_keeps_its_margins() -> None:
    """Portrait, landscape, portrait; each page has its head and foot where its own size has them."""

    def says(word: str) -> Callable[[Sheet], list[Flowable]]:
        return lambda sheet: [sheet.text(word, Texts.BODY)]

    chapters = (
        Chapter("a", "A", says("first")),
        Chapter("b", "B", says("second"), layout=lambda _: SheetLayout.LANDSCAPE),
        Chapter("c", "C", says("third")),
    )
    pdf = write_paper(Paper("demo", "Demo", Audience.OFFICE, chapters), made(raw()))
    pages = [(float(p.mediabox.width), float(p.mediabox.height)) for p in reader(pdf).pages]
    upright, lying, again = pages
    assert upright == again and lying == upright[::-1] and upright[0] < upright[1]
    for text, word in zip(pages_of(pdf), ("first", "second", "third"), strict=True):
        assert word in text and "Demo LR-2026-041" in text and "of 3" in text
    page = page_of(UnitSystem.METRIC)
    assert strays(pdf, page.side, page.top / 2, page.foot / 3) == []


def test_the_crew_has_its_paper_whatever_the_currency_was() -> None:
    """What moved in the price since a revision is no business of theirs: another currency kept their paper back."""
    whole = issue(made(raw()), "First", lambda _: b"%PDF")
    euro = with_value(whole, ("terms", "currency"), "EUR")
    study = study_of(euro, shipped_price_book(), DAY)
    with pytest.raises(QuoteError, match="Currency"):
        write_quote(study)
    text = text_of(write_notes(study))
    assert "In an emergency" in text and "DRAFT" in text


class _Leaving(Going):
    """Counts the questions, and is left at one of them."""

    def __init__(self, at: int) -> None:
        super().__init__()
        self.asked, self._at = 0, at

    def check(self) -> None:
        self.asked += 1
        if self.asked == self._at:
            self.leave()
        super().check()


def test_a_paper_that_nobody_waits_for_ends_at_the_next_question(example: tuple[Study, bytes]) -> None:
    """Asked at each paragraph that is made or measured and at each page: nothing in between grows with the job."""
    study, pdf = example
    going = _Leaving(0)
    assert write_quote(replace(study, on=DAY), going) == pdf
    pages = len(reader(pdf).pages)
    paragraphs = len(study.price.rows) + len(study.proof.drops)  # each has at least one
    assert going.asked > 2 * paragraphs + pages
    for at in (1, going.asked // 3, 2 * going.asked // 3, going.asked):
        leaving = _Leaving(at)
        with pytest.raises(Stopped):
            write_quote(replace(study, on=DAY), leaving)
        assert leaving.asked == at


@pytest.mark.parametrize(
    ("make", "words"),
    [
        ("make-ceramic", "size 02, PVDF with ceramic insert and PTFE gasket"),
        ("make-plastic-fkm", "size 02, plastic with FKM gasket"),
        ("make-plastic", "size 02 1 Citrus"),
    ],
)
def test_what_a_nozzle_is_made_of_is_told_where_it_is_not_the_usual(make: str, words: str) -> None:
    job = raw()
    for drop in job["design"]["drops"]:
        if drop["service"] == "remover":
            drop["nozzle_make"] = make
    assert words in text_of(quoted(job))
