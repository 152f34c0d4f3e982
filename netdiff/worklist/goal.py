"""What the unit shall be: the drawing in the unit's own names, less what stays as it is.

The comparison settles which found terminal is which drawn one, what nobody looked at, and which
blocks of points left their net. Here that is turned into a *goal net* for every point, so that the
planner needs to know nothing but points, runs and goal nets: two points belong together exactly
when their goal nets are the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from netdiff.circuit import Circuit, Part, Point, Run, is_net, part_of
from netdiff.comparison.results import Raw
from netdiff.comparison.scene import Scene, block_key
from netdiff.nets import Union, joints
from netdiff.worklist.conditions import of_part


@dataclass(slots=True)
class Goal:
    """All points and designators are the unit's own, except the values of ``stock_name``."""

    unit: Circuit
    stock: Circuit
    """As its file has it: for what it says of nets and windings."""
    parts: dict[str, Part]
    """The drawing's part in each place, by the unit's designator."""
    runs: list[Run]
    """The drawing's runs."""
    label: dict[Point, int]
    """Goal net of every point that the drawing speaks of and that is there or will be fitted."""
    net_of_drawing: dict[Point, int]
    """Stock net of every point of the drawing."""
    unseen: list[tuple[Point, Point]]
    """Connections that nobody looked at, taken as drawn."""
    usable: frozenset[Point] = frozenset()
    """The drawing's own tie points (lugs of its strips) that are there to land on."""
    loose: frozenset[Point] = frozenset()
    """Splices and fully traced tie points: a run that ends there alone leads nowhere."""
    traced: frozenset[Point] = frozenset()
    there: frozenset[str] = frozenset()
    """Designators of the parts that are there now."""
    remove: frozenset[str] = frozenset()
    fit: frozenset[str] = frozenset()
    no_socket: frozenset[str] = frozenset()
    """Those to be fitted that plug in and whose socket is gone too."""
    replace: frozenset[str] = frozenset()
    stay: frozenset[str] = frozenset()
    """Foreign parts that stay."""
    new_terminals: frozenset[Point] = frozenset()
    """Terminals that come only with the part that is put in another's place."""
    shielded: frozenset[int] = frozenset()
    """Stock nets on which every run must be shielded."""
    stock_name: dict[str, str] = field(default_factory=dict)
    """The drawing's designator of a part that is under another in the unit's file."""
    stock_point: dict[Point, Point] = field(default_factory=dict)
    """The drawing's terminal for one that it calls otherwise: of such a part, or of a part of another kind."""
    raw: Mapping[str, Raw] = field(default_factory=dict)
    """The raw differences that are to go, by key, their points under the unit's names."""
    spoilt: frozenset[str] = frozenset()
    """Parts of the drawing's make that are put in new: worn, or once powered the wrong way round."""
    reversed: frozenset[str] = frozenset()
    """Polarised capacitors that stood the wrong way round."""
    live: frozenset[Point] = frozenset()
    """Points that the mains reach, in the drawing or in the unit, whatever its switches do."""
    kept_runs: frozenset[frozenset[Point]] = frozenset()
    """Ends of the drawing's runs that are of another make and stay so."""
    kept_braids: frozenset[Point] = frozenset()
    """Points at whose end of a run the braid stays as it is."""
    block_of: dict[Point, tuple[int, int]] = field(default_factory=dict)
    """The stock net and the found net on which a point is."""
    drawn: dict[frozenset[Point], list[Run]] = field(default_factory=dict)
    """Pairs of points between which the drawing has runs."""

    @property
    def ground(self) -> Point:
        return self.stock.ground

    def plugs(self, name: str) -> bool:
        """Whether it goes into a socket that is there, so that nothing is soldered to it."""
        part = self.parts.get(name)
        return part is not None and part.kind.plugs and name not in self.no_socket

    def is_resoldered(self, name: str) -> bool:
        """Whether another part comes in its place and is soldered in: then none of its leads moves by itself."""
        return name in self.replace and not self.parts[name].kind.plugs

    def hangs(self, where: Point) -> bool:
        """Whether the point is the lead of a part that hangs by its leads."""
        name = part_of(where)
        part = self.parts.get(name) or self.unit.parts.get(name)
        return part is not None and part.kind.hangs


OTHER = ("kind", "value", "drift", "rating", "construction")
"""Keys of raw differences (before the colon) for which another part is put in a part's place."""


