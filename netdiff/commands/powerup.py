from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from netdiff.commands.shared import DIFFERENT, SAME, Trouble, compared, output

if TYPE_CHECKING:
    from netdiff.comparison import Comparison
    from netdiff.powerup import Plan

ABOUT = "Bring a cleared unit up in stages, each with its limits and when to stop; refuse while anything is open."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")
    one.add_argument("--as-left", action="store_true", help="count the ticked steps of its work list as done")
    one.add_argument(
        "--anyway", action="store_true", help="print the cold stages of a unit that is not cleared for power"
    )
    one.add_argument(
        "--log", nargs="+", metavar=("STAGE", "READING=VALUE"), help="log what was read in a stage (hv=312V, lit=yes)"
    )
    one.add_argument("--on", metavar="DATE", help="the day of the readings, such as 2026-03-02 (today)")
    one.add_argument("--note", metavar="TEXT", default="", help="a remark beside them, such as the meter used")


def run(args: argparse.Namespace) -> int:
    from netdiff.powerup import log, plan
    from netdiff.reporting import powerup as report
    from netdiff.reporting.page import Page

    if (args.on or args.note) and not args.log:
        raise Trouble("--on and --note are said of readings: --log STAGE READING=VALUE.")
    path = log.beside(Path(args.file))
    try:
        entries = log.read(path)
    except log.Broken as reason:
        raise Trouble(str(reason)) from None
    made = plan(_comparison(args))
    if args.log:
        return _log(args, made, path)
    standings = log.standing(made, entries)
    unasked = log.unasked(made, entries)
    stale = bool(entries) and path.stat().st_mtime < Path(args.file).stat().st_mtime
    output(
        args,
        lambda: report.as_json(made, standings, anyway=args.anyway, unasked=unasked),
        lambda: report.print_plan(Page(), made, standings, anyway=args.anyway, stale=stale, unasked=unasked),
    )
    return SAME if made.cleared and all(s.state == "passed" for s in standings) else DIFFERENT


def _comparison(args: argparse.Namespace) -> Comparison:
    if not args.as_left:
        return compared(args.file)
    import netdiff
    from netdiff.electrical import limits
    from netdiff.worklist import ticks
    from netdiff.worklist.record import compared_again
    from netdiff.worklist.wanted import Refused

    try:
        sheet = ticks.load(ticks.beside(args.file))
        work = netdiff.worklist(compared(args.file))
        own, _ = limits.beside(Path(args.file))
        with limits.using(own):
            return compared_again(work, sheet)
    except Refused as reason:
        raise Trouble(str(reason)) from None


def _log(args: argparse.Namespace, made: Plan, path: Path) -> int:
    from datetime import date

    from netdiff.powerup import log
    from netdiff.reporting import powerup as report
    from netdiff.reporting.page import Page

    key, *words = args.log
    day = args.on or date.today().isoformat()
    try:
        new = log.add(path, lambda entries: log.logged(made, entries, key, words, day, args.note))
        after = log.read(path)
    except log.Unknown as reason:
        raise Trouble(str(reason)) from None
    except log.Refused as reason:
        says = str(reason)
        output(args, lambda: report.refused_json(made, says), lambda: report.print_refused(Page(), made, says))
        return DIFFERENT
    standings = log.standing(made, after)
    output(
        args,
        lambda: report.as_json(made, standings, unasked=log.unasked(made, after)),
        lambda: report.print_logged(Page(), made, new, standings, key),
    )
    return SAME if all(s.state == "passed" for s in standings) else DIFFERENT
