"""What the operating system must bring: Python's own venv, and on Linux the libraries that Qt opens.

A library is looked for by opening it, not by asking for its package: that holds on every Linux, whatever the
package is called there. Only what to type is Debian's.
"""

from __future__ import annotations

import ctypes
import importlib.util
import os
import platform
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from bootstrap.trouble import Trouble, say

__all__ = [
    "Machine",
    "Need",
    "display_needs",
    "ensure",
    "has_display",
    "this_machine",
    "venv_need",
    "window_needs",
]


@dataclass(frozen=True)
class Need:
    """Something the system must have.

    Attributes:
        name: the shared library's file name, or the Python module's name.
        package: Debian's package that brings it.
        is_module: whether it is a module of Python's standard library.
    """

    name: str
    package: str
    is_module: bool = False


@dataclass(frozen=True)
class Machine:
    """The parts of the operating system that a start asks; replaced by a stand-in in tests.

    Attributes:
        system: as `sys.platform` names it.
        is_debian: whether packages come with apt-get.
        is_root: whether packages can be installed without asking.
        has_sudo: whether `sudo` is there to be typed.
        has: whether a need is met.
        run: runs a command with variables added to the environment; its exit code.
    """

    system: str
    is_debian: bool
    is_root: bool
    has_sudo: bool
    has: Callable[[Need], bool]
    run: Callable[[Sequence[str], Mapping[str, str]], int]


# Without ensurepip a new private environment has no pip; Debian keeps it in a package of its own.
VENV = Need("ensurepip", "python3-venv", is_module=True)

# What Qt's core, widgets, image formats and off-screen platform are linked to (read from the files themselves).
QT = (
    Need("libEGL.so.1", "libegl1"),
    Need("libGL.so.1", "libgl1"),
    Need("libX11.so.6", "libx11-6"),
    Need("libdbus-1.so.3", "libdbus-1-3"),
    Need("libfontconfig.so.1", "libfontconfig1"),
    Need("libfreetype.so.6", "libfreetype6"),
    Need("libglib-2.0.so.0", "libglib2.0-0"),
    Need("libxkbcommon.so.0", "libxkbcommon0"),
    Need("libzstd.so.1", "libzstd1"),
)

X11 = (
    Need("libX11-xcb.so.1", "libx11-xcb1"),
    Need("libxcb-cursor.so.0", "libxcb-cursor0"),
    Need("libxcb-glx.so.0", "libxcb-glx0"),
    Need("libxcb-icccm.so.4", "libxcb-icccm4"),
    Need("libxcb-image.so.0", "libxcb-image0"),
    Need("libxcb-keysyms.so.1", "libxcb-keysyms1"),
    Need("libxcb-randr.so.0", "libxcb-randr0"),
    Need("libxcb-render-util.so.0", "libxcb-render-util0"),
    Need("libxcb-render.so.0", "libxcb-render0"),
    Need("libxcb-shape.so.0", "libxcb-shape0"),
    Need("libxcb-shm.so.0", "libxcb-shm0"),
    Need("libxcb-sync.so.1", "libxcb-sync1"),
    Need("libxcb-util.so.1", "libxcb-util1"),
    Need("libxcb-xfixes.so.0", "libxcb-xfixes0"),
    Need("libxcb-xkb.so.1", "libxcb-xkb1"),
    Need("libxkbcommon-x11.so.0", "libxkbcommon-x11-0"),
)

WAYLAND = (
    Need("libwayland-client.so.0", "libwayland-client0"),
    Need("libwayland-cursor.so.0", "libwayland-cursor0"),
    Need("libwayland-egl.so.1", "libwayland-egl1"),
)


def has_display(system: str, variables: Mapping[str, str]) -> bool:
    """Whether a window can be shown: always outside Linux, else when X11 or Wayland names a display."""
    return not system.startswith("linux") or bool(
        variables.get("DISPLAY") or variables.get("WAYLAND_DISPLAY")
    )


def venv_need() -> tuple[Need, ...]:
    """What making the private environment needs."""
    return (VENV,)


def window_needs(system: str) -> tuple[Need, ...]:
    """What Qt needs to draw without any display, as the tests do."""
    return QT if system.startswith("linux") else ()


def display_needs(system: str, variables: Mapping[str, str]) -> tuple[Need, ...]:
    """What Qt needs to show a window on the display that the variables name."""
    if not system.startswith("linux"):
        return ()
    x11 = X11 if variables.get("DISPLAY") else ()
    wayland = WAYLAND if variables.get("WAYLAND_DISPLAY") else ()
    return (*QT, *x11, *wayland)


def ensure(machine: Machine, needs: Iterable[Need]) -> bool:
    """Install what is missing, or say what to type.

    Returns:
        Whether anything was installed.

    Raises:
        Trouble: it cannot be installed from here; the text holds the line to type.
    """
    missing = [need for need in needs if not machine.has(need)]
    if not missing:
        return False
    names = ", ".join(need.name for need in missing)
    if not machine.is_debian:
        raise Trouble(
            f"This system lacks {names}. Install them with its own package manager "
            f"(Debian calls the packages {' '.join(_packages(missing))}), then start again."
        )
    if not machine.is_root:
        raise Trouble(
            f"This system lacks {names}. Type this line, then start again:\n{_line(machine, missing)}"
        )
    say(f"Installing system packages: {' '.join(_packages(missing))}")
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    for command in _commands(missing):
        if machine.run(command, quiet) != 0:
            raise Trouble(
                f"“{' '.join(command)}” failed. Its own message stands above; put that right, start again."
            )
    left = [need.name for need in missing if not machine.has(need)]
    if left:
        raise Trouble(f"{', '.join(left)} cannot be opened even though the packages are installed.")
    return True


def this_machine() -> Machine:
    """The machine that this runs on."""
    effective_user = getattr(os, "geteuid", None)
    return Machine(
        system=sys.platform,
        is_debian=_is_debian() and shutil.which("apt-get") is not None,
        is_root=effective_user is not None and effective_user() == 0,
        has_sudo=shutil.which("sudo") is not None,
        has=_has,
        run=_run,
    )


def _packages(needs: Iterable[Need]) -> list[str]:
    return sorted({need.package for need in needs})


def _commands(needs: Iterable[Need]) -> list[list[str]]:
    return [
        ["apt-get", "update", "-q"],
        ["apt-get", "install", "-q", "-y", "--no-install-recommends", *_packages(needs)],
    ]


def _line(machine: Machine, needs: Iterable[Need]) -> str:
    commands = [" ".join(command) for command in _commands(needs)]
    if machine.has_sudo:
        return " && ".join(f"sudo {command}" for command in commands)
    return f"su -c '{' && '.join(commands)}'"


def _is_debian() -> bool:
    if not sys.platform.startswith("linux"):
        return False
    try:
        release = platform.freedesktop_os_release()
    except OSError:
        return False
    return "debian" in [release.get("ID", ""), *release.get("ID_LIKE", "").split()]


def _has(need: Need) -> bool:
    if need.is_module:
        importlib.invalidate_caches()
        return importlib.util.find_spec(need.name) is not None
    try:
        ctypes.CDLL(need.name)
    except OSError:
        return False
    return True


def _run(command: Sequence[str], variables: Mapping[str, str]) -> int:
    return subprocess.call(list(command), env={**os.environ, **variables})
