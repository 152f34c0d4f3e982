"""What one line of a file says: small immutable records, each with its place.

Words stand as they were written. A record knows no circuit: which part a terminal belongs to and
what a quantity means is for the building pass.
"""

from __future__ import annotations

from typing import NamedTuple

from netdiff.circuit import Place


class Attribute(NamedTuple):
    """One attribute after a comma: a text, the two ends of a braid, or words (with a point after ``to``)."""

    words: tuple[str, ...] = ()
    text: str | None = None
    to: str = ""
    braid: tuple[str, str] | None = None


class Ground(NamedTuple):
    place: Place
    name: str


class Use(NamedTuple):
    place: Place
    path: str


class ZoneLine(NamedTuple):
    place: Place
    name: str
    title: str


class PartLine(NamedTuple):
    place: Place
    designator: str
    words: tuple[str, ...]
    label: str
    attributes: tuple[Attribute, ...]


class WindingLine(NamedTuple):
    place: Place
    designator: str
    terminals: tuple[str, ...]
    attributes: tuple[Attribute, ...]


class NetLine(NamedTuple):
    place: Place
    name: str
    words: tuple[str, ...]
    attributes: tuple[Attribute, ...]


class Chain(NamedTuple):
    """``conductor`` is empty for a plain chain. ``forms`` has one letter an item.

    T terminal, N net name, D bare part, P part with the terminals of entry and exit, ``?``, O open.
    """

    place: Place
    conductor: str
    items: tuple[str, ...]
    forms: str
    attributes: tuple[Attribute, ...]


class Insulated(NamedTuple):
    place: Place
    designators: tuple[str, ...]


class StateLine(NamedTuple):
    place: Place
    name: str
    title: str
    settings: tuple[tuple[str, str], ...]
    """Designator and position."""
    modes: tuple[str, ...]
    """Words that speak of the whole set: ``power off``."""


class ReadingLine(NamedTuple):
    place: Place
    quantity: str
    a: str
    b: str
    more: bool
    """The meter read more than the value: ``>20M``."""
    amount: tuple[str, ...]
    """The value and its tolerance; empty for ``open``."""
    state: str


class StockHead(NamedTuple):
    place: Place
    title: str


class Drawing(NamedTuple):
    place: Place
    sheet: str
    remarks: tuple[tuple[str, ...], ...]


class LoadLine(NamedTuple):
    place: Place
    amps: str
    a: str
    b: str
    state: str


class SignalLine(NamedTuple):
    place: Place
    name: str
    points: tuple[str, ...]


class Production(NamedTuple):
    place: Place
    name: str
    title: str


class Only(NamedTuple):
    """A statement that holds for some productions alone."""

    place: Place
    names: tuple[str, ...]
    statement: Statement


class FoundHead(NamedTuple):
    place: Place
    title: str
    stock: str
    productions: tuple[str, ...]


class Inspected(NamedTuple):
    place: Place
    date: str


class By(NamedTuple):
    place: Place
    who: str


class Traced(NamedTuple):
    """``traced`` or, with ``as_drawn``, ``as-drawn``: zones, parts and terminals, and what to leave out."""

    place: Place
    targets: tuple[str, ...]
    but: tuple[str, ...]
    as_drawn: bool


class Missing(NamedTuple):
    place: Place
    what: str
    designators: tuple[str, ...]


class Landing(NamedTuple):
    """``at``: everything that lands on one lug. ``forms`` as in `Chain`, and X for a text."""

    place: Place
    lug: str
    items: tuple[str, ...]
    forms: str


class ConditionLine(NamedTuple):
    place: Place
    terminal: str
    attributes: tuple[Attribute, ...]


class Observed(NamedTuple):
    place: Place
    signal: str
    at: str
    what: str


class Photo(NamedTuple):
    place: Place
    path: str
    targets: tuple[str, ...]
    text: str


class Keep(NamedTuple):
    place: Place
    targets: tuple[str, ...]
    reason: str


class Note(NamedTuple):
    place: Place
    targets: tuple[str, ...]
    text: str


Statement = (
    Ground | Use | ZoneLine | PartLine | WindingLine | NetLine | Chain | Insulated | StateLine | ReadingLine
    | StockHead | Drawing | LoadLine | SignalLine | Production | Only
    | FoundHead | Inspected | By | Traced | Missing | Landing | ConditionLine | Observed | Photo | Keep | Note
)  # fmt: skip
