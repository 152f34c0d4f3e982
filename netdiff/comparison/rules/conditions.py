"""The state in which the bench found parts, runs and terminals: charred, leaking, frayed, loose."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import natural, part_of
from netdiff.comparison.results import Finding, Raw
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene, add_raw
from netdiff.comparison.words import part_words

_WORDS = {"cold-joint": "has a cold joint", "loose": "is loose", "floating": "hangs free"}


def _state(condition: str) -> str:
    return _WORDS.get(condition, f"is {condition}" if " " not in condition else f"“{condition}”")


def noted(scene: Scene) -> Iterator[Finding]:
    for name in sorted(scene.found_parts, key=natural):
        part = scene.found_parts[name]
        drawn = scene.stock.parts.get(name)
        nets = {scene.drawn.index[w] for w in drawn.points() if w in scene.drawn.index} if drawn else set()
        if drawn is None:
            nets = {n for w in part.points() if (n := scene.net_of(w)) >= 0}
        for condition in part.conditions:
            key = f"condition:{part.designator}:{condition}"
            if key not in scene.open:
                continue
            yield make(
                scene,
                "condition",
                f"{part_words(part)} {_state(condition)}.",
                parts=[name],
                nets=nets,
                explains=scene.take(key),
                shares=[f"part {name}"],
                places=part.places,
            )
    for where, condition, place in scene.found.conditions:
        here = scene.alignment(where)
        key = f"condition:{where}:{condition}"
        number = scene.net_of(here)
        yield make(
            scene,
            "condition",
            f"{where} {_state(condition)}.",
            parts=[part_of(here)] if part_of(here) else [],
            terminals=[here],
            nets=[number],
            explains=scene.take(key),
            shares=[f"part {part_of(here)}" if part_of(here) else f"point {here}"],
            places=[place],
        )
    for run in scene.runs:
        for condition in run.conditions:
            key = add_raw(scene, Raw(f"condition:{run.a},{run.b}:{condition}", "state", (run.a, run.b)))
            number = max(scene.net_of(run.a), scene.net_of(run.b))
            yield make(
                scene,
                "condition",
                f"The conductor from {run.a} to {run.b} {_state(condition)}.",
                parts=[part_of(w) for w in (run.a, run.b) if part_of(w)],
                terminals=[run.a, run.b],
                nets=[number],
                explains=scene.take(key),
                shares=[f"run {run.a} {run.b}"],
                places=run.places,
            )
