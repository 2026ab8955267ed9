"""The pages of the form, one for each part of a job, and which page a place in the job is on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget

from estimator.acts.typed import Path
from estimator.desk.form.book_panel import BookPanel
from estimator.desk.form.fields import FieldEditor
from estimator.desk.form.form import Form
from estimator.desk.form.quick import QuickPanel
from estimator.desk.form.rows import RowsEditor
from estimator.desk.plain import Label, tip
from estimator.desk.session import Session
from estimator.model.design import AIR, Design
from estimator.model.job import Job
from estimator.model.spec import FieldKind, FieldSpec, fields_of
from estimator.units import UnitSystem

__all__ = ["FormPlace", "Page", "make_pages", "place_of"]


@dataclass(frozen=True, slots=True)
class FormPlace:
    """Where a finding leads: a page and the path below it."""

    page: str
    path: Path


class Page(QWidget):
    """A titled page.

    Attributes:
        key: stable name.
        title: what the navigation shows.
        below: key of the page it stands under in the navigation, "" for none.
        wide: it needs more room than a plain form.
    """

    def __init__(self, key: str, title: str, intro: str, *, below: str = "", wide: bool = False) -> None:
        super().__init__()
        self.key, self.title, self.below, self.wide = key, title, below, wide
        self.setAccessibleName(title)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(8, 4, 4, 0)
        self._column.setSpacing(6)
        heading = Label(title, self)
        self._intro: Label | None = None
        heading.setObjectName("pageTitle")
        self._column.addWidget(heading)
        if intro:
            text = Label(intro, self)
            text.setObjectName("faint")
            text.setWordWrap(True)
            self._column.addWidget(text)
            heading.setToolTip(tip(intro))
            self._intro = text

    def show_intro(self, shown: bool) -> None:
        """Whether the sentence below the title is shown; else the title's tip holds it."""
        if self._intro is not None:
            self._intro.setVisible(shown)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor of the field at a path below the page, rows on the way selected."""
        return None

    def first_input(self) -> QWidget:
        """Where the keyboard goes when the page is entered."""
        return self

    def _scroll(self, inside: QWidget) -> None:
        area = QScrollArea(self)
        area.setWidgetResizable(True)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        body = QWidget(area)
        body.setObjectName("pageBody")
        column = QVBoxLayout(body)
        column.setContentsMargins(0, 0, 10, 8)
        column.addWidget(inside)
        column.addStretch(1)
        area.setWidget(body)
        self.area = area
        self._column.addWidget(area, 1)


class FormPage(Page):
    """A form of one group of the job."""

    def __init__(self, key: str, title: str, intro: str, make: Callable[[], Form], path: Path) -> None:
        super().__init__(key, title, intro)
        self._make = make
        self.path = path

    @cached_property
    def form(self) -> Form:
        """The form; it grows when the page comes into view for the first time."""
        form = self._make()
        form.bind([self.path])
        self._scroll(form)
        return form

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.form.refresh(system)

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path."""
        return self.form.editor_at(path)

    def first_input(self) -> QWidget:
        """The first field."""
        found = self.form.first_editor()
        return found.input if found else self


class RowsPage(Page):
    """A list of the job.

    Signals:
        selected: positions of the selected rows.
    """

    selected = Signal(list)

    def __init__(
        self, key: str, title: str, intro: str, make: Callable[[], RowsEditor], path: Path, below: str
    ) -> None:
        super().__init__(key, title, intro, below=below, wide=True)
        self._make = make
        self.path = path

    @cached_property
    def rows(self) -> RowsEditor:
        """Table and form; they grow when the page comes into view for the first time."""
        rows = self._make()
        rows.bind(self.path)
        rows.selected.connect(self.selected)
        self._column.addWidget(rows, 1)
        return rows

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.rows.refresh(system)

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path."""
        return self.rows.editor_at(path)

    def first_input(self) -> QWidget:
        """The table."""
        return self.rows.table


class QuickPage(Page):
    """Quick build."""

    def __init__(self, session: Session, built: Callable[[], None]) -> None:
        super().__init__("quick", "Quick build", "From blank to a whole priced design with ten inputs.")
        self.panel = QuickPanel(session, built)
        self._scroll(self.panel)

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.panel.refresh(system)

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path."""
        return self.panel.form.editor_at(path)

    def first_input(self) -> QWidget:
        """The first field."""
        found = self.panel.form.editor_at(())
        return found.input if found else self


