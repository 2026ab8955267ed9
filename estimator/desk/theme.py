"""Light and dark: two sets of colours, one style."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from estimator.model.grades import Grade
from estimator.shown.standing import Standing

__all__ = ["DARK", "LIGHT", "MARKS", "THEMES", "Theme", "apply_theme", "current_theme"]


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours as #rrggbb. Text on `paper` and `ground` keeps a contrast of at least 4.5 to 1."""

    name: str
    ground: str
    paper: str
    raised: str
    line: str
    ink: str
    faint: str
    accent: str
    on_accent: str
    chosen: str
    error: str
    warning: str
    note: str
    good: str

    def of(self, grade: Grade) -> str:
        """Colour of a grade; a mark and the word always stand beside it."""
        return {Grade.LOOK: self.warning, Grade.KNOW: self.note}.get(grade, self.error)

    def standing(self, standing: Standing) -> str:
        """Colour of how a drop stands; its sign and the words always stand beside it."""
        return {Standing.GOOD: self.good, Standing.CLOSE: self.warning, Standing.UNKNOWN: self.faint}.get(
            standing, self.error
        )


MARKS: Final = {Grade.NEVER: "■", Grade.MEND: "✕", Grade.LOOK: "▲", Grade.KNOW: "●"}

LIGHT: Final = Theme(
    name="light",
    ground="#f1f3f2",
    paper="#ffffff",
    raised="#e6eae8",
    line="#c9d1ce",
    ink="#1d282b",
    faint="#56656a",
    accent="#176570",
    on_accent="#ffffff",
    chosen="#cfe6e6",
    error="#a32420",
    warning="#7f5200",
    note="#2b5a8a",
    good="#1c6b3a",
)
DARK: Final = Theme(
    name="dark",
    ground="#1a2022",
    paper="#21292c",
    raised="#2d373b",
    line="#435056",
    ink="#e8eeee",
    faint="#a4b4b7",
    accent="#63c3c9",
    on_accent="#0e2225",
    chosen="#2f5155",
    error="#ff938c",
    warning="#f0c060",
    note="#93c0f2",
    good="#7fd3a0",
)
THEMES: Final = {"light": LIGHT, "dark": DARK}


# By how much the style darkens a window's colour for an outline, in percent.
_OUTLINE = 140


def _palette(theme: Theme) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for where, colour in (
        (role.Window, theme.ground),
        (role.WindowText, theme.ink),
        (role.Base, theme.paper),
        (role.AlternateBase, theme.ground),
        (role.Text, theme.ink),
        (role.Button, theme.raised),
        (role.ButtonText, theme.ink),
        (role.BrightText, theme.error),
        (role.Highlight, theme.chosen),
        (role.HighlightedText, theme.ink),
        (role.ToolTipBase, theme.raised),
        (role.ToolTipText, theme.ink),
        (role.PlaceholderText, theme.faint),
        (role.Link, theme.accent),
        (role.Mid, theme.line),
        (role.Light, theme.raised),
        (role.Midlight, theme.line),
        (role.Dark, theme.line),
        (role.Shadow, theme.line),
        (role.Accent, theme.accent),
    ):
        palette.setColor(where, QColor(colour))
    faint = QColor(theme.faint)
    faint.setAlpha(150)
    for where in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, where, faint)
    return palette


