"""The command line: reads arguments, calls the library, prints. Exit codes are those of ``diff``.

Everything heavy is imported in the command that needs it, so that ``netdiff check`` answers at once.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from netdiff.circuit import Circuit
    from netdiff.comparison import Comparison

SAME: Final = 0
DIFFERENT: Final = 1
TROUBLE: Final = 2

_ABOUT = """Finds what separates the wiring of a unit on the bench from the wiring that its factory drew."""
_CODES = """Exit codes: 0 no difference in what was traced, 1 differences, 2 trouble.
No result ever means that a unit is safe."""


class Trouble(Exception):
    """What stands in the way, in a sentence for the person who typed the command."""


def parser() -> argparse.ArgumentParser:
    """The whole command line. ``run`` of the parsed arguments is the command's function."""
    top = argparse.ArgumentParser("netdiff", description=_ABOUT, epilog=_CODES, allow_abbrev=False)
    commands = top.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(run: Any, says: str) -> argparse.ArgumentParser:
        one = commands.add_parser(run.__name__, help=says, description=says, epilog=_CODES, allow_abbrev=False)
        one.add_argument("--json", action="store_true", help="print JSON for another program")
        one.set_defaults(run=run)
        return one

    one = command(check, "Read files and print every fault, with the line and the nearest right thing.")
    one.add_argument("files", nargs="+", metavar="FILE", help="stock or found files")

    one = command(compare, "Say what differs from the drawing, the most urgent first, and what nobody looked at.")
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")

    one = command(worklist, "List the steps that bring the unit back to stock, each with the reading that proves it.")
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")

    one = command(follow, "Say where a lead goes: what is joined to it, what feeds it, what it operates.")
    one.add_argument("terminal", metavar="TERMINAL", help="a terminal (K1.coil1) or a net name")
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("--state", metavar="NAME", default="rest", help="the positions of switches and relays (rest)")

    one = command(draw, "Draw a circuit, or a unit laid over its drawing, as SVG, PNG, PDF or DOT.")
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("-o", "--output", metavar="OUT", required=True, help="the picture; its ending says the format")
    part = one.add_mutually_exclusive_group()
    part.add_argument("--around", metavar="DESIGNATOR", help="only this part and what it is wired to")
    part.add_argument("--modification", metavar="N", help="only this modification, by its number in `compare`")
    part.add_argument("--zone", metavar="NAME", help="only the parts of this zone")
    one.add_argument(
        "--view",
        choices=("both", "stock", "found"),
        default="both",
        help="of a unit: both circuits laid over each other, the drawing alone, or the unit alone",
    )

    one = command(tidy, "Print a file in its canonical layout, comments kept.")
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("-o", "--output", metavar="OUT", help="write it there; the same FILE is allowed")

    one = command(kinds, "Show the kinds of part, or one kind or tube type with its terminals.")
    one.add_argument("name", metavar="NAME", nargs="?", help="a kind (relay-spdt) or a tube type (6V6GT)")
    return top


