"""What the operating system lacks: found, installed by root on Debian, otherwise told as the line to type."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import pytest

from bootstrap.machine import (
    QT,
    WAYLAND,
    X11,
    Machine,
    Need,
    display_needs,
    ensure,
    has_display,
    this_machine,
    venv_need,
    window_needs,
)
from bootstrap.trouble import Trouble

EGL = Need("libEGL.so.1", "libegl1")
CURSOR = Need("libxcb-cursor.so.0", "libxcb-cursor0")


@dataclass
class StandIn:
    """A machine that remembers what was run; apt-get brings what it is asked for."""

    there: set[str] = field(default_factory=set)
    ran: list[list[str]] = field(default_factory=list)
    variables: list[Mapping[str, str]] = field(default_factory=list)
    fails: str = ""
    brings: bool = True

    def has(self, need: Need) -> bool:
        return need.package in self.there

    def run(self, command: Sequence[str], variables: Mapping[str, str]) -> int:
        self.ran.append(list(command))
        self.variables.append(variables)
        if self.fails in command:
            return 100
        if "install" in command and self.brings:
            self.there.update(command)
        return 0

    def machine(self, *, debian: bool = True, root: bool = True, sudo: bool = False) -> Machine:
        return Machine("linux", debian, root, sudo, self.has, self.run)


def test_nothing_is_run_when_nothing_is_missing() -> None:
    stand_in = StandIn(there={"libegl1", "libxcb-cursor0"})
    assert not ensure(stand_in.machine(), [EGL, CURSOR])
    assert stand_in.ran == []


def test_root_on_debian_installs_only_what_is_missing() -> None:
    stand_in = StandIn(there={"libegl1"})
    assert ensure(stand_in.machine(), [EGL, CURSOR])
    assert [command[:2] for command in stand_in.ran] == [["apt-get", "update"], ["apt-get", "install"]]
    assert "libxcb-cursor0" in stand_in.ran[1]
    assert "libegl1" not in stand_in.ran[1]
    assert all(variables == {"DEBIAN_FRONTEND": "noninteractive"} for variables in stand_in.variables)


@pytest.mark.parametrize(
    ("sudo", "line"),
    [
        (
            True,
            "sudo apt-get update -q && sudo apt-get install -q -y --no-install-recommends libegl1 libxcb-cursor0",
        ),
        (
            False,
            "su -c 'apt-get update -q && apt-get install -q -y --no-install-recommends libegl1 libxcb-cursor0'",
        ),
    ],
)
def test_others_on_debian_are_told_the_line_to_type(sudo: bool, line: str) -> None:
    stand_in = StandIn()
    with pytest.raises(Trouble) as told:
        ensure(stand_in.machine(root=False, sudo=sudo), [CURSOR, EGL])
    assert str(told.value).splitlines()[-1] == line
    assert stand_in.ran == []


def test_elsewhere_the_libraries_are_named() -> None:
    stand_in = StandIn()
    with pytest.raises(Trouble, match=r"lacks libEGL\.so\.1.*package manager.*libegl1"):
        ensure(stand_in.machine(debian=False), [EGL])
    assert stand_in.ran == []


@pytest.mark.parametrize("fails", ["update", "install"])
def test_a_failing_command_is_named_and_nothing_follows_it(fails: str) -> None:
    stand_in = StandIn(fails=fails)
    with pytest.raises(Trouble, match=f"apt-get {fails}"):
        ensure(stand_in.machine(), [EGL])
    assert fails in stand_in.ran[-1]


def test_a_package_that_brings_no_library_is_told() -> None:
    with pytest.raises(Trouble, match=r"libEGL\.so\.1 cannot be opened"):
        ensure(StandIn(brings=False).machine(), [EGL])


@pytest.mark.parametrize(
    ("system", "variables", "shown"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ""}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"WAYLAND_DISPLAY": "wayland-0"}, True),
        ("win32", {}, True),
        ("darwin", {}, True),
    ],
)
def test_a_display_is_found_where_there_is_one(system: str, variables: dict[str, str], shown: bool) -> None:
    assert has_display(system, variables) is shown


def packages(needs: Iterable[Need]) -> set[str]:
    return {need.package for need in needs}


def test_each_kind_of_display_brings_its_own_libraries() -> None:
    assert packages(display_needs("linux", {"DISPLAY": ":0"})) == packages((*QT, *X11))
    assert packages(display_needs("linux", {"WAYLAND_DISPLAY": "w"})) == packages((*QT, *WAYLAND))
    assert packages(display_needs("linux", {"DISPLAY": ":0", "WAYLAND_DISPLAY": "w"})) == packages(
        (*QT, *X11, *WAYLAND)
    )
    assert packages(window_needs("linux")) == packages(QT)


@pytest.mark.parametrize("system", ["win32", "darwin"])
def test_other_systems_bring_their_own_libraries(system: str) -> None:
    assert window_needs(system) == ()
    assert display_needs(system, {"DISPLAY": ":0"}) == ()


def test_this_machine_opens_what_is_there_and_misses_what_is_not() -> None:
    machine = this_machine()
    assert machine.has(Need("json", "python3", is_module=True))
    assert not machine.has(Need("no_such_module_at_all", "none", is_module=True))
    assert not machine.has(Need("libnosuchthing.so.77", "none"))
    if machine.system.startswith("linux"):
        assert machine.has(Need("libc.so.6", "libc6"))
    assert (
        machine.run(["python3" if machine.system != "win32" else "python", "-c", "raise SystemExit(7)"], {})
        == 7
    )


def test_venv_comes_from_its_own_package() -> None:
    assert packages(venv_need()) == {"python3-venv"}
