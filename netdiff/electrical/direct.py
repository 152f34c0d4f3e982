"""Direct voltages and currents of a circuit at work: nodal analysis with the loads that the drawing states.

Resistances are linear, tubes are the currents that ``load`` lines give, rectifiers are sources behind a resistance
(``supplies``), gas regulators hold their voltage while a current is left for them. Bounds are of first order: the sum
over all parts of how far each one's tolerance moves the result, all at their worst at once (the network's adjoint
gives every such slope from one solution: S. W. Director and R. A. Rohrer, IEEE Trans. CT-16 (1969) 318).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Any, NamedTuple

from netdiff.circuit import Circuit, Load, Point, terminal_of
from netdiff.electrical.elements import POWERED, Elements, Heat, Resistance, elements, has_power
from netdiff.electrical.interval import Interval
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.supplies import Finder, Mains, Supply, declared, mains, rules
from netdiff.quantities import show

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAK = 1e-13
"""Siemens from every node to ground, so that a floating part has a solution; what it decides is told as unknown."""

STIFF = 1e-3
"""Ohms of a source of which the drawing says nothing but its voltage."""

NO_VOLTS = 1e-6
"""Less is none: what the arithmetic leaves over."""

MOST_ROUNDS = 25


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
        size = len(nodes)
        self._a = np.array([index[one.a] for one in self.resistances], dtype=int)
        self._b = np.array([index[one.b] for one in self.resistances], dtype=int)
        ohms = np.array([max(one.ohms.nominal, 1e-4) for one in self.resistances])
        self._g = 1.0 / ohms if len(ohms) else np.zeros(0)
        self._ground = nodes.of(circuit.ground)
        rows, columns, values = [np.arange(size)], [np.arange(size)], [np.full(size, LEAK)]
        current = np.zeros(size)
        fed_a = np.array([one.a for one in branches], dtype=int)
        fed_b = np.array([one.b for one in branches], dtype=int)
        fed_g = np.array([1.0 / one.ohms for one in branches])
        for a, b, g in ((self._a, self._b, self._g), (fed_a, fed_b, fed_g)):
            rows += [a, b, a, b]
            columns += [a, b, b, a]
            values += [g, g, -g, -g]
        for one in branches:
            current[one.a] += one.volts / one.ohms
            current[one.b] -= one.volts / one.ohms
        for load in loads:
            current[index[load.a]] -= load.amps
            current[index[load.b]] += load.amps
        if self._ground is not None:
            rows.append(np.array([self._ground]))
            columns.append(np.array([self._ground]))
            values.append(np.array([1e9]))
        self._solve = _factor(np.concatenate(rows), np.concatenate(columns), np.concatenate(values), size)
        self._height = self._solve(current)
        self._tied = self._reached(fed_a, fed_b)
        self.feeds: tuple[Feed, ...] = ()
        self.trouble: tuple[str, ...] = ()
        """What would happen if this were switched on: a supply into a short, two supplies joined."""

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
        return self.height(first) - self.height(second)

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

    @property
    def _spread(self) -> NDArray[Any]:
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
            ohms = max(one.ohms.nominal, 1e-4)
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
            ohms = max(one.ohms.nominal, 1e-4)
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
            ohms = max(one.ohms.nominal, 1e-4)
            amps, watts = abs(volts) / ohms, volts * volts / ohms
            was = out.get(one.part, Stress(0.0, 0.0, 0.0))
            out[one.part] = Stress(was.volts + abs(volts), max(was.amps, amps), was.watts + watts)
        return out

    def _pieces(self, designator: str) -> list[Resistance]:
        return [one for one in self.resistances if one.part == designator]

    def height(self, node: int) -> float:
        """The bare solution of a node against ground."""
        return float(self._height[node])


def _factor(rows: NDArray[Any], columns: NDArray[Any], values: NDArray[Any], size: int) -> Any:
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import splu

    matrix = coo_matrix((values, (rows, columns)), shape=(size, size)).tocsc()
    return splu(matrix).solve


def operate(circuit: Circuit, state: str, supplies: Sequence[Supply] | None = None) -> Operating:
    """The direct voltages of a circuit in a state, at the currents that its loads state.

    ``supplies`` are those of the drawing where the circuit is the unit as found: what a winding makes of its volts
    then stays, whatever became of the rectifier. Raises KeyError for a state that the circuit does not have.
    """
    if supplies is None:
        supplies = measured_supplies(circuit)
    return _operate(circuit, state, supplies)


class _Ready(NamedTuple):
    nodes: Nodes
    parts: Elements
    line: Mains
    power: bool
    ground: int | None


def _ready(circuit: Circuit, state: str, heat: Heat = "hot") -> _Ready:
    parts = elements(circuit, state, heat)
    nodes = Nodes(circuit, parts.joints)
    power = has_power(circuit, state)
    return _Ready(nodes, parts, mains(circuit, nodes), power, nodes.of(circuit.ground))


def found_supplies(ready: _Ready, circuit: Circuit) -> list[Supply]:
    return Finder(circuit, ready.nodes, ready.parts, ready.line).supplies()


def _operate(circuit: Circuit, state: str, known: Sequence[Supply]) -> Operating:
    ready = _ready(circuit, state)
    mine = _match(found_supplies(ready, circuit), known)
    feeding = [one for one in mine if ready.power and _fed(one, ready)]
    feeding += [one for one in known if not one.rectifiers and ready.power and ready.nodes.of(one.out) is not None]
    index = ready.nodes.index
    loads = [
        load for load in circuit.loads if load.state == state and load.a in index and load.b in index and ready.power
    ]
    branches = {number: _branch(one, ready) for number, one in enumerate(feeding)}
    regulators = _regulators(circuit, ready)
    batteries = _batteries(circuit, ready)
    lit = dict.fromkeys(regulators, True)
    off: set[int] = set()
    dead: set[Load] = set()
    for _ in range(MOST_ROUNDS):
        live = [branch for number, branch in branches.items() if number not in off]
        held = [branch for name, branch in regulators.items() if lit[name]] + batteries
        working = [load for load in loads if load not in dead]
        solved = Operating(circuit, state, ready.nodes, ready.parts, working, [*live, *held])
        changed = False
        for number, branch in branches.items():
            if number not in off and feeding[number].rectifiers and _amps(solved, branch) < -1e-9:
                off.add(number)
                changed = True
        for name, branch in regulators.items():
            # A regulator only takes a current; one that would have to give it has gone out.
            if lit[name] and _amps(solved, branch) > 1e-9:
                lit[name] = False
                changed = True
        for load in working:
            if not terminal_of(load.a).startswith("g") or terminal_of(load.a).startswith("g2"):
                if solved.height(index[load.a]) - solved.height(index[load.b]) < 0:
                    dead.add(load)
                    changed = True
        if not changed:
            break
    solved.feeds = tuple(
        Feed(
            one,
            solved.height(branches[number].a) - solved.height(branches[number].b),
            _amps(solved, branches[number]) if number not in off else 0.0,
        )
        for number, one in enumerate(feeding)
    )
    solved.trouble = (*_joined(feeding, branches), *_trouble(solved, ready))
    return solved


def _joined(feeding: Sequence[Supply], branches: Mapping[int, Branch]) -> Iterator[str]:
    """Supplies whose outputs conductors join although they stand at different voltages."""
    for first, second in combinations(range(len(feeding)), 2):
        one, other = branches[first], branches[second]
        if (one.a, one.b) != (other.a, other.b) or abs(one.volts - other.volts) < 0.1 * max(one.volts, other.volts):
            continue
        names = [supply.net or f"the supply at {supply.out}" for supply in (feeding[first], feeding[second])]
        amps = abs(one.volts - other.volts) / (one.ohms + other.ohms)
        most = max(feeding[first].asked, feeding[second].asked)
        flows = (
            f"{_three(amps, 'A')} would flow from one into the other"
            if amps < 100 * max(most, 0.01)
            else ("one feeds the other as into a short")
        )
        volts = f"{_three(one.volts, 'V')} and {_three(other.volts, 'V')}"
        yield (
            f"{names[0]} and {names[1]} are joined, {volts}: {flows}; the fuse goes, or the weaker of the two burns."
        )


def _three(value: float, unit: str) -> str:
    """A computed value as a person is told it."""
    return show(float(f"{value:.3g}"), unit)


def _trouble(solved: Operating, ready: _Ready) -> Iterator[str]:
    """What is asked of a supply beyond twice what the drawing ever asks of it, and what would give way."""
    worst = solved.stresses()
    for feed in solved.feeds:
        supply = feed.supply
        most = max(supply.asked, supply.amps)
        if feed.amps <= rules()["overload"]["value"] * most or feed.amps < MATTERS or not most:
            continue
        name = supply.net or f"the supply at {supply.out}"
        says = (
            f"{name} would have to give {_three(feed.amps, 'A')}, "
            f"where the drawing asks {_three(most, 'A')} of it at most, "
            f"and would stand at {_three(feed.volts, 'V')}."
        )
        burning = _burning(solved, worst)
        if burning:
            says += f" {burning}"
        fuses = _fuses(solved.circuit, ready, feed)
        if fuses:
            says += f" {fuses}"
        yield says


MATTERS = 0.01
"""Amperes. Less overloads nothing."""


def _burning(solved: Operating, worst: Mapping[str, Stress]) -> str:
    """The part that goes first: the one furthest above its rating."""
    rated = {
        name: stress.watts / solved.circuit.parts[name].ratings["W"]
        for name, stress in worst.items()
        if "W" in solved.circuit.parts[name].ratings
    }
    name = max(rated, key=lambda one: rated[one], default="")
    if not name or rated[name] <= 1:
        return ""
    watts, rating = worst[name].watts, solved.circuit.parts[name].ratings["W"]
    return f"{name} takes {_three(watts, 'W')}, {rated[name]:.1f} times its {show(rating, 'W')}: it burns first."


def _fuses(circuit: Circuit, ready: _Ready, feed: Feed) -> str:
    """Fuses on the mains side that the current drawn there would open (some 35 % above the rating: UL 248-14)."""
    if not ready.line.volts:
        return ""
    drawn = feed.amps * max(feed.supply.volts, 1.0) / ready.line.volts
    sides = ready.line.hot | ready.line.cold
    names = [
        name
        for name, part in circuit.parts.items()
        if part.kind.name == "fuse"
        and part.value
        and drawn > 1.35 * part.value
        and ready.nodes.of(f"{name}.1") in sides
    ]
    if names:
        return f"About {_three(drawn, 'A')} from the mains: {' or '.join(names)} opens, if it is in that lead."
    return f"About {_three(drawn, 'A')} from the mains: no fuse opens at once."


def _amps(solved: Operating, branch: Branch) -> float:
    """What a source gives: out of its positive end."""
    return (branch.volts - (solved.height(branch.a) - solved.height(branch.b))) / branch.ohms


def _branch(supply: Supply, ready: _Ready) -> Branch:
    out, back = ready.nodes.index[supply.out], ready.nodes.index[supply.back]
    a, b = (back, out) if supply.negative else (out, back)
    return Branch(a, b, supply.volts, supply.ohms, supply.key)


def _fed(supply: Supply, ready: _Ready) -> bool:
    if ready.nodes.of(supply.out) is None or ready.nodes.of(supply.back) is None:
        return False
    hot, cold = ready.line.hot, ready.line.cold
    if not hot and not cold:
        return True
    for a, b in supply.feed:
        first, second = ready.nodes.of(a), ready.nodes.of(b)
        if not ((first in hot and second in cold) or (first in cold and second in hot)):
            return False
    return True


def _regulators(circuit: Circuit, ready: _Ready) -> dict[str, Branch]:
    out = {}
    index = ready.nodes.index
    for name, part in circuit.parts.items():
        volts = part.kind.facts.get("regulated_volts")
        a, b = index.get(f"{name}.p"), index.get(f"{name}.k")
        if isinstance(volts, float) and a is not None and b is not None and a != b:
            out[name] = Branch(a, b, volts, float(rules()["regulator"]["ohms"]), name)
    return out


def _batteries(circuit: Circuit, ready: _Ready) -> list[Branch]:
    index = ready.nodes.index
    return [
        Branch(index[f"{name}.+"], index[f"{name}.-"], part.value, max(part.ratings.get("ohm", 0.0), STIFF), name)
        for name, part in circuit.parts.items()
        if part.kind.name == "battery" and part.value and index[f"{name}.+"] != index[f"{name}.-"]
    ]


def _match(mine: Sequence[Supply], known: Sequence[Supply]) -> list[Supply]:
    """The supplies of a circuit with what the drawing's own showed of the same windings."""
    by_winding = {one.winding: one for one in known if one.winding}
    out = []
    for one in mine:
        drawn = by_winding.get(one.winding)
        if drawn is not None:
            factor, net = drawn.factor, drawn.net
            if one.choke != drawn.choke:
                # A capacitor ahead of the choke charges to the peak.
                table = rules()
                factor *= (
                    table["capacitor_input_full"]["factor"] / table["choke_input"]["factor"]
                    if drawn.choke
                    else table["choke_input"]["factor"] / table["capacitor_input_full"]["factor"]
                )
            one = replace(one, factor=factor, volts=factor * one.ac_volts - one.drop, net=net, asked=drawn.asked)
        out.append(one)
    return out


