from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from netdiff.commands.shared import DIFFERENT, SAME, Trouble, compared, output

if TYPE_CHECKING:
    from netdiff.comparison import Comparison

ABOUT = "Say what differs from the drawing, the most urgent first, and what nobody looked at."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")
    one.add_argument("--as-left", action="store_true", help="the unit as the ticks of its work list leave it")


def run(args: argparse.Namespace) -> int:
    from netdiff.reporting import json_out
    from netdiff.reporting.page import Page
    from netdiff.reporting.terminal import print_comparison

    result = compared(args.file)
    if args.as_left:
        return _as_left(args, result)
    output(args, lambda: json_out.comparison(result), lambda: print_comparison(Page(), result))
    return DIFFERENT if any(not finding.drawn for finding in result.findings) else SAME


def _as_left(args: argparse.Namespace, result: Comparison) -> int:
    """Finished is when nothing differs but what was marked to stay; the exit code is then that of no difference."""
    import netdiff
    from netdiff.reporting import progress_told
    from netdiff.reporting.page import Page
    from netdiff.worklist import ticks
    from netdiff.worklist.progress import progress
    from netdiff.worklist.record import compared_again, left
    from netdiff.worklist.wanted import Refused

    work = netdiff.worklist(result)
    sheet = ticks.load(ticks.beside(args.file))
    now = progress(work, sheet)
    try:
        again = compared_again(work, sheet)
    except Refused as reason:
        raise Trouble(str(reason)) from None
    output(
        args,
        lambda: progress_told.as_left_json(work, now, again),
        lambda: progress_told.print_as_left(Page(), work, now, again),
    )
    return DIFFERENT if left(again) else SAME
