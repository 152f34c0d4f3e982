"""What a rule of hazards is: it looks at one circuit, whichever it is, and says what is dangerous in it.

Every rule is run on the drawing and on the unit as found. What both have is told once, as the drawing's own; what only
the unit has is somebody's doing. So no rule needs to compare; one that wants to ("the supply rises by 14 V") finds
the drawing beside it in ``side.drawn``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from netdiff.circuit import Place, Point
from netdiff.comparison.results import Hold
from netdiff.readings.side import Side


@dataclass(frozen=True, slots=True)
class Hazard:
    """One thing that a rule found. ``key`` is what it is about: two circuits that give the same key have the same
    hazard."""

    key: tuple[str, ...]
    says: str
    parts: tuple[str, ...] = ()
    terminals: tuple[Point, ...] = ()
    nets: tuple[str, ...] = ()
    hold: Hold | None = None
    """Where it is another than the rule's."""
    why: str = ""
    """Where it is another than the rule's."""
    at: tuple[Place, ...] = ()
    kind: str = ""
    """Where it is another than the rule's."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. ``kind`` is the kind of finding that it makes, ``looks_for`` its line in the table of rules."""

    kind: str
    looks_for: str
    why: str
    hold: Hold
    source: str
    find: Callable[[Side], Iterator[Hazard]]
    own: bool = True
    """Whether the drawing is examined too; a rule about what was done to the drawing is not."""
