"""What a comparison hands on: raw differences, the findings that explain them, modifications, coverage."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from netdiff.circuit import Circuit, Found, Place, Point

Hold = Literal["power", "transmit", "deliver", "none"]
HOLDS: tuple[Hold, ...] = ("power", "transmit", "deliver", "none")


def _empty() -> MappingProxyType[str, Any]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Raw:
    """One raw difference of the two graphs, before anybody says what it means.

    ``sort`` is ``cut`` (a block of terminals left its stock net), ``join`` (a block came onto a
    net that is not its own), ``part`` (a part extra, missing or other than drawn), ``run`` (a
    conductor other than drawn), ``braid``, ``state`` (a condition, a bare length, a gap) or
    ``place`` (right net, wrong point).
    """

    key: str
    """Unique in one comparison; does not depend on the order of statements."""
    sort: str
    points: tuple[Point, ...] = ()
    parts: tuple[str, ...] = ()
    stock_net: int = -1
    """For cut and join: the index of the stock net that the block belongs to."""
    found_net: int = -1
    """For cut and join: the index of the found net that the block is on."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One difference with its name. ``explains`` are the keys of the raw differences it accounts for."""

    kind: str
    says: str
    hold: Hold
    why: str
    parts: tuple[str, ...] = ()
    terminals: tuple[Point, ...] = ()
    nets: tuple[str, ...] = ()
    at: tuple[Place, ...] = ()
    explains: tuple[str, ...] = ()
    id: str = ""
    modification: str = ""
    foreign: tuple[str, ...] = ()
    """Foreign parts and run keys that this finding shares with others of its modification."""
    drawn: bool = False
    """A hazard that the drawing has as well."""
    follows: tuple[str, ...] = ()
    """Of a hazard: the raw differences that bring it about."""


@dataclass(frozen=True, slots=True)
class Modification:
    id: str
    title: str
    findings: tuple[str, ...]
    parts: tuple[str, ...] = ()
    """The parts it added."""
    kept: bool = False
    reason: str = ""
    """Why it stays, in the words of the found file."""
    hold: Hold = "none"
    """The earliest hold among its findings."""


@dataclass(frozen=True, slots=True)
class Tally:
    terminals: int = 0
    agree: int = 0
    differ: int = 0
    not_traced: int = 0


@dataclass(frozen=True, slots=True)
class Coverage:
    """Terminals of the stock circuit: how many agree, differ, and were not looked at."""

    total: Tally
    zones: Mapping[str, Tally] = field(default_factory=_empty)
    not_traced: tuple[Point, ...] = ()
    differ: tuple[Point, ...] = ()


class Reading(NamedTuple):
    """A way to lay the circuits over each other: the options of ``scene.build``."""

    guess: bool = True
    blame: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    stock: Circuit
    found: Found
    findings: tuple[Finding, ...]
    modifications: tuple[Modification, ...]
    coverage: Coverage
    raw: tuple[Raw, ...] = ()
    notes: tuple[str, ...] = ()
    """Differences that are none, worth a line: sections exchanged, a part turned round."""
    production: str = ""
    """Which production the unit was compared with, and why, in a sentence; empty where there is one only."""
    look_next: tuple[Point, ...] = ()
    """Untraced terminals whose tracing would settle most, best first."""
    cost: float = 0.0
    """The total cost of the explanation, by the table of costs."""
    reading: Reading = field(default_factory=Reading)
    """How the circuits were laid over each other."""

    def finding(self, name: str) -> Finding:
        return next(f for f in self.findings if f.id == name)
