"""What is put on: runs of the drawing's make, braids landed, leads moved, and joins of every kind."""

from __future__ import annotations

from collections.abc import Iterable

from netdiff.circuit import Point, Run, is_net, part_of
from netdiff.worklist.bench import strands
from netdiff.worklist.conductors import SHIELDED, Landing, Rerun
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.joining import DESCRIBED, Join, Rejoin, as_drawn, may_join, new_run, stand_in
from netdiff.worklist.steps import Action

Plain = tuple[Join, Run, set[str]]
"""A join without a construction of its own, to be made by a lead that moves or by a new one; its reasons."""


def add_reruns(draft: Draft, reruns: Iterable[Rerun]) -> None:
    for rerun in reruns:
        run = rerun.run
        action: Action = "run"
        points = [run.a, run.b]
        if all(key.startswith("place:") for key in rerun.keys):
            action = "solder"
            if rerun.off:
                old = draft.bench.runs[rerun.off[0]]
                action, points = "move", [run.a, old.b if old.a == run.a else old.a, run.b]
        keys = {*rerun.keys, *draft.keys_of_join(run.a, run.b)}
        owners = [draft.of_part[name] for end in (run.a, run.b) if draft.goal.is_resoldered(name := part_of(end))]
        if owners:
            # No lead is soldered to the new part that then comes off it again.
            owners += [draft.of_part[part_of(w)] for w in run.braid or () if part_of(w) in draft.goal.fit]
            host = draft.intents[max(owners)]
            host.off += rerun.off
            host.on.append(as_drawn(run, draft.goal))
            host.keys |= keys
            host.needs |= set(owners) - {max(owners)}
            draft.pieces.join(run.a, run.b)
            continue
        draft.add(Intent(action, points=points, off=list(rerun.off), on=[as_drawn(run, draft.goal)], keys=keys))
        draft.pieces.join(run.a, run.b)


def add_joins(draft: Draft, landings: Iterable[Landing]) -> None:
    """Join what is in pieces: by leads first, then by braids, then somehow."""
    moved = frozenset(where for where, cuts in draft.cuts_at.items() if cuts)
    rejoin = Rejoin(draft.goal, draft.net_of, draft.found, draft.pieces, moved)
    plain: list[Plain] = []
    for join in list(rejoin.joins(braids=False)):
        _join(draft, join, plain)
    for landing in landings:
        _land(draft, landing)
    for intent in draft.intents:
        for run in intent.on:
            for strand in strands(0, run):
                draft.pieces.join(strand.a, strand.b)
    for join in [*rejoin.joins(braids=True), *rejoin.last_resort()]:
        _join(draft, join, plain)
    _pair_moves(draft, plain)
    _leads_to_names(draft)


def _join(draft: Draft, join: Join, plain: list[Plain]) -> None:
    goal = draft.goal
    keys = draft.keys_of_join(join.a, join.b)
    for where in (join.a, join.b):
        fitted = draft.part_intent(where) if part_of(where) in goal.fit else None
        keys |= fitted.keys if fitted else set()
    if join.braid and join.drawn is not None and may_join(join.drawn.a, join.drawn.b, goal):
        _join_by_braid(draft, join, join.drawn, keys)
        return
    on = new_run(join, goal)
    laid = on.conductor in DESCRIBED and on.conductor != "bolted"
    owners = [owner for where in (join.a, join.b) if (owner := _bundle(draft, where, laid)) is not None]
    if owners:
        # A braid may land on a part that is fitted later still.
        owners += [draft.of_part[part_of(w)] for w in on.braid or () if part_of(w) in goal.fit]
        intent = draft.intents[max(owners)]
        intent.on.append(on)
        intent.keys |= keys
        intent.needs |= set(owners) - {max(owners)}
    elif not on.conductor:
        plain.append((join, on, keys))
    else:
        draft.add(Intent("run" if laid else _soldered(draft, join, on), points=[join.a, join.b], on=[on], keys=keys))


def _bundle(draft: Draft, where: Point, laid: bool) -> int | None:
    """The intent that puts a part in, if this lead comes with the part."""
    name, goal = part_of(where), draft.goal
    if name in goal.fit:
        return draft.of_part[name] if not laid or goal.plugs(name) else None
    if name in goal.replace and (where in goal.new_terminals or (goal.is_resoldered(name) and not laid)):
        return draft.of_part[name]
    return None


def _soldered(draft: Draft, join: Join, run: Run) -> Action:
    goal = draft.goal
    to_ground = goal.net_of_drawing.get(join.a, -1) == goal.net_of_drawing.get(goal.ground, -2)
    fixed = not goal.hangs(join.a) and not goal.hangs(join.b)
    return "bond" if run.conductor == "bolted" or (to_ground and fixed) else "solder"


