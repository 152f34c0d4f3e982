"""What the work opens and closes again: which joins make good for which cuts and removals.

Two points that belong together and were together as found may lose each other on the way: the
conductor between them ran over a part that goes, or over a place where it tied other nets. The
joins that bring them together again belong to the same hold as what parted them.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from netdiff.circuit import Point
from netdiff.worklist.bench import natural, strands
from netdiff.worklist.draft import Draft

Link = tuple[Point, int]
"""A neighbour, and the number of what leads there."""


@dataclass(frozen=True, slots=True)
class Opening:
    joins: frozenset[int]
    openers: frozenset[int]


def openings(draft: Draft) -> list[Opening]:
    """Near linear in the number of points, times the number of openings."""
    groups: dict[tuple[int, Point], dict[Point, Point]] = defaultdict(dict)
    for where in sorted(draft.goal.block_of, key=natural) if draft.intents else ():
        net = draft.goal.label.get(where)
        if net is not None:
            groups[net, draft.found.find(where)].setdefault(draft.piece.get(where, where), where)
    torn = [list(pieces.values()) for pieces in groups.values() if len(pieces) > 1]
    if not torn:
        return []
    leads, made = _made(draft, braids=False), _made(draft, braids=True)
    loosened = {number: place for place, intent in enumerate(draft.intents) for number in intent.off}
    lifted = {number: place for place, intent in enumerate(draft.intents) for number, _ in intent.braids}

    def as_found(where: Point) -> Iterable[Link]:
        for number in draft.bench.landing(where):
            for strand in strands(number, draft.bench.runs[number]):
                if where in (strand.a, strand.b):
                    place = loosened.get(number, lifted.get(number, -1) if strand.braid else -1)
                    yield (strand.b if strand.a == where else strand.a), place
        for other in draft.bench.unseen.get(where, ()):
            yield other, -1

    out = []
    for first, *others in torn:
        for other in others:
            here, there = (draft.piece.get(where, where) for where in (first, other))
            joins = _way(here, there, lambda w: leads.get(w, ())) or _way(here, there, lambda w: made.get(w, ()))
            openers = _way(first, other, as_found)
            out.append(Opening(frozenset(joins), frozenset(openers)))
    return out


def _made(draft: Draft, *, braids: bool) -> dict[Point, list[Link]]:
    """Pieces, and the intents that put a conductor between them; a braid only counts where nothing else does it."""
    made: dict[Point, list[Link]] = defaultdict(list)
    for place, intent in enumerate(draft.intents):
        for run in [*intent.on, *draft.bench.rebraided(intent.braids).values()]:
            for strand in strands(0, run):
                if strand.braid and not braids:
                    continue
                a, b = (draft.piece.get(end, end) for end in (strand.a, strand.b))
                made[a].append((b, place))
                made[b].append((a, place))
    return made


def _way(start: Point, goal: Point, links: Callable[[Point], Iterable[Link]]) -> set[int]:
    """The numbers (not negative) on the shortest way; none where there is no way."""
    came: dict[Point, tuple[Point, int]] = {start: (start, -1)}
    queue = deque([start])
    while queue:
        at = queue.popleft()
        if at == goal:
            numbers = set()
            while at != start:
                at, number = came[at]
                numbers.add(number)
            return numbers - {-1}
        for other, number in links(at):
            if other not in came:
                came[other] = (at, number)
                queue.append(other)
    return set()
