"""The house's rules: rooms import only from floors below, and each rule notices when it is broken."""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "estimator"


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    """import-linter's verdict on the program that stands in a folder."""
    command = "from importlinter.cli import lint_imports_command; lint_imports_command()"
    return subprocess.run(
        [sys.executable, "-c", command, "--no-cache", "--no-logo"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "COLUMNS": "200"},
        capture_output=True,
        text=True,
        check=False,
    )


def copy_of_the_house(folder: Path) -> Path:
    """The program and its rules, to be changed."""
    shutil.copytree(PROGRAM, folder / "estimator", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def broken(output: str) -> list[str]:
    """The names of the contracts that a verdict calls broken."""
    return re.findall(r"^(.*?) BROKEN", output, re.MULTILINE)


@pytest.mark.parametrize(
    ("room", "line", "rules"),
    [
        ("model/job.py", "from estimator import pricing", ["Rooms import only from floors below"]),
        ("sizing/proof.py", "import estimator.safety", ["Rooms import only from floors below"]),
        (
            "store/jobs.py",
            "import PySide6.QtCore",
            ["Only the desk knows Qt", "The second front end needs no window"],
        ),
        ("desk/window.py", "import reportlab", ["Only documents write PDF"]),
        (
            "desk/form/form.py",
            "from estimator.desk.window import Window",
            ["The desk's rooms import only from rooms below"],
        ),
        ("hydraulics/water.py", "import pydantic", ["Physics stands alone: numbers in, numbers out"]),
        ("attic.py", "", ["Rooms import only from floors below"]),
    ],
)
def test_a_broken_rule_is_noticed(tmp_path: Path, room: str, line: str, rules: list[str]) -> None:
    house = copy_of_the_house(tmp_path)
    with (house / "estimator" / room).open("a", encoding="utf-8") as file:
        file.write(f"\n\ndef _late() -> None:\n    {line or 'pass'}\n")
    verdict = lint_imports(house)
    assert verdict.returncode == 1, verdict.stdout + verdict.stderr
    assert broken(verdict.stdout) == rules


def test_the_house_stands() -> None:
    verdict = lint_imports(ROOT)
    assert verdict.returncode == 0, verdict.stdout + verdict.stderr
    assert broken(verdict.stdout) == []


def imported(path: Path) -> set[str]:
    """The first names of everything that a file imports, wherever in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found.add(node.module or "")
    return found


def imports_between(folder: Path, package: str) -> dict[str, set[str]]:
    """What each module of a package imports of the same package, wherever in the file, under TYPE_CHECKING too.

    Args:
        folder: where the package's outermost folder stands.
        package: dotted name.
    """
    files = {
        ".".join(path.relative_to(folder).with_suffix("").parts).removesuffix(".__init__"): path
        for path in folder.joinpath(*package.split(".")).rglob("*.py")
    }
    return {
        name: (imported(path) | names_from(path)) & (files.keys() - {name}) for name, path in files.items()
    }


def names_from(path: Path) -> set[str]:
    """`a.b` for each `from a import b`: b may be a module."""
    tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    froms = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return {f"{node.module}.{alias.name}" for node in froms for alias in node.names}


def circles(imports: dict[str, set[str]]) -> set[frozenset[str]]:
    """Groups of modules of which each imports every other, directly or through others."""

    def reached(start: str) -> set[str]:
        seen: set[str] = set()
        waiting = [start]
        while waiting:
            for name in imports[waiting.pop()] - seen:
                seen.add(name)
                waiting.append(name)
        return seen

    reach = {name: reached(name) for name in imports}
    return {
        frozenset(other for other in reach[name] if name in reach[other])
        for name in imports
        if name in reach[name]
    }


def test_no_modules_import_each_other_in_a_circle() -> None:
    """Imports that only the type check sees count too."""
    assert circles(imports_between(ROOT, "estimator")) == set()


def test_a_circle_is_noticed(tmp_path: Path) -> None:
    """Of three files, one through another package, one under TYPE_CHECKING; a fourth only looks on."""
    lines = {
        "house/a.py": "from house.room import b",
        "house/room/b.py": "import house.c",
        "house/c.py": "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from house.a import x",
        "house/d.py": "from house.a import x",
        "house/room/__init__.py": "",
    }
    for name, text in lines.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert circles(imports_between(tmp_path, "house")) == {frozenset({"house.a", "house.room.b", "house.c"})}


def test_nobody_reaches_through_the_window() -> None:
    """Parts of the desk are handed what they need; `window.part.verb` would make the window a bag of everything."""
    found = []
    for path in (PROGRAM / "desk").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Attribute):
                owner = node.value.value
                name = getattr(owner, "attr", getattr(owner, "id", ""))
                if name.lstrip("_") == "window":
                    found.append(f"{path.name}:{node.lineno}")
    assert found == []


def test_physics_needs_only_numpy() -> None:
    names = set[str]().union(*(imported(path) for path in (PROGRAM / "hydraulics").rglob("*.py")))
    others = {
        name
        for name in names
        if name.split(".")[0] not in {*sys.stdlib_module_names, "numpy"}
        and not name.startswith("estimator.hydraulics")
    }
    assert "numpy" in names
    assert others == set()


def test_the_program_imports_only_what_its_lock_brings() -> None:
    """A package of the tests alone would be missing on a customer's machine."""
    wished = (ROOT / "packaging" / "requirements.in").read_text(encoding="utf-8").splitlines()
    names = {
        re.split(r"[<>=!~]", line)[0].lower().replace("-", "_")
        for line in wished
        if line and line[0].isalpha()
    }
    # What a wished package is imported as, and packages that pydantic hands out as its own interface.
    names -= {"pyside6_essentials", "pillow"}
    names |= {"pyside6", "shiboken6", "pil", "pydantic_core", "annotated_types"}
    found = {name.split(".")[0] for path in PROGRAM.rglob("*.py") for name in imported(path)}
    own = {"estimator", "resources", *sys.stdlib_module_names}
    assert {name for name in found - own if name.lower() not in names} == set()


def test_no_way_around_the_type_check() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["mypy"]
    assert settings["strict"] is True
    assert "overrides" not in settings
    hush = "type: " + "ignore"
    files = [
        path for folder in ("estimator", "packaging", "tests") for path in (ROOT / folder).rglob("*.py*")
    ]
    texts = {path: path.read_text(encoding="utf-8") for path in files if path.suffix in {".py", ".pyi"}}
    assert len(texts) > 100
    assert [str(path) for path, text in texts.items() if hush in text] == []


def test_no_test_looks_at_a_clock() -> None:
    """A limit in seconds fails on a busy machine; `tests/work.py` counts calls, `tests/benchmarks/` measure."""
    tests = [p for p in (ROOT / "tests").rglob("*.py") if p.parent.name != "benchmarks"]
    assert len(tests) > 100
    looking = {
        str(p.relative_to(ROOT))
        for p in tests
        if imported(p) & {"time", "timeit"} or "QElapsedTimer" in names_in(p)
    }
    assert looking == set()


def names_in(path: Path) -> set[str]:
    """Every name that a file uses, of attributes too."""
    tree = ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path)))
    return {
        n.id if isinstance(n, ast.Name) else n.attr for n in tree if isinstance(n, ast.Name | ast.Attribute)
    }


