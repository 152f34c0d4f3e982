"""The steps that make the unit fit to be touched: discharge and prove dead, at the start and wherever power may have
been on since."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from netdiff.circuit import Circuit, Point
from netdiff.comparison.results import HOLDS, Comparison, Hold
from netdiff.comparison.words import some
from netdiff.electrical.charge import Store, Volts, stores
from netdiff.electrical.interval import Interval
from netdiff.hazards.charge import crests
from netdiff.quantities import show
from netdiff.readings.side import Side
from netdiff.worklist.steps import Proof, Step, apply
from netdiff.worklist.wanted import table


def discharges(comparison: Comparison, unit: Circuit, steps: Sequence[Step]) -> tuple[Step, ...]:
    """One for each hold that has steps. ``unit`` is the unit as found under its own names, with the drawing's nets."""
    out: list[Step] = []
    now, done = unit, 0
    for hold in HOLDS:
        here = [number for number, step in enumerate(steps) if step.hold == hold]
        if not here:
            continue
        for step in steps[done : here[0]]:
            now = apply(step, now)
        done = here[0]
        # How long it stays is the hazards' business.
        charged = stores(now, lambda a, b: inf, _climbing(Side(comparison, now)))
        out.append(_step(hold, charged, first=not out))
    return tuple(out)


def _climbing(side: Side) -> Volts:
    """Volts to which a supply behind a choke climbs when nothing loads it: more than the drawing names."""
    crest = {where: swing.crest for where, swing in crests(side).items() if "choke input" in swing.because}
    ground = side.circuit.ground

    def volts(a: Point, b: Point) -> float | None:
        for sign, where, other in ((1, a, b), (-1, b, a)):
            if where in crest and side.same(other, ground):
                return sign * crest[where]
        return None

    return volts


def _step(hold: Hold, charged: Sequence[Store], *, first: bool) -> Step:
    row = table("accept")["dead"]
    when = "before a hand goes in" if first else "power may have been on since"
    says = (
        f"Discharge and prove dead ({when}): plug out and tagged; through {show(float(row['through']), 'ohm')} on an "
        "insulated lead, then with a short, then the meter. Leave the jumper on while hands are inside."
    )
    if not charged:
        says += " The drawing names no volts: take every electrolytic for charged, and read across its own terminals."
    return Step(
        name=f"discharge_{hold}",
        action="discharge",
        says=says,
        hold=hold,
        parts=tuple(dict.fromkeys(name for store in charged for name in store.parts)),
        points=tuple(dict.fromkeys(where for store in charged for where in store.across)),
        proofs=tuple(_proof(store) for store in charged),
    )


def _proof(store: Store) -> Proof:
    most = float(table("accept")["dead"]["volts"])
    a, b = store.across if store.across[0] == store.net else store.across[::-1]
    volts = show(float(f"{store.volts:.3g}"), "V")
    rated = ", their rating" if store.by_rating else ""
    says = f"{a} to {b} ({some(store.parts)}) reads less than {show(most, 'V')}; still charged, up to {volts}{rated}."
    return Proof("dead", a, b, (), says, Interval(0.0, 0.0, most), wrong=Interval(most, store.volts, store.volts))


def among(discharged: Sequence[Step], steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps of the list, each hold opened by its discharge."""
    first = {step.hold: step for step in discharged}
    out: list[Step] = []
    for step in steps:
        if step.hold in first:
            out.append(first.pop(step.hold))
        out.append(step)
    return tuple(out)


def with_nets(unit: Circuit, stock: Circuit) -> Circuit:
    """The unit with what the drawing says of its nets."""
    return replace(unit, nets={**stock.nets, **unit.nets})
