"""The unit as it is left: the found circuit with every ticked step carried out in it, and compared again."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from netdiff.circuit import UNFOLLOWED, Circuit, Found, Point, Reading, Run, part_of
from netdiff.comparison import Comparison, compare_circuits
from netdiff.comparison.merged import as_found, scene_of
from netdiff.electrical.interval import Interval
from netdiff.electrical.ohmmeter import Ohmmeter, Unreadable
from netdiff.hazards import examine
from netdiff.language.writing_out import stock_text
from netdiff.nets import Union, joints
from netdiff.worklist.fitted import fitted_part
from netdiff.worklist.planner import WITHOUT_CHANGE
from netdiff.worklist.progress import progress
from netdiff.worklist.steps import Step, WorkList, apply, ends
from netdiff.worklist.ticks import Later, Sheet, Tick
from netdiff.worklist.wanted import Refused

if TYPE_CHECKING:
    from netdiff.catalogue import Catalogue


def as_left(work: WorkList, sheet: Sheet) -> Found:
    """The unit after its ticked steps. What nobody looked at is still what nobody looked at.

    Raises Refused where the ticks do not fit the list: the found file was changed under them.
    """
    found = work.comparison.found
    now = found.circuit
    done = progress(work, sheet).done
    for step, tick in done:
        try:
            now = _as_done(work, apply(step, now), step, tick)
        except ValueError as error:
            raise Refused(f"The ticks do not fit the work list any more: {error}.") from None
    if not done and not sheet.later:
        return found
    put_on = {part.designator for step, _ in done for part in step.change.parts_on}
    put_on |= {fitted_part(work, step, tick.fitted).designator for step, tick in done if tick.fitted}
    cleared = {where for step, _ in done if step.action in WITHOUT_CHANGE for where in step.points}
    known_as = scene_of(work.comparison).alignment.alias
    left_so = replace(
        found,
        circuit=replace(now, readings=tuple(one for one in now.readings if one.open and not _joined(now, one))),
        traced=found.traced | {name for w in found.traced if part_of(name := known_as.get(w, "")) in put_on},
        missing=found.missing - put_on,
        missing_sockets=found.missing_sockets - put_on,
        mentioned=frozenset(found.mentioned & set(now.parts) | put_on),
        unfollowed=found.unfollowed - (_ending_nowhere(found.circuit.runs) - _ending_nowhere(now.runs)),
        conditions=tuple(one for one in found.conditions if one[0] not in cleared),
    )
    worked_on = _worked_on(now, [step for step, _ in done])
    readings = (
        *_still_true(work.comparison, left_so, sheet, worked_on),
        *(one for later in sheet.later if (one := _read(later))),
    )
    return replace(left_so, circuit=replace(now, readings=readings))


def _as_done(work: WorkList, now: Circuit, step: Step, tick: Tick) -> Circuit:
    """What a part that went in is, where a tick says so, and what it measured by itself."""
    parts = dict(now.parts)
    came = [part.designator for part in step.change.parts_on]
    if tick.fitted:
        part = fitted_part(work, step, tick.fitted)
        parts[part.designator] = replace(part, zone=parts[part.designator].zone)
        came.append(part.designator)
    for name in dict.fromkeys(came):
        for reading in tick.readings:
            if reading.what == name and reading.value is not None and reading.unit == parts[name].kind.unit:
                parts[name] = replace(parts[name], measured=reading.value)
    return replace(now, parts=MappingProxyType(parts))


def _joined(now: Circuit, one: Reading) -> bool:
    """Whether a conductor leads from one point of the reading to the other."""
    wired = Union()
    for a, b in joints(now.runs):
        wired.join(a, b)
    return wired.find(one.a) == wired.find(one.b or now.ground)


def _worked_on(now: Circuit, steps: Iterable[Step]) -> Callable[[Point], bool]:
    """Whether the work had to do with the net that a point is on; never true of the ground."""
    wired = Union()
    for a, b in joints(now.runs):
        wired.join(a, b)
    touched = set()
    for step in steps:
        change = step.change
        points = {*step.points, *(end for run in (*change.runs_off, *change.runs_on) for end in ends(run))}
        for name in {*step.parts, *(part.designator for part in change.parts_on)} & set(now.parts):
            points.update(now.parts[name].points())
        touched |= {wired.find(where) for where in points}
    touched.discard(wired.find(now.ground))
    return lambda where: wired.find(where) in touched


def _still_true(
    before: Comparison, after: Found, sheet: Sheet, worked_on: Callable[[Point], bool]
) -> Iterator[Reading]:
    """Readings as found that the work does not touch: nothing was done on either net, and a meter is predicted to
    show the same before and after.

    What was read again since gives way to the new reading; what was read under power, to the work.
    """
    old = before.found.circuit.readings
    again = {frozenset(later.reading.what.split(" -- ")) for later in sheet.later}
    ground = before.stock.ground
    mine = [one for one in old if one.quantity == "ohms" and frozenset((one.a, one.b or ground)) not in again]
    mine = [one for one in mine if not worked_on(one.a) and not worked_on(one.b or ground)]
    if not mine:
        return
    then, now = (as_found(one) for one in (before, compare_circuits(before.stock, after)))
    for one in mine:
        try:
            shown = [Ohmmeter(circuit, one.state).between(one.a, one.b or ground) for circuit in (then, now)]
        except Unreadable:  # a point went with the part that it was on
            continue
        if _same(*shown):
            yield one


def _same(one: Interval, other: Interval) -> bool:
    return all(a == b or math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-9) for a, b in zip(one, other, strict=True))


def _read(later: Later) -> Reading | None:
    """A reading after the work, as the comparison takes readings."""
    one = later.reading
    quantity = {"ohm": "ohms", "V": "volts"}.get(one.unit)
    if quantity is None:
        return None
    a, b = one.what.split(" -- ")
    low = one.value if one.bound else None
    return Reading(quantity, a, b, None if one.bound else one.value, low, open=one.value is None,
                   state=later.state or "rest")  # fmt: skip


def _ending_nowhere(runs: Iterable[Run]) -> frozenset[Point]:
    """Points from which a lead goes that nobody followed."""
    return frozenset(end for run in runs if UNFOLLOWED in (run.a, run.b) for end in (run.a, run.b))


def compared_again(work: WorkList, sheet: Sheet) -> Comparison:
    """The unit as left, compared with its drawing and examined for hazards.

    Of a unit that was traced in part new findings may come to light: a lead taken off a wrong net shows
    what it lacks.
    """
    old = work.comparison
    return examine(compare_circuits(old.stock, as_left(work, sheet), old.production))


def left(comparison: Comparison) -> tuple[str, ...]:
    """Ids of the findings that are still there: not kept, and no hazard that the drawing has as well."""
    kept = {name for one in comparison.modifications if one.kept for name in one.findings}
    return tuple(one.id for one in comparison.findings if one.id not in kept and not one.drawn)


def drawn_hazards(comparison: Comparison) -> tuple[str, ...]:
    """Ids of the hazards that the unit shares with its drawing: no work that follows the drawing clears them."""
    return tuple(one.id for one in comparison.findings if one.drawn)


def as_left_text(
    again: Comparison, heading: Iterable[str], *, uses: Iterable[str] = (), catalogue: Catalogue | None = None
) -> str:
    """The unit as left as a stock file, so that the next person starts from what is there.

    Where nobody looked it is as the factory drew it. Charts of readings are the factory's.
    """
    now = as_found(again)
    title = f"{now.title}, as left"
    return stock_text(replace(now, title=title), heading, uses=uses, catalogue=catalogue)
