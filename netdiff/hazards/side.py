"""One circuit as a rule sees it: the wiring, and on demand what a meter would show in each state."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from netdiff.circuit import Circuit, Part, Point
from netdiff.comparison.results import Comparison
from netdiff.electrical.alternating import Alternating
from netdiff.electrical.direct import Operating, measured_supplies, operate
from netdiff.electrical.ohmmeter import Ohmmeter
from netdiff.electrical.supplies import Mains, Supply, mains
from netdiff.nets import Nets, circuit_nets


class Side:
    """The drawing (``drawn`` is None) or the unit as far as it is known, with the drawing beside it."""

    def __init__(self, comparison: Comparison, circuit: Circuit, drawn: Side | None = None) -> None:
        self.comparison = comparison
        self.circuit = circuit
        self.drawn = drawn
        self._ohms: dict[str, Ohmmeter] = {}
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
        """The states with the mains on, in the file's order."""
        return tuple(name for name, state in self.circuit.states.items() if state.power)

    @cached_property
    def supplies(self) -> Sequence[Supply]:
        """Always the drawing's, by which those of the unit are measured."""
        return self.drawn.supplies if self.drawn is not None else measured_supplies(self.circuit)

    def ohms(self, state: str = "rest") -> Ohmmeter:
        if state not in self._ohms:
            self._ohms[state] = Ohmmeter(self.circuit, state)
        return self._ohms[state]

    def direct(self, state: str) -> Operating:
        if state not in self._direct:
            self._direct[state] = operate(self.circuit, state, self.supplies)
        return self._direct[state]

    def alternating(self, state: str) -> Alternating:
        if state not in self._alternating:
            self._alternating[state] = Alternating(self.circuit, state)
        return self._alternating[state]

    def mains(self, state: str) -> Mains:
        """Nodes (of ``ohms(state).nodes``) that stand at the two sides of the mains in a state."""
        return mains(self.circuit, self.ohms(state).nodes)

    def same(self, a: Point, b: Point) -> bool:
        """Whether conductors alone join two points."""
        return self.nets.same(a, b)

    def tied(self, a: Point, b: Point, state: str = "rest") -> bool:
        """Whether conductors and contacts join two points in a state."""
        nodes = self.ohms(state).nodes
        first = nodes.of(a)
        return first is not None and first == nodes.of(b)
