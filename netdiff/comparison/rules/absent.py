"""Stock parts that are not there."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import natural
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import part_words


def missing(scene: Scene) -> Iterator[Finding]:
    for name in sorted(scene.missing, key=natural):
        key = f"missing:{name}"
        if key not in scene.open:
            continue
        drawn = scene.stock.parts[name]
        says = f"{part_words(drawn)} is not there"
        if drawn.kind.plugs:
            says += "; its socket is gone too" if name in scene.found.missing_sockets else "; its socket is empty"
        if name in scene.unsaid:
            says += ": nothing lands on its terminals, and no line of the file speaks of it"
        place = scene.found.missing_places.get(name)
        yield make(
            scene,
            "missing-part",
            says + ".",
            parts=[name],
            terminals=drawn.points(),
            nets={scene.drawn.index[w] for w in drawn.points() if w in scene.drawn.index},
            explains=scene.take(key),
            shares=[f"part {name}"],
            places=[place] if place else (),
        )