def set_goal(
    scene: Scene,
    raw: Mapping[str, Raw],
    kept: frozenset[str] = frozenset(),
    turned: Iterable[str] = (),
    live: Iterable[Point] = (),
) -> Goal:
    """The goal for a unit, of whose raw differences those with the keys ``kept`` stay as they are.

    ``turned`` are the drawing's names of polarised capacitors that stand the wrong way round, ``live`` points that the
    mains reach.
    """
    own = _own_names(scene)
    unit = scene.found.circuit
    mine = {drawn: found for found, drawn in scene.alignment.same.items()}
    go = {key: _renamed_raw(one, own, mine) for key, one in raw.items() if key not in kept}

    def parts_of(*sorts: str) -> frozenset[str]:
        return frozenset(p for key, one in go.items() if key.partition(":")[0] in sorts for p in one.parts[:1])

    fit = parts_of("missing")
    # The file's circuit has a stock part of which no line speaks too, even if an unidentified part turns out to be it.
    there = frozenset(unit.parts) - scene.missing - frozenset(mine)
    stay = frozenset(p for key in kept if key.startswith("extra:") for p in (raw[key].parts if key in raw else ()))
    label = _labels(scene, kept, own)
    net_of_drawing = {own.get(w, w): number for w, number in scene.drawn.index.items()}
    parts = {mine.get(name, name): part for name, part in scene.stock.parts.items()}
    backwards = frozenset(mine.get(name, name) for name in turned) & there
    spoilt = frozenset(_worn(go.values(), parts) & there | backwards)
    other = frozenset(name for name in parts_of(*OTHER) if name in there) | spoilt
    other |= {name for one in spoilt for name in in_one_can(one, parts) if name in there}
    new = frozenset(
        where
        for name in other
        for lug in parts[name].kind.terminals
        if not lug.tie and (where := f"{name}.{lug.name}") in net_of_drawing and where not in label
    )
    coming = [f"{name}.{lug.name}" for name in sorted(fit) for lug in parts[name].kind.terminals if not lug.tie]
    label |= _labels_to_come(scene, own, [*coming, *sorted(new)], label, net_of_drawing)
    used = {end for run in unit.runs for pair in joints([run]) for end in pair}
    ties = {where for where in used if is_net(where) or _tie(unit, where)}
    runs = [_renamed(run, own) for run in scene.stock.runs]
    return Goal(
        unit=unit,
        stock=scene.stock,
        parts=parts,
        runs=runs,
        drawn=_by_ends(runs),
        label=label,
        net_of_drawing=net_of_drawing,
        unseen=_unseen(scene, own, raw),
        usable=frozenset(w for w in net_of_drawing if w not in label and part_of(w) in there and not is_net(w)),
        loose=frozenset(
            w
            for w in ties
            if w not in scene.found.unfollowed
            and (w in scene.found.traced if part_of(w) else w not in scene.stock.nets and w not in net_of_drawing)
        ),
        traced=scene.found.traced,
        there=there,
        remove=parts_of("extra"),
        fit=fit,
        no_socket=scene.found.missing_sockets,
        replace=other,
        stay=stay,
        new_terminals=new,
        shielded=frozenset(
            scene.drawn.index[n] for n, net in scene.stock.nets.items() if net.shielded and n in scene.drawn.index
        ),
        stock_name=dict(scene.alignment.same),
        stock_point={
            w: drawn
            for w, drawn in scene.alignment.alias.items()
            if part_of(w) in scene.alignment.same
            or (part_of(w) in other and parts[part_of(w)].kind.lug(w.partition(".")[2]) is None)
        },
        raw=go,
        spoilt=spoilt,
        reversed=backwards,
        live=frozenset(own.get(w, w) for w in live),
        kept_runs=frozenset(
            frozenset(own.get(w, w) for w in raw[key].points)
            for key in kept & raw.keys()
            if raw[key].sort == "run" and len(raw[key].points) == 2
        ),
        kept_braids=frozenset(
            own.get(w, w) for key in kept & raw.keys() if raw[key].sort == "braid" for w in raw[key].points[:1]
        ),
        block_of=_blocks(scene, own),
    )


def _worn(raw: Iterable[Raw], parts: Mapping[str, Part]) -> set[str]:
    """Parts in a condition in which nobody uses them again."""
    out = set()
    for one in raw:
        if one.sort == "state" and one.parts and one.parts[0] in parts:
            condition = one.key.split(":", 2)[2]
            if of_part(parts[one.parts[0]], condition) == "replace":
                out.add(one.parts[0])
    return out


def in_one_can(name: str, parts: Mapping[str, Part]) -> list[str]:
    """The other sections of the body of which this part is one: C56B for C56A."""
    part = parts.get(name)
    if part is None or not part.kind.shared or not name[-1:].isalpha():
        return []
    return [
        other for other, one in parts.items() if other != name and other[:-1] == name[:-1] and one.kind is part.kind
    ]


def _own_names(scene: Scene) -> dict[Point, Point]:
    """Stock terminal -> the unit's terminal that it is, where the names differ.

    Where both ends of a part were found on one net, the comparison cannot tell its ends apart. Here
    that way round counts that leaves more of its leads where they are.
    """
    own = {drawn: found for found, drawn in scene.alignment.alias.items()}
    wired = Union()
    for a, b in joints(scene.runs):
        wired.join(a, b)
    for name, part in scene.stock.parts.items():
        ends = part.kind.ends
        if ends is None or name not in scene.found_parts or ((ends[0],), (ends[1],)) not in part.kind.swaps:
            continue
        if ((ends[0],), (ends[1],)) not in scene.found_parts[name].kind.swaps:
            continue
        a, b = (f"{name}.{end}" for end in ends)
        if a in scene.landing and b in scene.landing and wired.find(a) == wired.find(b):
            straight = _fitting(scene, a, a) + _fitting(scene, b, b)
            if _fitting(scene, a, b) + _fitting(scene, b, a) > straight:
                own[a], own[b] = own.get(b, b), own.get(a, a)
    return own


