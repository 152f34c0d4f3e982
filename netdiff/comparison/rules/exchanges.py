"""Parts in each other's place, and terminals of one part exchanged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from netdiff.circuit import Part, Point, is_net, natural, part_of, terminal_of
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import kind_words, part_words, some


def _displaced(scene: Scene) -> dict[str, dict[str, tuple[int, int]]]:
    """Part -> terminal -> (stock net, stock net whose place it is on), for terminals with an open difference."""
    out: dict[str, dict[str, tuple[int, int]]] = defaultdict(dict)
    for key in scene.open:
        raw = scene.raw[key]
        if raw.sort not in ("cut", "join"):
            continue
        for where in raw.points:
            if is_net(where):
                continue
            there = scene.net_of(where)
            if there >= 0 and there != raw.stock_net:
                out[part_of(where)][terminal_of(where)] = (raw.stock_net, there)
    return out


def _keys(scene: Scene, points: set[Point]) -> list[str]:
    return [
        key
        for key in sorted(scene.open)
        if scene.raw[key].sort in ("cut", "join") and set(scene.raw[key].points) <= points
    ]


def exchanged(scene: Scene) -> Iterator[Finding]:
    yield from _exchanged_types(scene)
    displaced = _displaced(scene)
    done: set[str] = set()
    by_target: dict[frozenset[int], list[str]] = defaultdict(list)
    for name, moves in displaced.items():
        by_target[frozenset(there for _, there in moves.values())].append(name)
    for name in sorted(displaced, key=natural):
        moves = displaced[name]
        if name in done or not moves:
            continue
        sources = frozenset(source for source, _ in moves.values())
        for other in sorted(by_target.get(sources, ()), key=natural):
            theirs = displaced[other]
            alike = scene.stock.parts[name].kind.family == scene.stock.parts[other].kind.family
            if other == name or other in done or not alike or set(theirs) != set(moves):
                continue
            if _each_others(scene, name, moves, theirs) and _whole(scene, name, other, moves):
                points = {f"{n}.{t}" for n in (name, other) for t in moves}
                done |= {name, other}
                first, second = scene.stock.parts[name], scene.stock.parts[other]
                yield make(
                    scene,
                    "exchanged-parts",
                    f"{part_words(first, label=False)} and {part_words(second, label=False)} stand in each other's "
                    f"place: what is called {name} in the file sits where {other} belongs, and the other way round.",
                    parts=[name, other],
                    terminals=sorted(points, key=natural),
                    nets=sources | {there for _, there in moves.values()},
                    explains=scene.take(*_keys(scene, points)),
                    shares=[f"part {name}", f"part {other}"],
                )
                break


def _each_others(
    scene: Scene, name: str, moves: dict[str, tuple[int, int]], theirs: dict[str, tuple[int, int]]
) -> bool:
    """Each part took over the other's nets: terminal by terminal, or end for end where the ends are alike."""
    if all(theirs[t] == (there, source) for t, (source, there) in moves.items()):
        return True
    ends = scene.stock.parts[name].kind.ends
    if ends is None or set(moves) != set(ends):
        return False
    if scene.stock.parts[name].kind.polarised:
        return False
    return {s for s, _ in moves.values()} == {t for _, t in theirs.values()} and {t for _, t in moves.values()} == {
        s for s, _ in theirs.values()
    }


def _whole(scene: Scene, name: str, other: str, moves: dict[str, tuple[int, int]]) -> bool:
    """All wired terminals of the part moved, not two of many; what did not is on a net that both parts share."""
    part = scene.stock.parts[name]
    wired = [
        lug.name for lug in part.kind.terminals if len(scene.drawn.members[scene.drawn.index[f"{name}.{lug.name}"]]) > 1
    ]
    stay = {scene.drawn.index[f"{name}.{t}"] for t in wired if t not in moves}
    shared = {scene.drawn.index.get(f"{other}.{lug.name}") for lug in scene.stock.parts[other].kind.terminals}
    return bool(wired) and stay <= shared


def _exchanged_types(scene: Scene) -> Iterator[Finding]:
    wrong = [key.partition(":")[2] for key in scene.open if key.startswith("kind:")]
    wanted: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name in wrong:
        wanted[_type(scene.stock.parts[name])].append(name)
    done: set[str] = set()
    for name in sorted(wrong, key=natural):
        if name in done:
            continue
        for other in sorted(wanted.get(_type(scene.found_parts[name]), ()), key=natural):
            if other in done or other == name:
                continue
            if _type(scene.found_parts[other]) == _type(scene.stock.parts[name]):
                done |= {name, other}
                first, second = (kind_words(scene.found_parts[n]) for n in (name, other))
                yield make(
                    scene,
                    "exchanged-parts",
                    f"{name} and {other} are exchanged: the {first} sits at {name}, the {second} at {other}; "
                    "the drawing has them the other way round.",
                    parts=[name, other],
                    explains=scene.take(f"kind:{name}", f"kind:{other}"),
                    shares=[f"part {name}", f"part {other}"],
                    places=[*scene.found_parts[name].places, *scene.found_parts[other].places],
                )
                break


def _type(part: Part) -> tuple[str, str]:
    return part.kind.name, part.kind.type


def reversed_terminals(scene: Scene) -> Iterator[Finding]:
    displaced = _displaced(scene)
    for name in sorted(displaced, key=natural):
        moves = displaced[name]
        if len(moves) < 2:
            continue
        group = _permuted(moves)
        if not group:
            continue
        points = {f"{name}.{t}" for t in group}
        keys = _keys(scene, points)
        if not keys:
            continue
        part = scene.found_parts.get(name) or scene.stock.parts[name]
        terminals = sorted(group, key=natural)
        if len(group) == 2:
            a, b = terminals
            says = (
                f"{part_words(part)}: {a} and {b} are exchanged. {a} is on {scene.net_name(moves[a][1])}, "
                f"{b} on {scene.net_name(moves[b][1])}; the drawing has it the other way round."
            )
        else:
            says = f"{part_words(part)}: {some(terminals, 8)} are on each other's connections."
        yield make(
            scene,
            "reversed",
            says,
            parts=[name],
            terminals=sorted(points, key=natural),
            nets={number for t in group for number in moves[t]},
            explains=scene.take(*keys),
            shares=[f"part {name}"],
        )


def _permuted(moves: dict[str, tuple[int, int]]) -> set[str]:
    """Terminals that took over each other's nets: cycles of the moves."""
    by_source = {source: t for t, (source, _) in moves.items()}
    for start in sorted(moves):
        cycle, at = [start], start
        while True:
            step = by_source.get(moves[at][1])
            if step is None or (step in cycle and step != start):
                break
            if step == start:
                if len(cycle) > 1:
                    return set(cycle)
                break
            cycle.append(step)
            at = step
    return set()
