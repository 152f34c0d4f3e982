"""The plan: intents made, put in order, and carried out one by one on the model of the unit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from netdiff.circuit import OPEN, Part, Point, Run, is_net, part_of
from netdiff.comparison.results import HOLDS, Hold
from netdiff.worklist.bench import natural
from netdiff.worklist.care import Care
from netdiff.worklist.draft import Draft, Intent
from netdiff.worklist.goal import Goal
from netdiff.worklist.intents import draft_for
from netdiff.worklist.meter import Meter
from netdiff.worklist.order import add_needs, in_order, set_holds
from netdiff.worklist.proofs import Prover, going
from netdiff.worklist.remarks import add_remarks
from netdiff.worklist.steps import Change, Step, ends
from netdiff.worklist.words import Now, say

WITHOUT_CHANGE: Final = {"inspect", "tighten", "clean", "resolder"}
"""Actions that may leave the wiring as it is."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A finding, as far as the plan cares."""

    id: str
    hold: Hold
    modification: str
    says: str
    explains: tuple[str, ...]
    parts: tuple[str, ...] = ()
    points: tuple[Point, ...] = ()
    kind: str = ""
    follows: tuple[str, ...] = ()
    """Of a hazard: the raw differences that bring it about, so that it goes when they go."""


def plan(goal: Goal, reasons: tuple[Reason, ...] = ()) -> tuple[Step, ...]:
    """The steps, each with the change it makes and the readings that prove it."""
    draft = draft_for(goal)
    same = add_needs(draft)
    add_remarks(draft, tuple(reason for reason in reasons if not reason.follows))
    intents = draft.intents
    by_key = {key: reason for reason in reasons for key in reason.explains}
    told = [_reasons(intent, by_key, reasons) for intent in intents]
    own: list[Hold] = [min((r.hold for r in its), key=HOLDS.index, default="none") for its in told]
    holds = set_holds(intents, own, same)
    names = _names(intents)
    zones = [_zone(draft, intent) for intent in intents]
    rank = {name: place for place, name in enumerate(goal.stock.zones)}
    ground = draft.net_of.get(goal.ground, -1)
    spots = [_spots(draft, intent, ground) for intent in intents]
    order = list(in_order(intents, holds, zones, rank, names, spots))
    return _Work(draft, names, zones, holds, told).carry_out(order)


def _reasons(intent: Intent, by_key: Mapping[str, Reason], reasons: tuple[Reason, ...]) -> list[Reason]:
    found = {by_key[key].id: by_key[key] for key in intent.keys if key in by_key}
    found |= {reason.id: reason for reason in reasons if reason.id in intent.reasons}
    keys = set(intent.keys)
    hazards = [reason for reason in reasons if keys.intersection(reason.follows) and reason.id not in found]
    causes = sorted(found.values(), key=lambda reason: (HOLDS.index(reason.hold), natural(reason.id)))
    return [*causes, *hazards]


def _names(intents: list[Intent]) -> list[str]:
    """Action and points, safe to type at a shell's prompt: a ``?`` is written x."""
    out = []
    seen: Counter[str] = Counter()
    for intent in intents:
        points = intent.points
        if intent.action != "move":
            points = sorted(points, key=natural)
        words = intent.parts or points
        name = "_".join((intent.action, *(word.replace("?", "x") for word in words), *intent.about))
        seen[name] += 1
        out.append(name if seen[name] == 1 else f"{name}_{seen[name]}")
    return out


def _zone(draft: Draft, intent: Intent) -> str:
    """Where the hands are: the zone of its parts, else of the points on which its runs land."""
    goal = draft.goal
    landed = [end for number in intent.off for end in ends(draft.bench.runs[number])]
    for name in (*intent.parts, *map(part_of, (*intent.points, *landed))):
        part = goal.unit.parts.get(name) or goal.parts.get(name)
        if part is not None and part.zone:
            return part.zone
    # On a net that has a name, and from a part of which nobody wrote where it is: where most of its neighbours are.
    near = Counter(
        zone
        for where in (*intent.points, *landed)
        for other in draft.bench.neighbours(where)
        if (part := goal.unit.parts.get(part_of(other))) is not None and (zone := part.zone) and is_net(where)
    )
    return max(near, key=lambda zone: (near[zone], zone), default="")


def _spots(draft: Draft, intent: Intent, ground: int) -> frozenset[Point]:
    """The joints that the step opens or makes, the ground's lugs left out: they are many, and bear any heat."""
    runs = [*intent.on, *(draft.bench.runs[number] for number in intent.off)]
    if not (intent.parts and draft.goal.plugs(intent.parts[0])):
        runs += [draft.bench.runs[number] for name in intent.parts for number in draft.bench.of_part(name)]
    return frozenset(end for run in runs for end in ends(run) if draft.net_of.get(end) != ground)


def _renamed(run: Run, names: Mapping[Point, Point]) -> Run:
    braid = run.braid and (names.get(run.braid[0], run.braid[0]), names.get(run.braid[1], run.braid[1]))
    return replace(run, a=names.get(run.a, run.a), b=names.get(run.b, run.b), braid=braid)


