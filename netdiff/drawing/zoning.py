"""Keeps a large picture followable: what runs from zone to zone becomes a reference at either end.

A drawing of a whole unit on one sheet would be a thicket of lines across the zones. As a service
manual does from sheet to sheet, a plain net that leaves its zone is named at each end by where it
goes (``→ V5.g1``). Differences and cables stay lines: they are what the picture is about.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace

from netdiff.drawing.model import Box, End, Joint, Line, Picture
from netdiff.drawing.words import clip


def homes(picture: Picture) -> Picture:
    """Every box without a zone goes where most of its neighbours are: a foreign part is drawn where it hangs."""
    boxes = dict(picture.boxes)
    for _ in range(3):
        lost = [box for box in boxes.values() if not box.zone]
        if not lost or not any(box.zone for box in boxes.values()):
            break
        votes: dict[str, Counter[str]] = defaultdict(Counter)
        for name, others in _neighbours(picture).items():
            if name in boxes and not boxes[name].zone:
                votes[name].update(boxes[other].zone for other in others if other in boxes and boxes[other].zone)
        for box in lost:
            if votes[box.name]:
                boxes[box.name] = replace(box, zone=votes[box.name].most_common(1)[0][0])
    joints = {
        name: replace(joint, zone=_most(boxes[o].zone for o in _neighbours_of(picture, name) if o in boxes))
        for name, joint in picture.joints.items()
    }
    return replace(picture, boxes=boxes, joints=joints)


def _most(zones) -> str:
    counted = Counter(zone for zone in zones if zone)
    return counted.most_common(1)[0][0] if counted else ""


def _neighbours_of(picture: Picture, item: str) -> list[str]:
    return [line.b.item if line.a.item == item else line.a.item for line in picture.lines_of(item)]


def _neighbours(picture: Picture) -> dict[str, list[str]]:
    out: dict[str, list[str]] = defaultdict(list)
    by_joint: dict[str, list[str]] = defaultdict(list)
    for line in picture.lines:
        for here, there in ((line.a, line.b), (line.b, line.a)):
            joint = picture.joints.get(there.item)
            if joint is None:
                out[here.item] += [there.item]
            elif not joint.repeated:
                by_joint[there.item].append(here.item)
    for members in by_joint.values():
        for here in members:
            out[here] += [other for other in members if other != here]
    return out


def by_reference(picture: Picture) -> Picture:
    zone_of = {name: box.zone for name, box in picture.boxes.items()}
    by_joint: dict[str, list[Line]] = defaultdict(list)
    out: list[Line] = []
    joints = dict(picture.joints)
    for line in picture.lines:
        ends = [picture.joints.get(line.a.item), picture.joints.get(line.b.item)]
        mine = [e for e, j in zip((line.a, line.b), ends) if j is not None and not j.repeated and j.sort != "open"]
        for e in mine:
            by_joint[e.item].append(line)
        if not mine:
            out.append(line)
    # direct lines
    direct, out = out, []
    for line in direct:
        a, b = line.a, line.b
        if a.terminal and b.terminal and _plain(line) and zone_of[a.item] != zone_of[b.item]:
            for here, there in ((a, b), (b, a)):
                out.append(replace(line, a=here, b=_reference(joints, [there])))
        else:
            out.append(line)
    moved: dict[tuple[int, str], End] = {}
    rest: dict[int, Line] = {}
    for name, lines in by_joint.items():
        joint = picture.joints[name]
        per_zone: dict[str, list[Line]] = defaultdict(list)
        cross = []
        for line in lines:
            far = line.b if line.a.item == name else line.a
            if _plain(line) and far.terminal:
                per_zone[zone_of[far.item]].append(line)
            else:
                cross.append((line, far))
        if len(per_zone) < 2:
            for line in lines:
                rest[id(line)] = line
            continue
        main = max(per_zone, key=lambda z: len(per_zone[z]))
        copies = {}
        need = defaultdict(int)
        for line, far in cross:
            z = zone_of.get(far.item, main)
            z = z if z in per_zone else main
            need[z] += 1
            moved[id(line), name] = z
            rest[id(line)] = line
        for z, own in per_zone.items():
            away = [l.b if l.a.item == name else l.a for zz, ls in per_zone.items() if zz != z for l in ls]
            if len(own) == 1 and not need[z]:
                far = own[0].b if own[0].a.item == name else own[0].a
                if joint.text:
                    nm = f"ref {len(joints)}"
                    joints[nm] = Joint(nm, "ref", joint.text.split("\n")[0] if len(away) > 2 else joint.text.split("\n")[0] + " " + " ".join(f"{e.item}.{e.terminal}" for e in away), z)
                    out.append(replace(own[0], a=far, b=End(nm)))
                else:
                    out.append(replace(own[0], a=far, b=_reference(joints, away)))
            else:
                nm = f"{name} in {z}"
                joints[nm] = replace(joint, name=nm, zone=z, text=(joint.text + "\n" if joint.text else "") + "→ " + _some(away))
                if joint.sort == "dot":
                    joints[nm] = replace(joints[nm], sort="name")
                copies[z] = nm
                for l in own:
                    far = l.b if l.a.item == name else l.a
                    out.append(replace(l, a=far, b=End(nm)))
        for line, far in cross:
            moved[id(line), name] = End(copies[moved[id(line), name]])
        joints.pop(name)
    for line in rest.values():
        a = moved.get((id(line), line.a.item), line.a)
        b = moved.get((id(line), line.b.item), line.b)
        out.append(replace(line, a=a, b=b))
    return replace(picture, lines=tuple(out), joints=joints)


def _some(ends):
    names = [f"{e.item}.{e.terminal}" for e in ends]
    return clip(" ".join(names[:3]) + (" …" if len(names) > 3 else ""), 40)


def _plain(line: Line) -> bool:
    return line.mark in ("", "unseen") and not line.conductor


def _reference(joints, ends):
    nm = f"ref {len(joints)}"
    joints[nm] = Joint(nm, "ref", _some(ends))
    return End(nm)