def _pair_moves(draft: Draft, plain: list[Plain]) -> None:
    """A cut and a join at one terminal are one lead that moves: the likeliest pairs first."""
    pairs = []
    for place, (join, _, keys) in enumerate(plain):
        for here, there in ((join.a, join.b), (join.b, join.a)):
            for number in draft.cuts_at.get(here, ()):
                likely = _likely(draft, draft.intents[number], here, there, keys)
                if likely:
                    pairs.append((-likely, number, place, here, there))
    joined: set[int] = set()
    for _, number, place, here, there in sorted(pairs):
        cut = draft.intents[number]
        if cut.action != "cut" or place in joined:
            continue
        joined.add(place)
        old = draft.bench.runs[cut.off[0]]
        cut.action = "move"
        cut.points = [here, old.b if old.a == here else old.a, there]
        cut.on = [Run(here, there, old.conductor, old.cable, gauge=old.gauge, text=old.text)]
        cut.keys |= plain[place][2]
    for place, (join, on, keys) in enumerate(plain):
        if place not in joined:
            draft.add(Intent(_soldered(draft, join, on), points=[join.a, join.b], on=[on], keys=keys))


def _likely(draft: Draft, cut: Intent, here: Point, there: Point, keys: set[str]) -> int:
    """How likely one hand moved this lead; 0 where it cannot be moved back in one piece."""
    if len(cut.off) != 1:
        return 0
    run = draft.bench.runs[cut.off[0]]
    if run.braid is not None or run.conductor == "bolted" or there in (run.a, run.b):
        return 0
    old = run.b if run.a == here else run.a
    exchanged = part_of(old) != "" and part_of(old) == part_of(there)
    if is_net(here) and not exchanged:
        return 0
    return 1 + 4 * exchanged + 2 * draft.goal.hangs(here) + bool(keys & cut.keys)


def _leads_to_names(draft: Draft) -> None:
    """A fitted part's lead that goes to nothing but a net name which the unit's file never used."""
    goal = draft.goal
    if not goal.fit:
        return
    landed = {end for intent in draft.intents for run in intent.on for end in (run.a, run.b)}
    for run in goal.runs:
        for here, there in ((run.a, run.b), (run.b, run.a)):
            intent = draft.part_intent(here) if part_of(here) in goal.fit else None
            if intent is not None and here not in landed and is_net(there) and there not in goal.label:
                intent.on.append(Run(here, there))
                landed.add(here)


# --- braids ------------------------------------------------------------------------------------------------------


def _land(draft: Draft, landing: Landing) -> None:
    """Land a braid. It joins what its other end is on."""
    run = draft.bench.runs.get(landing.number)
    if run is None or run.braid is None or draft.goes(landing.number):
        return
    wanted = stand_in(landing.wanted, draft.goal)
    lifted = draft.intents[draft.of_braid[landing.number]].braids if landing.number in draft.of_braid else {}
    other = lifted.get((landing.number, 1 - landing.end), run.braid[1 - landing.end])
    if not may_join(wanted, other, draft.goal):
        return
    intent = draft.braid_intent(landing.number)
    intent.braids[landing.number, landing.end] = wanted
    intent.points = list(dict.fromkeys([*intent.points, run.b if landing.end else run.a, wanted]))
    intent.keys |= {landing.key} - {""}
    label = draft.goal.label
    if other in label and label[other] == label.get(wanted):
        if draft.pieces.find(other) != draft.pieces.find(wanted):
            intent.keys |= draft.keys_of_join(other, wanted)
        draft.pieces.join(other, wanted)


def _join_by_braid(draft: Draft, join: Join, run: Run, keys: set[str]) -> None:
    """Only the braid of a drawn run joins these points: landed if the run is there, else laid as drawn."""
    drawn = as_drawn(run, draft.goal)
    alike = [n for n in draft.bench.landing(run.a) if _alike(draft, n, run) and not draft.goes(n)]
    for number in alike:
        found = draft.bench.runs[number]
        sound = draft.net_of.get(found.a) == draft.net_of.get(found.b)
        if found.conductor in SHIELDED and found.braid is not None and sound and drawn.braid is not None:
            for end, wanted in enumerate(drawn.braid):
                _land(draft, Landing("", number, end if found.a == run.a else 1 - end, wanted))
            draft.braid_intent(number).keys |= keys
            draft.pieces.join(join.a, join.b)
            return
    draft.add(Intent("run", points=[run.a, run.b], off=alike, on=[drawn], keys=keys))


def _alike(draft: Draft, number: int, run: Run) -> bool:
    found = draft.bench.runs[number]
    return {found.a, found.b} == {run.a, run.b}
