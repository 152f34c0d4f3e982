"""Crests: how far above its d.c. a place swings when it is modulated, keyed, or carries radio frequency.

>>> crest(465), crest(465, rf=True), crest(500, depth=0.5)
(930.0, 1860.0, 750.0)

The d.c. of an amplitude-modulated plate supply has the speech on top: at depth m its crest is (1 + m)
times the d.c., twice at full modulation. A tuned plate swings by nearly its whole supply about it,
twice again. A choke-input supply whose load is keyed off climbs toward the crest of its winding.
"""

from __future__ import annotations

import math
from collections import deque
from typing import TYPE_CHECKING, Final, NamedTuple

from netdiff.circuit import Circuit, Part, Point
from netdiff.electrical.limits import limit
from netdiff.electrical.spread import PASSING, links, rectified, rectifying, volts
from netdiff.nets import Nets, circuit_nets

if TYPE_CHECKING:
    from netdiff.electrical.charge import Ohms

RF_HENRIES: Final = 0.05
"""A coil or choke below this is one for radio frequency, above for a filter (common practice)."""
SUPPRESSOR_HENRIES: Final = 1e-6
SUPPRESSOR_OHMS: Final = 200.0
"""A parasitic suppressor: a few turns on a resistor (common practice)."""


class Swing(NamedTuple):
    """What a place may stand at. Volts to ground."""

    dc: float
    crest: float
    """By size, the sign taken off."""
    because: str = ""
    """``modulated by T4``, ``keyed``; empty where it stands still."""


def crest(dc: float, depth: float | None = None, *, rf: bool = False) -> float:
    """Crest (V) of a supply modulated to a depth (limit ``modulation_depth``), with ``rf`` at a tuned plate on it."""
    return abs(dc) * (1 + (limit("modulation_depth") if depth is None else depth)) * (2 if rf else 1)


def modulates(part: Part) -> bool:
    """Whether a transformer puts speech on a supply: by its word or its label."""
    words = f"{' '.join(part.words)} {part.label}".lower()
    return part.kind.family == "transformer" and "modulation" in words and "driver" not in words


def swings(circuit: Circuit, ohms: Ohms | None = None) -> dict[Point, Swing]:
    """Every point that a supply feeds, with the most that it may stand at.

    ``ohms`` is an ohmmeter on the circuit with its power off (default: the one of this package).
    """
    nets = circuit_nets(circuit)
    spread = volts(circuit, nets)
    by = _modulated(circuit, nets)
    keyed = _unloaded(circuit, nets, ohms)
    tuned = _tuned(circuit, nets)
    out = {}
    for number, dc in spread.items():
        if number in by:
            swing = Swing(dc, crest(dc), f"modulated by {by[number]}")
        elif number in keyed:
            swing = Swing(dc, abs(dc) * limit("keyed_rise"), "choke input with too small a bleeder, key up")
        else:
            swing = Swing(dc, abs(dc))
        if number in tuned:
            about = f", tuned plate of {tuned[number]}"
            swing = Swing(dc, 2 * swing.crest, (swing.because + about).removeprefix(", "))
        out.update(dict.fromkeys(nets.members[number], swing))
    return out


def between(swings: dict[Point, Swing], a: Point, b: Point) -> float | None:
    """The greatest voltage (crest) between two points; None where either is unknown.

    Two places of opposite sign add up; of the same sign one of them may be off.
    """
    one, other = swings.get(a), swings.get(b)
    if one is None or other is None:
        return None
    opposite = one.dc * other.dc < 0
    return one.crest + other.crest if opposite else max(one.crest, other.crest)


def _modulated(circuit: Circuit, nets: Nets) -> dict[int, str]:
    """Nets that a modulation transformer swings, with its name: what lies behind it as seen from the rectifiers.

    A winding's terminal that the supply reaches without the transformer stands still. From the others
    the swing goes on through chokes, fuses and meters.
    """
    names = [name for name, part in circuit.parts.items() if modulates(part)]
    if not names:
        return {}
    ground = nets.index.get(circuit.ground, -1)
    near = _near(circuit, nets, PASSING)
    still = _reach(
        near, {nets.index[where] for where in rectified(circuit) if where in nets.index} - {ground}, {ground}
    )
    # The terminal that two of its windings have in common is where the supply comes in.
    at = [nets.index.get(f"{w.part}.{t}", -1) for w in circuit.windings if w.part in names for t in w.terminals]
    still |= {number for number in at if at.count(number) > 1} - {-1}
    out: dict[int, str] = {}
    for name in names:
        ends = [f"{name}.{t}" for winding in circuit.windings if winding.part == name for t in winding.terminals]
        moving = {nets.index[where] for where in ends if where in nets.index} - still - {ground}
        out.update(dict.fromkeys(_reach(near, moving, still | {ground}), name))
    return out


