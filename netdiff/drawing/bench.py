"""One part as it lies before somebody who works on it: a base seen from below, a strip with its lugs counted.

Where a part has no such face it is drawn by its symbol. Spacings of old bases with large pins are drawn
equal where the standard has unequal ones; the count and the place of the key are what matter.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Final

from netdiff.circuit import Kind, Part, Winding
from netdiff.drawing.ink import Area, Circle, Ink, Stroke, Word, extent, fragment, group, svg
from netdiff.drawing.symbol import box, line
from netdiff.drawing.symbols import symbol
from netdiff.drawing.words import clip, part_lines

EMPHASIS: Final = "#c25410"
"""Of marked terminals; they are larger, bold and ringed as well. A page may restyle ``.terminal.marked``."""

_GAPS: Final = {
    "seven-pin miniature": 1, "noval": 1, "novar": 1, "duodecar": 1, "septar": 1,
}  # fmt: skip
"""Bases whose pins stand on an even circle with one place left out; the others have a key, or two large pins."""
_KEYED: Final = ("octal", "loctal", "special eight-pin")
_LARGE: Final = {"four-pin": (1, 4), "six-pin": (1, 6), "medium seven-pin": (1, 7)}
"""The two thick pins, which are the heater's. Source: from memory of the old American bases."""
_R: Final = 44.0


def part_svg(part: Part, marked: Collection[str] = (), *, windings: Sequence[Winding] = (), prefix: str = "") -> str:
    """An ``<svg>`` fragment of one part, its terminals named and counted, those ``marked`` emphasised.

    Each terminal is a ``<g class="terminal" data-point="V5.g1">``. ``prefix`` keeps the ids of several
    drawings on one page apart. A base is seen from below, pins counted clockwise from the key, gap or index.
    """
    faces = _base(part) or _strip(part) or _by_symbol(part, windings)
    ground, terminals, caption = faces
    area = extent([*ground, *(one for ink in terminals.values() for one in ink)]).grown(8)
    name = f"{part.designator} {part_lines(part)[0] if part_lines(part) else ''}".strip()
    head = Word(area.left + 2, area.top - 6, clip(name, 40), 11, bold=True)
    foot = [Word(area.left + 2, area.bottom + 9 + 10 * i, text, 8) for i, text in enumerate(caption)]
    whole = extent([head, *foot, box(area)]).grown(3)
    inside = [svg(one) for one in (*ground, head, *foot)]
    for terminal, ink in terminals.items():
        on = terminal in marked
        inside.append(
            group(
                [svg(one) for one in (_emphasised(ink) if on else ink)],
                class_="terminal marked" if on else "terminal",
                data_point=f"{part.designator}.{terminal}",
            )
        )
    says = "; ".join(
        [*caption, "terminals: " + ", ".join(terminals), *([f"marked: {', '.join(marked)}"] if marked else [])]
    )
    drawn = group(inside, class_="part", data_part=part.designator)
    return fragment([drawn], whole, title=name, says=says, prefix=prefix)


def _emphasised(ink: Sequence[Ink]) -> list[Ink]:
    from dataclasses import replace

    out: list[Ink] = []
    for one in ink:
        if isinstance(one, Word):
            out.append(replace(one, bold=True, color=EMPHASIS))
        elif isinstance(one, Circle):
            out += [
                replace(one, color=EMPHASIS, weight=2, filled=True),
                Circle(one.x, one.y, one.r + 3.5, 1.8, color=EMPHASIS),
            ]
        else:
            out.append(replace(one, color=EMPHASIS, weight=one.weight + 1.4))
    return out


Faces = tuple[list[Ink], dict[str, list[Ink]], list[str]]
"""What is always there, what belongs to each terminal, and what it says beneath."""


def pins(kind: Kind) -> dict[str, str]:
    """Pin number -> terminal, of a part that sits on a base; caps are not in it."""
    out = {}
    for lug in kind.terminals:
        name = next((n for n in (lug.name, *lug.aliases) if n.isdecimal()), "")
        if name:
            out[name] = lug.name
    return out


def angle(base: str, count: int, pin: int) -> float:
    """Degrees clockwise from six o'clock, where the key, gap or index is, seen from below."""
    if base in _GAPS:
        return 360 / (count + 1) * pin
    return 360 / count * (pin - 0.5)


