from __future__ import annotations

import argparse

from netdiff.commands.shared import DIFFERENT, SAME, TROUBLE, Trouble, output

ABOUT = "Read a from-to wire list of a spreadsheet back into a stock or found file."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="IN.csv", help="the list; commas, semicolons or tabs between the cells")
    one.add_argument("-o", "--output", metavar="OUT", help="write it there; the ending says .stock or .found")
    one.add_argument("--of", metavar="MODEL.stock", default="", help="the drawing, where the list names none")
    one.add_argument(
        "--partly", action="store_true", help="write what could be read; the other rows stand at its end as comments"
    )
    one.add_argument("--replace", action="store_true", help="write over OUT where it is there already")


def run(args: argparse.Namespace) -> int:
    import sys
    from pathlib import Path

    from netdiff.language.reading import LARGEST_FILE
    from netdiff.reporting import from_wires
    from netdiff.reporting.plain import clean
    from netdiff.writing import write

    kind = Path(args.output).suffix.removeprefix(".") if args.output else ""
    if args.output and kind not in ("stock", "found"):
        raise Trouble(f"{args.output}: the name must end in .stock or .found.")
    if args.output and Path(args.output).exists() and not args.replace:
        says = "the comments that somebody wrote there are not in a list. Name another file, or say --replace"
        raise Trouble(f"{args.output} is there already, and {says}.")
    source = Path(args.file)
    try:
        if source.stat().st_size > LARGEST_FILE:
            raise Trouble(f"{args.file} has more than {LARGEST_FILE // 1_000_000} million bytes: that is no wire list.")
        data = source.read_bytes()
    except OSError as error:
        raise Trouble(f"{args.file}: {error.strerror or error}.") from None
    out = Path(args.output) if args.output else source.with_suffix("")
    try:
        read = from_wires.read_list(data, args.file, out, kind=kind, of=args.of, partly=args.partly)
    except from_wires.NoListError as reason:
        raise Trouble(f"{args.file}: {reason}.") from None
    if args.output and read.text:
        write(out, read.text)

    def tell() -> None:
        if read.text and not args.output:
            print(read.text, end="")
        lines = [clean(line) for line in from_wires.told(read, args.output or args.file)]
        print("\n".join(lines), file=sys.stdout if args.output else sys.stderr)

    output(args, lambda: from_wires.as_json(read, args.file, args.output if args.output and read.text else ""), tell)
    if not read.text:
        return TROUBLE
    return DIFFERENT if read.unread else SAME
