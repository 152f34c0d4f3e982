"""Parts with their texts and signs: lying along a line, standing between a line and a ground, or tall."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from netdiff.circuit import Part, Winding
from netdiff.drawing.ink import Area, Ink, Stroke, Word, around, extent, measure, moved, turned
from netdiff.drawing.looks import SIDES, Patch, Side, earth_sign, flag, frame_sign, goes_to, look, shaded
from netdiff.drawing.model import Box
from netdiff.drawing.node import FLAG, LINE, SHORT, Loops, Node, make_node
from netdiff.drawing.plan import loud
from netdiff.drawing.symbol import Port, Symbol, box, line
from netdiff.drawing.symbols import symbol
from netdiff.drawing.two_ended import HALF
from netdiff.drawing.words import clip


@dataclass(frozen=True, slots=True)
class Tag:
    """A sign that a terminal carries in place of a line."""

    sort: str
    """``ground``, ``earth``, ``supply`` or ``reference``."""
    text: str = ""
    spots: tuple[str, str] = ("", "")
    """The very lug, as drawn and as found, where that is what differs."""


@dataclass(frozen=True, slots=True)
class Wish:
    """How a part is to be drawn: ``detail`` shows its label; ``first`` is the terminal on the left of a lying part."""

    terminals: tuple[str, ...]
    tags: dict[str, Tag]
    windings: Sequence[Winding] = ()
    detail: bool = True
    first: str = ""
    some: bool = False
    """Not all of its terminals are shown."""
    loops: Loops = ()
    numbers: bool = True
    short: bool = False
    """The designator and the numbers alone."""


def part_node(name: str, one: Box, wish: Wish, flip: bool = False) -> Node:
    drawn, seen = _symbol(one, "stock", wish), _symbol(one, "found", wish)
    ends = set(drawn.ports)
    two = one.two_ended and len(ends) == 2 and all(abs(p.y) < 0.1 for p in drawn.ports.values())
    if two:
        left, right = sorted(drawn.ports, key=lambda t: drawn.ports[t].x)
        if wish.first and wish.first != left:
            drawn, seen, left, right = drawn.flipped(), seen.flipped(), right, left
        standing = _standing(left, right, wish.tags)
        if standing:
            node = _standing_node(name, one, wish, drawn, seen, standing)
        else:
            if flip:
                drawn, seen = drawn.flipped(), seen.flipped()
            node = _lying_node(name, one, wish, drawn, seen)
            node.flip = lambda: part_node(name, one, wish, not flip)
    else:
        if flip:
            drawn, seen = drawn.flipped(), seen.flipped()
        node = _tall_node(name, one, wish, drawn, seen)
        node.flip = lambda: part_node(name, one, wish, not flip)
    return node


def _symbol(one: Box, side: Side, wish: Wish) -> Symbol:
    """The symbol on one side. Another kind of part in the same place keeps the places of the terminals."""
    part, other = (one.stock, one.unit) if side == "stock" else (one.unit, one.stock)
    first = one.stock or one.unit
    assert first is not None
    base = symbol(first, wish.terminals, wish.windings)
    same = part is not None and part.kind.name == first.kind.name
    if part is None or (same and (part is not first or other is None or other.kind.name == first.kind.name)):
        return base
    has = {lug.name for lug in part.kind.terminals}
    own = symbol(part, [t for t in wish.terminals if t in has or not has], wish.windings)
    if own.ports and all(base.ports.get(t) == port for t, port in own.ports.items()):
        return Symbol(own.ink, base.ports)
    if other is not None and part.kind.name == other.kind.name:
        return base
    return _in_place(base, part)


def _in_place(base: Symbol, part: Part) -> Symbol:
    """Another part between the places where the drawing's part has its terminals: a rectifier by its symbol, all
    else a box with words.
    """
    ports = base.ports
    left, right = min(p.x for p in ports.values()), max(p.x for p in ports.values())
    heights = [p.y for p in ports.values()]
    x, y = (left + right) / 2, (min(heights) + max(heights)) / 2
    plates = [t for t in ports if t.startswith("p")]
    if part.kind.name in ("diode", "rectifier") and len(plates) == 1 and len(ports) > 1:
        return Symbol(tuple(_diode_in_place(ports, plates[0], x, y)), ports)
    text = clip(part.kind.type or part.kind.title, 20)
    half = measure(text, 7.5) / 2 + 4
    ink: list[Ink] = [box(Area(x - half, y - 8, x + half, y + 8)), Word(x, y + 2.8, text, 7.5, "middle")]
    for port in ports.values():
        if abs(port.y - y) < 8:
            ink.append(line((port.x, port.y), (x - half if port.x < x else x + half, port.y)))
        else:
            edge = max(x - half + 3, min(x + half - 3, port.x))
            ink.append(line((port.x, port.y), (edge, port.y), (edge, y - 8 if port.y < y else y + 8)))
    return Symbol(tuple(ink), ports)


def _diode_in_place(ports: Mapping[str, Port], plate: str, x: float, y: float) -> Iterator[Ink]:
    """Upright, its anode where the plate was, its cathode on all the others."""
    top = ports[plate]
    yield line((top.x, top.y), (x, top.y), (x, y - 5))
    yield Stroke(((x - 6, y - 5), (x + 6, y - 5), (x, y + 4)), closed=True)
    yield line((x - 6, y + 4), (x + 6, y + 4))
    for name, port in ports.items():
        if name != plate:
            yield line((x, y + 4), (x, port.y), (port.x, port.y))


def _standing(left: str, right: str, tags: dict[str, Tag]) -> str:
    """``down`` or ``up``: where the sign of a part that stands between a line and a ground or supply is; or empty."""
    first, last = tags.get(left), tags.get(right)
    if first is not None and last is not None:
        sorts = {first.sort in ("ground", "earth"), last.sort in ("ground", "earth")}
        return "down" if sorts == {True, False} else ""
    only = first or last
    if only is None or only.sort == "reference":
        return ""
    return "up" if only.sort == "supply" else "down"


def _standing_node(name: str, one: Box, wish: Wish, drawn: Symbol, seen: Symbol, way: str) -> Node:
    """Upright, texts on the right, clear of the level of its lines."""
    left, right = sorted(drawn.ports, key=lambda t: drawn.ports[t].x)
    low = next(
        t for t in (left, right) if t in wish.tags and (wish.tags[t].sort in ("ground", "earth")) == (way == "down")
    )
    high = left if low == right else right
    if way == "up":
        low, high = high, low
    faces: dict[Side, list[Patch]] = {}
    most = max(len(_texts(one, side, wish)) for side in SIDES)
    for side, shape in (("stock", drawn), ("found", seen)):
        body = shape if low == right else shape.flipped()
        ink = list(turned(body.ink))
        signs: list[Ink] = []
        for terminal, y, ahead in ((high, -HALF, "U"), (low, HALF, "D")):
            if terminal in wish.tags:
                signs += moved(_tag_ink(wish.tags[terminal], ahead, side), 0, y)  # type: ignore[arg-type]
        texts = _texts(one, side, wish)  # type: ignore[arg-type]
        x = max(8.0, extent(ink).right + 3)
        start = -12.0 if way == "down" else 14.0 - LINE * (most - 1)
        faces[side] = _patches(one, side, [*ink, *signs], texts, x, start, "start", wish)  # type: ignore[index, arg-type]
    ports = {high: Port(0, -HALF, "LR"), low: Port(0, HALF, "LR")}
    return make_node(name, ports, faces, zone=one.zone, loops=wish.loops)


def _lying_node(name: str, one: Box, wish: Wish, drawn: Symbol, seen: Symbol) -> Node:
    faces: dict[Side, list[Patch]] = {}
    body = around([extent(drawn.ink), extent(seen.ink), Area(-1, -6, 1, 5)])
    for side, shape in (("stock", drawn), ("found", seen)):
        ink = [*shape.ink, *_tags(shape, wish.tags, side)]  # type: ignore[arg-type]
        texts = _texts(one, side, wish)  # type: ignore[arg-type]
        head, rest = texts[:1], texts[1:]
        faces[side] = _patches(one, side, ink, head, 0, body.top - 4, "middle", wish)  # type: ignore[index, arg-type]
        if rest:
            faces[side] += _patches(one, side, [], rest, 0, body.bottom + 9, "middle", wish)  # type: ignore[index, arg-type]
    return make_node(name, dict(drawn.ports), faces, zone=one.zone, loops=wish.loops)


def _tall_node(name: str, one: Box, wish: Wish, drawn: Symbol, seen: Symbol) -> Node:
    """Texts above the symbol."""
    faces: dict[Side, list[Patch]] = {}
    inks: dict[Side, list[Ink]] = {
        "stock": [*drawn.ink, *_tags(drawn, wish.tags, "stock")],
        "found": [*seen.ink, *_tags(seen, wish.tags, "found")],
    }
    whole = around([extent(ink) for ink in inks.values()])
    middle = (drawn.area.left + drawn.area.right) / 2
    most = max(len(_texts(one, side, wish)) for side in SIDES)
    for side in SIDES:
        texts = _texts(one, side, wish)
        start = whole.top - 5 - LINE * (most - 1)
        faces[side] = _patches(one, side, inks[side], texts, middle, start, "middle", wish)
    return make_node(name, dict(drawn.ports), faces, zone=one.zone, firm=len(drawn.ports) > 1, loops=wish.loops)


def _tags(shape: Symbol, tags: dict[str, Tag], side: Side) -> list[Ink]:
    out: list[Ink] = []
    lowest = max(port.y for port in shape.ports.values())
    for terminal, tag in tags.items():
        port = shape.ports[terminal]
        way = port.ways if len(port.ways) == 1 else "D" if port.y >= lowest else "U"
        out += moved(_tag_ink(tag, way, side), port.x, port.y)
    return out


def _tag_ink(tag: Tag, way: str, side: Side) -> tuple[Ink, ...]:
    if tag.sort == "reference" or tag.sort == "supply":
        return goes_to(tag.text, way)
    sign = earth_sign(way) if tag.sort == "earth" else frame_sign(way)
    spot = tag.spots[0 if side == "stock" else 1]
    if not spot:
        return sign
    x, y, anchor = {"D": (9, 9, "start"), "U": (9, -3, "start"), "R": (13, 3, "start"), "L": (-13, 3, "end")}[way]
    return (*sign, Word(x, y, spot, 8, anchor, bold=True))  # type: ignore[arg-type]


Texts = list[tuple[str, bool, bool]]
"""Lines of text: the text, whether bold, whether it tells a difference."""


def _texts(one: Box, side: Side, wish: Wish) -> Texts:
    title = f"{one.name} / {one.alias}" if one.alias and one.unit is not None and side == "found" else one.name
    if wish.some:
        title += " (part)"
    out: Texts = [(title, True, False)]
    if wish.short:
        return out
    lines = one.drawn if side == "stock" else one.seen or one.drawn
    shown = lines if wish.detail else lines[:1]
    out += [(text, False, False) for text in shown]
    if side == "found":
        out += [(loud(word), True, True) for word in one.words]
    return out


def _patches(
    one: Box, side: Side, ink: list[Ink], texts: Texts, x: float, y: float, anchor: str, wish: Wish
) -> list[Patch]:
    """The part's ink and texts on one side: nothing where it is only on the other, a ghost where it is missing."""
    if side == "stock" and not one.presence.stock:
        return []
    how = look(one, side)
    ghost = how.name in ("missing", "unseen")
    body = list(shaded(ink, how, dashed=ghost))
    plain: list[Ink] = []
    for count, (text, bold, loudly) in enumerate(texts):
        size = SHORT if wish.short else 9 if bold and not loudly else 8
        word = Word(x, y + LINE * count, text, size, anchor, bold)  # type: ignore[arg-type]
        (body if loudly else plain).append(word)
        if count == 0 and wish.numbers and ink:
            at = word.area.right + 3
            for number in one.numbers:
                more, wide = flag(at, y + (2 if wish.short else 0), number, FLAG if wish.short else 8.0)
                body += more
                at += wide + 2
    kind = "part" if ink else "words"
    data = (("part", one.name),)
    return [Patch(tuple(body), kind, how, data), Patch(tuple(plain), "words", data=data)]
