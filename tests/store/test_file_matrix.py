"""Every kind of file that is read or kept, met by every thing that can stand in its place: a sentence each time.

What needs no window; `tests/desk/test_bad_files.py` and `tests/cli/test_bad_files.py` hold the same at both front ends.
"""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest
from PIL import Image

from estimator.acts.logo import MOST_FILE_BYTES, LogoError, logo_from
from estimator.model.job import Job
from estimator.store.book_exchange import export_book, read_book
from estimator.store.files import FileTrouble, read_whole, write_whole
from estimator.store.jobs import JobFileError, load_job, save_job
from estimator.store.places import HOME_VARIABLE
from estimator.store.pricebooks import PriceBookError, load_price_book, save_price_book, shipped_price_book
from estimator.store.settings import Settings, keep_setting, load_settings, settings_path
from tests.bad_files import BAD, LONGEST, not_for_ever, state
from tests.ordinary import ordinary

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pipes, devices and links of POSIX")

ROOT: Final = Path(__file__).parents[2]


def _picture() -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (30, 10), (20, 90, 20)).save(file, "PNG")
    return file.getvalue()


def _read_settings(path: Path) -> None:
    """Theirs is one file of one name, which is told as what it is."""
    assert path == settings_path()
    problems = load_settings()[1]
    if problems:
        raise FileTrouble(" ".join(problem.message for problem in problems))


def _keep_settings(path: Path) -> None:
    assert path == settings_path()
    problems = keep_setting(
        Settings(), lambda known: known.model_copy(update={"recent": ("a", *known.recent)[:9]})
    )[1]
    if problems:
        raise FileTrouble(" ".join(problem.message for problem in problems))


NAMES: Final = {
    "job": "a.baydrop",
    "price book": "prices.csv",
    "settings": "settings.json",
    "logo": "a.png",
    "import CSV": "b.csv",
    "import workbook": "b.xlsx",
}
READS: Final[dict[str, Callable[[Path], object]]] = {
    "job": load_job,
    "price book": load_price_book,
    "settings": _read_settings,
    "logo": lambda path: logo_from(read_whole(path, MOST_FILE_BYTES)),
    "import CSV": read_book,
    "import workbook": read_book,
}
WRITES: Final[dict[str, Callable[[Path], object]]] = {
    "job": lambda path: save_job(path, Job()),
    "price book": lambda path: save_price_book(path, shipped_price_book()),
    "settings": _keep_settings,
    "logo": lambda path: write_whole(path, _picture()),
    "import CSV": lambda path: export_book(path, shipped_price_book()),
    "import workbook": lambda path: export_book(path, shipped_price_book()),
}
TOLD: Final = (JobFileError, PriceBookError, FileTrouble, LogoError)


def _sentence(act: Callable[[Path], object], path: Path) -> str:
    """What is told, "" where it goes well; anything that is not meant for a person is raised."""
    try:
        act(path)
    except TOLD as trouble:
        return str(trouble)
    return ""


def _stays(home: Path, what: str, before: dict[str, object]) -> None:
    """All is as it was; of the settings what cannot be read is set aside, and whole there."""
    after = state(home)
    if what == "settings":
        assert all(thing in after.values() for thing in before.values())
    else:
        assert after == before


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A person's own folder, where every file of the matrix stands."""
    folder = tmp_path / "home"
    folder.mkdir()
    monkeypatch.setenv(HOME_VARIABLE, str(folder))
    return folder


# Pipe, folder, loop and devices; the settings stand under one name in one folder, so no other name can be given them.
_IN_PLACE: Final = tuple(kind for kind in BAD if kind.startswith("a ") and kind != "a longer name")
MET: Final = [(what, kind) for what in NAMES for kind in (_IN_PLACE if what == "settings" else BAD)]


