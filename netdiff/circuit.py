"""The words that all floors speak: kinds, parts, runs, circuits. Immutable values, no behaviour.

A *point* is where something can be soldered: a terminal, written ``"V5.g1"``, or a net name,
written ``"chassis"``. Points are plain strings because they are counted by the hundred thousand;
a designator starts with a capital or ``?``, a net name with a lower-case letter, so that one look
at the first character tells them apart.

>>> part_of("?K1.coil2"), terminal_of("?K1.coil2"), is_net("b+"), is_net("V5.g1")
('?K1', 'coil2', True, False)
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final, NamedTuple

Point = str
"""A terminal (``"R12.1"``, always by its canonical terminal name) or a net name (``"b+"``)."""

OPEN: Final = "open"
"""In place of a point: an end in the air. Joins nothing."""

UNFOLLOWED: Final = "?"
"""In place of a point: a lead that nobody followed further. Joins nothing, and leaves the net open-ended."""


_DIGITS: Final = re.compile(r"(\d+)")


def _empty() -> MappingProxyType[str, Any]:
    return MappingProxyType({})


def point(designator: str, terminal: str) -> Point:
    return f"{designator}.{terminal}"


def part_of(where: Point) -> str:
    """The designator of a terminal; the empty string for a net name, ``open`` and ``?``."""
    return where.partition(".")[0] if "." in where else ""


def terminal_of(where: Point) -> str:
    """The terminal's own name; the empty string for a net name."""
    return where.partition(".")[2]


def is_net(where: Point) -> bool:
    return where[:1].islower() and where != OPEN and "." not in where


@lru_cache(maxsize=1 << 17)
def natural(name: str) -> tuple[str, ...]:
    """Sort key that puts R2 before R10."""
    return tuple(piece.zfill(6) if piece.isdigit() else piece for piece in _DIGITS.split(name))


def is_foreign(designator: str) -> bool:
    """A part that the person at the bench could not identify in the drawing (``?K1``)."""
    return designator.startswith("?")


class Place(NamedTuple):
    """Where a statement stands: file as the user named it, line and column from 1."""

    file: str
    line: int
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


class Fault(NamedTuple):
    """One fault of a file, told in the trade's words.

    ``text`` is the faulty line, ``width`` how many characters the mark under it covers, ``hint``
    the nearest thing that would be right (may be empty). ``elsewhere`` is a terminal that this line
    calls as drawn although other lines leave it no net of the drawing: `at` could say what lands there.
    """

    place: Place
    says: str
    text: str = ""
    width: int = 1
    hint: str = ""
    elsewhere: Point = ""


class Lug(NamedTuple):
    """One terminal of a kind of part: its canonical name first, then every name it answers to."""

    name: str
    aliases: tuple[str, ...] = ()
    tie: bool = False
    """A tie point by itself: a strip's lug, a tube pin without an electrode."""
    inner: bool = False
    """A pin that the maker uses inside (``ic``) and that must not serve as a tie point."""


class Contact(NamedTuple):
    """Two terminals that touch in some positions of a switch, relay, jack or plug-in part."""

    a: str
    b: str
    positions: frozenset[str]


Swap = tuple[tuple[str, ...], tuple[str, ...]]
"""Exchanging the first terminals with the second, in order, leaves the part what it was."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What the catalogue says of one kind of part, worked out for one part (``6V6GT``, ``rotary 2x6``)."""

    name: str
    """``resistor``, ``tube``, ``jack-3``."""
    title: str = ""
    """What a person calls it: ``beam power tube``."""
    type: str = ""
    """The type within the kind: ``6V6GT``; empty where the kind has none."""
    letters: tuple[str, ...] = ()
    """Class letters of its designator."""
    terminals: tuple[Lug, ...] = ()
    any_terminal: bool = False
    """Takes whatever terminal names are used (``unknown``, strips, transformers before their windings)."""
    ends: tuple[str, str] | None = None
    """The two ends that a chain passes through, first end first; None where it cannot."""
    polarised: bool = False
    """The two ends are not interchangeable."""
    swaps: tuple[Swap, ...] = ()
    hangs: bool = False
    """Hangs by its own leads, so that each lead ends on somebody else's lug."""
    plugs: bool = False
    """Plugs into a socket that stays when the part is gone: tube, crystal, fuse, lamp."""
    inside: tuple[tuple[str, ...], ...] = ()
    """Terminals joined inside, while the part is plugged in."""
    shared: tuple[str, ...] = ()
    """Terminals that sections of one body (suffix letters) have in common: the ``-`` of a can."""
    positions: tuple[str, ...] = ()
    """Names of its positions; the first is the position at rest."""
    contacts: tuple[Contact, ...] = ()
    unit: str = ""
    """Unit of its value: ``ohm``, ``F``, ``H``, ``Hz``, ``A``, ``V`` or empty."""
    family: str = ""
    """Parts of one family can stand in for each other: ``resistor``, ``capacitor``, ``inductor``, ``diode`` …"""
    facts: Mapping[str, str | float] = field(default_factory=_empty)
    """Ratings and the like of the type itself (heater volts, greatest plate volts), in SI units."""

    def lug(self, name: str) -> Lug | None:
        """The terminal that answers to this name, or None."""
        for lug in self.terminals:
            if lug.name == name or name in lug.aliases:
                return lug
        return None