def _base(part: Part) -> Faces | None:
    base = str(part.kind.facts.get("base", ""))
    if part.kind.name in ("octal-socket", "octal-plug"):
        base = "octal"
    numbered = pins(part.kind)
    if not base or not numbered:
        return None
    count = max(map(int, numbered))
    ground: list[Ink] = [Circle(0, 0, _R + 13, 1.4)]
    if base in _KEYED:
        ground += [Circle(0, 0, 15, 1.2), Stroke(((-5, 14), (-5, 20), (5, 20), (5, 14)), 1.4, filled=True)]
    terminals: dict[str, list[Ink]] = {}
    for text, terminal in numbered.items():
        number = int(text)
        turn = math.radians(angle(base, count, number))
        ux, uy = -math.sin(turn), math.cos(turn)
        r = 6.0 if number in _LARGE.get(base, ()) else 4.2
        x, y = _R * ux, _R * uy
        ink: list[Ink] = [Circle(x, y, r, 1.3), Word((_R - 13) * ux, (_R - 13) * uy + 3.4, text, 9.5, "middle")]
        if terminal != text:
            ink.append(_outside(terminal, ux, uy))
        terminals[terminal] = ink
    caps = [lug.name for lug in part.kind.terminals if lug.name not in terminals]
    for row, name in enumerate(caps):
        place = next((lug.aliases[0] for lug in part.kind.terminals if lug.name == name and lug.aliases), "cap")
        y = -_R - 34 - 14 * row
        terminals[name] = [Circle(-_R, y, 4.2, 1.3), Word(-_R + 9, y + 3.4, f"{name}: {place}, on the other side", 9)]
    mark = "key" if base in _KEYED else "gap" if base in _GAPS else "index"
    if base not in _KEYED:
        ground.append(Stroke(((-4, _R + 19), (4, _R + 19), (0, _R + 14)), 1, closed=True, filled=True))
    seen = {"octal-socket": "the wiring side", "octal-plug": "the pins"}.get(part.kind.name, "below")
    caption = [f"{base} base, seen from {seen}", f"counted clockwise from the {mark}"]
    return ground, terminals, caption


def _outside(text: str, ux: float, uy: float) -> Word:
    x, y = (_R + 19) * ux, (_R + 19) * uy
    anchor = "middle" if abs(ux) < 0.3 else "start" if ux > 0 else "end"
    return Word(x, y + (9 if uy > 0.7 else -1 if uy < -0.7 else 3.4), text, 10, anchor)  # type: ignore[arg-type]


def _strip(part: Part) -> Faces | None:
    if part.kind.family != "strip" or not part.kind.terminals:
        return None
    names = [lug.name for lug in part.kind.terminals]
    row, step = 14, 26.0
    ground: list[Ink] = []
    terminals: dict[str, list[Ink]] = {}
    for count, name in enumerate(names):
        x, y = step * (count % row), 54.0 * (count // row)
        if count % row == 0:
            wide = step * (min(row, len(names) - count) - 1)
            ground.append(box(Area(x - 13, y, x + wide + 13, y + 9)))
        terminals[name] = [
            line((x, y), (x, y - 9)), Circle(x, y - 14, 5, 1.3), Word(x, y + 21, name, 10, "middle"),
        ]  # fmt: skip
    ground += [Stroke(((-22, 0), (-22, 9), (-15, 4.5)), 1, closed=True, filled=True)]
    return ground, terminals, [f"lugs counted from the marked end: {names[0]} to {names[-1]}"]


def _by_symbol(part: Part, windings: Sequence[Winding]) -> Faces:
    names = [lug.name for lug in part.kind.terminals]
    mine = [name for winding in windings if winding.part == part.designator for name in winding.terminals]
    drawn = symbol(part, list(dict.fromkeys([*names, *mine])), windings)
    terminals: dict[str, list[Ink]] = {}
    two = part.kind.ends is not None and set(drawn.ports) == set(part.kind.ends)
    for name, port in drawn.ports.items():
        ink: list[Ink] = [Circle(port.x, port.y, 2.4, 1.3)]
        if two:
            ink.append(Word(port.x, port.y + 13, name, 9, "middle"))
        terminals[name] = ink
    return list(drawn.ink), terminals, [clip(part.kind.title or part.kind.name, 40)]