@pytest.mark.parametrize(("what", "kind"), MET)
def test_what_stands_in_its_place_is_told(home: Path, what: str, kind: str) -> None:
    """And stays."""
    place = BAD[kind](home / NAMES[what])
    before = state(home)
    with not_for_ever():
        told = _sentence(READS[what], place)
    assert place.name[:60] in told, told
    assert "\n" not in told and told.endswith("."), told
    _stays(home, what, before)


@pytest.mark.parametrize(("what", "kind"), [(what, kind) for what, kind in MET if kind != LONGEST])
def test_it_is_not_written_over(home: Path, what: str, kind: str) -> None:
    place = BAD[kind](home / NAMES[what])
    before = state(home)
    with not_for_ever():
        told = _sentence(WRITES[what], place)
    assert place.name[:60] in told and told.endswith("."), told
    _stays(home, what, before)


@pytest.mark.parametrize("what", READS)
def test_a_file_that_grows_while_it_is_read_is_told(
    home: Path, what: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of what another program writes is no job, no book and no picture; a moment later it is."""
    path = home / NAMES[what]
    assert _sentence(WRITES[what], path) == "" == _sentence(READS[what], path)
    content, look, looks = path.read_bytes(), os.fstat, [0]

    def grown(handle: int) -> os.stat_result:
        looks[0] += 1
        if looks[0] == 2:
            with path.open("ab") as file:
                file.write(b" ")
        return look(handle)

    with monkeypatch.context() as patch:
        patch.setattr(os, "fstat", grown)
        told = _sentence(READS[what], path)
    assert f"“{path.name}” is being written by another program" in told
    path.write_bytes(content)
    assert _sentence(READS[what], path) == ""


def as_ordinary(folder: Path) -> dict[str, dict[str, str]]:
    """What is told in a folder that was made unreadable, write-protected or read-only."""
    told: dict[str, dict[str, str]] = {}
    for what, name in NAMES.items():
        told[what] = {
            "unreadable": _sentence(READS[what], _at(folder / "unreadable" / name)),
            "protected": _sentence(WRITES[what], _at(folder / "protected" / name)),
            "read-only": _sentence(WRITES[what], _at(folder / "read-only" / name)),
        }
    return told


def _at(path: Path) -> Path:
    os.environ[HOME_VARIABLE] = str(path.parent)
    return path


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="permissions of Linux")
def test_files_that_may_not_be_read_or_written_are_told_and_stay(tmp_path: Path) -> None:
    """Root may read and write anything, so an ordinary user looks."""
    folder = tmp_path / "folders"
    for kind in ("unreadable", "protected", "read-only"):
        (folder / kind).mkdir(parents=True)
        for what, name in NAMES.items():
            WRITES[what](_at(folder / kind / name))
    before = state(folder)
    for kind, of_file, of_folder in (
        ("unreadable", 0o000, 0o755),
        ("protected", 0o444, 0o755),
        ("read-only", 0o644, 0o555),
    ):
        for path in (folder / kind).iterdir():
            path.chmod(of_file)
        (folder / kind).chmod(of_folder)
    script = (
        "import json, sys; from pathlib import Path; from tests.store.test_file_matrix import as_ordinary; "
        "print(json.dumps(as_ordinary(Path(sys.argv[1]))))"
    )
    try:
        ran = subprocess.run(
            ordinary(sys.executable, "-c", script, str(folder)),
            capture_output=True,
            text=True,
            check=False,
            cwd=ROOT,
        )
    finally:
        for kind in ("unreadable", "protected", "read-only"):
            (folder / kind).chmod(0o755)
            for path in (folder / kind).iterdir():
                path.chmod(0o644)
    assert ran.returncode == 0, ran.stderr
    for what, ways in json.loads(ran.stdout).items():
        for way, told in ways.items():
            assert NAMES[what] in told and told.endswith("."), (what, way, told)
    after = state(folder)
    assert after.pop("unreadable/settings.broken-1.json") == before.pop("unreadable/settings.json")
    assert after == before
