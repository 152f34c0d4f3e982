"""Foreign parts in series in a connection that the drawing makes plain."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from netdiff.circuit import Part, Point, natural
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make, shown
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import part_words, some


def bridges_between(part: Part) -> list[tuple[str, str]]:
    """Pairs of terminals between which a current passes through the part."""
    kind = part.kind
    if kind.contacts:
        return [(contact.a, contact.b) for contact in kind.contacts]
    if kind.ends is not None:
        return [kind.ends]
    names = [lug.name for lug in kind.terminals]
    return [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]]


def inserted(scene: Scene) -> Iterator[Finding]:
    cut: dict[int, list[str]] = defaultdict(list)
    for key in scene.open:
        raw = scene.raw[key]
        if raw.sort == "cut" and scene.home.get(raw.found_net, raw.stock_net) == raw.stock_net:
            cut[raw.stock_net].append(key)
    if not cut:
        return
    through: dict[int, list[tuple[int, str, Point, Point]]] = defaultdict(list)
    for name, part in scene.found_parts.items():
        if f"extra:{name}" not in scene.open:
            continue
        for a, b in _pairs(scene, name, part):
            here, there = scene.here.get(f"{name}.{a}"), scene.here.get(f"{name}.{b}")
            if here is not None and there is not None and here != there:
                through[here].append((there, name, f"{name}.{a}", f"{name}.{b}"))
                through[there].append((here, name, f"{name}.{b}", f"{name}.{a}"))
    for s in sorted(cut):
        yield from _one_net(scene, s, sorted(cut[s]), through)


def _pairs(scene: Scene, name: str, part: Part) -> list[tuple[str, str]]:
    if part.kind.any_terminal and not part.kind.terminals:
        used = sorted({w.partition(".")[2] for w in scene.here if w.startswith(f"{name}.")})
        return [(a, b) for i, a in enumerate(used) for b in used[i + 1 :]]
    return bridges_between(part)


def _one_net(
    scene: Scene, s: int, keys: list[str], through: dict[int, list[tuple[int, str, Point, Point]]]
) -> Iterator[Finding]:
    fragments = {scene.raw[key].found_net: key for key in keys}
    start = scene.of_stock[s][0]
    paths: dict[int, list[tuple[str, Point, Point]]] = {start: []}
    queue = [start]
    while queue:
        at = queue.pop(0)
        for there, name, near, far in through.get(at, ()):
            if there in paths or (there not in fragments and scene.of_found.get(there)):
                continue
            paths[there] = [*paths[at], (name, near, far)]
            queue.append(there)
    groups: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for fragment in fragments:
        if paths.get(fragment):
            groups[tuple(dict.fromkeys(name for name, _, _ in paths[fragment]))].append(fragment)
    for names in sorted(groups):
        reached = groups[names]
        own = shown(scene, scene.blocks.get((s, start), []))
        beyond = shown(scene, [where for fragment in reached for where in scene.blocks[s, fragment]])
        parts = [scene.found_parts[name] for name in names]
        steps = [step for fragment in reached for step in paths[fragment]]
        says = (
            f"{some(part_words(part) for part in parts)} {'stands' if len(parts) == 1 else 'stand'} in series between "
            f"{some(_nearest(scene, own, steps), 3)} and {some(beyond, 3)}, which the drawing joins."
        )
        says += _rest(parts, steps) + _other_leads(scene, parts, steps)
        yield make(
            scene,
            "inserted-part",
            says,
            parts=names,
            terminals=sorted({*_nearest(scene, own, steps), *beyond}, key=natural),
            nets=[s],
            explains=scene.take(*(f"extra:{name}" for name in names), *(fragments[f] for f in reached)),
            shares=[*(f"part {name}" for name in names), f"net {s}"],
            places=[p for part in parts for p in part.places]
            + list(scene.places(*(w for st in steps for w in st[1:]))),
        )


def _nearest(scene: Scene, own: list[Point], steps: list[tuple[str, Point, Point]]) -> list[Point]:
    """Of the drawing's terminals on the near side, those that a conductor takes straight to the stranger."""
    ends = {where for _, near, far in steps for where in (near, far)}
    close = [w for w in own if any({run.a, run.b} & ends for run in scene.landing.get(w, ()))]
    return close or own


def _rest(parts: list[Part], steps: list[tuple[str, Point, Point]]) -> str:
    out = ""
    for part in parts:
        for contact in part.kind.contacts:
            ends = {f"{part.designator}.{contact.a}", f"{part.designator}.{contact.b}"}
            if any({near, far} == ends for _, near, far in steps):
                rest = part.at or (part.kind.positions[0] if part.kind.positions else "")
                word = "closed" if rest in contact.positions else "open"
                out += f" Its contact {contact.a}–{contact.b} is {word} at rest."
    return out


def _other_leads(scene: Scene, parts: list[Part], steps: list[tuple[str, Point, Point]]) -> str:
    used = {where for _, near, far in steps for where in (near, far)}
    words = []
    for part in parts:
        for lug in part.kind.terminals:
            where = f"{part.designator}.{lug.name}"
            number = scene.net_of(where)
            if where not in used and number >= 0:
                words.append(f"{lug.name} is on {scene.net_name(number)}")
    return f" {some(words, 6).capitalize()}." if words else ""
