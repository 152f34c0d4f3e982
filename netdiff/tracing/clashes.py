"""Two ends of one lead that cannot both be true: what an answer says beside what the file says already."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from netdiff.circuit import Point, is_net, part_of
from netdiff.tracing.answers import Item
from netdiff.tracing.state import State
from netdiff.tracing.telling import resolved
from netdiff.tracing.view import turnable


class Clash(NamedTuple):
    says: str
    lines: tuple[int, ...]
    word: str = ""
    """The part or terminal of which an `as-drawn` in these lines would no longer hold."""


def clashes(state: State, at: Point, items: Sequence[Item]) -> list[Clash]:
    """What is wrong with these items as everything that lands on a lug."""
    here = [resolved(state, item.to, at) for item in items]
    return [*_left_out(state, at, here), *(clash for to in here for clash in _elsewhere(state, at, to))]


def told_already(state: State, at: Point) -> list[Clash]:
    """A lug of which a line told everything before, be it that it is as drawn."""
    line = state.at.get(at, 0)
    if line:
        return [Clash(f"Line {line} says already what lands on {at}.", (line,))]
    line = state.said.get(at, 0)
    if line and _as_drawn(state, at):
        return [Clash(f"Line {line} says already that {at} is as drawn.", (line,), at)]
    return []


def _left_out(state: State, at: Point, here: Sequence[Point]) -> list[Clash]:
    out = []
    for lead in state.here.leads(at):
        if lead.to in ("braid", "?") or any(_meant(state, lead.to, to) for to in here):
            continue
        if "?" in here and lead.to in state.found.traced and not lead.line:
            continue
        drawn = any(state.same(lead.to, other.to) for other in state.drawn.leads(at))
        by_hand = any(state.same(lead.to, other.to) for other in state.known(at))
        if by_hand or (drawn and _as_drawn(state, lead.to)):
            how = "says that" if by_hand else "says that all is as drawn there, so that"
            out.append(
                Clash(f"Line {lead.line} {how} {lead.to} lands on {at}; you do not name it.", (lead.line,), lead.to)
            )
    told = {lead.to for lead in state.here.leads(at)}
    for lead in state.drawn.leads(at):
        line = state.said.get(lead.to, 0)
        if not line or lead.to in told or "?" in here or any(_meant(state, lead.to, to) for to in here):
            continue
        if _as_drawn(state, lead.to) and state.part(part_of(lead.to)) is not None and not state.gone(part_of(lead.to)):
            says = f"Line {line} says that {lead.to} is as drawn, so that it goes to {at}; you do not name it."
            out.append(Clash(says, (line,), lead.to))
    return out


def _as_drawn(state: State, where: Point) -> bool:
    return where in state.found.as_drawn or part_of(where) in state.found.as_drawn


def _meant(state: State, one: Point, other: Point) -> bool:
    return one == other or part_of(one) == other or turnable(state.parts, one) == other != ""


def _elsewhere(state: State, at: Point, to: Point) -> list[Clash]:
    if to == "?" or is_net(to) or "." not in to:
        if "." not in to and to in state.parts:
            return _two_leads_gone(state, at, to)
        return []
    known = state.known(to)
    part = state.parts.get(part_of(to))
    if part is None or any(lead.to == at or _meant(state, lead.to, at) for lead in known):
        return []
    if part.kind.hangs and part.kind.ends:
        other = [lead for lead in known if lead.to != "?"]
        return [
            Clash(f"Line {lead.line} puts {to} on {lead.to}; you put it on {at}.", (lead.line,), to) for lead in other
        ]
    line = state.at.get(to, 0)
    if line and to not in state.found.unfollowed:
        return [Clash(f"Line {line} says what lands on {to}, and {at} is not among it.", (line,))]
    if _as_drawn(state, to) and not any(state.same(lead.to, at) for lead in state.drawn.leads(to)):
        line = state.said.get(to, 0)
        says = f"Line {line} says that {to} is as drawn, and the drawing has nothing from {at} there."
        return [Clash(says, (line,), to)] if line else []
    return []


def _two_leads_gone(state: State, at: Point, name: str) -> list[Clash]:
    part = state.parts[name]
    ends = [f"{name}.{end}" for end in part.kind.ends or ()]
    taken = [lead for end in ends for lead in state.known(end) if lead.to not in ("?", at)]
    if len(ends) == 2 and len({lead.at for lead in taken}) == 2 and part.kind.hangs:
        places = " and ".join(f"{lead.to} (line {lead.line})" for lead in taken[:2])
        return [Clash(f"Both leads of {name} are placed already: {places}.", tuple(lead.line for lead in taken[:2]))]
    return []
