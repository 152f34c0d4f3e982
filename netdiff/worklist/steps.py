"""The values of a work list: steps, the change each makes to the circuit, the reading that proves it.

A step is one action of the trade. What it does is told twice: in plain words (``says``), and as a
``Change`` of the circuit, so that the list can be carried out in the model and shown to end where
the drawing is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

from netdiff.circuit import OPEN, UNFOLLOWED, Circuit, Part, Point, Run, part_of
from netdiff.comparison.results import HOLDS, Comparison, Hold, Modification
from netdiff.electrical.interval import Interval

Action = Literal[
    "discharge", "remove", "cut", "move", "replace", "exchange", "fit", "solder", "bond", "run", "braid", "re-dress",
    "resolder", "tighten", "clean", "set", "inspect",
]  # fmt: skip
"""What the hand does: discharge and prove dead; take a part out; cut or unsolder a run; move a lead; put another part
in a part's place; exchange two plugged-in parts; fit a missing part; solder a connection; bond to ground; run a cable
or a described wire; land a braid; re-dress a conductor; make a joint again; tighten; clean; set a slider; look."""

Expect = Literal["continuity", "open", "ohms", "value", "dead", "inspect"]
"""What the meter shows if the step was done right: no more than the leads' own resistance; no path at all; a
resistance within limits; a part's own value, before it goes in; next to no volts; or nothing that would tell, so that
the eye decides."""


@dataclass(frozen=True, slots=True)
class Proof:
    """The reading after a step, power off and discharged. ``a`` and ``b`` are empty where nothing is metered."""

    expect: Expect
    a: Point = ""
    b: Point = ""
    through: tuple[str, ...] = ()
    """Parts whose own path lies in parallel and would hide the answer."""
    says: str = ""
    reads: Interval | None = None
    """What it reads if the step was done right, at that stage of the work; None where no reading tells. Ohms; of a
    part's own value its kind's unit; volts where it is to be dead."""
    without: str = ""
    """A part to open or pull for the reading: a switch, a fuse, a tube."""
    wrong: Interval | None = None
    """What it reads if the step was not done, or was done in the obvious wrong way."""
    other: Interval | None = None
    """What it reads if the part's other lead was taken for this one; None where that has no other lead, or where this
    reading would not tell."""


@dataclass(frozen=True, slots=True)
class Change:
    """What a step does to the circuit: runs and parts (designators) taken off, runs and parts put on."""

    runs_off: tuple[Run, ...] = ()
    runs_on: tuple[Run, ...] = ()
    parts_off: tuple[str, ...] = ()
    parts_on: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One action. ``name`` is made of the action and its points, and stays when the list is made again."""

    name: str
    action: Action
    says: str
    hold: Hold
    parts: tuple[str, ...] = ()
    points: tuple[Point, ...] = ()
    """Where the iron, the cutters or the eye go, by the unit's own names."""
    zone: str = ""
    change: Change = Change()
    reasons: tuple[str, ...] = ()
    """Ids of the findings that the step clears or helps to clear."""
    modification: str = ""
    cautions: tuple[str, ...] = ()
    proofs: tuple[Proof, ...] = ()
    needs: tuple[str, ...] = ()
    """Names of steps that must be done before this one."""


@dataclass(frozen=True, slots=True)
class WorkList:
    """The steps in the order of work. ``stays`` are the modifications that a ``keep`` leaves in place."""

    comparison: Comparison
    steps: tuple[Step, ...]
    stays: tuple[Modification, ...] = ()
    cautions: tuple[str, ...] = ()
    discharges: tuple[Step, ...] = ()
    """Those of the steps that discharge and prove dead, one for each hold that has steps. They are done again whenever
    work is taken up, ticked or not."""

    def by_hold(self) -> Iterator[tuple[Hold, tuple[Step, ...]]]:
        """The holds that have steps, the earliest first."""
        for hold in HOLDS:
            steps = tuple(step for step in self.steps if step.hold == hold)
            if steps:
                yield hold, steps

    def step(self, name: str) -> Step:
        """Raises KeyError where no step has that name."""
        for step in self.steps:
            if step.name == name:
                return step
        raise KeyError(name)


def apply(step: Step, circuit: Circuit) -> Circuit:
    """The circuit after the step.

    A run that went away earlier together with a part of its own is taken as gone; any other run that
    the step wants to take off and that is not there raises ValueError: the step does not fit this
    circuit, because one that it needs was left out.
    """
    change = step.change
    parts = {name: part for name, part in circuit.parts.items() if name not in change.parts_off}
    parts |= {part.designator: part for part in change.parts_on}
    off = Counter(change.runs_off)
    touched = {run.a for run in off}
    runs = []
    for run in circuit.runs:
        if run.a in touched and off[run] > 0:
            off[run] -= 1
        elif any(part_of(end) in change.parts_off for end in ends(run)):
            run_left = without(run, change.parts_off)
            if run_left is not None:
                runs.append(run_left)
        else:
            runs.append(run)
    for run, count in off.items():
        if count > 0 and all(not part_of(end) or part_of(end) in circuit.parts for end in ends(run)):
            raise ValueError(f"{step.name}: there is no run {run.a} -- {run.b} to take off")
    runs += change.runs_on
    return replace(circuit, parts=MappingProxyType(parts), runs=tuple(runs))


def ends(run: Run) -> tuple[Point, ...]:
    """The real points on which the run lands, by its core and by its braid."""
    return tuple(end for end in (run.a, run.b, *(run.braid or ())) if end not in (OPEN, UNFOLLOWED))


def without(run: Run, parts: tuple[str, ...] | frozenset[str]) -> Run | None:
    """What is left of the run when these parts go: nothing if its core ended there, else its braid end is lifted."""
    if part_of(run.a) in parts or part_of(run.b) in parts:
        return None
    if run.braid is None:
        return run
    c, d = (OPEN if part_of(end) in parts else end for end in run.braid)
    return replace(run, braid=(c, d))
