"""What would happen if a circuit were switched on: supplies into a short, or into each other, and what gives way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from netdiff.circuit import Circuit
from netdiff.electrical.nodes import Nodes
from netdiff.electrical.solved import Branch, Feed, Operating, Stress
from netdiff.electrical.supplies import Mains, Supply, rules
from netdiff.quantities import show

MATTERS = 0.01
"""Amperes. Less overloads nothing."""


def joined(feeding: Sequence[Supply], branches: Mapping[int, Branch]) -> Iterator[str]:
    """Supplies whose outputs conductors join although they stand at different voltages."""
    for first, second in combinations(range(len(feeding)), 2):
        one, other = branches[first], branches[second]
        if (one.a, one.b) != (other.a, other.b) or abs(one.volts - other.volts) < 0.1 * max(one.volts, other.volts):
            continue
        names = [supply.net or f"the supply at {supply.out}" for supply in (feeding[first], feeding[second])]
        amps = abs(one.volts - other.volts) / (one.ohms + other.ohms)
        most = max(feeding[first].asked, feeding[second].asked)
        flows = (
            f"{show(amps, 'A', 3)} would flow from one into the other"
            if amps < 100 * max(most, 0.01)
            else ("one feeds the other as into a short")
        )
        volts = f"{show(one.volts, 'V', 3)} and {show(other.volts, 'V', 3)}"
        yield (
            f"{names[0]} and {names[1]} are joined, {volts}: {flows}; the fuse goes, or the weaker of the two burns."
        )


def asked_too_much(solved: Operating, nodes: Nodes, line: Mains) -> Iterator[str]:
    """What is asked of a supply beyond twice what the drawing ever asks of it, and what would give way."""
    worst = solved.stresses()
    for feed in solved.feeds:
        supply = feed.supply
        most = max(supply.asked, supply.amps)
        if feed.amps <= rules()["overload"]["value"] * most or feed.amps < MATTERS or not most:
            continue
        name = supply.net or f"the supply at {supply.out}"
        says = (
            f"{name} would have to give {show(feed.amps, 'A', 3)}, "
            f"where the drawing asks {show(most, 'A', 3)} of it at most, "
            f"and would stand at {show(feed.volts, 'V', 3)}."
        )
        burning = _burning(solved, worst)
        if burning:
            says += f" {burning}"
        fuses = _fuses(solved.circuit, nodes, line, feed)
        if fuses:
            says += f" {fuses}"
        yield says


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
    return f"{name} takes {show(watts, 'W', 3)}, {rated[name]:.1f} times its {show(rating, 'W')}: it burns first."


def _fuses(circuit: Circuit, nodes: Nodes, line: Mains, feed: Feed) -> str:
    """Fuses on the mains side that the current drawn there would open (some 35 % above the rating: UL 248-14)."""
    if not line.volts:
        return ""
    drawn = feed.amps * max(feed.supply.volts, 1.0) / line.volts
    sides = line.hot | line.cold
    names = [
        name
        for name, part in circuit.parts.items()
        if part.kind.name == "fuse" and part.value and drawn > 1.35 * part.value and nodes.of(f"{name}.1") in sides
    ]
    if names:
        return f"About {show(drawn, 'A', 3)} from the mains: {' or '.join(names)} opens, if it is in that lead."
    return f"About {show(drawn, 'A', 3)} from the mains: no fuse opens at once."
