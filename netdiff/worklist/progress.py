"""Progress that is kept: ticking steps off and taking ticks back, by names that last.

The ticks live in a file beside the found file (`netdiff.worklist.ticks`). A tick is taken only if
what the step waits for is done, and if its readings are within their limits or somebody says why
not. Nothing here says that a unit is safe.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final, NamedTuple

from netdiff.circuit import part_of
from netdiff.language.faults import nearest
from netdiff.worklist.fitted import fitted_part
from netdiff.worklist.steps import Step, WorkList, ends
from netdiff.worklist.ticks import Later, Measured, Sheet, Tick, is_date, measured
from netdiff.worklist.wanted import Refused, Wanted, outside, readings_of, wanted


class Progress(NamedTuple):
    """A work list and its ticks: done and open steps in the order of the list."""

    done: tuple[tuple[Step, Tick], ...]
    open: tuple[Step, ...]
    stray: tuple[Tick, ...]
    """Ticks of steps that are no longer on the list: the found file was changed since."""


def progress(work: WorkList, sheet: Sheet) -> Progress:
    ticked = {tick.step: tick for tick in sheet.ticks}
    done = tuple((step, ticked[step.name]) for step in work.steps if step.name in ticked)
    known = {step.name for step in work.steps}
    left = tuple(step for step in work.steps if step.name not in ticked)
    at_work = {step.hold for step in left if step.action != "discharge"}
    return Progress(
        done,
        # Where nothing is left to do nothing needs to be discharged for it.
        tuple(step for step in left if step.hold in at_work),
        tuple(tick for tick in sheet.ticks if tick.step not in known),
    )


def waits_for(work: WorkList) -> dict[str, tuple[str, ...]]:
    """For each step the steps that must be done before it.

    What the plan says (``needs``), and what follows from the changes themselves: a step works on runs
    and parts that an earlier one put there, or on what an earlier one freed.
    """
    out: dict[str, tuple[str, ...]] = {}
    for number, step in enumerate(work.steps):
        needs = dict.fromkeys(step.needs)
        for earlier in work.steps[:number]:
            if _builds_on(step, earlier):
                needs[earlier.name] = None
        out[step.name] = tuple(needs)
    return out


def _builds_on(step: Step, earlier: Step) -> bool:
    """Whether the step works on what the earlier one put there: a run, a part in its place, a part's terminals."""
    if set(earlier.change.runs_on) & set(step.change.runs_off):
        return True
    came, went = {part.designator for part in earlier.change.parts_on}, set(earlier.change.parts_off)
    if (came | went) & ({part.designator for part in step.change.parts_on} | set(step.change.parts_off)):
        return True
    new = came if went or earlier.action == "fit" else set()
    return bool(new & {part_of(end) for run in step.change.runs_on for end in ends(run)})


def named(work: WorkList, name: str) -> Step:
    """The step of this name, or by its number on the whole list. Raises Refused with the nearest one."""
    try:
        return work.step(name)
    except KeyError:
        pass
    if not work.steps:
        raise Refused("The work list has no step.")
    folded = {step.name.lower(): step for step in work.steps}
    if name.lower() in folded:
        return folded[name.lower()]
    near = nearest(name, [step.name for step in work.steps])
    hint = f"the nearest is {near}" if near else "`netdiff worklist` names them under each step"
    raise Refused(f"The work list has no step {name}: {hint}.")


def tick(
    work: WorkList,
    sheet: Sheet,
    name: str,
    *,
    on: str,
    reads: Sequence[str] = (),
    meter: str = "",
    because: str = "",
    fitted: str = "",
) -> Sheet:
    """The ticks with this step done. Raises Refused, and then nothing has changed."""
    step = named(work, name)
    _dated(on)
    done = {one.step for one in sheet.ticks}
    first = [other for other in waits_for(work)[step.name] if other not in done]
    if first:
        raise Refused(f"{step.name} waits for {_names(first)}: do and tick {_it(first)} first.")
    readings = readings_of(work, step, reads)
    wrong = outside(work, step, readings)
    if wrong and not because.strip():
        told = "; ".join(f"{one.what} reads {one}, and should be {limit.says}" for one, limit in wrong)
        told += _meant(work, step, wrong)
        raise Refused(
            f"{step.name} is not ticked. {told}. Look for the reason first. If it is right as it is, say why: "
            '--because "…"; the reason enters the record.'
        )
    if fitted.strip():
        fitted_part(work, step, fitted)
    new = Tick(step.name, on, readings, meter.strip(), because.strip(), " ".join(fitted.split()))
    if sheet.tick(step.name) is None:
        return sheet._replace(ticks=(*sheet.ticks, new))
    return sheet._replace(ticks=tuple(new if one.step == step.name else one for one in sheet.ticks))