def _fitting(scene: Scene, where: Point, as_if: Point) -> int:
    """How many leads at a terminal would belong there if it were that other terminal."""
    net = scene.compared.get(as_if)
    others = [run.b if run.a == where else run.a for run in scene.landing[where]]
    away = [other for other in others if part_of(other) != part_of(where)]
    return sum(net is not None and scene.compared.get(other) == net for other in away)


def _renamed(run: Run, own: Mapping[Point, Point]) -> Run:
    a, b = own.get(run.a, run.a), own.get(run.b, run.b)
    braid = run.braid and (own.get(run.braid[0], run.braid[0]), own.get(run.braid[1], run.braid[1]))
    return run if (a, b, braid) == (run.a, run.b, run.braid) else replace(run, a=a, b=b, braid=braid)


def _renamed_raw(raw: Raw, own: Mapping[Point, Point], mine: Mapping[str, str]) -> Raw:
    return replace(
        raw,
        points=tuple(own.get(w, w) for w in raw.points),
        parts=tuple(mine.get(name, name) for name in raw.parts),
    )


def _labels(scene: Scene, kept: frozenset[str], own: Mapping[Point, Point]) -> dict[Point, int]:
    """Goal nets: blocks of one stock net together, unless their cut or join is kept."""
    union = Union()
    keys = {block: f"{block[0]} {block[1]}" for block in scene.blocks}
    for stocks, sort in ((scene.of_stock, "cut"), (scene.of_found, "join")):
        for one, others in stocks.items():
            pairs = [(one, other) if sort == "cut" else (other, one) for other in others]
            for block in pairs[1:]:
                is_kept = block_key(sort, scene.blocks[block]) in kept
                # A cut goes unless it is kept; a join goes unless it is kept too: then the two nets are one.
                if is_kept == (sort == "join"):
                    union.join(keys[pairs[0]], keys[block])
    number: dict[str, int] = {}
    label: dict[Point, int] = {}
    for block, points in scene.blocks.items():
        net = number.setdefault(union.find(keys[block]), len(number))
        label |= {own.get(where, where): net for where in points}
    return label


def _labels_to_come(
    scene: Scene,
    own: Mapping[Point, Point],
    coming: Iterable[Point],
    label: Mapping[Point, int],
    drawing: Mapping[Point, int],
) -> dict[Point, int]:
    """Goal nets of terminals that come with a part: that of their stock net's own block."""
    chief: dict[int, int] = {}
    for s, founds in scene.of_stock.items():
        first = scene.blocks[s, founds[0]][0]
        chief[s] = label[own.get(first, first)]
    spare = max(label.values(), default=-1) + 1
    return {where: chief.setdefault(drawing[where], spare + drawing[where]) for where in coming if where in drawing}


def _unseen(scene: Scene, own: Mapping[Point, Point], raw: Iterable[str]) -> list[tuple[Point, Point]]:
    """What the runs do not connect and yet counts as connected, because nobody looked.

    Within each block; and between blocks of one stock net of which the comparison does not say that
    they left it: over there for certain, and perhaps still at home.
    """
    keys = set(raw)
    wired = Union()
    for a, b in joints(scene.runs):
        wired.join(a, b)
    out: list[tuple[Point, Point]] = []
    for points in scene.blocks.values():
        # Looked-at points first, so that what nobody saw hangs on something that somebody did.
        first, *others = sorted(points, key=lambda w: w not in scene.traced)
        pieces = {wired.find(first)}
        for where in others:
            if wired.find(where) not in pieces:
                pieces.add(wired.find(where))
                out.append((own.get(first, first), own.get(where, where)))
    for s, founds in scene.of_stock.items():
        home = scene.blocks[s, founds[0]][0]
        for f in founds[1:]:
            points = scene.blocks[s, f]
            if block_key("cut", points) not in keys:
                out.append((own.get(home, home), own.get(points[0], points[0])))
    return out


def _by_ends(runs: Iterable[Run]) -> dict[frozenset[Point], list[Run]]:
    out: dict[frozenset[Point], list[Run]] = {}
    for run in runs:
        out.setdefault(frozenset((run.a, run.b)), []).append(run)
    return out


def _blocks(scene: Scene, own: Mapping[Point, Point]) -> dict[Point, tuple[int, int]]:
    return {own.get(w, w): block for block, points in scene.blocks.items() for w in points}


def _tie(circuit: Circuit, where: Point) -> bool:
    part = circuit.parts.get(part_of(where))
    if part is None:
        return part_of(where).startswith("TB")
    lug = part.kind.lug(where.partition(".")[2])
    return lug.tie if lug is not None else part.kind.any_terminal and "TB" in part.kind.letters
