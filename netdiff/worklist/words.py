"""One line of plain words a step, as one colleague would tell another what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from netdiff.circuit import OPEN, UNFOLLOWED, Part, Point, Run, is_net, part_of
from netdiff.comparison.words import a_or_an, kind_words, part_words, some, value_words
from netdiff.quantities import show
from netdiff.worklist.bench import Bench, natural
from netdiff.worklist.draft import Intent
from netdiff.worklist.goal import Goal, in_one_can
from netdiff.worklist.steps import Change, Step, ends

_NAMES = {
    "wire": "wire", "bare": "bare wire", "bus": "bus wire", "shielded": "shielded wire", "coax": "coax",
    "twisted": "twisted wire", "strap": "strap",
}  # fmt: skip


def render(step: Step) -> str:
    """The step in one line: what to do, and how to prove it.

    >>> render(Step("cut-R1.1-R2.1", "cut", "Unsolder R1.1 from R2.1.", "none"))
    'Unsolder R1.1 from R2.1.'
    """
    proofs = " ".join(proof.says for proof in step.proofs)
    return f"{step.says} {proofs}".strip()


class Now(NamedTuple):
    """What a sentence may need besides the change itself."""

    goal: Goal
    before: Mapping[str, Part]
    """The parts as they were before the step."""
    bench: Bench
    """The unit after the step."""


def say(intent: Intent, change: Change, now: Now) -> str:
    """What to do, in a sentence or two."""
    return _SAY[intent.action](intent, change, now)


def conductor(run: Run) -> str:
    """``180 mm of RG-58 coax (W1)``; ``wire`` where the drawing or the bench says no more."""
    words = _NAMES.get(run.conductor, "connection")
    if run.cable_type:
        words = f"{run.cable_type} {words}"
    if run.gauge is not None:
        words = f"{show(run.gauge, 'AWG')} {words}"
    if run.length:
        words = f"{show(run.length, 'm')} of {words}"
    return f"{words} ({run.cable})" if run.cable else words


def _remove(intent: Intent, change: Change, now: Now) -> str:
    names = intent.parts
    told = [part_words(part) if (part := now.before.get(name)) else name for name in names]
    theirs = [run for run in change.runs_off if any(_touches(run, name) for name in names)]
    leads = {end for run in theirs for end in ends(run) if part_of(end) not in names}
    says = f"Remove {some(told, 12)}{', soldered to each other,' if len(names) > 1 else ''}"
    its = "its" if len(names) == 1 else "their"
    says += f" with {its} leads at {some(sorted(leads, key=natural), 12)}." if leads else _connected_to_nothing(names)
    says += _stubs([run for run in change.runs_off if run not in theirs])
    if any(UNFOLLOWED in (run.a, run.b) for run in theirs):
        says += f" One of {its} leads was not followed: follow it before you cut it."
    return says


def _connected_to_nothing(names: list[str]) -> str:
    return "; it is connected to nothing." if len(names) == 1 else "; they are connected to nothing else."


def _touches(run: Run, name: str) -> bool:
    return any(part_of(end) == name for end in ends(run))


def _stubs(runs: list[Run]) -> str:
    runs = [run for run in runs if run.joins]
    if not runs:
        return ""
    pieces = some([f"{run.a} to {run.b}" for run in runs], 6)
    return f" What then leads nowhere goes too: {pieces}."


def _cut(intent: Intent, change: Change, now: Now) -> str:
    a, b = intent.points[:2]
    if len(intent.points) > 2:
        pieces = some([f"{run.a} to {run.b}" for run in change.runs_off if run.joins], 8)
        return f"Take off what meets there and belongs apart: {pieces}."
    first, *more = [run for run in change.runs_off if {run.a, run.b} == {a, b}] or list(change.runs_off)
    if first.conductor == "bolted":
        says = f"Undo the bolted joint from {a} to {b}."
    elif first.conductor in ("", "body"):
        lead, other = (a, b) if now.goal.hangs(a) or not now.goal.hangs(b) else (b, a)
        says = (
            f"Unsolder {lead} from {other}."
            if now.goal.hangs(lead)
            else f"Take off the connection from {lead} to {other}."
        )
    else:
        says = f"Take out the {conductor(first)} from {a} to {b}."
    twins = [run for run in more if {run.a, run.b} == {a, b}]
    if twins:
        says += f" There are {len(twins) + 1} conductors between these points: all of them."
    return says + _stubs([run for run in more if run not in twins])


def _move(intent: Intent, change: Change, now: Now) -> str:
    lead, old, new = intent.points
    stubs = [run for run in change.runs_off if lead not in (run.a, run.b) and run.joins]
    what = f"the {lead} lead" if is_net(lead) else f"the lead of {lead}"
    return f"Move {what} from {old} to {new}." + _stubs(stubs)


def _replace(intent: Intent, change: Change, now: Now) -> str:
    says = _one_replaced(intent.parts[0], intent, now)
    hanging = [name for name in intent.off_parts if name not in intent.parts]
    if hanging:
        told = [part_words(part) if (part := now.before.get(name)) else name for name in hanging]
        says += f" {some(told, 12)}, soldered to {intent.parts[0]}, {'goes' if len(told) == 1 else 'go'} too."
    names = {*intent.parts, *hanging}
    stock_names = {now.goal.stock_name.get(name, name) for name in names}
    gone = {_far(run, name) for name in names for run in change.runs_off if _touches(run, name)}
    gone -= {_far(run, name) for name in stock_names for run in change.runs_on if _touches(run, name)}
    gone = {where for where in gone if part_of(where) not in names | stock_names}
    if gone:
        says += f" It no longer goes to {some(sorted(gone, key=natural), 6)}."
    for run in intent.on:
        if run.conductor in _NAMES:
            says += f" Run {_laid(run)}."
    if any(one.kind.polarised and not one.kind.plugs for one in change.parts_on):
        says += " Mind its polarity."
    return says


def _one_replaced(name: str, intent: Intent, now: Now) -> str:
    part, old = now.goal.parts[name], now.before.get(name)
    stock_name = now.goal.stock_name.get(name, name)
    who = f"{name} (which is {stock_name})" if stock_name != name else name
    new = _full(part)
    if part.tolerance is not None:
        new += f" {show(part.tolerance, '%')}"
    if part.words:
        new += f" {' '.join(part.words)}"
    found = _as_it_was(old, part, name in now.goal.reversed)
    if not found and (can := [one for one in in_one_can(name, now.goal.parts) if one in now.goal.spoilt]):
        found = f"in one can with {some(can)}"
    if part.kind.plugs:
        place = "socket" if part.kind.name == "tube" else "holder"
        says = f"Pull {who}{', ' + found if found else ''}, and put {a_or_an(new)} into its {place}"
        at_socket = [run for run in intent.on if _touches(run, stock_name) and run.joins]
        joints = [(run.a, run.b) if part_of(run.a) == stock_name else (run.b, run.a) for run in at_socket]
        return says + (f"; solder {some([f'{a} to {b}' for a, b in joints], 6)}." if joints else ".")
    return f"Replace {who}{', ' + found + ',' if found else ''} by {new}{_leads(now, stock_name)}."


def _as_it_was(old: Part | None, new: Part, turned: bool) -> str:
    """What is said of the part that comes out: what it was, or in which state."""
    if old is None:
        return ""
    out = []
    words = " ".join(word for word in old.words if word not in new.words)
    if _full(old) != _full(new) or words:
        out.append(f"found as {_full(old)}{' ' + words if words else ''}")
    elif old.measured is not None:
        out.append(f"measured {show(old.measured, old.kind.unit)}")
    if old.conditions:
        out.append(", ".join(old.conditions))
    if turned:
        out.append("which stood the wrong way round and is not used again")
    return ", ".join(out)


def _full(part: Part | None) -> str:
    return " ".join(word for word in (kind_words(part), value_words(part)) if word) if part else ""


def _far(run: Run, name: str) -> Point:
    return run.b if part_of(run.a) == name else run.a


def _leads(now: Now, name: str) -> str:
    """``: R1.1 to b+ and R1.2 to V1.g2`` for a part that hangs by its leads, and what is soldered for another."""
    pairs: dict[Point, list[Point]] = {}
    for number in now.bench.of_part(name):
        run = now.bench.runs[number]
        if run.joins and part_of(run.a) != part_of(run.b) and run.conductor != "body":
            mine, other = (run.a, run.b) if part_of(run.a) == name else (run.b, run.a)
            if part_of(mine) == name:
                pairs.setdefault(mine, []).append(other)
    pieces = [f"{mine} to {some(others)}" for mine, others in sorted(pairs.items())]
    return f": {some(pieces, 12)}" if pieces else ""


def _exchange(intent: Intent, change: Change, now: Now) -> str:
    first, second = intent.parts
    return (
        f"Exchange {first} and {second}: {kind_words(now.goal.parts[first])} into {first}, "
        f"{kind_words(now.goal.parts[second])} into {second}."
    )


def _fit(intent: Intent, change: Change, now: Now) -> str:
    name = intent.parts[0]
    part = now.goal.parts[name]
    if now.goal.plugs(name):
        return f"Put {part_words(part)} into its socket."
    says = f"Fit {part_words(part)}{_leads(now, name)}."
    return says + (" Mind its polarity." if part.kind.polarised and not part.kind.plugs else "")


def _solder(intent: Intent, change: Change, now: Now) -> str:
    a, b = intent.points[:2]
    if now.goal.hangs(b) and not now.goal.hangs(a):
        a, b = b, a
    if now.goal.hangs(a) or is_net(a) or is_net(b):
        a, b = (b, a) if is_net(a) else (a, b)
        return f"Solder {a} to {b}."
    return f"Connect {a} to {b} with a piece of hook-up wire."


def _bond(intent: Intent, change: Change, now: Now) -> str:
    a, b = intent.points[:2]
    if a == now.goal.ground:
        a, b = b, a
    how = ", metal to metal, by its own nut or screw" if any(r.conductor == "bolted" for r in change.runs_on) else ""
    return f"Bond {a} to {b}{how}."


def _run(intent: Intent, change: Change, now: Now) -> str:
    run = intent.on[0]
    says = ""
    old = [gone for gone in change.runs_off if gone.joins]
    if old:
        says = f"Take out {some([f'the {conductor(gone)} from {gone.a} to {gone.b}' for gone in old], 6)}. "
    return f"{says}Run {_laid(run)}."


def _laid(run: Run) -> str:
    says = f"{conductor(run)} from {run.a} to {run.b}"
    if run.braid is not None:
        says += ", its braid " + some([_braid_end(end, at) for end, at in zip(run.braid, (run.a, run.b), strict=True)])
    return says


def _braid_end(where: Point, at: Point) -> str:
    if where == OPEN:
        return f"left open at the {at} end"
    if where == UNFOLLOWED:
        return f"as it is at the {at} end"
    return f"to {where} at the {at} end"


def _braid(intent: Intent, change: Change, now: Now) -> str:
    says = []
    for old, new in zip(change.runs_off, change.runs_on, strict=False):
        name = old.cable or f"the {_NAMES.get(old.conductor, 'cable')} from {old.a} to {old.b}"
        for was, wanted, at in zip(old.braid or (), new.braid or (), (old.a, old.b), strict=False):
            if was == wanted:
                continue
            if was in (OPEN, UNFOLLOWED):
                says.append(f"Land the braid of {name} on {wanted}, at the {at} end.")
            elif wanted == OPEN:
                says.append(f"Take the braid of {name} off {was}, at the {at} end.")
            else:
                says.append(f"Take the braid of {name} off {was} and land it on {wanted}, at the {at} end.")
    return " ".join(says)


def _redress(intent: Intent, change: Change, now: Now) -> str:
    says = []
    for run in change.runs_off:
        what = f"Re-dress the {conductor(run)} from {run.a} to {run.b}"
        if run.conductor == "bare" or run.bare:
            length = f" over {show(run.bare, 'm')}" if run.bare else ""
            what += f": sleeve it{length}"
        if run.gaps:
            away = some([f"{gap.to} ({show(gap.distance, 'm')} now)" for gap in run.gaps])
            what += f"{',' if ':' in what else ':'} away from {away}"
        says.append(what + ".")
    return " ".join(says)


def _inspect(intent: Intent, change: Change, now: Now) -> str:
    return f"Look at it and decide. {intent.says}" if intent.about else intent.says


_SAY = {
    "remove": _remove, "cut": _cut, "move": _move, "replace": _replace, "exchange": _exchange, "fit": _fit,
    "solder": _solder, "bond": _bond, "run": _run, "braid": _braid, "re-dress": _redress, "inspect": _inspect,
    "tighten": _inspect, "clean": _inspect, "resolder": _inspect,
}  # fmt: skip