class BookPage(Page):
    """The price book.

    Signals:
        selected: positions of the selected entries.
    """

    selected = Signal(list)

    def __init__(self, make: Callable[[], BookPanel]) -> None:
        super().__init__(
            "book",
            "Price book",
            "Your own prices. A change is kept at once and prices the job anew.",
            wide=True,
        )
        self._make = make

    @cached_property
    def panel(self) -> BookPanel:
        """Table and form; they grow when the page comes into view for the first time."""
        panel = self._make()
        panel.rows.selected.connect(self.selected)
        self._column.addWidget(panel, 1)
        return panel

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self.panel.refresh(system)

    def editor_at(self, path: Path) -> FieldEditor | None:
        """The editor at a path."""
        return self.panel.editor_at(path)

    def first_input(self) -> QWidget:
        """The table."""
        return self.panel.rows.table


def make_pages(
    session: Session, built: Callable[[], None], book: Callable[[], BookPanel]
) -> tuple[Page, ...]:
    """All pages, grown from the job's declared fields."""
    pages: list[Page] = [QuickPage(session, built)]
    fields = {f.name: f for f in fields_of(Job) if f.model is not None and not f.optional}
    # The order a visit goes in: what is there, who, then the design, then the price.
    order = ("site", "customer", "company", "quote", "design", "terms")
    for name in (*(n for n in order if n in fields), *(n for n in fields if n not in order)):
        field = fields[name]
        model = field.model
        # Options have a view of their own: a row of differences is nothing to type.
        if model is None or name in Job.sealed or name in Job.acted or name == "alternatives":
            continue
        if field.kind is FieldKind.LIST:
            pages.append(_rows_page(session, field, (name,), ""))
            continue
        lists = tuple(f for f in fields_of(model) if f.kind is FieldKind.LIST) if model is Design else ()
        skip = tuple(f.name for f in lists)
        make = partial(Form, session.job_holder, model, skip=skip)
        pages.append(FormPage(name, field.label, field.help, make, (name,)))
        pages += [_rows_page(session, f, (name, f.name), name) for f in lists]
    pages.append(BookPage(book))
    return tuple(pages)


def _rows_page(session: Session, field: FieldSpec, path: Path, below: str) -> RowsPage:
    model = field.model
    assert model is not None

    def make() -> RowsEditor:
        rows = RowsEditor(session.job_holder, model, field.label, form=Form)
        rows.said.connect(session.said)
        return rows

    intro = " ".join((model.__doc__ or field.help).split())
    return RowsPage(field.name, field.label, intro, make, path, below)


def _steps(place: str) -> Path:
    return tuple(int(s) if s.isdigit() else s for s in place.split("."))


def place_of(session: Session, place: str) -> FormPlace | None:
    """Which page and field a finding's place is, None if it has none.

    Args:
        place: a dotted path in the job or the price book, or the id of a drop, bay, product, station, line,
            segment or price book entry.
    """
    design = session.job.design
    steps = _steps(place)
    if steps[0] == "entries":
        return FormPlace("book", steps[1:])
    if steps[0] == "price_book":
        # The code is no path: it may hold dots.
        codes = [entry.code for entry in session.book.entries]
        code = place.partition(".")[2]
        return FormPlace("book", (codes.index(code),) if code in codes else ())
    if steps[0] == "prices":
        return FormPlace("book", ())
    if (
        steps[0] == "design"
        and len(steps) > 1
        and steps[1] in ("products", "bays", "drops", "plant", "lines")
    ):
        return FormPlace(str(steps[1]), steps[2:])
    if steps[0] in Job.model_fields and (len(steps) > 1 or steps[0] not in _ids(session)):
        return FormPlace(str(steps[0]), steps[1:])
    for page, rows, name in (
        ("drops", design.drops, "id"),
        ("bays", design.bays, "id"),
        ("products", design.products, "id"),
        ("lines", design.lines, "service"),
        ("book", session.book.entries, "code"),
    ):
        for i, row in enumerate(rows):
            if getattr(row, name) == place:
                return FormPlace(page, (i,))
    for i, bay in enumerate(design.bays):
        if place in (f"{bay.id}-left", f"{bay.id}-right"):
            return FormPlace("bays", (i, place.rsplit("-", 1)[-1]))
    line = place.split("/", 1)[0]
    for i, plan in enumerate(design.lines):
        if plan.service == line:
            return FormPlace("lines", (i,))
    if line == AIR or line in {p.id for p in design.products}:
        return FormPlace("lines", ())
    return None


def _ids(session: Session) -> set[str]:
    design = session.job.design
    return {row.id for rows in (design.drops, design.bays, design.products) for row in rows}
