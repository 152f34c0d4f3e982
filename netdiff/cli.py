"""The command line: reads arguments, runs the command, tells what went wrong. Exit codes are those of ``diff``.

A command is a module of ``netdiff/commands/``. Only the one that was typed is imported, so that each starts alone.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Final

from netdiff.commands.shared import TROUBLE, Trouble, output

COMMANDS: Final = (
    "check", "compare", "worklist", "readings", "follow", "powerup", "bench", "trace", "first-look", "draw", "report",
    "wires", "from-wires", "tidy", "kinds",
)  # fmt: skip
"""In the order in which a person meets them."""

_ABOUT = """Finds what separates the wiring of a unit on the bench from the wiring that its factory drew."""
_CODES = """Exit codes: 0 no difference in what was traced, 1 differences, 2 trouble.
No result ever means that a unit is safe."""


def parser(typed: str = "") -> argparse.ArgumentParser:
    """The command line; of one command where that is typed first, else of all. ``run`` of the parsed arguments is
    the command's function."""
    top = argparse.ArgumentParser("netdiff", description=_ABOUT, epilog=_CODES, allow_abbrev=False)
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name in (typed,) if typed in COMMANDS else COMMANDS:
        if find_spec(f"netdiff.commands.{name.replace('-', '_')}") is None:
            continue
        module = import_module(f"netdiff.commands.{name.replace('-', '_')}")
        about: str = module.ABOUT
        one = commands.add_parser(name, help=about, description=about, epilog=_CODES, allow_abbrev=False)
        one.add_argument("--json", action="store_true", help="print JSON for another program")
        module.arguments(one)
        one.set_defaults(run=module.run)
    return top


def run(argv: Sequence[str] | None = None) -> int:
    """One command; returns its exit code. Whatever is wrong with files or arguments is told, not raised."""
    import netdiff
    from netdiff.reporting import faults as report

    words = list(sys.argv[1:] if argv is None else argv)
    args = parser(words[0] if words else "").parse_args(words)
    try:
        code: int = args.run(args)
        return code
    except netdiff.Faulty as faulty:
        faults = faulty.faults
        output(args, lambda: {"faults": report.as_json(faults)}, lambda: print(report.listed(faults), file=sys.stderr))
    except BrokenPipeError:
        raise
    except (Trouble, OSError) as error:
        says = report.in_words(error)
        output(args, lambda: {"trouble": says}, lambda: print(f"netdiff: {says}", file=sys.stderr))
    return TROUBLE


def main() -> None:
    """The console command. A crash must not exit with 1, which would say that a unit differs."""
    # Values are immutable and hold no cycles: looking for them often only costs time.
    gc.set_threshold(100_000, 50, 50)
    try:
        code = run()
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read the output has had enough of it; nothing is left to say, not even at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = TROUBLE
    except KeyboardInterrupt:
        code = 130
    except Exception:
        import traceback

        traceback.print_exc()
        print("netdiff: this is a fault of the program, not of your files. Please report it.", file=sys.stderr)
        code = TROUBLE
    sys.exit(code)
