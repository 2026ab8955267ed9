"""Start of the desk."""

from __future__ import annotations

import argparse
import contextlib
import gc
import os
import sys
import threading
import traceback
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType
from typing import Final, NoReturn

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QMessageBox

from estimator.desk.doing.disk import Disk, DiskAway
from estimator.desk.doing.files import Files
from estimator.desk.doing.questions import Dialogs
from estimator.desk.plain import message_box, shown_text
from estimator.desk.session import Session
from estimator.desk.theme import apply_theme
from estimator.desk.window import Window
from estimator.model.job import Job
from estimator.model.pricebook import PriceBook
from estimator.store.places import no_folder
from estimator.store.pricebooks import PriceBookError, shipped_price_book, user_price_book

__all__ = ["Unexpected", "main", "make_window", "run", "spare_searches"]


class Unexpected:
    """What happens with an exception that nothing caught: the job is kept and the person is told."""

    def __init__(self) -> None:
        self._window: Window | None = None
        self._files: Files | None = None
        self._telling = False

    def look_after(self, window: Window) -> None:
        """Keep the job of this window from now on."""
        self._window, self._files = window, window.files

    def __call__(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """Take the place of `sys.excepthook`."""
        text = "".join(traceback.format_exception(kind, error, trace))
        sys.__excepthook__(kind, error, trace)
        if issubclass(kind, KeyboardInterrupt) or self._telling:
            return
        self._telling = True
        try:
            if self._files is not None:
                self._files.write_recovery()
            self.tell(text)
        finally:
            self._telling = False

    def tell(self, text: str) -> None:
        """Show the dialog."""
        words = (
            "Something unexpected happened. The job is as it was, and what was not saved is in a recovery copy.",
            "Save the job under a new name to be safe. The details help to find the fault.",
        )
        if self._window is None:
            words = (
                "The program cannot start. Your files are as they were.",
                "The details help to find the fault.",
            )
        box = message_box(QMessageBox.Icon.Critical, "Something unexpected happened", *words, self._window)
        box.setDetailedText(shown_text(text))
        box.exec()


def _price_book(dialogs: Dialogs) -> tuple[PriceBook, list[str]]:
    try:
        return Disk(dialogs).do(user_price_book, "your price book"), []
    except DiskAway as away:
        return shipped_price_book(), [str(away), "The demo price book is used instead; changes are not kept."]
    except PriceBookError as error:
        return shipped_price_book(), [
            *(f.message for f in error.findings[:8]),
            "The demo price book is used instead; changes are not kept."
            if no_folder()
            else "The demo price book is used instead. Your file is left as it is; changes are not kept.",
        ]


PATIENCE_S: Final = 0.03
"""Seconds that an act waits for what follows from it: two frames. Nobody notices, and a usual job never flickers."""

_GARBAGE: Final = (5_000, 10, 10)
"""New objects after which garbage is looked for among them (2 to 5 ms); how many such searches before a wider one."""


def make_window() -> tuple[Window, list[str]]:
    """The window with a blank job, and sentences about what could not be read."""
    dialogs = Dialogs()
    book, sentences = _price_book(dialogs)
    session = Session(Job(), book, patience_s=PATIENCE_S)
    files = Files(session, dialogs, keep_book=not sentences)
    if session.job.units is not files.settings.units:
        session.open(Job(units=files.settings.units), None)
    return Window(session, files, dialogs), sentences


def spare_searches() -> None:
    """Let no search for garbage stop the window for long, once the start is over.

    What the start made stays and is not looked through again: a search through all of it takes 50 to 150 ms, in which
    no event is answered, in whatever thread it begins. From now on there is little to look through, a little at a time.
    """
    gc.freeze()
    gc.set_threshold(*_GARBAGE)


def main(argv: Sequence[str] | None = None) -> int:
    """Open the desk.

    Args:
        argv: [JOB], the job file to open.

    Returns:
        The exit code, when the window is closed.
    """
    parser = argparse.ArgumentParser(prog="baydrop-desk", description="Design, prove, price and quote.")
    parser.add_argument("job", nargs="?", type=Path, help="job file to open")
    arguments, rest = parser.parse_known_args(sys.argv[1:] if argv is None else list(argv))
    app = QApplication.instance() or QApplication(["baydrop", *rest])
    assert isinstance(app, QApplication)
    app.setApplicationName("Baydrop")
    # Seconds after which a thread beside the window lets go of the interpreter: about as long an event waits for it.
    sys.setswitchinterval(0.001)
    hook = Unexpected()
    sys.excepthook = hook
    window, sentences = make_window()
    files = window.files
    hook.look_after(window)
    app.applicationStateChanged.connect(
        lambda state: files.look_outside() if state is Qt.ApplicationState.ApplicationActive else None
    )
    apply_theme(app, files.theme)
    app.styleHints().colorSchemeChanged.connect(
        lambda _: window.show_theme("system") if files.theme == "system" else None
    )
    window.show_theme(files.theme)
    window.begin()
    if sentences:
        files.tell_book(sentences)
    if not files.offer_recovery() and arguments.job is not None:
        files.open_path(arguments.job)
    files.tell_start()
    spare_searches()
    return app.exec()


def run(argv: Sequence[str] | None = None) -> NoReturn:
    """Open the desk, and end the process when the window is closed; see `main`."""
    code = main(argv)
    if threading.active_count() > 1:
        # Reading that hangs was left. Broken off while the interpreter is taken down it could end in an abort.
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError, AttributeError):
                stream.flush()
        os._exit(code)
    sys.exit(code)
