"""What is left of the wiring: grounds lost, leads moved, connections open, connections added."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Point
from netdiff.comparison.results import Finding, Raw
from netdiff.comparison.rules.bridges import crossing, run_tags
from netdiff.comparison.rules.making import make, shown
from netdiff.comparison.scene import Scene, block_key
from netdiff.comparison.words import some


def _open(scene: Scene, sort: str) -> list[Raw]:
    return [scene.raw[key] for key in sorted(scene.open) if scene.raw[key].sort == sort]


def _verb(points: list[Point], one: str, many: str) -> str:
    return one if len(points) == 1 else many


def broken_ground(scene: Scene) -> Iterator[Finding]:
    ground = scene.drawn.index.get(scene.stock.ground, -1)
    earths = {scene.drawn.index[name] for name, net in scene.stock.nets.items()
              if net.purpose == "earth" and name in scene.drawn.index}  # fmt: skip
    for raw in _open(scene, "cut"):
        if raw.stock_net not in {ground, *earths} or block_key("join", list(raw.points)) in scene.raw:
            continue
        points = shown(scene, raw.points)
        name = scene.net_name(raw.stock_net)
        company = shown(
            scene, [w for w in scene.members[raw.found_net] if w not in raw.points and w not in scene.compared]
        )
        says = f"{some(points)} no longer {_verb(points, 'reaches', 'reach')} {name}"
        says += f"; what was found goes to {some(company)} only." if company else ": the ground is lost."
        yield make(
            scene,
            "broken-ground",
            says,
            parts=_parts(points),
            terminals=points,
            nets=[raw.stock_net],
            explains=scene.take(raw.key),
            shares=[f"block {raw.key}"],
        )


def moved(scene: Scene) -> Iterator[Finding]:
    for raw in _open(scene, "cut"):
        join = block_key("join", list(raw.points))
        if join not in scene.open:
            continue
        points = shown(scene, raw.points)
        there = scene.home.get(raw.found_net, -1)
        was, now = scene.net_name(raw.stock_net), scene.net_name(there)
        yield make(
            scene,
            "moved-lead",
            f"{some(points)} {_verb(points, 'has', 'have')} left {was} and {_verb(points, 'is', 'are')} on {now}.",
            parts=_parts(points),
            terminals=points,
            nets=[raw.stock_net, there],
            explains=scene.take(raw.key, join),
            shares=[f"part {name}" for name in _parts(points)],
        )


def opened(scene: Scene) -> Iterator[Finding]:
    for raw in _open(scene, "cut"):
        points = shown(scene, raw.points)
        rest = shown(scene, [w for f in scene.of_stock[raw.stock_net] if f != raw.found_net
                             for w in scene.blocks[raw.stock_net, f]])  # fmt: skip
        unseen = all(where in scene.left_over for where in raw.points)
        if unseen:
            points, rest = rest, points  # speak of the side that was looked at
        name = scene.net_name(raw.stock_net)
        declared = name in scene.stock.nets and not unseen
        far = f"the rest of {name} ({some(rest, 3)})" if declared else some(rest, 3)
        says = f"{some(points)} {_verb(points, 'is', 'are')} not connected to {far}; the drawing joins them."
        yield make(
            scene,
            "open-connection",
            says,
            parts=_parts(points),
            terminals=points,
            nets=[raw.stock_net],
            explains=scene.take(raw.key),
            shares=[f"block {raw.key}", *_feeds(scene, raw, raw.stock_net)],
        )


def added(scene: Scene) -> Iterator[Finding]:
    for raw in _open(scene, "join"):
        points = shown(scene, raw.points)
        home = scene.home.get(raw.found_net, -1)
        if home < 0 or home == raw.stock_net:
            home = next((s for s in scene.of_found[raw.found_net] if s != raw.stock_net), -1)
        name = scene.net_name(raw.stock_net)
        there = scene.net_name(home)
        runs = crossing(scene, raw.stock_net, raw.found_net)
        ends = shown(scene, [where for run in runs for where in (run.a, run.b)]) or points
        free = len(scene.drawn.members[raw.stock_net]) == 1
        if free:
            says = f"{some(points)}, free in the drawing, is connected to {there}."
        else:
            what = f"{name} ({some(points, 3)})" if name in scene.stock.nets else some(points, 3)
            says = f"{what} {_verb(points, 'is', 'are')} joined to {there}; the drawing keeps them apart."
        if runs:
            says += f" The connection: {some([f'{run.a} to {run.b}' for run in runs], 3)}."
        yield make(
            scene,
            "added-connection",
            says,
            parts=_parts(ends),
            terminals=ends,
            nets=[raw.stock_net, home],
            explains=scene.take(raw.key),
            shares=[*run_tags(runs), *_feeds(scene, raw, home), *(f"part {name}" for name in _parts(points) if free)],
            places=[place for run in runs for place in run.places],
        )


def _feeds(scene: Scene, raw: Raw, net: int) -> list[str]:
    """A net that a transformer's terminal left, and one that another came onto: a supply fed from another winding."""
    fed = any(
        (part := scene.stock.parts.get(where.partition(".")[0])) is not None and "T" in part.kind.letters
        for where in raw.points
    )
    return [f"feed {net}"] if fed else []


def _parts(points: list[Point]) -> list[str]:
    return list(dict.fromkeys(w.partition(".")[0] for w in points if "." in w))
