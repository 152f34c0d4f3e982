"""Effective voltages of the mains, windings and heaters in a state: all in phase, heaters and lamps hot.

A winding's stated volts are those under its usual load, so that windings count as stiff. Inductive parts and
capacitors carry no heater current worth counting and are left out.
"""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Circuit, Point
from netdiff.electrical.resistive import Network
from netdiff.electrical.supplies import pieces, shorted
from netdiff.electrical.wired import Wired

STIFF = 1e-3
"""Ohms behind a winding's tapping."""


class Alternating:
    """A circuit's a.c. side in a state. Raises KeyError for a state that the circuit does not have."""

    def __init__(self, circuit: Circuit | Wired, state: str) -> None:
        ready = circuit if isinstance(circuit, Wired) else Wired(circuit, state)
        self.circuit = circuit = ready.circuit
        self.nodes, parts, line, finder, power = ready.nodes, ready.parts, ready.line, ready.finder, ready.power
        index = self.nodes.index
        sources: list[tuple[int, int, float]] = []
        self.live: set[str] = set()
        """Transformers whose primary stands across the mains."""
        if power:
            for a, b in ((a, b) for a in sorted(line.hot) for b in sorted(line.cold)):
                sources.append((a, b, line.volts))
                break
            for winding in circuit.windings:
                primary = finder.primary(winding.part)
                if primary is None or winding is primary or not winding.volts or shorted(winding, self.nodes):
                    continue
                a, b = (index[f"{winding.part}.{primary.terminals[end]}"] for end in (0, -1))
                ends = (a in line.hot and b in line.cold) or (a in line.cold and b in line.hot)
                if ends or not (line.hot or line.cold):
                    self.live.add(winding.part)
                    sources += [(index[one], index[other], volts) for one, other, volts in pieces(winding)]
            if not self.live and not line.hot:
                sources += list(self._from_outside())
        wound = {winding.part for winding in circuit.windings if winding.volts}
        edges = [
            (index[one.a], index[one.b], max(one.ohms.nominal, STIFF))
            for one in parts.resistances
            if one.part not in wound and circuit.parts[one.part].kind.family != "inductor"
        ]
        edges += [(a, b, STIFF) for a, b, _ in sources if a != b]
        self._network = Network(len(self.nodes), edges, self.nodes.of(circuit.ground))
        self._height = self._heights(sources)

    def _from_outside(self) -> Iterator[tuple[int, int, float]]:
        """Heater nets that the drawing only declares: fed from another box, against ground."""
        ground = self.nodes.of(self.circuit.ground)
        for name, net in self.circuit.nets.items():
            node = self.nodes.of(name)
            if net.ac and net.volts and node is not None and ground is not None:
                yield node, ground, net.volts

    def _heights(self, sources: list[tuple[int, int, float]]) -> list[float]:
        """Every node's voltage, by the flows that the sources drive through the elimination."""
        count = len(self.nodes)
        current = [0.0] * count
        for a, b, volts in sources:
            if a != b:
                current[a] += volts / STIFF
                current[b] -= volts / STIFF
        return self._network.solve(current)

    def volts(self, a: Point, b: Point = "") -> float | None:
        """Effective volts between two points; None where nothing ties them together."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or not self._network.joined(first, second):
            return None
        return abs(self._height[first] - self._height[second])
