"""Every command of the window, declared once: menus, context menus, buttons and the list of keys read it here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final, Protocol

from PySide6.QtGui import QKeySequence

from estimator.desk.doing.exchange import Exchange
from estimator.desk.doing.files import Files
from estimator.desk.doing.fitting import FittingAct
from estimator.desk.doing.logo import Logo
from estimator.desk.doing.propose import ProposeAct
from estimator.desk.doing.signing import Signing
from estimator.desk.form.rows import ROW_ACTS, RowAct, RowsEditor
from estimator.desk.plain import menu_words
from estimator.desk.session import Session
from estimator.desk.views.findings import FindingsView
from estimator.desk.views.plan import PlanView
from estimator.shown.commands import ACTS
from estimator.units import UnitSystem

if TYPE_CHECKING:
    from estimator.desk.views.options import OptionsView
    from estimator.desk.views.revisions import RevisionsView

__all__ = ["GESTURES", "VIEWS", "Command", "Listing", "MenuEntry", "Panes", "declare", "key_lines"]

Key = str | QKeySequence.StandardKey

VIEWS: Final = (
    ("plan", "&Floor plan"),
    ("takeoff", "&Takeoff and price"),
    ("preview", "Quote pre&view"),
    ("proof", "Pr&oof"),
    ("risk", "Range and ris&k"),
    ("options", "Option&s"),
    ("revisions", "Rev&isions"),
    ("buying", "Buyin&g"),
    ("board", "Plant &board"),
)
"""The views on the right in the order of their keys: stable name, words."""

GESTURES: Final = (
    ("Enter", "In a field: take the typed value over"),
    ("Escape", "In a field: bring back the value that holds"),
    ("F2", "In a table: edit the cell"),
    ("Delete", "In a table: remove the selected rows"),
    ("Shift+Up, Shift+Down", "In a table: select several rows and set a value for all of them"),
    ("Arrow keys", "On the floor plan: from drop to drop"),
    ("Enter", "On the floor plan: the form of the chosen drop"),
    ("Ctrl+Wheel", "On the floor plan: zoom"),
    ("Left, Right", "On the slider of the plant board: how many tanks fill at once"),
    ("Enter", "In the list of what is missing or wrong, or in a table of the proof: go to the field"),
    ("Menu, Shift+F10", "The commands for what is under the keyboard"),
)
"""What keys do inside one widget: key, words."""

_UNITS = {UnitSystem.METRIC: "&Metric (m, bar, L/min)", UnitSystem.US: "&US (ft, psi, gpm)"}
_THEMES = {"system": "&Follow the system", "light": "&Light", "dark": "&Dark"}


class Panes(Protocol):
    """What the commands ask of the window."""

    def close(self) -> bool:
        """End; False if the person stays."""

    def show_view(self, key: str) -> None:
        """Show a view and put the keyboard into it."""

    def enter(self, key: str) -> None:
        """Show a page of the form and put the keyboard into it."""

    def cycle_panes(self, by: int) -> None:
        """The keyboard to the next (+1) or previous (-1) pane."""

    def set_room(self) -> None:
        """The usual shares of the window for its panes."""

    def view_whole(self) -> None:
        """The view takes the whole window, or the form and the findings come back."""

    @property
    def is_whole(self) -> bool:
        """Whether the view takes the whole window."""

    def rows_in_view(self) -> RowsEditor | None:
        """The list of the page in view, None if it has none."""

    def show_keys(self) -> None:
        """Show the commands with their keys."""


def _always() -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Command:
    """Something a person can have done.

    Attributes:
        id: stable name, "menu.what".
        words: with "&" before the letter that chooses it in a menu.
        does: does it.
        menu: the menus it stands below, outermost first; the words of each.
        keys: keys that do it wherever the keyboard is in the window.
        button: its words on a button, where the menu's are too long.
        told: what it does, for a tip and a screen reader.
        applies: whether it can be done now.
        refusal: what is said when it cannot be done.
        ticked: whether it is the choice that holds; None for what is no choice.
        now: its words at this moment, where they follow the job.
        here: names of the places whose context menu it stands in.
        apart: a line stands above it in its menu.
    """

    id: str
    words: str
    does: Callable[[], object]
    menu: tuple[str, ...]
    keys: tuple[Key, ...] = ()
    button: str = ""
    told: str = ""
    applies: Callable[[], bool] = _always
    refusal: str = "That cannot be done now."
    ticked: Callable[[], bool] | None = None
    now: Callable[[], str] | None = None
    here: tuple[str, ...] = ()
    apart: bool = False

    @property
    def name(self) -> str:
        """Its words without the letter's mark."""
        return self.words.replace("&&", "\0").replace("&", "").replace("\0", "&")


