"""The order of looking, fixed by the drawing alone: zone by zone, the dangerous first, then from lug to lug so that
the probe moves little. The sheet on paper has the same order.

A *stop* is one place where the probe rests: a socket, strip, jack or lug, with the small parts that hang on it and
were not met at an earlier stop.
"""

from __future__ import annotations

from collections import defaultdict
from functools import cached_property
from typing import Final, NamedTuple

from netdiff.circuit import Circuit, Part, Point, part_of
from netdiff.tracing.danger import Danger
from netdiff.tracing.view import View, ends_of, small

MOST_AT_A_STOP: Final = 8
"""Small parts that one question may speak of beside the socket: more nobody keeps in the head. Own judgement."""


class Stop(NamedTuple):
    zone: str
    anchor: str
    """The part that stands; empty where only parts hang that were not met elsewhere."""
    hanging: tuple[str, ...]

    @property
    def parts(self) -> tuple[str, ...]:
        return (self.anchor, *self.hanging) if self.anchor else self.hanging


class Plan:
    """The stops of one drawing, in order."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.view = View(circuit)
        self.danger = Danger(circuit)

    @cached_property
    def zones(self) -> tuple[str, ...]:
        return self.danger.zones()

    @cached_property
    def stops(self) -> tuple[Stop, ...]:
        return tuple(stop for zone in self.zones for stop in self._zone(zone))

    @cached_property
    def place(self) -> dict[str, int]:
        """Designator -> the number of its stop."""
        return {name: number for number, stop in enumerate(self.stops) for name in stop.parts}

    def _zone(self, zone: str) -> list[Stop]:
        parts = [part for part in self.circuit.parts.values() if part.zone == zone and part.kind.terminals]
        between = [part for part in parts if small(part)]
        met: set[str] = set()
        out = []
        for anchor in self._tour([part for part in parts if not small(part)], between):
            mine = [part for part in between if part.designator not in met and anchor in self._on(part)]
            held = tuple(part.designator for part in self._along(anchor, mine)[:MOST_AT_A_STOP])
            met.update(held)
            out.append(Stop(zone, anchor, held))
        left: dict[str, list[str]] = defaultdict(list)
        for part in between:
            if part.designator not in met:
                left[min(self._on(part), default=part.designator)].append(part.designator)
        for names in left.values():
            out += [Stop(zone, "", tuple(names[i : i + MOST_AT_A_STOP])) for i in range(0, len(names), MOST_AT_A_STOP)]
        return out

    def _on(self, part: Part) -> set[str]:
        """The parts on whose lugs its leads land."""
        return {part_of(lead.to) for end in ends_of(part) for lead in self.view.leads(end)} - {""}

    def _along(self, anchor: str, between: list[Part]) -> list[Part]:
        """Small parts in the order of the anchor's terminals."""
        lugs = [f"{anchor}.{lug.name}" for lug in self.circuit.parts[anchor].kind.terminals]
        order = {lead.to: i for i, lug in enumerate(lugs) for lead in reversed(self.view.leads(lug))}
        return sorted(between, key=lambda part: min(order.get(end, len(lugs)) for end in ends_of(part)))

    def _tour(self, anchors: list[Part], between: list[Part]) -> list[str]:
        """From the weightiest place on, always to the one that shares most with where the probe is."""
        names = [part.designator for part in anchors]
        weight = {part.designator: sum(self.danger.weight(where) for where in part.points()) for part in anchors}
        shared: dict[str, dict[str, int]] = {name: defaultdict(int) for name in names}
        for part in between:
            on = [name for name in self._on(part) if name in shared]
            for one in on:
                for other in on:
                    shared[one][other] += one != other
        for run in self.circuit.runs:
            one, other = part_of(run.a), part_of(run.b)
            if one in shared and other in shared and one != other:
                shared[one][other] += 1
                shared[other][one] += 1
        tour: list[str] = []
        rest = dict.fromkeys(names)
        while rest:
            last = tour[-1] if tour else ""
            near = shared.get(last, {})
            # `max` keeps the first of equals: the order of the drawing.
            best = max(rest, key=lambda name: (near.get(name, 0) if near else 0, weight[name]))
            tour.append(best)
            del rest[best]
        return tour

    def lugs(self, designator: str) -> tuple[Point, ...]:
        return self.circuit.parts[designator].points()
