"""A work list with its ticks: what is left to do, what is done, and what a tick changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from netdiff.comparison.results import HOLDS, Comparison
from netdiff.reporting import json_out
from netdiff.reporting.page import HOLD_WORDS, Page, print_cautions
from netdiff.reporting.plain import counted
from netdiff.reporting.terminal import print_comparison
from netdiff.reporting.work import print_worklist
from netdiff.worklist.progress import Progress, named
from netdiff.worklist.record import drawn_hazards
from netdiff.worklist.record import left as findings_left
from netdiff.worklist.steps import Step, WorkList
from netdiff.worklist.ticks import Sheet, Tick
from netdiff.worklist.wanted import outside, wanted


def print_progress(page: Page, work: WorkList, now: Progress, *, whole: bool = False) -> None:
    """The steps that are left (``whole``: all of them), then those that are done."""
    if whole:
        print_worklist(page, work)
    elif now.open or not now.done:
        print_worklist(page, replace(work, steps=now.open))
    else:
        page.line(f"Work list: {work.comparison.found.circuit.title}", style="bold")
        page.line(f"All {counted(len(work.steps), 'step')} are ticked.", style="bold")
        page.line("`netdiff compare --as-left` compares the unit again as the ticks leave it.")
        print_cautions(page, work.cautions)
        for one in work.stays:
            page.line(f"{one.title}: {one.reason}" if one.reason else one.title, indent=2, lead="Stays: ")
    if now.done:
        page.heading(f"Done: {len(now.done)} of {len(work.steps)}")
        for step, tick in now.done:
            page.line(_done(work, step, tick), indent=2, lead="[x] ")
    _strays(page, now)


def _done(work: WorkList, step: Step, tick: Tick) -> str:
    says = f"{tick.on}  {step.name}" + (f", fitted {tick.fitted}" if tick.fitted else "")
    if tick.readings:
        says += ": " + ", ".join(f"{one.what} = {one}" for one in tick.readings)
    if outside(work, step, tick.readings):
        says += " (outside its limits)"
    return f"{says}. {tick.because}" if tick.because else says


def _strays(page: Page, now: Progress) -> None:
    if now.stray:
        page.heading("Ticked, and no longer on the list")
        page.line("The found file was changed since. The ticks are kept; `--undone` takes them out.", indent=2)
        page.points(f"{tick.step}, {tick.on}" for tick in now.stray)


def as_json(work: WorkList, now: Progress, sheet: Sheet) -> dict[str, Any]:
    """The whole list, each step with its tick."""
    ticks = {step.name: tick for step, tick in now.done}
    out = json_out.worklist(work)
    for one, step in zip(out["steps"], work.steps, strict=True):
        one["done"] = tick_json(ticks[step.name]) if step.name in ticks else None
    out["stray"] = [tick_json(tick) for tick in now.stray]
    out["later"] = [
        {"what": one.reading.what, "reads": str(one.reading), "state": one.state, "on": one.on, "meter": one.meter}
        for one in sheet.later
    ]
    return out


def tick_json(tick: Tick) -> dict[str, Any]:
    return {
        "step": tick.step,
        "on": tick.on,
        "readings": [
            {"what": one.what, "reads": str(one), "value": one.value, "unit": one.unit, "bound": one.bound}
            for one in tick.readings
        ],
        "fitted": tick.fitted,
        "meter": tick.meter,
        "because": tick.because,
    }


def noted(work: WorkList, ticks: Sequence[Tick], name: str) -> str:
    """What a tick was taken for, in a sentence: a reading that was put to the wrong thing is seen at once."""
    step = named(work, name)
    tick = next(one for one in ticks if one.step == step.name)
    says = f"{step.name} is done, {tick.on}."
    if tick.fitted:
        says += f" Fitted: {tick.fitted}."
    wrong = {one.what for one, _ in outside(work, step, tick.readings)}
    limits = {one.what: one.says for one in wanted(work, step)}
    for one in tick.readings:
        word = "outside its limits" if one.what in wrong else "within its limits"
        says += f" {one.what} reads {one}, {word} ({limits.get(one.what, 'none')})."
    missing = [one for one in wanted(work, step) if one.what not in {reading.what for reading in tick.readings}]
    if missing:
        says += " Not measured: " + "; ".join(f"{one.what} ({one.says})" for one in missing) + "."
    return says


def counts(work: WorkList, now: Progress) -> dict[str, Any]:
    left = Counter(step.hold for step in now.open)
    return {
        "done": len(now.done),
        "steps": len(work.steps),
        "left": {hold: left[hold] for hold in HOLDS},
        "next": now.open[0].name if now.open else None,
    }


def print_ticked(page: Page, work: WorkList, now: Progress, told: tuple[str, ...], file: str) -> None:
    """The answer to a tick: what was noted, what is left, what comes next."""
    for line in told:
        page.line(line)
    left = Counter(step.hold for step in now.open)
    words = ", ".join(f"{left[hold]} {HOLD_WORDS[hold]}" for hold in HOLDS if left[hold])
    page.line(f"{len(now.done)} of {counted(len(work.steps), 'step')} done" + (f"; left: {words}." if words else "."))
    if now.open:
        page.line(f"Next on the list: {now.open[0].name}. `netdiff worklist` has its cautions and readings.")
    else:
        page.line("`netdiff compare --as-left` compares the unit again as the ticks leave it.")
    page.line(f"Kept in {file}. A tick says that somebody did the step; it never says that the unit is safe.")


def heading(work: WorkList, now: Progress, again: Comparison) -> tuple[str, ...]:
    """Comment lines over the circuit of the unit as left: what it is, and how far it can be trusted."""
    unit = work.comparison.found
    day = max((tick.on for _, tick in now.done), default=unit.inspected)
    total = again.coverage.total
    rest = findings_left(again)
    kept = [one for one in again.modifications if one.kept]
    return (
        f"The unit as it is left{', ' + day if day else ''}: {unit.circuit.file} with {len(now.done)} of "
        f"{counted(len(work.steps), 'step')} done.",
        f"Not the factory's drawing; that is {work.comparison.stock.file}.",
        *(f"Stays other than drawn: {one.title}{': ' + one.reason if one.reason else ''}." for one in kept),
        f"{counted(len(rest), 'finding')} left that nobody said would stay.",
        f"Nobody looked at {total.not_traced} of {total.terminals} terminals: there it is as the factory drew it."
        if total.not_traced
        else f"All {total.terminals} terminals of the drawing were looked at.",
        "Nothing here says that the unit is safe.",
    )


def print_as_left(page: Page, work: WorkList, now: Progress, again: Comparison) -> None:
    """The comparison of the unit as the ticks leave it."""
    page.line(_finished(work, now, again), style="bold")
    own = len(drawn_hazards(again))
    if own:
        page.line(
            f"{counted(own, 'hazard')} of the drawing itself: they stand below, and somebody must decide on them."
        )
    page.blank()
    print_comparison(page, again)


def _finished(work: WorkList, now: Progress, again: Comparison) -> str:
    done = f"As left, {len(now.done)} of {counted(len(work.steps), 'step')} ticked:"
    rest = len(findings_left(again))
    if rest:
        return f"{done} {counted(rest, 'finding')} left that nobody said would stay."
    kept = sum(one.kept for one in again.modifications)
    what = f"but what is marked to stay ({counted(kept, 'modification')})" if kept else "at all"
    return f"{done} nothing that was traced differs from the drawing {what}, by what the ticks say."


def as_left_json(work: WorkList, now: Progress, again: Comparison) -> dict[str, Any]:
    return {
        **json_out.comparison(again),
        "as_left": {
            **counts(work, now),
            "findings_left": list(findings_left(again)),
            "hazards_of_the_drawing": list(drawn_hazards(again)),
        },
    }
