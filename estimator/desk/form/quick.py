"""Quick build: a handful of inputs to a whole design."""

from __future__ import annotations

from collections.abc import Callable

from pydantic import BaseModel
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from estimator.acts.quick_build import QuickBuild, QuickBuildError, act_name, built
from estimator.acts.typed import Pending, text_of
from estimator.desk.form.form import Form
from estimator.desk.holder import Holder
from estimator.desk.plain import Label
from estimator.desk.session import Session
from estimator.model.finding import Phrase
from estimator.model.spec import fields_of
from estimator.shown.commands import ACTS
from estimator.shown.figures import Figures, figures_of
from estimator.units import UnitSystem

__all__ = ["QuickHolder", "QuickPanel"]


class QuickHolder(Holder):
    """The inputs of a quick build; they are no part of the job until it is built."""

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session = session
        self._value = QuickBuild()
        self._misfits: set[str] = set()

    @property
    def whole(self) -> BaseModel:
        """The inputs."""
        return self._value

    @property
    def figures(self) -> Figures:
        """As the job's are."""
        return figures_of(self._session.job)

    @property
    def inputs(self) -> QuickBuild:
        """The inputs."""
        return self._value

    def _take(self, name: str, whole: BaseModel) -> None:
        assert isinstance(whole, QuickBuild)
        self._value = whole
        # What did not fit together may fit now.
        self.forget_misfits()
        self._tell()

    def refuse(self, name: str, text: str, reason: Phrase) -> None:
        """Tell at a field why the inputs do not fit together."""
        self.pending = {**self.pending, (name,): Pending(text, reason)}
        self._misfits.add(name)

    def forget_misfits(self) -> None:
        """No longer tell what did not fit together."""
        for name in self._misfits:
            self.forget((name,))
        self._misfits.clear()


class QuickPanel(QWidget):
    """The inputs and the button that builds.

    Args:
        built: called after a design was built.
    """

    def __init__(self, session: Session, built: Callable[[], None], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._built = built
        self._system = UnitSystem.METRIC
        self.holder = QuickHolder(session, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(12)
        self.form = Form(self.holder, QuickBuild, parent=self)
        self.form.bind([()])
        column.addWidget(self.form)
        self.button = QPushButton(ACTS["quick.build"].words, self)
        self.button.setObjectName("primary")
        self.button.setAutoDefault(False)
        self.button.setAccessibleDescription(f"{ACTS['quick.build'].told} One undo step.")
        self.button.clicked.connect(self.build)
        column.addWidget(self.button, 0, Qt.AlignmentFlag.AlignLeft)
        self.note = Label("", self)
        self.note.setWordWrap(True)
        self.note.setObjectName("faint")
        column.addWidget(self.note)
        self.problem = Label("", self)
        self.problem.setWordWrap(True)
        self.problem.setObjectName("fieldError")
        self.problem.hide()
        column.addWidget(self.problem)
        self.holder.changed.connect(lambda: self.refresh(self._system))

    def refresh(self, system: UnitSystem) -> None:
        """Show what holds."""
        self._system = system
        self.form.refresh(system)
        there = bool(self._session.job.design.drops or self._session.job.design.products)
        self.note.setText(
            "The job has a design already. Building puts the new one in its place; undo brings the old one back."
            if there
            else "Building fills in bays, example products, drops and plant. Everything can be changed afterwards."
        )

    def build(self) -> None:
        """Put a new design into the job, as one act."""
        self.problem.hide()
        self.holder.forget_misfits()
        if self.holder.pending:
            self.problem.setText("✕ Correct the marked inputs first.")
            self.problem.show()
            return
        try:
            new = built(self._session.job, self.holder.inputs)
        except QuickBuildError as error:
            self._show_at_fields(error)
            return
        self._session.job_holder.forget(("design",))
        self._session.act(act_name(new), job=new)
        self._built()

    def _show_at_fields(self, error: QuickBuildError) -> None:
        for finding in error.findings:
            name = finding.place.rsplit(".", 1)[-1]
            field = next((f for f in fields_of(QuickBuild) if f.name == name), None)
            if field is None:
                self.problem.setText(f"✕ {finding.message}")
                self.problem.show()
                continue
            text = text_of(field, getattr(self.holder.inputs, name), self.holder.locale)
            self.holder.refuse(name, text, Phrase(finding.sentence, finding.facts))
        self.form.refresh(self._system)