def measured_supplies(stock: Circuit) -> tuple[Supply, ...]:
    """The drawing's supplies, each made such that the net which it feeds stands at the voltage that the drawing
    declares, in the state that draws the most."""
    nets, named = declared(stock), declared(stock, also=("control",))
    by_state: dict[str, float] = {}
    for load in stock.loads:
        by_state[load.state] = by_state.get(load.state, 0.0) + load.amps
    states = sorted((name for name, one in stock.states.items() if one.power), key=lambda n: -by_state.get(n, 0.0))
    out: dict[str, Supply] = {}
    claimed: set[str] = set()
    for state in states or [POWERED]:
        ready = _ready(stock, state)
        for one in found_supplies(ready, stock):
            if one.key in out or not _fed(one, ready):
                continue
            net = _net_of(one, ready, named, claimed)
            if net is None:
                out[one.key] = one
                continue
            claimed |= _island(ready, one.out, named)
            out[one.key] = _adjusted(stock, state, one, net, named[net], out)
    for net in _outside(stock, nets, claimed, states):
        volts = abs(nets[net])
        one = Supply(net, stock.ground, volts, STIFF, negative=nets[net] < 0, net=net)
        out[one.key] = one
    return _asked(stock, tuple(out.values()), states)


def _asked(stock: Circuit, supplies: tuple[Supply, ...], states: Sequence[str]) -> tuple[Supply, ...]:
    """The supplies with the greatest current that the drawing ever asks of each."""
    most: dict[str, float] = {}
    for state in states:
        for feed in _operate(stock, state, supplies).feeds:
            most[feed.supply.key] = max(most.get(feed.supply.key, 0.0), feed.amps)
    return tuple(replace(one, asked=most.get(one.key, 0.0)) for one in supplies)