def _style(t: Theme) -> str:
    return f"""
    QToolTip {{ color: {t.ink}; background: {t.raised}; border: 1px solid {t.line}; padding: 4px; }}
    QMainWindow, QDialog {{ background: {t.ground}; }}
    QMenuBar {{ background: {t.ground}; }}
    QMenuBar::item {{ padding: 4px 9px; background: transparent; }}
    QMenuBar::item:selected, QMenu::item:selected {{ background: {t.chosen}; color: {t.ink}; }}
    QMenu {{ background: {t.paper}; border: 1px solid {t.line}; padding: 4px; }}
    QMenu::item {{ padding: 5px 26px 5px 24px; }}
    QMenu::item:disabled {{ color: {t.faint}; }}
    QMenu::separator {{ height: 1px; background: {t.line}; margin: 4px 6px; }}
    QLineEdit, QPlainTextEdit {{
        background: {t.paper}; color: {t.ink}; border: 1px solid {t.line}; border-radius: 4px; padding: 3px 6px;
        selection-background-color: {t.accent}; selection-color: {t.on_accent};
    }}
    QLineEdit:focus, QPlainTextEdit:focus {{ border: 2px solid {t.accent}; padding: 2px 5px; }}
    QLineEdit:disabled, QPlainTextEdit:disabled {{ background: {t.ground}; color: {t.faint}; }}
    QLineEdit[refused="true"], QPlainTextEdit[refused="true"] {{
        border: 2px solid {t.error}; padding: 2px 5px;
    }}
    QPushButton, QToolButton {{
        background: {t.paper}; color: {t.ink}; border: 1px solid {t.line}; border-radius: 4px; padding: 4px 10px;
    }}
    QToolButton {{ padding: 3px 6px; }}
    ChoicesBox {{ text-align: left; }}
    QPushButton:hover, QToolButton:hover {{ background: {t.raised}; }}
    QPushButton:focus, QToolButton:focus {{ border: 2px solid {t.accent}; padding: 3px 9px; }}
    QToolButton:focus {{ padding: 2px 5px; }}
    QPushButton:pressed, QPushButton:checked, QToolButton:checked {{ background: {t.chosen}; }}
    QPushButton:disabled, QToolButton:disabled {{ color: {t.faint}; background: {t.ground}; }}
    QPushButton#primary {{ background: {t.accent}; color: {t.on_accent}; border: 1px solid {t.accent}; }}
    QPushButton#primary:focus {{ border: 2px solid {t.ink}; }}
    QToolButton::menu-indicator {{ image: none; }}
    QGroupBox {{
        border: 1px solid {t.line}; border-radius: 6px; margin-top: 10px; padding: 10px 8px 6px 8px;
        font-weight: 600; background: transparent;
    }}
    QGroupBox QGroupBox {{ padding: 10px 4px 4px 4px; }}
    QGroupBox::title {{ subcontrol-origin: margin; left: 10px; padding: 0 4px; color: {t.accent}; }}
    QTreeView, QTableView, QListView {{
        background: {t.paper}; alternate-background-color: {t.ground}; border: 1px solid {t.line};
        border-radius: 4px; outline: none; gridline-color: {t.line};
    }}
    QTreeView:focus, QTableView:focus, QListView:focus {{ border: 2px solid {t.accent}; }}
    QTreeView::item, QListView::item {{ padding: 3px 4px; }}
    QTreeView::item:selected, QTableView::item:selected, QListView::item:selected {{
        background: {t.chosen}; color: {t.ink};
    }}
    QTableView::item {{ padding: 0 5px; }}
    QTreeView::indicator {{
        width: 11px; height: 11px; border: 2px solid {t.faint}; border-radius: 3px; background: {t.paper};
    }}
    QTreeView::indicator:checked {{ background: {t.accent}; border-color: {t.accent}; }}
    QHeaderView {{ background: {t.raised}; }}
    QHeaderView::section {{
        background: {t.raised}; color: {t.ink}; border: none; border-right: 1px solid {t.line}; padding: 4px 6px;
    }}
    QTabWidget::pane {{ border: none; }}
    QTabBar::tab {{
        background: transparent; color: {t.faint}; padding: 6px 14px; border: none;
        border-bottom: 2px solid {t.line};
    }}
    QTabBar QToolButton {{ padding: 0; }}
    QTabBar::tab:selected {{ color: {t.ink}; border-bottom: 2px solid {t.accent}; }}
    QTabBar::tab:focus {{ color: {t.accent}; border-bottom: 3px solid {t.accent}; }}
    QScrollArea {{ border: none; background: transparent; }}
    QScrollArea > QWidget > QWidget#pageBody {{ background: transparent; }}
    QSplitter::handle {{ background: {t.ground}; }}
    QSplitter::handle:hover {{ background: {t.chosen}; }}
    QStatusBar {{ background: {t.ground}; color: {t.faint}; }}
    QStatusBar::item {{ border: none; }}
    QLabel#pageTitle {{ font-size: 15pt; font-weight: 600; }}
    QLabel#paneTitle {{ font-weight: 600; }}
    QLabel#faint, QLabel#fieldHint {{ color: {t.faint}; }}
    QLabel#fieldError {{ color: {t.error}; }}
    QLabel#rowHeading {{ font-weight: 600; color: {t.accent}; }}
    QLabel#help {{ color: {t.faint}; background: {t.raised}; border-radius: 4px; padding: 6px 8px; }}
    QLabel#firmPrice {{ font-size: 20pt; font-weight: 600; }}
    QLabel#jobTitle {{ font-size: 12pt; font-weight: 600; }}
    QFrame#header {{ background: {t.paper}; border: 1px solid {t.line}; border-radius: 6px; }}
    QFrame#header QLabel {{ background: transparent; }}
    """


def current_theme() -> Theme:
    """The theme the application shows."""
    app = QApplication.instance()
    name = app.property("desk_theme") if app is not None else None
    return THEMES.get(str(name), LIGHT)


def apply_theme(app: QApplication, choice: str) -> Theme:
    """Show a theme.

    Args:
        choice: "light", "dark", or "system" to follow the system.
    """
    hints = app.styleHints()
    if choice == "system":
        dark = hints.colorScheme() is Qt.ColorScheme.Dark
        theme = DARK if dark else LIGHT
    else:
        theme = THEMES[choice]
    if app.property("desk_theme") == theme.name:
        return theme
    app.setProperty("desk_theme", theme.name)
    if app.style().objectName() != "fusion":
        app.setStyle("Fusion")
    app.setPalette(_palette(theme))
    boxes = _palette(theme)
    # The style outlines a box in a darker shade of the window, which nobody would see in the dark.
    boxes.setColor(QPalette.ColorRole.Window, QColor(theme.faint).lighter(_OUTLINE))
    # The toolkit's declaration says bytes, the call takes a name.
    boxed: Any = "QCheckBox"
    app.setPalette(boxes, boxed)
    app.setStyleSheet(_style(theme))
    return theme