def _shared(act: str, does: Callable[[], object], menu: tuple[str, ...], **more: Any) -> Command:
    """A command for an act that the command line has too, in the same words.

    Args:
        act: its id, which is the command's.
        more: keys, button and so on, as `Command` has them.
    """
    return Command(act, ACTS[act].words, does, menu, told=ACTS[act].told, **more)


@dataclass(frozen=True, slots=True)
class MenuEntry:
    """One line of a menu that is filled when it opens."""

    words: str
    does: Callable[[], object]
    ticked: bool | None = None


@dataclass(frozen=True, slots=True)
class Listing:
    """A menu whose lines follow the job.

    Attributes:
        id: stable name.
        words: of the menu.
        menu: the menus it stands below.
        entries: its lines now.
        otherwise: what stands there when there are none.
    """

    id: str
    words: str
    menu: tuple[str, ...]
    entries: Callable[[], Iterable[MenuEntry]]
    otherwise: str
    apart: bool = False


def declare(
    panes: Panes,
    session: Session,
    files: Files,
    exchange: Exchange,
    logo: Logo,
    proposer: ProposeAct,
    plan: PlanView,
    options: Callable[[], OptionsView],
    revisions: Callable[[], RevisionsView],
    pages: Sequence[tuple[str, str]],
    signing: Signing,
    fitting: FittingAct,
    findings: FindingsView,
) -> tuple[Command | Listing, ...]:
    """All commands, in the order of the menus.

    Args:
        options, revisions: give the view, which is built when it is first wanted.
        pages: stable names and titles of the pages of the form.
    """
    return (
        *_of_files(panes, files),
        *_of_editing(panes, session),
        *_of_views(panes, session, files, plan),
        *_of_pages(panes, pages),
        *_of_options(panes, options, revisions),
        *_of_findings(signing, fitting, findings),
        _shared(
            "sizes.propose",
            proposer.start,
            ("&Sizes",),
            keys=("Ctrl+R",),
            applies=lambda: bool(session.job.design.drops),
            refusal="There are no drops to size yet.",
            here=("proof",),
        ),
        *_of_prices(panes, exchange),
        *_of_logo(logo),
        Command("help.keys", "&Keys and commands", panes.show_keys, ("&Help",), ("F1",)),
        Command("help.about", "&About Baydrop", files.tell_about, ("&Help",)),
    )


def _of_files(panes: Panes, files: Files) -> list[Command | Listing]:
    menu = ("&File",)
    standard = QKeySequence.StandardKey

    def earlier() -> list[MenuEntry]:
        return [
            MenuEntry(menu_words(words), partial(files.open_earlier, version))
            for words, version in files.earlier()
        ]

    def recent() -> list[MenuEntry]:
        return [MenuEntry(menu_words(str(path)), partial(files.open_path, path)) for path in files.recent()]

    return [
        Command("file.new", "&New", files.new, menu, (standard.New,)),
        Command("file.open", "&Open…", files.open, menu, (standard.Open,)),
        Listing("file.recent", "Open &recent", menu, recent, "None yet"),
        *(
            Command(
                f"file.example.{path.stem}",
                path.stem.replace("-", " ").title(),
                partial(files.open_example, path),
                (*menu, "Open &example"),
            )
            for path in files.examples()
        ),
        Command("file.save", "&Save", files.save, menu, (standard.Save,), apart=True),
        Command("file.save-as", "Save &as…", files.save_as, menu, ("Ctrl+Shift+S",)),
        Listing("file.earlier", "Ear&lier saved versions", menu, earlier, "None yet"),
        _shared(
            "file.quote", files.papers.write_draft, menu, keys=("Ctrl+P",), button="Write PDF…", apart=True
        ),
        _shared("file.safety", files.papers.write_notes, menu),
        _shared("file.labels", files.papers.write_labels, menu),
        Command("file.quit", "&Quit", panes.close, menu, ("Ctrl+Q",), apart=True),
    ]


