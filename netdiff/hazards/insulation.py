"""Gaps, bare lengths and cables beside the crest of the voltage between the two points.

The wiring comparison judges a gap by the drawing's d.c.; what is keyed or modulated stands higher for moments, and air
does not wait. ``numbers`` gives the figures that belong to what the comparison has told already.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from netdiff.circuit import Point, Run
from netdiff.comparison.results import Finding
from netdiff.comparison.words import some
from netdiff.electrical import clearance, coax
from netdiff.electrical.limits import limit
from netdiff.electrical.modulation import between
from netdiff.hazards.charge import crests
from netdiff.hazards.line import line
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side


class Stress(NamedTuple):
    """What a gap has to hold. Volts (crest) and metres."""

    volts: float
    needed: float
    because: str


def stress(side: Side, a: Point, b: Point) -> Stress | None:
    """The crest between two points, the gap that it asks for, and what makes it more than the d.c.; None if unknown."""
    one = line(side)
    on_line = [where for where in (a, b) if one is not None and one.net(where) in one.live]
    if on_line and one is not None:
        crest = one.volts * math.sqrt(2)
        needed = clearance.least_on_mains(crest)
        return Stress(crest, max(needed or 0.0, clearance.least(crest)), "the mains")
    known = crests(side)
    crest_ = between(known, a, b)
    if crest_ is None:
        return None
    because = [known[where].because for where in (a, b) if known[where].because]
    return Stress(crest_, clearance.least(crest_), some(because))


def exposed(side: Side) -> Iterator[Hazard]:
    """Gaps that the d.c. allows and the crest does not."""
    told = _told(side)
    for run in side.circuit.runs:
        for gap in run.gaps:
            asks = stress(side, run.a, gap.to)
            if asks is None or gap.distance >= asks.needed or _mentions(told, run, gap.to):
                continue
            says = f"{run.a} to {run.b} comes within {show(gap.distance, 'm')} of {gap.to}: {_asks(asks)}."
            parts = tuple(dict.fromkeys(w.partition(".")[0] for w in (run.a, run.b) if "." in w))
            yield Hazard((run.a, run.b, gap.to), says, parts, (run.a, run.b), at=run.places)


def numbers(side: Side) -> Iterator[tuple[str, str]]:
    """Findings of the comparison (by id) about bare metal, with the figures that belong to them; of the unit."""
    for finding in side.comparison.findings:
        if finding.kind != "exposed-conductor":
            continue
        said = []
        for run in side.circuit.runs:
            if {run.a, run.b} != set(finding.terminals) or not set(run.places) & set(finding.at):
                continue
            for gap in run.gaps:
                asks = stress(side, run.a, gap.to)
                if asks is not None and asks.because and gap.distance < asks.needed:
                    said.append(f"To {gap.to} {_asks(asks)}.")
            if run.bare and not run.gaps:
                asks = stress(side, run.a, side.circuit.ground)
                if asks is not None and asks.volts > limit("discharged"):
                    why = f" ({asks.because})" if asks.because and asks.because != "the mains" else ""
                    said.append(
                        f"It stands at up to {show(asks.volts, 'V', 3)} crest{why}; whatever is bare wants "
                        f"{show(asks.needed, 'm', 3)} of air to the chassis."
                    )
        if said:
            yield finding.id, " ".join(said)


def cables(side: Side) -> Iterator[Hazard]:
    """Coaxial cables on more than they stand."""
    for run in side.circuit.runs:
        cable = coax.cable(run.cable_type) if run.cable_type else None
        if cable is None or run.a not in side.nets.index:
            continue
        swing = crests(side).get(run.a)
        stands = cable.volts * math.sqrt(2)
        if swing is not None and swing.crest > stands:
            says = f"{run.cable_type} from {run.a} to {run.b} stands {show(stands, 'V', 3)} crest and sees "
            says += f"{show(swing.crest, 'V', 3)}" + (f" ({swing.because})." if swing.because else ".")
            yield Hazard((run.a, run.b), says, terminals=(run.a, run.b), at=run.places)


def _asks(asks: Stress) -> str:
    why = f" ({asks.because})" if asks.because else ""
    return f"{show(asks.volts, 'V', 3)} crest{why} ask for {show(asks.needed, 'm', 3)} of air"


def _told(side: Side) -> list[Finding]:
    return [one for one in side.comparison.findings if one.kind == "exposed-conductor"]


def _mentions(told: list[Finding], run: Run, where: Point) -> bool:
    return any({run.a, run.b} == set(one.terminals) and f"from {where}" in one.says for one in told)


RULES = (
    Rule(
        "exposed-conductor",
        "gaps too small for the crest of a keyed or modulated supply, and on the mains",
        "It arcs over in the first loud word or when the key comes up.",
        "power",
        "IPC-2221 table 6-1, bare conductors (copy); mains IEC 60065 (copy); crest 1 + m times d.c. (textbook)",
        exposed,
    ),
    Rule(
        "overstressed",
        "coaxial cable on more than it stands",
        "It breaks down inside, where nobody sees it.",
        "power",
        "JAN-C-17A class tables, MIL-C-17G (copy and from memory, the lower figure)",
        cables,
    ),
)

FIGURES = (numbers,)
"""Functions that give sentences of figures for findings of the comparison."""
