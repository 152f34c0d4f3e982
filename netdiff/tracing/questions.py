"""What is asked: one question is one look at one place of the unit, with what the drawing has there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from netdiff.circuit import Point

Form = Literal["zone", "look", "part", "lug"]
"""What a question is about: a zone at a glance, a group of parts seen from outside, a whole part, one terminal."""


class Lead(NamedTuple):
    """One thing that lands on a terminal, by the drawing (``Question.drawn``) or by the found file (``known``)."""

    at: Point
    """The terminal it lands on: ``TB3.2``."""
    to: Point
    """What lands: a part's lead (``R5.1``), the far end of a conductor (``J1.tip``), a net name, ``?``."""
    says: str
    """For a person: ``R5.1 (22 kΩ)``; ``green wire to J1.tip, 90 mm``."""
    line: int = 0
    """The line of the found file that says so; 0 for the drawing."""


class Offer(NamedTuple):
    """One answer that fits the question: its kind (see `answers.Answer`), the word for it, what it means here."""

    kind: str
    word: str
    says: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question. ``key`` stays the same over restarts: ``zone audio``, ``V5``, ``TB3.2``."""

    key: str
    form: Form
    about: str
    """The zone, the designator or the terminal."""
    zone: str
    zone_title: str
    says: str
    """The whole question in plain words: ``TB3 lug 2: the drawing has R5.1, C7.2 … here. What lands here?``"""
    drawn: tuple[Lead, ...] = ()
    """What the drawing has there, terminal by terminal."""
    known: tuple[Lead, ...] = ()
    """What the found file says already about the same terminals: the other ends of leads that were met before."""
    offers: tuple[Offer, ...] = ()
    why: str = ""
    """Why this is asked now, in a short sentence."""
    settles: int = 0
    """Terminals of the drawing that `as drawn` would settle at once."""
    parts: tuple[str, ...] = ()
    """The parts that the question speaks of: a socket and what hangs on it."""
    expected: tuple[Lead, ...] = ()
    """What `as drawn` means now: ``drawn``, without what the file says is elsewhere or missing, and with ``known``."""
    points: tuple[Point, ...] = ()
    """The terminals that it speaks of."""


OFFERS: Final[dict[str, Offer]] = {
    one.kind: one
    for one in (
        Offer("as-drawn", "y", "as drawn, parts and values too"),
        Offer("but", "y but V5.g1 R5", "as drawn but for these, which are asked next"),
        Offer("nothing", "open", "nothing lands here"),
        Offer("these", "R5 C7.2 ? TB1.2", "these land here and nothing else; `?` is a lead that you did not follow"),
        Offer("some", "some R5 C7", "these land here, and there may be more that you could not see"),
        Offer("differs", "n", "not as drawn: ask me lug by lug"),
        Offer("missing", "missing", "the part is not there"),
        Offer("read", "is 10k 25W, charred, measured 35k", "what is printed on it, its condition, what it measures"),
        Offer("unseen", "cannot see", "it cannot be seen or reached"),
        Offer("skip", "skip", "ask me later"),
        Offer("none", "none", "nothing (more) catches the eye"),
    )
}
"""Every answer that a question may offer, by kind. A raw statement of the language is taken at any question."""
