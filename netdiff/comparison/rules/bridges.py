"""Two nets joined round a stock part: a strapped interlock, a bridged fuse, a shorted choke."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from netdiff.circuit import Part, Point, Run, natural, part_of
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import part_words, some

Passage = tuple[str, Point, Point]
"""A stock part and two of its terminals between which it conducts or could conduct."""


def bypassed(scene: Scene) -> Iterator[Finding]:
    joins = [key for key in sorted(scene.open) if scene.raw[key].sort == "join"]
    if not joins:
        return
    passages = _passages(scene)
    told: set[str] = set()
    for key in joins:
        raw = scene.raw[key]
        if key not in scene.open or scene.of_stock[raw.stock_net][0] != raw.found_net:
            continue
        readings = []
        for other, here in passages.get(raw.stock_net, {}).items():
            rank, chosen = _bridged(scene, [passage for passage in here if passage[0] not in told])
            if chosen:
                readings.append((rank, other, chosen))
        if not readings:
            continue
        _, other, chosen = min(readings, key=lambda reading: reading[:2])
        names = list(dict.fromkeys(name for name, _, _ in chosen))
        told.update(names)
        ends = sorted({where for _, a, b in chosen for where in (a, b)}, key=natural)
        words = [part_words(scene.stock.parts[name]) for name in names]
        jumper = _between(scene, crossing(scene, raw.stock_net, raw.found_net), {raw.stock_net, other})
        yield make(
            scene,
            "bypassed-part",
            f"{some(words)} {'is' if len(names) == 1 else 'are'} bridged: {some(ends)} are joined.",
            parts=names,
            terminals=ends,
            nets=[raw.stock_net, other],
            explains=scene.take(key),
            shares=[*(f"part {name}" for name in names), *run_tags(jumper)],
            places=[place for run in jumper for place in run.places],
        )


def _passages(scene: Scene) -> dict[int, dict[int, list[Passage]]]:
    """Stock net -> other stock net on the same found net -> parts that lie between the two."""
    out: dict[int, dict[int, list[Passage]]] = defaultdict(lambda: defaultdict(list))
    joined = {net: founds[0] for net, founds in scene.of_stock.items() if len(scene.of_found[founds[0]]) > 1}
    on_net = set(scene.blocks)
    for name, part in scene.stock.parts.items():
        if name in scene.missing:
            continue
        for a, b in _ways(part):
            first, second = f"{name}.{a}", f"{name}.{b}"
            one, other = scene.drawn.index.get(first, -1), scene.drawn.index.get(second, -1)
            if one == other:
                continue
            for here, there in ((one, other), (other, one)):
                if here in joined and (there, joined[here]) in on_net:
                    out[here][there].append((name, first, second))
    return out


def _ways(part: Part) -> list[tuple[str, str]]:
    ways = [(contact.a, contact.b) for contact in part.kind.contacts]
    if part.kind.ends is not None and part.kind.ends not in ways:
        ways.append(part.kind.ends)
    return ways


def _bridged(scene: Scene, here: list[Passage]) -> tuple[int, list[Passage]]:
    """The parts that a bridge is meant for, and how sure that is: joined at their own terminals (0), else protective
    ones (1), else the only one (2)."""
    straight = [
        passage
        for passage in here
        if any({run.a, run.b} == {passage[1], passage[2]} for run in scene.landing.get(passage[1], ()))
    ]
    if straight:
        return 0, straight
    guards = [passage for passage in here if {"F", "S"} & set(scene.stock.parts[passage[0]].kind.letters)]
    if guards:
        return 1, guards
    return 2, here if len({name for name, _, _ in here}) == 1 else []


def _between(scene: Scene, runs: list[Run], nets: set[int]) -> list[Run]:
    """Of these runs those between two nets; all of them where none is."""
    straight = [run for run in runs if {scene.compared.get(run.a), scene.compared.get(run.b)} == nets]
    return straight or runs


def run_tags(runs: list[Run]) -> list[str]:
    """By which a finding about these conductors knows others about the same ones."""
    return [f"run {run.a} {run.b}" for run in runs]


def crossing(scene: Scene, stock_net: int, found_net: int) -> list[Run]:
    """The found runs that lead from the block's points to points of other stock nets."""
    block = set(scene.blocks.get((stock_net, found_net), ()))
    seen, queue = set(block), list(block)
    out: list[Run] = []
    while queue:
        where = queue.pop()
        for run in scene.landing.get(where, ()):
            for other in (run.a, run.b):
                if other in seen or other == where:
                    continue
                if other in scene.compared and scene.compared[other] != stock_net:
                    out.append(run)
                elif other not in scene.compared and part_of(other):
                    seen.add(other)
                    queue.append(other)
    return out
