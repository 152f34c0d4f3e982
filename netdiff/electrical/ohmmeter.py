"""What an ohmmeter reads between any two points, power off and discharged: low, nominal, high.

A resistance between two points never falls when any resistance of the network rises (Rayleigh's monotonicity law; J.
W. Strutt, Theory of Sound; proof in Doyle and Snell, Random Walks and Electric Networks, 1984). So the network of all
least values gives the exact lower bound, that of all greatest the exact upper one.

The meter's positive lead is on the point named first: a diode that it drives forward conducts. Capacitors are charged
and open by then; how long that takes is told. Cold tubes are open between their electrodes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from math import inf, isinf
from typing import Any, Final, Literal, NamedTuple

from netdiff.circuit import Circuit, Point
from netdiff.electrical.elements import Elements, elements, unstated
from netdiff.electrical.interval import NOTHING, SHORT, Interval
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.resistive import Edge, Network

Bound = Literal["low", "nominal", "high"]

MOST_TOGETHER, MOST_ALONE = 20, 400
"""Rounds in which all diodes that do not fit change at once, then one at a time (see ``bends``)."""


MANY = 40
"""Nodes from which on all of a network are worked out at once."""


class Unreadable(Exception):
    """A point that the circuit does not have."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading. ``seconds`` is how long it climbs until the capacitors behind it are charged."""

    ohms: Interval
    seconds: float = 0.0
    through: tuple[str, ...] = ()
    """Diodes that the meter drives forward: with the leads exchanged it reads otherwise."""
    doubtful: tuple[str, ...] = ()
    """Parts on these nodes of which nobody knows what they join."""


class _Key(NamedTuple):
    bound: Bound
    forward: frozenset[int]
    leaky: bool = False
    """With a trace of conductance from every node to ground, so that what floats between diodes lies somewhere."""


NONE: Final[frozenset[int]] = frozenset()


