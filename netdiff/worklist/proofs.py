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
from netdiff.worklist.draft import Intent
from netdiff.worklist.meter import Meter, Path, Reading
from netdiff.worklist.steps import Change, Proof

_CURED = {
    "tighten": "Inspect it: it no longer moves, and nothing near it was bent.",
    "clean": "Inspect it: bright, and nothing left between the contacts.",
    "resolder": "Inspect the joint: smooth, and its lead does not move. A cold joint may read as a good one does.",
}
MOST_POINTS = 4
"""Of a part with many leads that many points are tried with the meter."""

Pair = tuple[Point, Point]

_OPEN_BEFORE = "No reading tells: no direct current passed there before. Inspect that nothing is left."


class Prover:
    """Made before the step, asked after it."""

    def __init__(
        self,
        meter: Meter,
        bench: Bench,
        intent: Intent,
        renamed: Mapping[Point, Point],
        loose: frozenset[Point],
    ) -> None:
        self.meter, self.intent, self.renamed = meter, intent, renamed
        self.joined = [(run.a, run.b) for run in intent.on][:MOST_POINTS]
        self.parted = _parted(bench, intent, loose)
        landed = [run.braid for run in bench.rebraided(intent.braids).values() if run.braid and _metal(run.braid)]
        self.before: dict[Pair, Reading] = {pair: meter.read(*pair) for pair in (*self.joined, *self.parted, *landed)}

    def proofs(self, change: Change) -> tuple[Proof, ...]:
        action = self.intent.action
        if action in ("inspect", "tighten", "clean", "resolder"):
            return tuple(Proof("inspect", says=_CURED[one]) for one in [action] if one in _CURED)
        if action == "re-dress":
            return (Proof("inspect", says="Inspect it: a meter does not see the distance."),)
        if action == "braid":
            return tuple(self._braids(change)) or (Proof("inspect", says="Inspect the braid's joints."),)
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
            why = (
                f"{some(way)} already {'joins' if len(way) == 1 else 'join'} {a} and {b}"
                if way
                else f"{a} and {b} were already joined another way"
            )
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
            still = [(pair, after) for pair in self.parted if (after := self.meter.read(*pair)).path != Path.NONE]
            hidden = _hidden(*still[0]) if still else Proof("inspect", says=_OPEN_BEFORE)
        return hidden

    def _braids(self, change: Change) -> Iterable[Proof]:
        for run in change.runs_on:
            if run.braid is None:
                continue
            if not _metal(run.braid):
                yield Proof("inspect", says="Inspect the braid: it lands at one end only, and no reading tells.")
            elif run.braid in self.before:
                yield self._continuity(run.braid)


def _metal(braid: Pair) -> bool:
    """Whether a braid leads from one point to another."""
    return not {OPEN, UNFOLLOWED} & set(braid) and braid[0] != braid[1]


def going(bench: Bench, intent: Intent) -> list[int]:
    """The runs that are still there and go with this step."""
    numbers = [number for number in intent.off if number in bench.runs]
    if intent.action == "remove":
        numbers += [number for name in intent.off_parts for number in bench.cores_of(name)]
    return list(dict.fromkeys(numbers))


def _parted(bench: Bench, intent: Intent, loose: frozenset[Point]) -> list[Pair]:
    """Pairs of points that what goes may have joined; the ends of a single run, else points round a part.

    A splice or a tie point may go with it: then what is behind counts.
    """
    if intent.action == "braid":
        return [run.braid for number, _ in intent.braids if (run := bench.runs.get(number)) and run.braid]
    if intent.action == "cut" and len(intent.points) > 2:
        points = {w for where in intent.points for w in _behind(bench, where, set(), loose)}
        return list(combinations(sorted(points, key=natural)[:MOST_POINTS], 2))
    if intent.action in ("cut", "move"):
        spots = [_behind(bench, where, set(intent.points), loose) for where in intent.points[:2]]
        return [(a, b) for a in spots[0] for b in spots[1] if a != b][:MOST_POINTS]
    if intent.action != "remove":
        return []
    beyond: dict[Point, list[Point]] = {}
    for number in going(bench, intent):
        run = bench.runs[number]
        for mine, other in ((run.a, run.b), (run.b, run.a)):
            real = other not in (OPEN, UNFOLLOWED) and part_of(other) not in intent.off_parts
            if real and part_of(mine) in intent.off_parts:
                beyond.setdefault(mine, []).extend(_behind(bench, other, {mine}, loose))
    first = [found[0] for _, found in sorted(beyond.items()) if found]
    more = [where for _, found in sorted(beyond.items()) for where in found[1:2]]
    return list(combinations(dict.fromkeys([*first, *more][:MOST_POINTS]), 2))


def _behind(bench: Bench, where: Point, without: set[Point], loose: frozenset[Point]) -> list[Point]:
    """The point itself, or the points to which a splice or tie point leads."""
    if where not in loose:
        return [where]
    seen, queue, found = {where, *without}, [where], []
    while queue:
        for other in bench.neighbours(queue.pop()):
            if other in seen:
                continue
            seen.add(other)
            if other in loose:
                queue.append(other)
            else:
                found.append(other)
    return sorted(found, key=natural)


def _hidden(pair: Pair, after: Reading) -> Proof:
    a, b = pair
    if after.movement:
        why = "a meter movement lies in the way, and no ohmmeter goes across it"
    elif after.through:
        why = f"{some(after.through)} {'is' if len(after.through) == 1 else 'are'} in parallel from {a} to {b}"
    else:
        why = f"{a} and {b} are joined another way too"
    return Proof("inspect", a, b, after.through, f"No reading tells: {why}. Inspect that nothing is left.")


def _look(action: str) -> Proof:
    if action == "remove":
        return Proof("inspect", says="No reading tells. Inspect that no end of a lead is left.")
    if action == "exchange":
        return Proof("inspect", says="Read both types before they go in.")
    if action == "fit":
        return Proof("inspect", says="Read its type and test it before it goes in.")
    return Proof("inspect", says="Read and measure the new part before it goes in.")
