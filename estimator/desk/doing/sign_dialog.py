"""The dialog in which somebody takes on what must otherwise never go out."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from estimator.desk.form.inputs import LineEdit, TextArea
from estimator.desk.plain import Label
from estimator.desk.room import fit_in_room
from estimator.desk.tables import ReadTable, TableLine, plain_label

__all__ = ["SignDialog"]


class SignDialog(QDialog):
    """Shows what is signed for, and asks who signs and why.

    Args:
        sentences: what is signed for, each whole.
        day: of the signature, in words.
        sign: takes name and reason; "" where that is done, else why it is refused, and the dialog stays.
        parent: above which window it stands.
    """

    def __init__(
        self, sentences: tuple[str, ...], day: str, sign: Callable[[str, str], str], parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._sign = sign
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Sign for what must never go out")
        self.setSizeGripEnabled(True)
        fit_in_room(self, QSize(620, 430))
        column = QVBoxLayout(self)
        column.setSpacing(8)
        about = plain_label(self, "What a signature means")
        about.setText(
            "Whoever signs takes this on. Name, reason and day stand on the paper beside it. Where a change of the job "
            "makes it another, it is asked about again."
        )
        column.addWidget(about)
        self.table = ReadTable(
            "What is signed for", "One finding in each row.", ("Finding",), self, sentences=True
        )
        self.table.show_lines([TableLine(str(i), (sentence,)) for i, sentence in enumerate(sentences)])
        column.addWidget(self.table, 1)
        name = Label("&Name of the one who signs", self)
        self.name = LineEdit(self)
        self.name.setAccessibleName("Name of the one who signs")
        self.name.setAccessibleDescription("It stands on the paper.")
        name.setBuddy(self.name)
        reason = Label("&Reason why it may go out as it is", self)
        self.reason = TextArea(self)
        self.reason.setAccessibleName("Reason why it may go out as it is")
        self.reason.setAccessibleDescription("It stands on the paper.")
        self.reason.setMaximumHeight(90)
        reason.setBuddy(self.reason)
        for widget in (name, self.name, reason, self.reason):
            column.addWidget(widget)
        self.refused = plain_label(self, "Why it was not signed", "fieldError")
        self.refused.hide()
        column.addWidget(self.refused)
        row = QHBoxLayout()
        dated = plain_label(self, "Day of the signature", "faint", wrap=False)
        dated.setText(f"Dated {day}")
        row.addWidget(dated)
        row.addStretch(1)
        self.cancel = QPushButton("Cancel", self)
        self.cancel.setAutoDefault(False)
        self.cancel.setAccessibleDescription("Nothing is signed.")
        self.cancel.clicked.connect(lambda _=False: self.reject())
        self.take = QPushButton("&Sign", self)
        self.take.setObjectName("primary")
        self.take.setAutoDefault(False)
        self.take.setAccessibleDescription("Sign, as one act that can be undone.")
        self.take.clicked.connect(lambda _=False: self.sign())
        row.addWidget(self.cancel)
        row.addWidget(self.take)
        column.addLayout(row)
        self.name.setFocus(Qt.FocusReason.OtherFocusReason)

    def sign(self) -> None:
        """Sign, or say why not; the dialog then stays as it is filled in."""
        name, reason = self.name.text(), self.reason.text()
        why = self._sign(name, reason)
        if not why:
            self.accept()
            return
        self.refused.setText(why)
        self.refused.show()
        (self.name if not name.strip() else self.reason).setFocus(Qt.FocusReason.OtherFocusReason)
