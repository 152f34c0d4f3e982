from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, output

ABOUT = "Print a file in its canonical layout, comments kept."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="a stock file, or a found file")
    one.add_argument("-o", "--output", metavar="OUT", help="write it there; the same FILE is allowed")


def run(args: argparse.Namespace) -> int:
    from netdiff.language.tidy import tidy_file

    text = tidy_file(args.file)
    if args.output:
        from pathlib import Path

        from netdiff.writing import write

        write(Path(args.output), text)
    output(args, lambda: {"file": args.file, "text": text}, lambda: args.output or print(text, end=""))
    return SAME
