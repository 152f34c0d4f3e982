"""Voltages that the drawing names, carried along to the places that it does not name.

A choke, a fuse, a meter or a closed contact takes a supply's voltage on almost undiminished, a
resistor takes it on at the most. So the highest named voltage that a place can be fed from is an
upper estimate of what it stands at: enough to judge charge and clearances by, before anybody has
worked the circuit out.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Final

from netdiff.circuit import Circuit, Part, Point
from netdiff.nets import Nets, circuit_nets

PASSING: Final = {"inductor", "fuse", "meter", "interlock"}
"""Families of parts that take a voltage on undiminished."""
_DIRECT: Final = {"supply", "bias", "control"}
"""Purposes of nets whose volts are d.c."""


def links(circuit: Circuit, families: Iterable[str], *, windings: bool = True) -> Iterator[tuple[Point, Point, str]]:
    """Pairs of points that parts of these families, and windings of transformers, connect, with the part."""
    wanted = set(families)
    for name, part in circuit.parts.items():
        if part.kind.family in wanted and part.kind.ends is not None:
            a, b = part.kind.ends
            yield f"{name}.{a}", f"{name}.{b}", name
        elif part.kind.family == "resistor" and "resistor" in wanted:
            # A potentiometer or slider: its element, section by section.
            terminals = [lug.name for lug in part.kind.terminals]
            yield from ((f"{name}.{a}", f"{name}.{b}", name) for a, b in pairwise(terminals))
    for winding in circuit.windings if windings else ():
        for a, b in pairwise(winding.terminals):
            yield f"{winding.part}.{a}", f"{winding.part}.{b}", winding.part


def rectifying(part: Part) -> bool:
    """Whether the part turns a.c. into d.c.: rectifiers, diodes that are none for signals, rectifier tubes."""
    if part.kind.family == "diode":
        return "signal" not in part.words and "zener" not in part.words
    if part.kind.family != "tube":
        return False
    names = {lug.name for lug in part.kind.terminals}
    return (
        not any(name.startswith("g") for name in names)
        and bool(names & {"p", "pa", "pb"})
        and bool(names & {"k", "ka", "f1", "h1"})
        and "regulator" not in part.kind.title.lower()
    )


def rectified(circuit: Circuit) -> frozenset[Point]:
    """The terminals of rectifiers on their d.c. side: cathodes, filaments, and anodes that no winding feeds."""
    fed = {f"{winding.part}.{name}" for winding in circuit.windings for name in winding.terminals}
    nets = circuit_nets(circuit)
    ac = {nets.index[where] for where in fed if where in nets.index}
    out = set()
    for name, part in circuit.parts.items():
        if not rectifying(part):
            continue
        for lug in part.kind.terminals:
            where = f"{name}.{lug.name}"
            if part.kind.family == "tube":
                if lug.name in ("k", "ka", "kb", "f1", "f2") or (lug.name in ("h1", "h2") and not part.kind.lug("k")):
                    out.add(where)
            elif lug.name in ("k", "+", "-") or (lug.name == "a" and nets.index.get(where) not in ac):
                out.add(where)
    return frozenset(out)


def volts(circuit: Circuit, nets: Nets) -> dict[int, float]:
    """An upper estimate (by size, with its sign) of the d.c. volts to ground of every net that a named one feeds.

    Where two feed it, the larger by size counts. Ground ends every way; a winding that carries a.c.
    alone is no way, one that carries a supply's current is.
    """
    ground = nets.index.get(circuit.ground, -1)
    given = {
        nets.index[name]: net.volts
        for name, net in circuit.nets.items()
        if net.purpose in _DIRECT and net.volts is not None and not net.ac and name in nets.index
    }
    near: dict[int, set[int]] = defaultdict(set)
    for a, b, _ in links(circuit, {*PASSING, "resistor"}):
        one, other = nets.index.get(a, -1), nets.index.get(b, -1)
        if -1 not in (one, other) and ground not in (one, other):
            near[one].add(other)
            near[other].add(one)
    known = dict(given)
    for start, value in sorted(given.items(), key=lambda item: -abs(item[1])):
        queue, seen = deque([start]), {start}
        while queue:
            for other in near.get(queue.popleft(), ()):
                if other in seen or other in given or abs(known.get(other, 0.0)) >= abs(value):
                    continue
                seen.add(other)
                known[other] = value
                queue.append(other)
    if ground >= 0:
        known[ground] = 0.0
    return known
