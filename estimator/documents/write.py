"""Any paper as a PDF: chapters in order on numbered pages, the same bytes for the same study and day."""

from __future__ import annotations

import hashlib
import math
import re
from dataclasses import replace
from datetime import date
from io import BytesIO
from typing import Final

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
)

from estimator.documents.enclosed import Enclosed, enclose
from estimator.documents.faces import PLAIN, STRONG, CannotPrintError, fit, printed, width_pt
from estimator.documents.label_grid import label_grid
from estimator.documents.numbered import Foot, NumberedCanvas
from estimator.documents.paper import Audience, Paper, SheetLayout
from estimator.documents.printable import unprintable, unprintable_enclosed, unprintable_text
from estimator.documents.refused import QuoteError
from estimator.documents.sheet import PageSize, Sheet, last_day, page_of, together
from estimator.documents.style import PALE, QUIET, RULE, Texts
from estimator.documents.xmp import About, packet
from estimator.going import ALONE, Going
from estimator.model.called import service_names
from estimator.model.design import AIR
from estimator.model.finding import Amount, Finding, Severity, facts
from estimator.model.issued import Issued, handed
from estimator.pricing.compare import CompareError
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of
from estimator.shown.papers import Mark, draft_mark, mark_of
from estimator.study import Study

__all__ = ["QuoteError", "write_paper"]

_SMALL: Final = 8.0
_DRAFT: Final = 150.0
_OTHERS: Final = {
    SheetLayout.PORTRAIT: (SheetLayout.LANDSCAPE,),
    SheetLayout.LANDSCAPE: (SheetLayout.PORTRAIT,),
}
_ID: Final = re.compile(rb"\[<[0-9a-f]{32}><[0-9a-f]{32}>\]")


def _sheet(paper: Paper, study: Study, dated: date, enclosed: Enclosed, mark: Mark, going: Going) -> Sheet:
    job, on = study.job, study.on
    try:
        valid_until = last_day(dated, job.terms.validity.si)
    except OverflowError:
        raise QuoteError(
            (
                Finding(
                    Severity.ERROR,
                    "quote.dated",
                    "paper-date",
                    "Quote, Date: {dated} with a validity of {validity} passes the end of the calendar; give an "
                    "earlier date.",
                    facts=facts(dated=dated, validity=Amount.of(job.terms.validity)),
                ),
            )
        ) from None
    figures = figures_of(job)
    return Sheet(
        study=study,
        on=on,
        dated=dated,
        valid_until=valid_until,
        page=page_of(job.units),
        figures=figures,
        texts=Texts(going),
        enclosed=enclosed,
        say=sentences_of(study),
        mark=mark,
        noun=paper.title,
        services=service_names(job.design),
    )


def _string(canvas: Canvas, x: float, y: float, text: str, face: str) -> None:
    canvas.setFont(face, _SMALL)
    canvas.drawString(x, y, printed(text))


def _draft_across(canvas: Canvas, page: PageSize) -> None:
    """The word in pale letters from corner to corner, under what is printed."""
    canvas.saveState()
    canvas.setFillColor(PALE)
    canvas.translate(page.width / 2, page.height / 2)
    canvas.rotate(math.degrees(math.atan2(page.text_height, page.text_width)))
    canvas.setFont(STRONG, _DRAFT)
    canvas.drawCentredString(0, -_DRAFT / 3, "DRAFT")
    canvas.restoreState()


def _written(canvas: Canvas, x: float, y: float, text: str) -> str:
    """The operators that set a text in small letters."""
    written = canvas.beginText(x, y)
    written.setFont(PLAIN, _SMALL)
    written.textOut(printed(text))
    return str(written.getCode())


def _foot(sheet: Sheet, size: PageSize, y: float) -> Foot:
    """What it is on the left, the number of the page on the right."""
    right = size.width - size.side
    # What it is comes first: a long name must not push it off the page.
    state = "DRAFT" if sheet.mark.is_draft else f"{sheet.mark.name}, fingerprint {sheet.mark.short}"
    name = sheet.study.job.customer.name.strip()
    left = " · ".join(t for t in (state, sheet.figures.day(sheet.dated), name) if t)

    def foot(canvas: Canvas, page: int, pages: int) -> str:
        number = f"Page {page} of {pages}"
        wide = width_pt(number, PLAIN, _SMALL)
        fitted = fit(left, PLAIN, _SMALL, size.text_width - wide - 24)
        return "\n".join(
            (
                _written(canvas, right - wide, y, number),
                _written(canvas, size.side, y, fitted),
            )
        )

    return foot


