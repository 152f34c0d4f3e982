"""What no cut and no joint clears: conditions to look at, conductors to re-dress, findings to decide on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from netdiff.circuit import Point, Run, part_of
from netdiff.comparison.results import Raw
from netdiff.quantities import show
from netdiff.worklist.conditions import Cure, measure_first, of_part, of_point, of_run, says
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.joining import as_drawn
from netdiff.worklist.steps import Action, ends


class Told(Protocol):
    """A finding, as far as it is looked at here."""

    @property
    def id(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def says(self) -> str: ...
    @property
    def explains(self) -> tuple[str, ...]: ...
    @property
    def parts(self) -> tuple[str, ...]: ...
    @property
    def points(self) -> tuple[Point, ...]: ...
    @property
    def modification(self) -> str: ...


def add_remarks(draft: Draft, findings: Sequence[Told]) -> None:
    """Add an intent for every raw difference, and for every finding, that no other intent clears."""
    cleared = {key for intent in draft.intents for key in intent.keys}
    for key, raw in draft.goal.raw.items():
        if raw.sort == "state" and key not in cleared:
            _state(draft, key, raw)
    cleared = {key for intent in draft.intents for key in intent.keys}
    by_key = {key: finding.modification for finding in findings for key in finding.explains}
    for finding in findings:
        if cleared & set(finding.explains):
            continue
        # A danger that no wire tells of by itself is cleared with the modification that brought it.
        hosts = [] if finding.explains else [i for i in draft.intents if _clears(draft, i, finding, by_key)]
        if not hosts:
            spots = list(finding.parts or finding.points)
            hosts = [
                Intent(
                    "inspect",
                    parts=list(finding.parts),
                    points=list(finding.points) if not finding.parts else [],
                    about=(finding.kind,) if spots else (finding.kind, finding.id),
                    says=finding.says,
                )
            ]
            draft.intents += hosts
        for intent in hosts:
            intent.reasons.add(finding.id)


def _clears(draft: Draft, intent: Intent, finding: Told, by_key: Mapping[str, str]) -> bool:
    """Whether it undoes something of the finding's modification, at one of the finding's parts."""
    if intent.action == "inspect" or not finding.modification:
        return False
    runs = [*intent.on, *(draft.bench.runs[number] for number in intent.off)]
    parts = {*intent.parts, *map(part_of, intent.points), *(part_of(end) for run in runs for end in ends(run))}
    return bool(parts & set(finding.parts)) and finding.modification in {by_key.get(key) for key in intent.keys}


def _state(draft: Draft, key: str, raw: Raw) -> None:
    sort, _, rest = key.partition(":")
    condition = rest.partition(":")[2]
    if sort == "bare":
        _redress(draft, key, raw.points)
    elif raw.parts:
        _part(draft, key, raw.parts[0], condition)
    elif len(raw.points) == 2:
        for number in _between(draft, raw.points):
            _run(draft, key, number, condition)
    else:
        cure = of_point(condition)
        # A joint that is made anyway is not made twice.
        host = _joint_at(draft, raw.points[0]) if cure == "resolder" else None
        if host is None:
            host = _same(draft, cure, points=list(raw.points))
            host.says = f"{host.says} {says(cure, raw.points[0], condition)}".strip()
        host.keys.add(key)


def _part(draft: Draft, key: str, name: str, condition: str) -> None:
    goal = draft.goal
    part = goal.unit.parts.get(name)
    drawn = goal.parts.get(name, part)
    cure = of_part(drawn, condition) if drawn is not None else "look"
    intent = _same(draft, cure if cure != "replace" else "look", parts=[name])
    intent.keys.add(key)
    intent.clears.add(condition)
    intent.on_parts = [part] if part is not None else []
    if intent.action == "inspect":
        all_of_it = tuple(sorted(intent.clears))
        found = f", {show(part.measured, part.kind.unit)} measured" if part and part.measured is not None else ""
        intent.says = f"{says('look', name, ', '.join(all_of_it) + found)}{measure_first(name, all_of_it)}"
    else:
        intent.says = f"{intent.says} {says(cure, name, condition)}".strip()


def _run(draft: Draft, key: str, number: int, condition: str) -> None:
    run = draft.bench.runs[number]
    other = next((i for i in draft.intents if number in i.off or number in i.remade), None)
    if other is not None:
        other.keys.add(key)
        if number in other.remade:
            other.remade[number] = replace(other.remade[number], conditions=())
        return
    cure = of_run(run, condition)
    points = [run.a, run.b]
    if cure == "run" and run.conductor:
        drawn = next((one for one in draft.goal.drawn.get(frozenset(points), ()) if one.conductor), None)
        new = as_drawn(drawn, draft.goal) if drawn is not None else replace(run, conditions=(), places=(), text="")
        draft.add(Intent("run", points=points, off=[number], on=[new], keys={key}))
        return
    intent = _same(draft, cure if cure != "run" else "look", points=points)
    intent.keys.add(key)
    intent.clears.add(condition)
    intent.remade[number] = replace(run, conditions=())
    what = f"the conductor from {run.a} to {run.b}"
    intent.says = f"{intent.says} {says('look' if cure == 'run' else cure, what, condition)}".strip()


def _joint_at(draft: Draft, where: Point) -> Intent | None:
    """An intent by which something is soldered at the point."""
    for intent in draft.intents:
        if any(where in ends(run) for run in intent.on):
            return intent
    name = part_of(where)
    return draft.part_intent(where) if draft.goal.is_resoldered(name) or name in draft.goal.fit else None


def _same(draft: Draft, cure: Cure, parts: list[str] | None = None, points: list[Point] | None = None) -> Intent:
    """One action on one thing, however much was noted of it."""
    action: Action = "inspect" if cure == "look" else cure
    for intent in draft.intents:
        if intent.action == action and intent.parts == (parts or []) and intent.points == (points or []):
            return intent
    intent = Intent(action, parts=parts or [], points=points or [])
    draft.intents.append(intent)
    return intent


def _between(draft: Draft, points: tuple[Point, ...]) -> list[int]:
    """Runs between two points, those that carry a remark of the bench."""
    return [
        number
        for number in draft.bench.landing(points[0])
        if {draft.bench.runs[number].a, draft.bench.runs[number].b} == set(points)
    ]


def _redress(draft: Draft, key: str, points: tuple[Point, ...]) -> None:
    intent = Intent("re-dress", points=list(points), keys={key})
    for number in _between(draft, points):
        run = draft.bench.runs[number]
        if not (run.bare or run.gaps or run.conductor == "bare"):
            continue
        other = next((i for i in draft.intents if number in i.off), None)
        if other is not None:
            other.keys.add(key)
            return
        intent.remade[number] = _covered(run)
    if intent.remade:
        draft.intents.append(intent)


def _covered(run: Run) -> Run:
    return replace(run, conductor="wire" if run.conductor == "bare" else run.conductor, bare=None, gaps=())
