"""A circuit in one state with the power on, ready to be worked out: parts hot, places, the mains, the rectifiers."""

from __future__ import annotations

from functools import cached_property

from netdiff.circuit import Circuit
from netdiff.electrical.elements import elements, has_power
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.supplies import Finder, Supply, mains


class Wired:
    """Made once for all that is asked of a state. Raises KeyError for a state that the circuit does not have."""

    def __init__(self, circuit: Circuit, state: str) -> None:
        self.circuit, self.state = circuit, state
        self.parts = elements(circuit, state, "hot")
        self.nodes = Nodes(circuit, self.parts.joints)
        self.line = mains(circuit, self.nodes)
        self.power = has_power(circuit, state)
        self.ground = self.nodes.of(circuit.ground)

    @cached_property
    def finder(self) -> Finder:
        return Finder(self.circuit, self.nodes, self.parts, self.line)

    @cached_property
    def supplies(self) -> list[Supply]:
        """What its rectifiers give, as their winding and their filter let them."""
        return self.finder.supplies()

    @cached_property
    def near(self) -> dict[int, set[int]]:
        """From each node over resistances to others."""
        near: dict[int, set[int]] = {}
        for one in self.parts.resistances:
            a, b = self.nodes.index[one.a], self.nodes.index[one.b]
            near.setdefault(a, set()).add(b)
            near.setdefault(b, set()).add(a)
        return near
