"""The reading that proves each step, with its limits and with what it would read if the step was done wrong.

A reading proves a step when it differs, beyond all tolerances, from what it was before the step: that is what it still
reads when the hand slipped, the joint stayed open or the old part stayed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import inf

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, part_of
from netdiff.electrical.interval import Interval
from netdiff.quantities import show
from netdiff.worklist.ohms import Stage, Stages, can_open
from netdiff.worklist.steps import Proof, Step

LEADS = 0.5
"""Ohms of test leads and joints: less is continuity; common practice."""

MOST_OHMS = 20e6
"""More than that most meters show as open; common practice."""

SLACK = 0.03
"""What a meter may be off; common practice."""

MEASURED = ("resistor", "inductor", "lamp")
"""Families of parts that a reading across their ends tells by its ohms."""


def with_limits(unit: Circuit, steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps with their readings worked out. Near linear in the size of the unit, and in the number of steps."""
    points = {where for step in steps for proof in step.proofs for where in (proof.a, proof.b) if where}
    stages = Stages(unit, steps, points)
    out = []
    for number, step in enumerate(steps):
        before, after = stages.at[number], stages.at[number + 1]
        proofs = [_measured(proof, before, after, unit, step) for proof in step.proofs]
        more = list(_across(step, before, after, unit, proofs))
        if more:
            proofs = [proof for proof in proofs if proof.expect != "inspect" or proof.a]
        out.append(replace(step, proofs=tuple(dict.fromkeys((*proofs, *more)))))
    return tuple(out)


def _measured(proof: Proof, before: Stage, after: Stage, unit: Circuit, step: Step) -> Proof:
    """One reading with its limits, or, where the step leaves it as it was, by what the eye does instead."""
    if not proof.a or not proof.b or not after.has(proof.a) or not after.has(proof.b):
        return proof
    told = _told(proof.a, proof.b, before, after)
    if told is not None:
        return told
    for name in proof.through:
        if can_open(unit.parts.get(name)):
            opened = _told(proof.a, proof.b, before, after, name, unit.parts[name])
            if opened is not None:
                return opened
    if proof.expect == "inspect":
        return proof
    now = after.between(proof.a, proof.b)
    return replace(proof, expect="inspect", says=_no_reading(proof.a, proof.b, now))


def _no_reading(a: Point, b: Point, now: Interval) -> str:
    shown = "open" if now.low == inf else _ohms(now)
    return f"No reading tells: {a} to {b} reads {shown} before and after. Inspect the joint."


def _told(a: Point, b: Point, before: Stage, after: Stage, without: str = "", part: Part | None = None) -> Proof | None:
    now, was = after.between(a, b, without), before.between(a, b, without)
    if not apart(now, was) or after.movement(a, b, without):
        return None
    wrong = "still open" if was.low == inf else "still joined" if was.high <= LEADS else "not done"
    return replace(proof_of(a, b, now, was, wrong, _opening(without, part)), without=without)


def _opening(name: str, part: Part | None) -> str:
    if part is None:
        return ""
    if not part.kind.plugs:
        return f"With {name} open, "
    return f"With {name} out of its {'socket' if part.kind.name == 'tube' else 'holder'}, "


def proof_of(a: Point, b: Point, now: Interval, was: Interval, wrong: str, opening: str = "") -> Proof:
    """A reading that tells, in words with its limits."""
    if now.low == inf:
        expect, reads = "open", "open"
    elif now.high <= LEADS:
        expect, reads = "continuity", "continuity"
    else:
        expect, reads = "ohms", _ohms(now)
    otherwise = "open" if was.low == inf else "continuity" if was.high <= LEADS else _ohms(was, short=True)
    says = f"{opening}{a} to {b} reads {reads}; {wrong}, it reads {otherwise}."
    return Proof(expect, a, b, (), says, ohms=now, wrong=was)  # type: ignore[arg-type]


def apart(now: Interval, was: Interval) -> bool:
    """Whether a meter tells one from the other, its own error and the leads included."""
    if now.low == inf and was.low == inf:
        return False
    if now.low == inf:
        return was.high < MOST_OHMS
    if was.low == inf:
        return now.high < MOST_OHMS
    return now.high * (1 + SLACK) + LEADS < was.low * (1 - SLACK) or (
        was.high * (1 + SLACK) + LEADS < now.low * (1 - SLACK)
    )


def _ends(step: Step, unit: Circuit, before: Stage, after: Stage) -> Iterator[tuple[Point, Point, str]]:
    """Where the two ends of a part land that a step fits, puts in another's place or takes out, and the part, where its
    resistance is worth reading. Read on the lugs: on its own leads a part with an open end reads as it should."""
    change = step.change
    for part in change.parts_on:
        if part.kind.ends is not None and part.kind.family in MEASURED:
            yield from _landed(part.designator, after.runs)
    if step.action == "remove":
        for name in change.parts_off:
            gone = unit.parts.get(name)
            if gone is not None and gone.kind.ends is not None and gone.kind.family in MEASURED:
                yield from _landed(name, before.runs)


def _landed(name: str, runs: Iterable[Run]) -> Iterator[tuple[Point, Point, str]]:
    landed: dict[Point, Point] = {}
    for run in runs:
        for mine, other in ((run.a, run.b), (run.b, run.a)):
            if part_of(mine) == name and part_of(other) != name and other not in (OPEN, UNFOLLOWED):
                landed.setdefault(mine, other)
    if len(landed) == 2:
        a, b = (landed[mine] for mine in sorted(landed))
        if a != b:
            yield a, b, name


def _across(step: Step, before: Stage, after: Stage, unit: Circuit, proofs: Sequence[Proof]) -> Iterator[Proof]:
    """A reading across the part that went in or out, in circuit: what it reads, and with an end open, or as it was."""
    told = {frozenset((proof.a, proof.b)) for proof in proofs if proof.expect != "inspect"}
    for a, b, name in _ends(step, unit, before, after):
        if frozenset((a, b)) in told or not after.has(a) or not after.has(b):
            continue
        now = after.between(a, b)
        if after.movement(a, b):
            continue
        gone = step.action == "remove"
        wrongs = [(before.between(a, b), "not done" if gone else "as it was")]
        if not gone:
            wrongs.insert(0, (after.between(a, b, name), "with an end still open"))
        for was, wrong in wrongs:
            if apart(now, was):
                yield proof_of(a, b, now, was, wrong)
                break


def _ohms(value: Interval, *, short: bool = False) -> str:
    def one(ohms: float) -> str:
        return "open" if ohms == inf else show(float(f"{ohms:.3g}"), "ohm")

    if short or value.low == value.high:
        return one(value.nominal) if value.nominal < inf else f"more than {one(value.low)}"
    if value.nominal == inf:
        return f"more than {one(value.low)}"
    return f"{one(value.nominal)}, between {one(value.low)} and {one(value.high)}"
