from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, Trouble, output

ABOUT = "Say where a lead goes: what is joined to it, what feeds it, what it operates."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("terminal", metavar="TERMINAL", help="a terminal (K1.coil1) or a net name")
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("--state", metavar="NAME", default="rest", help="the positions of switches and relays (rest)")


def run(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.comparison import follow as following
    from netdiff.reporting import follow as report

    wiring = following.wiring(netdiff.read(args.file))
    try:
        result = following.follow_in(wiring, following.named(wiring.circuit, args.terminal), args.state)
    except following.Unknown as reason:
        raise Trouble(str(reason)) from None
    output(args, lambda: report.as_json(result), lambda: print(report.told(result)))
    return SAME
