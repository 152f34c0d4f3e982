"""The two circuits laid over each other, and the raw differences.

The points that both circuits have fall into *blocks*: one block is what one stock net and one
found net have in common. Where the circuits agree every stock net is one block and so is every
found net. A stock net in ``k`` blocks was cut ``k - 1`` times; a found net of ``k`` blocks was
joined ``k - 1`` times. Which block is the net itself, and which left it, is settled by matching
the stock nets with the found nets so that as many points as possible stay where they are.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace

from netdiff.circuit import Circuit, Found, Part, Place, Point, Run, is_foreign, is_net, part_of
from netdiff.comparison.align import align, easily_reversed
from netdiff.comparison.knowledge import closed_nets, complete, looked_at_parts, meter_says_apart
from netdiff.comparison.likeness import Alignment
from netdiff.comparison.results import Raw
from netdiff.nets import Nets, Union, circuit_nets, circuit_points

Block = tuple[int, int]


@dataclass(slots=True)
class Scene:
    """Everything that the rules look at. Found points are under their stock names where they have one."""

    stock: Circuit
    found: Found
    alignment: Alignment
    drawn: Nets
    """The stock nets."""
    missing: frozenset[str]
    """Stock parts that are not there: said, or traced and nowhere."""
    unsaid: frozenset[str]
    """Those of the missing that the file does not name."""
    runs: list[Run]
    """The found runs, their ends under stock names."""
    found_parts: dict[str, Part]
    """By stock designator where there is one."""
    here: dict[Point, int]
    """Completed found net of every point."""
    members: list[list[Point]]
    """Points of each completed found net."""
    compared: dict[Point, int]
    """Points that both circuits have, with their stock net."""
    left_over: set[Point]
    blame: str = ""
    """What counts as easily miswired or exchanged, ``sockets`` or ``parts``."""
    perhaps: set[Point] = field(default_factory=set)
    """Untraced points found on another net, of which nobody knows whether they left their own."""
    blocks: dict[Block, list[Point]] = field(default_factory=dict)
    of_stock: dict[int, list[int]] = field(default_factory=dict)
    """Stock net -> the found nets that its blocks are on, its own first."""
    of_found: dict[int, list[int]] = field(default_factory=dict)
    own: dict[int, int] = field(default_factory=dict)
    """Stock net -> the found net that is that net."""
    home: dict[int, int] = field(default_factory=dict)
    """Found net -> the stock net that it is."""
    raw: dict[str, Raw] = field(default_factory=dict)
    open: set[str] = field(default_factory=set)
    """Keys of the raw differences that no finding explains yet."""
    traced: frozenset[Point] = frozenset()
    named: dict[int, tuple[str, ...]] = field(default_factory=dict)
    """The declared names of a stock net, once somebody asked."""
    fed: dict[int, str] | None = None
    """Unnamed stock net -> the declared net that feeds it, once somebody asked."""
    landing: dict[Point, list[Run]] = field(default_factory=dict)
    """The found runs that end on a point."""

    def net_of(self, where: Point) -> int:
        """The stock net whose place the point is on as found; -1 where that is none."""
        return self.home.get(self.here.get(where, -1), -1)

    def net_name(self, number: int) -> str:
        """What a person calls a stock net: its declared name, else two of its terminals."""
        points = self.drawn.members[number]
        names = self._declared(number)
        if self.stock.ground in names:
            return self.stock.ground
        if names:
            return names[0]
        shown = [where for where in points if not _is_lead(self.stock, where)] or points
        return "–".join(shown[:2])

    def names(self, *numbers: int) -> tuple[str, ...]:
        """The declared names among these stock nets."""
        out: list[str] = []
        for number in numbers:
            if number >= 0:
                out += self._declared(number)
        return tuple(dict.fromkeys(out))

    def feeders(self, *numbers: int) -> tuple[str, ...]:
        """Declared nets whose current flows through a fuse, switch, rectifier, choke or meter to these unnamed nets."""
        if self.fed is None:
            self.fed = _fed(self)
        return tuple(dict.fromkeys(self.fed[number] for number in numbers if number in self.fed))

    def _declared(self, number: int) -> tuple[str, ...]:
        names = self.named.get(number)
        if names is None:
            names = self.named[number] = tuple(where for where in self.drawn.members[number] if is_net(where))
        return names

    def places(self, *points: Point) -> tuple[Place, ...]:
        """Lines of the found file that speak of these points."""
        lines = {place for where in points for run in self.landing.get(where, ()) for place in run.places}
        return tuple(sorted(lines))[:6]

    def take(self, *keys: str) -> tuple[str, ...]:
        """Mark raw differences as explained; only those still open are taken."""
        taken = tuple(key for key in dict.fromkeys(keys) if key in self.open)
        self.open.difference_update(taken)
        return taken


_CARRYING = {"fuse", "switch", "interlock", "inductor", "diode", "meter"}
"""Families of parts behind which a lead is still the mains, the supply or the aerial lead that it was."""


def _fed(scene: Scene) -> dict[int, str]:
    index = scene.drawn.index
    near: dict[int, list[int]] = defaultdict(list)
    for name, part in scene.stock.parts.items():
        if part.kind.family not in _CARRYING:
            continue
        ways = [(contact.a, contact.b) for contact in part.kind.contacts] + ([part.kind.ends] if part.kind.ends else [])
        for a, b in ways:
            one, other = index.get(f"{name}.{a}", -1), index.get(f"{name}.{b}", -1)
            near[one].append(other)
            near[other].append(one)
    fed: dict[int, str] = {}
    queue = [
        (index[name], name)
        for purpose in ("mains", "supply", "bias", "rf")
        for name, net in scene.stock.nets.items()
        if net.purpose == purpose and name in index
    ]
    # Nothing is fed through the ground, which every stage hangs on.
    named = {index[name] for name in (*scene.stock.nets, scene.stock.ground) if name in index}
    for at, name in queue:
        for other in near.get(at, ()):
            if other >= 0 and other not in named and other not in fed:
                fed[other] = name
                queue.append((other, name))
    return fed


def _is_lead(circuit: Circuit, where: Point) -> bool:
    part = circuit.parts.get(part_of(where))
    return part is not None and part.kind.hangs


def build(stock: Circuit, found: Found, *, guess: bool = True, blame: str = "") -> Scene:
    """Lay the circuits over each other and list every raw difference of their nets and parts."""
    drawn = circuit_nets(stock)
    seen = circuit_nets(found.circuit)
    alignment = align(stock, found, drawn, seen, guess=guess, blame=blame)

    identified = set(alignment.same.values())
    nowhere = frozenset(name for name in looked_at_parts(stock, found) if name not in identified)
    missing = frozenset(name for name in found.missing if name not in identified) | nowhere
    # An empty socket to which a line wires something is compared like any other; of one that no line speaks of
    # only the missing tube speaks.
    wired = {part_of(where) for run in found.circuit.runs for where in (run.a, run.b)}
    gone = frozenset(name for name in missing if name not in found.circuit.parts or name not in wired)

    def rename(where: Point) -> Point:
        return alignment.alias.get(where, where)

    runs = [_renamed(run, alignment) for run in found.circuit.runs]
    parts = {alignment.same.get(name, name): part for name, part in found.circuit.parts.items() if name not in missing}
    points = [rename(where) for where in circuit_points(found.circuit) if part_of(where) not in gone]
    apart = [(rename(a), rename(b)) for a, b in meter_says_apart(found)]
    points += [where for pair in apart for where in pair]
    nets = Nets.of(points, runs)
    traced = frozenset(rename(where) for where in found.traced) | frozenset(
        f"{name}.{lug.name}" for name in gone for lug in stock.parts[name].kind.terminals
    )

    ties = {
        f"{name}.{lug.name}"
        for circuit in (stock, found.circuit)
        for name, part in circuit.parts.items()
        for lug in part.kind.terminals
        if lug.tie
    }
    used_names = {where for where in nets.index if is_net(where)}
    compared = {
        where: number
        for where, number in drawn.index.items()
        if (where in used_names if is_net(where) else part_of(where) not in gone and where not in ties)
        and not _only_a_tie(stock, where)
    }
    present = {rename(where) for where in circuit_points(found.circuit)}
    for name, part in parts.items():
        base = stock.parts.get(name)
        if base is not None and part.kind is not base.kind and not (part.kind.any_terminal or base.kind.any_terminal):
            # Terminals that the part found there does not have went with the part that was drawn.
            for lug in base.kind.terminals:
                if f"{name}.{lug.name}" not in present:
                    compared.pop(f"{name}.{lug.name}", None)
    closed = closed_nets(replace(found, unfollowed=frozenset(rename(w) for w in found.unfollowed)), nets, drawn, traced)
    # A terminal that the found part has by its kind but that no line connects and nobody traced is not known.
    known = Nets.from_union(_without_unseen(nets, traced | {w for pair in apart for w in pair}, compared))
    closed_known = [closed[nets.index[net[0]]] for net in known.members]
    here, left_over, perhaps = complete(known, closed_known, compared, apart, traced)
    members: list[list[Point]] = [[] for _ in range(max(here.values(), default=-1) + 1)]
    for where, number in here.items():
        members[number].append(where)

    scene = Scene(
        stock,
        found,
        alignment,
        drawn,
        missing,
        nowhere,
        runs,
        parts,
        here,
        members,
        compared,
        left_over,
        perhaps=perhaps,
        blame=blame,
        traced=traced,
    )
    for run in runs:
        for where in (run.a, run.b):
            scene.landing.setdefault(where, []).append(run)
    _blocks(scene)
    _raw_nets(scene)
    return scene


def _only_a_tie(stock: Circuit, where: Point) -> bool:
    part = stock.parts.get(part_of(where))
    if part is None:
        return False
    lug = part.kind.lug(where.partition(".")[2])
    return lug.tie if lug is not None else part.kind.any_terminal and "TB" in part.kind.letters


def _renamed(run: Run, alignment: Alignment) -> Run:
    alias = alignment.alias
    if (
        run.a not in alias
        and run.b not in alias
        and not (run.braid and (run.braid[0] in alias or run.braid[1] in alias))
    ):
        return run
    braid = run.braid and (alias.get(run.braid[0], run.braid[0]), alias.get(run.braid[1], run.braid[1]))
    return replace(run, a=alias.get(run.a, run.a), b=alias.get(run.b, run.b), braid=braid)


def _without_unseen(nets: Nets, traced: frozenset[Point], compared: dict[Point, int]) -> Union:
    union = Union()
    for net in nets.members:
        if len(net) == 1 and net[0] in compared and net[0] not in traced:
            continue
        union.add(net[0])
        for where in net[1:]:
            union.join(net[0], where)
    return union


def _blocks(scene: Scene) -> None:
    for where, number in scene.compared.items():
        there = scene.here.get(where)
        if there is not None:
            scene.blocks.setdefault((number, there), []).append(where)
    for s, f in scene.blocks:
        scene.of_stock.setdefault(s, []).append(f)
        scene.of_found.setdefault(f, []).append(s)
    _match(scene)
    for s, founds in scene.of_stock.items():
        own = scene.own.get(s)
        founds.sort(key=lambda f, s=s, own=own: (f != own, -_weight(scene, (s, f)), f))  # type: ignore[misc]
    for f, stocks in scene.of_found.items():
        home = scene.home.get(f)
        stocks.sort(key=lambda s, f=f, home=home: (s != home, -_weight(scene, (s, f)), s))  # type: ignore[misc]


def _weight(scene: Scene, block: Block) -> float:
    total = 0.0
    for where in scene.blocks[block]:
        if is_net(where):
            total += 3.0 if where == scene.stock.ground else 1.5
        elif where in scene.left_over:
            total += 0.25
        elif (part := scene.stock.parts.get(part_of(where))) is not None and easily_reversed(part, scene.blame):
            total += 0.97
        else:
            total += 1.0
    # Among equals the block without foreign company is the net itself.
    strangers = any(is_foreign(part_of(where)) for where in scene.members[block[1]][:64])
    return total - (0.01 if strangers else 0.0)


def _match(scene: Scene) -> None:
    """Which found net is which stock net: greatest total weight, exact within each tangle of reasonable size."""
    union = Union()
    for s, f in scene.blocks:
        union.join(f"s{s}", f"f{f}")
    tangles: dict[str, list[Block]] = defaultdict(list)
    for block in scene.blocks:
        tangles[union.find(f"s{block[0]}")].append(block)
    for blocks in tangles.values():
        if len(blocks) == 1:
            (s, f) = blocks[0]
            scene.own[s], scene.home[f] = f, s
        elif len(blocks) <= 2000:
            _assign(scene, blocks)
        else:
            _greedy(scene, blocks)


def _assign(scene: Scene, blocks: list[Block]) -> None:
    import numpy as np
    from scipy.optimize import linear_sum_assignment

    rows = {s: i for i, s in enumerate(dict.fromkeys(s for s, _ in blocks))}
    columns = {f: i for i, f in enumerate(dict.fromkeys(f for _, f in blocks))}
    score = np.zeros((len(rows), len(columns)))
    for s, f in blocks:
        score[rows[s], columns[f]] = _weight(scene, (s, f))
    stocks, founds = list(rows), list(columns)
    for i, j in zip(*linear_sum_assignment(score, maximize=True), strict=True):
        if score[i, j] > 0:
            scene.own[stocks[i]], scene.home[founds[j]] = founds[j], stocks[i]


def _greedy(scene: Scene, blocks: list[Block]) -> None:
    for s, f in sorted(blocks, key=lambda block: (-_weight(scene, block), block)):
        if s not in scene.own and f not in scene.home:
            scene.own[s], scene.home[f] = f, s


def block_key(sort: str, points: list[Point]) -> str:
    return f"{sort}:{','.join(sorted(points))}"


def _raw_nets(scene: Scene) -> None:
    for s, founds in scene.of_stock.items():
        for f in founds[1:]:
            # What was not traced is over there; whether it left its own net as well nobody knows.
            if not scene.perhaps.issuperset(scene.blocks[s, f]):
                _note(scene, "cut", (s, f))
    for f, stocks in scene.of_found.items():
        for s in stocks[1:]:
            _note(scene, "join", (s, f))


def _note(scene: Scene, sort: str, block: Block) -> None:
    points = scene.blocks[block]
    add_raw(scene, Raw(block_key(sort, points), sort, tuple(sorted(points)), stock_net=block[0], found_net=block[1]))


def add_raw(scene: Scene, raw: Raw) -> str:
    scene.raw[raw.key] = raw
    scene.open.add(raw.key)
    return raw.key
