"""From the goal to what must be done, in no order yet.

1. What ends on a part that goes, goes with it (``removing``). 2. The fewest conductors are cut that
part what belongs apart (``cutting``, ``loosening``). 3. Conductors of the wrong make are taken off
for the drawing's (``conductors``). 4. What is then in pieces and belongs together is joined
(``joining``, ``fastening``). Cuts and joins that one hand does in one go become one intent: a lead
moved, a part replaced with its leads.
"""

from __future__ import annotations

from netdiff.worklist.conductors import remake
from netdiff.worklist.cutting import goal_nets
from netdiff.worklist.draft import Draft
from netdiff.worklist.fastening import add_joins, add_reruns
from netdiff.worklist.goal import Goal
from netdiff.worklist.loosening import add_cuts, add_lifts, clear_dead_ends, weight
from netdiff.worklist.removing import add_parts, add_ties, going_with_parts
from netdiff.worklist.steps import ends


def draft_for(goal: Goal) -> Draft:
    """All intents that bring the unit to its goal."""
    draft = Draft(goal)
    add_parts(draft)
    going = going_with_parts(draft)
    left = [strand for strand in draft.bench.strands() if strand not in going]
    draft.net_of |= goal_nets(left, goal.label, lambda strand: weight(draft, strand))
    cut = [strand for strand in left if draft.net_of.get(strand.a) != draft.net_of.get(strand.b)]
    gone = {strand.run for strand in cut if not strand.braid}
    tied = set(cut)
    sound = [strand for strand in left if strand.run not in gone and strand not in tied]
    making = remake(goal, draft.bench, sound, draft.net_of)
    gone |= {number for rerun in making.reruns for number in rerun.off}
    for strand in sound:
        if strand.run not in gone:
            draft.pieces.join(strand.a, strand.b)
    for a, b in goal.unseen:
        draft.pieces.join(a, b)
    draft.settle()
    add_ties(draft, going)
    add_cuts(draft, cut)
    add_lifts(draft, cut, gone | {strand.run for strand in going})
    add_reruns(draft, making.reruns)
    add_joins(draft, making.landings)
    clear_dead_ends(draft)
    _mop_up(draft)
    return draft


def _mop_up(draft: Draft) -> None:
    """Raw differences that several intents clear together: the first that touches the block tells of it."""
    told = {key for intent in draft.intents for key in intent.keys}
    for key, raw in draft.goal.raw.items():
        if raw.sort not in ("cut", "join") or key in told:
            continue
        home = {draft.piece.get(where, where) for where in raw.points}
        for intent in draft.intents:
            gone = [draft.bench.runs[number] for number in intent.off]
            runs = intent.on if raw.sort == "cut" else gone
            if any(draft.piece.get(end, end) in home for run in runs for end in ends(run)):
                intent.keys.add(key)
                break
