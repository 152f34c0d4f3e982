"""What meters should read in a set: ohms, volts at work. None where nothing can be computed.

A unit is computed as it is left, its supplies measured by its drawing: what a kept modification moves is moved here.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from math import inf, isfinite
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Found, Point, Reading, part_of
from netdiff.comparison.results import Comparison, Coverage, Tally
from netdiff.electrical import Ohmmeter, Operating, Unreadable, operate
from netdiff.powerup.supplies import Supply
from netdiff.readings.side import Side
from netdiff.readings.verdict import changed, explaining

if TYPE_CHECKING:
    from netdiff.electrical import Interval
    from netdiff.electrical.solved import Feed

REST = "rest"


class Meters:
    """One side of a comparison, the drawing or the unit; each state is worked out once."""

    def __init__(self, side: Side) -> None:
        self.side = side
        self.circuit = side.circuit
        self._without: dict[tuple[str, frozenset[str]], Operating] = {}

    @classmethod
    def of(cls, circuit: Circuit) -> Meters:
        """Of a set that is as drawn."""
        return cls(Side(Comparison(circuit, Found(circuit), (), (), Coverage(Tally())), circuit))

    def ohms(self, a: Point, b: Point, state: str = REST) -> Interval | None:
        """Between two points with the power off, the positive lead on ``a``."""
        return _ohms(self.side.ohms(state), a, b) if self._knows(state) else None

    def ohms_or_open(self, a: Point, b: Point) -> Interval | float:
        """The same at rest, open where it cannot be computed."""
        return self.ohms(a, b) or inf

    def volts(self, state: str, a: Point, b: Point = "", without: Collection[str] = ()) -> Interval | None:
        """Direct volts, against ground where no second point is named, in a state under power.

        ``without`` are tubes that are out of their sockets, or whose leads are off: they draw nothing.
        """
        if not self._powered(state):
            return None
        volts = self._operating(state, without).volts(a, b)
        return volts if volts is not None and isfinite(volts.low) and isfinite(volts.high) else None

    def feeds(self, state: str, supply: Supply, without: Collection[str] = ()) -> tuple[Feed, ...]:
        """What a supply gives in a state, by its rectifiers or, from outside, by the net that it feeds."""
        every = self._operating(state, without).feeds if self._powered(state) else ()
        mine = set(supply.rectifiers)
        return tuple(one for one in every if mine & {*one.supply.rectifiers} or one.supply.net in supply.nets)

    def _operating(self, state: str, without: Collection[str]) -> Operating:
        silent = frozenset(part_of(load.a) for load in self.circuit.loads if load.state == state) & {*without}
        if not silent:
            return self.side.direct(state)
        if (state, silent) not in self._without:
            loads = tuple(load for load in self.circuit.loads if part_of(load.a) not in silent)
            lighter = replace(self.circuit, loads=loads)
            self._without[state, silent] = operate(lighter, state, self.side.supplies)
        return self._without[state, silent]

    def _powered(self, state: str) -> bool:
        named = self.circuit.states.get(state)
        return named is not None and named.power

    def _knows(self, state: str) -> bool:
        return state == REST or state in self.circuit.states

    # --- a unit beside its drawing

    def moved(self, reading: Reading) -> Interval | None:
        """What a reading of the chart shows on the unit, where a meter tells that from what it shows on the drawing."""
        drawn = self.side.drawn
        if drawn is None or reading.ac:
            return None
        before, now = Meters(drawn)._shown(reading), self._shown(reading)
        return now if before is not None and now is not None and changed(before, now) else None

    def _shown(self, reading: Reading) -> Interval | None:
        if reading.quantity == "ohms":
            return self.ohms(reading.a, reading.b or self.circuit.ground, reading.state)
        return self.volts(reading.state, reading.a, reading.b) if reading.quantity == "volts" else None

    def why(self, reading: Reading) -> str:
        """The modifications that move it, by their titles."""
        drawn = self.side.drawn
        if drawn is None:
            return ""
        b = reading.b or self.circuit.ground
        cause = explaining(self.side.comparison, drawn, self.side, reading.a, b, reading.state)
        return ", ".join(f"{one.id} ({one.title})" for one in cause[:2])


def _ohms(meter: Ohmmeter, a: Point, b: Point) -> Interval | None:
    try:
        return meter.between(a, b)
    except Unreadable:
        return None