def _of_editing(panes: Panes, session: Session) -> list[Command | Listing]:
    menu = ("&Edit",)
    standard = QKeySequence.StandardKey

    def named(verb: str, act: str) -> str:
        return f"&{verb}: {menu_words(act)}" if act else f"&{verb}"

    def undo_words() -> str:
        stop = session.history.floor_name
        return f"&Undo stops at: {menu_words(stop)}" if stop else named("Undo", session.history.undo_name)

    def past() -> list[MenuEntry]:
        history = session.history
        names = ("As it was opened", *history.names)
        near = range(max(history.floor, history.position - 15), min(len(names), history.position + 16))
        return [
            MenuEntry(menu_words(names[i]), partial(session.go_to, i), i == history.position) for i in near
        ]

    def row_command(act: RowAct, apart: bool) -> Command:
        def do() -> None:
            rows = panes.rows_in_view()
            if rows is not None:
                act.does(rows)

        def applies() -> bool:
            rows = panes.rows_in_view()
            return rows is not None and act.applies(rows)

        return Command(
            f"rows.{act.id}",
            act.words,
            do,
            menu,
            (act.key,),
            told=act.told,
            applies=applies,
            refusal="No list is in view, or no row is selected.",
            here=("rows",),
            apart=apart,
        )

    return [
        Command(
            "edit.undo",
            "&Undo",
            session.undo,
            menu,
            (standard.Undo,),
            applies=lambda: bool(session.history.undo_name),
            refusal="There is nothing to undo, or only what cannot be undone: an issued revision is withdrawn instead.",
            now=undo_words,
        ),
        Command(
            "edit.redo",
            "&Redo",
            session.redo,
            menu,
            (standard.Redo,),
            applies=lambda: bool(session.history.redo_name),
            refusal="There is nothing to redo.",
            now=lambda: named("Redo", session.history.redo_name),
        ),
        Listing("edit.history", "&History", menu, past, "Nothing yet"),
        *(row_command(act, act is ROW_ACTS[0]) for act in ROW_ACTS),
    ]


def _of_views(panes: Panes, session: Session, files: Files, plan: PlanView) -> list[Command | Listing]:
    menu = ("&View",)
    units, theme = (*menu, "Units sho&wn"), (*menu, "T&heme")

    def zoom(
        name: str, words: str, does: Callable[[], object], button: str, told: str, *keys: Key
    ) -> Command:
        first = name == "plan.larger"
        return Command(name, words, does, menu, keys, button=button, told=told, here=("plan",), apart=first)

    return [
        *(
            Command(f"view.{key}", words, partial(panes.show_view, key), menu, (f"Ctrl+{i + 1}",))
            for i, (key, words) in enumerate(VIEWS)
        ),
        Command("view.next-pane", "&Next pane", partial(panes.cycle_panes, 1), menu, ("F6",), apart=True),
        Command("view.last-pane", "&Previous pane", partial(panes.cycle_panes, -1), menu, ("Shift+F6",)),
        Command("view.reset", "&Reset pane widths", panes.set_room, menu),
        Command(
            "view.whole",
            "Vi&ew in the whole window",
            panes.view_whole,
            menu,
            ("F11",),
            told="Give the view the room of the form and of what is missing or wrong, or give it back.",
            ticked=lambda: panes.is_whole,
        ),
        zoom(
            "plan.larger",
            "&Zoom in",
            partial(plan.zoom_by, 1.25),
            "+",
            "Show the floor plan larger.",
            "Ctrl++",
            "Ctrl+=",
        ),
        zoom(
            "plan.smaller",
            "Zoom o&ut",
            partial(plan.zoom_by, 0.8),
            "−",
            "Show the floor plan smaller.",
            "Ctrl+-",
        ),
        zoom(
            "plan.fit",
            "Fit the p&lan",
            partial(plan.set_zoom, 1.0),
            "Fit",
            "Show the whole floor plan.",
            "Ctrl+0",
        ),
        *(
            Command(
                f"view.units.{system.value}",
                words,
                partial(files.show_units, system),
                units,
                ticked=partial(_is, lambda: session.job.units, system),
                apart=system is UnitSystem.METRIC,
            )
            for system, words in _UNITS.items()
        ),
        *(
            Command(
                f"view.theme.{choice}",
                words,
                partial(files.show_theme, choice),
                theme,
                ticked=partial(_is, lambda: files.theme, choice),
            )
            for choice, words in _THEMES.items()
        ),
    ]


def _is(now: Callable[[], object], wanted: object) -> bool:
    return now() == wanted


