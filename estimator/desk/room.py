"""How large a dialog may be: what it would like, never more than the window it stands above nor than the screen."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QDialog

_AROUND: Final = QSize(16, 36)
"""Left of the screen beside and above a dialog, in points: its frame and title."""


def fit_in_room(dialog: QDialog, wished: QSize) -> None:
    """Give the dialog the size it wishes for, as far as there is room.

    A laptop of 1366 × 768 at 150 % has 911 × 512 points, a bar below them: the buttons of a taller dialog would be out
    of reach.

    Args:
        dialog: not shown yet.
        wished: points it would take where there is room.
    """
    room = dialog.screen().availableSize() - _AROUND
    above = dialog.parentWidget()
    dialog.resize(
        wished.boundedTo(room) if above is None else wished.boundedTo(above.window().size()).boundedTo(room)
    )
