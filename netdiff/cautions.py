"""The usual cautions, as plain text, in one place for every output that sends a hand into a unit.

They are common practice in the trade, told in the order in which they are done. They add to local
electrical code and to the maker's own warnings and take the place of neither.
"""

from __future__ import annotations

from typing import Final

BEFORE_TOUCHING: Final[tuple[str, ...]] = (
    "Unplug the unit and tag the cord, so that nobody plugs it in while a hand is inside.",
    "Discharge every capacitor through a resistor, then short it, then prove with a meter that it is dead.",
    "Leave the jumper on while hands are inside: electrolytics regain charge.",
    "Keep one hand out of the unit, and no ring, watch or chain on either.",
    "Local electrical code and licensed practice come before anything that is printed here.",
)
"""Opens every output that sends a hand, a probe or an iron into a unit; again on every resume."""

OHMS: Final[tuple[str, ...]] = (
    "Measure ohms only with the unit unplugged and discharged, and never across a bare meter movement.",
)
"""With every output that asks for a resistance or continuity reading."""

UNDER_POWER: Final[tuple[str, ...]] = (
    "Clip the meter on cold, stand back, switch on, read, switch off, discharge again.",
    "Watts go into a dummy load, never into an aerial.",
)
"""With every output that asks for a reading of volts, amperes or watts."""

NOT_A_CLEARANCE: Final = "Nothing below means that the unit is safe: it tells what differs and what nobody looked at."
"""Closes the cautions: a list without findings is no clearance."""


def for_cold_work() -> tuple[str, ...]:
    """Everything that is done unplugged: comparing, tracing, the work list."""
    return (*BEFORE_TOUCHING, *OHMS, NOT_A_CLEARANCE)


def for_readings() -> tuple[str, ...]:
    """Work that also takes readings under power."""
    return (*BEFORE_TOUCHING, *OHMS, *UNDER_POWER, NOT_A_CLEARANCE)
