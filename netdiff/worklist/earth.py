"""A step that would take a good protective earth away says so, and how it is kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from netdiff.circuit import Circuit
from netdiff.comparison.merged import as_found
from netdiff.comparison.results import Comparison
from netdiff.comparison.scene import Scene
from netdiff.hazards.better import earth_brought
from netdiff.readings.side import Side
from netdiff.worklist.steps import Step


def with_earths(comparison: Comparison, scene: Scene, unit: Circuit, steps: Iterable[Step]) -> Iterator[Step]:
    """The steps, with a caution before one that puts a two-wire cord in the place of a three-wire one."""
    side: Side | None = None
    for step in steps:
        for part in step.change.parts_on:
            there = unit.parts.get(part.designator)
            if there is None or there.kind.lug("E") is None or part.kind.lug("E") is not None:
                continue
            side = side or Side(comparison, as_found(comparison, scene), None, scene.alignment.alias)
            if earth_brought(side, scene.alignment.same.get(part.designator, part.designator)):
                says = (
                    "This takes the protective earth away from the chassis. It is better kept: write "
                    f'`keep {part.designator} "three-wire cord, earth on the chassis"` into the found file instead.'
                )
                step = replace(step, cautions=(says, *step.cautions))
        yield step
