"""The one window: navigation and form on the left, what follows from it on the right, the price above all."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QCloseEvent, QGuiApplication
from PySide6.QtWidgets import (
    QApplication,
    QLabel,
    QMainWindow,
    QProgressBar,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from estimator.desk.doing.exchange import Exchange
from estimator.desk.doing.files import Files
from estimator.desk.doing.propose import ProposeAct
from estimator.desk.doing.questions import Dialogs
from estimator.desk.form.book_panel import BookPanel
from estimator.desk.form.inputs import LineEdit, TextArea
from estimator.desk.form.pages import BookPage, Page, RowsPage, make_pages, place_of
from estimator.desk.form.rows import RowsEditor
from estimator.desk.menus import Menus
from estimator.desk.session import Session
from estimator.desk.theme import apply_theme
from estimator.desk.views.buying import BuyingView
from estimator.desk.views.findings import FindingsView
from estimator.desk.views.header import Header
from estimator.desk.views.options import OptionsView
from estimator.desk.views.plan import PlanPane
from estimator.desk.views.preview import PreviewPane
from estimator.desk.views.prices import PriceView
from estimator.desk.views.proof import ProofView
from estimator.desk.views.revisions import RevisionsView
from estimator.desk.views.risk import RiskView
from estimator.desk.views.since_bar import SinceBar
from estimator.model.finding import Severity

__all__ = ["Window"]

_PAGE = Qt.ItemDataRole.UserRole


class Window(QMainWindow):
    """Shows a session and turns gestures into acts."""

    closed = Signal()

    def __init__(self, session: Session, files: Files, dialogs: Dialogs | None = None) -> None:
        super().__init__()
        self.session = session
        self.files = files
        self.setWindowTitle("Baydrop")
        self.setMinimumSize(QSize(1000, 620))
        files.attach(self, dialogs or Dialogs(self))
        self.header = Header(session, self)
        self.since = SinceBar(session, self)
        self.plan = PlanPane(session, self)
        self.prices = PriceView(session, self)
        self.preview = PreviewPane(session, self)
        self.proof = ProofView(session, self)
        self.risk = RiskView(session, self)
        self.options = OptionsView(session, self)
        self.revisions = RevisionsView(session, files, self)
        self.proposer = ProposeAct(session, self)
        self.findings = FindingsView(session, self)
        self.buying = BuyingView(session, self)
        self.exchange = Exchange(self, session)
        book = partial(BookPanel, session, self.exchange)
        self.pages = {p.key: p for p in make_pages(session, self._quick_built, book)}
        self._stale: set[str] = set(self.pages)
        self.nav = self._make_nav()
        self.stack = QStackedWidget(self)
        for page in self.pages.values():
            self.stack.addWidget(page)
        self.help = QLabel(self)
        self.help.setObjectName("help")
        self.help.setWordWrap(True)
        self.help.setTextFormat(Qt.TextFormat.PlainText)
        self.help.setMinimumHeight(self.help.fontMetrics().lineSpacing() * 2 + 14)
        self.help.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.help.setAccessibleName("Help for the field")
        self.tabs = QTabWidget(self)
        self.tabs.setDocumentMode(True)
        self.tabs.setAccessibleName("Views")
        self.tabs.addTab(self.plan, "Floor plan")
        self.takeoff = QTabWidget(self)
        self.takeoff.setDocumentMode(True)
        self.takeoff.setTabPosition(QTabWidget.TabPosition.South)
        self.takeoff.setAccessibleName("Takeoff")
        self.takeoff.addTab(self.prices, "Priced rows")
        self.takeoff.addTab(self.buying, "Buying")
        self.tabs.addTab(self.takeoff, "Takeoff and price")
        self.tabs.addTab(self.preview, "Quote preview")
        self.tabs.addTab(self.proof, "Proof")
        self.tabs.addTab(self.risk, "Range and risk")
        self.tabs.addTab(self.options, "Options")
        self.tabs.addTab(self.revisions, "Revisions")
        self._arrange()
        self.busy = QProgressBar(self)
        self.busy.setRange(0, 0)
        self.busy.setFixedWidth(140)
        self.busy.setTextVisible(False)
        self.busy.setAccessibleName("Working")
        self.busy.hide()
        self.statusBar().addPermanentWidget(self.busy)
        self.menus = Menus(self)
        self._connect()
        self.refresh()
        self.go_to_page("quick")
        self.say("Ready")

    def _make_nav(self) -> QTreeWidget:
        nav = QTreeWidget(self)
        nav.setHeaderHidden(True)
        nav.setAccessibleName("Parts of the job")
        nav.setAccessibleDescription("Choose what the form shows; Enter goes to its first field.")
        nav.setIndentation(16)
        nav.setMinimumWidth(150)
        items: dict[str, QTreeWidgetItem] = {}
        for page in self.pages.values():
            item = QTreeWidgetItem([page.title])
            item.setData(0, _PAGE, page.key)
            items[page.key] = item
            if page.below in items:
                items[page.below].addChild(item)
            else:
                nav.addTopLevelItem(item)
        nav.expandAll()
        self._nav_items = items
        return nav

    def _arrange(self) -> None:
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.stack, 1)
        column.addWidget(self.help)
        self.right = QSplitter(Qt.Orientation.Vertical, self)
        self.right.addWidget(self.tabs)
        self.right.addWidget(self.findings)
        self.right.setChildrenCollapsible(False)
        self.right.setStretchFactor(0, 4)
        self.right.setStretchFactor(1, 1)
        self.right.setSizes([420, 130])
        self.split = QSplitter(Qt.Orientation.Horizontal, self)
        for widget in (self.nav, middle, self.right):
            self.split.addWidget(widget)
        self.split.setChildrenCollapsible(False)
        self.split.setHandleWidth(8)
        self._wide = False
        self._sizes: dict[bool, list[int]] = {}
        whole = QWidget(self)
        outer = QVBoxLayout(whole)
        outer.setContentsMargins(10, 4, 10, 0)
        outer.setSpacing(8)
        outer.addWidget(self.header)
        outer.addWidget(self.since)
        outer.addWidget(self.split, 1)
        self.setCentralWidget(whole)

    def _connect(self) -> None:
        session = self.session
        session.changed.connect(self.refresh)
        session.opened.connect(self._opened)
        session.said.connect(self.say)
        self.nav.currentItemChanged.connect(self._nav_moved)
        self.nav.itemActivated.connect(lambda item: self.enter(str(item.data(0, _PAGE))))
        self.findings.wanted.connect(self.go_to)
        self.header.severity_wanted.connect(self._show_severity)
        self.prices.objects_chosen.connect(self.plan.view.mark)
        self.plan.view.drop_chosen.connect(self._drop_chosen)
        self.preview.write_wanted.connect(self.files.write_pdf)
        self.preview.failed.connect(self.files.tell_failure)
        self.proof.wanted.connect(self.go_to)
        self.risk.wanted.connect(self.go_to)
        self.since.wanted.connect(self._show_revisions)
        self.proof.drops_chosen.connect(self.plan.view.choose)
        self.proof.propose_wanted.connect(self.proposer.start)
        self.proposer.failed.connect(self._tell_no_proposal)
        self.proposer.work.busy_changed.connect(self.busy.setVisible)
        self.preview.work.busy_changed.connect(self.busy.setVisible)
        self.files.work.busy_changed.connect(self.busy.setVisible)
        self.tabs.currentChanged.connect(lambda _: self.preview.refresh())
        drops = self.pages["drops"]
        if isinstance(drops, RowsPage):
            drops.selected.connect(self._drops_selected)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._focus_moved)

    # Showing.

    def refresh(self) -> None:
        """Show what holds, everywhere."""
        system = self.session.job.units
        self.header.refresh()
        self.since.refresh()
        self.findings.refresh()
        self.prices.refresh()
        self.plan.refresh()
        self.preview.refresh()
        self.proof.refresh()
        self.risk.refresh()
        self.options.refresh()
        self.revisions.refresh()
        self.buying.refresh()
        # A page out of view is refreshed when it comes into view.
        self._stale = set(self.pages) - {self.page.key}
        self.page.refresh(system)
        self._count()
        self.menus.refresh()
        self.setWindowModified(self.session.is_modified)
        name = self.session.path.name if self.session.path else "new job"
        self.setWindowTitle(f"{name}[*] – Baydrop")

    def _count(self) -> None:
        design = self.session.job.design
        wrong: dict[str, int] = {}
        for finding in self.session.findings:
            place = place_of(self.session, finding.place)
            if place is not None and finding.severity is Severity.ERROR:
                wrong[place.page] = wrong.get(place.page, 0) + 1
        for key, item in self._nav_items.items():
            rows = getattr(design, key, None)
            text = self.pages[key].title
            # A line without a plan of its own takes the defaults, so a count of plans would mislead.
            if isinstance(rows, tuple) and key != "lines":
                text += f"  {len(rows)}"
            if key in wrong:
                text += f"  ✕ {wrong[key]}"
            item.setText(0, text)

    def show_theme(self, choice: str) -> None:
        """Show a theme: "system", "light" or "dark"."""
        app = QApplication.instance()
        if isinstance(app, QApplication):
            apply_theme(app, choice)
        self.findings.refresh(colours_changed=True)
        self.refresh()

    def say(self, sentence: str) -> None:
        """Show a sentence in the status line."""
        self.statusBar().showMessage(sentence, 15_000)

    def _focus_moved(self, _old: QWidget | None, new: QWidget | None) -> None:
        if new is None or new.window() is not self:
            return
        told = new.property("help")
        self.help.setText(str(told) if told else new.accessibleDescription() or "")
        parent = new.parentWidget()
        page = self.stack.currentWidget()
        area = getattr(page, "area", None)
        if parent is not None and area is not None and area.isAncestorOf(new):
            area.ensureWidgetVisible(new, 20, 40)

    # Going somewhere.

    @property
    def page(self) -> Page:
        """The page in view."""
        found = self.stack.currentWidget()
        assert isinstance(found, Page)
        return found

    def go_to_page(self, key: str) -> Page:
        """Show a page."""
        page = self.pages[key]
        if self.nav.currentItem() is not self._nav_items[key]:
            self.nav.setCurrentItem(self._nav_items[key])
        if key in self._stale:
            self._stale.discard(key)
            page.refresh(self.session.job.units)
        self.stack.setCurrentWidget(page)
        self._share_room(page.wide)
        return page

    def _share_room(self, wide: bool) -> None:
        if wide != self._wide:
            self._sizes[self._wide] = self.split.sizes()
            self._wide = wide
            if wide in self._sizes:
                self.split.setSizes(self._sizes[wide])
            else:
                self.set_room()

    def set_room(self) -> None:
        """The usual shares of the window's width."""
        total = max(self.split.width(), 1000)
        nav = 168
        share = 0.54 if self._wide else 0.38
        middle = int((total - nav) * share)
        self.split.setSizes([nav, middle, total - nav - middle])

    def _nav_moved(self, item: QTreeWidgetItem | None) -> None:
        if item is not None:
            self.go_to_page(str(item.data(0, _PAGE)))

    def rows_in_view(self) -> RowsEditor | None:
        """The list of the page in view, None if it has none."""
        page = self.page
        if isinstance(page, RowsPage):
            return page.rows
        return page.panel.rows if isinstance(page, BookPage) else None

    def enter(self, key: str) -> None:
        """Show a page and put the keyboard into it."""
        self.go_to_page(key).first_input().setFocus(Qt.FocusReason.TabFocusReason)

    def go_to(self, where: str) -> bool:
        """Go to the field of a finding; False and a sentence if it has no field of its own."""
        if where.startswith("issued."):
            self._show_revisions()
            return True
        place = place_of(self.session, where)
        if place is None or place.page not in self.pages:
            self.say("This belongs to no single field.")
            return False
        page = self.go_to_page(place.page)
        editor = page.editor_at(place.path)
        if editor is not None:
            editor.focus()
        else:
            page.first_input().setFocus(Qt.FocusReason.TabFocusReason)
        return True

    def show_buying(self) -> None:
        """Show what to buy."""
        self.tabs.setCurrentWidget(self.takeoff)
        self.takeoff.setCurrentWidget(self.buying)
        self.buying.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_revisions(self) -> None:
        self.tabs.setCurrentWidget(self.revisions)
        self.revisions.which.setCurrentIndex(0)
        self.revisions.moved.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_severity(self, severity: object) -> None:
        if isinstance(severity, Severity):
            self.findings.show_severity(severity)

    def _drop_chosen(self, drop: str, add: bool) -> None:
        page = self.go_to_page("drops")
        ids = [d.id for d in self.session.job.design.drops]
        if isinstance(page, RowsPage) and drop in ids:
            before = page.rows.selection if add else []
            page.rows.select(sorted({*before, ids.index(drop)}))

    def _drops_selected(self, positions: list[int]) -> None:
        drops = self.session.job.design.drops
        ids = [drops[i].id for i in positions if i < len(drops)]
        self.plan.view.choose(ids)
        self.proof.choose(ids)

    def _tell_no_proposal(self, error: object) -> None:
        sentences = [str(error) or type(error).__name__, "The job is as it was."]
        self.files.dialogs.tell("No sizes could be proposed", sentences)

    def _quick_built(self) -> None:
        self.say("Built. Everything can be changed; undo brings back what was there.")
        self.plan.view.setFocus(Qt.FocusReason.OtherFocusReason)

    def _opened(self) -> None:
        self.refresh()
        if not self.session.job.design.drops:
            self.go_to_page("quick")
        elif self.page.key == "quick":
            self.go_to_page("site")

    def cycle_panes(self, by: int) -> None:
        """The keyboard to the next (+1) or previous (-1) pane."""
        panes: list[tuple[QWidget, QWidget]] = [
            (self.nav, self.nav),
            (self.stack, self.page.first_input()),
            (self.tabs, self._view_focus()),
            (self.findings, self.findings.list),
            (self.header, next((b for b in self.header.counts.values() if b.isEnabled()), self.nav)),
        ]
        now = QApplication.focusWidget()
        at = next(
            (
                i
                for i, (pane, _) in enumerate(panes)
                if now is not None and (pane is now or pane.isAncestorOf(now))
            ),
            -1 if by > 0 else 0,
        )
        panes[(at + by) % len(panes)][1].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _view_focus(self) -> QWidget:
        views = (
            self.plan.view,
            self.buying.table if self.buying.isVisible() else self.prices.tree,
            self.preview.sheet,
            self.proof.focus_widget,
            self.risk.chart,
            self.options.all,
            self.revisions.table,
        )
        return views[self.tabs.currentIndex()]

    def finish_typing(self) -> None:
        """Take over what is being typed, as if the field were left."""
        now = QApplication.focusWidget()
        if isinstance(now, LineEdit | TextArea):
            now.finish()

    # Beginning and end.

    def fit_screen(self) -> None:
        """A size that suits the screen."""
        screen = QGuiApplication.primaryScreen().availableGeometry()
        self.resize(min(screen.width(), 1500), min(screen.height() - 30, 900))
        self.set_room()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved changes first."""
        self.finish_typing()
        if self.files.may_leave():
            self.files.end()
            self.preview.work.wait()
            self.proposer.end()
            self.closed.emit()
            event.accept()
        else:
            event.ignore()
