"""From the goal to what must be done, in no order yet.

1. What ends on a part that goes, goes with it. 2. The fewest conductors are cut that part what
belongs apart (``cutting``). 3. Conductors of the wrong make are taken off for the drawing's
(``conductors``). 4. What is then in pieces and belongs together is joined (``joining``). 5. Cuts and
joins that one hand does in one go become one intent: a lead moved, a part replaced with its leads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from netdiff.circuit import OPEN, Part, Point, Run, is_net, part_of
from netdiff.comparison.nets import Union
from netdiff.worklist.bench import Bench, Strand, natural, strands
from netdiff.worklist.conductors import Landing, Rerun, remake
from netdiff.worklist.cutting import goal_nets
from netdiff.worklist.goal import Goal
from netdiff.worklist.joining import DESCRIBED, Join, Rejoin, as_drawn, new_run, stand_in
from netdiff.worklist.steps import Action, ends


@dataclass(slots=True)
class Intent:
    """One action to be. Runs that go are known by their number on the bench."""

    action: Action
    parts: list[str] = field(default_factory=list)
    points: list[Point] = field(default_factory=list)
    off: list[int] = field(default_factory=list)
    on: list[Run] = field(default_factory=list)
    off_parts: list[str] = field(default_factory=list)
    on_parts: list[Part] = field(default_factory=list)
    braids: dict[tuple[int, int], Point] = field(default_factory=dict)
    """(run, end 0 or 1) -> where that end of its braid goes."""
    remade: dict[int, Run] = field(default_factory=dict)
    """Run -> the same run in a better state: sleeved, re-dressed, its joint made again."""
    reasons: set[str] = field(default_factory=set)
    """Ids of findings that no raw difference tells of."""
    about: tuple[str, ...] = ()
    """Further words for its name."""
    unties: bool = False
    """It parts what belongs apart."""
    void: bool = False
    """Another intent does it."""
    says: str = ""
    """For an inspection: what to look at."""
    keys: set[str] = field(default_factory=set)
    """Raw differences that it clears or helps to clear."""
    needs: set[int] = field(default_factory=set)
    """Intents (by place in the list) that come first."""


class Draft:
    """All intents for one goal, with the bench as found."""

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.bench = Bench((goal.unit.parts[name] for name in sorted(goal.there)), goal.unit.runs)
        self.intents: list[Intent] = []
        self.of_part: dict[str, int] = {}
        self.cuts_at: dict[Point, list[int]] = defaultdict(list)
        """Point -> cut intents that free a lead there."""
        self.plain: list[tuple[Join, Run, set[str]]] = []
        """Joins without a construction of their own, to be made by a lead that moves or by a new one."""
        self.cut_by_braid: dict[int, int] = {}
        self._parts()
        every = list(self.bench.strands())
        self.found = Union()
        for strand in every:
            self.found.join(strand.a, strand.b)
        for a, b in goal.unseen:
            self.found.join(a, b)
            self.bench.unseen.setdefault(a, []).append(b)
            self.bench.unseen.setdefault(b, []).append(a)
        going = self._doomed(every)
        left = [s for s in every if s.run not in going and (s.run, s.braid) not in self._lifted()]
        self.net_of = {**goal_nets(left, goal.label, self._weight), **goal.label}
        cut = [s for s in left if self.net_of.get(s.a) != self.net_of.get(s.b)]
        gone = {s.run for s in cut if not s.braid}
        sound = [s for s in left if s.run not in gone and s not in cut]
        making = remake(goal, self.bench, sound, self.net_of)
        gone |= {number for rerun in making.reruns for number in rerun.off}
        self.pieces = Union()
        for strand in sound:
            if strand.run not in gone:
                self.pieces.join(strand.a, strand.b)
        for a, b in goal.unseen:
            self.pieces.join(a, b)
        self.islands: dict[Point, set[tuple[int, int]]] = defaultdict(set)
        for where, block in goal.block_of.items():
            self.islands[self.pieces.find(where)].add(block)
        self.piece: dict[Point, Point] = {where: self.pieces.find(where) for where in list(self.pieces.parent)}
        self._by_block: dict[tuple[str, tuple[int, int]], str] = {
            (raw.sort, (raw.stock_net, raw.found_net)): key
            for key, raw in goal.raw.items()
            if raw.sort in ("cut", "join")
        }
        self._by_spot(every)
        for strand in cut:
            self._cut(strand)
        for rerun in making.reruns:
            self._rerun(rerun)
        self._rejoin(making.landings)

    # --- parts ---------------------------------------------------------------------------------------------------

    def _parts(self) -> None:
        goal = self.goal
        for name in sorted(goal.remove, key=natural):
            self._add(name, Intent("remove", [name], off_parts=[name], keys=self._keys_of(name)))
        exchanged = self._exchanged()
        for name in sorted(goal.replace, key=natural):
            other = exchanged.get(name)
            if other in self.of_part:
                self.of_part[name] = self.of_part[other]
                continue
            names = [name, other] if other else [name]
            keys = {key for one in names for key in self._keys_of(one)}
            on = [goal.parts[one] for one in names]
            off = [one for one in names if one in goal.stock_name]
            self._add(name, Intent("exchange" if other else "replace", names, on_parts=on, off_parts=off, keys=keys))
        for name in sorted(goal.fit, key=natural):
            self._add(name, Intent("fit", [name], on_parts=[goal.parts[name]], keys=self._keys_of(name)))

    def _add(self, name: str, intent: Intent) -> None:
        self.of_part[name] = len(self.intents)
        self.intents.append(intent)

    def _keys_of(self, name: str) -> set[str]:
        return {key for key, raw in self.goal.raw.items() if raw.sort in ("part", "state") and raw.parts == (name,)}

    def _exchanged(self) -> dict[str, str]:
        """Plugged-in parts of which each is what the other should be."""
        goal = self.goal

        def drawn(name: str) -> tuple[str, str]:
            return goal.parts[name].kind.name, goal.parts[name].kind.type

        def found(name: str) -> tuple[str, str]:
            return goal.unit.parts[name].kind.name, goal.unit.parts[name].kind.type

        out: dict[str, str] = {}
        wrong = [n for n in sorted(goal.replace, key=natural) if goal.parts[n].kind.plugs and f"kind:{n}" in goal.raw]
        for name in wrong:
            for other in wrong:
                if name not in out and other not in out and other != name:
                    if drawn(name) == found(other) and drawn(other) == found(name):
                        out[name], out[other] = other, name
        return out

    def _doomed(self, every: Iterable[Strand]) -> set[int]:
        """Numbers of the runs that end on a part that goes, or on a terminal that the right part does not have."""
        going: set[int] = set()
        for strand in every:
            owners = [owner for owner in (self._owner(strand.a), self._owner(strand.b)) if owner is not None]
            if not owners:
                continue
            intent = self.intents[owners[0]]
            if strand.braid:
                end = 0 if self._owner(strand.a) is not None else 1
                intent.braids[strand.run, end] = OPEN
            else:
                intent.off.append(strand.run)
                going.add(strand.run)
        for number, run in self.bench.runs.items():
            if not run.joins and number not in going:
                owner = next((o for end in (run.a, run.b) if (o := self._owner(end)) is not None), None)
                if owner is not None:
                    self.intents[owner].off.append(number)
                    going.add(number)
        return going

    def _by_spot(self, every: Iterable[Strand]) -> None:
        """Find what ties nets together by a part that goes, and what it ties: raw joins of the blocks round it."""
        spot = Union()
        round_it: dict[Point, set[Point]] = defaultdict(set)
        owner = {w: o for s in every for w in (s.a, s.b) if (o := self._owner(w)) is not None}
        for strand in every:
            if strand.a in owner and strand.b in owner:
                spot.join(strand.a, strand.b)
            elif strand.a in owner or strand.b in owner:
                here, other = (strand.a, strand.b) if strand.a in owner else (strand.b, strand.a)
                round_it[here].add(other)
        near: dict[Point, set[Point]] = defaultdict(set)
        for here, others in round_it.items():
            near[spot.find(here)] |= others
        for where, number in owner.items():
            others = near[spot.find(where)]
            if len({self.net_of.get(w) for w in others} - {None}) > 1:
                self.intents[number].unties = True
                blocks = {block for w in others for block in self._blocks_at(w)}
                self.intents[number].keys |= {self._by_block.get(("join", b), "") for b in blocks} - {""}

    def _owner(self, where: Point) -> int | None:
        name = part_of(where)
        if name in self.goal.remove:
            return self.of_part[name]
        if name in self.goal.replace and where not in self.goal.label and where not in self.goal.usable:
            lug = self.goal.parts[name].kind.lug(where.partition(".")[2])
            return self.of_part[name] if lug is None else None
        return None

    def _lifted(self) -> set[tuple[int, bool]]:
        return {(number, True) for intent in self.intents for number, _ in intent.braids}

    def _weight(self, strand: Strand) -> float:
        """Which of two conductors is rather cut: the one that neither the drawing nor a ``keep`` knows."""
        if part_of(strand.a) in self.goal.stay or part_of(strand.b) in self.goal.stay:
            return 10.0
        return 1.0 if strand.braid or frozenset((strand.a, strand.b)) not in self.goal.drawn_pairs else 1.5

    # --- conductors ----------------------------------------------------------------------------------------------

    def _cut(self, strand: Strand) -> None:
        keys = self._keys_of_cut(strand)
        if strand.braid:
            self._lift(strand, keys)
            return
        for where in (strand.a, strand.b):
            name = part_of(where)
            if name in self.goal.replace and self.goal.hangs(where):
                intent = self.intents[self.of_part[name]]
                intent.off.append(strand.run)
                intent.keys |= keys
                intent.unties = True
                return
        for number in self.cuts_at.get(strand.a, ()):
            if set(self.intents[number].points) == {strand.a, strand.b}:
                self.intents[number].off.append(strand.run)
                return
        intent = Intent("cut", points=[strand.a, strand.b], off=[strand.run], keys=keys, unties=True)
        for where in (strand.a, strand.b):
            self.cuts_at[where].append(len(self.intents))
        self.intents.append(intent)

    def _lift(self, strand: Strand, keys: set[str]) -> None:
        """A braid that ties two nets: off where the drawing does not land it, and on where it does."""
        run = self.bench.runs[strand.run]
        number = self.cut_by_braid.setdefault(strand.run, len(self.intents))
        if number == len(self.intents):
            self.intents.append(Intent("braid", points=[strand.a, strand.b], unties=True))
        intent = self.intents[number]
        intent.keys |= keys
        drawn = next((r for r in self.goal.runs if r.braid and {r.a, r.b} == {run.a, run.b}), None)
        wanted: list[Point] = []
        if drawn is not None:
            braid = as_drawn(drawn, self.goal).braid or (OPEN, OPEN)
            wanted = list(braid if drawn.a == run.a else braid[::-1])
        lifted = False
        for end, where in enumerate((strand.a, strand.b)):
            other = wanted[end] if wanted else OPEN
            if wanted and self.net_of.get(where) != self.net_of.get(other):
                intent.braids[strand.run, end] = other
                intent.points += [w for w in (other,) if w != OPEN and w not in intent.points]
                lifted = True
        if not lifted:
            intent.braids[strand.run, 0 if strand.a != self.goal.ground else 1] = OPEN

    def _rerun(self, rerun: Rerun) -> None:
        run = rerun.run
        keys = {*rerun.keys, *self._keys_of_join(run.a, run.b)}
        action: Action = "run"
        points = [run.a, run.b]
        if all(key.startswith("place:") for key in rerun.keys):
            action = "solder"
            if rerun.off:
                old = self.bench.runs[rerun.off[0]]
                action, points = "move", [run.a, old.b if old.a == run.a else old.a, run.b]
        on = as_drawn(run, self.goal)
        self.intents.append(Intent(action, points=points, off=list(rerun.off), on=[on], keys=keys))
        self.pieces.join(run.a, run.b)

    def _rejoin(self, landings: list[Landing]) -> None:
        moved = frozenset(where for where, cuts in self.cuts_at.items() if cuts)
        rejoin = Rejoin(self.goal, self.net_of, self.found, self.pieces, moved)
        for join in list(rejoin.joins(braids=False)):
            self._join(join)
        for landing in landings:
            self._land(landing)
        for intent in self.intents:
            for run in intent.on:
                for strand in strands(0, run):
                    self.pieces.join(strand.a, strand.b)
        for join in list(rejoin.joins(braids=True)):
            self._join(join)
        for join in list(rejoin.last_resort()):
            self._join(join)
        self._pair_moves()
        self._leads_to_names()
        self._clear_dead_ends()
        self.intents = [intent for intent in self.intents if not intent.void]
        self._mop_up()

    def _clear_dead_ends(self) -> None:
        """Runs that will lead to a splice or a tie point and no further go with what made them so.

        Cuts that only clear one such spot are one action: it takes all of them to part what meets there.
        """
        off = {number: place for place, intent in enumerate(self.intents) for number in intent.off}
        landed = {end for intent in self.intents for run in intent.on for end in ends(run)}
        queue = [end for number in off for end in ends(self.bench.runs[number])]
        while queue:
            where = queue.pop()
            if where not in self.goal.loose or where in landed:
                continue
            here = self.bench.landing(where)
            left = [number for number in here if number not in off]
            if len(left) > 1 or any(not self._can_go(self.bench.runs[number], where) for number in left):
                continue
            places = sorted({off[number] for number in here if number in off}, key=self._clears)
            if not places:
                continue
            chosen = self.intents[places[0]]
            for number in left:
                off[number] = places[0]
                chosen.off.append(number)
                queue += ends(self.bench.runs[number])
            if chosen.action == "cut":
                for place in places[1:]:
                    if self.intents[place].action == "cut":
                        self._merge(places[0], place, off)

    def _clears(self, place: int) -> tuple[bool, bool, int]:
        """Which action a dead end goes with: a cut, else a lead that moves, else the part that goes."""
        action = self.intents[place].action
        return action != "cut", action != "move", place

    def _can_go(self, run: Run, where: Point) -> bool:
        plain = run.joins and run.braid is None and where in (run.a, run.b)
        return plain and frozenset((run.a, run.b)) not in self.goal.drawn_pairs

    def _merge(self, first: int, other: int, off: dict[int, int]) -> None:
        one, two = self.intents[first], self.intents[other]
        one.off += two.off
        one.keys |= two.keys
        one.needs |= two.needs
        one.points += [where for where in two.points if where not in one.points]
        off |= dict.fromkeys(two.off, first)
        two.off, two.keys, two.void = [], set(), True

    def _leads_to_names(self) -> None:
        """A fitted part's lead that goes to nothing but a net name which the unit's file never used."""
        for name in self.goal.fit:
            intent = self.intents[self.of_part[name]]
            landed = {end for run in intent.on for end in (run.a, run.b)}
            for run in self.goal.runs:
                for here, there in ((run.a, run.b), (run.b, run.a)):
                    if part_of(here) == name and here not in landed and is_net(there) and there not in self.goal.label:
                        intent.on.append(Run(here, there))
                        landed.add(here)

    def _mop_up(self) -> None:
        """Raw differences that several intents clear together: the first that touches the block tells of it."""
        told = {key for intent in self.intents for key in intent.keys}
        for key, raw in self.goal.raw.items():
            if raw.sort not in ("cut", "join") or key in told:
                continue
            home = {self.piece.get(w, w) for w in raw.points}
            for intent in self.intents:
                gone = [self.bench.runs[number] for number in intent.off]
                runs = intent.on if raw.sort == "cut" else gone
                if any(self.piece.get(end, end) in home for run in runs for end in ends(run)):
                    intent.keys.add(key)
                    break

    def _land(self, landing: Landing) -> None:
        """A braid that is landed joins what its other end is on."""
        run = self.bench.runs.get(landing.number)
        if run is None or run.braid is None or any(landing.number in intent.off for intent in self.intents):
            return
        wanted = stand_in(landing.wanted, self.goal)
        number = self.cut_by_braid.setdefault(landing.number, len(self.intents))
        if number == len(self.intents):
            self.intents.append(Intent("braid", points=[]))
        intent = self.intents[number]
        intent.action = "braid"
        intent.braids[landing.number, landing.end] = wanted
        intent.points = list(dict.fromkeys([*intent.points, run.b if landing.end else run.a, wanted]))
        intent.keys.add(landing.key)
        other = intent.braids.get((landing.number, 1 - landing.end), run.braid[1 - landing.end])
        if other in self.goal.label and self.goal.label[other] == self.goal.label.get(wanted):
            self.pieces.join(other, wanted)

    def _join(self, join: Join) -> None:
        keys = self._keys_of_join(join.a, join.b)
        run = join.drawn
        if join.braid and run is not None:
            self._join_by_braid(join, run, keys)
            return
        on = new_run(join, self.goal)
        laid = on.conductor in DESCRIBED and on.conductor != "bolted"
        for where in (join.a, join.b):
            if part_of(where) in self.goal.fit:
                keys |= self.intents[self.of_part[part_of(where)]].keys
        owners = [o for o in (self._bundle(join.a, laid), self._bundle(join.b, laid)) if o is not None]
        if owners:
            # A braid may land on a part that is fitted later still.
            owners += [self.of_part[part_of(w)] for w in on.braid or () if part_of(w) in self.goal.fit]
            chosen = max(owners)
            self.intents[chosen].on.append(on)
            self.intents[chosen].keys |= keys
            self.intents[chosen].needs |= set(owners) - {chosen}
            return
        if not on.conductor:
            self.plain.append((join, on, keys))
            return
        action: Action = "run" if laid else "bond" if self._bonds(join, on) else "solder"
        self.intents.append(Intent(action, points=[join.a, join.b], on=[on], keys=keys))

    def _pair_moves(self) -> None:
        """A cut and a join at one terminal are one lead that moves: the likeliest pairs first."""
        pairs = []
        for place, (join, _, keys) in enumerate(self.plain):
            for here, there in ((join.a, join.b), (join.b, join.a)):
                for number in self.cuts_at.get(here, ()):
                    likely = self._likely(number, here, there, keys)
                    if likely:
                        pairs.append((-likely, number, place, here, there))
        joined: set[int] = set()
        for _, number, place, here, there in sorted(pairs):
            cut = self.intents[number]
            if cut.action != "cut" or place in joined:
                continue
            joined.add(place)
            old = self.bench.runs[cut.off[0]]
            cut.action = "move"
            cut.points = [here, next(w for w in cut.points if w != here), there]
            cut.on = [Run(here, there, old.conductor, old.cable, gauge=old.gauge, text=old.text)]
            cut.keys |= self.plain[place][2]
        for place, (join, on, keys) in enumerate(self.plain):
            if place not in joined:
                action: Action = "bond" if self._bonds(join, on) else "solder"
                self.intents.append(Intent(action, points=[join.a, join.b], on=[on], keys=keys))

    def _likely(self, number: int, here: Point, there: Point, keys: set[str]) -> int:
        """How likely one hand moved this lead; 0 where it cannot be moved back in one piece."""
        cut = self.intents[number]
        if cut.action != "cut" or len(cut.off) != 1:
            return 0
        run = self.bench.runs[cut.off[0]]
        if run.braid is not None or run.conductor == "bolted" or there in (run.a, run.b):
            return 0
        old = run.b if run.a == here else run.a
        exchanged = part_of(old) != "" and part_of(old) == part_of(there)
        if is_net(here) and not exchanged:
            return 0
        return 1 + 4 * exchanged + 2 * self.goal.hangs(here) + bool(keys & cut.keys)

    def _join_by_braid(self, join: Join, run: Run, keys: set[str]) -> None:
        """Only the braid of a drawn run joins these points: laid as drawn, in place of what is there."""
        alike = [
            number
            for number, found in self.bench.runs.items()
            if {found.a, found.b} == {run.a, run.b} and not any(number in intent.off for intent in self.intents)
        ]
        for number in alike:
            found = self.bench.runs[number]
            if found.conductor in ("coax", "shielded") and self._sound(number):
                turned = found.a != run.a
                for end in (0, 1):
                    wanted = as_drawn(run, self.goal).braid
                    assert wanted is not None
                    self._land(Landing("", number, 1 - end if turned else end, wanted[end]))
                intent = self.intents[self.cut_by_braid[number]]
                intent.keys = (intent.keys | keys) - {""}
                self.pieces.join(join.a, join.b)
                return
        self.intents.append(Intent("run", points=[run.a, run.b], off=alike, on=[as_drawn(run, self.goal)], keys=keys))

    def _sound(self, number: int) -> bool:
        run = self.bench.runs[number]
        return self.net_of.get(run.a) == self.net_of.get(run.b)

    def _bundle(self, where: Point, laid: bool) -> int | None:
        """The intent that puts a part in, if this lead comes with the part."""
        name = part_of(where)
        goal = self.goal
        if name in goal.fit:
            return self.of_part[name] if not laid or goal.plugs(name) else None
        if name in goal.replace and (where in goal.new_terminals or (goal.hangs(where) and not laid)):
            return self.of_part[name]
        return None

    def _bonds(self, join: Join, run: Run) -> bool:
        to_ground = self.goal.ground in (join.a, join.b)
        return run.conductor == "bolted" or (to_ground and not self.goal.hangs(join.a) and not self.goal.hangs(join.b))

    # --- reasons -------------------------------------------------------------------------------------------------

    def _blocks_at(self, where: Point) -> set[tuple[int, int]]:
        return self.islands.get(self.piece.get(where, where), set())

    def _keys_of_cut(self, strand: Strand) -> set[str]:
        """The joins of the blocks that the cut parts."""
        blocks = self._blocks_at(strand.a) | self._blocks_at(strand.b)
        keys = {self._by_block.get(("join", block), "") for block in blocks} - {""}
        if not keys:
            nets = {found for _, found in blocks}
            keys = {key for (sort, (_, f)), key in self._by_block.items() if sort == "join" and f in nets}
        return keys

    def _keys_of_join(self, a: Point, b: Point) -> set[str]:
        """The cuts of the blocks that the join brings together."""
        blocks = self._blocks_at(a) | self._blocks_at(b)
        return {self._by_block.get(("cut", block), "") for block in blocks} - {""}
