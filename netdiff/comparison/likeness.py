"""How much stock nets and found nets look alike, and what an alignment of terminals holds."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from netdiff.circuit import Point, Swap
from netdiff.nets import Nets

Pair = tuple[int, int]
"""A stock net and a found net."""


@dataclass(slots=True)
class Alignment:
    """``alias`` maps a found terminal to the stock terminal it stands for, where the names differ."""

    alias: dict[Point, Point] = field(default_factory=dict)
    same: dict[str, str] = field(default_factory=dict)
    """Unidentified part -> the stock part it is."""
    alternatives: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Unidentified part -> all stock parts that it could equally well be, the chosen one first."""
    guessed: bool = False
    """Some part was identified although its value differs, or not all of it sits where it belongs."""
    reordered: list[tuple[str, str]] = field(default_factory=list)
    """Parts in series found in exchanged order."""
    turned: list[tuple[str, Swap]] = field(default_factory=list)
    """Interchangeable groups of terminals (halves of a tube, poles of a switch) found exchanged."""

    def __call__(self, where: Point) -> Point:
        return self.alias.get(where, where)


class Weights:
    """How strongly each stock net and each found net look like one another."""

    def __init__(self, stock: Nets, found: Nets) -> None:
        self.stock, self.found = stock.index, found.index
        self.weight: dict[Pair, float] = defaultdict(float)

    def add(self, drawn: Point, seen: Point, amount: float) -> None:
        s, f = self.stock.get(drawn), self.found.get(seen)
        if s is not None and f is not None:
            self.weight[s, f] += amount

    def get(self, drawn: Point, seen: Point) -> float:
        s, f = self.stock.get(drawn), self.found.get(seen)
        return self.weight.get((s, f), 0.0) if s is not None and f is not None else 0.0


def best_match(weights: Weights) -> Mapping[int, int]:
    """Found net -> the stock net it looks most like."""
    best: dict[int, tuple[float, int]] = {}
    for (s, f), amount in weights.weight.items():
        if amount > 1e-9 and (f not in best or (amount, -s) > (best[f][0], -best[f][1])):
            best[f] = (amount, s)
    return {f: s for f, (_, s) in best.items()}


def best_matches(weights: Weights) -> Mapping[int, frozenset[int]]:
    """Found net -> the stock nets that it looks most like, all that are equally good."""
    most: dict[int, float] = {}
    for (_, f), amount in weights.weight.items():
        if amount > most.get(f, 1e-9):
            most[f] = amount
    best: dict[int, set[int]] = defaultdict(set)
    for (s, f), amount in weights.weight.items():
        if f in most and amount > most[f] - 1e-9:
            best[f].add(s)
    return {f: frozenset(nets) for f, nets in best.items()}
