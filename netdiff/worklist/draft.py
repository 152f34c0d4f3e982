"""A plan in the making: the unit as found, and the intents so far, in no order yet."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from netdiff.circuit import Part, Point, Run, part_of
from netdiff.nets import Union
from netdiff.worklist.bench import Bench
from netdiff.worklist.goal import Goal
from netdiff.worklist.steps import Action

Block = tuple[int, int]
"""What one stock net and one found net have in common."""


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
    keys: set[str] = field(default_factory=set)
    """Raw differences that it clears or helps to clear."""
    needs: set[int] = field(default_factory=set)
    """Intents (by place in the list) that come first."""
    clears: set[str] = field(default_factory=set)
    """Conditions of its part or conductor that it puts right."""
    unties: bool = False
    """It parts what belongs apart."""
    reasons: set[str] = field(default_factory=set)
    """Ids of findings that no raw difference tells of."""
    about: tuple[str, ...] = ()
    """Further words for its name."""
    says: str = ""
    """For an inspection: what to look at."""


class Draft:
    """``bench`` is the unit as found. Parts come first in ``intents``, so that their places never change."""

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.bench = Bench((goal.unit.parts[name] for name in sorted(goal.there)), goal.unit.runs)
        self.intents: list[Intent] = []
        self.of_part: dict[str, int] = {}
        """Part that is removed, replaced or fitted -> the intent that does it."""
        self.cuts_at: dict[Point, list[int]] = defaultdict(list)
        """Point -> cut intents that free a lead there."""
        self.of_braid: dict[int, int] = {}
        """Run -> the intent that lands its braid elsewhere."""
        self.found = Union()
        """What is connected as found."""
        for strand in self.bench.strands():
            self.found.join(strand.a, strand.b)
        for a, b in goal.unseen:
            self.found.join(a, b)
            self.bench.unseen.setdefault(a, []).append(b)
            self.bench.unseen.setdefault(b, []).append(a)
        self.net_of: dict[Point, int] = dict(goal.label)
        """Goal net of every point that has or gets one."""
        self.pieces = Union()
        """What is connected when all cutting is done; grows with what is put on."""
        self.piece: dict[Point, Point] = {}
        """The piece of every point when all cutting is done."""
        self._islands: dict[Point, set[Block]] = defaultdict(set)
        self._by_block: dict[tuple[str, Block], str] = {
            (raw.sort, (raw.stock_net, raw.found_net)): key
            for key, raw in goal.raw.items()
            if raw.sort in ("cut", "join")
        }

    def add(self, intent: Intent) -> int:
        self.intents.append(intent)
        return len(self.intents) - 1

    def part_intent(self, where: Point) -> Intent | None:
        """The intent that puts the point's part in or takes it out."""
        number = self.of_part.get(part_of(where))
        return None if number is None else self.intents[number]

    def braid_intent(self, number: int) -> Intent:
        if number not in self.of_braid:
            self.of_braid[number] = self.add(Intent("braid"))
        return self.intents[self.of_braid[number]]

    def goes(self, number: int) -> bool:
        """Whether some intent takes the run off."""
        return any(number in intent.off for intent in self.intents)

    def settle(self) -> None:
        """Note which pieces there are when all that goes is gone."""
        self.piece = {where: self.pieces.find(where) for where in list(self.pieces.parent)}
        for where, block in self.goal.block_of.items():
            self._islands[self.piece.get(where, where)].add(block)

    # --- reasons -------------------------------------------------------------------------------------------------

    def blocks_at(self, where: Point) -> set[Block]:
        return self._islands.get(self.piece.get(where, where), set())

    def keys(self, sort: str, blocks: set[Block]) -> set[str]:
        return {self._by_block[sort, block] for block in blocks if (sort, block) in self._by_block}

    def keys_of_cut(self, a: Point, b: Point) -> set[str]:
        """The raw joins of the blocks that a cut between the points parts, else all of their found net."""
        blocks = self.blocks_at(a) | self.blocks_at(b)
        nets = {found for _, found in blocks}
        return self.keys("join", blocks) or {
            key for (sort, (_, found)), key in self._by_block.items() if sort == "join" and found in nets
        }

    def keys_of_join(self, a: Point, b: Point) -> set[str]:
        """The raw cuts of the blocks that a join brings together."""
        return self.keys("cut", self.blocks_at(a) | self.blocks_at(b))
