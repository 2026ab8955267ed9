"""The program `baydrop`: everything a person can do to a job, from the command line, without a window or a display.

Exit codes: 0 all is well; 1 the job was read but has errors; 2 the input is bad (a sentence on the error stream names
the field and what would be right), and nothing was changed.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from typing import Final

from estimator.cli.building import add as add_building
from estimator.cli.editing import add as add_editing
from estimator.cli.fitting import add as add_fitting
from estimator.cli.importing import add as add_importing
from estimator.cli.issuing import add as add_issuing
from estimator.cli.logo import add as add_logo
from estimator.cli.looking import add as add_looking
from estimator.cli.options import add as add_options
from estimator.cli.proposing import add as add_proposing
from estimator.cli.signing import add as add_signing
from estimator.cli.talk import BAD_INPUT, GOOD, Parser, Refused, tell

__all__ = ["main", "parser"]

_LEFT: Final = 130
"""Ctrl+C, as shells tell it."""


def parser() -> Parser:
    """Every command with its arguments."""
    whole = Parser(
        prog="baydrop",
        description="Design, check and quote a central chemical dispensing system from its job file.",
        epilog="Exit codes: 0 all is well, 1 the job has errors, 2 the input is bad and nothing was changed.",
    )
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", parser_class=Parser)
    for add in (
        add_building,
        add_editing,
        add_proposing,
        add_options,
        add_importing,
        add_fitting,
        add_signing,
        add_logo,
        add_issuing,
        add_looking,
    ):
        add(commands)
    return whole


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: arguments without the program's name; the process's own if left out.

    Returns:
        The exit code (see the module). `--help` leaves by SystemExit(0) as is usual.
    """
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a character shows an escape of it instead of ending the program.
        if reconfigure := getattr(stream, "reconfigure", None):
            reconfigure(errors="backslashreplace")
    whole = parser()
    try:
        arguments = whole.parse_args(argv)
        if arguments.command is None:
            whole.print_help()
            return GOOD
        code: int = arguments.run(arguments)
        sys.stdout.flush()
    except Refused as refused:
        tell(refused.sentences, sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        # Files are written whole: what was not written by now is as it was.
        tell(["Left: what was not written yet is not written."], sys.stderr)
        return _LEFT
    except BrokenPipeError:
        # Whoever read the output has seen enough; at exit nothing must be written to it any more.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return GOOD
    except OSError as error:
        name = f"“{error.filename}” " if error.filename else ""
        tell([f"{name}cannot be read or written ({error.strerror or error})."], sys.stderr)
        return BAD_INPUT
    return code
