"""Which end is meant where a part with interchangeable ends is written bare.

Every bare mention of a part leaves one or two *slots*: the end that is met first in the chain, and
the other one. The certain joins come first (what the chains put together, whatever end it is); then
a mention is decided as soon as one of its slots is on the net of a known end; and only where nothing
in the file decides, the order of writing does, or it is a fault.

>>> joins = [("b+", 0), (1, "V1.g2"), ("V1.g2", 2), (3, "b+")]
>>> mentions = [Mention("R1", 0, 1), Mention("R1", 2, 3)]
>>> choose(mentions, {"R1": ("R1.1", "R1.2")}, joins)[0]
{0: 'R1.1', 1: 'R1.2', 2: 'R1.2', 3: 'R1.1'}
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal, NamedTuple

from netdiff.circuit import Place, Point

Node = Point | int
"""A point, or the number of a slot."""


class Mention(NamedTuple):
    """A bare mention: the slots of a passage, or (``b`` negative) of the one lead that lands somewhere."""

    designator: str
    a: int
    b: int = -1
    place: Place = Place("", 0)
    left: str = ""
    right: str = ""
    """What the file writes on its two sides."""


Reason = Literal["no choice fits", "two circuits fit"]


def choose(
    mentions: Sequence[Mention], ends: Mapping[str, tuple[Point, Point]], joins: Iterable[tuple[Node, Node]]
) -> tuple[dict[int, Point], list[tuple[Mention, Reason]]]:
    """The point of every slot, and the mentions that cannot be decided. Near linear in the number of joins."""
    by_part: dict[str, list[Mention]] = defaultdict(list)
    for mention in mentions:
        by_part[mention.designator].append(mention)
    joins = list(joins)
    written = {node for join in joins for node in join if isinstance(node, str)}
    points: dict[int, Point] = {}
    if all(len(of_part) == 1 and not written & set(ends[name]) for name, of_part in by_part.items()):
        for mention in mentions:
            first, second = ends[mention.designator]
            points[mention.a] = first
            if mention.b >= 0:
                points[mention.b] = second
        return points, []
    chooser = _Chooser(ends, points)
    for a, b in joins:
        chooser.join(a, b)
    return points, chooser.run(by_part, written)


class _Chooser:
    """A union of nodes into nets, and the mentions that wait for news of a net."""

    def __init__(self, ends: Mapping[str, tuple[Point, Point]], points: dict[int, Point]) -> None:
        self.ends = ends
        self.points = points
        self.parent: dict[Node, Node] = {}
        self.size: dict[Node, int] = {}
        self.waiting: dict[Node, list[Mention]] = {}
        self.queue: deque[Mention] = deque()

    def find(self, node: Node) -> Node:
        parent = self.parent
        root = node
        while (above := parent.get(root, root)) != root:
            root = above
        while node != root:
            parent[node], node = root, parent.get(node, node)
        return root

    def join(self, a: Node, b: Node) -> None:
        a, b = self.find(a), self.find(b)
        if a == b:
            return
        if self.size.get(a, 1) < self.size.get(b, 1):
            a, b = b, a
        self.parent[b] = a
        self.size[a] = self.size.get(a, 1) + self.size.get(b, 1)
        # A mention waits at its slots and at the ends of its part: news is in the smaller half.
        moved = self.waiting.pop(b, None)
        if moved:
            self.queue.extend(moved)
            self.waiting.setdefault(a, []).extend(moved)

    def settle(self, mention: Mention, straight: bool) -> None:
        first, second = self.ends[mention.designator]
        if not straight:
            first, second = second, first
        self.points[mention.a] = first
        self.join(mention.a, first)
        if mention.b >= 0:
            self.points[mention.b] = second
            self.join(mention.b, second)

    def evidence(self, mention: Mention) -> tuple[bool, bool]:
        """Whether the net of an end says straight, and whether one says turned round."""
        first, second = (self.find(end) for end in self.ends[mention.designator])
        a = self.find(mention.a)
        straight, turned = a == first, a == second
        if mention.b >= 0:
            b = self.find(mention.b)
            straight, turned = straight or b == second, turned or b == first
        return straight, turned

    def drain(self) -> None:
        while self.queue:
            mention = self.queue.popleft()
            if mention.a in self.points:
                continue
            straight, turned = self.evidence(mention)
            if straight and turned:
                first, second = self.ends[mention.designator]
                if self.find(first) == self.find(second):
                    self.settle(mention, True)
            elif straight or turned:
                self.settle(mention, straight)

    def run(self, by_part: Mapping[str, list[Mention]], written: set[Point]) -> list[tuple[Mention, Reason]]:
        for name, mentions in by_part.items():
            if not written & set(self.ends[name]):
                # No line says which end is which, so the first mention may name them.
                self.settle(next((m for m in mentions if m.b >= 0), mentions[0]), True)
        for name, mentions in by_part.items():
            for mention in mentions:
                if mention.a in self.points:
                    continue
                for node in {self.find(n) for n in (mention.a, mention.b, *self.ends[name]) if n != -1}:
                    self.waiting.setdefault(node, []).append(mention)
                self.queue.append(mention)
        self.drain()
        faults: list[tuple[Mention, Reason]] = []
        for name, mentions in by_part.items():
            self._by_order(name, mentions, written, faults)
        return faults

    def _by_order(
        self, name: str, mentions: list[Mention], written: set[Point], faults: list[tuple[Mention, Reason]]
    ) -> None:
        """Decide what nothing in the file decides, by the order of writing, or note a fault."""
        first, second = self.ends[name]
        passages = sum(1 for mention in mentions if mention.b >= 0)
        for mention in mentions:
            if mention.a in self.points:
                continue
            straight, turned = self.evidence(mention)
            if straight and turned:
                faults.append((mention, "no choice fits"))
            elif mention.b >= 0:
                if passages > 1:
                    faults.append((mention, "two circuits fit"))
            else:
                placed = {self.points[m.a] for m in mentions if m.a in self.points} | (written & {first, second})
                if passages or len(placed) == 2:
                    faults.append((mention, "two circuits fit"))
                turned = first in placed and second not in placed
            self.settle(mention, straight or not turned)
            self.drain()
