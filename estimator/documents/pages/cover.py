"""Cover: who quotes whom, number, revision, dates, the sum, how big the job is, and what can hurt people."""

from __future__ import annotations

from typing import Final

from reportlab.platypus import Flowable, HRFlowable, Spacer, Table, TableStyle

from estimator.documents.choices import TO_BE_CONFIRMED, choices_of
from estimator.documents.logo import logo_on_page
from estimator.documents.pages.open_points import on_cover
from estimator.documents.paper import Chapter
from estimator.documents.sheet import Elsewhere, Heading, Sheet, boxed
from estimator.documents.style import PALE, RULE, Texts
from estimator.model.party import Company, Party
from estimator.shown.cautions import cautions

__all__ = ["COVER"]

_LINES_AT_MOST = 7
_OPTIONS_AT_MOST = 6
_PLAIN: Final = (
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
)


def _address(typed: str) -> str:
    lines = [line.strip() for line in typed.splitlines() if line.strip()]
    # An address of very many lines is run together, so that the block stays a block.
    return "\n".join(lines) if len(lines) <= _LINES_AT_MOST else ", ".join(lines)


def _named(sheet: Sheet, party: Party, unnamed: str) -> list[Flowable]:
    """Who and where."""
    told = (party.contact.strip(), _address(party.address))
    block: list[Flowable] = [sheet.text(party.name.strip() or unnamed, Texts.CELL_STRONG)]
    return [*block, *(sheet.text(text, Texts.CELL) for text in told if text)]


def _reached(sheet: Sheet, party: Party) -> list[Flowable]:
    """How to reach them, and the numbers of a company."""
    told = [party.phone.strip(), party.email.strip()]
    if isinstance(party, Company):
        numbers = (("Licence number", party.licence), ("Tax number", party.tax_number))
        told += [f"{label} {number.strip()}" for label, number in numbers if number.strip()]
    return [sheet.text(text, Texts.CELL) for text in told if text]


def _letterhead(sheet: Sheet) -> list[Flowable]:
    """The company's names on the left, what it is reached by on the right."""
    company, width = sheet.study.job.company, sheet.page.text_width
    block = Table(
        [[_named(sheet, company, "Company not named yet"), "", _reached(sheet, company) or ""]],
        colWidths=[width * 0.48, width * 0.06, width * 0.46],
        style=TableStyle(_PLAIN),
        splitInRow=1,
    )
    return [logo_on_page(company.logo), Spacer(1, 6), block] if company.logo else [block]


def _site(sheet: Sheet) -> list[Flowable]:
    """Where the work is done, if not at the customer's address."""
    address = _address(sheet.study.job.quote.site_address)
    if not address:
        return []
    return [Spacer(1, 6), sheet.text("Place of the work", Texts.LABEL), sheet.text(address, Texts.CELL)]


def _facts(sheet: Sheet) -> Table:
    quote = sheet.study.job.quote
    rows = [
        ("Quote number", quote.number.strip() or "not numbered yet"),
        ("Revision", sheet.mark.letter or sheet.mark.name),
        ("Date", sheet.figures.day(sheet.dated)),
        ("Valid until", sheet.figures.day(sheet.valid_until) + (" – expired" if sheet.expired else "")),
    ]
    if ordered := quote.order_number.strip():
        rows.append(("Your order", ordered))
    if not sheet.mark.is_draft:
        rows.append(("Fingerprint", sheet.mark.short))
    return Table(
        [[sheet.text(name, Texts.LABEL), sheet.text(value, Texts.CELL_STRONG)] for name, value in rows],
        colWidths=[sheet.page.text_width * 0.15, sheet.page.text_width * 0.31],
        style=TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2),
                ("TOPPADDING", (0, 0), (-1, -1), 1.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
            ]
        ),
    )


def _glance(sheet: Sheet) -> Table:
    study = sheet.study
    design = study.job.design
    total = sheet.figures.money(study.price.totals.total.likely)
    cells = [
        ("Bays", str(len({d.bay for d in design.drops}))),
        ("Bay sides", str(len(study.layout.stations))),
        ("Products", str(len(design.products))),
        ("Hose drops", str(len(design.drops))),
    ]
    rows = [
        [sheet.text(name, Texts.LABEL) for name, _ in cells]
        + [sheet.text("Total to pay, base option" if sheet.enclosed.offers else "Total to pay", Texts.LABEL)],
        [sheet.text(value, Texts.BIG) for _, value in cells] + [sheet.text(total, Texts.BIG)],
    ]
    width = sheet.page.text_width
    return Table(
        rows,
        colWidths=[width * 0.155] * 4 + [width * 0.38],
        style=TableStyle(
            [
                ("BACKGROUND", (0, 0), (-1, -1), PALE),
                ("LINEBEFORE", (1, 0), (-1, -1), 0.6, RULE),
                ("LEFTPADDING", (0, 0), (-1, -1), 8),
                ("TOPPADDING", (0, 0), (-1, 0), 6),
                ("BOTTOMPADDING", (0, 0), (-1, 0), 0),
                ("TOPPADDING", (0, 1), (-1, 1), 0),
                ("BOTTOMPADDING", (0, 1), (-1, 1), 8),
            ]
        ),
        spaceBefore=10,
        spaceAfter=8,
    )


