"""The reading that proves a step: one that shows something else before the step than after it.

A reading proves nothing where the path of another part lies in parallel. Then the step says so and
leaves the proof to the eye.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import combinations

from netdiff.circuit import OPEN, UNFOLLOWED, Point, part_of
from netdiff.comparison.words import some
from netdiff.worklist.bench import Bench, natural
from netdiff.worklist.intents import Intent
from netdiff.worklist.meter import Meter, Path, Reading
from netdiff.worklist.steps import Change, Proof, ends

MOST_POINTS = 4
"""Of a part with many leads that many points are tried with the meter."""

Pair = tuple[Point, Point]


class Prover:
    """Made before the step, asked after it."""

    def __init__(self, meter: Meter, bench: Bench, intent: Intent, renamed: Mapping[Point, Point]) -> None:
        self.meter, self.intent, self.renamed = meter, intent, renamed
        self.joined = [(run.a, run.b) for run in intent.on][:MOST_POINTS]
        self.parted = _parted(bench, intent)
        self.before: dict[Pair, Reading] = {pair: meter.read(*pair) for pair in (*self.joined, *self.parted)}

    def proofs(self, change: Change) -> tuple[Proof, ...]:
        action = self.intent.action
        if action == "inspect":
            return ()
        if action == "re-dress":
            return (Proof("inspect", says="Inspect it: a meter does not see the distance."),)
        if action == "braid":
            return tuple(self._braids(change))
        proofs = [self._continuity(pair) for pair in self.joined]
        if action in ("remove", "cut", "move"):
            opened = self._open()
            if opened is not None:
                proofs.insert(0, opened)
        if not proofs:
            proofs.append(_look(action))
        return tuple(dict.fromkeys(proofs))

    def _continuity(self, pair: Pair) -> Proof:
        before = self.before[pair]
        a, b = (self.renamed.get(where, where) for where in pair)
        if before.path in (Path.WIRE, Path.LOW) or before.movement:
            way = before.through
            why = f"{some(way)} already joins {a} and {b}" if way else f"{a} and {b} were already joined another way"
            if before.movement:
                why = "a meter movement lies in the way, and no ohmmeter goes across it"
            return Proof("inspect", a, b, way, f"No reading tells: {why}. Inspect the joint.")
        return Proof("continuity", a, b, (), f"{a} to {b} reads continuity.")

    def _open(self) -> Proof | None:
        hidden: Proof | None = None
        best: tuple[Path, Pair] | None = None
        for pair in self.parted:
            before, after = self.before[pair], self.meter.read(*pair)
            if before.path == after.path or before.movement or after.movement:
                continue
            if after.path == Path.NONE:
                if best is None or before.path < best[0]:
                    best = before.path, pair
            elif hidden is None:
                hidden = _hidden(pair, after)
        if best is not None:
            a, b = best[1]
            return Proof("open", a, b, (), f"{a} to {b} reads open.")
        if hidden is None and self.parted:
            after = self.meter.read(*self.parted[0])
            hidden = _hidden(self.parted[0], after)
        return hidden

    def _braids(self, change: Change) -> Iterable[Proof]:
        for run in change.runs_on:
            if run.braid is None:
                continue
            c, d = run.braid
            if {c, d} & {OPEN, UNFOLLOWED}:
                yield Proof("inspect", says="Inspect the braid: it lands at one end only, and no reading tells.")
            elif (c, d) in self.before or c == d:
                yield self._continuity((c, d)) if c != d else Proof("inspect", says="Inspect the braid's joint.")
            else:
                yield Proof("continuity", c, d, (), f"{c} to {d} reads continuity.")


def _parted(bench: Bench, intent: Intent) -> list[Pair]:
    """Pairs of points that what goes may have joined; the ends of a single run, else points round a part."""
    if intent.action in ("cut", "move"):
        return [(intent.points[0], intent.points[1])]
    if intent.action == "braid":
        return [run.braid for number, _ in intent.braids if (run := bench.runs.get(number)) and run.braid]
    if intent.action != "remove":
        return []
    landed = {end for number in intent.off if number in bench.runs for end in ends(bench.runs[number])}
    points = sorted((end for end in landed if part_of(end) not in intent.off_parts), key=natural)
    return list(combinations(points[:MOST_POINTS], 2))


def _hidden(pair: Pair, after: Reading) -> Proof:
    a, b = pair
    if after.movement:
        why = "a meter movement lies in the way, and no ohmmeter goes across it"
    elif after.through:
        why = f"{some(after.through)} {'is' if len(after.through) == 1 else 'are'} in parallel from {a} to {b}"
    else:
        why = f"{a} and {b} are joined another way too" if after.path == Path.WIRE else f"{a} to {b} was open before"
    return Proof("inspect", a, b, after.through, f"No reading tells: {why}. Inspect that nothing is left.")


def _look(action: str) -> Proof:
    if action == "remove":
        return Proof("inspect", says="No reading tells. Inspect that no end of a lead is left.")
    if action == "exchange":
        return Proof("inspect", says="Read both types before they go in.")
    if action == "fit":
        return Proof("inspect", says="Read its type and test it before it goes in.")
    return Proof("inspect", says="Read and measure the new part before it goes in.")
