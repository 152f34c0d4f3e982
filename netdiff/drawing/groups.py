"""Points that are one thing in a picture: they hang together in the drawing and are on one net in the unit."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from netdiff.circuit import Point, Run, is_net, part_of, terminal_of
from netdiff.drawing.layers import Layers
from netdiff.drawing.model import BOTH, FOUND_ONLY, STOCK_ONLY, Box, Presence
from netdiff.nets import Union

DESCRIBED: Final = frozenset({"wire", "bare", "bus", "shielded", "coax", "twisted", "strap"})
"""Conductors that are drawn for themselves. A plain chain and a bolted joint only say: one net."""


@dataclass(slots=True)
class Group:
    """``stock`` and ``found`` are the nets that it belongs to; None where it is in one circuit only."""

    key: int
    stock: int | None
    found: int | None
    terminals: list[tuple[Point, Presence]] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    ties: list[Point] = field(default_factory=list)
    links: int = 0
    """Lines other than to its own terminals."""

    @property
    def node(self) -> str:
        return f"group {self.key}"


class Groups:
    """All groups of a sheet, and the group of every point. ``boxes`` are the parts that are drawn."""

    def __init__(self, layers: Layers, boxes: Mapping[str, Box]) -> None:
        self.layers = layers
        self.boxes = boxes
        self.all: list[Group] = []
        self.of: dict[Point, Group] = {}
        self._stock()
        self._strangers()

    def drawn(self, where: Point) -> bool:
        """A terminal of a box: not a net name, a tie point, or an end in the air."""
        box = self.boxes.get(part_of(where))
        return box is not None and terminal_of(where) in box.terminals

    def node(self, where: Point) -> str:
        """What a line that lands on the point ends at: the terminal itself, or its group."""
        return where if self.drawn(where) else self.of[where].node

    def found(self, where: Point) -> int | None:
        """The found net of a point; of a tie point, which is no terminal to compare, that of what hangs on it."""
        return self.layers.found_net.get(where) if self.drawn(where) else self.of[where].found

    def own(self, group: Group) -> bool:
        """The group is on the found net that its stock net is, or nothing of it is in the unit."""
        return group.stock is not None and group.found in (None, self.layers.own.get(group.stock))

    def _stock(self) -> None:
        layers = self.layers
        for points in pieces(layers.stock_net, layers.stock.runs):
            number = layers.stock_net[points[0]]
            by_found: dict[int | None, list[Point]] = defaultdict(list)
            for where in points:
                if self.drawn(where):
                    by_found[layers.found_net.get(where)].append(where)
            choices = [found for found in by_found if found is not None]
            choices = choices or [layers.found_net[where] for where in points if where in layers.found_net]
            own = layers.own.get(number)
            main = own if own in choices or not choices else max(choices, key=lambda f: (len(by_found[f]), -f))
            split: dict[int | None, Group] = {main: self._new(number, main)}
            split[None] = first = split[main]
            for found, members in by_found.items():
                group = self._part(split, number, found)
                for where in members:
                    group.terminals.append((where, STOCK_ONLY if found is None else BOTH))
                    self.of[where] = group
            for where in points:
                if is_net(where):
                    group = self._part(split, number, layers.found_net.get(where))
                    group.names.append(where)
                    self.of[where] = group
                elif not self.drawn(where):
                    first.ties.append(where)
                    self.of[where] = first

    def _strangers(self) -> None:
        """Points that only the unit has: on the group that a plain chain puts them on, else on one of their own."""
        layers = self.layers
        for points in pieces(layers.found_net, layers.found_runs):
            new = [where for where in points if where not in layers.stock_net]
            if not new:
                continue
            number = layers.found_net[points[0]]
            known = (self.of[where] for where in points if where in self.of)
            hosts = [group for group in known if group.found in (number, None)]
            hosts.sort(key=lambda group: (group.found != number, not group.names, group.key))
            group = hosts[0] if hosts else self._new(None, number)
            for where in new:
                self.of[where] = group
                if is_net(where):
                    group.names.append(where)
                elif self.drawn(where):
                    group.terminals.append((where, FOUND_ONLY))
                else:
                    group.ties.append(where)

    def _part(self, split: dict[int | None, Group], number: int, found: int | None) -> Group:
        if found not in split:
            split[found] = self._new(number, found)
        return split[found]

    def _new(self, stock: int | None, found: int | None) -> Group:
        group = Group(len(self.all), stock, found)
        self.all.append(group)
        return group


def pieces(points: Iterable[Point], runs: Iterable[Run]) -> list[list[Point]]:
    """Points that plain chains, bolted joints and braids hold together."""
    union = Union()
    for where in points:
        union.add(where)
    known = set(union.parent)
    for run in runs:
        if run.conductor not in DESCRIBED and run.a in known and run.b in known:
            union.join(run.a, run.b)
        if run.braid is not None and run.braid[0] in known and run.braid[1] in known:
            union.join(*run.braid)
    return union.groups()
