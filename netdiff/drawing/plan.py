"""What of a picture is drawn as a line, what as words in a terminal's field, and which way everything lies.

The layout flows from left to right: out of plates, cathodes and secondaries, through the parts that
lie between two ends, into grids and primaries.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass, field

from netdiff.drawing.model import Box, End, Joint, Line, Picture
from netdiff.drawing.style import ARROW, GROUND

_DESIGNATOR = re.compile(r"\??[A-Z]+[0-9]+[A-Z]?")
QUIET = ("", "unseen")
"""Marks of what is no difference."""


@dataclass(slots=True)
class Stroke:
    """A line as drawn, from left to right; ``text`` stands on it."""

    line: Line
    tail: str
    head: str
    text: str = ""
    zone: str = ""
    """Where its text stands: the zone of both ends, else none."""
    ends: tuple[End, End] = (End(""), End(""))
    """Its tail and its head: a terminal, a joint, or a symbol."""


@dataclass(slots=True)
class Symbol:
    """The end of one line at a ground, at a supply, or where the net goes on: words, with no line beyond."""

    name: str
    text: str
    zone: str
    joint: str = ""
    """The joint that it stands for."""


@dataclass(slots=True)
class Plan:
    """``names`` gives every item the name that it has in DOT; an end of a line is ``name`` or ``name:port``."""

    picture: Picture
    names: dict[str, str] = field(default_factory=dict)
    strokes: list[Stroke] = field(default_factory=list)
    symbols: list[Symbol] = field(default_factory=list)
    tags: dict[End, list[str]] = field(default_factory=lambda: defaultdict(list))
    """What stands in a terminal's field after its name."""
    order: dict[str, tuple[str, str]] = field(default_factory=dict)
    """The two terminals of a lying part, left one first."""

    places: dict[str, int] = field(default_factory=dict)
    """Parts in the order in which the circuit speaks of them, which is mostly the way of the signal."""

    fed: dict[str, float] = field(default_factory=dict)
    """Joints: greater than 0 where a plate, a cathode or a secondary feeds it."""

    @property
    def zones(self) -> list[str]:
        """Zones that something stands in, in the order of the file."""
        picture = self.picture
        used = {box.zone for box in picture.boxes.values()} | {joint.zone for joint in picture.joints.values()}
        used |= {symbol.zone for symbol in self.symbols}
        return [zone for zone in dict.fromkeys((*picture.zones, *sorted(used))) if zone in used]


def title_lines(box: Box) -> list[str]:
    """What stands in the head of a box: designator and numbers, what it is, what it was, what differs."""
    name = f"{box.name} / {box.alias}" if box.alias and box.seen else box.name
    lines = [" ".join([name, *(f"[{number}]" for number in box.numbers)]), *(box.seen or box.drawn)]
    if box.mark == "changed" and box.seen and box.drawn and box.seen[0] != box.drawn[0]:
        lines.append(f"was {box.drawn[0]}")
    return [*lines, *(loud(word) for word in box.words)]


def plan(picture: Picture) -> Plan:
    out = Plan(picture)
    _names(out)
    kept = []
    for line in picture.lines:
        joint = picture.joints.get(line.b.item)
        if joint is not None and joint.repeated and line.mark in QUIET and line.a.terminal and not line.conductor:
            out.tags[line.a].append(_sign(joint))
        else:
            kept.append(line)
    _lay(out, kept)
    for line in kept:
        out.strokes.append(_stroke(out, line))
    return out


def _names(out: Plan) -> None:
    picture = out.picture
    for number, name in enumerate(picture.boxes):
        out.names[name] = name if _DESIGNATOR.fullmatch(name) else f"part{number}"
        out.places[name] = number
    for number, name in enumerate(picture.joints):
        out.names[name] = f"joint{number}"
    zones = [box.zone for box in picture.boxes.values()] + [joint.zone for joint in picture.joints.values()]
    zones = list(dict.fromkeys((*picture.zones, *zones)))
    for number, name in enumerate(zones):
        out.names[f"zone {name}"] = f"zone{number}"


def _sign(joint: Joint) -> str:
    return GROUND if joint.sort == "ground" else f"{ARROW} {joint.text}"


# --- which way things lie -----------------------------------------------------------------------------------------


