"""What a person answers, and what becomes of it: the statements written, or why none was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from netdiff.circuit import Fault, Point

Kind = Literal[
    "as-drawn", "but", "nothing", "these", "some", "differs", "missing", "read", "unseen", "skip", "none", "statement"
]
"""See `questions.OFFERS`. ``but`` is `as drawn` with exceptions (``Answer.but``); ``read`` is a part as it was read
(``Answer.words`` is what stands after the designator: ``10k 25W, charred, measured 35k``); ``statement`` is any line of
the language as it stands in ``words``: a chain, a run, a reading, a photo, a note, a foreign part."""


class Item(NamedTuple):
    """One thing that lands on a lug. Words are as the language writes them; empty where nobody noted it."""

    to: str
    """``R5``, ``R5.1``, ``TB1.2``, a net name, ``?`` (a lead not followed), or a foreign part ``?R3``."""
    declare: str = ""
    """For a foreign part that is new: its kind, value and label as written: ``resistor 680 1W "brown"``."""
    conductor: str = ""
    """``wire``, ``bare``, ``bus``, ``shielded``, ``coax``, ``twisted``, ``strap``, ``bolted``; empty: not noted."""
    cable: str = ""
    cable_type: str = ""
    length: str = ""
    """``90mm``"""
    gauge: str = ""
    """``20AWG``"""
    text: str = ""
    """Colour or a remark, without quotes."""
    evidence: str = ""
    """``metered`` or ``assumed``; empty is seen."""
    braid: tuple[str, str] | None = None
    """Where the braid ends: on this side, on the far side (a point, ``open`` or ``?``)."""
    bare: str = ""
    gap: str = ""
    """``3mm to S1.1``"""
    condition: str = ""
    """``frayed``, ``corroded`` …"""

    @property
    def described(self) -> bool:
        """It says more than where the lead goes, so that it is a line of its own."""
        return any(self[2:])


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to the question in hand, or, with ``about``, to a part or terminal of one's own choice."""

    kind: Kind
    about: str = ""
    """Part, terminal or zone; empty: what the question is about."""
    items: tuple[Item, ...] = ()
    """For ``these`` and ``some``."""
    but: tuple[str, ...] = ()
    """For ``but``: parts and terminals that are not as drawn."""
    words: str = ""
    """For ``read`` and ``statement``."""
    instead: bool = False
    """The answer stands in spite of a contradiction: lines that the tool wrote give way, never hand-made ones."""


class Line(NamedTuple):
    """A line of the found file as it stands."""

    number: int
    text: str


class Contradiction(NamedTuple):
    """Two sides that cannot both be true; nothing was written."""

    says: str
    """For a person, both sides told."""
    lines: tuple[Line, ...]
    """What the file says already."""
    answer: tuple[str, ...]
    """The statements that the answer would have become."""
    yields: bool
    """The lines were all written by the tool, so that the same answer with ``instead=True`` replaces them."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of an answer, an undo or a confirmation."""

    taken: bool
    says: str
    """One sentence for the person."""
    step: int = 0
    """The number of the step that was written or taken back; 0 where nothing was."""
    statements: tuple[str, ...] = ()
    """Lines written to the file (or taken out of it, for an undo), without the step's mark."""
    faults: tuple[Fault, ...] = ()
    """What is wrong with the answer, or with the file as a hand edit left it; nothing was written."""
    contradiction: Contradiction | None = None
    repeated: bool = False
    """The token was known: the answer had been taken before, and is not written twice."""
    unsaved: bool = False
    """The file could not be written, or is broken by hand at the moment: the same answer is worth giving again."""
    changed: tuple[str, ...] = ()
    """What somebody else did to the file or the drawing since the last look, in sentences; nothing of it is lost."""


class Step(NamedTuple):
    """One answer in the file: its number, the lines, whether a hand has changed them since."""

    number: int
    lines: tuple[Line, ...]
    edited: bool


class ZoneProgress(NamedTuple):
    """How far a zone is: terminals that the drawing wires, those looked at, and the questions still open."""

    zone: str
    title: str
    terminals: int
    looked: int
    questions: int
    danger: str
    """What makes the zone dangerous, in words: ``mains``, ``600 V``; empty where nothing does."""


__all__ = [
    "Answer", "Contradiction", "Item", "Kind", "Line", "Outcome", "Point", "Step", "ZoneProgress",
]  # fmt: skip
