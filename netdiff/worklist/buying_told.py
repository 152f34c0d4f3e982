"""What a step says of a new part beyond the drawing: its class on the mains, the value that is made today."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from netdiff.circuit import Part
from netdiff.quantities import show
from netdiff.readings.side import Side
from netdiff.worklist.buying import NOBODY_SAYS, choose
from netdiff.worklist.mains import Position, positions
from netdiff.worklist.steps import Step


def told(drawing: Side, steps: Iterable[Step]) -> Iterator[Step]:
    """The steps; those that put in a part have a sentence more where what is bought is not what is drawn."""
    on_the_line = positions(drawing)
    for step in steps:
        if step.action not in ("replace", "fit"):
            yield step
            continue
        more = [
            says
            for part in step.change.parts_on
            if (says := _says(part, on_the_line.get(part.designator), len(step.change.parts_on) > 1))
        ]
        yield replace(step, says=" ".join([step.says, *more])) if more else step


def _says(part: Part, position: Position | None, several: bool) -> str:
    who = part.designator if several else "It"
    choice = choose(part, NOBODY_SAYS, position)
    spec = choice.spec
    if position is not None and spec.volts_ac is not None and spec.words:
        where = "from the line to metal" if position.to_metal else "across the line"
        value = show(spec.value, spec.unit) if spec.value else ""
        says = f"{who} stands {where}: a safety capacitor goes in, class {spec.words[0]}, "
        return " ".join([f"{says}{value}, {show(spec.volts_ac, 'Vac')} or more.", *choice.notes])
    if part.kind.name.startswith(("cord", "inlet", "fuse")):
        return " ".join(choice.notes)
    if spec.value and part.value and spec.value != part.value and part.kind.unit in ("ohm", "F"):
        made = f"{part.designator} is made" if several else "Made"
        return f"{made} today: {show(spec.value, spec.unit)}; the parts list has its ratings."
    return ""