def _neighbours(ready: _Ready) -> dict[int, set[int]]:
    near: dict[int, set[int]] = {}
    for one in ready.parts.resistances:
        a, b = ready.nodes.index[one.a], ready.nodes.index[one.b]
        near.setdefault(a, set()).add(b)
        near.setdefault(b, set()).add(a)
    return near


def _walk(ready: _Ready, start: Point) -> list[int]:
    """Nodes that a direct current reaches from a point, nearest first, not through ground."""
    near = _neighbours(ready)
    order = [ready.nodes.index[start]]
    seen = set(order)
    for at in order:
        if at == ready.ground:
            continue
        for other in sorted(near.get(at, ())):
            if other not in seen:
                seen.add(other)
                order.append(other)
    return order


def _island(ready: _Ready, start: Point, nets: Mapping[str, float]) -> set[str]:
    reached = set(_walk(ready, start))
    return {name for name in nets if ready.nodes.of(name) in reached}


def _net_of(one: Supply, ready: _Ready, nets: Mapping[str, float], claimed: set[str]) -> str | None:
    """The declared net next to the rectifier's output, of its own polarity."""
    at: dict[int | None, str] = {}
    for name, volts in nets.items():
        if name not in claimed and (volts < 0) == one.negative:
            at.setdefault(ready.nodes.of(name), name)
    return next((at[node] for node in _walk(ready, one.out) if node in at), None)


