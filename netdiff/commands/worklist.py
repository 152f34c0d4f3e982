from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from netdiff.commands.shared import DIFFERENT, SAME, Trouble, compared, output

if TYPE_CHECKING:
    from netdiff.language import Unit
    from netdiff.worklist import WorkList
    from netdiff.worklist.progress import Progress
    from netdiff.worklist.ticks import Sheet

ABOUT = "List the steps that bring the unit back to stock, tick them off, and say what they take."


def arguments(one: argparse.ArgumentParser) -> None:
    one.add_argument("file", metavar="UNIT.found", help="the unit as found")
    what = one.add_argument_group("what is made of the list (the steps that are left, if nothing is said)")
    what = what.add_mutually_exclusive_group()
    what.add_argument("--done", metavar="STEP", nargs="+", help="tick these steps off, by their names in the list")
    what.add_argument("--undone", metavar="STEP", nargs="+", help="take these ticks back")
    what.add_argument("--all", action="store_true", help="list the steps that are ticked too, each in its place")
    what.add_argument("--parts", action="store_true", help="what to buy for the steps that are left")
    what.add_argument("--estimate", action="store_true", help="hours and money for the steps that are left")
    what.add_argument("--record", action="store_true", help="the as-left record: found, done, kept, not checked")
    what.add_argument(
        "--as-left-circuit", metavar="OUT.stock", help="write the unit as the ticks leave it, in the form of a drawing"
    )
    tick = one.add_argument_group("of a tick")
    tick.add_argument(
        "--reads",
        metavar="VALUE",
        action="append",
        default=[],
        help='what the meter read: 22k, open, "E8.1 -- C61.+ = 0.2"; without --done, a reading after the work',
    )
    tick.add_argument("--on", metavar="DATE", help="when (today)")
    tick.add_argument("--meter", metavar="NAME", default="", help="with which meter")
    tick.add_argument(
        "--fitted", metavar="PART", default="", help='what went in, if not what the drawing has: "47n 250Vac X2"'
    )
    tick.add_argument("--because", metavar="REASON", default="", help="why a reading outside its limits is right")
    money = one.add_argument_group("of --estimate")
    money.add_argument("--prices", metavar="FILE", help="a price list in YAML (examples/prices.yaml shows the form)")
    money.add_argument("--paid", metavar="AMOUNT", type=float, help="what the owner paid for the unit")
    money.add_argument("--worth", metavar="AMOUNT", type=float, help="what it is worth to him when it works")
    one.add_argument(
        "-o", "--output", metavar="OUT", help="write --parts (.csv or .json), or --record (.md or .json) there"
    )


def run(args: argparse.Namespace) -> int:
    from netdiff.worklist.wanted import Refused

    _sensible(args)
    try:
        return _run(args)
    except Refused as reason:
        raise Trouble(str(reason)) from None


def _sensible(args: argparse.Namespace) -> None:
    """Options that say nothing of what was asked for are trouble, not ignored."""
    ticks = args.done or args.reads
    for name in ("on", "meter", "because"):
        if getattr(args, name) and not ticks:
            raise Trouble(f"--{name} is said of a tick: --done STEP.")
    if args.reads and (args.undone or args.parts or args.estimate or args.record or args.as_left_circuit):
        raise Trouble("--reads is said of a tick (--done STEP), or alone.")
    for name in ("because", "fitted"):
        if getattr(args, name) and not args.done:
            raise Trouble(f"--{name} is said of a step that is done: --done STEP.")
    for name in ("reads", "fitted"):
        if args.done and len(args.done) > 1 and getattr(args, name):
            raise Trouble(f"--{name} is said of one step: tick the others by themselves.")
    if not args.estimate:
        for name in ("prices", "paid", "worth"):
            if getattr(args, name) is not None:
                raise Trouble(f"--{name} is said of --estimate.")
    for name in ("paid", "worth"):
        amount = getattr(args, name)
        if amount is not None and not 0 <= amount < 1e12:
            raise Trouble(f"--{name} is an amount of money: {amount:g} is none.")
    if args.estimate and (args.paid is not None or args.worth is not None) and not args.prices:
        raise Trouble("--paid and --worth are compared with money: name a price list with --prices.")
    if args.output and not (args.parts or args.record):
        raise Trouble("-o goes with --parts or --record.")


def _run(args: argparse.Namespace) -> int:
    import netdiff
    from netdiff.worklist import ticks
    from netdiff.worklist.progress import progress

    path = ticks.beside(args.file)
    sheet = ticks.load(path)
    work = netdiff.worklist(compared(args.file))
    if args.done or args.undone or args.reads:
        return _tick(args, work, path)
    now = progress(work, sheet)
    if args.parts:
        return _parts(args, work, now)
    if args.estimate:
        return _estimate(args, work, now)
    if args.record:
        return _record(args, work, sheet, now)
    if args.as_left_circuit:
        return _circuit(args, work, sheet, now)
    return _list(args, work, sheet, now)


