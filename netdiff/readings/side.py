"""One circuit as a meter sees it: the wiring, and on demand what a meter would show in each state."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from netdiff.circuit import Circuit, Part, Point
from netdiff.comparison.merged import as_found, scene_of
from netdiff.comparison.results import Comparison
from netdiff.comparison.scene import Scene
from netdiff.electrical.alternating import Alternating
from netdiff.electrical.direct import measured_supplies, operate
from netdiff.electrical.elements import POWERED
from netdiff.electrical.ohmmeter import Ohmmeter
from netdiff.electrical.resistive import Network
from netdiff.electrical.solved import Feed, Operating
from netdiff.electrical.supplies import Mains, Supply
from netdiff.electrical.wired import Wired
from netdiff.nets import Nets, circuit_nets


class Side:
    """The drawing (``drawn`` is None) or the unit as far as it is known, with the drawing beside it."""

    def __init__(
        self,
        comparison: Comparison,
        circuit: Circuit,
        drawn: Side | None = None,
        alias: Mapping[Point, Point] | None = None,
    ) -> None:
        self.comparison = comparison
        self.circuit = circuit
        self.drawn = drawn
        self.alias: Mapping[Point, Point] = alias or {}
        """The drawing's name of a point that the found file calls otherwise."""
        self._ohms: dict[str, Ohmmeter] = {}
        self._wired: dict[str, Wired] = {}
        self._direct: dict[str, Operating] = {}
        self._alternating: dict[str, Alternating] = {}

    @property
    def stock(self) -> Circuit:
        """The drawing, whichever side this is."""
        return self.comparison.stock

    @property
    def parts(self) -> dict[str, Part]:
        return dict(self.circuit.parts)

    @cached_property
    def nets(self) -> Nets:
        """What conductors join, without contacts."""
        return circuit_nets(self.circuit)

    @cached_property
    def powered(self) -> tuple[str, ...]:
        """The states with the mains on, in the file's order; where it names none, all at rest and the mains on."""
        return tuple(name for name, state in self.circuit.states.items() if state.power) or (POWERED,)

    @cached_property
    def anyhow(self) -> Network:
        """What any position of any contact may join, over any resistance; by the nodes of ``nets``."""
        edges = [(self.nets.index[one.a], self.nets.index[one.b], 1.0) for one in self.ohms().elements.resistances]
        for name, part in self.circuit.parts.items():
            pairs = [(c.a, c.b) for c in part.kind.contacts] + [(g[0], g[1]) for g in part.kind.inside if len(g) > 1]
            pairs += [("1", "2")] if part.kind.name == "fuse" else []
            edges += [(self.nets.index[f"{name}.{a}"], self.nets.index[f"{name}.{b}"], 1.0) for a, b in pairs]
        return Network(len(self.nets.members), edges)

    def can_reach(self, a: Point, b: Point = "") -> bool:
        """Whether a direct current can get from one point to another in any position of the contacts."""
        first, second = self.nets.index.get(a), self.nets.index.get(b or self.circuit.ground)
        return first is not None and second is not None and self.anyhow.joined(first, second)

    @cached_property
    def supplies(self) -> Sequence[Supply]:
        """Always the drawing's, by which those of the unit are measured."""
        return self.drawn.supplies if self.drawn is not None else measured_supplies(self.circuit, self.wired)

    def ohms(self, state: str = "rest") -> Ohmmeter:
        if state not in self._ohms:
            self._ohms[state] = Ohmmeter(self.circuit, state)
        return self._ohms[state]

    def wired(self, state: str) -> Wired:
        if state not in self._wired:
            self._wired[state] = Wired(self.circuit, state)
        return self._wired[state]

    def direct(self, state: str) -> Operating:
        if state not in self._direct:
            self._direct[state] = operate(self.wired(state), state, self.supplies)
        return self._direct[state]

    def feeds_beside_drawn(self) -> Iterator[tuple[str, Feed, Feed]]:
        """Each supply that works in a state on the drawing and here: the state, what it gives there, and here."""
        if self.drawn is None:
            return
        for state in self.powered:
            before = {feed.supply.key: feed for feed in self.drawn.direct(state).feeds}
            for feed in self.direct(state).feeds:
                was = before.get(feed.supply.key)
                if was is not None:
                    yield state, was, feed

    def alternating(self, state: str) -> Alternating:
        if state not in self._alternating:
            self._alternating[state] = Alternating(self.wired(state), state)
        return self._alternating[state]

    def mains(self, state: str) -> Mains:
        """Nodes (of ``wired(state).nodes``) that stand at the two sides of the mains in a state."""
        return self.wired(state).line

    def same(self, a: Point, b: Point) -> bool:
        """Whether conductors alone join two points."""
        return self.nets.same(a, b)

    def tied(self, a: Point, b: Point, state: str = "rest") -> bool:
        """Whether conductors and contacts join two points in a state."""
        nodes = self.ohms(state).nodes
        first = nodes.of(a)
        return first is not None and first == nodes.of(b)


def sides(comparison: Comparison, scene: Scene | None = None) -> tuple[Side, Side]:
    """The drawing of a comparison, and the unit as far as it is known with the drawing beside it."""
    scene = scene or scene_of(comparison)
    drawn = Side(comparison, comparison.stock)
    return drawn, Side(comparison, as_found(comparison, scene), drawn, scene.alignment.alias)
