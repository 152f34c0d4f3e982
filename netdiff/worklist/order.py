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
from netdiff.comparison.nets import Union
from netdiff.comparison.results import HOLDS, Hold
from netdiff.worklist.bench import natural
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.goal import Goal
from netdiff.worklist.steps import Action, ends

RANK: dict[Action, int] = {
    "remove": 0, "cut": 1, "exchange": 2, "replace": 3, "fit": 4, "move": 5, "solder": 6, "bond": 7, "run": 8,
    "braid": 9, "re-dress": 10, "inspect": 11,
}  # fmt: skip


def add_needs(draft: Draft) -> list[tuple[int, int]]:
    """Fill in what each intent needs; return pairs whose holds must be the same (opened, closed again)."""
    goal, bench, intents = draft.goal, draft.bench, draft.intents
    tangled = _tangled(goal, draft.found)
    loosens: dict[Point, set[int]] = defaultdict(set)
    opens: dict[Point, set[int]] = defaultdict(set)
    removed_at: dict[Point, set[int]] = defaultdict(set)
    for number, intent in enumerate(intents):
        for run_number in intent.off:
            for end in ends(bench.runs[run_number]):
                if intent.unties:
                    loosens[draft.found.find(end)].add(number)
                opens[draft.piece.get(end, end)].add(number)
                if intent.action == "remove" and not is_net(end):
                    removed_at[end].add(number)
        for run_number, _ in intent.braids:
            for end in bench.runs[run_number].braid or ():
                if intent.unties:
                    loosens[draft.found.find(end)].add(number)
                opens[draft.piece.get(end, end)].add(number)
    same_hold = []
    for number, intent in enumerate(intents):
        for run in intent.on:
            for end in ends(run):
                home = draft.found.find(end)
                if home in tangled:
                    intent.needs |= loosens[home]
                intent.needs |= removed_at[end]
                name = part_of(end)
                if name in goal.fit or end in goal.new_terminals:
                    intent.needs.add(draft.of_part[name])
            if draft.found.find(run.a) == draft.found.find(run.b):
                openers = _openers(number, *(opens[draft.piece.get(end, end)] for end in (run.a, run.b)))
                intent.needs |= openers
                same_hold += [(number, opener) for opener in sorted(openers)]
                if not intent.keys:
                    intent.keys |= {key for opener in openers for key in intents[opener].keys}
        intent.needs.discard(number)
    return same_hold


def _openers(number: int, near: set[int], far: set[int]) -> set[int]:
    """The intents that parted two pieces: those at both, else all at the piece where fewer are at work."""
    if number in near | far:
        return set()
    return near & far or min((side for side in (near, far) if side), key=len, default=set())


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
    intents: list[Intent], holds: list[Hold], zones: list[str], zone_rank: Mapping[str, int], names: list[str]
) -> Iterator[int]:
    """Places in the list, in the order of work: hold by hold, and within a hold without leaving a zone in vain.

    Zones come in the drawing's order, looks at the end of the hold.
    """
    keys = [(RANK[intent.action], natural(name)) for intent, name in zip(intents, names, strict=True)]
    for hold in HOLDS:
        waiting = {number for number, its in enumerate(holds) if its == hold}
        here = ""
        while waiting:
            open_ = [n for n in waiting if intents[n].action != "inspect"] or waiting
            # Two leads that change places wait for each other: then the first goes first.
            free = [n for n in open_ if not (intents[n].needs & waiting)] or open_
            choice = min(free, key=lambda n: (zones[n] != here, zone_rank.get(zones[n], -1), keys[n]))
            here = zones[choice]
            waiting.discard(choice)
            yield choice
