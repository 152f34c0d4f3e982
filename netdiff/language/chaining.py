"""Plain runs told as chains, as a person writes them: from net to net, through the parts that lie between.

>>> from netdiff.circuit import Kind, Lug, Part, Run
>>> kind = Kind("resistor", terminals=(Lug("1"), Lug("2")), ends=("1", "2"))
>>> list(chains([Run("b+", "R1.1"), Run("R1.2", "V1.p")], {"R1": Part("R1", kind)}, frozenset({"R1"})))
['b+ -- R1 -- V1.p']
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Final

from netdiff.circuit import Part, Point, Run, is_net, part_of

_LONGEST: Final = 8
"""Points in one chain; a longer one is hard to follow with a probe in the hand."""


def is_plain(run: Run) -> bool:
    """It says nothing but what it joins."""
    return not (run.conductor or run.text or run.direct or run.conditions or run.gaps or run.cable) and (
        run.joins and run.evidence in ("seen", "as-drawn")
    )


def may_be_bare(runs: Iterable[Run], parts: Mapping[str, Part]) -> frozenset[str]:
    """Parts of which each end is used once: where a chain passes one bare, the reader takes its first end first.

    Any other part is passed by the names of its ends, so that nothing has to be chosen.
    """
    used: dict[Point, int] = {}
    for run in runs:
        for where in (run.a, run.b, *(run.braid or ())):
            used[where] = used.get(where, 0) + 1
    return frozenset(
        name
        for name, part in parts.items()
        if part.kind.ends is not None
        and not part.kind.polarised
        and not part.kind.shared
        and all(used.get(f"{name}.{end}") == 1 for end in part.kind.ends)
    )


def chains(runs: Sequence[Run], parts: Mapping[str, Part], bare: Collection[str]) -> Iterator[str]:
    """Chains of these plain runs, each run once. ``bare`` are the parts that need no names of their ends."""
    ends = {
        f"{name}.{end}": f"{name}.{part.kind.ends[1 - i]}"
        for name, part in parts.items()
        if part.kind.ends is not None
        for i, end in enumerate(part.kind.ends)
    }
    landing: dict[Point, list[int]] = {}
    for number, run in enumerate(runs):
        for where in (run.a, run.b):
            landing.setdefault(where, []).append(number)
    told: set[int] = set()

    def onward(where: Point) -> int | None:
        """The one run that goes on from here; None where the chain ends."""
        numbers = landing.get(where, ())
        return next((n for n in numbers if n not in told), None) if len(numbers) <= 2 else None

    def walk(start: Point, number: int) -> list[Point]:
        points = [start]
        while True:
            told.add(number)
            run = runs[number]
            points.append(run.b if run.a == points[-1] else run.a)
            last = points[-1]
            far = ends.get(last)
            if len(points) >= _LONGEST or (far is not None and len(landing[last]) > 1):
                return points
            follow = onward(far if far is not None else last)
            if follow is None:
                return points
            if far is not None:
                if len(landing[far]) > 1:
                    return points
                points.append(far)
            number = follow

    def rank(where: Point) -> int:
        """Where a chain begins best: at a net, at a terminal that no chain passes."""
        if len(landing[where]) == 2 or where in ends:
            return 2
        return 0 if is_net(where) else 1

    # First from nets and from terminals that no chain passes, then what goes round in a circle.
    for only_fixed in (True, False):
        for number, run in enumerate(runs):
            if number in told:
                continue
            start = min((run.a, run.b), key=rank)
            if only_fixed and rank(start) > 1:
                continue
            yield _told(walk(start, number), ends, parts, bare)


def _told(points: list[Point], ends: Mapping[Point, Point], parts: Mapping[str, Part], bare: Collection[str]) -> str:
    """The chain, in that direction in which it passes more parts from their first end to the second."""
    if len(points) == 2 and is_net(points[0]):
        points = points[::-1]  # a lead is on a net, rather than a net on a lead
    ahead, back = (_words(way, ends, parts, bare) for way in (points, points[::-1]))
    first = ahead if sum("/" in word for word in ahead) <= sum("/" in word for word in back) else back
    return " -- ".join(first)


def _words(
    points: list[Point], ends: Mapping[Point, Point], parts: Mapping[str, Part], bare: Collection[str]
) -> list[str]:
    out: list[str] = []
    index = 0
    while index < len(points):
        where = points[index]
        name = part_of(where)
        inside = index > 0 and index + 2 < len(points)
        if inside and name and ends.get(where) == points[index + 1]:
            pair = parts[name].kind.ends
            entry, leaving = (point.partition(".")[2] for point in points[index : index + 2])
            out.append(name if name in bare and pair == (entry, leaving) else f"{name}.{entry}/{leaving}")
            index += 2
        else:
            out.append(where)
            index += 1
    return out