def _list(args: argparse.Namespace, work: WorkList, sheet: Sheet, now: Progress) -> int:
    from netdiff.reporting import progress_told
    from netdiff.reporting.page import Page

    output(
        args,
        lambda: progress_told.as_json(work, now, sheet),
        lambda: progress_told.print_progress(Page(), work, now, whole=args.all),
    )
    return DIFFERENT if now.open else SAME


def _tick(args: argparse.Namespace, work: WorkList, path: Path) -> int:
    from datetime import date

    from netdiff.reporting import progress_told
    from netdiff.reporting.page import Page
    from netdiff.worklist import ticks
    from netdiff.worklist.progress import progress, take_reading, tick, untick

    on = args.on or date.today().isoformat()
    told: list[str] = []

    def change(sheet: Sheet) -> Sheet:
        for name in args.done or ():
            sheet = tick(
                work, sheet, name, on=on, reads=args.reads, meter=args.meter, because=args.because, fitted=args.fitted
            )
            told.append(progress_told.noted(work, sheet.ticks, name))
        for name in args.undone or ():
            sheet = untick(work, sheet, name)
            told.append(f"{name} is no longer ticked.")
        if not args.done:
            for text in args.reads:
                sheet = take_reading(work, sheet, text, on=on, meter=args.meter)
                told.append(f"Noted: {sheet.later[-1].reading.what} = {sheet.later[-1].reading}, {on}.")
        return sheet

    sheet = ticks.update(args.file, change)
    now = progress(work, sheet)
    output(
        args,
        lambda: {"file": str(path), "told": told, **progress_told.counts(work, now)},
        lambda: progress_told.print_ticked(Page(), work, now, tuple(told), str(path)),
    )
    return SAME


def _parts(args: argparse.Namespace, work: WorkList, now: Progress) -> int:
    from netdiff.reporting import parts as report
    from netdiff.reporting.json_out import dumps
    from netdiff.reporting.page import Page
    from netdiff.worklist.parts import shopping

    goods = shopping(work, now.open)
    if args.output:
        made = {".csv": lambda: report.as_csv(goods), ".json": lambda: dumps(report.as_json(work, goods)) + "\n"}
        _write(args, made.get(Path(args.output).suffix.lower()), ".csv or .json")
    else:
        output(
            args, lambda: report.as_json(work, goods), lambda: report.print_parts(Page(), work, goods, len(now.open))
        )
    return SAME


def _estimate(args: argparse.Namespace, work: WorkList, now: Progress) -> int:
    from netdiff.reporting import estimate as report
    from netdiff.reporting.page import Page
    from netdiff.worklist.estimate import estimate
    from netdiff.worklist.prices import read_prices

    prices = read_prices(Path(args.prices)) if args.prices else None
    result = estimate(work, now.open, prices, paid=args.paid, worth=args.worth)
    output(
        args,
        lambda: report.as_json(work, result),
        lambda: report.print_estimate(Page(), work, result, len(now.done)),
    )
    return SAME


def _record(args: argparse.Namespace, work: WorkList, sheet: Sheet, now: Progress) -> int:
    from netdiff.reporting import record as report
    from netdiff.reporting.json_out import dumps
    from netdiff.worklist.record import compared_again

    facts = report.as_json(work, sheet, now, compared_again(work, sheet))
    if args.output:
        made = {".md": lambda: report.as_markdown(facts), ".json": lambda: dumps(facts) + "\n"}
        _write(args, made.get(Path(args.output).suffix.lower()), ".md or .json")
    else:
        output(args, lambda: facts, lambda: print(report.as_markdown(facts), end=""))
    return SAME


def _circuit(args: argparse.Namespace, work: WorkList, sheet: Sheet, now: Progress) -> int:
    import netdiff
    from netdiff.language import Unit
    from netdiff.reporting.progress_told import heading
    from netdiff.worklist.record import as_left_text, compared_again

    args.output = args.as_left_circuit
    target = Path(args.output)
    unit = netdiff.read(args.file)
    assert isinstance(unit, Unit)
    again = compared_again(work, sheet)
    uses = _uses(unit, target)
    text = as_left_text(again, heading(work, now, again), uses=uses, catalogue=unit.catalogue)
    _write(args, (lambda: text) if target.suffix.lower() == ".stock" else None, ".stock")
    return SAME


def _uses(unit: Unit, target: Path) -> list[str]:
    """The further catalogues of the unit and its drawing, as a file at ``target`` names them."""
    folder = target.resolve().parent
    out = []
    for file in sorted(unit.catalogue.files):
        path = Path(file).resolve()
        if not path.is_relative_to(folder):
            raise Trouble(f"{target}: it uses {path.name}, and a file uses only what lies in its own folder.")
        out.append(path.relative_to(folder).as_posix())
    return out


def _write(args: argparse.Namespace, made: object, endings: str) -> None:
    from netdiff.reporting.plain import clean
    from netdiff.writing import write

    if not callable(made):
        raise Trouble(f"{args.output}: the name must end in {endings}.")
    text = str(made())
    write(Path(args.output), text)
    output(
        args,
        lambda: {"file": args.file, "made": args.output, "bytes": len(text.encode())},
        lambda: print(clean(f"{args.output}: {args.file}")),
    )
