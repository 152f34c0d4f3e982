"""Runs of the right ends and the wrong make: which found conductors go, and which of the drawing's come.

The comparison names such a difference by the drawing's run (``run:W1:C1.2,J2.center``,
``wire:…``), by the end of a braid (``braid:…``), by a found run on a net that must be shielded
(``run:A,B``), or by the point where a lead should land (``place:A,B``).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run
from netdiff.worklist.bench import Bench, Strand
from netdiff.worklist.goal import Goal

SHIELDED = frozenset({"coax", "shielded"})
_PLAIN = frozenset({"", "bolted", "body"})


@dataclass(slots=True)
class Rerun:
    """Found runs (by number) that go, and the run that comes in their place."""

    keys: list[str]
    run: Run
    off: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Landing:
    """A braid's end of a found run (0: the end at its ``a``) that must land on ``wanted``."""

    key: str
    number: int
    end: int
    wanted: Point


@dataclass(slots=True)
class Making:
    reruns: list[Rerun] = field(default_factory=list)
    landings: list[Landing] = field(default_factory=list)


def remake(goal: Goal, bench: Bench, sound: Iterable[Strand], net_of: Mapping[Point, int]) -> Making:
    """What to lay anew. ``sound`` are the conductors that are left when everything foreign is cut away."""
    links: _Links = {}
    for strand in sound:
        if not strand.braid:
            links.setdefault(strand.a, []).append((strand.b, strand.run))
            links.setdefault(strand.b, []).append((strand.a, strand.run))
    maker = _Maker(goal, bench, links, net_of)
    # Braids last: where the whole run is laid anew its braid comes with it.
    for key in sorted(goal.raw, key=lambda key: key.startswith("braid:")):
        sort, *rest = key.split(":")
        points = goal.raw[key].points
        if len(points) != 2:
            continue
        if sort in ("run", "wire") and len(rest) == 2:
            maker.lay(key, rest[0], points)
        elif sort == "run":
            maker.shield(key, points)
        elif sort == "braid":
            maker.land(key, rest[0], points)
        elif sort == "place":
            maker.place(key, points)
    return maker.making


_Links = dict[Point, list[tuple[Point, int]]]


class _Maker:
    def __init__(self, goal: Goal, bench: Bench, links: _Links, net_of: Mapping[Point, int]) -> None:
        self.goal, self.bench, self.links, self.net_of = goal, bench, links, net_of
        self.making = Making()
        self.drawn: dict[tuple[frozenset[Point], str], Run] = {
            (frozenset((run.a, run.b)), run.cable): run for run in goal.runs if run.joins
        }

    def lay(self, key: str, cable: str, points: Iterable[Point]) -> None:
        """The drawing's run, in place of every hop of the found way that is of another make."""
        run = self.drawn.get((frozenset(points), cable))
        if run is None or not self._together(run):
            return
        off = [number for number in _path(self.links, run.a, run.b) if _other(self.bench.runs[number], run)]
        for rerun in self.making.reruns:
            if rerun.run is run:
                rerun.keys.append(key)
                return
        self.making.reruns.append(Rerun([key], run, off))

    def shield(self, key: str, points: tuple[Point, ...]) -> None:
        """An open wire on a net that must be shielded: shielded wire between the same points."""
        for other, number in self.links.get(points[0], ()):
            found = self.bench.runs[number]
            if other == points[1] and found.conductor not in _PLAIN | SHIELDED:
                run = Run(found.a, found.b, "shielded", length=found.length, braid=(self.goal.ground, OPEN))
                self.making.reruns.append(Rerun([key], run, [number]))

    def land(self, key: str, cable: str, points: tuple[Point, ...]) -> None:
        """A braid that is open or on another point: landed where the drawing lands it."""
        side, wanted = points
        run = next((r for (two, name), r in self.drawn.items() if name == cable and side in two and r.braid), None)
        if run is None or not self._together(run):
            return
        for rerun in self.making.reruns:
            if rerun.run is run:
                rerun.keys.append(key)
                return
        for number in _path(self.links, run.a, run.b):
            found = self.bench.runs[number]
            known = found.conductor in SHIELDED and found.braid is not None and UNFOLLOWED not in found.braid
            if known and side in (found.a, found.b):
                self.making.landings.append(Landing(key, number, 0 if found.a == side else 1, wanted))
                return
        self.lay(key, cable, (run.a, run.b))

    def place(self, key: str, points: tuple[Point, ...]) -> None:
        """A lead on the right net and the wrong point: taken over to the point that the drawing demands."""
        where, wanted = points
        run = next((r for r in self.goal.runs if r.direct and r.a == where and r.b == wanted), None)
        if run is None or (wanted not in self.goal.label and wanted not in self.goal.usable):
            return
        landed = self.links.get(where, ())
        off = [landed[0][1]] if len(landed) == 1 and self.bench.runs[landed[0][1]].braid is None else []
        self.making.reruns.append(Rerun([key], run, off))

    def _together(self, run: Run) -> bool:
        """Both ends are there and belong together in this unit too."""
        there = all(end in self.goal.label or end in self.goal.usable for end in (run.a, run.b))
        nets = {self.net_of[end] for end in (run.a, run.b) if end in self.net_of}
        return there and len(nets) < 2


def _path(links: _Links, start: Point, goal: Point) -> list[int]:
    """Numbers of the runs on the shortest way; empty where none is left."""
    came: dict[Point, tuple[Point, int]] = {start: (start, -1)}
    queue = deque([start])
    while queue:
        at = queue.popleft()
        if at == goal:
            way = []
            while at != start:
                at, number = came[at]
                way.append(number)
            return way[::-1]
        for other, number in links.get(at, ()):
            if other not in came:
                came[other] = (at, number)
                queue.append(other)
    return []


def _other(found: Run, run: Run) -> bool:
    """Whether the found conductor is known and is not what the drawing has."""
    if found.conductor in _PLAIN or found.evidence == "as-drawn":
        return False
    same = found.conductor == run.conductor or (run.conductor == "shielded" and found.conductor == "coax")
    other_type = run.cable_type and found.cable_type and _bare_name(found.cable_type) != _bare_name(run.cable_type)
    thinner = run.gauge is not None and found.gauge is not None and found.gauge > run.gauge
    return not same or bool(other_type) or thinner


def _bare_name(cable: str) -> str:
    return cable.upper().replace("-", "").replace("/", "").replace(" ", "").removesuffix("U")
