"""Random circuits and random units of them, as values: for laws that need no text.

``circuit`` makes a stock circuit, ``rewired`` tells its wiring again in another shape, ``damaged``
changes it by random edits, ``unit`` puts these together and forgets part of the tracing.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace

from netdiff.circuit import Circuit, Found, Kind, Lug, Net, Part, Place, Run, part_of, terminal_of
from netdiff.nets import circuit_nets


def two_ended(name: str, family: str, unit: str, letter: str) -> Kind:
    return Kind(
        name, terminals=(Lug("1"), Lug("2")), ends=("1", "2"), swaps=((("1",), ("2",)),), hangs=True,
        unit=unit, family=family, letters=(letter,),
    )  # fmt: skip


RESISTOR = two_ended("resistor", "resistor", "ohm", "R")
CAPACITOR = two_ended("capacitor", "capacitor", "F", "C")
JACK = Kind("jack-2", terminals=(Lug("tip"), Lug("sleeve")), letters=("J",))
TUBE = Kind(
    "tube", type="6V6GT", letters=("V",), plugs=True, swaps=((("h1",), ("h2",)),),
    terminals=(Lug("1", tie=True), Lug("h1", ("2",)), Lug("p", ("3",)), Lug("g2", ("4",)), Lug("g1", ("5",)),
               Lug("6", tie=True), Lug("h2", ("7",)), Lug("k", ("8",))),
)  # fmt: skip


def circuit(rng: random.Random, parts: int, *, names: bool = True) -> Circuit:
    """A circuit of about ``parts`` parts with nets of random size."""
    made: dict[str, Part] = {}
    for number in range(1, parts + 1):
        roll = rng.random()
        if roll < 0.45:
            made[f"R{number}"] = Part(f"R{number}", RESISTOR, value=rng.choice([1e3, 22e3, 47e3]), zone="z")
        elif roll < 0.7:
            made[f"C{number}"] = Part(f"C{number}", CAPACITOR, value=rng.choice([1e-9, 1e-8]), zone="z")
        elif roll < 0.85:
            made[f"V{number}"] = Part(f"V{number}", TUBE, zone="z")
        else:
            made[f"J{number}"] = Part(f"J{number}", JACK, zone="z")
    points = [f"{d}.{lug.name}" for d, part in made.items() for lug in part.kind.terminals if not lug.tie]
    rng.shuffle(points)
    groups: list[list[str]] = [["chassis"], ["b+"]] if names else [[], []]
    groups += [[] for _ in range(max(2, len(points) // 3))]
    for where in points:
        rng.choice(groups).append(where)
    runs = [Run(group[rng.randrange(i)], group[i]) for group in groups for i in range(1, len(group))]
    nets = {"chassis": Net("chassis"), "b+": Net("b+", "supply", 250.0)} if names else {}
    return Circuit("random", "random.stock", parts=made, nets=nets, runs=tuple(runs))


Lead = list[str]


def rewired(stock: Circuit, rng: random.Random) -> list[Lead]:
    """The same nets over other leads, interchangeable parts turned round at random."""
    turned = {d for d, part in stock.parts.items() if part.kind.hangs and rng.random() < 0.5}

    def written(where: str) -> str:
        name = part_of(where)
        return f"{name}.{'2' if terminal_of(where) == '1' else '1'}" if name in turned else where

    leads = []
    for net in circuit_nets(stock).members:
        points = [written(where) for where in net]
        rng.shuffle(points)
        leads += [[points[rng.randrange(i)], points[i]] for i in range(1, len(points))]
    return leads


@dataclass
class Bench:
    parts: dict[str, Part]
    leads: list[Lead]
    missing: set[str] = field(default_factory=set)
    done: list[str] = field(default_factory=list)


EDITS = ("cut", "join", "move", "stranger", "series", "take", "value")


def damaged(bench: Bench, rng: random.Random, edits: tuple[str, ...] = EDITS) -> None:
    """One random edit of the wiring or of a part."""
    edit = rng.choice(edits)
    points = [f"{d}.{lug.name}" for d, part in bench.parts.items() for lug in part.kind.terminals if not lug.tie]
    leads = bench.leads
    if edit == "cut" and leads:
        leads.pop(rng.randrange(len(leads)))
    elif edit == "join":
        leads.append([rng.choice(points), rng.choice(points)])
    elif edit == "move" and leads:
        leads[rng.randrange(len(leads))][0] = rng.choice(points)
    elif edit in ("stranger", "series"):
        name = f"?R{900 + len(bench.parts)}"
        a, b = rng.choice(points), rng.choice(points)
        if edit == "series" and leads:
            a, b = leads.pop(rng.randrange(len(leads)))
        bench.parts[name] = Part(name, RESISTOR, value=1e3)
        leads += [[f"{name}.1", a], [f"{name}.2", b]]
    elif edit == "take" and not all(d.startswith("?") for d in bench.parts):
        name = rng.choice(sorted(d for d in bench.parts if not d.startswith("?")))
        del bench.parts[name]
        bench.missing.add(name)
        leads[:] = [lead for lead in leads if name not in (part_of(lead[0]), part_of(lead[1]))]
    elif edit == "value":
        valued = sorted(d for d, part in bench.parts.items() if part.value)
        if valued:
            name = rng.choice(valued)
            bench.parts[name] = replace(bench.parts[name], value=(bench.parts[name].value or 1) * 3)
    bench.done.append(edit)


def unit(
    stock: Circuit, rng: random.Random, edits: int, *, traced: float = 1.0, kinds: tuple[str, ...] = EDITS
) -> Found:
    """A unit with ``edits`` random edits, of which a share ``traced`` of the terminals was looked at."""
    bench = Bench(dict(stock.parts), rewired(stock, rng))
    for _ in range(edits):
        if len(bench.parts) > 1:
            damaged(bench, rng, kinds)
    return found(stock, bench, rng, traced)


def found(stock: Circuit, bench: Bench, rng: random.Random, traced: float = 1.0) -> Found:
    leads = [lead for lead in bench.leads if lead[0] != lead[1]]
    runs = tuple(Run(a, b, places=(Place("random.found", i + 1),)) for i, (a, b) in enumerate(leads))
    wiring = Circuit("unit", "random.found", parts=bench.parts, nets=stock.nets, runs=runs)
    everything = [
        f"{d}.{lug.name}" for d, part in {**stock.parts, **bench.parts}.items() for lug in part.kind.terminals
    ]
    seen = frozenset(where for where in everything if traced >= 1 or rng.random() < traced)
    return Found(wiring, traced=seen, mentioned=frozenset(bench.parts), missing=frozenset(bench.missing))