def _choices(sheet: Sheet) -> list[Flowable]:
    """The sum of every option that can be ordered, boxed; nothing where there is nothing to choose."""
    choices = choices_of(sheet)
    if len(choices) < 2:
        return []
    money, width = sheet.figures.money, sheet.page.text_width
    rows: list[list[Flowable]] = [
        [
            sheet.text(choice.name, Texts.CELL),
            sheet.text(money(choice.total) if choice.complete else TO_BE_CONFIRMED, Texts.NUMBER_STRONG),
        ]
        for choice in choices[:_OPTIONS_AT_MOST]
    ]
    if (more := len(choices) - _OPTIONS_AT_MOST) > 0:
        rows.append(
            [sheet.text(f"and {more} more under “Options”", Texts.CELL), sheet.text("", Texts.NUMBER)]
        )
    head = sheet.text("To choose from, total to pay:", Texts.LABEL)
    table = Table(
        rows,
        colWidths=[width * 0.62, width * 0.38],
        style=TableStyle(
            [
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 8),
                ("TOPPADDING", (0, 0), (-1, -1), 1.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
                ("LINEBELOW", (0, 0), (-1, -1), 0.4, RULE),
            ]
        ),
        spaceBefore=2,
        spaceAfter=8,
    )
    return [head, table]


def warnings(sheet: Sheet) -> list[Flowable]:
    """What a reader must know about the figures, boxed; none where all is well."""
    price = sheet.study.price
    found: list[str] = []
    if any(row.takeoff.quantity > 0 and row.demo for row in price.rows):
        found.append("The prices in this document come from demo data: they are invented and bind nobody.")
    if not price.complete:
        open_rows = sum(1 for row in price.rows if not row.known and row.takeoff.quantity > 0)
        found.append(
            f"This quote is not complete: {sheet.figures.count(open_rows, 'item')} marked “to be confirmed” "
            f"{'has' if open_rows == 1 else 'have'} no price yet and {'is' if open_rows == 1 else 'are'} in no "
            "total."
        )
    if sheet.expired:
        found.append(
            f"This quote has expired: it could be accepted until {sheet.figures.day(sheet.valid_until)} and was "
            f"printed on {sheet.figures.day(sheet.on)}. Ask for a new revision."
        )
    return [boxed([sheet.text(text, Texts.CELL_STRONG)], sheet.page.text_width, whole=True) for text in found]


def _to_the_notes(sheet: Sheet) -> list[Flowable]:
    """Where what the products can do stands even where nothing is open: that a concentrate burns is no open point."""
    if not cautions(sheet.study, sheet.say):
        return []
    words = "What can hurt people in use, and what to do in an emergency: safety notes"
    return [Elsewhere(sheet, words, "safety", Texts.CELL_STRONG)]


def _story(sheet: Sheet) -> list[Flowable]:
    job = sheet.study.job
    width = sheet.page.text_width
    title = job.quote.title.strip()
    parties = Table(
        [
            [sheet.text("Offered to", Texts.LABEL), "", ""],
            [
                [
                    *_named(sheet, job.customer, "Customer not named yet"),
                    *_reached(sheet, job.customer),
                    *_site(sheet),
                ],
                "",
                _facts(sheet),
            ],
        ],
        colWidths=[width * 0.48, width * 0.06, width * 0.46],
        style=TableStyle(_PLAIN),
        splitInRow=1,
        spaceBefore=8,
        spaceAfter=4,
    )
    return [
        *_letterhead(sheet),
        Spacer(1, 4),
        HRFlowable(width="100%", thickness=1.2, color=RULE, spaceBefore=4, spaceAfter=12),
        Heading(sheet, "Quote", "cover", prose=Texts.TITLE),
        *([sheet.text(title, Texts.SUBTITLE)] if title else []),
        Spacer(1, 6),
        parties,
        _glance(sheet),
        *_choices(sheet),
        *on_cover(sheet),
        *_to_the_notes(sheet),
        *warnings(sheet),
    ]


COVER = Chapter("cover", "Quote", _story)
