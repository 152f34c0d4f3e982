"""Which readings a step asks for, and between which limits they must lie.

A part that goes in is measured by itself; what the step joins reads as a wire, what it parts reads
open. Limits in SI units, from ``accept.yaml`` and from the drawing's tolerances.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from netdiff.circuit import Circuit, Part, part_of, terminal_of
from netdiff.comparison.limits import tolerance_of
from netdiff.electrical.limits import limit
from netdiff.quantities import show
from netdiff.worklist.steps import Proof, Step, WorkList
from netdiff.worklist.ticks import ABOVE, Measured, measured

_MEASURED_UNITS: Final = {"ohm": "ohms", "F": "farads", "H": "henries"}
_UNIT_WORDS: Final = {**_MEASURED_UNITS, "V": "volts"}


class Refused(Exception):
    """Why a tick is not taken, in a sentence or two for the person at the bench."""


class Wanted(NamedTuple):
    """One reading that a step asks for: what is measured, in which unit, its least and greatest value (SI)."""

    what: str
    unit: str
    low: float
    high: float

    @property
    def own(self) -> bool:
        """A part's own value, and not a path between two points."""
        return " -- " not in self.what

    @property
    def says(self) -> str:
        """``31.5 kΩ to 38.5 kΩ``, ``at most 1 Ω``, ``open``."""
        low, high = (show(_short(one), self.unit) if math.isfinite(one) else "" for one in (self.low, self.high))
        if math.isinf(self.high):
            return f"{low} or more, or open"
        return f"{low} to {high}" if self.low > 0 else f"at most {high}"

    def allows(self, reading: Measured) -> bool:
        if reading.value is None:
            return math.isinf(self.high)
        slack = 1e-9 * abs(reading.value)
        if reading.bound == ABOVE:
            return math.isinf(self.high) and reading.value >= self.low - slack
        return self.low - slack <= reading.value <= self.high + slack


def _short(value: float) -> float:
    """To four digits: limits that were computed have many."""
    return float(f"{value:.4g}")


@cache
def table(name: str) -> dict[str, Any]:
    """One of the YAML tables beside this module."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    with Path(__file__).with_name(f"{name}.yaml").open(encoding="utf-8") as text:
        loaded: dict[str, Any] = yaml.load(text, Loader=loader)
    return loaded


def wanted(work: WorkList, step: Step) -> tuple[Wanted, ...]:
    """The readings in the order in which the work list names them: the part's own first."""
    out = [one for part in _measurable(work.comparison.stock, step) if (one := _own(part)) is not None]
    for proof in step.proofs:
        if proof.expect == "dead":
            out.append(Wanted(f"{proof.a} -- {proof.b}", "V", 0.0, float(table("accept")["dead"]["volts"])))
        elif proof.expect in ("continuity", "open", "ohms") and proof.a:
            out.append(_path(work, proof))
    return tuple(dict.fromkeys(out))


def _measurable(stock: Circuit, step: Step) -> list[Part]:
    """Parts that the step puts in or looks at, as drawn."""
    if step.action not in ("replace", "fit", "inspect"):
        return []
    return [stock.parts[part.designator] for part in step.change.parts_on if part.designator in stock.parts]


def _own(part: Part) -> Wanted | None:
    """The part's own value between the drawing's limits; an adjustable one is measured end to end."""
    if part.value is None or part.kind.unit not in _MEASURED_UNITS or len(part.kind.terminals) > 3:
        return None
    if part.kind.family not in ("resistor", "capacitor", "inductor"):
        return None
    down, up = tolerance_of(part)
    return Wanted(part.designator, part.kind.unit, part.value * (1 - down), part.value * (1 + up))


