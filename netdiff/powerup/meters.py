"""What meters should read in a circuit: ohms at rest, volts in a state. None where nothing can be computed."""

from __future__ import annotations

from math import inf, isfinite
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Point

if TYPE_CHECKING:
    from netdiff.electrical.interval import Interval
    from netdiff.electrical.ohmmeter import Ohmmeter


class Meters:
    """One circuit; each state is worked out once."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self._ohmmeter: Ohmmeter | None = None
        self._operating: dict[str, object] = {}

    def ohms(self, a: Point, b: Point) -> Interval | None:
        """Between two points at rest, the positive lead on ``a``."""
        from netdiff.electrical.ohmmeter import Ohmmeter, Unreadable

        if self._ohmmeter is None:
            self._ohmmeter = Ohmmeter(self.circuit)
        try:
            return self._ohmmeter.between(a, b)
        except Unreadable:
            return None

    def ohms_or_open(self, a: Point, b: Point) -> Interval | float:
        """The same, open where it cannot be computed."""
        return self.ohms(a, b) or inf

    def volts(self, state: str, a: Point) -> Interval | None:
        """Against ground in a state under power."""
        if state not in self.circuit.states:
            return None
        if state not in self._operating:
            self._operating[state] = self._operate(state)
        operating = self._operating[state]
        volts: Interval | None = operating.volts(a) if operating is not None else None  # type: ignore[attr-defined]
        return volts if volts is not None and isfinite(volts.low) and isfinite(volts.high) else None

    def _operate(self, state: str) -> object:
        try:
            from netdiff.electrical import operate
        except ImportError:
            return None
        return operate(self.circuit, state)