def _lay(out: Plan, lines: list[Line]) -> None:
    """Turn every lying part so that the end that is fed is on the left, and a ground or supply on the right."""
    boxes = out.picture.boxes
    joined: dict[str, list[End]] = defaultdict(list)
    for line in lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if not here.terminal and there.terminal:
                joined[here.item].append(there)
    out.fed = {joint: _pull(boxes, ends) for joint, ends in joined.items()}
    feed: dict[End, float] = defaultdict(float)
    for line in lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if here.terminal and boxes[here.item].two_ended:
                others = [there] if there.terminal else [e for e in joined[there.item] if e != here]
                feed[here] += _pull(boxes, others)
    for box in boxes.values():
        if box.two_ended:
            first, second = box.terminals
            left, right = (feed[End(box.name, t)] - 0.5 * bool(out.tags.get(End(box.name, t))) for t in box.terminals)
            out.order[box.name] = (second, first) if right > left else (first, second)
    for line in lines:
        if _wants(out, line.a) == _wants(out, line.b) == 1 and boxes[line.a.item].two_ended:
            out.order[line.a.item] = (out.order[line.a.item][1], out.order[line.a.item][0])


def _pull(boxes: dict[str, Box], ends: list[End]) -> float:
    """Greater than 0 where something standing feeds the point, less where the point feeds a grid."""
    total = 0
    for end in ends:
        box = boxes[end.item]
        if box.inputs and not box.two_ended:
            total += -1 if end.terminal in box.inputs else 1
    return max(-1, min(1, total))


def _wants(out: Plan, end: End) -> int:
    """-1 where a line should leave to the right, 1 where it should come in from the left, 0 where it is the same."""
    box = out.picture.boxes.get(end.item)
    if box is None or not end.terminal:
        return 0
    if box.two_ended:
        return 1 if out.order[box.name][0] == end.terminal else -1
    if not box.inputs:
        return 0
    return 1 if end.terminal in box.inputs else -1


def _key(out: Plan, end: End) -> tuple[float, int]:
    """The smaller is further left. Where neither end has a side of its own, what a plate feeds comes first."""
    wants = _wants(out, end)
    return (wants, 0) if wants else (-0.1 * out.fed.get(end.item, 0), out.places.get(end.item, 0))


# --- strokes ------------------------------------------------------------------------------------------------------


def _stroke(out: Plan, line: Line) -> Stroke:
    tail, head = line.a, line.b
    if _key(out, tail) > _key(out, head):
        tail, head = head, tail
    text = _text(line)
    ends: list[str] = []
    points: list[End] = []
    for end, other in ((tail, head), (head, tail)):
        joint = out.picture.joints.get(end.item)
        if joint is not None and joint.repeated:
            sign = f"{GROUND} {joint.text}" if joint.sort == "ground" else _sign(joint)
            there = out.picture.joints.get(other.item)
            zone = _zone(out, line.a if there is not None and there.repeated else other)
            symbol = Symbol(f"symbol{len(out.symbols)}", f"{text}\n{sign}" if text else sign, zone, end.item)
            out.symbols.append(symbol)
            points.append(End(symbol.name))
            ends.append(f"{symbol.name}:{'w' if ends else 'e'}")
            text = ""
        else:
            ends.append(_port(out, end))
            points.append(end)
    zone = _zone(out, tail)
    return Stroke(line, ends[0], ends[1], text, zone if zone == _zone(out, head) else "", (points[0], points[1]))


def _text(line: Line) -> str:
    numbers = "".join(f"[{number}] " for number in line.numbers)
    words = [loud(word) for word in line.words]
    return "\n".join(text for text in (numbers + ", ".join(words), line.text) if text)


def loud(word: str) -> str:
    """A difference in capitals; what it was, and designators, as they are."""
    return word if word.startswith("was ") else word.upper()


def _port(out: Plan, end: End) -> str:
    if not end.terminal:
        return out.names[end.item]
    return f"{out.names[end.item]}:t{out.picture.boxes[end.item].terminals.index(end.terminal)}"


def _zone(out: Plan, end: End) -> str:
    box = out.picture.boxes.get(end.item)
    return box.zone if box is not None else out.picture.joints[end.item].zone