def _path(work: WorkList, proof: Proof) -> Wanted:
    """Between two points: what the proof predicts, give or take what the meter and its leads may be off."""
    accept = table("accept")
    what = f"{proof.a} -- {proof.b}"
    if proof.expect == "ohms" and proof.reads is not None:
        off, leads = float(accept["meter"]["share"]), float(accept["meter"]["leads"])
        high = proof.reads.high * (1 + off) + leads
        return Wanted(what, "ohm", proof.reads.low * (1 - off), math.inf if high >= accept["open"]["ohms"] else high)
    if proof.expect == "open":
        return Wanted(what, "ohm", float(accept["open"]["ohms"]), math.inf)
    if any(_earth(work, where) for where in (proof.a, proof.b)):
        return Wanted(what, "ohm", 0.0, limit("earth_bond"))
    return Wanted(what, "ohm", 0.0, float(accept["continuity"]["ohms"]))


def _earth(work: WorkList, where: str) -> bool:
    """Whether the point is the protective earth of the cord or inlet, or a net declared so."""
    net = work.comparison.stock.nets.get(where)
    if net is not None:
        return net.purpose == "earth"
    for circuit in (work.comparison.stock, work.comparison.found.circuit):
        part = circuit.parts.get(part_of(where))
        if part is not None and part.kind.name.startswith(("cord", "inlet")):
            return terminal_of(where) == "E"
    return False


def readings_of(work: WorkList, step: Step, told: Sequence[str]) -> tuple[Measured, ...]:
    """What was typed as readings of a step, each put to what it is a reading of.

    ``R18 = 35.1k`` and ``E8.1 -- C61.+ = 0.3`` say it. A bare value is taken where it can mean one thing
    only: the step asks for one reading, or for one part's own value, or gets all of them in order.
    Raises Refused where that is not so.
    """
    asked = wanted(work, step)
    if len(told) > 1 and len(told) == len(asked) and not any("=" in text for text in told):
        return tuple(_reading(one, text) for one, text in zip(asked, told, strict=True))
    out = []
    for text in told:
        what, equal, value = text.rpartition("=")
        out.append(_reading(_named(step, asked, what) if equal else _only(step, asked), value))
    names = [one.what for one in out]
    for name in names:
        if names.count(name) > 1:
            raise Refused(f"{name} is read twice: give one reading of it.")
    return tuple(out)


def _only(step: Step, asked: Sequence[Wanted]) -> Wanted:
    own = [one for one in asked if one.own]
    if len(own) == 1:
        return own[0]
    if len(asked) == 1:
        return asked[0]
    if not asked:
        raise Refused(f"{step.name} asks for no reading: it is proven by looking. Tick it without --reads.")
    raise Refused(
        f"{step.name} asks for {len(asked)} readings: {_told(asked)}. Say which one it is: "
        f'--reads "{asked[0].what} = 0.2".'
    )


def _named(step: Step, asked: Sequence[Wanted], what: str) -> Wanted:
    # A dash right before the two belongs to a name: `b---R1.2`.
    ends = {piece.strip() for piece in re.split(r"--(?!-)", what)}
    for one in asked:
        if ends == set(one.what.split(" -- ")):
            return one
    if not asked:
        raise Refused(f"{step.name} asks for no reading: it is proven by looking. Tick it without --reads.")
    raise Refused(f"{step.name} asks for no reading of {what.strip()}. It asks for {_told(asked)}.")


def _told(asked: Sequence[Wanted]) -> str:
    return "; ".join(f"{one.what} ({one.says})" for one in asked)


def _reading(one: Wanted, text: str) -> Measured:
    reading = measured(one.what, text, one.unit)
    if reading is None:
        raise Refused(f"“{text.strip()}” is no reading. {one.what} is to be {one.says}.")
    if reading.unit != one.unit:
        raise Refused(f"{one.what} is measured in {_UNIT_WORDS[one.unit]}; “{text.strip()}” is something else.")
    return reading


def outside(work: WorkList, step: Step, readings: Sequence[Measured]) -> tuple[tuple[Measured, Wanted], ...]:
    """The readings that are not between the limits of what they are a reading of."""
    asked = {one.what: one for one in wanted(work, step)}
    return tuple((one, asked[one.what]) for one in readings if one.what in asked and not asked[one.what].allows(one))
