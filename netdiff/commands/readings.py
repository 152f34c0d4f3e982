from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from netdiff.commands.shared import DIFFERENT, SAME, Trouble, examined, output

if TYPE_CHECKING:
    from netdiff.language import Model, Unit

ABOUT = "Say what a meter should read, as drawn and as found, and what the readings taken mean."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("--state", metavar="NAME", help="only readings of this state: ohms at rest, volts with power on")
    which = one.add_mutually_exclusive_group()
    which.add_argument("--around", metavar="DESIGNATOR", help="only readings at this part")
    which.add_argument(
        "--between", nargs=2, metavar=("A", "B"), help="one reading between any two points; the meter's + lead is on A"
    )
    one.add_argument("-o", "--output", metavar="OUT.csv", help="write the chart there, for a spreadsheet")


def run(args: argparse.Namespace) -> int:
    from pathlib import Path

    import netdiff
    from netdiff.comparison.follow import Unknown
    from netdiff.language import Model
    from netdiff.readings import chart, loads, row_between
    from netdiff.reporting import readings as report
    from netdiff.reporting.page import Page
    from netdiff.writing import write

    read = netdiff.read(args.file)
    thing = read.circuit(read.variants()[0]) if isinstance(read, Model) else examined(read)
    title = thing.title if isinstance(read, Model) else thing.found.circuit.title  # type: ignore[union-attr]
    try:
        if args.between:
            a, b = args.between
            rows = row_between(thing, a, b, args.state or "rest")
        else:
            rows = chart(thing, args.state, args.around)
        bears = loads(thing, args.state) if _powered(read, args.state) and not args.between else ()
    except Unknown as reason:
        raise Trouble(str(reason)) from None
    bears = tuple(one for one in bears if args.around in (None, one.name.partition(".")[0]))
    if args.output:
        if Path(args.output).suffix.lower() != ".csv":
            raise Trouble(f"{args.output}: the name must end in .csv.")
        write(Path(args.output), report.as_csv(rows))
    unit = not isinstance(read, Model)
    output(
        args,
        lambda: report.as_json(rows, bears),
        lambda: report.print_readings(Page(), title, args.file, rows, bears, unit=unit),
    )
    return DIFFERENT if any(row.judgement in ("unexplained", "doubtful") for row in rows) else SAME


def _powered(read: Model | Unit, state: str | None) -> bool:
    from netdiff.language import Model

    model = read if isinstance(read, Model) else read.model
    states = model.circuit(model.variants()[0]).states
    return state is not None and state in states and states[state].power
