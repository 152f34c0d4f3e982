from __future__ import annotations

import argparse

from netdiff.commands.shared import DIFFERENT, SAME, compared, output

ABOUT = "Say what differs from the drawing, the most urgent first, and what nobody looked at."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")


def run(args: argparse.Namespace) -> int:
    from netdiff.reporting import json_out
    from netdiff.reporting.page import Page
    from netdiff.reporting.terminal import print_comparison

    result = compared(args.file)
    output(args, lambda: json_out.comparison(result), lambda: print_comparison(Page(), result))
    return DIFFERENT if result.findings else SAME
