"""Series and parallel networks of resistors, capacitors or coils, and what single part they amount to.

>>> pair = Network.series([Network.leaf("R1", "resistor", 10e3, {"W": 1.0}),
...                        Network.leaf("?R9", "resistor", 12e3, {"W": 1.0})])
>>> pair.value, round(pair.rating("W"), 3), pair.words
(22000.0, 1.833, 'R1 and ?R9 in series')
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

FAMILIES = ("resistor", "capacitor", "inductor")


@dataclass(frozen=True, slots=True)
class Network:
    """A part, or networks in series or in parallel. ``value`` in ohms, farads or henries; None where one is unknown."""

    how: str
    """``part``, ``series`` or ``parallel``."""
    family: str
    name: str = ""
    own: float | None = None
    ratings: tuple[tuple[str, float], ...] = ()
    branches: tuple[Network, ...] = ()

    @classmethod
    def leaf(cls, name: str, family: str, value: float | None, ratings: Mapping[str, float]) -> Network:
        return cls("part", family, name, value, tuple(sorted(ratings.items())))

    @classmethod
    def series(cls, branches: Iterable[Network]) -> Network:
        return cls._combine("series", branches)

    @classmethod
    def parallel(cls, branches: Iterable[Network]) -> Network:
        return cls._combine("parallel", branches)

    @classmethod
    def _combine(cls, how: str, branches: Iterable[Network]) -> Network:
        flat: list[Network] = []
        for branch in branches:
            flat.extend(branch.branches if branch.how == how else [branch])
        return cls(how, flat[0].family, branches=tuple(flat))

    @property
    def adds(self) -> bool:
        """Values add up: resistances and inductances in series, capacitances in parallel."""
        return (self.how == "series") != (self.family == "capacitor")

    @property
    def value(self) -> float | None:
        if self.how == "part":
            return self.own
        values = [branch.value for branch in self.branches]
        known = [v for v in values if v]
        if len(known) != len(values):
            return None
        return sum(known) if self.adds else 1 / sum(1 / v for v in known)

    def share(self, branch: Network, quantity: str) -> float | None:
        """The part of the whole's volts or watts that one branch takes (d.c. for resistors, charge for capacitors)."""
        whole, mine = self.value, branch.value
        if not whole or not mine:
            return None
        if quantity == "V" and self.how == "parallel":
            return 1.0
        if quantity == "W" and self.family != "resistor":
            return None
        return mine / whole if self.adds else whole / mine

    def rating(self, quantity: str) -> float | None:
        """What the whole may carry (``W`` or ``V``) before the first of its parts is at its own rating."""
        if self.how == "part":
            return dict(self.ratings).get(quantity)
        least: float | None = None
        for branch in self.branches:
            rated, share = branch.rating(quantity), self.share(branch, quantity)
            if rated is None or share is None:
                return None
            can = rated / share
            least = can if least is None else min(least, can)
        return least

    @property
    def leaves(self) -> tuple[Network, ...]:
        return (self,) if self.how == "part" else tuple(leaf for branch in self.branches for leaf in branch.leaves)

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(leaf.name for leaf in self.leaves)

    @property
    def words(self) -> str:
        return self.say({})

    def say(self, called: Mapping[str, str]) -> str:
        """In words, each part by the name that ``called`` gives it, else its own."""
        if self.how == "part":
            return called.get(self.name, self.name)
        inner = [b.say(called) if b.how == "part" else f"({b.say(called)})" for b in self.branches]
        return f"{', '.join(inner[:-1])} and {inner[-1]} in {self.how}"


@dataclass(frozen=True, slots=True)
class Edge:
    """A network between two found nets."""

    a: int
    b: int
    network: Network
    inner: tuple[int, ...] = ()
    """Found nets that lie inside the network."""


def reduce(edges: Iterable[Edge], inside: Iterable[int]) -> list[Edge]:
    """Series-parallel reduction: ``inside`` are the nets on which nothing but two of these parts lands.

    A net inside stays inside while parallel parts on it are merged, so it may hold more than two
    ends at first.
    """
    alive: dict[int, Edge] = dict(enumerate(edges))
    at: dict[int, set[int]] = defaultdict(set)
    for number, edge in alive.items():
        at[edge.a].add(number)
        at[edge.b].add(number)
    counter = len(alive)
    inner = set(inside)
    todo = list(dict.fromkeys(at))
    while todo:
        node = todo.pop()
        merged = _merge_parallel(node, alive, at, counter)
        if merged is not None:
            counter = merged
            todo += [node, *{e.b if e.a == node else e.a for e in (alive[n] for n in at[node])}]
            continue
        here = sorted(at[node])
        if node in inner and len(here) == 2 and all(alive[n].a != alive[n].b for n in here):
            first, second = (alive.pop(n) for n in here)
            if first.network.family != second.network.family:
                alive[here[0]], alive[here[1]] = first, second
                continue
            for n, edge in zip(here, (first, second), strict=True):
                at[edge.a].discard(n)
                at[edge.b].discard(n)
            a = first.b if first.a == node else first.a
            b = second.b if second.a == node else second.a
            alive[counter] = Edge(
                a, b, Network.series([first.network, second.network]), (*first.inner, *second.inner, node)
            )
            at[a].add(counter)
            at[b].add(counter)
            counter += 1
            todo += [a, b]
    return list(alive.values())


def _merge_parallel(node: int, alive: dict[int, Edge], at: dict[int, set[int]], counter: int) -> int | None:
    by_far: dict[tuple[int, str], list[int]] = defaultdict(list)
    for number in sorted(at[node]):
        edge = alive[number]
        if edge.a != edge.b:
            by_far[(edge.b if edge.a == node else edge.a), edge.network.family].append(number)
    for (far, _), numbers in by_far.items():
        if len(numbers) > 1:
            edges = [alive.pop(n) for n in numbers]
            at[node].difference_update(numbers)
            at[far].difference_update(numbers)
            inner = tuple(net for edge in edges for net in edge.inner)
            alive[counter] = Edge(node, far, Network.parallel(edge.network for edge in edges), inner)
            at[node].add(counter)
            at[far].add(counter)
            return counter + 1
    return None
