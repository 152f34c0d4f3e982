"""What the circuit puts on its parts: the most in any of the drawing's states with power."""

from __future__ import annotations

from collections.abc import Mapping

from netdiff.readings.side import Side
from netdiff.worklist.buying import Seen


def stresses(side: Side) -> Mapping[str, Seen]:
    """Volts across each resistor and capacitor and watts in each resistor (d.c., nominal values), the worst state.

    What no state of the drawing reaches has no entry: then the drawing's rating is all that is known.
    """
    out: dict[str, Seen] = {}
    for state in side.powered:
        operating = side.direct(state)
        if operating.trouble:
            continue
        for name, part in side.circuit.parts.items():
            if part.kind.ends is None or part.kind.family not in ("resistor", "capacitor"):
                continue
            volts, watts = operating.across(name), operating.watts(name)
            old = out.get(name, Seen())
            seen = Seen(
                _more(old.volts, None if volts is None else abs(volts.nominal)),
                _more(old.watts, None if watts is None else abs(watts.nominal)),
            )
            if seen != Seen():
                out[name] = seen
    return out


def _more(old: float | None, new: float | None) -> float | None:
    return new if old is None else old if new is None else max(old, new)
