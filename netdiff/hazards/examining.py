"""Runs every rule on both circuits and puts what they say into the comparison."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from netdiff.circuit import Place, part_of
from netdiff.comparison.holds import earlier, transmits
from netdiff.comparison.merged import scene_of
from netdiff.comparison.results import HOLDS, Comparison, Finding, Hold, Modification
from netdiff.comparison.scene import Scene
from netdiff.hazards.rule import Hazard, Rule
from netdiff.readings.side import Side, sides


@cache
def rules() -> tuple[Rule, ...]:
    """All rules, family by family in the order of their names."""
    import netdiff.hazards as package

    found: list[Rule] = []
    for module in sorted(one.name for one in iter_modules(package.__path__)):
        found += getattr(import_module(f"netdiff.hazards.{module}"), "RULES", ())
    return tuple(found)


@cache
def figures() -> tuple[Callable[[Side], Iterator[tuple[str, str]]], ...]:
    """What adds figures to findings of the comparison: functions that give a finding's id and a sentence."""
    import netdiff.hazards as package

    found: list[Callable[[Side], Iterator[tuple[str, str]]]] = []
    for module in sorted(one.name for one in iter_modules(package.__path__)):
        found += getattr(import_module(f"netdiff.hazards.{module}"), "FIGURES", ())
    return tuple(found)


def examine(comparison: Comparison) -> Comparison:
    """The comparison with what the rules of hazards find added: to the modification that brings it about, or, where
    the drawing has it too, to none. Findings keep their order within a modification; all are numbered anew."""
    scene = scene_of(comparison)
    drawn, found = sides(comparison, scene)
    told: list[tuple[Finding, bool]] = []
    for rule in rules():
        before = {hazard.key: hazard for hazard in rule.find(drawn)} if rule.own else {}
        after = {hazard.key: hazard for hazard in rule.find(found)}
        for key, hazard in after.items():
            told.append((_finding(scene, rule, hazard, drawn=key in before), key in before))
    more: dict[str, list[str]] = {}
    for figure in figures():
        for name, sentence in figure(found):
            more.setdefault(name, []).append(sentence)
    findings = tuple(
        replace(one, says=" ".join((one.says, *more[one.id]))) if one.id in more else one for one in comparison.findings
    )
    return _joined(replace(comparison, findings=findings), told, (drawn, found))


def _finding(scene: Scene, rule: Rule, hazard: Hazard, *, drawn: bool) -> Finding:
    hold: Hold = hazard.hold or rule.hold
    if hold == "transmit" and not transmits(scene.stock):
        hold = "deliver"
    says = hazard.says
    if drawn:
        says += " The drawing has it too."
    return Finding(
        kind=hazard.kind or rule.kind,
        says=says,
        hold=hold,
        why=hazard.why or rule.why,
        parts=hazard.parts,
        terminals=hazard.terminals,
        nets=hazard.nets,
        at=hazard.at or _places(scene, hazard),
        drawn=drawn,
    )


def _places(scene: Scene, hazard: Hazard) -> tuple[Place, ...]:
    at = set(scene.places(*hazard.terminals))
    for name in hazard.parts:
        part = scene.found_parts.get(name)
        if part is not None and part.read_off:
            at.update(place for place in part.places if place.file == scene.found.circuit.file)
    return tuple(sorted(at))[:6]


def _joined(comparison: Comparison, told: Iterable[tuple[Finding, bool]], both: tuple[Side, Side]) -> Comparison:
    groups: dict[str, list[Finding]] = {one.id: [] for one in comparison.modifications}
    of = {finding.id: finding for finding in comparison.findings}
    for one in comparison.modifications:
        groups[one.id] = [of[name] for name in one.findings]
    loose: list[Finding] = [finding for finding in comparison.findings if not finding.modification]
    for finding, drawn in told:
        home = "" if drawn else _home(finding, groups, both)
        if home:
            causes = [other for other in groups[home] if other.explains and _speaks_of(finding, other)]
            follows = tuple(key for other in causes or groups[home] for key in other.explains)
            groups[home].append(replace(finding, follows=follows, modification=home))
        else:
            loose.append(finding)
    return _numbered(comparison, groups, loose)


def _home(finding: Finding, groups: dict[str, list[Finding]], both: tuple[Side, Side]) -> str:
    """The modification with the most in common with a hazard: parts count more than terminals, those more than nets,
    and what lies on the same conductors counts a little."""
    near = {name for side in both for name in _next_to(side, finding)}

    def common(members: list[Finding]) -> float:
        parts = {name for one in members for name in one.parts}
        points = {where for one in members for where in one.terminals}
        nets = {name for one in members for name in one.nets}
        touched = {part_of(where) for where in finding.terminals}
        return (
            4.0 * len(parts & set(finding.parts))
            + 2.0 * len(points & set(finding.terminals))
            + 1.0 * len(({part_of(where) for where in points} | parts) & touched)
            + 0.5 * len(nets & set(finding.nets))
            + 0.3 * len(near & (parts | {part_of(where) for where in points}))
        )

    best = max(groups, key=lambda name: common(groups[name]), default="")
    return best if best and common(groups[best]) > 0 else ""


def _next_to(side: Side, finding: Finding) -> set[str]:
    """Parts on the conductors of a hazard's terminals and named nets, but for the ground."""
    index, ground = side.nets.index, side.nets.index.get(side.circuit.ground)
    numbers = {index[where] for where in (*finding.terminals, *finding.nets) if where in index} - {ground}
    return {part_of(where) for number in numbers for where in side.nets.members[number]} - {""}


def _speaks_of(finding: Finding, other: Finding) -> bool:
    return bool(set(finding.parts) & set(other.parts) or set(finding.terminals) & set(other.terminals))


def _numbered(comparison: Comparison, groups: dict[str, list[Finding]], loose: list[Finding]) -> Comparison:
    holds: dict[str, Hold] = {}
    for name, members in groups.items():
        first: Hold = "none"
        for finding in members:
            first = earlier(first, finding.hold)
        holds[name] = first
    order = sorted(comparison.modifications, key=lambda one: HOLDS.index(holds[one.id]))
    findings: list[Finding] = []
    modifications: list[Modification] = []
    for count, one in enumerate(order, 1):
        names = []
        for finding in groups[one.id]:
            name = f"finding-{len(findings) + 1}"
            names.append(name)
            findings.append(replace(finding, id=name, modification=f"mod-{count}"))
        modifications.append(replace(one, id=f"mod-{count}", findings=tuple(names), hold=holds[one.id]))
    loose.sort(key=lambda finding: (HOLDS.index(finding.hold), finding.drawn))
    for finding in loose:
        findings.append(replace(finding, id=f"finding-{len(findings) + 1}", modification=""))
    return replace(comparison, findings=tuple(findings), modifications=tuple(modifications))
