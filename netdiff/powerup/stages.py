"""A stage of the power-up, what is asked in it, and the table of stages that the trade knows (``stages.yaml``)."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any, Final, NamedTuple

from netdiff import resources
from netdiff.circuit import Point
from netdiff.quantities import show

COLD: Final = ("look", "cold")
"""Stages with the plug out and no voltage from anywhere."""

_MARK: Final = re.compile(r"\bS\d+\b")

UNITS: Final = {"ohms": "ohm", "volts": "V", "amps": "A", "watts": "W", "seconds": "s", "yes": ""}


class Ask(NamedTuple):
    """One thing that is read, or answered with yes. SI units; a bound of None is none.

    ``basis`` says from where the limits come: ``factory`` (its chart), ``drawing`` (a net's or winding's
    figure), ``computed``, ``trade`` (common practice; the sources stand in ``stages.yaml``).
    """

    name: str
    """As it is written in the log: ``hv``, ``V3.h1--V3.h2``, ``hv@keyed``, ``lit``."""
    quantity: str
    low: float | None = None
    high: float | None = None
    basis: str = ""
    a: Point = ""
    b: Point = ""
    state: str = ""
    must: bool = True
    """The stage has not passed without it; the others are for the record."""
    says: str = ""
    ac: bool = False
    open: bool = False
    """An open circuit is what is expected, and ``low`` the least that passes for one."""

    @property
    def unit(self) -> str:
        return "Vac" if self.ac and self.quantity == "volts" else UNITS[self.quantity]

    @property
    def limits(self) -> str:
        """``292 V to 356 V``, ``open, or over 1 MΩ``, ``at most 1.1 mA``."""
        low, high = (None if v is None else show(v, self.unit, 3) for v in (self.low, self.high))
        if self.open:
            return f"open, or over {low}" if low else "open"
        if low is None and high is None:
            return "yes" if self.quantity == "yes" else "write it down"
        if high is None:
            return f"at least {low}"
        if not self.low:
            return f"at most {high}"
        if self.low < 0 and (self.high or 0) <= 0:
            return f"{high} to {low}"
        return f"{low} to {high}"

    def holds(self, value: float) -> bool:
        """Whether a value (``math.inf`` for an open circuit) lies within the limits, bounds included."""
        slack = 1e-9 * abs(value) if abs(value) != float("inf") else 0.0
        return (self.low is None or value >= self.low - slack) and (self.high is None or value <= self.high + slack)


@dataclass(frozen=True, slots=True)
class Stage:
    key: str
    title: str
    why: str
    powered: bool
    r_f: bool = False
    """It makes radio frequency."""
    connect: tuple[str, ...] = ()
    set: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    stop: tuple[str, ...] = ()
    asks: tuple[Ask, ...] = ()
    source: str = ""
    """From where its place in the order and its limits come; ``sourced`` writes it out."""
    charge: tuple[str, ...] = ()
    """What still holds charge after it, and for how long."""

    def ask(self, name: str) -> Ask | None:
        return next((one for one in self.asks if one.name == name), None)

    @property
    def plugged(self) -> bool:
        """The set itself has power; a capacitor is formed with the plug out."""
        return self.key not in (*COLD, "reform")

    @property
    def musts(self) -> tuple[Ask, ...]:
        return tuple(one for one in self.asks if one.must)


table: Final = partial(resources.table, __file__, "stages")
"""The stages, their sources and figures."""


def figure(name: str) -> dict[str, Any]:
    """A row of figures, SI units, with its source."""
    row: dict[str, Any] = table()["figures"][name]
    return row


def order() -> tuple[str, ...]:
    return tuple(table()["stages"])


def sourced(text: str) -> str:
    """A source with what its marks stand for in their place: ``S3`` becomes a page."""
    sources: dict[str, str] = table()["sources"]
    return _MARK.sub(lambda match: sources.get(match[0], match[0]), text)


def sources_of(stages: Iterable[Stage]) -> dict[str, str]:
    """The marks that these stages use, each with what it stands for."""
    used = {mark for stage in stages for mark in _MARK.findall(stage.source)}
    return {mark: says for mark, says in table()["sources"].items() if mark in used}
