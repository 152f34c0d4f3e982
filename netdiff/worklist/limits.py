"""The reading that proves each step, with its limits and with what it would read if the step was done wrong.

A reading proves a step when it differs, beyond all tolerances, from what it would be had the hand slipped: the step not
done, an end still open, the part's other lead taken for the right one. What a part reads by itself, before it goes in,
proves that it is the right one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import inf

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, part_of
from netdiff.comparison.limits import tolerance_of
from netdiff.electrical.interval import Interval
from netdiff.quantities import show
from netdiff.worklist.ohms import Asked, Stage, can_open, stages
from netdiff.worklist.steps import Proof, Step

LEADS = 0.5
"""Ohms of test leads and joints: less is continuity; common practice."""

MOST_OHMS = 20e6
"""More than that most meters show as open; common practice."""

SLACK = 0.03
"""What a meter may be off; common practice."""

MEASURED = ("resistor", "inductor", "lamp", "fuse")
"""Families of parts that a reading across their ends tells by its ohms."""

MOST_JOINTS = 4
"""Of a part with many leads that many are read."""

OWN = ("resistor", "capacitor", "inductor")
"""Families of parts that are measured before they go in."""


def with_limits(unit: Circuit, steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps with their readings worked out. Near linear in the size of the unit, and in the number of steps."""
    asked = [_asked(unit, step) for step in steps]
    out = []
    now = dict(unit.parts)
    for step, (before, after) in zip(steps, stages(unit, steps, asked), strict=True):
        out.append(replace(step, proofs=_proofs(step, before, after, now)))
        for name in step.change.parts_off:
            now.pop(name, None)
        now |= {part.designator: part for part in step.change.parts_on}
    return tuple(out)


def _asked(unit: Circuit, step: Step) -> Asked:
    points = frozenset(where for proof in step.proofs for where in (proof.a, proof.b) if where)
    parts = {name for proof in step.proofs for name in proof.through}
    if step.action in ("move", "cut"):
        parts |= {name for where in step.points if (name := part_of(where)) in unit.parts}
    if step.action == "resolder":
        parts |= {part_of(where) for where in step.points if part_of(where)} | set(step.parts)
    return Asked(points, frozenset(parts))


def _proofs(step: Step, before: Stage, after: Stage, parts: dict[str, Part]) -> tuple[Proof, ...]:
    """``parts`` are those that are there before the step."""
    planned = [_measured(proof, before, after, parts, step) for proof in step.proofs]
    more = [*_own(step, parts), *_across(step, before, after, parts, planned)]
    told = [proof for proof in planned if proof.expect != "inspect"]
    if not any(proof.a and proof.b for proof in (*told, *more)):
        more += _joints(step, after)
    if told or more:
        # A joint that no reading tells is still looked at; of what is told otherwise nothing more is said.
        kept = step.action == "resolder"
        planned = [p for p in planned if p.expect != "inspect" or kept or (p.a and not _covers(more, p))]
    return tuple(dict.fromkeys((*planned, *more)))


def _covers(proofs: Iterable[Proof], other: Proof) -> bool:
    return any({proof.a, proof.b} == {other.a, other.b} for proof in proofs)


# --- between the points of the plan -----------------------------------------------------------------------------------


def _measured(proof: Proof, before: Stage, after: Stage, parts: dict[str, Part], step: Step) -> Proof:
    """One reading with its limits, or, where the step leaves it as it was, by what the eye does instead."""
    if not proof.a or not proof.b:
        return proof
    if not after.has(proof.a) or not after.has(proof.b):
        # A net's name is no place for a probe when nothing hangs there any more.
        return Proof("inspect", says="No reading tells. Inspect that no end of a lead is left.")
    told = _told(proof.a, proof.b, before, after, step)
    if told is not None:
        return told
    for name in proof.through:
        if can_open(parts.get(name)):
            opened = _told(proof.a, proof.b, before, after, step, name, parts[name])
            if opened is not None:
                return opened
    if proof.expect == "inspect":
        return proof
    now = after.between(proof.a, proof.b)
    return replace(proof, expect="inspect", says=_no_reading(proof.a, proof.b, now, step))


