from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from netdiff.commands.shared import SAME, Trouble, examined, output

if TYPE_CHECKING:
    from netdiff.tracing.questions import Question
    from netdiff.tracing.session import Session

ABOUT = "A quick look before buying: what can be seen in five minutes with a torch, without tools."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="MODEL.stock", help="the drawing of the model (or NEW.found, to go on answering)")
    one.add_argument("-o", "--output", metavar="OUT.html", help="write the questions as a page for paper")
    one.add_argument("--answer", metavar="NEW.found", help="answer here, and write (or go on with) this found file")
    one.add_argument("--title", metavar="TEXT", default="", help="what the unit is called in the found file")
    one.add_argument("--production", metavar="NAME", default="", help="its production, where the drawing has several")


def run(args: argparse.Namespace) -> int:
    from netdiff.tracing.session import Session, only_looking

    path = Path(args.file)
    if args.answer:
        if args.output:
            raise Trouble("Either a page (-o) or answers (--answer).")
        found = Path(args.answer)
        if found.exists():
            session = Session.open(found, quick=True)
        else:
            session = Session.open(path, found=found, title=args.title, production=args.production, quick=True)
        return _answer(args, session)
    session = only_looking(path, args.production)
    session.quick = True
    if session.unit is None:
        import netdiff

        raise netdiff.Faulty(session.faults)
    questions = session.questions(100)
    if args.output:
        return _page(args, session)
    _print(args, questions)
    return SAME


def _answer(args: argparse.Namespace, session: Session) -> int:
    from netdiff.reporting.dialogue import talk
    from netdiff.reporting.page import Page
    from netdiff.reporting.tracing import print_allowances, print_findings

    talk(session, args.json)
    if session.unit is not None and not args.json and session.recent(1):
        result = examined(session.unit)
        print_findings(Page(), result)
        print_allowances(Page(), result)
    return SAME


def _page(args: argparse.Namespace, session: Session) -> int:
    from netdiff.reporting.plain import clean
    from netdiff.reporting.sheet import first_look
    from netdiff.writing import write

    write(Path(args.output), first_look(session.plan.circuit, args.file))
    output(
        args,
        lambda: {"file": args.file, "made": args.output},
        lambda: print(clean(f"{args.output}: the quick look at {args.file}")),
    )
    return SAME


def _print(args: argparse.Namespace, questions: tuple[Question, ...]) -> None:
    from netdiff.reporting.page import Page, print_cautions
    from netdiff.reporting.tracing import print_questions, question_as_json
    from netdiff.tracing.quick import CAUTIONS

    def told() -> None:
        page = Page()
        print_cautions(page, CAUTIONS)
        print_questions(page, questions)

    output(
        args,
        lambda: {"cautions": list(CAUTIONS), "questions": [question_as_json(question) for question in questions]},
        told,
    )
