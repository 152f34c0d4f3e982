"""The symbol of a part: whichever module has one for its kind, else a box."""

from __future__ import annotations

from collections.abc import Sequence

from netdiff.circuit import Part, Winding
from netdiff.drawing import bodies
from netdiff.drawing.contacts import contacts, jack
from netdiff.drawing.symbol import Symbol
from netdiff.drawing.tubes import tube
from netdiff.drawing.two_ended import two_ended


def symbol(part: Part, terminals: Sequence[str], windings: Sequence[Winding] = ()) -> Symbol:
    """Its symbol with a port for every one of ``terminals``; those that the symbol lacks hang on a box below it."""
    drawn = (
        two_ended(part)
        or contacts(part, terminals)
        or jack(part)
        or bodies.transformer(part, windings, terminals)
        or bodies.tapped_coil(part, terminals)
        or bodies.variable_resistor(part)
        or bodies.bridge(part)
        or bodies.feed_through(part)
        or bodies.coax_socket(part, terminals)
        or bodies.lug(part, terminals)
        or bodies.socket(part, terminals)
    )
    if part.kind.family == "tube" and any(not lug.tie for lug in part.kind.terminals):
        drawn = tube(part.kind, terminals)
    if drawn is None or any(name not in drawn.ports for name in terminals):
        return bodies.plain_box([_called(part)], terminals or [lug.name for lug in part.kind.terminals])
    return drawn


def _called(part: Part) -> str:
    from netdiff.drawing.words import clip

    if part.kind.name == "unknown":
        return "?"
    return clip(part.kind.type or part.kind.title or part.kind.name, 24)
