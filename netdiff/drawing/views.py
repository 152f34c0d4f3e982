"""The same picture seen three ways, and the neighbourhood of one part, one zone or one modification."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from difflib import get_close_matches
from typing import Final, Literal

from netdiff.drawing.model import Box, CannotDraw, End, Entry, Joint, Line, Picture
from netdiff.drawing.words import LONGEST, clip

View = Literal["stock", "found", "both"]

CONTEXT: Final = 30
"""A modification is shown with its neighbours up to so many parts; a larger one without."""


def seen_as(picture: Picture, view: View) -> Picture:
    """The stock circuit alone, the unit as found alone, or both laid over each other."""
    if view == "both":
        return picture
    change_box, change_line = (_stock_box, _stock_line) if view == "stock" else (_found_box, _found_line)
    boxes = {box.name: change_box(box) for box in picture.boxes.values() if getattr(box.presence, view)}
    lines = [change_line(line) for line in picture.lines if getattr(line.presence, view)]
    return _tidy(replace(picture, boxes=boxes, lines=tuple(lines), notes=picture.notes if view == "found" else ()))


def _stock_box(box: Box) -> Box:
    return replace(box, seen=(), words=(), mark="touched" if box.mark in ("missing", "changed") else "")


def _stock_line(line: Line) -> Line:
    return replace(line, words=(), mark="touched" if line.mark in ("missing", "changed") else "")


def _found_box(box: Box) -> Box:
    return replace(box, drawn=()) if box.seen else box


def _found_line(line: Line) -> Line:
    return line


def around(picture: Picture, name: str) -> Picture:
    """One part and every part that shares a net with it, grounds and supplies left out."""
    if name not in picture.boxes:
        raise CannotDraw(f"There is no part {clip(name)} in this picture{_nearest(name, picture.boxes)}.")
    keep = {name, *_neighbours(picture)[name]}
    return cut_out(picture, keep, f"Around {name}")


def in_zone(picture: Picture, zone: str) -> Picture:
    """The parts of one zone; where a net leaves it, the picture says where it goes."""
    if zone not in picture.zones:
        raise CannotDraw(f"There is no zone {clip(zone)}{_nearest(zone, picture.zones)}.")
    keep = {box.name for box in picture.boxes.values() if box.zone == zone}
    return cut_out(picture, keep, picture.zones[zone])


def of_modification(picture: Picture, wanted: str) -> Picture:
    """One modification (``3`` or ``mod-3``): its parts, the ends of its conductors, and their neighbours."""
    entry = numbered(picture, wanted)
    number = entry.number
    core = {box.name for box in picture.boxes.values() if number in box.numbers}
    for line in picture.lines:
        if number in line.numbers:
            for end in (line.a, line.b):
                core |= {end.item} if end.terminal else _at_joint(picture, end.item)
    near = _neighbours(picture)
    wide = core.union(*(near[name] for name in core))
    shown = cut_out(picture, wide if len(wide) <= CONTEXT else core, "")
    return replace(shown, entries=(entry,))


def numbered(picture: Picture, wanted: str) -> Entry:
    """The modification called ``3`` or ``mod-3``."""
    known = {entry.number: entry for entry in picture.entries}
    text = wanted.removeprefix("mod-")
    number = int(text) if text.isdecimal() and len(text) < 9 else 0
    if number not in known:
        have = f"they are numbered 1 to {max(known)}" if known else "there is none"
        raise CannotDraw(f"There is no modification {clip(wanted)}: {have}.")
    return known[number]


def _nearest(name: str, known: Iterable[str]) -> str:
    close = get_close_matches(name[:60], list(known), 1, 0)
    return f"; the nearest is {close[0]}" if close else ""


def _at_joint(picture: Picture, joint: str) -> set[str]:
    if picture.joints[joint].repeated:
        return set()
    ends = (end for line in picture.lines_of(joint) for end in (line.a, line.b))
    return {end.item for end in ends if end.terminal}


def _neighbours(picture: Picture) -> dict[str, set[str]]:
    """Box -> the boxes that it shares a line or a joint with."""
    out: dict[str, set[str]] = defaultdict(set)
    groups: dict[str, set[str]] = defaultdict(set)
    for line in picture.lines:
        a, b = line.a, line.b
        if a.terminal and b.terminal:
            out[a.item].add(b.item)
            out[b.item].add(a.item)
        for here, there in ((a, b), (b, a)):
            joint = picture.joints.get(there.item)
            if here.terminal and joint is not None and not joint.repeated:
                groups[there.item].add(here.item)
    for line in picture.lines:
        first, second = (picture.joints.get(end.item) for end in (line.a, line.b))
        if first is not None and second is not None and not first.repeated and not second.repeated:
            groups[first.name] |= groups[second.name]
            groups[second.name] |= groups[first.name]
    for members in groups.values():
        for name in members:
            out[name] |= members - {name}
    return out


def cut_out(picture: Picture, keep: set[str], heading: str) -> Picture:
    """The kept parts with everything between them; whatever leads out is named by where it goes."""
    boxes = {name: box for name, box in picture.boxes.items() if name in keep}
    joints = dict(picture.joints)
    inside = {
        end.item
        for line in picture.lines
        for end, other in ((line.a, line.b), (line.b, line.a))
        if not end.terminal and not joints[end.item].repeated and other.item in boxes
    }

    def kept(end: End) -> bool:
        return end.item in boxes if end.terminal else end.item in inside or joints[end.item].repeated

    lines: list[Line] = []
    away: dict[str, list[str]] = defaultdict(list)
    for line in picture.lines:
        if kept(line.a) and kept(line.b):
            if {line.a.item, line.b.item} & (boxes.keys() | inside):
                lines.append(line)
            continue
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if not kept(here) or (not here.terminal and joints[here.item].repeated):
                continue
            if here.terminal:
                name = f"out {len(joints)}"
                joints[name] = Joint(name, "reference", picture.name(there), zone=boxes[here.item].zone)
                lines.append(replace(line, a=here, b=End(name)))
            else:
                away[here.item].append(picture.name(there))
    for name, others in away.items():
        goes = clip(" ".join(others[:3]) + (" …" if len(others) > 3 else ""), LONGEST)
        joints[name] = replace(joints[name], sort="name", text=f"{joints[name].text}\n→ {goes}".strip())
    numbers = {n for box in boxes.values() for n in box.numbers} | {n for line in lines for n in line.numbers}
    entries = tuple(entry for entry in picture.entries if entry.number in numbers)
    subtitle = ": ".join(text for text in (picture.subtitle, heading) if text)
    out = replace(picture, subtitle=subtitle, boxes=boxes, joints=joints, lines=tuple(lines), entries=entries, notes=())
    return _tidy(out)


def _tidy(picture: Picture) -> Picture:
    """Without the joints that no line reaches."""
    used = {end.item for line in picture.lines for end in (line.a, line.b)}
    return replace(picture, joints={name: joint for name, joint in picture.joints.items() if name in used})
