"""Everything that a window tells a person, view by view and page by page."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtWidgets import QApplication, QLineEdit, QTabWidget, QWidget

from estimator.desk.tables import ReadTable
from tests.desk.hands import Hands
from tests.desk.test_strangers_text import texts_in

__all__ = ["Told", "told_everywhere", "told_in"]

Told = tuple[str, str]
"""Whose text it is, and the text."""


def told_in(window: QWidget) -> Iterator[Told]:
    """What a window tells now, with what stands in its inputs."""
    for whose, what, text in texts_in(window):
        if text:
            yield f"{whose}, {what}", text
    for line in window.findChildren(QLineEdit):
        if line.text():
            yield f"input {line.objectName()}", line.text()


def told_everywhere(desk: Hands) -> set[Told]:
    """What the window tells in each view and on each page, the first row of each list chosen."""
    window = desk.window
    told: set[Told] = set()
    for i in range(window.tabs.count()):
        window.tabs.setCurrentIndex(i)
        desk.wait_for_options()
        view = window.tabs.currentWidget()
        for parts in ([view] if isinstance(view, QTabWidget) else []) + view.findChildren(QTabWidget):
            for part in range(parts.count()):
                parts.setCurrentIndex(part)
                QApplication.processEvents()
                told |= set(told_in(parts.currentWidget()))
        for table in view.findChildren(ReadTable):
            if table.lines:
                table.select(table.lines[-1].key)
        QApplication.processEvents()
        told |= set(told_in(view))
    for page in window.pages:
        window.go_to_page(page)
        rows = window.rows_in_view()
        if rows is not None and rows.rows.rows:
            rows.select([0])
        told |= set(told_in(window.page))
    told |= set(told_in(window))
    return told
