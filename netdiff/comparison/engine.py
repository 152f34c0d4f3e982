"""The comparison from end to end: lay the circuits over each other, list raw differences, explain them."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from netdiff.circuit import Circuit, Found, part_of
from netdiff.comparison.coverage import coverage
from netdiff.comparison.differences import raw_parts
from netdiff.comparison.limits import cost
from netdiff.comparison.lookahead import look_next
from netdiff.comparison.modifications import group
from netdiff.comparison.results import Comparison, Finding, Raw, Reading
from netdiff.comparison.rules import ALL, MATTERS_OF_OPINION, Rule
from netdiff.comparison.scene import Scene, build
from netdiff.comparison.words import some

if TYPE_CHECKING:
    from netdiff.language import Unit


Tell = Callable[[str], None]
"""Told what is being done, for whoever shows progress."""


def _silent(_: str) -> None:
    pass


def compare_circuits(stock: Circuit, found: Found, production: str = "", tell: Tell = _silent) -> Comparison:
    """Compare one production of the stock circuit with the wiring as found.

    Every raw difference is explained by exactly one finding; what nobody looked at is neither a
    finding nor a pass and only lowers the coverage. Near linear in the number of terminals.
    """
    with _without_collector():
        return _compare(stock, found, production, tell)


@contextmanager
def _without_collector() -> Iterator[None]:
    """Hundreds of thousands of lasting values are made here and no cycles among them: looking through them again
    and again for garbage would take half of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _compare(stock: Circuit, found: Found, production: str, tell: Tell) -> Comparison:
    tell("laying the circuits over each other")
    scene = build(stock, found)
    raw_parts(scene)
    tell(f"explaining {len(scene.raw)} raw differences")
    findings, total = _cheapest(scene)
    readings: list[Reading] = []
    chosen = Reading()
    if scene.alignment.guessed:
        readings.append(Reading(guess=False))
    if _perhaps_exchanged(scene, findings):
        readings += [Reading(blame="sockets"), Reading(blame="parts")]
    for reading in readings:
        other = build(stock, found, guess=reading.guess, blame=reading.blame)
        raw_parts(other)
        others, cheaper = _cheapest(other)
        if cheaper < total:
            scene, findings, total, chosen = other, others, cheaper, reading
    tell("putting the findings together")
    numbered, modifications = group(scene, findings)
    return Comparison(
        stock=stock,
        found=found,
        findings=numbered,
        modifications=modifications,
        coverage=coverage(scene, numbered),
        raw=tuple(scene.raw.values()),
        notes=tuple(_notes(scene, numbered)),
        production=production,
        look_next=look_next(scene),
        cost=total,
        reading=chosen,
    )


MANY_MOVES = 12
"""Beyond so many moved leads nobody tidied up after one exchange: the plain reading stands."""


MANY_PARTS = 20_000
"""On larger circuits too: each further reading lays the whole circuits over each other again."""


def _perhaps_exchanged(scene: Scene, findings: list[Finding]) -> bool:
    """Leads that moved against each other, or several from one net to another that meet in one socket: the same
    wiring may have come about by one exchange."""
    moved = [finding for finding in findings if finding.kind == "moved-lead"]
    if len(moved) > MANY_MOVES or len(scene.stock.parts) > MANY_PARTS:
        return False
    told = {key for finding in moved for key in finding.explains}
    moves: dict[tuple[int, int], int] = {}
    for key in told:
        raw = scene.raw[key]
        if raw.sort == "cut":
            pair = (raw.stock_net, scene.home.get(raw.found_net, -1))
            moves[pair] = moves.get(pair, 0) + len(raw.points)

    def sockets_on(net: int) -> set[str]:
        names = {part_of(where) for where in scene.drawn.members[net]} & scene.stock.parts.keys()
        return {name for name in names if len(scene.stock.parts[name].kind.terminals) > 2}

    return any(
        (there, here) in moves or (count > 1 and there >= 0 and bool(sockets_on(here) & sockets_on(there)))
        for (here, there), count in moves.items()
    )


