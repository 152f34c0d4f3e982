"""The neighbourhood of one modification: its own parts, and as many of their neighbours as one still takes in."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Final, NamedTuple

from netdiff.drawing.model import Box, CannotDraw, Line, Picture
from netdiff.drawing.views import around, cut_out, numbered
from netdiff.drawing.words import clip

FRIENDS: Final = 7
"""Neighbours shown beside the parts that a modification is about."""
CLOSE: Final = 3
"""The same where the diagram would be too large for one sheet of paper."""
CROWD: Final = 16
"""A modification of more parts than this is shown by so many of them."""
LONELY: Final = 2
"""With fewer neighbours than this, parts on the same supply are shown too."""
FEW: Final = 5
"""Up to so many terminals a supply is drawn as a line, beyond as a sign at each terminal."""


class Near(NamedTuple):
    picture: Picture
    core: frozenset[str]


def near(picture: Picture, wanted: str, friends: int = FRIENDS) -> Near:
    """With at most so many ``friends``. Raises CannotDraw where there is no such modification."""
    entry = numbered(picture, wanted)
    number = entry.number
    mine = [line for line in picture.lines if number in line.numbers]
    core = {name for name, box in picture.boxes.items() if number in box.numbers}
    core = set(sorted(core, key=list(picture.boxes).index)[:CROWD])
    touched: set[str] = set()
    for line in mine:
        for end in (line.a, line.b):
            if end.terminal:
                core.add(end.item)
            elif not picture.joints[end.item].repeated:
                touched.add(end.item)
    if not core and not touched:
        raise CannotDraw(f"Modification {number} names no part and no conductor: there is nothing to draw.")
    apart = [line for line in mine if all(not e.terminal and picture.joints[e.item].repeated for e in (line.a, line.b))]
    if apart:  # between two tie points of supplies: the strips say no more than the line's ends
        core = {name for name in core if picture.boxes[name].terminals}
    keep = core | _friends(picture, core, touched, friends)
    shown = cut_out(picture, keep, "")
    shown = _pruned(_railed(shown, core), core)
    if apart:
        ends = {end.item: picture.joints[end.item] for line in apart for end in (line.a, line.b)}
        shown = replace(shown, lines=(*shown.lines, *apart), joints={**shown.joints, **ends})
    boxes = {name: replace(box, aside=_aside(box, number)) for name, box in shown.boxes.items()}
    lines = tuple(replace(line, aside=_aside(line, number)) for line in shown.lines)
    return Near(replace(shown, entries=(entry,), boxes=boxes, lines=lines), frozenset(core))


def _aside(one: Box | Line, number: int) -> bool:
    return one.mark not in ("", "unseen") and number not in one.numbers


def about(picture: Picture, name: str) -> Near:
    """One part and what it is wired to."""
    shown = around(picture, name)
    core = {name}
    if len(shown.boxes) > CROWD:
        touched = {end.item for line in picture.lines_of(name) for end in (line.a, line.b) if not end.terminal}
        keep = core | _friends(picture, core, {j for j in touched if not picture.joints[j].repeated})
        shown = cut_out(picture, keep, f"Around {name}")
    return Near(_pruned(_railed(shown, core), core), frozenset(core))


def _friends(picture: Picture, core: set[str], touched: set[str], most: int = FRIENDS) -> set[str]:
    """The neighbours that say most: first on the joints that the difference touches, then by how much they share."""
    worth: Counter[str] = Counter()
    shared = {
        there.item
        for line in picture.lines
        for here, there in ((line.a, line.b), (line.b, line.a))
        if here.item in core and not there.terminal and not picture.joints[there.item].repeated
    }
    for line in picture.lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            if not there.terminal or there.item in core:
                continue
            if here.terminal and here.item in core:
                worth[there.item] += 4
            elif not here.terminal and here.item in touched:
                worth[there.item] += 6
            elif here.item in shared:
                worth[there.item] += 2
    if len(worth) < LONELY:
        worth += _on_supplies(picture, core)
    order = {name: count for count, name in enumerate(picture.boxes)}
    best = sorted(worth, key=lambda name: (-worth[name], _size(picture, name), order[name]))
    return set(best[:most])


def _on_supplies(picture: Picture, core: set[str]) -> Counter[str]:
    """Parts on the same supply, those between it and ground before the others; not more than a line can carry."""
    out: Counter[str] = Counter()
    for name, joint in picture.joints.items():
        if joint.sort != "supply":
            continue
        ends = [line.a.item for line in picture.lines_of(name) if line.a.terminal]
        if not core & set(ends):
            continue
        others = [item for item in dict.fromkeys(ends) if item not in core and picture.boxes[item].two_ended]
        grounded = {line.a.item for item in others for line in picture.lines_of(item) if _ground(picture, line)}
        others.sort(key=lambda item: item not in grounded)
        out.update(others[: FEW - 1 - len(core & set(ends))])
    return out


def _ground(picture: Picture, line: Line) -> bool:
    joint = picture.joints.get(line.b.item)
    return joint is not None and joint.sort == "ground"


def _size(picture: Picture, name: str) -> int:
    return len(picture.boxes[name].terminals) > 4


def _railed(picture: Picture, core: set[str]) -> Picture:
    """A supply with few terminals here becomes a line that they hang on, with its name."""
    joints = dict(picture.joints)
    for name, joint in picture.joints.items():
        if joint.sort != "supply":
            continue
        ends = list(picture.lines_of(name))
        if 1 < len(ends) <= FEW and any(end.item in core for line in ends for end in (line.a, line.b)):
            text = clip(f"{joint.text} {joint.detail}")
            joints[name] = replace(joint, sort="name", text=text)
    return replace(picture, joints=joints)


def _pruned(picture: Picture, core: set[str]) -> Picture:
    """Of neighbours with many terminals only those that lead to something shown."""
    big = {n for n, box in picture.boxes.items() if n not in core and not box.two_ended}
    count = Counter(end.item for line in picture.lines for end in (line.a, line.b) if not end.terminal)

    def idle(line: Line) -> bool:
        """It leads from such a neighbour to nothing else that is shown."""
        if line.mark not in ("", "unseen"):
            return False
        for here, there in ((line.a, line.b), (line.b, line.a)):
            joint = picture.joints.get(there.item)
            if joint is not None and here.item in big and (joint.repeated or count[there.item] == 1):
                return True
        return False

    lines = tuple(line for line in picture.lines if not idle(line))
    used = {end.item for line in lines for end in (line.a, line.b)}
    return replace(picture, lines=lines, joints={n: j for n, j in picture.joints.items() if n in used})
