from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from netdiff.commands.shared import SAME, Trouble, output

if TYPE_CHECKING:
    from netdiff.tracing.session import Session

ABOUT = "Trace a unit: the most useful next question, and every answer at once in its found file."

NEXT: Final = 10
"""Questions that `--next` prints."""


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help="UNIT.found, or MODEL.stock to begin a new unit")
    one.add_argument("--zone", metavar="NAME", default="", help="ask in this zone only")
    one.add_argument("--found", metavar="NEW.found", default="", help="the file to begin, with MODEL.stock (beside it)")
    one.add_argument("--title", metavar="TEXT", default="", help="what the new unit is called, with MODEL.stock")
    one.add_argument("--production", metavar="NAME", default="", help="its production, with MODEL.stock")
    what = one.add_mutually_exclusive_group()
    what.add_argument("--next", action="store_true", help=f"print the next {NEXT} questions and no more")
    what.add_argument("--sheet", metavar="ZONE", help="write a sheet for pencil and paper, in the order of tracing")
    one.add_argument("-o", "--output", metavar="OUT.html", help="the sheet")


def run(args: argparse.Namespace) -> int:
    if bool(args.sheet) != bool(args.output):
        raise Trouble("A sheet needs its zone and its file: --sheet ZONE -o OUT.html.")
    session = opened(args)
    if args.sheet:
        return _sheet(args, session)
    if args.next:
        return _next(args, session)
    from netdiff.reporting.dialogue import talk

    talk(session, args.json)
    return SAME


def opened(args: argparse.Namespace) -> Session:
    """The session of these arguments. With `--next` and `--sheet` a drawing alone begins no file."""
    import netdiff
    from netdiff.tracing.session import Session, only_looking

    path = Path(args.file)
    if (args.next or args.sheet) and not args.found:
        session = only_looking(path, args.production)
    else:
        session = Session.open(
            path, zone=args.zone, found=args.found, title=args.title, production=args.production
        )  # fmt: skip
    session.zone = args.zone
    if session.faults and (args.next or args.sheet):
        raise netdiff.Faulty(session.faults)
    for zone in filter(None, (args.zone, args.sheet)):
        if session.unit is not None and zone not in session.plan.zones:
            raise Trouble(f"The drawing has no zone {zone} with parts in it: it has {', '.join(session.plan.zones)}.")
    return session


def _next(args: argparse.Namespace, session: Session) -> int:
    from netdiff.cautions import for_cold_work
    from netdiff.reporting.page import Page, print_cautions
    from netdiff.reporting.tracing import print_questions, question_as_json

    questions = session.questions(NEXT)

    def told() -> None:
        page = Page()
        print_cautions(page, for_cold_work())
        print_questions(page, questions)
        if not questions:
            page.heading("Nothing is open: every terminal that can be seen was looked at.")

    output(
        args,
        lambda: {
            "cautions": list(for_cold_work()),
            "questions": [question_as_json(question) for question in questions],
        },
        told,
    )
    return SAME


def _sheet(args: argparse.Namespace, session: Session) -> int:
    from netdiff.reporting.plain import clean
    from netdiff.reporting.sheet import zone_sheet
    from netdiff.writing import write

    text = zone_sheet(session, args.sheet)
    write(Path(args.output), text)
    output(
        args,
        lambda: {"file": args.file, "zone": args.sheet, "made": args.output},
        lambda: print(clean(f"{args.output}: {args.sheet} of {args.file}, lug by lug in the order of `trace`")),
    )
    return SAME
