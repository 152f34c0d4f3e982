"""A circuit solved for direct current: nodal analysis, with bounds of first order.

The network is eliminated by ``resistive``, so that values of any size beside each other keep their digits.

Bounds are the sum over all parts of how far each one's tolerance moves the result, all at their worst at once. The
network's adjoint gives every such slope from one solution (S. W. Director and R. A. Rohrer, IEEE Trans. CT-16 (1969)
318).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import TYPE_CHECKING, Any, NamedTuple

from netdiff.circuit import Circuit, Load, Point
from netdiff.electrical.elements import Elements, Resistance
from netdiff.electrical.interval import Interval
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.resistive import Network, Solver
from netdiff.electrical.supplies import Supply, rules

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAK = 1e-18
"""Siemens from every node to ground, so that a floating part has a solution: less than any insulation lets through,
and enough that rounding does not lift it by more than a meter can tell. What it decides is told as unknown."""

LEAST = 1e-9
"""Ohms. A resistance of nothing is a joint; one of less than this counts as this."""

NO_VOLTS = 1e-6
"""Less is none: what the arithmetic leaves over."""


class Branch(NamedTuple):
    """A source of ``volts`` behind ``ohms``, its positive end at node ``a``."""

    a: int
    b: int
    volts: float
    ohms: float
    name: str


@dataclass(frozen=True, slots=True)
class Feed:
    """What a supply gives in a state."""

    supply: Supply
    volts: float
    """At its output, against its return."""
    amps: float


class Stress(NamedTuple):
    """What a part bears: volts, amperes, watts, without signs."""

    volts: float
    amps: float
    watts: float


class Operating:
    """A solved circuit. Made by ``operate``."""

    def __init__(
        self,
        circuit: Circuit,
        state: str,
        nodes: Nodes,
        parts: Elements,
        loads: Sequence[Load],
        branches: Sequence[Branch],
    ) -> None:
        import numpy as np

        self.circuit, self.state, self.nodes = circuit, state, nodes
        self.resistances = parts.resistances
        self.loads, self.branches = tuple(loads), tuple(branches)
        index = nodes.index
        self._a = np.array([index[one.a] for one in self.resistances], dtype=int)
        self._b = np.array([index[one.b] for one in self.resistances], dtype=int)
        self._g = np.array([1.0 / max(one.ohms.nominal, LEAST) for one in self.resistances])
        self._ground = nodes.of(circuit.ground)
        current = np.zeros(len(nodes))
        fed_a = np.array([one.a for one in branches], dtype=int)
        fed_b = np.array([one.b for one in branches], dtype=int)
        for one in branches:
            current[one.a] += one.volts / one.ohms
            current[one.b] -= one.volts / one.ohms
        for load in loads:
            current[index[load.a]] -= load.amps
            current[index[load.b]] += load.amps
        self._solve = self._factored()
        self._height = self._solve(current)
        self._tied = self._reached(fed_a, fed_b)
        self.feeds: tuple[Feed, ...] = ()
        self.trouble: tuple[str, ...] = ()
        """What would happen if this were switched on: a supply into a short, two supplies joined."""

    def _factored(self) -> Solver:
        edges = [(int(a), int(b), float(1.0 / g)) for a, b, g in zip(self._a, self._b, self._g, strict=True)]
        edges += [(one.a, one.b, one.ohms) for one in self.branches]
        if self._ground is not None:
            edges += [(node, self._ground, 1.0 / LEAK) for node in range(len(self.nodes)) if node != self._ground]
        return Network(len(self.nodes), edges, self._ground).solver()

    def _reached(self, a: NDArray[Any], b: NDArray[Any]) -> NDArray[Any]:
        """The island of every node: what resistances and sources join. Loads alone join nothing."""
        import numpy as np
        from scipy.sparse import coo_matrix
        from scipy.sparse.csgraph import connected_components

        one, other = np.concatenate([self._a, a]), np.concatenate([self._b, b])
        size = len(self.nodes)
        graph = coo_matrix((np.ones(len(one)), (one, other)), shape=(size, size))
        labels: NDArray[Any] = connected_components(graph, directed=False)[1]
        return labels

    def tied(self, a: int, b: int) -> bool:
        """Whether resistances and sources hold two nodes against each other."""
        return bool(self._tied[a] == self._tied[b])

    # --- what a person asks

    def volts(self, a: Point, b: Point = "") -> Interval | None:
        """Volts from ``a`` to ``b`` (ground where none is named); None where nothing holds one against the other."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or self._tied[first] != self._tied[second]:
            return None
        if first == second:
            return Interval(0.0, 0.0, 0.0)
        return self._bounded(first, second)[0]

    def volts_nominal(self, a: Point, b: Point = "") -> float | None:
        """The same without its bounds, which take a solution each."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or self._tied[first] != self._tied[second]:
            return None
        volts = self.height(first) - self.height(second)
        return volts if abs(volts) >= NO_VOLTS else 0.0

    def behind(self, a: Point, b: Point = "") -> float:
        """The resistance behind two points, ohms: how far their voltage falls for a current that is drawn there.
        Infinite where nothing holds one against the other."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or not self.tied(first, second):
            return inf
        return self._bounded(first, second)[1] if first != second else 0.0

    def shown(self, a: Point, b: Point, meter: float) -> Interval | None:
        """The same as a meter of ``meter`` ohms shows it: it draws its own current through what lies behind."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or self._tied[first] != self._tied[second]:
            return None
        if first == second:
            return Interval(0.0, 0.0, 0.0)
        volts, behind = self._bounded(first, second)
        share = meter / (meter + behind)
        return Interval(*(one * share for one in volts))

    def _bounded(self, a: int, b: int) -> tuple[Interval, float]:
        """Volts with bounds, and the resistance behind them."""
        import numpy as np

        probe = np.zeros(len(self.nodes))
        probe[a] += 1.0
        probe[b] -= 1.0
        slope = self._solve(probe)
        volts = float(self._height[a] - self._height[b])
        behind = float(slope[a] - slope[b])
        across = self._height[self._a] - self._height[self._b]
        seen = slope[self._a] - slope[self._b]
        total = float((np.abs(seen * across) * self._g * self._spread).sum())
        spread = rules()["spread"]
        for one in self.branches:
            total += abs((slope[one.a] - slope[one.b]) / one.ohms * one.volts) * spread["supply"]["value"]
        index = self.nodes.index
        for load in self.loads:
            total += abs((slope[index[load.a]] - slope[index[load.b]]) * load.amps) * spread["load"]["value"]
        total = float(total)
        if abs(volts) < NO_VOLTS:
            return Interval(0.0, 0.0, 0.0), behind
        return Interval(volts - total, volts, volts + total), behind

    def depends(self, a: Point, b: Point = "") -> dict[str, float]:
        """How far a voltage hangs on each part: volts for a change of its resistance, or of its supply, by the whole
        of itself, were the slope to hold. Rectifiers stand for their supplies."""
        first, second = self.nodes.of(a), self.nodes.of(b or self.circuit.ground)
        if first is None or second is None or self._tied[first] != self._tied[second]:
            return {}
        import numpy as np

        probe = np.zeros(len(self.nodes))
        probe[first] += 1.0
        probe[second] -= 1.0
        slope = self._solve(probe)
        index = self.nodes.index
        out: dict[str, float] = {}
        for one, g in zip(self.resistances, self._g, strict=True):
            x, y = index[one.a], index[one.b]
            volts = abs(float((slope[x] - slope[y]) * (self._height[x] - self._height[y]) * g))
            out[one.part] = out.get(one.part, 0.0) + volts
        of = {feed.supply.key: feed.supply.rectifiers for feed in self.feeds}
        for branch in self.branches:
            volts = abs(float((slope[branch.a] - slope[branch.b]) / branch.ohms * branch.volts))
            for name in of.get(branch.name, (branch.name,)):
                out[name] = out.get(name, 0.0) + volts
        return out

    @cached_property
    def _spread(self) -> NDArray[Any]:
        """Of every resistance the fraction by which it may be off."""
        import numpy as np

        def off(one: Resistance) -> float:
            low, nominal, high = one.ohms
            return max(high - nominal, nominal - low) / nominal if nominal and high < 1e18 else 1.0

        return np.array([min(1.0, off(one)) for one in self.resistances])

    def across(self, designator: str) -> Interval | None:
        """Volts across a part that has two ends, first end against second."""
        part = self.circuit.parts.get(designator)
        if part is None or part.kind.ends is None:
            return None
        a, b = (f"{designator}.{end}" for end in part.kind.ends)
        return self.volts(a, b)

    def amps(self, designator: str) -> Interval | None:
        """Amperes through a part, from its first terminal on; of a tapped one the largest piece's."""
        best: Interval | None = None
        for one in self._pieces(designator):
            volts = self.volts(one.a, one.b)
            if volts is None:
                continue
            ohms = max(one.ohms.nominal, LEAST)
            # The part's own tolerance is in the volts already: the current's bounds go with them.
            amps = Interval(*(v / ohms for v in volts))
            if best is None or abs(amps.nominal) > abs(best.nominal):
                best = amps
        return best

    def watts(self, designator: str) -> Interval | None:
        """Watts in the part's own resistances; None where it has none that is fed."""
        total: list[float] | None = None
        for one in self._pieces(designator):
            volts = self.volts(one.a, one.b)
            if volts is None:
                continue
            total = total or [0.0, 0.0, 0.0]
            ohms = max(one.ohms.nominal, LEAST)
            inside = 0.0 if volts.low <= 0 <= volts.high else min(abs(volts.low), abs(volts.high))
            for at, v in enumerate((inside, volts.nominal, max(abs(volts.low), abs(volts.high)))):
                total[at] += v * v / ohms
        return Interval(*total) if total else None

    def stresses(self) -> dict[str, Stress]:
        """Nominal volts, amperes and watts of every part that has a resistance and is fed, all at once."""
        out: dict[str, Stress] = {}
        index = self.nodes.index
        for one in self.resistances:
            volts = self.height(index[one.a]) - self.height(index[one.b])
            ohms = max(one.ohms.nominal, LEAST)
            amps, watts = abs(volts) / ohms, volts * volts / ohms
            was = out.get(one.part, Stress(0.0, 0.0, 0.0))
            out[one.part] = Stress(was.volts + abs(volts), max(was.amps, amps), was.watts + watts)
        return out

    def _pieces(self, designator: str) -> list[Resistance]:
        return [one for one in self.resistances if one.part == designator]

    def height(self, node: int) -> float:
        """The bare solution of a node against ground."""
        return float(self._height[node])