def check(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.reporting import check as report

    checked = []
    for file in args.files:
        try:
            checked.append(report.of_file(file, netdiff.read(file)))
        except netdiff.Faulty as faulty:
            checked.append(report.Checked(file, faults=faulty.faults))
    _print(args, lambda: report.as_json(checked), lambda: print(report.told(checked)))
    return TROUBLE if any(one.faults for one in checked) else SAME


def compare(args: argparse.Namespace) -> int:
    from netdiff.reporting import json_out
    from netdiff.reporting.page import Page
    from netdiff.reporting.terminal import print_comparison

    result = _compared(args.file)
    _print(args, lambda: json_out.comparison(result), lambda: print_comparison(Page(), result))
    return DIFFERENT if result.findings else SAME


def worklist(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.reporting import json_out
    from netdiff.reporting.page import Page
    from netdiff.reporting.work import print_worklist

    work = netdiff.worklist(_compared(args.file))
    _print(args, lambda: json_out.worklist(work), lambda: print_worklist(Page(), work))
    return DIFFERENT if work.steps else SAME


def follow(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.comparison import follow as following
    from netdiff.reporting import follow as report

    wiring = following.wiring(netdiff.read(args.file))
    try:
        result = following.follow_in(wiring, following.named(wiring.circuit, args.terminal), args.state)
    except following.Unknown as reason:
        raise Trouble(str(reason)) from None
    _print(args, lambda: report.as_json(result), lambda: print(report.told(result)))
    return SAME


def draw(args: argparse.Namespace) -> int:
    from pathlib import Path

    import netdiff
    from netdiff import drawing
    from netdiff.language import Model
    from netdiff.reporting.plain import clean
    from netdiff.writing import write

    endings: dict[str, drawing.Format] = {".svg": "svg", ".png": "png", ".pdf": "pdf", ".dot": "dot"}
    fmt = endings.get(Path(args.output).suffix.lower())
    if fmt is None:
        raise Trouble(f"{args.output}: the name must end in {', '.join(endings)}.")
    read = netdiff.read(args.file)
    # Of several productions a drawing shows the first.
    thing: Circuit | Comparison
    thing = read.circuit(read.variants()[0]) if isinstance(read, Model) else netdiff.compare(read)
    try:
        picture = drawing.draw(
            thing, fmt, view=args.view, around=args.around, modification=args.modification, zone=args.zone
        )
    except drawing.CannotDraw as reason:
        raise Trouble(str(reason)) from None
    write(Path(args.output), picture)
    _print(
        args,
        lambda: {"file": args.file, "made": args.output, "bytes": len(picture)},
        lambda: print(clean(f"{args.output}: {args.file}")),
    )
    return SAME


def tidy(args: argparse.Namespace) -> int:
    from netdiff.language.tidy import tidy_file

    text = tidy_file(args.file)
    if args.output:
        from pathlib import Path

        from netdiff.writing import write

        write(Path(args.output), text)
    _print(args, lambda: {"file": args.file, "text": text}, lambda: args.output or print(text, end=""))
    return SAME


def kinds(args: argparse.Namespace) -> int:
    from netdiff.reporting import kinds as report

    if args.name is None:
        _print(args, report.all_as_json, lambda: print(report.all_told()))
        return SAME
    told = report.told(args.name)
    if told is None:
        raise Trouble(report.unknown(args.name))
    _print(args, lambda: report.as_json(args.name), lambda: print(told))
    return SAME


def _compared(file: str) -> Comparison:
    import netdiff
    from netdiff import comparison
    from netdiff.language import Model
    from netdiff.reporting.progress import progress

    with progress() as tell:
        tell(f"reading {file}")
        unit = netdiff.read(file)
        if isinstance(unit, Model):
            raise Trouble(f"{file} is a drawing; name the found file of a unit.")
        return comparison.compare(unit, tell)


def _print(args: argparse.Namespace, as_json: Callable[[], Any], as_text: Callable[[], object]) -> None:
    if args.json:
        from netdiff.reporting.json_out import dumps

        print(dumps(as_json()))
    else:
        as_text()


def run(argv: Sequence[str] | None = None) -> int:
    """One command; returns its exit code. Whatever is wrong with files or arguments is told, not raised."""
    import netdiff
    from netdiff.reporting import faults as report

    args = parser().parse_args(argv)
    try:
        code: int = args.run(args)
        return code
    except netdiff.Faulty as faulty:
        faults = faulty.faults
        _print(args, lambda: {"faults": report.as_json(faults)}, lambda: print(report.listed(faults), file=sys.stderr))
    except BrokenPipeError:
        raise
    except (Trouble, OSError) as error:
        says = report.in_words(error)
        _print(args, lambda: {"trouble": says}, lambda: print(f"netdiff: {says}", file=sys.stderr))
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