def _adjusted(stock: Circuit, state: str, one: Supply, net: str, volts: float, others: Mapping[str, Supply]) -> Supply:
    """The source with the factor that brings its net to the declared voltage. The network is linear but for what goes
    out: a few rounds of the rule of false position settle it."""

    def at(factor: float) -> tuple[Supply, float]:
        tried = replace(one, factor=factor, volts=factor * one.ac_volts - one.drop, net=net)
        got = _operate(stock, state, [*others.values(), tried]).volts(net)
        return tried, abs(got.nominal) if got is not None else 0.0

    first, second = one.factor, one.factor * 1.1
    best, low = at(first)
    for _ in range(8):
        tried, high = at(second)
        best = tried
        if abs(high - abs(volts)) < 1e-6 * abs(volts) or high == low:
            break
        first, low, second = second, high, second + (abs(volts) - high) * (second - first) / (high - low)
        if not 0.2 < second < 3.0:
            return one
    return best


def _outside(stock: Circuit, nets: Mapping[str, float], claimed: set[str], states: Sequence[str]) -> list[str]:
    """Declared nets that no rectifier of the drawing feeds: of each island the one of the highest voltage."""
    out: list[str] = []
    taken = set(claimed)
    ready = _ready(stock, states[0] if states else POWERED)
    for name in sorted(nets, key=lambda n: -abs(nets[n])):
        if name in taken or ready.nodes.of(name) is None:
            continue
        out.append(name)
        taken |= _island(ready, name, nets)
    return out
