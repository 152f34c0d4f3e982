"""Direct voltages and currents of a circuit at work: at the currents of its loads, from its rectifiers.

Resistances are linear, tubes are the currents that ``load`` lines give, rectifiers are sources behind a resistance
(``supplies``), gas regulators hold their voltage while a current is left for them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from netdiff.circuit import Circuit, Load, Point
from netdiff.electrical.bends import Bend, Source, across, drawn, settled
from netdiff.electrical.elements import POWERED
from netdiff.electrical.overload import asked_too_much, joined
from netdiff.electrical.solved import Branch, Feed, Operating
from netdiff.electrical.supplies import Supply, declared, rules
from netdiff.electrical.wired import Wired

STIFF = 1e-3
"""Ohms of a source of which the drawing says nothing but its voltage."""


def operate(circuit: Circuit | Wired, state: str, supplies: Sequence[Supply] | None = None) -> Operating:
    """The direct voltages of a circuit in a state, at the currents that its loads state.

    ``supplies`` are those of the drawing where the circuit is the unit as found: what a winding makes of its volts
    then stays, whatever became of the rectifier. Raises KeyError for a state that the circuit does not have.
    """
    if supplies is None:
        supplies = measured_supplies(circuit.circuit if isinstance(circuit, Wired) else circuit)
    return _operate(circuit if isinstance(circuit, Wired) else Wired(circuit, state), supplies)


def _operate(ready: Wired, known: Sequence[Supply]) -> Operating:
    circuit, state = ready.circuit, ready.state
    mine = _match(ready.supplies, known)
    feeding = [one for one in mine if ready.power and _fed(one, ready)]
    feeding += [one for one in known if not one.rectifiers and ready.power and ready.nodes.of(one.out) is not None]
    loads = [load for load in circuit.loads if load.state == state and ready.power]
    branches = {number: _branch(one, ready) for number, one in enumerate(feeding)}
    fed = {number: Source(branch, 1) for number, branch in branches.items() if feeding[number].rectifiers}
    always = [branch for number, branch in branches.items() if number not in fed] + _batteries(circuit, ready)
    bends: list[Bend] = [*fed.values(), *(Source(one, -1) for one in _regulators(circuit, ready))]
    bends += drawn(loads, ready.nodes)

    def solve(working: list[Load], held: list[Branch]) -> Operating:
        return Operating(circuit, state, ready.nodes, ready.parts, working, [*held, *always])

    solved = settled(bends, solve)
    solved.feeds = tuple(
        Feed(
            one,
            across(solved, branches[number].a, branches[number].b),
            _amps(solved, branches[number]) if number not in fed or fed[number].mode else 0.0,
        )
        for number, one in enumerate(feeding)
    )
    solved.trouble = (*joined(feeding, branches), *asked_too_much(solved, ready.nodes, ready.line))
    return solved


def _amps(solved: Operating, branch: Branch) -> float:
    """What a source gives: out of its positive end."""
    return (branch.volts - across(solved, branch.a, branch.b)) / branch.ohms


def _branch(supply: Supply, ready: Wired) -> Branch:
    out, back = ready.nodes.index[supply.out], ready.nodes.index[supply.back]
    a, b = (back, out) if supply.negative else (out, back)
    return Branch(a, b, supply.volts, supply.ohms, supply.key)


def _fed(supply: Supply, ready: Wired) -> bool:
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


def _regulators(circuit: Circuit, ready: Wired) -> list[Branch]:
    out = []
    index = ready.nodes.index
    for name, part in circuit.parts.items():
        volts = part.kind.facts.get("regulated_volts")
        a, b = index.get(f"{name}.p"), index.get(f"{name}.k")
        if isinstance(volts, float) and a is not None and b is not None and a != b:
            out.append(Branch(a, b, volts, float(rules()["regulator"]["ohms"]), name))
    return out


def _batteries(circuit: Circuit, ready: Wired) -> list[Branch]:
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
            if not one.sort and drawn.sort != "vacuum":
                # Nobody noted what it is made of: then it is what the drawing has.
                one = replace(one, drop=drawn.drop)
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


def measured_supplies(stock: Circuit, wired: Callable[[str], Wired] | None = None) -> tuple[Supply, ...]:
    """The drawing's supplies, each made such that the net which it feeds stands at the voltage that the drawing
    declares, in the state that draws the most. ``wired`` gives its states where somebody has them ready."""
    ready_in = wired or cache(partial(Wired, stock))
    nets, named = declared(stock), declared(stock, also=("control",))
    by_state: dict[str, float] = {}
    for load in stock.loads:
        by_state[load.state] = by_state.get(load.state, 0.0) + load.amps
    states = sorted((name for name, one in stock.states.items() if one.power), key=lambda n: -by_state.get(n, 0.0))
    out: dict[str, Supply] = {}
    claimed: set[str] = set()
    for state in states or [POWERED]:
        ready = ready_in(state)
        for one in ready.supplies:
            if one.key in out or not _fed(one, ready):
                continue
            net = _net_of(one, ready, named, claimed)
            if net is None:
                out[one.key] = one
                continue
            claimed |= _island(ready, one.out, named)
            out[one.key] = _adjusted(ready, one, net, named[net], out)
    for net in _outside(ready_in(states[0] if states else POWERED), nets, claimed):
        volts = abs(nets[net])
        one = Supply(net, stock.ground, volts, STIFF, negative=nets[net] < 0, net=net)
        out[one.key] = one
    return _asked(tuple(out.values()), map(ready_in, states))


def _asked(supplies: tuple[Supply, ...], states: Iterable[Wired]) -> tuple[Supply, ...]:
    """The supplies with the greatest current that the drawing ever asks of each."""
    most: dict[str, float] = {}
    for ready in states:
        for feed in _operate(ready, supplies).feeds:
            most[feed.supply.key] = max(most.get(feed.supply.key, 0.0), feed.amps)
    return tuple(replace(one, asked=most.get(one.key, 0.0)) for one in supplies)


def _walk(ready: Wired, start: Point) -> list[int]:
    """Nodes that a direct current reaches from a point, nearest first, not through ground."""
    order = [ready.nodes.index[start]]
    seen = set(order)
    for at in order:
        if at == ready.ground:
            continue
        for other in sorted(ready.near.get(at, ())):
            if other not in seen:
                seen.add(other)
                order.append(other)
    return order


def _island(ready: Wired, start: Point, nets: Mapping[str, float]) -> set[str]:
    reached = set(_walk(ready, start))
    return {name for name in nets if ready.nodes.of(name) in reached}


def _net_of(one: Supply, ready: Wired, nets: Mapping[str, float], claimed: set[str]) -> str | None:
    """The declared net next to the rectifier's output, of its own polarity."""
    at: dict[int | None, str] = {}
    for name, volts in nets.items():
        if name not in claimed and (volts < 0) == one.negative:
            at.setdefault(ready.nodes.of(name), name)
    return next((at[node] for node in _walk(ready, one.out) if node in at), None)


def _adjusted(ready: Wired, one: Supply, net: str, volts: float, others: Mapping[str, Supply]) -> Supply:
    """The source with the factor that brings its net to the declared voltage. The network is linear but for what goes
    out: a few rounds of the rule of false position settle it."""

    def at(factor: float) -> tuple[Supply, float]:
        tried = replace(one, factor=factor, volts=factor * one.ac_volts - one.drop, net=net)
        got = _operate(ready, [*others.values(), tried]).volts_nominal(net)
        return tried, abs(got or 0.0)

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


def _outside(ready: Wired, nets: Mapping[str, float], claimed: set[str]) -> list[str]:
    """Declared nets that no rectifier of the drawing feeds: of each island the one of the highest voltage."""
    out: list[str] = []
    taken = set(claimed)
    for name in sorted(nets, key=lambda n: -abs(nets[n])):
        if name in taken or ready.nodes.of(name) is None:
            continue
        out.append(name)
        taken |= _island(ready, name, nets)
    return out
