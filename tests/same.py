"""Whether two circuits say the same, statement by statement: for what is written out and read back."""

from __future__ import annotations

from collections import Counter
from typing import Any

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Run
from netdiff.nets import Union


def parts(one: Circuit) -> dict[str, Any]:
    return {name: part_says(part) for name, part in one.parts.items()}


def part_says(part: Part) -> tuple[Any, ...]:
    kind = part.kind
    lugs = {lug.name for lug in kind.terminals}
    return (kind.name, kind.type, kind.positions, kind.hangs, lugs, part.value, part.span, dict(part.ratings),
            part.tolerance, part.words, part.label, part.zone, part.at)  # fmt: skip


def run_says(run: Run, *, unit: bool = False) -> tuple[Any, ...]:
    """A run in one direction, without its places; ``unit``: and how it is known, and its condition."""
    a, b, braid = run.a, run.b, run.braid
    if not run.direct and a > b:
        a, b, braid = b, a, braid and (braid[1], braid[0])
    more = (run.evidence, run.conditions) if unit else ()
    return (a, b, run.conductor, run.cable, run.cable_type, run.length, run.gauge, run.text, braid, run.bare,
            tuple(sorted(run.gaps)), run.direct, *more)  # fmt: skip


def runs(one: Circuit, *, unit: bool = False) -> Counter[tuple[Any, ...]]:
    return Counter(run_says(run, unit=unit) for run in one.runs)


def rest(one: Circuit) -> tuple[Any, ...]:
    """Everything but parts and runs."""

    def bare(items: Any) -> list[Any]:
        return [item._replace(places=()) for item in items]

    nets = {name: (n.purpose, n.volts, n.ac, n.band, n.impedance, n.power, n.shielded) for name, n in one.nets.items()}
    states = {name: (s.title, s.power, dict(s.settings)) for name, s in one.states.items()}
    zones = {name: zone.title for name, zone in one.zones.items()}
    return (one.title, one.ground, zones, nets, sorted(one.insulated), bare(one.windings), states, bare(one.loads),
            bare(one.readings), bare(one.signals), one.drawing, one.ohms_per_volt)  # fmt: skip


def nets(one: Circuit) -> set[frozenset[str]]:
    """The nets, by everything that the runs bring; braids join nothing here."""
    out = Union()
    for run in one.runs:
        for where in (run.a, run.b):
            if where not in (OPEN, UNFOLLOWED):
                out.add(where)
        if run.joins:
            out.join(run.a, run.b)
    return {frozenset(group) for group in out.groups()}