def _furniture(canvas: NumberedCanvas, sheet: Sheet, size: PageSize, head: bool) -> None:
    """Header and footer."""
    job = sheet.study.job
    right = size.width - size.side
    canvas.saveState()
    if sheet.mark.is_draft:
        _draft_across(canvas, size)
    canvas.setFillColor(QUIET)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.6)
    half = size.text_width / 2 - 8
    if head:
        y = size.height - size.top + 20
        _string(canvas, size.side, y, fit(job.company.name, STRONG, _SMALL, half), STRONG)
        shown = fit(sheet.reference, PLAIN, _SMALL, half)
        _string(canvas, right - width_pt(shown, PLAIN, _SMALL), y, shown, PLAIN)
        canvas.line(size.side, y - 6, right, y - 6)
    y = size.foot - 26
    canvas.line(size.side, y + 12, right, y + 12)
    canvas.keep_foot(_foot(sheet, size, y))
    canvas.restoreState()


def _metadata(about: About) -> PDFStream:
    kind = PDFDictionary({"Type": PDFName("Metadata"), "Subtype": PDFName("XML")})
    # Not packed: programs that know nothing of PDF look for it in the bytes.
    return PDFStream(kind, packet(about), [])


def _frame(x: float, y: float, width: float, height: float) -> Frame:
    # A hair larger than what it is for: sums of lengths are not exact.
    hair = 1e-3
    return Frame(
        x, y - hair, width + hair, height + hair, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0
    )


class _Document(BaseDocTemplate):
    """One printing of a paper.

    Args:
        file: where it goes.
        paper: what it is.
        sheet: what is printed.
        first: how the first page lies.
        going: asked at each page whether it is still wanted.
    """

    def __init__(self, file: BytesIO, paper: Paper, sheet: Sheet, first: SheetLayout, going: Going) -> None:
        size, job = sheet.page, sheet.study.job
        title = " – ".join(t for t in (sheet.reference, job.quote.title.strip()) if t)
        products = (name for service, name in service_names(job.design).items() if service != AIR)
        about = About(
            title=title,
            author=job.company.name.strip() or "Company not named yet",
            subject=f"Central dispensing system for {job.customer.name.strip() or 'a customer not named yet'}",
            keywords=[t for t in (paper.title.lower(), job.quote.number.strip(), *products) if t],
            creator="Baydrop",
            # Plain letters whatever the job's names are, so that a paper can be told by its bytes.
            producer=f"Baydrop, content SHA-256 {sheet.mark.fingerprint}" if sheet.mark.letter else "Baydrop",
            language="en",
            day=sheet.on,
        )
        super().__init__(
            file,
            pagesize=(size.width, size.height),
            title=about.title,
            author=about.author,
            subject=about.subject,
            keywords=list(about.keywords),
            creator=about.creator,
            producer=about.producer,
            lang=about.language,
            invariant=1,
        )
        day = sheet.on

        def dated(*_: int) -> str:
            return f"D:{day.year:04d}{day.month:02d}{day.day:02d}000000+00'00'"

        def template(layout: SheetLayout) -> PageTemplate:
            lying = sheet.page.turned if layout is SheetLayout.LANDSCAPE else sheet.page
            labels = layout is SheetLayout.LABELS

            def on_page(canvas: Canvas, document: BaseDocTemplate) -> None:
                going.check()
                assert isinstance(canvas, NumberedCanvas), "made by `_print`"
                if document.page == 1:
                    # The day asked for, never the clock: the same study on the same day is the same file.
                    canvas.setDateFormatter(dated)
                    canvas.showOutline()
                    canvas.setCatalogEntry("Metadata", _metadata(about))
                head = document.page > 1 or not paper.covered
                if not labels:
                    _furniture(canvas, sheet, lying, head)

            frames = [_frame(lying.side, lying.foot, lying.text_width, lying.text_height)]
            if labels:
                grid = label_grid(job.presentation.labels, lying, job.units)
                frames = [_frame(x, y, grid.width, grid.height) for x, y in grid.corners()]
            return PageTemplate(layout.value, frames, onPage=on_page, pagesize=(lying.width, lying.height))

        self.addPageTemplates(
            # A paper of label sheets has no others; no other paper has labels.
            [template(first), *(template(other) for other in _OTHERS.get(first, ()))]
        )