def _of_pages(panes: Panes, pages: Sequence[tuple[str, str]]) -> list[Command | Listing]:
    return [
        Command(
            f"go.{key}",
            menu_words(title),
            partial(panes.enter, key),
            ("&Go",),
            (f"Alt+{(i + 1) % 10}" if i < 10 else f"Alt+Shift+{i - 9}",),
        )
        for i, (key, title) in enumerate(pages)
    ]


def _of_options(
    panes: Panes, options: Callable[[], OptionsView], revisions: Callable[[], RevisionsView]
) -> list[Command | Listing]:
    menu = ("&Options",)

    def make() -> None:
        panes.show_view("options")
        options().copy_worked_on()

    def ready() -> list[MenuEntry]:
        return [
            MenuEntry(menu_words(name), partial(_shown_first, partial(panes.show_view, "options"), do))
            for name, do in options().ready_made()
        ]

    def issue() -> None:
        panes.show_view("revisions")
        revisions().ask()

    return [
        _shared("options.make", make, menu, keys=("Ctrl+Shift+O",), here=("options",)),
        Listing("options.ready", ACTS["options.ready"].words, menu, ready, "Nothing to do otherwise yet"),
        Command("options.show", "&Side by side", partial(panes.show_view, "options"), menu),
        _shared("revisions.issue", issue, menu, keys=("Ctrl+Shift+R",), here=("revisions",), apart=True),
    ]


def _of_findings(signing: Signing, fitting: FittingAct, findings: FindingsView) -> list[Command | Listing]:
    menu, here = ("&Options",), ("findings",)
    return [
        _shared(
            "findings.fit",
            lambda: fitting.start(findings.chosen),
            menu,
            applies=lambda: fitting.can_offer(findings.chosen),
            refusal="Choose a finding about a part that does not stand its product first.",
            here=here,
        ),
        _shared(
            "findings.sign",
            lambda: signing.start(findings.chosen),
            menu,
            applies=lambda: signing.can_sign(findings.chosen),
            refusal="Choose a finding that must never go out in the list of what is missing or wrong first.",
            here=here,
            apart=True,
        ),
        _shared(
            "findings.unsign",
            lambda: signing.take_back(findings.chosen, findings.chosen_stale),
            menu,
            applies=lambda: signing.can_take_back(findings.chosen, findings.chosen_stale),
            refusal="Choose a finding that was signed for first.",
            here=here,
        ),
    ]


def _shown_first(show: Callable[[], object], do: Callable[[], object]) -> None:
    show()
    do()


def _of_logo(logo: Logo) -> list[Command | Listing]:
    menu = ("&Edit",)
    return [
        _shared("company.logo", logo.choose, menu, apart=True),
        _shared(
            "company.no-logo",
            logo.remove,
            menu,
            applies=lambda: logo.is_there,
            refusal="The company has no logo.",
        ),
    ]


def _of_prices(panes: Panes, exchange: Exchange) -> list[Command | Listing]:
    menu = ("Price &book",)
    here = ("book",)
    return [
        Command("book.edit", "&Edit price book", partial(panes.enter, "book"), menu, ("Ctrl+B",)),
        *(
            _shared(act, does, menu, button=button, here=here)
            for act, does, button in (
                ("book.import", exchange.import_book, "Import…"),
                ("book.export", exchange.export_book, "Export…"),
                ("book.percent", exchange.change_group, "Percent…"),
                ("book.complete", exchange.complete, "Missing…"),
            )
        ),
        _shared("book.hold", exchange.hold, menu, apart=True),
        _shared(
            "book.take-new",
            exchange.take_new,
            menu,
            applies=exchange.has_new,
            refusal="No held price changed since.",
        ),
        _shared("book.release", exchange.release, menu),
    ]


def key_lines(commands: Iterable[Command | Listing]) -> tuple[tuple[str, str, str], ...]:
    """The commands with their keys: id, words, keys as a keyboard of this system writes them; gestures last."""
    rows = []
    for command in commands:
        if isinstance(command, Command):
            above = [m.replace("&", "") for m in command.menu[1:]]
            words = ": ".join((*above, command.name))
            rows.append((command.id, words, ", ".join(_key_text(k) for k in command.keys)))
    return (*rows, *(("", words, key) for key, words in GESTURES))


def _key_text(key: Key) -> str:
    if isinstance(key, str):
        return QKeySequence(key).toString(QKeySequence.SequenceFormat.NativeText)
    # The first is what everybody's keyboard has; the others are keys such as “Save” on a few.
    bound = QKeySequence.keyBindings(key)[:1]
    return "".join(b.toString(QKeySequence.SequenceFormat.NativeText) for b in bound)
