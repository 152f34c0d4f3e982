"""In which order: by hold, then what is in the way first, then zone by zone.

Rules that are never bent:
- Nothing is joined on a net before what wrongly ties that net to another is off it.
- What a cut or a removal opens is closed again before the same hold: no grid and no ground is left
  hanging when the power comes.
- What must be done first inherits the hold of what waits for it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from netdiff.circuit import Point, is_net, part_of
from netdiff.comparison.results import HOLDS, Hold
from netdiff.nets import Union
from netdiff.worklist.bench import natural
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.goal import Goal
from netdiff.worklist.openings import openings
from netdiff.worklist.steps import Action, ends

RANK: dict[Action, int] = {
    "remove": 0, "cut": 1, "exchange": 2, "replace": 3, "fit": 4, "move": 5, "solder": 6, "bond": 7, "run": 8,
    "braid": 9, "re-dress": 10, "resolder": 11, "tighten": 12, "clean": 13, "inspect": 14, "set": 15, "discharge": 16,
}  # fmt: skip


def add_needs(draft: Draft) -> list[tuple[int, int]]:
    """Fill in what each intent needs; return pairs whose holds must be the same (opened, closed again)."""
    goal, bench, intents = draft.goal, draft.bench, draft.intents
    ground = draft.net_of.get(goal.ground, -1)
    grounded = draft.found.find(goal.ground)
    """Where the ground is found. It takes a joint well before something that was wrongly tied to it is off again."""
    tangled = _tangled(goal, draft.found)
    loosens: dict[Point, set[int]] = defaultdict(set)
    removed_at: dict[Point, set[int]] = defaultdict(set)
    for number, intent in enumerate(intents):
        gone = [end for run in intent.off for end in ends(bench.runs[run])]
        lifted = [end for run, _ in intent.braids for end in bench.runs[run].braid or () if end in draft.net_of]
        if intent.unties:
            for end in (*gone, *lifted):
                loosens[draft.found.find(end)].add(number)
        if intent.action == "remove":
            for end in gone:
                if not is_net(end) and draft.net_of.get(end) != ground:
                    removed_at[end].add(number)
    for intent in intents:
        landed = [end for run in intent.on for end in ends(run)]
        landed += [end for end in intent.braids.values() if end in draft.net_of]
        # Where the part's own leads were found does not count: they come off with it.
        landed = [end for end in landed if not (part_of(end) in intent.parts and goal.is_resoldered(part_of(end)))]
        for end in landed:
            home = draft.found.find(end)
            if home in tangled and not (home == grounded and draft.net_of.get(end) == ground):
                intent.needs |= loosens[home]
            intent.needs |= removed_at[end]
            if part_of(end) in goal.fit or end in goal.new_terminals:
                intent.needs.add(draft.of_part[part_of(end)])
    same = []
    for opening in openings(draft):
        for number in opening.joins:
            intents[number].needs |= opening.openers
            same += [(number, opener) for opener in opening.openers]
            if not intents[number].keys:
                intents[number].keys |= {key for opener in opening.openers for key in intents[opener].keys}
    for number, intent in enumerate(intents):
        intent.needs.discard(number)
    return same


def _tangled(goal: Goal, found: Union) -> set[Point]:
    """Found nets on which there is more than one goal net."""
    nets: dict[Point, set[int]] = defaultdict(set)
    for where, net in goal.label.items():
        nets[found.find(where)].add(net)
    return {home for home, on_it in nets.items() if len(on_it) > 1}


def set_holds(intents: list[Intent], own: list[Hold], same: list[tuple[int, int]]) -> list[Hold]:
    """The hold of each intent: its own reasons', or earlier where something earlier waits for it."""
    rank = [HOLDS.index(hold) for hold in own]
    links: dict[int, set[int]] = defaultdict(set)
    for number, intent in enumerate(intents):
        links[number] |= intent.needs
    for a, b in same:
        links[a].add(b)
        links[b].add(a)
    queue = sorted(range(len(intents)), key=rank.__getitem__)
    while queue:
        number = queue.pop()
        for other in links[number]:
            if rank[other] > rank[number]:
                rank[other] = rank[number]
                queue.append(other)
    return [HOLDS[number] for number in rank]


def in_order(
    intents: list[Intent],
    holds: list[Hold],
    zones: list[str],
    zone_rank: Mapping[str, int],
    names: list[str],
    spots: list[frozenset[Point]],
) -> Iterator[int]:
    """Places in the list, in the order of work: hold by hold; within a hold zone by zone; within a zone joint by joint.

    A zone is left when nothing in it can be done any more. Of the others that one comes next which can be done to its
    end, then by the drawing's order. What is soldered at the joint that was just opened comes next, so that no joint is
    made before all that belongs there is at hand.
    """
    keys = [(RANK[intent.action], natural(name)) for intent, name in zip(intents, names, strict=True)]
    for hold in HOLDS:
        waiting = {number for number, its in enumerate(holds) if its == hold}
        here, at = "", frozenset[Point]()
        while waiting:
            # Two leads that change places wait for each other: then the first goes first.
            free = [n for n in waiting if not (intents[n].needs & waiting)] or list(waiting)
            open_ = {zones[n] for n in free}
            if here not in open_:
                here = min(
                    open_,
                    key=lambda zone: (
                        _blocked(intents, zones, waiting, zone),
                        zone_rank.get(zone, len(zone_rank)),
                        zone,
                    ),
                )
            choice = min((n for n in free if zones[n] == here), key=lambda n: (not (spots[n] & at), keys[n]))
            at = spots[choice]
            waiting.discard(choice)
            yield choice


def _blocked(intents: list[Intent], zones: list[str], waiting: set[int], zone: str) -> bool:
    """Whether something in the zone must wait for something in another."""
    mine = {number for number in waiting if zones[number] == zone}
    elsewhere = waiting - mine
    return any(intents[number].needs & elsewhere for number in mine)