@pytest.mark.parametrize("program", ["estimator.cli", "estimator.study", "estimator.documents.quote"])
def test_no_window_is_loaded_without_the_desk(program: str) -> None:
    script = f"import sys, {program}; sys.exit(int('PySide6' in sys.modules))"
    told = subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=False)
    assert told.returncode == 0


# The drawing of the house.


def drawn(heading: str) -> list[set[str]]:
    """Rooms floor by floor as DEVELOPERS.md draws them, from a sentence on."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split(heading, 1)[1]
    rows = re.findall(r"^\| (\d+) \| ([^|]+) \|", text.split("\n\n", 2)[1], re.MULTILINE)
    assert [int(floor) for floor, _ in rows] == list(range(len(rows)))
    return [
        {name.removesuffix(".py").rstrip("/") for name in re.findall(r"`([^`]+)`", row)} for _, row in rows
    ]


@pytest.mark.parametrize(
    ("contract", "heading", "folder"),
    [
        ("floors", "import-linter checks it on every run.", PROGRAM),
        ("desk", "with a contract of its own:", PROGRAM / "desk"),
    ],
)
def test_the_house_is_drawn_as_it_is_checked(contract: str, heading: str, folder: Path) -> None:
    """A room that the drawing forgets, or one floor too high, is told here."""
    rules = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    layers = next(c["layers"] for c in rules["contracts"] if c["id"] == contract)
    assert drawn(heading) == [set(layer.split(" | ")) for layer in reversed(layers)]
    for room in set().union(*drawn(heading)):
        assert (folder / room).is_dir() or (folder / f"{room}.py").is_file(), room


ROWS_OF_QT = {
    "QTableView",
    "QTableWidget",
    "QTreeView",
    "QTreeWidget",
    "QListView",
    "QListWidget",
    "QColumnView",
}
SHOWS_ROWS = {
    "tables/table.py": {"QTreeView"},
    "form/rows.py": {"QTableView"},
    # None of these shows rows of a job: what there is to choose, bars, and the pages of the form.
    "form/inputs.py": {"QListWidget"},
    "views/spread.py": {"QListWidget"},
    "window.py": {"QTreeWidget"},
}
"""Files of the desk that use a widget of rows, and which."""


def test_there_is_one_table_to_read_and_one_to_edit() -> None:
    desk = PROGRAM / "desk"
    found: dict[str, set[str]] = {}
    for path in sorted(desk.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)} & ROWS_OF_QT
        if used:
            found[path.relative_to(desk).as_posix()] = used
    assert found == SHOWS_ROWS