def _no_reading(a: Point, b: Point, now: Interval, step: Step) -> str:
    shown = "open" if now.low == inf else "continuity" if now.high <= LEADS else _ohms(now)
    look = "that nothing is left" if step.action in ("remove", "cut") else "the joint"
    return f"No reading tells: {a} to {b} reads {shown} before and after. Inspect {look}."


def _told(
    a: Point, b: Point, before: Stage, after: Stage, step: Step, without: str = "", part: Part | None = None
) -> Proof | None:
    now, was = after.between(a, b, without), before.between(a, b, without)
    if not apart(now, was) or after.movement(a, b, without):
        return None
    wrong = "still open" if was.low == inf else "still joined" if was.high <= LEADS else "not done"
    proof = replace(proof_of(a, b, now, (wrong, was), _opening(without, part)), without=without)
    lead = _other_lead(step, before)
    if lead is None or without:
        return proof
    name, stage = lead
    other = stage.between(a, b)
    if not apart(now, other) or not apart(other, was):
        return proof if not apart(now, other) else replace(proof, other=other)
    says = f"{proof.says.removesuffix('.')}; with {name} instead, {_reads(other)}."
    return replace(proof, other=other, says=says)


def _other_lead(step: Step, before: Stage) -> tuple[Point, Stage] | None:
    """The unit with the step done to the other lead of a part that hangs by two; the lead's name."""
    if step.action not in ("move", "cut") or len(step.change.runs_off) != 1:
        return None
    (gone,) = step.change.runs_off
    new = step.change.runs_on[0] if step.change.runs_on else None
    for mine in (gone.a, gone.b):
        if new is not None and mine not in (new.a, new.b):
            continue
        part = before.part(part_of(mine))
        if part is None or part.kind.ends is None or not part.kind.hangs:
            continue
        first, last = (f"{part.designator}.{end}" for end in part.kind.ends)
        other = last if mine == first else first
        leads = [run for run in before.runs if other in (run.a, run.b) and run.joins]
        if len(leads) != 1 or mine not in (first, last):
            continue
        there = None if new is None else new.b if new.a == mine else new.a
        if there == other:
            continue
        return other, before.otherwise(leads, [] if there is None else [Run(other, there)])
    return None


def _opening(name: str, part: Part | None) -> str:
    if part is None:
        return ""
    if not part.kind.plugs:
        return f"With {name} open, "
    return f"With {name} out of its {'socket' if part.kind.name == 'tube' else 'holder'}, "


def proof_of(a: Point, b: Point, now: Interval, wrong: tuple[str, Interval], opening: str = "") -> Proof:
    """A reading that tells, in words with its limits."""
    if now.low == inf:
        expect, reads = "open", "open"
    elif now.high <= LEADS:
        expect, reads = "continuity", "continuity"
    else:
        expect, reads = "ohms", _ohms(now)
    says = f"{opening}{a} to {b} reads {reads}; {wrong[0]}, {_reads(wrong[1])}."
    return Proof(expect, a, b, (), says, reads=now, wrong=wrong[1])  # type: ignore[arg-type]


def _reads(value: Interval) -> str:
    return (
        f"it reads {'open' if value.low == inf else 'continuity' if value.high <= LEADS else _ohms(value, short=True)}"
    )


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


# --- on what was soldered ---------------------------------------------------------------------------------------------


def _joints(step: Step, after: Stage) -> Iterator[Proof]:
    """Each joint that the step made: as it reads now, and with that end left open."""
    if step.action not in ("replace", "fit", "run", "solder", "bond", "move", "resolder"):
        return
    new = {part.designator for part in step.change.parts_on if not part.kind.plugs}
    again = set(step.points) if step.action == "resolder" else set()
    made = [run for run in after.runs if run in step.change.runs_on or _lands_on(run, new) or again & {run.a, run.b}]
    # Not what holds together in the model alone: where nobody looked, and two names of one lug.
    made = [run for run in made if run.joins and run.evidence != "as-drawn" and run.conductor != "body"]
    for run in made[:MOST_JOINTS]:
        now, was = after.between(run.a, run.b), after.otherwise([run]).between(run.a, run.b)
        if apart(now, was) and not after.movement(run.a, run.b):
            yield proof_of(run.a, run.b, now, ("with an end still open", was))


