"""What stands in the page, before anybody thinks of HTML. Text is plain and is escaped when it is written."""

from __future__ import annotations

from typing import NamedTuple

from netdiff.comparison.results import Finding, Hold, Tally
from netdiff.reporting.html.photos import Embedded
from netdiff.worklist.steps import Step


class Line(NamedTuple):
    """One line at the top of the page: what must be cleared, with the place in the page that tells more."""

    says: str
    href: str
    why: str = ""
    stays: bool = False
    drawn: bool = False
    """The factory built it so."""


class Photo(NamedTuple):
    picture: Embedded
    file: str
    says: str
    of: tuple[str, ...]
    at: str


class Told(NamedTuple):
    """A finding, the parts that light up with it, and the lines of the found file that it rests on."""

    finding: Finding
    parts: tuple[str, ...]
    at: str


class Task(NamedTuple):
    """A step of the work list with its number and its zone; ``done`` says when it was ticked, or is empty."""

    number: int
    step: Step
    zone: str
    title: str
    done: str = ""


class Card(NamedTuple):
    """A modification with everything that the page knows of it."""

    id: str
    number: int
    title: str
    hold: Hold
    kept: bool
    reason: str
    findings: tuple[Told, ...]
    parts: tuple[str, ...]
    drawing: str
    photos: tuple[Photo, ...]
    elsewhere: tuple[tuple[str, str], ...]
    """Photos that stand with another modification: its id, and what the photo is called."""
    tasks: tuple[Task, ...]


class Contact(NamedTuple):
    """A terminal of a part: what it is joined to in the drawing, and in the unit."""

    name: str
    drawn: str
    found: str
    look: str
    """``agrees``, ``differs``, ``unseen`` (nobody looked) or ``found`` (the drawing has no such terminal)."""


class Item(NamedTuple):
    """A part in the register."""

    name: str
    anchor: str
    what: str
    zone: str
    look: str
    """``agrees``, ``differs``, ``unseen``, ``partly`` (some of its terminals nobody looked at) or ``found``."""
    drawn: str
    found: str
    notes: tuple[str, ...]
    contacts: tuple[Contact, ...]
    findings: tuple[Finding, ...]
    readings: tuple[str, ...]


class Area(NamedTuple):
    """A zone: how much of it was looked at, its parts, and what nobody looked at, in words."""

    name: str
    title: str
    tally: Tally
    items: tuple[Item, ...]
    unseen: str


class Plot(NamedTuple):
    title: str
    svg: str
    note: str = ""


class Table(NamedTuple):
    """Rows under a title. ``numeric`` are the columns that are set flush right, ``unlinked`` those in which a word that
    looks like a designator is none (``Y2``, a class of capacitors); ``strong`` are the rows that stand out."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: frozenset[int] = frozenset()
    strong: frozenset[int] = frozenset()
    unlinked: frozenset[int] = frozenset()
    note: str = ""


class Report(NamedTuple):
    title: str
    beside: str
    about: tuple[str, ...]
    """Who looked, when, which drawing and production."""
    files: tuple[str, str]
    """The found file, the stock file."""
    cautions: tuple[str, ...]
    work_cautions: tuple[str, ...]
    reading_cautions: tuple[str, ...]
    summary: tuple[str, ...]
    """What was found, in three sentences."""
    before_power: tuple[Line, ...]
    later: tuple[tuple[Hold, int], ...]
    """How many findings each later hold has."""
    total: Tally
    areas: tuple[Area, ...]
    look_next: tuple[str, ...]
    cost: tuple[str, ...]
    cards: tuple[Card, ...]
    loose: tuple[Told, ...]
    """Findings that belong to no modification."""
    tasks: tuple[tuple[Hold, tuple[Task, ...]], ...]
    done: tuple[Task, ...]
    """The steps that are ticked."""
    overview: str
    zones: tuple[str, ...]
    """Of an overview that is small on paper: its zones, printed one by one."""
    undrawn: str
    """Why there is no drawing."""
    plots: tuple[Plot, ...]
    readings: tuple[Table, ...]
    shopping: tuple[Table, ...]
    photos: tuple[Photo, ...]
    """Those that belong to no modification."""
    notes: tuple[str, ...]
    remarks: tuple[tuple[str, str], ...]
    """Notes of the found file: of what, and the words."""
    observations: tuple[str, ...]
    holds: tuple[tuple[Hold, int], ...]
    """Modifications by hold."""
