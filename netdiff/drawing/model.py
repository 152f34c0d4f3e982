"""What a diagram shows: boxes for parts, joints for nets, lines for conductors, each in one circuit or in both.

The stock circuit and the unit as found are one picture. Every item says in which of the two it is
(``stock``, ``found``), so that the three views of a comparison are the same picture with some items
left out, and whoever lays them side by side finds the same parts in the same places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from netdiff.circuit import Part, Run, Winding

Mark = Literal["", "missing", "added", "changed", "touched", "unseen"]
"""How an item differs. ``touched`` is said of the drawing alone: the unit differs here. ``unseen``: nobody looked."""


class CannotDraw(Exception):
    """What stands in the way of the picture, and what would help, in one sentence for a person."""


class End(NamedTuple):
    """Where a line ends: a terminal of a box, or a joint (``terminal`` is then empty)."""

    item: str
    terminal: str = ""


class Presence(NamedTuple):
    """In which of the two circuits an item is."""

    stock: bool = True
    found: bool = True


BOTH = Presence()
STOCK_ONLY = Presence(found=False)
FOUND_ONLY = Presence(stock=False)


@dataclass(frozen=True, slots=True)
class Box:
    """A part: its designator, what it is as drawn and as found, its terminals in order."""

    name: str
    alias: str = ""
    """What the found file calls it, where that is another designator."""
    drawn: tuple[str, ...] = ()
    """What the drawing says of it, a line each: kind or value, label. Empty where it has no such part."""
    seen: tuple[str, ...] = ()
    """What it is in the unit. Empty where it is missing."""
    terminals: tuple[str, ...] = ()
    zone: str = ""
    presence: Presence = BOTH
    mark: Mark = ""
    words: tuple[str, ...] = ()
    """What differs, in words: ``added``, ``other value``."""
    numbers: tuple[int, ...] = ()
    """The modifications that it belongs to, counted from 1."""
    two_ended: bool = False
    """A part that a chain passes through: it is drawn lying, one end on either side."""
    inputs: frozenset[str] = frozenset()
    """Terminals that the flow of the drawing enters by: grids, primaries."""
    spots: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    """Terminal -> the lug that it is to land on and the lug that it lands on, where that differs."""
    stock: Part | None = None
    """The part itself as drawn."""
    unit: Part | None = None
    """The part itself as found."""
    aside: bool = False
    """It differs, and the picture is about another modification."""


@dataclass(frozen=True, slots=True)
class Joint:
    """What several conductors share.

    ``sort`` is ``dot`` (a net without a name), ``name`` (with one: a net's, or a tie point's),
    ``ground`` or ``supply`` (drawn anew wherever a terminal is on it), ``open`` (an end in the air) or
    ``more`` (the way goes on outside this picture).
    """

    name: str
    sort: str = "dot"
    text: str = ""
    detail: str = ""
    """Nominal voltage of a named net."""
    zone: str = ""
    presence: Presence = BOTH

    @property
    def repeated(self) -> bool:
        return self.sort in ("ground", "supply", "reference")


@dataclass(frozen=True, slots=True)
class Line:
    """A conductor, or the statement that two points are on one net. ``conductor`` as in a run."""

    a: End
    b: End
    conductor: str = ""
    text: str = ""
    """Cable name, type, length, where the braid lands."""
    presence: Presence = BOTH
    mark: Mark = ""
    words: tuple[str, ...] = ()
    numbers: tuple[int, ...] = ()
    drawn: Run | None = None
    """The conductor that the drawing describes here."""
    seen: Run | None = None
    """The conductor of the unit, where somebody described it."""
    aside: bool = False
    """It differs, and the picture is about another modification."""


class Entry(NamedTuple):
    """A modification in the legend."""

    number: int
    title: str
    hold: str = "none"
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """Everything that one diagram shows. ``notes`` are sentences for the legend."""

    title: str
    subtitle: str = ""
    zones: dict[str, str] = field(default_factory=dict)
    """Name and title of every zone, in the order of the file."""
    boxes: dict[str, Box] = field(default_factory=dict)
    joints: dict[str, Joint] = field(default_factory=dict)
    lines: tuple[Line, ...] = ()
    entries: tuple[Entry, ...] = ()
    notes: tuple[str, ...] = ()
    windings: tuple[Winding, ...] = ()

    def name(self, end: End) -> str:
        """What a person calls an end of a line: a terminal, a joint's own name, else a terminal on the joint."""
        if end.terminal:
            return f"{end.item}.{end.terminal}"
        text = self.joints[end.item].text.partition("\n")[0]
        if text.startswith("→"):
            text = ""  # it only says where its net goes on
        others = (other for line in self.lines_of(end.item) for other in (line.a, line.b) if other.terminal)
        return text or next((f"{other.item}.{other.terminal}" for other in others), "a joint")

    def lines_of(self, item: str) -> Iterator[Line]:
        return (line for line in self.lines if item in (line.a.item, line.b.item))