def _lands_on(run: Run, names: set[str]) -> bool:
    return (part_of(run.a) in names) != (part_of(run.b) in names)


def _ends(step: Step, parts: dict[str, Part], before: Stage, after: Stage) -> Iterator[tuple[Point, Point, str]]:
    """Where the two ends of a part land that a step fits, puts in another's place or takes out, and the part, where its
    resistance is worth reading. Read on the lugs: on its own leads a part with an open end reads as it should."""
    change = step.change
    for part in change.parts_on:
        if part.kind.ends is not None and part.kind.family in MEASURED:
            yield from _landed(part.designator, after.runs)
    if step.action == "remove":
        for name in change.parts_off if len(change.parts_off) == 1 else ():
            gone = parts.get(name)
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


def _across(
    step: Step, before: Stage, after: Stage, parts: dict[str, Part], proofs: Sequence[Proof]
) -> Iterator[Proof]:
    """A reading across the part that went in or out, in circuit: what it reads, and with an end open, or as it was."""
    told = {frozenset((proof.a, proof.b)) for proof in proofs if proof.expect != "inspect"}
    for a, b, name in _ends(step, parts, before, after):
        if frozenset((a, b)) in told or not after.has(a) or not after.has(b):
            continue
        now = after.between(a, b)
        if after.movement(a, b):
            continue
        gone = step.action == "remove"
        wrongs = [("not done" if gone else "as it was", before.between(a, b))]
        if not gone:
            part = after.part(name)
            word = f"with {name} out" if part is not None and part.kind.plugs else "with an end still open"
            wrongs.insert(0, (word, after.between(a, b, name)))
        for wrong in wrongs:
            if apart(now, wrong[1]):
                yield proof_of(a, b, now, wrong)
                break


# --- of a part by itself ----------------------------------------------------------------------------------------------


def _own(step: Step, parts: dict[str, Part]) -> Iterator[Proof]:
    """What a part measures before it goes in, and what the one that came out was: told where they differ."""
    if step.action != "replace":
        return
    for part in step.change.parts_on:
        old = parts.get(part.designator) or next((parts[n] for n in step.change.parts_off if n in parts), None)
        if old is None or part.value is None or part.kind.family not in OWN or len(part.kind.terminals) > 3:
            continue
        was = old.measured if old.measured is not None else old.value
        if was is None or old.kind.unit != part.kind.unit:
            continue
        now = _between(part, part.value)
        before = Interval(was * 0.95, was, was * 1.05) if old.measured is not None else _between(old, was)
        if now.high < before.low or before.high < now.low:
            unit = part.kind.unit
            low, nominal, high = (show(float(f"{value:.3g}"), unit) for value in now)
            yield Proof(
                "value", part.designator, "", (),
                f"Before it goes in, {part.designator} measures {nominal}, between {low} and {high}; "
                f"the one that comes out was {show(was, unit)}.",
                reads=now, wrong=before,
            )  # fmt: skip


def _between(part: Part, value: float) -> Interval:
    down, up = tolerance_of(part)
    return Interval(value * (1 - down), value, value * (1 + up))


def _ohms(value: Interval, *, short: bool = False) -> str:
    def one(ohms: float) -> str:
        return "open" if ohms == inf else show(float(f"{ohms:.3g}"), "ohm")

    if short or value.low == value.high:
        return one(value.nominal) if value.nominal < inf else f"more than {one(value.low)}"
    if value.nominal == inf:
        return f"more than {one(value.low)}"
    return f"{one(value.nominal)}, between {one(value.low)} and {one(value.high)}"