def _tuned(circuit: Circuit, nets: Nets) -> dict[int, str]:
    """Nets on which a tube's plate swings about its supply: fed through a coil or choke for radio frequency.

    From the plate on through parasitic suppressors (less than a microhenry, or resistors across them).
    """
    near: dict[int, list[tuple[int, float]]] = {}
    for a, b, name in links(circuit, {"inductor", "resistor"}, windings=False):
        part = circuit.parts[name]
        value = part.value or 0.0
        henries = value if part.kind.family == "inductor" else (0.0 if value < SUPPRESSOR_OHMS else math.inf)
        one, other = nets.index.get(a, -1), nets.index.get(b, -1)
        near.setdefault(one, []).append((other, henries))
        near.setdefault(other, []).append((one, henries))
    out: dict[int, str] = {}
    for name, part in circuit.parts.items():
        if part.kind.family != "tube" or rectifying(part):
            continue
        for lug in part.kind.terminals:
            at = nets.index.get(f"{name}.{lug.name}", -1)
            if lug.name not in ("p", "pa", "pb") or at < 0:
                continue
            region, queue = {at}, [at]
            while queue:
                for other, henries in near.get(queue.pop(), ()):
                    if henries < SUPPRESSOR_HENRIES and other not in region:
                        region.add(other)
                        queue.append(other)
            ground = nets.index.get(circuit.ground, -1)
            fed = any(SUPPRESSOR_HENRIES <= h < RF_HENRIES for number in region for _, h in near.get(number, ()))
            if fed and ground not in region:
                out.update(dict.fromkeys(region, name))
    return out


def _unloaded(circuit: Circuit, nets: Nets, ohms: Ohms | None) -> set[int]:
    """Nets behind a choke-input filter whose bleeder is too small a load, so that they climb while the key is up.

    A choke of L henries smooths the current of a full-wave rectifier down to a load of 6 pi f L ohms (1131
    L at 60 Hz, the critical inductance: common practice); with less load the capacitor behind it charges to
    the crest. ``ohms`` reads what load is left with the power off.
    """
    ground = nets.index.get(circuit.ground, -1)
    chokes: dict[int, list[float]] = {}
    for a, b, name in links(circuit, {"inductor"}, windings=False):
        henries = circuit.parts[name].value
        if henries is not None and henries >= RF_HENRIES:
            for where in (a, b):
                chokes.setdefault(nets.index.get(where, -1), []).append(henries)
    filtered = {
        nets.index[where]
        for a, b, name in links(circuit, {"capacitor"}, windings=False)
        for where in (a, b)
        if where in nets.index and (circuit.parts[name].value or 0) >= limit("store_farads")
    }
    outputs = {nets.index[where] for where in rectified(circuit) if where in nets.index} - {ground}
    windings, passing = _near(circuit, nets, set()), _near(circuit, nets, PASSING)
    out: set[int] = set()
    for number in sorted(outputs):
        # Through a filament winding's centre tap the rectifier still feeds the choke.
        cluster = _reach(windings, {number}, {ground})
        inlets = cluster & set(chokes)
        if cluster & filtered or not inlets:
            continue
        behind = _reach(passing, inlets, {ground})
        if not behind & filtered:
            continue
        if ohms is None:
            from netdiff.electrical.ohmmeter import Ohmmeter

            ohms = Ohmmeter(circuit).between
        value = ohms(nets.members[number][0], circuit.ground)
        load = value if isinstance(value, (int, float)) else value.nominal
        if load > 6 * math.pi * limit("mains_hertz") * max(max(chokes[inlet]) for inlet in inlets):
            out |= behind
    return out


_Near = dict[int, set[int]]


def _near(circuit: Circuit, nets: Nets, families: set[str]) -> _Near:
    """Net to net through parts of these families and through windings, those of modulation transformers left out."""
    near: _Near = {}
    transformers = {name for name, part in circuit.parts.items() if modulates(part)}
    for a, b, name in links(circuit, families):
        if name in transformers:
            continue
        one, other = nets.index.get(a, -1), nets.index.get(b, -1)
        near.setdefault(one, set()).add(other)
        near.setdefault(other, set()).add(one)
    return near


def _reach(near: _Near, start: set[int], stop: set[int]) -> set[int]:
    """Nets that are reached from others; never through ``stop``."""
    reached, queue = set(start), deque(start)
    while queue:
        for other in near.get(queue.popleft(), set()) - reached - stop - {-1}:
            reached.add(other)
            queue.append(other)
    return reached
