"""The company's logo on the page: in a box, its aspect kept."""

from __future__ import annotations

from io import BytesIO
from typing import Final

from reportlab.platypus import Flowable, Image

from estimator.documents.tags import TagKind, marked
from estimator.model.picture import picture_bytes, picture_size

__all__ = ["logo_on_page"]

_WIDTH: Final = 172.0
_HEIGHT: Final = 58.0
"""Of the box, in points."""


class _Logo(Image):
    """A picture that tells what it is."""

    def draw(self) -> None:
        """Draw it as a figure."""
        with marked(
            self.canv, TagKind.FIGURE, None, "Logo of the company", (self.drawWidth, self.drawHeight)
        ):
            super().draw()


def logo_on_page(logo: str) -> Flowable:
    """The picture as large as the box allows, a pixel no larger than a point."""
    width, height = picture_size(logo)
    scale = min(_WIDTH / width, _HEIGHT / height, 1.0)
    return _Logo(BytesIO(picture_bytes(logo)), width * scale, height * scale, mask="auto", hAlign="LEFT")
