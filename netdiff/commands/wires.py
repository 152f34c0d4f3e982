from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from netdiff.commands.shared import SAME, Trouble, compared, output

if TYPE_CHECKING:
    from netdiff.language import Model, Unit

ABOUT = "Write the from-to wire list for a spreadsheet, or the circuit as a graph for graph programs."

_SEPARATORS = {".csv": ",", ".tsv": "\t"}


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument(
        "-o", "--output", metavar="OUT", help="write it there: .csv or .tsv for a spreadsheet, .graphml for a graph"
    )
    one.add_argument(
        "--circuit",
        choices=("stock", "found", "both"),
        help="of a unit: its drawing, the unit as found (a list's default), or both with the findings (a graph's)",
    )
    one.add_argument("--production", metavar="NAME", default="", help="of a drawing with several: which (the first)")


def run(args: argparse.Namespace) -> int:
    import os
    from pathlib import Path

    import netdiff
    from netdiff.language import Model
    from netdiff.reporting import wires
    from netdiff.reporting.plain import clean
    from netdiff.writing import write

    out = Path(args.output) if args.output else None
    ending = out.suffix.lower() if out is not None else ".csv"
    if ending not in (*_SEPARATORS, ".graphml"):
        raise Trouble(f"{args.output}: the name must end in {', '.join(_SEPARATORS)} or .graphml.")
    if args.circuit == "both" and ending != ".graphml":
        raise Trouble(
            "A wire list is of one circuit: --circuit stock, or --circuit found. A graph (.graphml) has both."
        )
    thing = netdiff.read(args.file)
    if isinstance(thing, Model) and args.circuit in ("found", "both"):
        raise Trouble(f"{args.file} is a drawing; for the circuit as found name the found file of a unit.")
    folder = out.parent if out is not None else Path(args.file).parent
    stock_file = "" if isinstance(thing, Model) else os.path.relpath(thing.model.file, folder).replace(os.sep, "/")
    try:
        variant = wires.active(thing, args.production)
        listed = wires.of_thing(thing, None if args.circuit == "both" else args.circuit, stock_file, args.production)
    except ValueError as reason:
        raise Trouble(f"{reason}.") from None
    if out is not None:
        separator = _SEPARATORS.get(ending)
        made = (
            _graph(thing, args.circuit, variant, args.file) if separator is None else wires.as_file(listed, separator)
        )
        write(out, made)

    def tell() -> None:
        if out is not None:
            print(clean(f"{args.output}: {args.file}"))
        else:
            print(wires.as_csv(listed).replace("\r\n", "\n"), end="")

    output(args, lambda: {**wires.as_json(listed), "made": args.output or ""}, tell)
    return SAME


def _graph(thing: Model | Unit, which: str | None, variant: frozenset[str], file: str) -> bytes:
    from netdiff.language import Model
    from netdiff.reporting import graphml

    if isinstance(thing, Model):
        return graphml.of_circuit(thing.circuit(variant))
    if which == "stock":
        return graphml.of_circuit(thing.model.circuit(variant))
    if which == "found":
        return graphml.of_circuit(thing.found(variant).circuit)
    return graphml.of_comparison(compared(file))
