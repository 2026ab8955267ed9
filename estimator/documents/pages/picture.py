"""The floor to scale with its key in text."""

from __future__ import annotations

from collections import Counter

from reportlab.platypus import Flowable, KeepTogether

from estimator.documents.draw import LineSample, PictureOnPage
from estimator.documents.paper import Chapter
from estimator.documents.paper import SheetLayout as PageLayout
from estimator.documents.plan_picture import overview_picture
from estimator.documents.plan_sheets import Lie, Rooms, lie_of, plan_pictures
from estimator.documents.sheet import (
    Heading,
    PageSize,
    Sheet,
    fresh_page,
    headed,
    page_of_its_own,
    ruled_table,
    together,
)
from estimator.documents.style import Texts
from estimator.model.design import AIR
from estimator.safety.washing import way_to_eyewash
from estimator.shown.lines import line_styles
from estimator.shown.plan_marks import plan_marks
from estimator.shown.scope import classes_text, dilution_text

__all__ = ["KEY", "PICTURE", "WALL_PLAN"]


_OVERVIEW = 0.36
"""Share of a page that the hall at a glance may take."""
_BESIDE_A_SHEET = 78.0
"""Points of a page that the heading and the caption of a plan take."""


def _products(sheet: Sheet, level: int) -> list[Flowable]:
    """The products with their line styles: the key of the picture and the list of what is on tap."""
    study = sheet.study
    design = study.job.design
    styles = line_styles(design)
    drops = Counter(d.service for d in design.drops)
    lengths = {line.id: line.length_m for line in study.layout.lines}
    rows: list[list[Flowable | str]] = [
        [
            sheet.text("Line", Texts.HEAD),
            sheet.text("Service, colour of its tube", Texts.HEAD),
            sheet.text("Kind", Texts.HEAD),
            sheet.text("Dilution, water : concentrate", Texts.HEAD_NUMBER),
            sheet.text("Tube in all", Texts.HEAD_NUMBER),
            sheet.text("Drops", Texts.HEAD_NUMBER),
        ]
    ]
    services = [(p.id, classes_text(p), dilution_text(p.dilution, sheet.figures)) for p in design.products]
    if drops[AIR] or AIR in lengths:
        services.append((AIR, "", ""))
    for service, kind, dilution in services:
        length = sheet.figures.length(lengths[service], 1) if service in lengths else "no line"
        rows.append(
            [
                LineSample(styles[service]),
                sheet.text(f"{sheet.services[service]}, {styles[service].name}", Texts.CELL_STRONG),
                sheet.text(kind, Texts.CELL),
                sheet.text(dilution, Texts.NUMBER),
                sheet.text(length, Texts.NUMBER),
                sheet.text(str(drops[service]), Texts.NUMBER),
            ]
        )
    if not services:
        return []
    width = sheet.page.text_width
    widths = [58.0, 0.0, width * 0.28, 78.0, 56.0, 38.0]
    widths[1] = width - sum(widths)
    return [*headed(sheet, "Products and key", "products", level), ruled_table(rows, widths)]


_ROWS_TOGETHER = 12


def _whole_key(sheet: Sheet) -> list[Flowable]:
    """The key below a plan: on one page where it is short, so that nobody turns pages for two of its rows."""
    products = _products(sheet, 1)
    short = len(sheet.study.job.design.products) <= _ROWS_TOGETHER
    return [KeepTogether(products[1:])] if products and short else products


_CAPTION = (
    "A numbered disc in a bay is a service at that bay side: filled where it is new, open where it stays. The "
    "thick bar is what the drops hang on, the pale band the way that the tubes share. Lines that share a way are "
    "drawn side by side; the picture shows where they run, not their place in the bundle. Tube in all counts "
    "rises, falls and the allowance for bends and cuts; the air line feeds the foam guns too."
)
_WASH = " The dotted way is the shortest one on foot from the board to the eyewash."
_CROWDED = " A plus with a number counts the services of a bay side that the picture has no room for."
_CUT = " Each sheet overlaps those beside it; the small plan shows where it lies."


