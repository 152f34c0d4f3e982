"""Foreign parts that no other rule explains: in a missing part's place, across a stock part, or simply added."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from netdiff.circuit import Part, Point, is_foreign, natural, part_of
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import part_words, some


def _strangers(scene: Scene) -> list[tuple[str, Part]]:
    open_parts = [(name, part) for name, part in scene.found_parts.items() if f"extra:{name}" in scene.open]
    return sorted(open_parts, key=lambda item: natural(item[0]))


def _two_nets(scene: Scene, part: Part) -> tuple[int, int] | None:
    if part.kind.ends is None:
        return None
    a, b = (scene.net_of(f"{part.designator}.{end}") for end in part.kind.ends)
    return (min(a, b), max(a, b)) if a >= 0 and b >= 0 and a != b else None


def _between(scene: Scene, names: Iterator[str]) -> dict[tuple[int, int], list[str]]:
    out: dict[tuple[int, int], list[str]] = defaultdict(list)
    for name in names:
        ends = scene.stock.parts[name].kind.ends
        if ends is not None:
            a, b = (scene.drawn.index[f"{name}.{end}"] for end in ends)
            out[min(a, b), max(a, b)].append(name)
    return out


def in_place_of(scene: Scene) -> Iterator[Finding]:
    """A foreign part of another kind between the two nets of a stock part that is not there."""
    gone = _between(scene, (n for n in sorted(scene.missing, key=natural) if f"missing:{n}" in scene.open))
    for name, part in _strangers(scene):
        nets = _two_nets(scene, part)
        if nets is None or not gone.get(nets):
            continue
        stands = gone[nets].pop(0)
        drawn = scene.stock.parts[stands]
        yield make(
            scene,
            "wrong-part",
            f"{part_words(part)} stands where {part_words(drawn)} belongs.",
            parts=[stands, name],
            terminals=[f"{stands}.{end}" for end in drawn.kind.ends or ()],
            nets=nets,
            explains=scene.take(f"extra:{name}", f"missing:{stands}"),
            shares=[f"part {name}", f"part {stands}"],
            places=part.places,
        )


def across(scene: Scene) -> Iterator[Finding]:
    """A foreign part between the two nets of a stock part that is still there."""
    waiting = _strangers(scene)
    if not waiting:
        return
    there = _between(scene, (name for name in scene.stock.parts if name not in scene.missing))
    for name, part in waiting:
        nets = _two_nets(scene, part)
        if nets is None:
            continue
        under = [n for n in there.get(nets, ()) if scene.stock.parts[n].kind.family == part.kind.family]
        if not under:
            under = there.get(nets, []) if len(there.get(nets, ())) == 1 else []
        if not under:
            continue
        there_and_back = f"from {scene.net_name(nets[0])} to {scene.net_name(nets[1])}"
        drawn = [part_words(scene.stock.parts[n], label=len(under) == 1) for n in sorted(under, key=natural)]
        yield make(
            scene,
            "bypassed-part",
            f"{part_words(part)} is wired across {some(drawn)}, {there_and_back}.",
            parts=[*sorted(under, key=natural), name],
            terminals=[f"{n}.{end}" for n in under for end in scene.stock.parts[n].kind.ends or ()],
            nets=nets,
            explains=scene.take(f"extra:{name}"),
            shares=[f"part {name}", *(f"part {n}" for n in under if len(under) == 1)],
            places=part.places,
        )


def added(scene: Scene) -> Iterator[Finding]:
    for name, part in _strangers(scene):
        leads: list[str] = []
        company: list[str] = []
        nets: set[int] = set()
        touched: list[Point] = []
        for where in _points(scene, name, part):
            number = scene.net_of(where)
            lug = where.partition(".")[2]
            if number >= 0:
                nets.add(number)
                leads.append(f"{lug} on {scene.net_name(number)}")
                touched.append(where)
            else:
                others = [w for w in scene.members[scene.here[where]] if w != where] if where in scene.here else []
                company += [part_of(w) for w in others if is_foreign(part_of(w))]
                if others:
                    leads.append(f"{lug} to {some(sorted(others, key=natural), 2)}")
                    touched.append(where)
                elif where in scene.found.unfollowed:
                    leads.append(f"{lug} not followed")
        says = f"{part_words(part)} is not in the drawing"
        says += f": {some(leads, 6)}." if leads else "; nothing that was traced is connected to it."
        yield make(
            scene,
            "added-part",
            says,
            parts=[name],
            terminals=touched,
            nets=sorted(nets),
            explains=scene.take(f"extra:{name}"),
            shares=[f"part {n}" for n in (name, *company)],
            places=part.places,
        )


def _points(scene: Scene, name: str, part: Part) -> list[Point]:
    if part.kind.terminals:
        return [f"{name}.{lug.name}" for lug in part.kind.terminals]
    return sorted((w for w in scene.landing if w.startswith(f"{name}.")), key=natural)
