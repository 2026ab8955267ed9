"""How long the window takes to close while each kind of long work is under way: within a second. Run by hand:

    python -m tests.benchmarks.closing [--moments 5] [--only proposal]

Each kind is done once to its end to see how long that takes, then begun again and again and the window closed at
moments spread over it. Told are the longest close in wall time and in processor time: on a machine that does other work
too only the second says much, and it decides. A paper is not left by closing, which waits for it; there the time from
Cancel is told. Reading that does not end in that time is left, which is told too: the process ends all the same. The
program ends with 1 if a close took longer than a second.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import threading
import time
from abc import ABC, abstractmethod
from pathlib import Path
from typing import ClassVar, Final

from PySide6.QtCore import QCoreApplication, QEvent

from estimator.desk.doing.files import Files
from estimator.desk.doing.questions import UnsavedAnswer
from estimator.desk.session import Session
from estimator.desk.window import Window
from estimator.model.edit import with_value
from estimator.model.job import Job
from estimator.model.pricebook import MOST_ENTRIES, PriceBook
from estimator.store.book_exchange import export_book
from estimator.store.jobs import save_job
from estimator.store.places import HOME_VARIABLE
from estimator.store.pricebooks import shipped_price_book
from tests.benchmarks.desk_alone import DAY, Person, application
from tests.large_jobs import large_job

__all__ = ["KINDS"]

MOST_S: Final = 1.0
_ENTRIES: Final = MOST_ENTRIES // 2
"""As many go into a workbook, which is held to smaller limits than the price book itself."""


class _Goes(Person):
    """Leaves without saving."""

    def ask_unsaved(self, name: str, warning: str = "") -> UnsavedAnswer:
        """Leave."""
        return UnsavedAnswer.DISCARD


class Kind(ABC):
    """One kind of long work in a window of its own.

    Args:
        folder: where files are.
    """

    name: ClassVar[str]
    share: ClassVar[float] = 1.0
    """Of the largest job, that is open."""
    options: ClassVar[bool] = False

    def __init__(self, folder: Path) -> None:
        self.folder, self.person = folder, _Goes()
        self.session = Session(Job(), shipped_price_book(), patience_s=0.03)
        self.session.today = lambda: DAY
        self.files = Files(self.session, self.person, keep_book=False)
        self.window = Window(self.session, self.files, self.person)
        self.window.show()
        if self.share:
            self.session.open(large_job(self.share, options=self.options), None)
            self.wait()

    @classmethod
    def prepare(cls, folder: Path) -> None:
        """Make the files that are read."""
        del folder

    @abstractmethod
    def begin(self) -> None:
        """Begin the work."""

    @abstractmethod
    def is_busy(self) -> bool:
        """Whether it is under way."""

    def wait(self) -> None:
        """Until nothing is under way."""
        while self._works() or self.is_busy():
            QCoreApplication.processEvents()
            time.sleep(0.001)

    def _works(self) -> bool:
        return self.session.known_base is None or self.session.studies.is_busy

    def close(self) -> tuple[float, float]:
        """Close the window; seconds that it took, and seconds of the processor."""
        wall, own = time.perf_counter(), time.process_time()
        if self.files.papers.is_busy:
            self.window.busy.stop()
        while not self.window.close():
            QCoreApplication.processEvents()
        return time.perf_counter() - wall, time.process_time() - own


class _Study(Kind):
    """All routes and lines of the largest job, for another height of run."""

    name = "study"

    def begin(self) -> None:
        self.session.act(
            "Height", job=with_value(self.session.job, ("site", "floor", "run_height"), "3.47 m")
        )

    def is_busy(self) -> bool:
        return self._works()


class _Options(_Study):
    """Options in view, all worked out anew."""

    name = "options"
    share = 0.2
    options = True

    def begin(self) -> None:
        self.window.tabs.setCurrentIndex(5)
        super().begin()


class _Proposal(Kind):
    """Sizes for 300 drops."""

    name = "proposal"
    share = 0.19

    def begin(self) -> None:
        self.window.proposer.start()

    def is_busy(self) -> bool:
        return self.window.proposer.work.is_busy


class _Draft(Kind):
    """The paper of the largest job, written to a file."""

    name = "paper"

    def begin(self) -> None:
        self.person.path = self.folder / "draft.pdf"
        self.files.papers.write_draft()

    def is_busy(self) -> bool:
        return self.files.papers.is_busy


class _Preview(Kind):
    """The same, to be looked at."""

    name = "preview"

    def begin(self) -> None:
        self.window.tabs.setCurrentIndex(2)

    def is_busy(self) -> bool:
        pane = self.window._preview.built
        return pane is not None and (pane.work.is_busy or pane.drawing.is_busy)


class _Import(Kind):
    """A workbook of many prices."""

    name = "import"
    share = 0.0

    @classmethod
    def prepare(cls, folder: Path) -> None:
        book = shipped_price_book()
        entries = tuple(
            book.entries[0].model_copy(update={"code": f"C-{number}"}) for number in range(_ENTRIES)
        )
        export_book(folder / "book.xlsx", PriceBook(currency=book.currency, entries=entries))

    def begin(self) -> None:
        self.person.path = self.folder / "book.xlsx"
        self.window.exchange.import_book()

    def is_busy(self) -> bool:
        return self.window.exchange.reading.is_busy


class _Opening(Kind):
    """The largest job with all its options."""

    name = "opening"
    share = 0.0

    @classmethod
    def prepare(cls, folder: Path) -> None:
        save_job(folder / "job.baydrop", large_job())

    def begin(self) -> None:
        self.files.open_path(self.folder / "job.baydrop")

    def is_busy(self) -> bool:
        return self.files.opening.is_busy or self._works()


class _Hold(Kind):
    """Which prices the largest job and its options use."""

    name = "hold prices"
    share = 0.3
    options = True

    def begin(self) -> None:
        self.window.exchange.hold()

    def is_busy(self) -> bool:
        return self.window.exchange.holding.is_busy


KINDS: Final[dict[str, type[Kind]]] = {
    kind.name: kind for kind in (_Study, _Options, _Proposal, _Draft, _Preview, _Import, _Opening, _Hold)
}


def _once(kind: type[Kind], folder: Path, after_s: float | None) -> tuple[float, float, float, bool]:
    """Begin, and close after so many seconds, or at the end: how long the work went on, how long the close took in wall
    time and of the processor, and whether reading was left."""
    made = kind(folder)
    began = time.perf_counter()
    made.begin()
    while made.is_busy() and (after_s is None or time.perf_counter() - began < after_s):
        QCoreApplication.processEvents()
        time.sleep(0.001)
    went_on = time.perf_counter() - began
    wall, own = made.close()
    left = threading.active_count() > 1
    made.window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return went_on, wall, own, left


def main() -> int:
    """1 if a close takes too long."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--moments", type=int, default=5)
    parser.add_argument("--only", choices=sorted(KINDS))
    chosen = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = application()
    bad = 0
    for name in [chosen.only] if chosen.only else list(KINDS):
        with tempfile.TemporaryDirectory() as outer:
            folder = Path(outer)
            os.environ[HOME_VARIABLE] = str(folder / "home")
            KINDS[name].prepare(folder)
            whole, *_ = _once(KINDS[name], folder, None)
            closes = [
                _once(KINDS[name], folder, whole * (i + 0.5) / chosen.moments) for i in range(chosen.moments)
            ]
        app.processEvents()
        wall, own = max(c[1] for c in closes), max(c[2] for c in closes)
        left = sum(c[3] for c in closes)
        late = own > MOST_S
        bad += late
        print(
            f"{name}: {whole:.1f} s whole; closed at {len(closes)} moments within {wall:.2f} s, {own:.2f} s of the "
            f"processor{', reading left' if left else ''}{': TOO LONG' if late else ''}",
            flush=True,
        )
    return int(bad > 0)


if __name__ == "__main__":
    ended = main()
    sys.stdout.flush()
    os._exit(ended)  # what was left may still run
