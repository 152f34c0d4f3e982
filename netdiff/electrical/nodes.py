"""The places of a circuit between which resistance lies: what conductors, closed contacts and joints inside unite."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Circuit, Point
from netdiff.nets import Union, circuit_points, joints


class Nodes:
    """Every point of a circuit with the number of its node. A point that the circuit does not have has none."""

    def __init__(self, circuit: Circuit, joined: Iterable[tuple[Point, Point]]) -> None:
        union = Union()
        union.add(circuit.ground)
        for where in circuit_points(circuit):
            union.add(where)
        for a, b in joints(circuit.runs):
            union.join(a, b)
        for winding in circuit.windings:
            for terminal in winding.terminals:
                union.add(f"{winding.part}.{terminal}")
        for a, b in joined:
            union.join(a, b)
        self.members = union.groups()
        self.index: dict[Point, int] = {where: number for number, net in enumerate(self.members) for where in net}

    def __len__(self) -> int:
        return len(self.members)

    def of(self, where: Point) -> int | None:
        return self.index.get(where)