def _told(sheet: Sheet, table: str) -> str:
    """What the picture shows, for whoever cannot see it; the table of products stands `table` it."""
    design, count = sheet.study.job.design, sheet.figures.count
    return (
        f"Floor plan to scale: {count(len(design.bays), 'bay')}, {count(len(design.drops), 'drop')}, the plant board "
        f"and the lines between them. Products, lines and drops are told in the table {table} it; where each drop "
        "hangs, in the scope of the work."
    )


def _upright(sheet: Sheet) -> PageSize:
    return sheet.page if sheet.page.width < sheet.page.height else sheet.page.turned


def _lie(sheet: Sheet) -> Lie | None:
    """How the plan lies; None where there is none."""
    study = sheet.study
    if not study.layout.stations:
        return None
    page = _upright(sheet)
    rooms = Rooms(
        (page.text_width, page.text_height * 0.56),
        *((p.text_width, p.text_height - _BESIDE_A_SHEET) for p in (page, page.turned)),
    )
    design = study.job.design
    return lie_of(design, plan_marks(study.job.site, design, study.layout), rooms)


def _lies(sheet: Sheet) -> PageLayout:
    lie = _lie(sheet)
    return PageLayout.LANDSCAPE if lie is not None and lie.turned else PageLayout.PORTRAIT


def _key(sheet: Sheet) -> list[Flowable]:
    """The key with the hall at a glance, before a plan that has pages of its own."""
    lie = _lie(sheet)
    if lie is None or not lie.own_pages:
        return []
    study, page = sheet.study, sheet.page
    overview = overview_picture(
        study.job.site,
        study.job.design,
        study.layout,
        sheet.figures,
        page.text_width,
        page.text_height * _OVERVIEW,
    )
    told = (
        f"The hall at a glance: {sheet.figures.count(len(study.job.design.bays), 'bay')} and the plant board."
    )
    words = "The hall at a glance; its floor plan with every drop follows on pages of its own."
    return [
        together(
            sheet,
            [
                *_products(sheet, 0),
                PictureOnPage(overview, told),
                sheet.text(words, Texts.SMALL),
            ],
        )
    ]


def _story(sheet: Sheet) -> list[Flowable]:
    lie = _lie(sheet)
    if lie is None:
        return _products(sheet, 1)
    study = sheet.study
    pictures = plan_pictures(study.job.site, study.job.design, study.layout, sheet.figures, lie)
    wash = way_to_eyewash(study.job.site.floor, study.job.site.board, study.job.design)
    caption = (
        _CAPTION
        + (_WASH if wash else "")
        + (_CROWDED if pictures[0].crowded else "")
        + (_CUT if len(pictures) > 1 else "")
    )
    if not lie.own_pages:
        return [
            fresh_page(sheet),
            Heading(sheet, "Floor plan", "picture"),
            PictureOnPage(pictures[0], _told(sheet, "after")),
            sheet.text(caption, Texts.SMALL),
            *_whole_key(sheet),
        ]
    story: list[Flowable] = []
    for number, picture in enumerate(pictures):
        words = "Floor plan" if len(pictures) == 1 else f"Floor plan, sheet {number + 1} of {len(pictures)}"
        story += [
            page_of_its_own(sheet),
            Heading(
                sheet, words, f"picture-{number}" if number else "picture", min(number, 1), Texts.HEADING
            ),
            PictureOnPage(picture, f"{words}. {_told(sheet, 'before')}"),
            sheet.text(caption, Texts.SMALL),
        ]
    return story


def _whole(sheet: Sheet) -> list[Flowable]:
    """The plan with its key on one page, as it hangs on a wall."""
    lie, story = _lie(sheet), _story(sheet)
    return story if lie is None or lie.own_pages else [together(sheet, story[1:])]


KEY = Chapter("key", "Products and key", _key)
PICTURE = Chapter("picture", "Floor plan", _story, layout=_lies)
WALL_PLAN = Chapter("picture", "Floor plan", _whole, layout=_lies)