class _Work:
    """Carries the intents out on the bench and writes down what happened as steps."""

    def __init__(
        self,
        draft: Draft,
        names: list[str],
        zones: list[str],
        holds: list[Hold],
        told: list[list[Reason]],
    ) -> None:
        self.draft, self.goal, self.bench = draft, draft.goal, draft.bench
        self.names, self.zones, self.holds, self.told = names, zones, holds, told
        self.meter = Meter(draft.bench, (*draft.goal.stock.windings, *draft.goal.unit.windings))
        self.care = Care(draft.goal)
        self.taken_by: dict[int, int] = {}
        self.steps: dict[int, Step] = {}
        self.known_as: dict[Point, Point] = {}
        """Points of unidentified parts that the drawing's own part has replaced."""

    def carry_out(self, order: list[int]) -> tuple[Step, ...]:
        for number in order:
            intent = self._as_known(self.draft.intents[number])
            prover = Prover(self.meter, self.bench, intent, self._new_names(intent), self.goal.loose)
            before = self.bench.parts.copy()
            change = self._change(number, intent)
            if change == Change() and intent.action not in WITHOUT_CHANGE:
                self._hand_over(number, intent)
                continue
            self.steps[number] = self._step(number, intent, change, prover, before)
        return tuple(self.steps.values())

    def _as_known(self, intent: Intent) -> Intent:
        """The intent in the names that hold now: where R7 replaced ?R2, there is no ?R2 any more."""
        if not self.known_as:
            return intent

        def now(where: Point) -> Point:
            return self.known_as.get(where, where)

        on = [_renamed(run, self.known_as) for run in intent.on]
        remade = {number: _renamed(run, self.known_as) for number, run in intent.remade.items()}
        braids = {end: now(where) for end, where in intent.braids.items()}
        return replace(intent, points=[now(w) for w in intent.points], on=on, remade=remade, braids=braids)

    def _step(self, number: int, intent: Intent, change: Change, prover: Prover, before: dict[str, Part]) -> Step:
        told = self.told[number]
        points = intent.points or [
            end for run in (*change.runs_off, *change.runs_on) for end in ends(run) if part_of(end) not in intent.parts
        ]
        runs = [self.bench.runs[n] for name in intent.parts for n in self.bench.of_part(name)]
        touched = {*points, *(end for run in (*change.runs_off, *change.runs_on, *runs) for end in ends(run))}
        return Step(
            name=self.names[number],
            action=intent.action,
            says=say(intent, change, Now(self.goal, before, self.bench)),
            hold=self.holds[number],
            parts=tuple(intent.parts) or tuple(dict.fromkeys(part_of(w) for w in points if part_of(w))),
            points=tuple(dict.fromkeys(points)),
            zone=self.zones[number],
            change=change,
            reasons=tuple(reason.id for reason in told),
            modification=told[0].modification if told else "",
            cautions=self.care(touched, change),
            proofs=prover.proofs(change),
            needs=tuple(self.names[n] for n in sorted(intent.needs) if n in self.steps),
        )

    def _hand_over(self, number: int, intent: Intent) -> None:
        """Another step did it on the way: that one has this reason too."""
        for run in intent.off:
            other = self.taken_by.get(run)
            if other in self.steps:
                step = self.steps[other]
                more = tuple(r.id for r in self.told[number] if r.id not in step.reasons)
                self.steps[other] = replace(step, reasons=step.reasons + more)

    def _change(self, number: int, intent: Intent) -> Change:
        bench = self.bench
        off: list[Run] = []
        on: list[Run] = []

        def take(run: int) -> None:
            self.taken_by[run] = number
            off.append(bench.take(run))

        for run in going(bench, intent):
            take(run)
        for run, new in bench.rebraided(intent.braids).items():
            off.append(bench.runs[run])
            on.append(new)
            bench.set(run, new)
        for run, new in intent.remade.items():
            if run in bench.runs:
                off.append(bench.runs[run])
                on.append(new)
                bench.set(run, new)
        for name in intent.off_parts:
            bench.parts.pop(name, None)
        put_on = [self._cured(part, intent) for part in intent.on_parts]
        for part in put_on:
            bench.parts[part.designator] = part
        here = self._new_names(intent)
        if here:
            self.known_as |= here
            for run in [n for n, its in bench.runs.items() if any(end in here for end in ends(its))]:
                off.append(bench.runs[run])
                on.append(_renamed(bench.runs[run], here))
                bench.set(run, on[-1])
        for new in (_renamed(run, self.known_as) for run in intent.on):
            for end in ends(new):
                # A lead that was noted as hanging in the air does so no longer.
                for run in bench.landing(end):
                    if OPEN in (bench.runs[run].a, bench.runs[run].b) and not bench.runs[run].conductor:
                        take(run)
            bench.put(new)
            on.append(new)
        for both in [run for run in off if run in on]:
            off.remove(both)
            on.remove(both)
        return Change(tuple(off), tuple(on), tuple(intent.off_parts), tuple(put_on))

    def _cured(self, part: Part, intent: Intent) -> Part:
        """The part as it is by then, without the conditions that the step puts right; a new one is as it is."""
        if not intent.clears:
            return part
        now = self.bench.parts.get(part.designator, part)
        return replace(now, conditions=tuple(one for one in now.conditions if one not in intent.clears))

    def _new_names(self, intent: Intent) -> dict[Point, Point]:
        """Terminals of what the step replaces, with the names that they have on the drawing's part."""
        if intent.action not in ("replace", "exchange"):
            return {}
        return {w: known for w, known in self.goal.stock_point.items() if part_of(w) in intent.parts}
