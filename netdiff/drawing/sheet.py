"""From a circuit or a comparison to a picture: the boxes, their wiring, and what the legend says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from netdiff.circuit import Circuit, Part, part_of, terminal_of
from netdiff.comparison import Comparison, Finding
from netdiff.drawing.layers import Layers, of_circuit, of_comparison
from netdiff.drawing.model import BOTH, FOUND_ONLY, STOCK_ONLY, Box, Entry, Mark, Picture
from netdiff.drawing.wiring import Wiring
from netdiff.drawing.words import OF_LINES, box_word, clip, number_of, part_lines


def picture(thing: Comparison | Circuit) -> Picture:
    """The whole sheet: every part, every net, and for a comparison every difference."""
    if isinstance(thing, Comparison):
        layers = of_comparison(thing)
        numbers = number_of(thing)
        boxes = _boxes(layers, _of_parts(thing), numbers)
        wiring = Wiring(layers, boxes, numbers)
        _tell_the_rest(thing, boxes, wiring, numbers)
        entries = tuple(Entry(numbers[m.id], clip(m.title, 110), m.hold, m.kept) for m in thing.modifications)
        title, subtitle = thing.stock.title, thing.found.circuit.title
        notes = _notes(thing)
    else:
        layers = of_circuit(thing)
        boxes = _boxes(layers, {}, {})
        wiring = Wiring(layers, boxes, {})
        entries, notes = (), ()
        title, subtitle = thing.title, thing.drawing
    zones = {zone.name: clip(zone.title or zone.name, 60) for zone in layers.zones.values()}
    windings = tuple(dict.fromkeys((*layers.stock.windings, *layers.found.windings)))
    return Picture(
        clip(title, 80), clip(subtitle, 80), zones, boxes, wiring.joints, tuple(wiring.lines), entries, notes, windings
    )


def _notes(comparison: Comparison) -> tuple[str, ...]:
    unseen = comparison.coverage.total.not_traced
    total = comparison.coverage.total.terminals
    return (f"{unseen} of {total} terminals: nobody looked.",) if unseen else ()


def _of_parts(comparison: Comparison) -> dict[str, list[Finding]]:
    """The findings that speak of a part itself, not only of a conductor that ends on it."""
    out: dict[str, list[Finding]] = defaultdict(list)
    for finding in comparison.findings:
        if finding.kind not in OF_LINES:
            for name in finding.parts:
                out[name].append(finding)
    return out


def _tell_the_rest(comparison: Comparison, boxes: dict[str, Box], wiring: Wiring, numbers: dict[str, int]) -> None:
    """What no line and no part tells yet is told by the parts that its findings speak of: nothing is left out."""
    told = {n for line in wiring.lines for n in line.numbers} | {n for box in boxes.values() for n in box.numbers}
    for finding in comparison.findings:
        number = numbers.get(finding.modification)
        if number is None or number in told:
            continue
        for name in dict.fromkeys((*finding.parts, *(part_of(where) for where in finding.terminals))):
            box = boxes.get(name)
            if box is not None:
                words = tuple(dict.fromkeys((*box.words, box_word(finding.kind))))
                mark: Mark = box.mark if box.mark not in ("", "unseen") else "changed"
                boxes[name] = replace(box, mark=mark, words=words, numbers=tuple(sorted({*box.numbers, number})))


def _boxes(layers: Layers, findings: dict[str, list[Finding]], numbers: dict[str, int]) -> dict[str, Box]:
    used: dict[str, list[str]] = defaultdict(list)
    for where in (*layers.stock_net, *layers.found_net):
        if part_of(where) and terminal_of(where) not in used[part_of(where)]:
            used[part_of(where)].append(terminal_of(where))
    boxes = {}
    for name in _in_order(layers):
        drawn, seen = layers.stock.parts.get(name), layers.found_parts.get(name)
        told = findings.get(name, [])
        if _only_ties(drawn or seen) and not told:
            continue
        boxes[name] = _box(layers, name, drawn, seen, used[name], told, numbers)
    return boxes


def _in_order(layers: Layers) -> Iterator[str]:
    """The parts as the chains of the drawing come to them; what only the unit has, after what it is joined to."""
    stock = layers.stock.parts
    chained = dict.fromkeys(part_of(where) for run in layers.stock.runs for where in (run.a, run.b))
    first = dict.fromkeys((*(name for name in chained if name in stock), *stock))
    after: dict[str, list[str]] = defaultdict(list)
    placed = set(first)
    for run in layers.found_runs:
        for here, there in ((part_of(run.a), part_of(run.b)), (part_of(run.b), part_of(run.a))):
            if here in layers.found_parts and here not in placed and there in placed:
                after[there].append(here)
                placed.add(here)
    waiting = [*first, *(name for name in layers.found_parts if name not in placed)][::-1]
    while waiting:
        name = waiting.pop()
        yield name
        waiting += after[name][::-1]


def _only_ties(part: Part | None) -> bool:
    """A strip: its lugs are joints, named where they serve, and no box of their own."""
    return part is not None and "TB" in part.kind.letters


def _box(
    layers: Layers,
    name: str,
    drawn: Part | None,
    seen: Part | None,
    used: list[str],
    told: list[Finding],
    numbers: dict[str, int],
) -> Box:
    part = drawn or seen
    assert part is not None
    presence = BOTH if drawn and seen else STOCK_ONLY if drawn else FOUND_ONLY
    words = list(dict.fromkeys(box_word(finding.kind) for finding in told))
    mark: Mark = "changed" if words else ""
    beside = _beside(layers, told) if drawn is None else ""
    if layers.alone:
        words = []
    elif drawn is None:
        mark, words = "added", ["added", *_why_added(told, beside)]
    elif seen is None:
        mark, words = "missing", ["missing"]
    elif not mark and layers.unseen and all(f"{name}.{t}" in layers.unseen for t in used) and used:
        mark = "unseen"
    ties = {lug.name for p in (drawn, seen) if p is not None for lug in p.kind.terminals if lug.tie}
    terminals = [lug.name for lug in part.kind.terminals if not lug.tie]
    terminals += [t for t in used if t not in terminals and t not in ties]
    return Box(
        name=name,
        alias=clip(layers.labels.get(name, "")),
        drawn=part_lines(drawn) if drawn else (),
        seen=part_lines(seen) if seen else (),
        terminals=() if _only_ties(part) else tuple(terminals),
        zone=part.zone or (layers.stock.parts[beside].zone if beside else ""),
        presence=presence,
        mark=mark,
        words=tuple(words),
        numbers=tuple(sorted({numbers[f.modification] for f in told if f.modification in numbers})),
        two_ended=part.kind.ends is not None and len(terminals) == 2,
        spots=_spots(layers, name, told),
        inputs=_inputs(layers.stock if drawn else layers.found, part, terminals),
        stock=drawn,
        unit=seen,
    )


def _spots(layers: Layers, name: str, told: list[Finding]) -> dict[str, tuple[str, str]]:
    """For a terminal on the right net at the wrong lug: the lug that the drawing wants, and the one it is on."""
    out = {}
    for finding in told:
        if finding.kind == "wrong-lug" and len(finding.terminals) > 1 and part_of(finding.terminals[0]) == name:
            where, wanted = finding.terminals[:2]
            ends = [(run.a, run.b) for run in layers.found_runs if where in (run.a, run.b)]
            other = next((b if a == where else a for a, b in ends), "")
            out[terminal_of(where)] = clip(wanted, 16), clip(other, 16)
    return out


def _beside(layers: Layers, told: list[Finding]) -> str:
    """The stock part that a finding names together with a foreign one; empty where it names none."""
    return next((name for finding in told for name in finding.parts if name in layers.stock.parts), "")


def _why_added(told: list[Finding], beside: str) -> list[str]:
    """``across C16A``, ``for R30``, ``inserted``: what a foreign part does there."""
    kinds = {finding.kind for finding in told}
    words = ["inserted"] if "inserted-part" in kinds else []
    if beside and "bypassed-part" in kinds:
        words.append(f"across {beside}")
    if beside and kinds & {"substituted-part", "wrong-part"}:
        words.append(f"for {beside}")
    return words + (["bad condition"] if "condition" in kinds else [])


def _inputs(circuit: Circuit, part: Part, terminals: list[str]) -> frozenset[str]:
    """Where the flow comes in: control grids and diode plates of a tube, the first winding of a transformer."""
    if part.kind.name == "tube":
        plates = not any(t.startswith("g") for t in terminals)
        return frozenset(t for t in terminals if t.startswith(("p", "a") if plates else ("g1", "pd")))
    for winding in circuit.windings:
        if winding.part == part.designator:
            return frozenset(winding.terminals)
    if part.kind.name == "transformer":
        return frozenset(terminals[:2])
    return frozenset()
