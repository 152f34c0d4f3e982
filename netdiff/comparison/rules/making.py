"""One way to make a finding, so that every rule fills in the same things."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Place, Point, natural, part_of
from netdiff.comparison.holds import hold
from netdiff.comparison.results import Finding
from netdiff.comparison.scene import Scene


def make(
    scene: Scene,
    kind: str,
    says: str,
    *,
    parts: Iterable[str] = (),
    terminals: Iterable[Point] = (),
    nets: Iterable[int] = (),
    explains: Iterable[str] = (),
    shares: Iterable[str] = (),
    row: str = "",
    judged_as: Iterable[str] = (),
    places: Iterable[Place] = (),
) -> Finding:
    """A finding with its hold and the lines that it stands on.

    ``nets`` are stock nets by number. ``shares`` are the foreign parts, runs and connections by
    which findings of one modification know each other. ``row`` is the row of the table of holds
    where it is not the kind's own; ``judged_as`` are the designators that it looks at where they are not ``parts``.
    """
    terminals = tuple(dict.fromkeys(terminals))
    parts = tuple(dict.fromkeys(parts))
    nets = tuple(nets)
    names = scene.names(*nets)
    labels = [scene.stock.parts[name].label for name in parts if name in scene.stock.parts]
    when, why = hold(scene.stock, row or kind, (*names, *scene.feeders(*nets)), tuple(judged_as) or parts, labels)
    at = set(places) or set(scene.places(*terminals))
    if not at:
        for name in parts:
            part = scene.found_parts.get(name)
            if part is not None and part.read_off:
                at.update(place for place in part.places if place.file == scene.found.circuit.file)
    return Finding(
        kind=kind,
        says=says,
        hold=when,
        why=why,
        parts=parts,
        terminals=terminals,
        nets=names,
        at=tuple(sorted(at))[:6],
        explains=tuple(explains),
        foreign=tuple(dict.fromkeys(shares)),
    )


def shown(scene: Scene, points: Iterable[Point]) -> list[Point]:
    """Points for a sentence: without net names where terminals are there, each once, in a natural order."""
    listed = list(dict.fromkeys(points))
    terminals = [where for where in listed if part_of(where)]
    return sorted(terminals or listed, key=natural)
