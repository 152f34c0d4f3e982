"""Sentences and word lists for whoever holds a session: what changed, what was written, how far it is."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from netdiff.circuit import Fault, Place, is_foreign
from netdiff.language.faults import nearest
from netdiff.tracing import files, notebook
from netdiff.tracing.answers import Outcome, ZoneProgress
from netdiff.tracing.asking import open_questions
from netdiff.tracing.questions import Question
from netdiff.tracing.state import State
from netdiff.tracing.typed import CONDUCTORS


def place(path: Path, line: int) -> Place:
    return Place(os.fspath(path), line)


def faulty(path: Path, faults: Sequence[Fault], changed: tuple[str, ...] = ()) -> Outcome:
    """Nothing can be asked or written until the file is mended."""
    first = faults[0] if faults else Fault(place(path, 1), "the file cannot be read")
    more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
    says = f"{first.place}: {first.says}{more}. Mend it, save it, and go on: nothing was written meanwhile."
    return Outcome(False, says, faults=tuple(faults), unsaved=True, changed=changed)


def not_written(path: Path, error: OSError) -> Outcome:
    reason = error.strerror or type(error).__name__
    says = f"{path}: {reason[0].lower()}{reason[1:]}. The answer is not in the file, which is as it was; give it again."
    return Outcome(False, says, unsaved=True)


def taken(lines: Sequence[str]) -> str:
    return "; ".join(lines)


def undone(lines: Sequence[str], stay: Sequence[int]) -> str:
    says = f"Taken back: {'; '.join(lines)}." if lines else "Nothing was taken out."
    if stay:
        numbers = ", ".join(map(str, stay))
        says += f" Changed by hand since, so it stays: line {numbers}."
    return says


def no_such(state: State, what: str) -> str:
    names = [*state.plan.zones, *state.parts, *state.stock.parts]
    designator, dot, terminal = what.partition(".")
    part = state.part(designator)
    if dot and part is not None:
        has = " ".join(lug.name for lug in part.kind.terminals)
        return f"{designator} has no terminal '{terminal}': it has {has}."
    near = nearest(what, names)
    return f"There is no zone, part or terminal {what}" + (f"; the nearest is {near}." if near else ".")


def what_changed(path: Path, before: files.Reading, now: files.Reading) -> tuple[str, ...]:
    """What somebody else did to the file or the drawing, in sentences."""
    out = []
    if before.content != now.content:
        old, new = notebook.text_lines(before.content), notebook.text_lines(now.content)
        gone, come = set(old) - set(new), set(new) - set(old)
        says = [f"{len(come)} new or changed line{'s' * (len(come) != 1)}"] if come else []
        says += [f"{len(gone)} line{'s' * (len(gone) != 1)} gone or changed"] if gone else []
        out.append(f"{path} was changed by somebody else: {', '.join(says) or 'other order of lines'}.")
    if before.drawing is not now.drawing and before.drawing is not None and now.drawing is not None:
        out.append(f"The drawing {now.drawing.path} was changed; questions follow the new one.")
    if now.unit is None and now.faults:
        out.append(f"{now.faults[0].place}: {now.faults[0].says}.")
    elif before.unit is None and now.unit is not None:
        out.append("The file reads without a fault again.")
    return tuple(out)


def progress(state: State) -> tuple[ZoneProgress, ...]:
    open_ones = [question.zone for question in open_questions(state)]
    out = []
    for zone in state.plan.zones:
        points = [
            p
            for part in state.stock.parts.values()
            if part.zone == zone
            for p in part.points()
            if state.plan.danger.wired(p) and not state.stock_lug_is_tie(p)
        ]
        looked = sum(p in state.found.traced or state.gone(p.partition(".")[0]) for p in points)
        title = state.stock.zones[zone].title if zone in state.stock.zones else ""
        out.append(
            ZoneProgress(
                zone,
                title or zone or "no zone",
                len(points),
                looked,
                open_ones.count(zone),
                state.plan.danger.says(zone),
            )
        )
    return tuple(out)


def completions(state: State, text: str, question: Question | None) -> tuple[str, ...]:
    """The likeliest first: what the drawing has here, then parts and terminals of the zone, then everything."""
    last = re.split(r"[\s,;:]+", text)[-1]
    first: list[str] = []
    if question is not None:
        first += [lead.to for lead in (*question.expected, *question.drawn) if lead.to != "braid"]
        first += question.points
        first += [part.designator for part in state.parts.values() if part.zone == question.zone]
        if not text.strip():
            return tuple(dict.fromkeys([*(offer.word for offer in question.offers), *first]))[:60]
    everything: Iterable[str] = (
        *first,
        *(name for name in state.parts if is_foreign(name)),
        *state.parts,
        *state.stock.nets,
        state.stock.ground,
        *CONDUCTORS,
        *(f"{name}.{lug.name}" for name, part in state.parts.items() for lug in part.kind.terminals if "." in last),
    )
    before = text[: len(text) - len(last)].split()
    if before and is_foreign(before[-1]) and "." not in before[-1] and before[-1] not in state.parts:
        everything = state.unit.catalogue.names()
    low = last.lower()
    found = dict.fromkeys(word for word in everything if word.lower().startswith(low) and word != last)
    return tuple(found)[:60]