@dataclass(frozen=True, slots=True)
class Part:
    """A part as drawn or as found. ``value`` is in the kind's SI unit, ``tolerance`` a fraction."""

    designator: str
    kind: Kind
    value: float | None = None
    span: tuple[float, float] | None = None
    """The range of an adjustable part, SI units."""
    ratings: Mapping[str, float] = field(default_factory=_empty)
    """By unit: ``W``, ``V``, ``Vac``, ``A`` …"""
    tolerance: float | None = None
    words: tuple[str, ...] = ()
    """Construction words as given: ``wirewound``, ``mica``."""
    label: str = ""
    zone: str = ""
    at: str = ""
    """Position at rest; empty for the kind's first."""
    places: tuple[Place, ...] = ()
    read_off: bool = True
    """In a found circuit: kind and value were read at the bench (False: taken from the drawing)."""
    measured: float | None = None
    """Its own value with a lead lifted, in the kind's unit."""
    conditions: tuple[str, ...] = ()

    @property
    def foreign(self) -> bool:
        return is_foreign(self.designator)

    def points(self) -> tuple[Point, ...]:
        return tuple(f"{self.designator}.{lug.name}" for lug in self.kind.terminals)


class Gap(NamedTuple):
    """Least distance to another point: metres."""

    distance: float
    to: Point


@dataclass(frozen=True, slots=True)
class Run:
    """One conductor from ``a`` to ``b``. Lengths in metres.

    ``conductor`` is empty for a plain chain (nobody said what it is), else ``wire``, ``bare``,
    ``bus``, ``shielded``, ``coax``, ``twisted``, ``strap``, ``bolted``, or ``body`` (two names of one
    lug: sections of a can). ``a`` and ``b`` may be ``OPEN`` or ``UNFOLLOWED``.
    """

    a: Point
    b: Point
    conductor: str = ""
    cable: str = ""
    """The run's name: ``W3``."""
    cable_type: str = ""
    """``RG-58``."""
    length: float | None = None
    gauge: float | None = None
    """AWG number."""
    text: str = ""
    """Colour or remark."""
    braid: tuple[Point, Point] | None = None
    """Where the braid's two ends land (a's end first); None where nothing is said of it."""
    bare: float | None = None
    gaps: tuple[Gap, ...] = ()
    evidence: str = "seen"
    """``seen``, ``metered``, ``assumed``, or ``as-drawn``."""
    conditions: tuple[str, ...] = ()
    direct: bool = False
    """The ``b`` end lands on that very point and nowhere else on the net."""
    places: tuple[Place, ...] = ()

    @property
    def joins(self) -> bool:
        """It connects two real points."""
        return self.a not in (OPEN, UNFOLLOWED) and self.b not in (OPEN, UNFOLLOWED)


@dataclass(frozen=True, slots=True)
class Net:
    """What a stock file says of a net name. Volts, hertz, ohms, watts."""

    name: str
    purpose: str = ""
    volts: float | None = None
    ac: bool = False
    band: tuple[float, float] | None = None
    impedance: float | None = None
    power: float | None = None
    shielded: bool = False
    places: tuple[Place, ...] = ()


