"""What no cut and no joint clears: conditions to look at, conductors to re-dress, findings to decide on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Protocol

from netdiff.circuit import Point, Run, part_of
from netdiff.comparison.results import Raw
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.steps import ends


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
    if sort == "bare":
        _redress(draft, key, raw.points)
    elif raw.parts:
        part = draft.goal.unit.parts.get(raw.parts[0])
        intent = _same(draft, parts=list(raw.parts[:1]))
        intent.keys.add(key)
        intent.on_parts = [replace(part, conditions=())] if part is not None else []
        intent.says = _sentence(raw.parts[0], intent, rest)
    elif len(raw.points) == 2:
        for number in _between(draft, raw.points):
            run = draft.bench.runs[number]
            other = next((i for i in draft.intents if number in i.off or number in i.remade), None)
            if other is not None:
                other.keys.add(key)
                if number in other.remade:
                    other.remade[number] = replace(other.remade[number], conditions=())
                continue
            intent = _same(draft, points=list(raw.points))
            intent.keys.add(key)
            intent.remade[number] = replace(run, conditions=())
            intent.says = _sentence(f"the conductor from {raw.points[0]} to {raw.points[1]}", intent, rest)
    else:
        intent = _same(draft, points=list(raw.points))
        intent.keys.add(key)
        intent.says = _sentence(raw.points[0], intent, rest)


def _same(draft: Draft, parts: list[str] | None = None, points: list[Point] | None = None) -> Intent:
    """One look at one thing, however much was noted of it."""
    for intent in draft.intents:
        if intent.action == "inspect" and intent.parts == (parts or []) and intent.points == (points or []):
            return intent
    intent = Intent("inspect", parts=parts or [], points=points or [])
    draft.intents.append(intent)
    return intent


def _sentence(what: str, intent: Intent, rest: str) -> str:
    condition = rest.partition(":")[2]
    if intent.says:
        return f"{intent.says.removesuffix('.')}, {condition}."
    return f"{what[:1].upper()}{what[1:]}: {condition}."


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
