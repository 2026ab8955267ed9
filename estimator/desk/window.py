"""The one window: navigation and form on the left, what follows from it on the right, the price above all."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QByteArray, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QContextMenuEvent, QGuiApplication, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QMainWindow,
    QSplitter,
    QStackedWidget,
    QTabWidget,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from estimator.desk.commands import VIEWS, declare
from estimator.desk.doing.exchange import Exchange
from estimator.desk.doing.files import Files
from estimator.desk.doing.fitting import FittingAct
from estimator.desk.doing.logo import Logo
from estimator.desk.doing.propose import ProposeAct
from estimator.desk.doing.questions import Dialogs
from estimator.desk.doing.signing import Signing
from estimator.desk.form.book_panel import BookPanel
from estimator.desk.form.inputs import HelpStrip, LineEdit, TextArea, scrolled, sign_button_of
from estimator.desk.form.pages import BookPage, Page, RowsPage, make_pages, place_of
from estimator.desk.form.rows import RowsEditor
from estimator.desk.menus import Menus
from estimator.desk.plain import TreeItem, say_in, tip, title
from estimator.desk.session import Session
from estimator.desk.theme import apply_theme
from estimator.desk.views.findings import FindingsView
from estimator.desk.views.header import Header
from estimator.desk.views.late import Late
from estimator.desk.views.plan import PlanPane
from estimator.desk.views.progress import Progress
from estimator.desk.views.since_bar import SinceBar
from estimator.desk.work import Ending
from estimator.model.finding import Severity
from estimator.model.grades import Grade
from estimator.model.option_designs import option_ids
from estimator.model.signing import Signatures

if TYPE_CHECKING:
    # Built when they are first seen, and only then imported: a start that shows none of them needs none.
    from estimator.desk.views.board import BoardView
    from estimator.desk.views.buying import BuyingView
    from estimator.desk.views.options import OptionsView
    from estimator.desk.views.preview import PreviewPane
    from estimator.desk.views.prices import PriceView
    from estimator.desk.views.proof import ProofView
    from estimator.desk.views.revisions import RevisionsView
    from estimator.desk.views.risk import RiskView

__all__ = ["Window"]

_PAGE = Qt.ItemDataRole.UserRole
_ROOM_FOR_INTRO = 600
_DAY_MS = 20_000
# The room that a screen of 1366 by 768 leaves at 150 %, less the frame and a task bar.
_LEAST = QSize(840, 440)
_NAV_INDENT = 12
_BESIDE_NAV = 22
"""Of the words of a row of the navigation: frame and margins."""
_LEAST_FORM = 384
"""In a narrower form the groups with a unit beside each input are cut."""


class Window(QMainWindow):
    """Shows a session and turns gestures into acts."""

    closed = Signal()

    def __init__(self, session: Session, files: Files, dialogs: Dialogs) -> None:
        super().__init__()
        self.session = session
        self.files = files
        self._dialogs = dialogs
        self._closing = False
        dialogs.stand_above(self)
        self.setWindowTitle("Baydrop")
        self.setMinimumSize(_LEAST)
        self.header = Header(session, self)
        self.since = SinceBar(session, self)
        self.plan = PlanPane(session, self)
        self._prices = Late(self._make_prices, self)
        self._buying = Late(self._make_buying, self)
        self._preview = Late(self._make_preview, self)
        self._proof = Late(self._make_proof, self)
        self._risk = Late(self._make_risk, self)
        self._board = Late(self._make_board, self)
        self._options = Late(self._make_options, self)
        self._revisions = Late(self._make_revisions, self)
        self.proposer = ProposeAct(session, self)
        self.findings = FindingsView(session, self)
        self.signing = Signing(session, self)
        self.fitting = FittingAct(session, self)
        self.exchange = Exchange(session, dialogs, files.papers, self)
        self.logo = Logo(session, dialogs, files.when_written, self)
        self.pages = {p.key: p for p in make_pages(session, self._quick_built, self._make_book)}
        self._stale: set[str] = set(self.pages)
        self.nav = self._make_nav()
        self.stack = QStackedWidget(self)
        for page in self.pages.values():
            self.stack.addWidget(page)
        self.help = HelpStrip(self)
        self.tabs = QTabWidget(self)
        self.tabs.setDocumentMode(True)
        self.tabs.setAccessibleName("Views")
        self.takeoff = QTabWidget(self)
        self.takeoff.setDocumentMode(True)
        self.takeoff.setTabPosition(QTabWidget.TabPosition.South)
        self.takeoff.setAccessibleName("Takeoff")
        self.takeoff.addTab(self._prices, "Priced rows")
        self.takeoff.addTab(self._buying, "Buying")
        self._views: dict[str, QWidget] = {
            "plan": self.plan,
            "takeoff": self.takeoff,
            # In a small window a view that needs more room than there is can be scrolled.
            "preview": scrolled(self._preview, self.tabs),
            "proof": scrolled(self._proof, self.tabs),
            "risk": scrolled(self._risk, self.tabs),
            "board": scrolled(self._board, self.tabs),
            "options": scrolled(self._options, self.tabs),
            "revisions": scrolled(self._revisions, self.tabs),
        }
        for key, words in VIEWS:
            if key in self._views:
                self.tabs.addTab(self._views[key], words.replace("&", ""))
        self._arrange()
        self.busy = Progress(self)
        self.busy.follow(self.proposer.work, "Looking for sizes")
        self.busy.follow(self.fitting.work, "Looking for parts")
        self.busy.follow(files.opening, "Opening")
        self.busy.follow(files.papers.queue, "Writing")
        self.busy.follow(self.exchange.reading, "Reading a price book")
        self.busy.follow(self.logo.reading, "Reading a picture")
        self.busy.follow(self.exchange.holding, "Looking which prices are used")
        self.statusBar().addPermanentWidget(self.busy)
        pages = [(page.key, page.title) for page in self.pages.values()]
        self.menus = Menus(
            declare(
                self,
                session,
                files,
                self.exchange,
                self.logo,
                self.proposer,
                self.plan.view,
                lambda: self.options,
                lambda: self.revisions,
                pages,
                self.signing,
                self.fitting,
                self.findings,
            ),
            self.menuBar(),
            self.finish_typing,
            self.say,
            self,
        )
        self.tabs.setCornerWidget(sign_button_of(self.menus.actions["view.whole"], "□", self.tabs))
        self._connect()
        self.refresh()
        self.go_to_page("quick")
        self.say("Ready")

    # The views on the right, each built when it is first seen or asked for.

    @property
    def prices(self) -> PriceView:
        """Takeoff and price."""
        return self._prices.view

    @property
    def buying(self) -> BuyingView:
        """What to buy."""
        return self._buying.view

    @property
    def preview(self) -> PreviewPane:
        """The quote as it will be printed."""
        return self._preview.view

    @property
    def proof(self) -> ProofView:
        """What the proof says."""
        return self._proof.view

    @property
    def risk(self) -> RiskView:
        """Range and risk."""
        return self._risk.view

    @property
    def board(self) -> BoardView:
        """The plant board as a picture."""
        return self._board.view

    @property
    def options(self) -> OptionsView:
        """All options."""
        return self._options.view

    @property
    def revisions(self) -> RevisionsView:
        """Issued revisions."""
        return self._revisions.view

    def _make_prices(self, parent: QWidget) -> PriceView:
        from estimator.desk.views.prices import PriceView

        view = PriceView(self.session, parent)
        view.objects_chosen.connect(self.plan.view.mark)
        view.refresh()
        return view

    def _make_buying(self, parent: QWidget) -> BuyingView:
        from estimator.desk.views.buying import BuyingView

        return BuyingView(self.session, parent)

    def _make_preview(self, parent: QWidget) -> PreviewPane:
        from estimator.desk.views.preview import PreviewPane

        papers = self.files.papers
        view = PreviewPane(self.session, papers, parent)
        view.write_wanted.connect(papers.write_draft)
        view.failed.connect(papers.tell_failure)
        self.busy.follow(view.work, "Making the quote")
        self.tabs.currentChanged.connect(lambda _: view.refresh())
        return view

    def _make_proof(self, parent: QWidget) -> ProofView:
        from estimator.desk.views.proof import ProofView

        view = ProofView(self.session, parent)
        view.wanted.connect(self.go_to)
        view.drops_chosen.connect(self.plan.view.choose)
        view.propose_wanted.connect(self.proposer.start)
        view.refresh()
        view.choose(self.plan.view.chosen)
        return view

    def _make_risk(self, parent: QWidget) -> RiskView:
        from estimator.desk.views.risk import RiskView

        view = RiskView(self.session, parent)
        view.wanted.connect(self.go_to)
        return view

    def _make_board(self, parent: QWidget) -> BoardView:
        from estimator.desk.views.board import BoardView

        view = BoardView(self.session, parent)
        view.wanted.connect(self.go_to)
        view.refresh()
        return view

    def _make_options(self, parent: QWidget) -> OptionsView:
        from estimator.desk.views.options import OptionsView

        view = OptionsView(self.session, parent)
        self._place(view)
        return view

    def _make_revisions(self, parent: QWidget) -> RevisionsView:
        from estimator.desk.views.revisions import RevisionsView

        view = RevisionsView(self.session, self.files, self._dialogs, parent)
        self._place(view)
        return view

    def _make_book(self) -> BookPanel:
        actions = self.menus.actions
        return BookPanel(
            self.session,
            [actions[name] for name in ("book.import", "book.export", "book.percent")],
            [actions[name] for name in ("book.hold", "book.take-new")],
        )

    def _make_nav(self) -> QTreeWidget:
        nav = QTreeWidget(self)  # it chooses the page in view; a table to read shows rows
        nav.setHeaderHidden(True)
        nav.setAccessibleName("Parts of the job")
        nav.setAccessibleDescription("Choose what the form shows; Enter goes to its first field.")
        nav.setIndentation(_NAV_INDENT)
        items: dict[str, QTreeWidgetItem] = {}
        for page in self.pages.values():
            item = TreeItem([page.title])
            item.setData(0, _PAGE, page.key)
            items[page.key] = item
            if page.below in items:
                items[page.below].addChild(item)
            else:
                nav.addTopLevelItem(item)
        nav.expandAll()
        # As wide as the counts beside a title get, so that no pane moves when one more comes.
        longest = max((page.title for page in self.pages.values() if page.below), key=len)
        counted = f"{longest}  12  ✕ 12"
        nav.setMinimumWidth(nav.fontMetrics().horizontalAdvance(counted) + 2 * _NAV_INDENT + _BESIDE_NAV)
        self._nav_items = items
        return nav

    def _arrange(self) -> None:
        middle = self._middle = QWidget(self)
        # Neither a divider that is moved nor shares remembered from a larger window cut the form.
        middle.setMinimumWidth(_LEAST_FORM)
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
        self.split.setObjectName("main")
        self.right.setObjectName("right")
        self._wide = False
        self.is_whole = False
        self._shares: dict[str, list[int]] = {}
        self._placed: set[QSplitter] = set()
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
        session.late.connect(self._tell_late)
        session.worked_out.connect(self._worked_out)
        session.found.connect(self._found)
        session.opened.connect(self._opened)
        session.said.connect(self.say)
        self.nav.currentItemChanged.connect(self._nav_moved)
        self.nav.itemActivated.connect(lambda item: self.enter(str(item.data(0, _PAGE))))
        self.findings.wanted.connect(self.go_to)
        self.findings.fit_wanted.connect(lambda: self.fitting.start(self.findings.chosen))
        self.findings.sign_wanted.connect(lambda: self.signing.start(self.findings.chosen))
        self.findings.unsign_wanted.connect(
            lambda: self.signing.take_back(self.findings.chosen, self.findings.chosen_stale)
        )
        self.findings.table.chosen.connect(lambda _: self.menus.refresh())
        self.header.grade_wanted.connect(self._show_grade)
        self.plan.view.drop_chosen.connect(self._drop_chosen)
        self.since.wanted.connect(self._show_revisions)
        self.proposer.failed.connect(self._tell_no_proposal)
        self.fitting.failed.connect(self._tell_no_parts)
        self.files.papers.finished.connect(self._papers_finished)
        # A window that stays open over midnight shows what holds on the new day.
        self._day_timer = QTimer(self)
        self._day_timer.setInterval(_DAY_MS)
        self._day_timer.timeout.connect(session.follow_day)
        self._day_timer.start()
        self.files.theme_changed.connect(self.show_theme)
        self.files.recent_changed.connect(self.menus.refresh)
        self.files.book_outside.connect(self.exchange.meet)
        session.job_holder.picture_wanted.connect(self.logo.choose)
        for page in self.pages.values():
            if isinstance(page, RowsPage | BookPage):
                page.selected.connect(self.menus.refresh)
        drops = self.pages["drops"]
        if isinstance(drops, RowsPage):
            drops.selected.connect(self._drops_selected)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._focus_moved)

    # Showing.

    def refresh(self) -> None:
        """Show what holds, everywhere."""
        if self.session.known is None and not self.session.is_late:
            # Nobody notices that the picture stays for a moment, and it would flicker if it went.
            self._hold_picture(True)
        else:
            self._show_study()
        # A page out of view is refreshed when it comes into view.
        self._stale = set(self.pages) - {self.page.key}
        self.page.refresh(self.session.job.units)
        self.menus.refresh()
        self.setWindowModified(self.session.is_modified)
        name = self.session.path.name if self.session.path else "new job"
        self.setWindowTitle(title(name, changes=True))

    def _hold_picture(self, hold: bool) -> None:
        """Leave what follows from the job as it was painted, so that it goes over to what holds in one step."""
        for widget in (self.header, self.since, self.right):
            if widget.updatesEnabled() is hold:
                widget.setUpdatesEnabled(not hold)

    def _show_study(self) -> None:
        """Show what follows from the job that holds; where it is not there yet, that it is being worked out."""
        for piece in self._pieces_of_study():
            piece()

    def _pieces_of_study(self) -> tuple[Callable[[], object], ...]:
        """What shows it, in pieces that an event can come between."""
        return (
            self._show_head,
            self.findings.refresh,
            self._show_views,
            partial(self._hold_picture, False),
        )

    def _words_meanwhile(self) -> str:
        meanwhile = "" if self.session.known is not None else self.session.meanwhile
        return meanwhile[:1].upper() + meanwhile[1:]

    def _show_head(self) -> None:
        self.header.refresh()
        self.since.refresh()
        self._count()

    def _show_views(self) -> None:
        words = self._words_meanwhile()
        self.plan.refresh()
        for late in (self._prices, self._buying, self._proof, self._risk, self._board):
            late.wait(words)
            if late.built is not None and not words:
                late.built.refresh()
        for beside in (self._preview, self._options, self._revisions):
            if beside.built is not None:
                beside.built.refresh()

    def _tell_late(self) -> None:
        """It takes so long that a figure from before would be taken for one that holds."""
        self._show_study()

    def _worked_out(self) -> None:
        self.session.turns.give(*self._pieces_of_study(), self._show_pages)

    def _show_pages(self) -> None:
        # A form offers the segments of a line; the price book tells which parts are used. No other page needs a study.
        if self.page.key in ("lines", "book"):
            self.page.refresh(self.session.job.units)

    def _found(self) -> None:
        """What is wrong in an offered option came to the list, or is still being worked out."""
        if self.session.known is not None:
            self.findings.refresh()
            self.header.show_findings()

    def _count(self) -> None:
        session = self.session
        design = session.job.design
        wrong: dict[str, int] = {}
        signatures = Signatures(session.whole)
        # The design worked on alone: a page shows the rows of no other.
        for finding in session.kept_back + (session.known.findings if session.known is not None else ()):
            place = place_of(session, finding.place)
            signed = signatures.of(replace(finding, option=session.option))
            if place is not None and finding.severity is Severity.ERROR and signed is None:
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
            item.setToolTip(0, tip(text))

    def show_theme(self, choice: str) -> None:
        """Show a theme: "system", "light" or "dark"."""
        app = QApplication.instance()
        if isinstance(app, QApplication):
            apply_theme(app, choice)
        self.findings.refresh(colours_changed=True)
        self.refresh()

    def say(self, sentence: str) -> None:
        """Show a sentence in the status line."""
        say_in(self.statusBar(), sentence, 15_000)

    def _focus_moved(self, _old: QWidget | None, new: QWidget | None) -> None:
        if new is None or new.window() is not self:
            return
        if self.header.isAncestorOf(new):
            # Their tips tell what the counts lead to; here it would stand beside a form that it says nothing about.
            self.help.tell("")
            return
        told = new.property("help")
        self.help.tell(str(told) if told else new.accessibleDescription() or "")
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

    def go_to_page(self, key: str, *, share: bool = True) -> Page:
        """Show a page.

        Args:
            share: let the panes share the window as that page wants; not while the pointer is on one of them.
        """
        page = self.pages[key]
        if share and self.is_whole:
            self.view_whole()
        if self.nav.currentItem() is not self._nav_items[key]:
            blocked = self.nav.blockSignals(True)
            self.nav.setCurrentItem(self._nav_items[key])
            self.nav.blockSignals(blocked)
        if key in self._stale:
            self._stale.discard(key)
            page.refresh(self.session.job.units)
            self._place(page)
        self.stack.setCurrentWidget(page)
        if share:
            self._share_room(page.wide)
        self.menus.refresh()
        return page

    def _share_room(self, wide: bool) -> None:
        if wide != self._wide:
            self._shares[self._share] = self.split.sizes()
            self._wide = wide
            if self._share in self._shares:
                self.split.setSizes(self._shares[self._share])
            else:
                self.set_room()

    @property
    def _share(self) -> str:
        return "main, wide" if self._wide else "main"

    def _layout(self) -> bytes:
        """How the panes share the window, to be remembered."""
        if self.is_whole:
            return json.dumps(self._shares).encode("ascii")
        self._shares[self._share] = self.split.sizes()
        for split in self.findChildren(QSplitter):
            # One that was never in view has no sizes of its own yet.
            if split is not self.split and split.objectName() and any(split.sizes()):
                self._shares[split.objectName()] = split.sizes()
        return json.dumps(self._shares).encode("ascii")

    def _restore_layout(self, layout: bytes) -> bool:
        """Let the panes share the window as remembered; False where that is not known."""
        try:
            shares = json.loads(layout) if layout else {}
            self._shares = {str(k): [int(n) for n in sizes] for k, sizes in shares.items()}
        except (ValueError, TypeError, AttributeError):
            self._shares = {}
        self._placed.clear()
        self._place(self)
        return self._share in self._shares

    def _place(self, below: QWidget) -> None:
        """Give the splitters below a widget the sizes remembered for them, once."""
        for split in (s for s in below.findChildren(QSplitter) if s not in self._placed):
            self._placed.add(split)
            sizes = self._shares.get(self._share if split is self.split else split.objectName(), [])
            if len(sizes) == split.count():
                split.setSizes(sizes)

    def view_whole(self) -> None:
        """The view takes the whole window, or the form and the findings come back."""
        if not self.is_whole:
            self._layout()
        self.is_whole = not self.is_whole
        for pane in (self.nav, self._middle, self.findings):
            pane.setVisible(not self.is_whole)
        if self.is_whole:
            self._view_focus().setFocus(Qt.FocusReason.OtherFocusReason)
            self.say("F11 brings the form and what is missing or wrong back.")
        else:
            self.split.setSizes(self._shares[self._share])
            self.right.setSizes(self._shares[self.right.objectName()])
        self.menus.refresh()

    def set_room(self) -> None:
        """The usual shares of the window's width."""
        if self.is_whole:
            self.view_whole()
        total = max(self.split.width(), _LEAST.width())
        nav = max(168 if total > 1000 else 0, self.nav.minimumWidth())
        share = 0.54 if self._wide else 0.38
        middle = max(int((total - nav) * share), _LEAST_FORM)
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

    def go_to(self, where: str, option: str = "") -> bool:
        """Go to the field of a finding; False and a sentence if it has no field of its own.

        Args:
            where: its place.
            option: id of the option that it is of, which is worked on from then on; what is seen if left out.
        """
        if option in option_ids(self.session.whole):
            self.session.work_on(option)
        steps = where.split(".")
        if steps[0] == "alternatives":
            self.show_view("options")
            numbers = [int(step) for step in steps[1:] if step.isdigit()]
            self.options.show_option(*numbers[:2])
            return True
        if where.startswith(("issued.", "ledger")):
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

    def show_view(self, key: str) -> None:
        """Show a view of `VIEWS`."""
        if key == "buying":
            self.tabs.setCurrentWidget(self.takeoff)
            self.takeoff.setCurrentWidget(self._buying)
            self.buying.table.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.tabs.setCurrentWidget(self._views[key])

    def show_keys(self) -> None:
        """Show the commands with their keys."""
        self.menus.show_keys(self).open()

    def _show_revisions(self) -> None:
        self.show_view("revisions")
        self.revisions.show_newest()

    def _show_grade(self, grade: object) -> None:
        if isinstance(grade, Grade):
            self.findings.show_grade(grade)

    def _drop_chosen(self, drop: str, add: bool) -> None:
        page = self.go_to_page("drops", share=False)
        ids = [d.id for d in self.session.job.design.drops]
        if isinstance(page, RowsPage) and drop in ids:
            before = page.rows.selection if add else []
            page.rows.select(sorted({*before, ids.index(drop)}))

    def _drops_selected(self, positions: list[int]) -> None:
        drops = self.session.job.design.drops
        ids = [drops[i].id for i in positions if i < len(drops)]
        self.plan.view.choose(ids)
        if self._proof.built is not None:
            self._proof.built.choose(ids)

    def _tell_no_proposal(self, error: object) -> None:
        sentences = [str(error) or type(error).__name__, "The job is as it was."]
        self._dialogs.tell("No sizes could be proposed", sentences)

    def _tell_no_parts(self, error: object) -> None:
        sentences = [str(error) or type(error).__name__, "The job is as it was."]
        self._dialogs.tell("No parts could be looked for", sentences)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """The commands for what is under the pointer or the keyboard."""
        places = (
            (self.stack, "book" if self.page.key == "book" else "rows" if self.rows_in_view() else ""),
            (self.plan, "plan"),
            (self._proof, "proof"),
            (self._options, "options"),
            (self._revisions, "revisions"),
            (self.findings, "findings"),
        )
        at = self.childAt(self.mapFromGlobal(event.globalPos()))
        for pane, place in places:
            if at is not None and (pane is at or pane.isAncestorOf(at)):
                menu = self.menus.context(place, self)
                if menu is not None:
                    menu.popup(event.globalPos())
                    event.accept()
                return

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
            (self.findings, self.findings.table),
            (self.header, self.header.first_input() or self.nav),
        ]
        panes = [(pane, first) for pane, first in panes if pane.isVisible()]
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
        views: tuple[Callable[[], QWidget], ...] = (
            lambda: self.plan.view,
            lambda: self.buying.table if self._buying.isVisible() else self.prices.table,
            lambda: self.preview.sheet,
            lambda: self.proof.focus_widget,
            lambda: self.risk.chart,
            lambda: self.options.all,
            lambda: self.revisions.table,
            lambda: self.board.slider,
        )
        return views[self.tabs.currentIndex()]()

    def finish_typing(self) -> None:
        """Take over what is being typed, as if the field were left."""
        now = QApplication.focusWidget()
        if isinstance(now, LineEdit | TextArea):
            now.finish()

    # Beginning and end.

    def begin(self) -> None:
        """Show the window where it was at its last end, with its panes as they were."""
        geometry = self.files.geometry
        if not geometry or not self.restoreGeometry(QByteArray(geometry)):
            self.fit_screen()
        self.show()
        if not self._restore_layout(self.files.layout):
            self.set_room()

    def _papers_finished(self, well: bool) -> None:
        closing, self._closing = self._closing, False
        if closing and well:  # after a failure the person may want to try again
            self.close()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """A low window leaves out the sentence below a page's title."""
        super().resizeEvent(event)
        for page in self.pages.values():
            page.show_intro(event.size().height() >= _ROOM_FOR_INTRO)

    def fit_screen(self) -> None:
        """A size that suits the screen."""
        screen = QGuiApplication.primaryScreen().availableGeometry()
        self.resize(min(screen.width(), 1500), min(screen.height() - 30, 900))
        self.set_room()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Write what is being written first, then ask about unsaved changes."""
        self.finish_typing()
        # What was left is not waited for: on a disk that went away its end never comes.
        awaited = self.files.papers.queue.names
        self._closing = bool(awaited)
        if self._closing:
            names = ", ".join(awaited)
            one = len(awaited) == 1
            what = ("it is", "it") if one else ("they are", "them")
            self.say(f"Closes when {what[0]} written: {names}. Cancel leaves {what[1]}.")
            event.ignore()
        elif self.files.may_leave():
            # What is under way is left everywhere before any of it is waited for.
            self.busy.stop()
            ending = Ending()
            self.files.end(bytes(self.saveGeometry().data()), self._layout(), ending)
            self.session.end()
            if self._preview.built is not None:
                self._preview.built.end()
            self.proposer.end()
            self.fitting.end()
            self.exchange.end(ending)
            self.logo.end(ending)
            self._day_timer.stop()
            self.closed.emit()
            event.accept()
        else:
            event.ignore()
