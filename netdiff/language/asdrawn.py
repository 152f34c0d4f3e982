"""`as-drawn`: what was looked at and is as the drawing has it becomes runs of the unit.

A part that is as drawn is on its stock nets: joined to the stock's name for the net, and to those
terminals of it that the file also looked at and puts nowhere else. Where the file keeps terminals
of one stock net apart (somebody put a part between them), the as-drawn part is on the side that
bears the net's name, else on the side that the drawing brings nearest to it.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Final

from netdiff.circuit import OPEN, UNFOLLOWED, Place, Point, Run, is_net, part_of
from netdiff.language.bench import BenchSite
from netdiff.language.joined import Joined

_NAME: Final = 1000
"""A stock name means the same place whatever terminals somebody put on it."""


class AsDrawn:
    """Works out the runs of everything that is as drawn. ``looked`` are the terminals traced otherwise, ``bare`` the
    lugs of which a line says that nothing lands there."""

    def __init__(
        self, site: BenchSite, runs: tuple[Run, ...], looked: frozenset[Point], bare: Mapping[Point, Place]
    ) -> None:
        self.site = site
        self.written = runs
        self.looked = looked
        self.bare = bare
        self.places: dict[Point, Place] = {}
        self.whole: dict[str, Place] = {}
        self.single: set[Point] = set()

    def add(self, points: Iterable[Point], whole: Iterable[str], place: Place) -> None:
        """Terminals that a statement says are as drawn, and the parts of which it says so of all."""
        for designator in whole:
            self.whole.setdefault(designator, place)
        for point in points:
            self.places.setdefault(point, place)
            if part_of(point) not in self.whole:
                self.single.add(point)

    def names(self) -> frozenset[str]:
        return frozenset(self.whole) | self.single

    def runs(self) -> tuple[Run, ...]:
        """The written runs, and those taken over from the drawing."""
        if not self.places:
            return self.written
        for designator, place in self.whole.items():
            self._check_part(designator, place)
        by_net: dict[Point, list[Point]] = {}
        for point in self.places:
            if point in self._stock:
                by_net.setdefault(self._stock.find(point), []).append(point)
        out = list(self.written)
        for net, points in by_net.items():
            out += self._net(self._stock_members[net], points)
        return tuple(out)

    # --- the two circuits

    @cached_property
    def _stock(self) -> Joined:
        return Joined(self.site.stock.runs)

    @cached_property
    def _stock_members(self) -> dict[Point, list[Point]]:
        return self._stock.nets()

    @cached_property
    def _near(self) -> dict[Point, list[Run]]:
        near: dict[Point, list[Run]] = {}
        for run in self.site.stock.runs:
            near.setdefault(run.a, []).append(run)
            near.setdefault(run.b, []).append(run)
        return near

    @cached_property
    def _nets(self) -> Joined:
        return Joined(self.written)

    @cached_property
    def _done(self) -> Joined:
        """The written nets, and what was taken over so far."""
        return Joined(self.written)

    @cached_property
    def _members(self) -> dict[Point, list[Point]]:
        return self._nets.nets()

    @cached_property
    def _described(self) -> set[frozenset[Point]]:
        return {frozenset((run.a, run.b)) for run in self.written if run.conductor}

    @cached_property
    def _votes(self) -> dict[Point, Counter[Point]]:
        """For each written net, how many of its points each stock net has; a net's name outweighs terminals.

        Ends that may as well be called the other way round speak for nothing.
        """
        out: dict[Point, Counter[Point]] = {}
        for net, points in self._members.items():
            votes = out[net] = Counter()
            for point in points:
                if point in self._stock and not self._partner(point):
                    votes[self._stock.find(point)] += _NAME if is_net(point) else 1
        return out

    def _elsewhere(self, point: Point, stock_net: Point) -> bool:
        """The file puts the point in the air, or on a net that is more another one of the drawing than this."""
        if point in self._in_the_air:
            return True
        if point not in self._nets:
            return False
        votes = self._votes[self._nets.find(point)]
        return bool(votes) and votes[stock_net] < max(votes.values())

    def _partner(self, point: Point) -> Point:
        """The other of two interchangeable ends: the file may call the drawing's end 1 its end 2."""
        part = self.site.parts.get(part_of(point))
        if part is None or part.kind.ends is None or part.kind.polarised or part.designator in self.whole:
            return ""
        ends = [f"{part.designator}.{name}" for name in part.kind.ends]
        return ends[1 - ends.index(point)] if point in ends else ""

    # --- one stock net

    def _net(self, members: list[Point], mine: list[Point]) -> list[Run]:
        stock_net = self._stock.find(mine[0])
        place = self.places[mine[0]]
        stay = []
        for point in mine:
            if self._elsewhere(point, stock_net):
                self._contradiction(point, self.places[point])
            else:
                stay.append(point)
        near = set(mine)
        others = [point for point in members if point not in self.places]
        there: list[Point] = []
        away: list[Point] = []
        for point in others:
            known = point in self._nets if is_net(point) else point in self._nets or point in self.looked
            if not known and not is_net(point):
                continue
            if part_of(point) and part_of(point) not in self.site.parts:
                continue
            if not (point in self._nets or is_net(point) or point in self._in_the_air or self._beside(point, near)):
                continue
            if not self._elsewhere(point, stock_net):
                there.append(point)
                continue
            partner = self._partner(point)
            if partner in self._nets and not self._elsewhere(partner, stock_net):
                there.append(partner)
            else:
                away.append(point)
        if self._left_alone(stay, others, away):
            line = self._line_of(away[0])
            says = (
                f"{mine[0]} is as drawn (line {place.line}), but every other terminal of its net is put elsewhere: "
                f"{away[0]} in line {line.line}"
            )
            in_the_air = not self._in_the_air.isdisjoint(away)
            self.site.source.fault(place, says, part_of(mine[0]), elsewhere="" if in_the_air else mine[0])
        core = self._core(stay, there)
        return self._taken(stay, core)

    def _left_alone(self, stay: list[Point], others: list[Point], away: list[Point]) -> bool:
        """What is as drawn is one part, and the file puts every other terminal of its net elsewhere.

        Where the net has a name, that is a place to be at although the rest hangs in the air.
        """
        terminals = [point for point in others if not is_net(point)]
        if not terminals or len({part_of(point) for point in stay}) > 1 or not set(terminals) <= set(away):
            return False
        return len(terminals) == len(others) or not self._in_the_air.issuperset(terminals)

    @cached_property
    def _in_the_air(self) -> set[Point]:
        """Points where the drawing has something and the file says that nothing lands: `at … : open`, or an end in
        the air that no other line puts anywhere."""
        ends: set[Point] = set()
        landed: set[Point] = set()
        for run in self.written:
            if run.conductor != "body":
                (ends if OPEN in (run.a, run.b) else landed).update((run.a, run.b, *(run.braid or ())))
        drawn = (point for point in (ends - landed) | set(self.bare) if point in self._near)
        return {point for point in drawn if any(r.joins and r.conductor != "body" for r in self._near[point])}

    def _beside(self, point: Point, mine: set[Point]) -> bool:
        """The drawing takes the point to one of these, over strip lugs at most.

        A traced terminal that no line connects is taken along by its neighbour that is as drawn, and by
        no other part of a large net: a ground that was cut off must not be hidden by a part elsewhere.
        """
        seen, queue = {point}, [point]
        while queue:
            for run in self._near.get(queue.pop(), ()):
                for other in (run.a, run.b):
                    if other in mine:
                        return True
                    tie = part_of(other).startswith("TB") and other not in self._in_the_air
                    if tie and other not in seen:
                        seen.add(other)
                        queue.append(other)
        return False

    def _core(self, mine: list[Point], there: list[Point]) -> list[Point]:
        """The points that the as-drawn terminals are joined to: all, unless the file keeps some of them apart."""
        groups: dict[Point, list[Point]] = {}
        core: list[Point] = list(mine)
        for point in there:
            if point in self._nets:
                groups.setdefault(self._nets.find(point), []).append(point)
            else:
                core.append(point)
        for point in mine:
            if point in self._nets:
                groups.setdefault(self._nets.find(point), [])
        own = {self._nets.find(point) for point in mine if point in self._nets}
        steps = self._steps(mine)

        def rank(net: Point) -> tuple[bool, bool, int]:
            """Its own nets, then the one with the drawing's name, then the nearest in the drawing."""
            named = any(is_net(point) for point in groups[net])
            return net not in own, not named, min((steps.get(p, len(steps)) for p in groups[net]), default=0)

        held: dict[str, list[Point]] = {}
        for net in sorted(groups, key=rank):
            if not self._kept_apart(net, held):
                core += groups[net]
                for point in self._members[net]:
                    held.setdefault(part_of(point), []).append(point)
        return core

    def _steps(self, mine: list[Point]) -> dict[Point, int]:
        steps = dict.fromkeys(mine, 0)
        queue = deque(mine)
        while queue:
            point = queue.popleft()
            for run in self._near.get(point, ()):
                other = run.b if run.a == point else run.a
                if other not in steps and other not in (OPEN, UNFOLLOWED):
                    steps[other] = steps[point] + 1
                    queue.append(other)
        return steps

    def _kept_apart(self, net: Point, held: dict[str, list[Point]]) -> bool:
        """A part of the unit lies between a written net and others that the drawing has as one with it."""
        for point in self._members[net]:
            for partner in held.get(part_of(point), ()) if part_of(point) else ():
                if not (
                    point in self._stock
                    and partner in self._stock
                    and self._stock.find(point) == self._stock.find(partner)
                ):
                    return True
        return False

    def _taken(self, mine: list[Point], core: list[Point]) -> list[Run]:
        """The drawing's own runs between the points, and a plain join for what they leave apart."""
        out: list[Run] = []
        held = set(core)
        done = self._done
        seen: set[int] = set()
        for point in mine:
            for run in self._near.get(point, ()):
                if id(run) in seen or not run.joins or run.a not in held or run.b not in held:
                    continue
                seen.add(id(run))
                plain = not run.conductor or run.conductor == "body"
                if frozenset((run.a, run.b)) in self._described or (plain and done.find(run.a) == done.find(run.b)):
                    continue
                done.join(run.a, run.b)
                place = self.places.get(run.a) or self.places[run.b]
                out.append(replace(run, braid=self._braid(run), evidence="as-drawn", places=(place,), conditions=()))
        names = [point for point in core if is_net(point)]
        anchor = (names or mine or core or [""])[0]
        for point in core:
            if point != anchor and done.join(anchor, point):
                place = self.places.get(point) or self.places.get(anchor) or self.places[mine[0]]
                out.append(Run(anchor, point, evidence="as-drawn", places=(place,)))
        return out

    def _braid(self, run: Run) -> tuple[Point, Point] | None:
        """The ends of the braid that somebody looked at; the others are unknown."""
        if run.braid is None:
            return None
        a, b = (end if end == OPEN or is_net(end) or self._seen(end) else UNFOLLOWED for end in run.braid)
        return a, b

    def _seen(self, point: Point) -> bool:
        return point in self.looked or point in self.places or point in self._nets

    # --- contradictions

    def _check_part(self, designator: str, place: Place) -> None:
        site = self.site
        drawn = site.stock.parts[designator]
        part = site.parts.get(designator)
        if part is None:
            return
        read = site.read.get(designator)
        if read is None:
            return
        other = part.kind.name != drawn.kind.name or part.kind.type != drawn.kind.type
        if other or part.value != drawn.value or dict(part.ratings) != dict(drawn.ratings):
            line = read["line"].line
            says = f"{designator} is as drawn (line {place.line}), and line {line} reads it otherwise"
            site.source.fault(place, says, designator, f"as-drawn ... but {designator}")

    def _contradiction(self, point: Point, place: Place) -> None:
        line, part = self._line_of(point), part_of(point)
        in_the_air = point in self._in_the_air
        does = f"says that nothing lands on {point}" if in_the_air else f"puts {point} elsewhere"
        says = f"{part} is as drawn (line {place.line}), and line {line.line} {does}"
        self.site.source.fault(place, says, part, f"as-drawn ... but {part}", elsewhere="" if in_the_air else point)

    def _line_of(self, point: Point) -> Place:
        if point in self.bare:
            return self.bare[point]
        for run in self.written:
            if point in (run.a, run.b) and run.places:
                return run.places[0]
        return self.places.get(point) or Place(self.site.source.name, 1)
