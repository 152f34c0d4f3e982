"""Runs of the right ends and the wrong make: which found conductors go, and which of the drawing's come.

The comparison names such a difference by the drawing's run (``run:W1:C1.2,J2.center``,
``wire:…``), by the end of a braid (``braid:…``), by a found run on a net that must be shielded
(``run:A,B``), or by the point where a lead should land (``place:A,B``).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field

from netdiff.circuit import OPEN, UNFOLLOWED, Point, Run, is_net
from netdiff.worklist.bench import Bench, Strand
from netdiff.worklist.goal import Goal

SHIELDED = frozenset({"coax", "shielded"})
_PLAIN = frozenset({"", "bolted", "body"})


@dataclass(slots=True)
class Rerun:
    """Found runs (by number) that go, and the run that comes in their place."""

    key: str
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


def remake(goal: Goal, bench: Bench, sound: Iterable[Strand]) -> Making:
    """What to lay anew. ``sound`` are the conductors that are left when everything foreign is cut away."""
    making = Making()
    links: dict[Point, list[tuple[Point, int]]] = {}
    for strand in sound:
        if not strand.braid:
            links.setdefault(strand.a, []).append((strand.b, strand.run))
            links.setdefault(strand.b, []).append((strand.a, strand.run))
    drawn = _by_ends(goal)
    for key, raw in goal.raw.items():
        sort, *rest = key.split(":")
        if sort in ("run", "wire") and len(rest) == 2:
            run = drawn.get((frozenset(raw.points), rest[0]))
            if run is not None and _together(goal, run):
                path = _path(links, run.a, run.b)
                off = [number for number in path if _other(bench.runs[number], run)]
                making.reruns.append(Rerun(key, run, off))
        elif sort == "run":
            _shield(goal, bench, key, raw.points, making, links)
        elif sort == "braid" and len(raw.points) == 2:
            _land(goal, bench, key, raw.points, drawn, making, links)
        elif sort == "place" and len(raw.points) == 2:
            _place(goal, bench, key, raw.points, making, links)
    return making


def _by_ends(goal: Goal) -> dict[tuple[frozenset[Point], str], Run]:
    return {(frozenset((run.a, run.b)), run.cable): run for run in goal.runs if run.joins}


def _together(goal: Goal, run: Run) -> bool:
    """Both ends are there and belong together in this unit too."""
    return run.a in goal.label and goal.label[run.a] == goal.label.get(run.b)


def _path(links: dict[Point, list[tuple[Point, int]]], start: Point, goal: Point) -> list[int]:
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


def _shield(
    goal: Goal,
    bench: Bench,
    key: str,
    points: tuple[Point, ...],
    making: Making,
    links: dict[Point, list[tuple[Point, int]]],
) -> None:
    """An open wire on a net that must be shielded: shielded wire between the same points."""
    for other, number in links.get(points[0], ()):
        found = bench.runs[number]
        if other == points[1] and found.conductor not in _PLAIN | SHIELDED:
            run = Run(found.a, found.b, "shielded", length=found.length, braid=(goal.ground, OPEN))
            making.reruns.append(Rerun(key, run, [number]))


def _land(
    goal: Goal,
    bench: Bench,
    key: str,
    points: tuple[Point, ...],
    drawn: dict[tuple[frozenset[Point], str], Run],
    making: Making,
    links: dict[Point, list[tuple[Point, int]]],
) -> None:
    """A braid that is open or on another point: landed where the drawing lands it."""
    side, wanted = points
    there = wanted in goal.label or is_net(wanted)
    pairs = [(ends, cable) for ends, cable in drawn if key.startswith(f"braid:{cable}:") and side in ends]
    for ends, cable in pairs:
        run = drawn[ends, cable]
        for number in _path(links, run.a, run.b):
            found = bench.runs[number]
            if found.conductor not in SHIELDED or found.braid is None or UNFOLLOWED in found.braid:
                continue
            if side in (found.a, found.b) and there:
                making.landings.append(Landing(key, number, 0 if found.a == side else 1, wanted))
                return


def _place(
    goal: Goal,
    bench: Bench,
    key: str,
    points: tuple[Point, ...],
    making: Making,
    links: dict[Point, list[tuple[Point, int]]],
) -> None:
    """A lead on the right net and the wrong point: taken over to the point that the drawing demands."""
    where, wanted = points
    if wanted not in goal.label and wanted not in goal.usable:
        return
    run = next((r for r in goal.runs if r.direct and r.a == where and r.b == wanted), None)
    landed = links.get(where, ())
    off = [landed[0][1]] if len(landed) == 1 and not bench.runs[landed[0][1]].braid else []
    if run is not None:
        making.reruns.append(Rerun(key, run, off))
