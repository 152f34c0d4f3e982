from __future__ import annotations

import argparse

from netdiff.commands.shared import DIFFERENT, SAME, compared, output

ABOUT = "List the steps that bring the unit back to stock, each with the reading that proves it."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")


def run(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.reporting import json_out
    from netdiff.reporting.page import Page
    from netdiff.reporting.work import print_worklist

    work = netdiff.worklist(compared(args.file))
    output(args, lambda: json_out.worklist(work), lambda: print_worklist(Page(), work))
    return DIFFERENT if work.steps else SAME