def _cheapest(scene: Scene) -> tuple[list[Finding], float]:
    """Explain the raw differences in every way that the rules offer, and keep the cheapest way."""
    raw, unexplained = dict(scene.raw), set(scene.open)
    spoke: set[Rule] = set()

    def explain(left_out: tuple[Rule, ...]) -> tuple[float, list[Finding], dict[str, Raw]]:
        scene.raw, scene.open = dict(raw), set(unexplained)
        findings: list[Finding] = []
        for rule in ALL:
            if rule not in left_out:
                said = list(rule(scene))
                findings += said
                if said and not left_out:
                    spoke.add(rule)
        return round(sum(_cost(scene, finding) for finding in findings), 3), findings, scene.raw

    best = explain(())
    for rule in sorted(spoke & MATTERS_OF_OPINION, key=lambda rule: rule.__name__):
        best = min(best, explain((rule,)), key=lambda way: way[0])
    total, findings, scene.raw = best
    return findings, total


def _cost(scene: Scene, finding: Finding) -> float:
    plugs = all(name in scene.stock.parts and scene.stock.parts[name].kind.plugs for name in finding.parts)
    price = cost("exchanged-plugs" if finding.kind == "exchanged-parts" and plugs else finding.kind)
    if finding.kind == "moved-lead":
        price += cost("each-further-lead") * (len(finding.terminals) - 1)
    return price


def _notes(scene: Scene, findings: tuple[Finding, ...]) -> list[str]:
    """Differences that are none, worth a line."""
    out = []
    for name, other in scene.alignment.reordered:
        out.append(f"{name} and {other} are in series in exchanged order; equal.")
    out += _tie_points(scene)
    for name, (first, second) in scene.alignment.turned:
        part = scene.stock.parts[name]
        if len(first) > 1:
            out.append(
                f"{name}: the halves {'/'.join(first)} and {'/'.join(second)} serve in each other's place; equal."
            )
        elif part.kind.plugs or not part.kind.hangs:
            continue
    for name, drawn in sorted(scene.alignment.same.items()):
        others = scene.alignment.alternatives.get(name)
        if others:
            out.append(f"{name} is {some(others).replace(' and ', ' or ')}: they are wired alike.")
        elif not any(name in finding.parts for finding in findings):
            out.append(f"{name} is taken to be {drawn}: it sits where {drawn} belongs.")
    return out


def _tie_points(scene: Scene) -> list[str]:
    """Pins without an electrode that serve as tie points although the drawing leaves them free."""
    drawn = {where for run in scene.stock.runs for where in (run.a, run.b)}
    out = []
    for name, part in scene.found_parts.items():
        if part.kind.name == "tube" and name in scene.stock.parts:
            for lug in part.kind.terminals:
                where = f"{name}.{lug.name}"
                if lug.tie and where not in drawn and len(scene.landing.get(where, ())) > 1:
                    out.append(
                        f"{where}, free in the drawing, serves as a tie point; another make of {part.kind.type} "
                        "may use that pin inside."
                    )
    return out


def compare(unit: Unit, tell: Tell = _silent) -> Comparison:
    """Compare a unit with its stock file, production by production where the drawing knows several.

    A unit that names its production is compared with that one; otherwise with each, and the one
    with the fewest raw differences counts. On a tie the comparison says that it is undecided.
    """
    productions = list(unit.model.productions)
    if unit.production is not None or not productions:
        active = unit.production or frozenset()
        said = f"Compared as production {some(sorted(active))}, as the file says." if active else ""
        return compare_circuits(unit.model.circuit(active), unit.found(active), said, tell)
    tried = []
    for name in productions:
        active = frozenset({name})
        tell(f"as production {name}")
        tried.append((name, compare_circuits(unit.model.circuit(active), unit.found(active), tell=tell)))
    best = min(tried, key=lambda item: len(item[1].raw))
    fewest = len(best[1].raw)
    equal = [name for name, comparison in tried if len(comparison.raw) == fewest]
    others = [
        f"as {name} it would have {len(comparison.raw)} raw differences ({_told(comparison, best[1])})"
        for name, comparison in tried
        if name not in equal
    ]
    if len(equal) > 1:
        said = f"Production undecided between {some(equal)}: what was traced does not tell them apart."
    else:
        said = f"Production: {best[0]}, which leaves the fewest differences ({fewest})."
    if others:
        said += f" Else, {some(others)}."
    from dataclasses import replace

    return replace(best[1], production=said)


def _told(comparison: Comparison, best: Comparison) -> str:
    known = {raw.key for raw in best.raw}
    more = [p for raw in comparison.raw if raw.key not in known for p in (*raw.parts, *raw.points)]
    return f"at {some(more, 4)}" if more else "fewer"
