"""Start Baydrop: set up what it needs, then open the desk on the example job.

With no display, or with --headless, write that job's quote as a PDF and print where it is.
"""

import argparse
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from bootstrap.environment import ROOT, RUN, clean_variables
from bootstrap.machine import display_needs, ensure, has_display, this_machine, venv_need
from bootstrap.trouble import guarded

EXAMPLE = ROOT / "resources" / "examples" / "gannet-quay.baydrop"


def main() -> int:
    """The exit code of what was started."""
    wanted = arguments(sys.argv[1:])
    machine = this_machine()
    show = not wanted.headless and has_display(machine.system, os.environ)
    if not RUN.is_ready():
        ensure(machine, venv_need())
        RUN.make()
    if show:
        ensure(machine, display_needs(machine.system, os.environ))
        return call(["estimator.desk", str(wanted.job)])
    pdf = wanted.pdf or ROOT / "out" / f"{wanted.job.stem}-quote-draft.pdf"
    pdf = Path(pdf).absolute()
    pdf.parent.mkdir(parents=True, exist_ok=True)
    return call(["estimator.cli", "quote", str(wanted.job), "--pdf", str(pdf)])


def arguments(given: Sequence[str]) -> argparse.Namespace:
    """What was asked for: `job`, `headless`, `pdf`."""
    parser = argparse.ArgumentParser(prog="run.py", description="Set up Baydrop and open its desk.")
    parser.add_argument("job", nargs="?", type=Path, default=EXAMPLE, help="job file; an example if left out")
    parser.add_argument(
        "--headless", action="store_true", help="write the quote as a PDF instead of opening a window"
    )
    parser.add_argument(
        "--pdf",
        metavar="FILE",
        help="where to write it, the name ending in -draft; a file in out/ if left out",
    )
    return parser.parse_args(given)


def call(module: Sequence[str]) -> int:
    """Run one of the program's modules with its arguments; the exit code."""
    return subprocess.call([str(RUN.python), "-P", "-m", *module], env=clean_variables())


if __name__ == "__main__":
    sys.exit(guarded(main))
