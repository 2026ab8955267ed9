"""A private environment with exactly the locked packages, made anew only when something it hangs on changed."""

from __future__ import annotations

import hashlib
import os
import platform
import shlex
import stat
import subprocess
import sys
import sysconfig
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from bootstrap.trouble import Trouble, say

__all__ = ["AUDIT", "ROOT", "RUN", "TEST", "Environment", "clean_variables"]

ROOT = Path(__file__).resolve().parents[2]

# Raised when this module changes what it puts into an environment.
LAYOUT = "2"

# Variables that would let packages from outside into the private environment, or send new ones elsewhere.
OUTSIDE = (
    "PYTHONPATH",
    "PYTHONHOME",
    "PYTHONSAFEPATH",
    "PIP_TARGET",
    "PIP_PREFIX",
    "PIP_ROOT",
    "VIRTUAL_ENV",
)


def clean_variables() -> dict[str, str]:
    """The process's variables without those that reach into a private environment."""
    kept = {name: value for name, value in os.environ.items() if name not in OUTSIDE}
    return {**kept, "PIP_USER": "0"}


def _call(command: Sequence[str]) -> int:
    return subprocess.call(list(command), env=clean_variables())


@dataclass(frozen=True)
class Environment:
    """A private environment.

    Attributes:
        root: the project's folder, from which the program is imported as it stands.
        folder: where the environment is.
        lock: the file of pinned packages and their hashes.
        run: runs a command; its exit code.
    """

    root: Path
    folder: Path
    lock: Path
    run: Callable[[Sequence[str]], int] = _call

    @property
    def programs(self) -> Path:
        """The folder of programs."""
        return self.folder / ("Scripts" if os.name == "nt" else "bin")

    @property
    def python(self) -> Path:
        """Its interpreter."""
        return self.program("python")

    @property
    def packages(self) -> Path:
        """The folder of its packages."""
        base = str(self.folder)
        return Path(sysconfig.get_path("purelib", "venv", {"base": base, "platbase": base}))

    @property
    def stamp(self) -> Path:
        """The file that tells what the environment was made from; written last."""
        return self.folder / "made-from"

    def program(self, name: str) -> Path:
        """The path of one of its programs."""
        return self.programs / (f"{name}.exe" if os.name == "nt" else name)

    def fingerprint(self) -> str:
        """SHA-256 of everything the environment hangs on: lock, interpreter, machine, and both places.

        Raises:
            Trouble: the lock cannot be read.
        """
        try:
            lock = hashlib.sha256(self.lock.read_bytes()).hexdigest()
        except OSError as error:
            raise Trouble(f"The list of packages cannot be read: {error}.") from error
        parts = (
            LAYOUT,
            lock,
            sys.version,
            sys.base_prefix,
            platform.machine(),
            str(self.root),
            str(self.folder),
        )
        return hashlib.sha256("\n".join(parts).encode()).hexdigest()

    def is_ready(self) -> bool:
        """Whether it was made, to the end, from what is there now."""
        try:
            made_from = self.stamp.read_text(encoding="ascii").strip()
        except (OSError, UnicodeDecodeError):
            return False
        return made_from == self.fingerprint() and self.python.exists()

    def make(self) -> None:
        """Make it anew from the lock.

        Raises:
            Trouble: the folder holds something else, or Python's venv or pip failed.
        """
        if self.folder.exists() and any(self.folder.iterdir()) and not (self.folder / "pyvenv.cfg").exists():
            raise Trouble(f"{self.folder} is no Python environment. Move it away, then start again.")
        fingerprint = self.fingerprint()
        self.stamp.unlink(missing_ok=True)
        say(f"Setting up {self.folder} (once; some minutes on a slow line)")
        self._do([sys.executable, "-m", "venv", "--clear", str(self.folder)], "make the private environment")
        self._do([str(self.python), *_INSTALL, str(self.lock)], "install the packages")
        self._link_project()
        self.stamp.write_text(f"{fingerprint}\n", encoding="ascii")

    def _do(self, command: Sequence[str], what: str) -> None:
        if self.run(command) != 0:
            raise Trouble(
                f"Python could not {what}. Its own message stands above; put that right, start again."
            )

    def _link_project(self) -> None:
        """Let the environment import the program from the project's folder, and put `baydrop` among its programs."""
        (self.packages / "baydrop.pth").write_text(f"{self.root}\n", encoding=_PTH_ENCODING)
        if os.name == "nt":
            (self.programs / "baydrop.cmd").write_text(
                '@"%~dp0python.exe" -P -m estimator.cli %*\n', encoding="ascii"
            )
            return
        launcher = self.programs / "baydrop"
        python = shlex.quote(str(self.python))
        launcher.write_text(f'#!/bin/sh\nexec {python} -P -m estimator.cli "$@"\n', encoding="utf-8")
        launcher.chmod(launcher.stat().st_mode | stat.S_IXUSR | stat.S_IXGRP | stat.S_IXOTH)


# The interpreter reads .pth files as UTF-8 from 3.13 on, in the system's own encoding before.
_PTH_ENCODING = "utf-8" if sys.version_info >= (3, 13) else "locale"

_INSTALL = (
    *("-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"),
    *("--require-hashes", "--no-deps", "--only-binary", ":all:", "--requirement"),
)

RUN = Environment(ROOT, ROOT / ".venv", ROOT / "requirements.lock")
TEST = Environment(ROOT, ROOT / ".venv-test", ROOT / "tests" / "requirements.lock")
AUDIT = Environment(ROOT, ROOT / ".venv-audit", ROOT / "packaging" / "requirements-audit.lock")
