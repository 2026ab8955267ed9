"""The company's logo from a file that the person picks, read beside the window."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QObject

from estimator.acts.logo import MOST_FILE_BYTES, LogoError, logo_from, with_logo, without_logo
from estimator.desk.doing.questions import Dialogs
from estimator.desk.session import Session
from estimator.desk.work import DiskWork, Ending
from estimator.going import Going
from estimator.store.files import FileTrouble, read_whole

__all__ = ["Logo"]

_PICTURES = "Pictures (*.png *.jpg *.jpeg)"


class Logo(QObject):
    """Takes a logo into the job and leaves it out.

    Args:
        session: the open job.
        dialogs: asks the person.
        when_written: takes an answer once no job is being saved; see `Files.when_written`.
    """

    def __init__(
        self,
        session: Session,
        dialogs: Dialogs,
        when_written: Callable[[Callable[[], object]], None],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._dialogs, self._when_written = session, dialogs, when_written
        self.reading = DiskWork(self)
        self.reading.left.connect(lambda: session.said.emit("Left: the logo is as it was."))

    @property
    def is_there(self) -> bool:
        """Whether the job has one."""
        return bool(self._session.whole.company.logo)

    def choose(self) -> None:
        """A picture file that the person picks; the job stays as it is where none can be made of it."""
        path = self._dialogs.open_file("Choose the company's logo", _PICTURES)
        if path is None:
            return
        session = self._session

        def read(going: Going) -> str:
            content = read_whole(path, MOST_FILE_BYTES, going)
            going.check()
            return logo_from(content)

        def take(answer: object) -> None:
            session.act("Company logo", job=with_logo(session.job, str(answer)))
            session.said.emit(f"The logo is that of {path.name}.")

        def fail(error: BaseException) -> None:
            if not isinstance(error, FileTrouble | LogoError):
                raise error
            self._dialogs.tell("This picture cannot be the logo", [str(error)])

        session.said.emit(f"Reading {path.name} …")
        self.reading.start(read, lambda answer: self._when_written(partial(take, answer)), fail)

    def remove(self) -> None:
        """None any more."""
        if self.is_there:
            self._session.act("Remove the company logo", job=without_logo(self._session.job))

    def end(self, ending: Ending) -> None:
        """Leave what is under way, until nothing is.

        Args:
            ending: how long what hangs is waited for.
        """
        self.reading.wait(ending.left_s)