def _story(paper: Paper, sheet: Sheet, going: Going) -> tuple[SheetLayout, list[Flowable]]:
    """How the first page lies, and what is printed in order."""
    story: list[Flowable] = []
    waiting: list[Flowable] = []
    lies: SheetLayout | None = None
    first = SheetLayout.PORTRAIT
    for chapter in paper.chapters:
        going.check()
        layout = chapter.layout(sheet)
        lying = replace(sheet, page=sheet.page.turned) if layout is SheetLayout.LANDSCAPE else sheet
        flowables = chapter.story(lying)
        if not flowables:
            continue
        if lies is None:
            first = layout
        elif layout is not lies:
            story += [*waiting, NextPageTemplate(layout.value), PageBreak()]
            waiting = []
        lies = layout
        if chapter.with_next:
            waiting += flowables
        elif waiting:
            story.append(together(lying, [*waiting, *flowables]))
            waiting = []
        else:
            story += flowables
    return first, [*story, *waiting]


def _print(paper: Paper, sheet: Sheet, going: Going) -> bytes:
    first, story = _story(paper, sheet, going)
    if not story:
        raise QuoteError(
            (
                Finding(
                    Severity.ERROR,
                    "design",
                    "paper-empty",
                    f"{paper.title}: this job has nothing to print on it yet.",
                ),
            )
        )
    file = BytesIO()
    _Document(file, paper, sheet, first, going).build(story, canvasmaker=NumberedCanvas)
    return _with_own_id(file.getvalue())


def _with_own_id(file: bytes) -> bytes:
    """The file with an id made from its content alone: the library mixes a time from the environment in.

    ISO 32000-1, 14.4: two strings of 16 bytes in the trailer; they stand behind the cross-reference table, so no
    offset moves.

    Raises:
        RuntimeError: the trailer has no id in the form that is replaced.
    """
    head, *rest = _ID.split(file)
    if len(rest) != 1:
        raise RuntimeError("the written PDF has no file id where one is expected")
    name = hashlib.sha256(head + rest[0]).hexdigest()[:32].encode("ascii")
    return head + b"[<" + name + b"><" + name + b">]" + rest[0]


def write_paper(paper: Paper, study: Study, issued: Issued | None = None, going: Going = ALONE) -> bytes:
    """A paper of a study as a PDF.

    Args:
        paper: what it is.
        study: what is printed. Its day is the day of printing, and the date of a quote that has none of its own.
        issued: the revision that it is printed for, without a paper yet; None for a draft.
        going: asked on the way whether it is still wanted.

    Returns:
        The file's bytes, the same for the same study and day. A4 for metric jobs, Letter for US units.

    Raises:
        QuoteError: a text holds a character that no font here prints, the dates pass the calendar's end, or the
            currency is another one than that of the last revision.
        TextError: the revision cannot be read.
        Stopped: it is not wanted any more.
    """
    dated = handed(issued).dated if issued is not None else study.job.quote.dated or study.on
    if findings := unprintable(study):
        raise QuoteError(findings)
    try:
        # Options to tick and what moved in the price are no business of the crew's.
        enclosed = Enclosed() if paper.audience is Audience.CREW else enclose(study, issued, going)
    except CompareError as error:
        raise QuoteError(
            (Finding(Severity.ERROR, "terms.currency", "paper-currency", f"Terms, Currency: {error}"),)
        ) from None
    going.check()
    if findings := unprintable_enclosed(enclosed):
        raise QuoteError(findings)
    mark = draft_mark(study.job) if issued is None else mark_of(issued)
    sheet = _sheet(paper, study, dated, enclosed, mark, going)
    try:
        return _print(paper, sheet, going)
    except CannotPrintError as error:
        # Of no field that is looked through before: told all the same, by the text itself.
        raise QuoteError((unprintable_text(error.text),)) from None
