"""What comes off because it ties what belongs apart: runs, braids, and what then leads nowhere."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import OPEN, Point, Run, part_of
from netdiff.worklist.bench import Strand
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.joining import as_drawn
from netdiff.worklist.steps import ends


def weight(draft: Draft, strand: Strand) -> float:
    """Which of two conductors is rather cut: the one that neither the drawing nor a ``keep`` knows."""
    if part_of(strand.a) in draft.goal.stay or part_of(strand.b) in draft.goal.stay:
        return 10.0
    return 1.0 if strand.braid or frozenset((strand.a, strand.b)) not in draft.goal.drawn else 1.5


def add_cuts(draft: Draft, cut: Iterable[Strand]) -> None:
    """One intent a pair of points; at a part that is unsoldered and replaced anyway, none of its own."""
    for strand in cut:
        if strand.braid:
            continue
        keys = draft.keys_of_cut(strand.a, strand.b)
        host = next((i for w in (strand.a, strand.b) if (i := _replacing(draft, w)) is not None), None)
        if host is None:
            twins = [draft.intents[n] for n in draft.cuts_at.get(strand.a, ())]
            host = next((twin for twin in twins if set(twin.points) == {strand.a, strand.b}), None)
        if host is None:
            host = Intent("cut", points=[strand.a, strand.b])
            place = draft.add(host)
            draft.cuts_at[strand.a].append(place)
            draft.cuts_at[strand.b].append(place)
        host.off.append(strand.run)
        host.keys |= keys
        host.unties = True


def _replacing(draft: Draft, where: Point) -> Intent | None:
    if draft.goal.is_resoldered(part_of(where)):
        return draft.part_intent(where)
    return None


def add_lifts(draft: Draft, cut: Iterable[Strand], gone: set[int]) -> None:
    """Braids that are on a net where the drawing does not land them go where it does."""
    goal, net_of = draft.goal, draft.net_of
    tying = {strand.run for strand in cut if strand.braid}
    for number, run in draft.bench.runs.items():
        if run.braid is None or number in gone:
            continue
        wanted = _drawn_braid(draft, run)
        for end, (where, there) in enumerate(zip(run.braid, wanted or (), strict=False)):
            side = run.b if end else run.a
            if where not in net_of or (side in goal.kept_braids and number not in tying):
                continue
            if net_of.get(there) != net_of[where] and (there in net_of or number in tying):
                _lift(draft, number, end, there)
        if number in tying and number not in draft.of_braid:
            _lift(draft, number, 0 if run.braid[0] != goal.ground else 1, OPEN)


def _drawn_braid(draft: Draft, run: Run) -> tuple[Point, Point] | None:
    """Where the drawing lands the braid of a run between these points, in the order of the found run."""
    for drawn in draft.goal.drawn.get(frozenset((run.a, run.b)), ()):
        braid = as_drawn(drawn, draft.goal).braid
        if braid is not None:
            return braid if drawn.a == run.a else (braid[1], braid[0])
    return None


def _lift(draft: Draft, number: int, end: int, there: Point) -> None:
    run = draft.bench.runs[number]
    assert run.braid is not None
    intent = draft.braid_intent(number)
    intent.braids[number, end] = there
    intent.unties = True
    intent.keys |= draft.keys_of_cut(*run.braid)
    side = run.b if end else run.a
    intent.points += [w for w in (side, there) if w != OPEN and w not in intent.points]


def clear_dead_ends(draft: Draft) -> None:
    """Runs that will lead to a splice or a tie point and no further go with what made them so.

    Cuts that only clear one such spot are one action: it takes all of them to part what meets there.
    """
    bench = draft.bench
    off = {number: place for place, intent in enumerate(draft.intents) for number in intent.off}
    landed = {end for intent in draft.intents for run in intent.on for end in ends(run)}
    queue = [end for number in off for end in ends(bench.runs[number])]
    void: set[int] = set()
    while queue:
        where = queue.pop()
        if where not in draft.goal.loose or where in landed:
            continue
        here = bench.landing(where)
        left = [number for number in here if number not in off]
        if len(left) > 1 or any(not _can_go(draft, bench.runs[number], where) for number in left):
            continue
        places = sorted({off[number] for number in here if number in off}, key=lambda n: _clears(draft.intents[n], n))
        if not places:
            continue
        first, *others = places
        for number in left:
            off[number] = first
            draft.intents[first].off.append(number)
            queue += ends(bench.runs[number])
        if draft.intents[first].action == "cut":
            for place in others:
                if draft.intents[place].action == "cut":
                    off |= dict.fromkeys(draft.intents[place].off, first)
                    _merge(draft.intents[first], draft.intents[place])
                    void.add(place)
    draft.intents = [intent for place, intent in enumerate(draft.intents) if place not in void]


def _clears(intent: Intent, place: int) -> tuple[bool, bool, int]:
    """Which action a dead end goes with: a cut, else a lead that moves, else the part that goes."""
    return intent.action != "cut", intent.action != "move", place


def _can_go(draft: Draft, run: Run, where: Point) -> bool:
    plain = run.joins and run.braid is None and where in (run.a, run.b)
    return plain and frozenset((run.a, run.b)) not in draft.goal.drawn


def _merge(one: Intent, other: Intent) -> None:
    one.off += other.off
    one.keys |= other.keys
    one.needs |= other.needs
    one.points += [where for where in other.points if where not in one.points]
