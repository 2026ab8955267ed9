"""Set up what the checks need, then run them all; with arguments, only pytest with those arguments.

`--cover` alone runs them all and measures the branch coverage too.
"""

import sys

from bootstrap.checks import all_checks, begin_quietly, call_quietly, chosen_tests, run_checks
from bootstrap.environment import TEST
from bootstrap.machine import ensure, this_machine, venv_need, window_needs
from bootstrap.trouble import guarded


def main() -> int:
    """0 when every check passed."""
    chosen = sys.argv[1:]
    machine = this_machine()
    ready = TEST.is_ready()
    ensure(machine, (*window_needs(machine.system), *(() if ready else venv_need())))
    if not ready:
        TEST.make()
    cover = chosen == ["--cover"]
    checks = chosen_tests(TEST, chosen) if chosen and not cover else all_checks(TEST, cover=cover)
    return run_checks(checks, call_quietly(TEST), begin_quietly(TEST))


if __name__ == "__main__":
    sys.exit(guarded(main))