class Ohmmeter:
    """A circuit in one state, ready to be measured. Making one takes one pass; each reading then a short sum.

    Raises KeyError for a state that the circuit does not have.
    """

    def __init__(self, circuit: Circuit, state: str = "rest") -> None:
        self.circuit = circuit
        self.state = state
        self.elements: Elements = elements(circuit, state)
        self.nodes = Nodes(circuit, self.elements.joints)
        self._networks: dict[_Key, Network] = {}
        self._charts: dict[_Key, list[float]] = {}
        self.ground = self.nodes.of(circuit.ground)

    # --- readings

    def between(self, a: Point, b: Point = "") -> Interval:
        """Ohms from ``a`` (the meter's positive lead) to ``b`` (the ground where none is named)."""
        first, second = self._node(a), self._node(b or self.circuit.ground)
        return self._ohms(first, second)[0]

    def read(self, a: Point, b: Point = "") -> Read:
        """The same with how long it takes, the junctions it goes through, and what makes it doubtful."""
        first, second = self._node(a), self._node(b or self.circuit.ground)
        ohms, forward = self._ohms(first, second)
        through = {self.elements.diodes[number].part for number in self._passed(first, second, forward)}
        doubtful = {
            where.partition(".")[0]
            for number in (first, second)
            for where in self.nodes.members[number]
            if where.partition(".")[0] in self.elements.doubtful
        }
        seconds = self._settling(first, second, ohms, forward)
        return Read(ohms, seconds, tuple(sorted(through)), tuple(sorted(doubtful)))

    def has(self, where: Point) -> bool:
        return self.nodes.of(where) is not None

    def to_ground(self) -> dict[Point, Interval]:
        """Every point against ground, all at once; no diode taken to conduct."""
        if self.ground is None:
            return dict.fromkeys(self.nodes.index, NOTHING)
        charts = [self._chart(bound) for bound in ("low", "nominal", "high")]
        return {
            where: Interval(charts[0][number], charts[1][number], charts[2][number])
            for where, number in self.nodes.index.items()
        }

    def shares(self, a: Point, b: Point = "") -> dict[str, float]:
        """The share of every part in the resistance between two points: how much of the meter's power it takes, which
        is how much of a small change of it the reading shows."""
        first, second = self._node(a), self._node(b or self.circuit.ground)
        network = self._network("nominal")
        if first == second or not network.joined(first, second):
            return {}
        import numpy as np

        height = network.heights(first, second)
        x, y, ohms = self._lying
        watts = (height[x] - height[y]) ** 2 / ohms * network.between(first, second)
        out: dict[str, float] = {}
        for number in np.flatnonzero(watts > 0):  # not a number where it lies apart
            part = self.elements.resistances[number].part
            out[part] = out.get(part, 0.0) + float(watts[number])
        return out

    @cached_property
    def _lying(self) -> tuple[Any, Any, Any]:
        """Resistances as arrays: their nodes, and their nominal ohms."""
        import numpy as np

        index, all_ = self.nodes.index, self.elements.resistances
        ohms = np.array([max(one.ohms.nominal, _LEAST) for one in all_])
        return np.array([index[one.a] for one in all_], int), np.array([index[one.b] for one in all_], int), ohms

    @cached_property
    def _stored(self) -> tuple[Any, Any, Any]:
        """Capacitors as arrays: their nodes, and their farads."""
        import numpy as np

        index, all_ = self.nodes.index, self.elements.capacitances
        farads = np.array([one.farads for one in all_])
        return np.array([index[one.a] for one in all_], int), np.array([index[one.b] for one in all_], int), farads

    # --- networks

    def _node(self, where: Point) -> int:
        number = self.nodes.of(where)
        if number is None:
            raise Unreadable(f"nothing is called {where}")
        return number

    def _network(self, bound: Bound, forward: frozenset[int] = NONE, leaky: bool = False) -> Network:
        key = _Key(bound, forward, leaky)
        network = self._networks.get(key)
        if network is None:
            if len(self._networks) > 64:
                self._networks.clear()
            network = self._networks[key] = Network(len(self.nodes), self._edges(key), self.ground)
        return network

    def _edges(self, key: _Key) -> list[Edge]:
        index = self.nodes.index
        edges = []
        for one in self.elements.resistances:
            ohms = getattr(one.ohms, key.bound)
            if ohms < inf:
                edges.append((index[one.a], index[one.b], max(ohms, _LEAST)))
        ohms = float(unstated()["junction"][key.bound])
        if ohms < inf:
            for number in key.forward:
                diode = self.elements.diodes[number]
                edges.append((index[diode.anode], index[diode.cathode], ohms))
        if key.leaky and self.ground is not None:
            edges += [(node, self.ground, _LEAK) for node in range(len(self.nodes)) if node != self.ground]
        return edges

    def _chart(self, bound: Bound) -> list[float]:
        key = _Key(bound, frozenset())
        if key not in self._charts:
            self._charts[key] = self._network(bound).to_ground()
        return self._charts[key]

    def _ohms(self, a: int, b: int) -> tuple[Interval, frozenset[int]]:
        """Ohms, and the diodes that conduct at the nominal values."""
        if a == b:
            return SHORT, NONE
        forward = self._forward("nominal", a, b)
        on: dict[Bound, frozenset[int]] = {"low": NONE, "nominal": forward, "high": NONE}
        if any(self._whole.joined(anode, a) for anode, _ in self._poles):
            on["low"] = self._forward("low", a, b)
        values = [self._between(bound, forward, a, b) for bound, forward in on.items()]
        return Interval(*(ohms if isinf(ohms) or ohms > 2 * _LEAST else 0.0 for ohms in values)), forward

    def _between(self, bound: Bound, forward: frozenset[int], a: int, b: int) -> float:
        if forward or self.ground not in (a, b):
            return self._network(bound, forward).between(a, b)
        return self._chart(bound)[a if b == self.ground else b]

    # --- diodes

    @cached_property
    def _poles(self) -> list[tuple[int, int]]:
        index = self.nodes.index
        return [(index[diode.anode], index[diode.cathode]) for diode in self.elements.diodes]

    @cached_property
    def _whole(self) -> Network:
        """The network with all diodes conducting: what it does not join, nothing joins."""
        return self._network("nominal", frozenset(range(len(self._poles))))

    def _forward(self, bound: Bound, a: int, b: int) -> frozenset[int]:
        """The diodes that conduct with the positive lead at ``a``: at first all, then those whose anode is the higher
        end, until nothing changes. There is one answer, since no diode passes less when its voltage rises."""
        near = [
            n for n, (anode, cathode) in enumerate(self._poles) if anode != cathode and self._whole.joined(anode, a)
        ]
        if not near or not self._whole.joined(a, b):
            return NONE
        now = frozenset(near)
        seen: set[frozenset[int]] = set()
        together = True
        for count in range(MOST_TOGETHER + MOST_ALONE):
            drops = self._drops(bound, now, near, a, b)
            moves = [n for n in near if (drops[n] < -_FORWARD if n in now else drops[n] > _FORWARD)]
            if not moves:
                break
            together = together and now not in seen and count < MOST_TOGETHER
            seen.add(now)
            now = now.symmetric_difference(moves if together else moves[:1])
        return now if self._network(bound, now).joined(a, b) else NONE

    def _drops(self, bound: Bound, on: frozenset[int], diodes: Iterable[int], a: int, b: int) -> dict[int, float]:
        """Volts across diodes, anode to cathode, of the meter's one volt."""
        chosen = list(diodes)
        network, ends = self._network(bound, on, leaky=True), [n for d in chosen for n in self._poles[d]]
        many = len(ends) > MANY  # in a leaky network nothing lies apart
        heights = list(network.heights(a, b)[ends]) if many else network.potentials(a, b, ends)
        pairs = zip(chosen, heights[::2], heights[1::2], strict=True)
        return {d: 0.0 if high is None or low is None else float(high - low) for d, high, low in pairs}

    def _passed(self, a: int, b: int, on: frozenset[int]) -> list[int]:
        """Of conducting diodes those through which the meter's current really goes."""
        drops = self._drops("nominal", on, on, a, b) if on else {}
        return [number for number in on if drops[number] > 1e2 * _FORWARD]

    # --- capacitors

    def _settling(self, a: int, b: int, ohms: Interval, forward: frozenset[int]) -> float:
        """Seconds until the capacitors behind two points are charged through the meter.

        Each capacitor holds the share v of the meter's volt that stands across it in the end, so that the two points
        show the capacitance sum(C v^2), which charges through the meter and the circuit in parallel.
        """
        network = self._network("nominal", forward)
        capacitors = self.elements.capacitances
        if a == b or not capacitors:
            return 0.0
        import numpy as np

        height = network.heights(a, b)
        x, y, each = self._stored
        farads = float(np.nansum(each * (height[x] - height[y]) ** 2))
        meter = unstated()["meter"]
        through = 1.0 / (1.0 / meter["source_ohms"] + (1.0 / ohms.nominal if ohms.nominal else inf))
        return float(meter["settles_in"] * farads * through)


_LEAST = 1e-9
"""Ohms. A resistance whose bound is nothing is a joint, and reads as nothing."""

_LEAK = 1e18
"""Ohms."""

_FORWARD = 1e-11
"""Volts, of the meter's one volt: less is none."""
