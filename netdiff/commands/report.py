from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, Trouble, compared, output

ABOUT = "Write one self-contained page about a unit, for its owner, the bench and the record."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")
    money = one.add_argument_group("of the estimate in it")
    money.add_argument("--prices", metavar="FILE", help="a price list in YAML (examples/prices.yaml shows the form)")
    money.add_argument("--paid", metavar="AMOUNT", type=float, help="what the owner paid for the unit")
    money.add_argument("--worth", metavar="AMOUNT", type=float, help="what it is worth to him when it works")
    one.add_argument("-o", "--output", metavar="OUT.html", required=True, help="the page")


def run(args: argparse.Namespace) -> int:
    import sys
    from pathlib import Path

    from netdiff.cautions import for_cold_work
    from netdiff.reporting.html import Money, made
    from netdiff.reporting.plain import clean
    from netdiff.worklist.prices import read_prices
    from netdiff.writing import write

    target = Path(args.output)
    if target.suffix.lower() not in (".html", ".htm"):
        raise Trouble(f"{args.output}: the name must end in .html.")
    for name in ("paid", "worth"):
        amount = getattr(args, name)
        if amount is not None and args.prices is None:
            raise Trouble(f"--{name} is compared with money: name a price list with --prices.")
        if amount is not None and not 0 <= amount < 1e12:
            raise Trouble(f"--{name} is an amount of money: {amount:g} is none.")
    prices = read_prices(Path(args.prices)) if args.prices else None
    page = made(compared(args.file), money=Money(prices, args.paid, args.worth))
    write(target, page.text)
    size = len(page.text.encode("utf-8"))
    for trouble in page.troubles:
        print(clean(f"netdiff: {trouble}"), file=sys.stderr)
    output(
        args,
        lambda: {
            "cautions": list(for_cold_work()),
            "file": args.file,
            "made": args.output,
            "bytes": size,
            "troubles": list(page.troubles),
        },
        lambda: print(clean(f"{args.output}: {args.file}, {size / 1e6:.2f} MB")),
    )
    return SAME
