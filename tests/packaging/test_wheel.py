"""What the wheel puts among a person's packages, and that the program finds its data from there."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from bootstrap.environment import ROOT

PARTS = ("estimator", "resources", "packaging", "pyproject.toml", "setup.py", "README.md", "LICENSE")
BUILD = "import sys; from setuptools import build_meta; build_meta.build_wheel(sys.argv[1])"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built from a copy of the checkout, with the locked setuptools and no network."""
    copy = tmp_path_factory.mktemp("checkout")
    for part in PARTS:
        if (ROOT / part).is_dir():
            shutil.copytree(ROOT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / part, copy / part)
    out = tmp_path_factory.mktemp("wheel")
    built = subprocess.run(
        [sys.executable, "-c", BUILD, str(out)], cwd=copy, capture_output=True, text=True, check=False
    )
    assert built.returncode == 0, built.stderr
    (path,) = out.glob("*.whl")
    return path


def test_one_package_is_installed_with_everything_that_the_checkout_has(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0] for name in names if ".dist-info/" not in name} == {"estimator"}
    program = {str(p.relative_to(ROOT)) for p in (ROOT / "estimator").rglob("*.py")}
    data = {
        f"estimator/{p.relative_to(ROOT)}"
        for kind in ("*.json", "*.csv", "examples/*.baydrop")
        for p in (ROOT / "resources").glob(kind)
    }
    assert len(data) == 7
    assert {name.replace(os.sep, "/") for name in program | data} <= set(names)


def test_the_installed_program_finds_its_data(wheel: Path, tmp_path: Path) -> None:
    """A study of the example that came with it, with no checkout to be imported from."""
    site = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(site)
    script = f"""
import sys
sys.path[:] = [{str(site)!r}, *(p for p in sys.path if p not in ("", {str(ROOT)!r}))]
from datetime import date
from pathlib import Path
from estimator.shipped import shipped
from estimator.store.jobs import load_job
from estimator.store.pricebooks import shipped_price_book
from estimator.study import study
job = load_job(Path(str(shipped("examples", "gannet-quay.baydrop"))))
print(shipped())
print(len(study(job, shipped_price_book(), date(2027, 3, 1)).proof.drops))
"""
    told = subprocess.run(
        [sys.executable, "-P", "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    # The example has 16 liquid drops and 6 of air (invented demo job).
    assert told.stdout.splitlines() == [str(site / "estimator" / "resources"), "16"]
