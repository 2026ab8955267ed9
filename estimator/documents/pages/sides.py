"""What each bay side gets, alike sides together."""

from __future__ import annotations

from reportlab.platypus import Flowable

from estimator.documents.paper import Chapter
from estimator.documents.sheet import Heading, Sheet, ruled_table, together
from estimator.documents.style import Texts
from estimator.shown.scope import side_groups

__all__ = ["SIDES"]


def _story(sheet: Sheet) -> list[Flowable]:
    groups = side_groups(sheet.study, sheet.say.names, sheet.figures)
    if not groups:
        return []
    story: list[Flowable] = []
    width = sheet.page.text_width
    for group in groups:
        story.append(sheet.text("; ".join(group.sides), Texts.GROUP))
        rows: list[list[Flowable | str]] = [
            [
                sheet.text("Drops", Texts.HEAD_NUMBER),
                sheet.text("Service", Texts.HEAD),
                sheet.text("Hose", Texts.HEAD),
                sheet.text("Gun and nozzle", Texts.HEAD),
            ]
        ]
        for kind in group.kinds:
            name = sheet.services[kind.service]
            rows.append(
                [
                    sheet.text(str(kind.count), Texts.NUMBER),
                    sheet.text(f"{name} (stays)" if kind.existing else name, Texts.CELL),
                    sheet.text(kind.hose, Texts.CELL),
                    sheet.text(kind.outlet, Texts.CELL),
                ]
            )
        story.append(ruled_table(rows, [width * share for share in (0.09, 0.34, 0.17, 0.40)]))
    # However many sides are alike, the heading stays with their names and the table below them.
    heading = Heading(sheet, "What each bay side gets", "sides")
    return [together(sheet, [heading, *story[:2]]), *story[2:]]


SIDES = Chapter("sides", "What each bay side gets", _story)
