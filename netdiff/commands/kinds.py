from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, Trouble, output

ABOUT = "Show the kinds of part, or one kind or tube type with its terminals."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("name", metavar="NAME", nargs="?", help="a kind (relay-spdt) or a tube type (6V6GT)")


def run(args: argparse.Namespace) -> int:
    from netdiff.reporting import kinds as report

    if args.name is None:
        output(args, report.all_as_json, lambda: print(report.all_told()))
        return SAME
    told = report.told(args.name)
    if told is None:
        raise Trouble(report.unknown(args.name))
    output(args, lambda: report.as_json(args.name), lambda: print(told))
    return SAME
