"""The unit on the bench while the plan is carried out: parts and runs that change step by step.

Runs are known by number, so that the same run can be spoken of before and after its braid was lifted.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from netdiff.circuit import OPEN, UNFOLLOWED, Part, Point, Run, part_of
from netdiff.worklist.steps import ends


class Strand(NamedTuple):
    """One conductor between two real points: a run's core, or its braid."""

    a: Point
    b: Point
    run: int
    braid: bool = False


def strands(number: int, run: Run) -> Iterator[Strand]:
    if run.joins:
        yield Strand(run.a, run.b, number)
    if run.braid is not None and not {OPEN, UNFOLLOWED} & set(run.braid):
        yield Strand(*run.braid, number, True)


class Bench:
    """``at`` gives the numbers of the runs that land on a point."""

    def __init__(self, parts: Iterable[Part], runs: Iterable[Run]) -> None:
        self.parts: dict[str, Part] = {part.designator: part for part in parts}
        self.runs: dict[int, Run] = {}
        self.at: dict[Point, dict[int, None]] = {}
        self.unseen: dict[Point, list[Point]] = {}
        """Connections that nobody looked at, taken as drawn: no run, and yet a meter may find them."""
        self._next = 0
        for run in runs:
            self.put(run)

    def put(self, run: Run) -> int:
        number = self._next
        self._next += 1
        self.set(number, run)
        return number

    def set(self, number: int, run: Run) -> None:
        """Put a run on under a number, in place of what had that number."""
        if number in self.runs:
            self.take(number)
        self.runs[number] = run
        for end in ends(run):
            self.at.setdefault(end, {})[number] = None

    def take(self, number: int) -> Run:
        run = self.runs.pop(number)
        for end in ends(run):
            self.at[end].pop(number, None)
        return run

    def strands(self) -> Iterator[Strand]:
        for number, run in self.runs.items():
            yield from strands(number, run)

    def landing(self, where: Point) -> list[int]:
        return list(self.at.get(where, ()))

    def of_part(self, name: str) -> list[int]:
        """Runs that land on the part, in the order in which they were put on."""
        part = self.parts.get(name)
        terminals = [f"{name}.{lug.name}" for lug in part.kind.terminals] if part else []
        found = {number for where in terminals for number in self.at.get(where, ())}
        if part is None or part.kind.any_terminal:
            prefix = f"{name}."
            found |= {n for where, numbers in self.at.items() if where.startswith(prefix) for n in numbers}
        return sorted(found)

    def cores_of(self, name: str) -> list[int]:
        """Runs of which the core ends on the part."""
        return [n for n in self.of_part(name) if name in (part_of(self.runs[n].a), part_of(self.runs[n].b))]

    def rebraided(self, braids: Mapping[tuple[int, int], Point]) -> dict[int, Run]:
        """Runs as they are with ends of their braids (run, end 0 or 1) put elsewhere, where that changes them."""
        out: dict[int, Run] = {}
        for (number, end), where in braids.items():
            run = out.get(number) or self.runs.get(number)
            if run is None or run.braid is None:
                continue
            c, d = run.braid
            out[number] = replace(run, braid=(where, d) if end == 0 else (c, where))
        return {number: run for number, run in out.items() if run != self.runs[number]}

    def neighbours(self, where: Point) -> Iterator[Point]:
        """Points to which a conductor goes directly from here."""
        for number in self.at.get(where, ()):
            for strand in strands(number, self.runs[number]):
                if strand.a == where:
                    yield strand.b
                elif strand.b == where:
                    yield strand.a
        yield from self.unseen.get(where, ())


@lru_cache(maxsize=100_000)
def natural(name: str) -> tuple[tuple[int, str], ...]:
    """Sort key that puts R2 before R10 and stock parts before foreign ones.

    >>> sorted(["R10.1", "?R1.1", "R2.1"], key=natural)
    ['R2.1', 'R10.1', '?R1.1']
    """
    foreign = (1 if name.startswith("?") else 0, "")
    pieces = re.findall(r"\d+|\D+", name.lstrip("?"))
    return (foreign, *((int(piece), "") if piece.isdigit() else (0, piece) for piece in pieces), (0, name))