class Winding(NamedTuple):
    """Terminals in order; volts (a.c.), henries, ohms."""

    part: str
    terminals: tuple[str, ...]
    volts: float | None = None
    inductance: float | None = None
    resistance: float | None = None
    label: str = ""
    places: tuple[Place, ...] = ()


class State(NamedTuple):
    """A named state: ``settings`` maps a designator to a position (``on``, ``off``, ``out``, ``closed``, ``phone``)."""

    name: str
    title: str = ""
    power: bool = True
    settings: Mapping[str, str] = MappingProxyType({})
    places: tuple[Place, ...] = ()


class Load(NamedTuple):
    """A current (amperes) that flows from ``a`` to ``b`` in a state."""

    amps: float
    a: Point
    b: Point
    state: str
    places: tuple[Place, ...] = ()


class Reading(NamedTuple):
    """A meter reading, asked for by a chart or taken at the bench. SI units; ``b`` may be empty.

    ``nominal`` is None for an open circuit; ``low`` alone stands for ``>20M``.
    """

    quantity: str
    """``ohms``, ``volts``, ``amps`` or ``watts``."""
    a: Point
    b: Point
    nominal: float | None
    low: float | None = None
    high: float | None = None
    open: bool = False
    state: str = "rest"
    places: tuple[Place, ...] = ()
    ac: bool = False
    """Volts of alternating current."""


class Signal(NamedTuple):
    name: str
    points: tuple[Point, ...]
    places: tuple[Place, ...] = ()


class Observation(NamedTuple):
    """``observed audio at V1.p = weak``."""

    signal: str
    at: Point
    what: str
    places: tuple[Place, ...] = ()


class Remark(NamedTuple):
    """A photo, a kept modification or a note: ``of`` are points or designators, ``text`` the words."""

    of: tuple[str, ...]
    text: str
    file: str = ""
    places: tuple[Place, ...] = ()


class Zone(NamedTuple):
    name: str
    title: str = ""
    places: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class Circuit:
    """One circuit, as drawn (one production of it) or as found."""

    title: str
    file: str
    ground: str = "chassis"
    zones: Mapping[str, Zone] = field(default_factory=_empty)
    parts: Mapping[str, Part] = field(default_factory=_empty)
    nets: Mapping[str, Net] = field(default_factory=_empty)
    runs: tuple[Run, ...] = ()
    insulated: tuple[str, ...] = ()
    """Parts whose mounting is insulated from what carries them."""
    windings: tuple[Winding, ...] = ()
    states: Mapping[str, State] = field(default_factory=_empty)
    loads: tuple[Load, ...] = ()
    readings: tuple[Reading, ...] = ()
    signals: tuple[Signal, ...] = ()
    drawing: str = ""
    ohms_per_volt: float | None = None
    production: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Found:
    """The wiring as found, and how much of it is known. ``circuit`` holds what is so.

    ``circuit.parts`` has the foreign parts, and every stock part that is there, as read at the
    bench or (``read_off`` False) as the drawing has it; parts said to be missing are not in it, but for
    those that plug in and left their sockets, which can be wired to.
    ``circuit.runs`` has what the file writes, and what ``as-drawn`` takes over from the drawing
    (``evidence`` is then ``as-drawn``).
    """

    circuit: Circuit
    traced: frozenset[Point] = frozenset()
    """Terminals of which everything that lands on them is written."""
    as_drawn: frozenset[str] = frozenset()
    """Parts and terminals that were looked at and are as the drawing has them."""
    missing: frozenset[str] = frozenset()
    missing_sockets: frozenset[str] = frozenset()
    """Those of the missing whose socket is gone too."""
    unfollowed: frozenset[Point] = frozenset()
    """Points from which a lead goes that nobody followed."""
    mentioned: frozenset[str] = frozenset()
    """Designators that the file itself writes."""
    conditions: tuple[tuple[Point, str, Place], ...] = ()
    """Conditions noted on a terminal alone."""
    observations: tuple[Observation, ...] = ()
    photos: tuple[Remark, ...] = ()
    keeps: tuple[Remark, ...] = ()
    notes: tuple[Remark, ...] = ()
    missing_places: Mapping[str, Place] = field(default_factory=_empty)
    inspected: str = ""
    by: str = ""
