"""Supplies that stay charged: no way for the charge to go, a way too slow, or the drawn bleeder gone."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from netdiff.circuit import Point
from netdiff.comparison.words import some
from netdiff.electrical.charge import Store, blocking, lumps_of, stores
from netdiff.electrical.limits import limit
from netdiff.electrical.modulation import Swing, swings
from netdiff.electrical.ohmmeter import Ohmmeter
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side


@lru_cache(maxsize=8)
def stored(side: Side) -> tuple[Store, ...]:
    """Every store of a side, at the most that it reaches in any state, and that it climbs to with the key up."""
    climbing = {where: swing for where, swing in crests(side).items() if "choke input" in swing.because}

    def most(a: Point, b: Point) -> float | None:
        best: float | None = None
        for state in side.powered:
            volts = side.direct(state).volts_nominal(a, b)
            if volts is not None and (best is None or abs(volts) > abs(best)):
                best = volts
        for sign, where, other in ((1, a, b), (-1, b, a)):
            swing = climbing.get(where)
            if swing is not None and side.same(other, side.circuit.ground) and swing.crest > abs(best or 0.0):
                best = sign * math.copysign(swing.crest, swing.dc)
        return best

    return stores(side.circuit, meter(side).between, most)


@lru_cache(maxsize=8)
def crests(side: Side) -> dict[Point, Swing]:
    """Every point that a supply feeds, with its crest."""
    return swings(side.circuit, meter(side).between)


@lru_cache(maxsize=8)
def meter(side: Side) -> Ohmmeter:
    return Ohmmeter(blocking(side.circuit))


@lru_cache(maxsize=8)
def lumps(side: Side) -> list[int]:
    """Each net's place: chokes, fuses and meters do not part it."""
    return lumps_of(side.circuit, side.nets)


def no_bleeder(side: Side) -> Iterator[Hazard]:
    """Stores that never fall to the limit, or too slowly; those that touch each other are told together."""
    slow = [store for store in stored(side) if store.seconds > limit("slow_discharge")]
    for group in _touching(side, slow):
        lost = _lost(side, group)
        never = all(store.seconds == math.inf for store in group)
        says = f"{some(told(store) for store in group)} "
        says += "stays charged" if len(group) == 1 else "stay charged"
        says += (
            f": nothing discharges {'it' if len(group) == 1 else 'them'} with the power off."
            if never
            else f" for {_time(max(s.seconds for s in group))}."
        )
        if not never:
            says += f" The way that it has is {show(group[0].ohms, 'ohm', 3)}."
        if lost:
            says += f" {some(lost)}, which the drawing has for that, does not do it."
        names = {store.net for store in group}
        told_before = [h.key for h in no_bleeder(side.drawn) if h.key[0] == "charge"] if side.drawn else []
        yield Hazard(
            next((key for key in told_before if names <= set(key[1:]) and not lost), ("charge", *sorted(names))),
            says,
            tuple(dict.fromkeys([*lost, *(name for store in group for name in store.parts)])),
            nets=tuple(store.net for store in group if store.net in side.circuit.nets),
        )
    told_of = {store.net for store in slow}
    for store in stored(side):
        lost = [] if store.net in told_of else _lost(side, [store])
        lost = [name for name in lost if store.ohms > (side.stock.parts[name].value or 0.0)]
        if lost:
            before = next((one for one in stored(side.drawn) if one.net == store.net), None) if side.drawn else None
            meant = any("bleeder" in side.stock.parts[name].label.lower() for name in lost)
            if not meant and (
                store.seconds < limit("quick_discharge") or (before and store.seconds < 2 * before.seconds)
            ):
                continue
            says = f"{told(store)} has lost its bleeder, {some(lost)}. What is left is a way of "
            says += f"{show(store.ohms, 'ohm', 3)} through parts that are there for something else: "
            says += f"{_time(store.seconds)} to {show(limit('discharged'), 'V')} as long as every one of them holds"
            says += f", {_time(before.seconds)} as drawn." if before is not None and before.seconds < math.inf else "."
            yield Hazard(("bleeder", store.net, *lost), says, tuple(lost), nets=(store.net,))


def told(store: Store) -> str:
    """``hv (16 µF at up to 520 V, 2.2 J)``."""
    volts = f"{'rated ' if store.by_rating else 'up to '}{show(store.volts, 'V', 3)}"
    return f"{store.net} ({show(store.farads, 'F', 3)} at {volts}, {show(store.joules, 'J', 2)})"


def _lost(side: Side, group: Sequence[Store]) -> list[str]:
    """Bleeders of the drawing across these stores that do not lie across them any more."""
    drawn = side.drawn
    if drawn is None:
        return []
    out = []
    for name in bleeders(drawn):
        ends = [f"{name}.{end}" for end in drawn.circuit.parts[name].kind.ends or ()]
        store = next((one for one in group if _across(drawn, one, ends)), None)
        if store is None:
            continue
        here = side.circuit.parts.get(name)
        burnt = here is not None and here.measured is not None and not here.measured < 10 * (here.value or math.inf)
        if here is None or burnt or not _across(side, store, ends):
            if not _replaced(side, store, drawn):
                out.append(name)
    return out


def _replaced(side: Side, store: Store, drawn: Side) -> bool:
    """Whether what lies across the store now does about as much as what the drawing has there."""
    now = meter(side).between(*store.across).nominal
    return any(one.net == store.net and now <= 2 * one.ohms for one in stored(drawn) if one.ohms < math.inf)


@lru_cache(maxsize=8)
def bleeders(side: Side) -> tuple[str, ...]:
    """Resistors straight across a store: whatever they are called, the charge goes through them."""
    index, lump = side.nets.index, lumps(side)
    stood = [{lump[index[where]] for where in store.across} for store in stored(side)]
    out = []
    for name, part in side.circuit.parts.items():
        if part.kind.family == "resistor" and part.kind.ends is not None:
            if {lump[index[f"{name}.{end}"]] for end in part.kind.ends} in stood:
                out.append(name)
    return tuple(out)


def _across(side: Side, store: Store, ends: Sequence[Point]) -> bool:
    """Whether these two points lie across a store, over its chokes too."""
    index, lump = side.nets.index, lumps(side)
    if any(where not in index for where in (*ends, *store.across)):
        return False
    return {lump[index[where]] for where in ends} == {lump[index[where]] for where in store.across}


def _touching(side: Side, group: Sequence[Store]) -> list[list[Store]]:
    """Stores that a resistance joins are one danger."""
    ohms = meter(side).between
    out: list[list[Store]] = []
    for store in group:
        home = next(
            (other for other in out if any(ohms(hot(side, store), hot(side, one)).nominal < math.inf for one in other)),
            None,
        )
        if home is None:
            out.append([store])
        else:
            home.append(store)
    return out


def hot(side: Side, store: Store) -> Point:
    """The place of a store that is not ground."""
    return store.across[1] if store.across[0] == side.circuit.ground else store.across[0]


def _time(seconds: float) -> str:
    if seconds >= 120:
        return f"{seconds / 60:.0f} minutes" if seconds < 7200 else f"{seconds / 3600:.0f} hours"
    return show(seconds, "s", 2)


RULES = (
    Rule(
        "no-bleeder",
        "supplies that stay charged when the power goes",
        "The charge of a filter capacitor kills long after the plug is out.",
        "power",
        "IEC 60335-1, 8.1.4 (copy): 0.1 uF, 45 uC; MIL-PRF-49192A (seen): 60 V; common practice: 100 ohms per volt",
        no_bleeder,
    ),
)
