from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, TROUBLE, output

ABOUT = "Read files and print every fault, with the line and the nearest right thing."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("files", nargs="+", metavar="FILE", help="stock or found files")


def run(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.reporting import check as report

    checked = []
    for file in args.files:
        try:
            checked.append(report.of_file(file, netdiff.read(file)))
        except netdiff.Faulty as faulty:
            checked.append(report.Checked(file, faults=faulty.faults))
    output(args, lambda: report.as_json(checked), lambda: print(report.told(checked)))
    return TROUBLE if any(one.faults for one in checked) else SAME
