from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from netdiff.commands.shared import SAME, Trouble, examined, output

if TYPE_CHECKING:
    from netdiff.circuit import Circuit
    from netdiff.comparison import Comparison

ABOUT = "Draw a circuit, a unit, or one modification as drawn and as found, as SVG, PNG, PDF or DOT."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("-o", "--output", metavar="OUT", required=True, help="the picture; its ending says the format")
    part = one.add_mutually_exclusive_group()
    part.add_argument("--around", metavar="DESIGNATOR", help="only this part and what it is wired to")
    part.add_argument(
        "--modification", metavar="N", help="this modification by its number in `compare`, as drawn and as found"
    )
    part.add_argument("--zone", metavar="NAME", help="only the parts of this zone")
    one.add_argument(
        "--view",
        choices=("both", "stock", "found"),
        default="both",
        help="of a unit: what is drawn and what is found in one picture, the drawing alone, or the unit alone",
    )


def run(args: argparse.Namespace) -> int:
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
    thing = read.circuit(read.variants()[0]) if isinstance(read, Model) else examined(read)
    try:
        picture = drawing.draw(
            thing, fmt, view=args.view, around=args.around, modification=args.modification, zone=args.zone
        )
    except drawing.CannotDraw as reason:
        raise Trouble(str(reason)) from None
    write(Path(args.output), picture)
    output(
        args,
        lambda: {"file": args.file, "made": args.output, "bytes": len(picture)},
        lambda: print(clean(f"{args.output}: {args.file}")),
    )
    return SAME
