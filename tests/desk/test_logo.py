"""The company's logo at the window: chosen from a file, shown on its button, removed, undone."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import Image

from estimator.acts.logo import logo_from
from estimator.desk.form.inputs import PictureButton
from tests.desk.hands import Hands


def _picture(path: Path) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (300, 100), (20, 90, 20)).save(file, "PNG")
    path.write_bytes(file.getvalue())
    return file.getvalue()


def _button(desk: Hands) -> PictureButton:
    button = desk.editor("company", "logo").input
    assert isinstance(button, PictureButton)
    return button


def test_a_logo_is_chosen_shown_and_removed(desk: Hands, tmp_path: Path) -> None:
    window, session = desk.window, desk.window.session
    content = _picture(tmp_path / "logo.png")
    button = _button(desk)
    assert button.text() == "None chosen"
    desk.said.opens = tmp_path / "logo.png"
    button.choose_wanted.emit()
    desk.bot.waitUntil(lambda: bool(session.whole.company.logo), timeout=20000)
    assert session.whole.company.logo == logo_from(content)
    assert session.history.undo_name == "Company logo"
    assert button.text() == "300 × 100 pixels" and not button.icon().isNull()
    button.remove_wanted.emit()
    assert session.whole.company.logo == "" and button.text() == "None chosen"
    session.undo()
    assert session.whole.company.logo == logo_from(content)
    desk.command("company.no-logo")
    assert not window.logo.is_there


def test_what_is_no_picture_is_told_and_the_logo_stays(desk: Hands, tmp_path: Path) -> None:
    session = desk.window.session
    before = session.whole
    (tmp_path / "drawing.svg").write_text("<svg/>", encoding="utf-8")
    desk.said.opens = tmp_path / "drawing.svg"
    desk.command("company.logo")
    desk.bot.waitUntil(lambda: bool(desk.said.told), timeout=20000)
    assert "drawing of lines" in str(desk.said.told)
    desk.said.told.clear()
    assert session.whole is before
