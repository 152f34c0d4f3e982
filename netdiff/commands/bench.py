from __future__ import annotations

import argparse

from netdiff.commands.shared import SAME, Trouble

ABOUT = "Trace a unit with a page at the bench: telephone, tablet or screen, one question after the other."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="UNIT.found, or MODEL.stock to begin a new unit")
    one.add_argument("--found", metavar="NEW.found", help="the file to begin, with MODEL.stock (default: beside it)")
    one.add_argument("--port", type=_port, default=0, metavar="N", help="serve on this port (8417, or the next free)")
    one.add_argument("--no-browser", action="store_true", help="do not open the browser of this machine")
    one.add_argument("--lan", action="store_true", help="let other devices on this network in, each with a code")


def run(args: argparse.Namespace) -> int:
    import json
    import webbrowser
    from pathlib import Path

    from netdiff.bench.serving import CannotServe, serve
    from netdiff.cautions import for_cold_work
    from netdiff.reporting.plain import clean

    def tell(says: str) -> None:
        print(json.dumps({"says": says}, ensure_ascii=False) if args.json else clean_lines(says), flush=True)

    def clean_lines(says: str) -> str:
        return "\n".join(clean(line) for line in says.split("\n"))

    for line in for_cold_work():
        tell(line)
    try:
        serve(Path(args.file), found=Path(args.found) if args.found else None, port=args.port, lan=args.lan, tell=tell,
              opened=lambda url: None if args.no_browser else webbrowser.open(url))  # fmt: skip
    except CannotServe as error:
        raise Trouble(str(error)) from None
    except FileExistsError as error:
        says = "is there already: name it to go on with it, or begin another with --found NEW.found"
        raise Trouble(f"{error.filename} {says}") from None
    except KeyboardInterrupt:
        pass
    return SAME


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: 1 to 65535")
    return int(text)