def _meant(work: WorkList, step: Step, wrong: Sequence[tuple[Measured, Wanted]]) -> str:
    """A value that would be right between other points was perhaps read there."""
    said = {one.what for one, _ in wrong}
    for one, _ in wrong:
        for other in wanted(work, step):
            if other.what not in said and other.unit == one.unit and other.allows(one):
                return f'. If that was read otherwise, say so: --reads "{other.what} = {one}"'
    return ""


def untick(work: WorkList, sheet: Sheet, name: str) -> Sheet:
    """The ticks without this one. Raises Refused where a ticked step was built on it, or nothing is ticked so."""
    if sheet.tick(name) is None:
        step = _or_none(work, name)
        if step is None or sheet.tick(step.name) is None:
            near = nearest(name, [one.step for one in sheet.ticks])
            hint = f" The nearest is {near}." if near else ""
            raise Refused(f"{name} is not ticked.{hint}")
        name = step.name
    done = {one.step for one in sheet.ticks}
    waits = waits_for(work)
    later = [step.name for step in work.steps if step.name in done and name in waits[step.name]]
    if later:
        raise Refused(f"{_names(later)} came after {name} and built on it: take {_it(later)} back first.")
    return sheet._replace(ticks=tuple(one for one in sheet.ticks if one.step != name))


def _or_none(work: WorkList, name: str) -> Step | None:
    try:
        return named(work, name)
    except Refused:
        return None


def _names(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _it(names: Sequence[str]) -> str:
    return "it" if len(names) == 1 else "them"


def _dated(on: str) -> None:
    """Raises Refused for what is no date, and for one that is still to come."""
    if not is_date(on):
        raise Refused(f"“{on}” is no date: year, month and day, as 2026-03-09.")
    if date.fromisoformat(on) > date.today():
        raise Refused(f"{on} is still to come: a step is ticked when it is done.")


def take_reading(work: WorkList, sheet: Sheet, told: str, *, on: str, meter: str = "") -> Sheet:
    """The ticks with a reading that belongs to no step: ``hv -- chassis = 15.4k``, ``V6.k = 5.1V in phone``.

    What is read against nothing else is read against the ground. Taken again in the same state, it
    takes the place of the one before. Raises Refused.
    """
    _dated(on)
    match = _READING.fullmatch(told.strip())
    if match is None:
        raise Refused(f'“{told}” is no reading: --reads "hv -- chassis = 15.4k", --reads "V6.k = 5.1V in phone".')
    first, second, value, state = match.groups()
    a = point_named(work, first)
    b = point_named(work, second) if second else work.comparison.stock.ground
    if a == b:
        raise Refused(f"Both ends of this reading are {a}.")
    one = measured(f"{a} -- {b}", value, "ohm")
    if one is None or one.unit not in ("ohm", "V", "Vac"):
        raise Refused(f"“{value}” is no reading between two points: ohms, volts, or open.")
    states = {**work.comparison.stock.states, **work.comparison.found.circuit.states}
    if state and state not in (*states, "rest"):
        near = nearest(state, states)
        raise Refused(f"The drawing has no state {state}." + (f" The nearest is {near}." if near else ""))
    if one.unit != "ohm" and (not state or state == "rest"):
        raise Refused(f'Volts are read in a state with power: --reads "{told.strip()} in {next(iter(states), "on")}".')
    new = Later(one, on, meter.strip(), "" if state in (None, "rest") else state)
    same = (one.what, one.unit, new.state)
    kept = tuple(old for old in sheet.later if (old.reading.what, old.reading.unit, old.state) != same)
    return sheet._replace(later=(*kept, new))


_READING: Final = re.compile(r"([^\s=]+?)(?:\s*--(?!-)\s*([^\s=]+))?\s*=\s*(.+?)(?:\s+in\s+(\S+))?")


def point_named(work: WorkList, name: str) -> str:
    """A terminal or net of the unit or its drawing, by any name that it answers to. Raises Refused."""
    circuits = (work.comparison.found.circuit, work.comparison.stock)
    part, _, terminal = name.partition(".")
    for circuit in circuits:
        if not terminal and name in (*circuit.nets, circuit.ground):
            return name
        lug = circuit.parts[part].kind.lug(terminal) if part in circuit.parts and terminal else None
        if lug is not None:
            return f"{part}.{lug.name}"
        if any(name in (run.a, run.b) for run in circuit.runs):
            return name
    known = {net for circuit in circuits for net in circuit.nets}
    known |= {where for circuit in circuits for one in circuit.parts.values() for where in one.points()}
    near = nearest(name, known)
    raise Refused(f"There is no {name} in the unit or its drawing." + (f" The nearest is {near}." if near else ""))
