"""Which named state of the drawing belongs to which stage: by what is live in it and which tubes carry current."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from netdiff.circuit import part_of
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.supplies import Supply, inlets, plugs, primaries
from netdiff.powerup.ways import METAL, positions_in
from netdiff.quantities import show


@dataclass(frozen=True, slots=True)
class States:
    """Names of states; empty where the drawing has none that fits."""

    low: str = ""
    """Ungated plate supplies live, gated ones dead."""
    idle: str = ""
    """Everything live, no current through a final."""
    carrier: tuple[str, ...] = ()
    """Finals carry current, modulators none."""
    modulator: str = ""
    """Finals and modulators carry current."""
    work: str = ""
    """Of a set without r.f. output: at work."""
    cold: tuple[str, ...] = ()
    """Without power, other than at rest."""


def live(anatomy: Anatomy, supply: Supply, state: str) -> bool:
    """Whether the mains reach the supply's transformer in a state. What comes from outside is always there."""
    circuit, ways = anatomy.circuit, anatomy.ways
    named = circuit.states.get(state)
    if named is None or not named.power:
        return False
    if supply.outside:
        return True
    out = {name for name, position in named.settings.items() if position == "out"}
    if out & set(supply.rectifiers):
        return False
    positions = positions_in(circuit, state)
    reached = ways.reach(plugs(ways) or inlets(ways), METAL, positions=positions, without=out)
    if not supply.transformer:
        return all(ways.net(name) in reached for name, net in circuit.nets.items() if net.purpose == "mains")
    return all(net in reached for net in primaries(ways)[supply.transformer])


def states(anatomy: Anatomy) -> States:
    circuit = anatomy.circuit
    plates = anatomy.of_role("plate")
    gated = [one for one in plates if anatomy.gate(one)]
    loaded: dict[str, set[str]] = {}
    for load in circuit.loads:
        loaded.setdefault(load.state, set()).add(part_of(load.a))
    powered = [name for name, state in circuit.states.items() if state.power]
    lives = {name: {i for i, one in enumerate(plates) if live(anatomy, one, name)} for name in powered}

    def first(names: Iterable[str]) -> str:
        return next(iter(names), "")

    whole = [n for n in powered if lives[n] == set(range(len(plates))) and plates]
    finals, modulators = set(anatomy.finals), set(anatomy.modulators)
    carries = [n for n in whole if loaded.get(n, set()) & finals]
    speaks = [n for n in carries if loaded.get(n, set()) & modulators]
    ungated = [n for n in powered if lives[n] and gated and not any(plates[i] in gated for i in lives[n])]
    return States(
        low=first(ungated),
        idle=first(n for n in whole if n not in carries) if finals else "",
        carrier=tuple(n for n in carries if n not in speaks),
        modulator=first(speaks),
        work="" if finals else first(whole) or first(powered),
        cold=tuple(name for name, state in circuit.states.items() if not state.power and name != "rest"),
    )


def settings(anatomy: Anatomy, state: str) -> tuple[str, ...]:
    """What a hand sets for a state, and what then moves by itself."""
    circuit = anatomy.circuit
    named = circuit.states.get(state)
    if named is None:
        return ()
    hand, itself, delayed, keys, out = [], [], [], [], []
    for name, position in named.settings.items():
        part = circuit.parts.get(name)
        family = part.kind.family if part is not None else ""
        label = f" ({part.label})" if part is not None and part.label else ""
        if part is not None and part.kind.name == "delay-relay":
            seconds = part.ratings.get("s")
            delayed.append(f"{name} closes after its delay" + (f", {show(seconds, 's')}." if seconds else "."))
        elif family == "relay":
            itself.append(name)
        elif position == "out":
            out.append(name)
        elif family == "jack":
            down = f"{name}.tip" in anatomy.keys and position == "closed"
            keys.append(f"{name}{label}: key down." if down else f"{name}{label}: {position}.")
        else:
            hand.append(f"{name}{label} {'to' if family else 'at'} {position}")
    lines = [f"Set {', '.join(hand)}."] if hand else []
    lines += keys
    if not keys and anatomy.keys:
        lines.append("Key up.")
    lines += delayed
    if itself:
        lines.append(f"{', '.join(itself)} {'closes by itself' if len(itself) == 1 else 'close by themselves'}.")
    if out:
        lines.append(f"Out: {', '.join(out)}.")
    return tuple(lines)
