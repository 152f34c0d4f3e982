"""Conductors that are not the drawing's: open wire for coax, braids that go nowhere, bare lengths, wrong points."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterator

from netdiff.circuit import OPEN, UNFOLLOWED, Place, Point, Run, is_foreign, is_net, part_of
from netdiff.comparison.limits import hazard_volts
from netdiff.comparison.results import Finding, Raw
from netdiff.comparison.rules.insertions import bridges_between
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene, add_raw
from netdiff.comparison.words import some
from netdiff.electrical import clearance
from netdiff.quantities import show

SHIELDED = {"coax", "shielded"}
DEMANDED = {"coax", "shielded", "twisted", "strap", "bus"}
"""Constructions that the drawing demands; a plain wire is whatever sound hook-up wire was at hand."""
_CONDUCTOR_WORDS = {
    "wire": "insulated wire", "bare": "bare wire", "bus": "bus wire", "twisted": "twisted wire",
    "strap": "strap", "coax": "coax", "shielded": "shielded wire", "bolted": "bolted joint",
}  # fmt: skip


def runs(scene: Scene) -> Iterator[Finding]:
    """Every run of which the drawing demands a construction, and every run on a net that must be shielded."""
    told: set[Run] = set()
    for run in scene.stock.runs:
        if not run.joins or (run.conductor not in DEMANDED and run.gauge is None and not run.cable_type):
            continue
        path = _path(scene, run.a, run.b)
        if path is None:
            continue
        told.update(path)
        yield from _open_wire(scene, run, path)
        yield from _other_wire(scene, run, path)
        yield from _braid(scene, run, path)
    for net, points in _shielded_nets(scene).items():
        for run in _runs_on(scene, points):
            if run in told or run.conductor in ("", "bolted", "body", *SHIELDED) or run.evidence == "as-drawn":
                continue
            told.add(run)
            key = add_raw(scene, Raw(f"run:{run.a},{run.b}", "run", (run.a, run.b)))
            yield make(
                scene,
                "unshielded-run",
                f"{run.a} to {run.b} is {_what(run)}; every run on {scene.net_name(net)} must be shielded.",
                parts=_ends(run),
                terminals=[run.a, run.b],
                nets=[net],
                explains=scene.take(key),
                shares=[f"run {run.a} {run.b}"],
                places=run.places,
            )


def _path(scene: Scene, start: Point, goal: Point) -> list[Run] | None:
    """The shortest way over found conductors, and through foreign parts put in series, from one point to the other."""
    if start not in scene.landing or goal not in scene.landing:
        return None
    came: dict[Point, tuple[Point, Run | None]] = {start: (start, None)}
    queue = deque([start])
    while queue:
        at = queue.popleft()
        if at == goal:
            way: list[Run] = []
            while at != start:
                at, run = came[at]
                if run is not None:
                    way.append(run)
            return way[::-1]
        for run in scene.landing.get(at, ()):
            other = run.b if run.a == at else run.a
            if other not in (OPEN, UNFOLLOWED) and other not in came:
                came[other] = (at, run)
                queue.append(other)
        name = part_of(at)
        if is_foreign(name) and name in scene.found_parts:
            terminal = at.partition(".")[2]
            for a, b in bridges_between(scene.found_parts[name]):
                if terminal in (a, b):
                    other = f"{name}.{b if terminal == a else a}"
                    if other not in came:
                        came[other] = (at, None)
                        queue.append(other)
    return None


def _what(run: Run) -> str:
    words = _CONDUCTOR_WORDS.get(run.conductor, run.conductor or "a conductor that nobody described")
    if run.cable_type:
        words = f"{run.cable_type} {words}"
    if run.gauge is not None:
        words = f"{words} {show(run.gauge, 'AWG')}"
    return f"{show(run.length, 'm')} of {words}" if run.length else words


def _ends(*several: Run) -> list[str]:
    return list(dict.fromkeys(part_of(w) for run in several for w in (run.a, run.b) if part_of(w)))


def _stock_words(run: Run) -> str:
    return f"the drawing has {_what(run)}" + (f" ({run.cable})" if run.cable else "")


def _key(sort: str, run: Run) -> str:
    return f"{sort}:{run.cable}:{run.a},{run.b}"


def _shares(scene: Scene, run: Run, path: list[Run]) -> list[str]:
    foreign = [part_of(w) for hop in path for w in (hop.a, hop.b) if is_foreign(part_of(w))]
    out = [f"part {name}" for name in dict.fromkeys(foreign)] + [f"run {hop.a} {hop.b}" for hop in path]
    return [*out, f"net {scene.drawn.index[run.a]}", f"stock run {run.a} {run.b}"]


def _open_wire(scene: Scene, run: Run, path: list[Run]) -> Iterator[Finding]:
    if run.conductor not in SHIELDED:
        return
    bare = [hop for hop in path if hop.conductor not in ("", "bolted", "body", *SHIELDED)]
    if not bare:
        return
    key = add_raw(scene, Raw(_key("run", run), "run", (run.a, run.b)))
    length = sum(hop.length or 0 for hop in bare)
    known = all(hop.length for hop in bare)
    kinds = some(dict.fromkeys(_CONDUCTOR_WORDS.get(hop.conductor, hop.conductor) for hop in bare))
    stretch = f"{'' if known else 'at least '}{show(length, 'm')} of {kinds}" if length else kinds
    gone = ", its braid gone" if len(bare) == len(path) else ""
    whole = "" if len(bare) == len(path) else " for a part of the way"
    yield make(
        scene,
        "unshielded-run",
        f"{run.a} to {run.b} runs in {stretch}{whole}; {_stock_words(run)}{gone}.",
        parts=_ends(run, *bare),
        terminals=[run.a, run.b],
        nets=[scene.drawn.index[run.a]],
        explains=scene.take(key),
        shares=_shares(scene, run, path),
        places=[place for hop in bare for place in hop.places],
    )


def _other_wire(scene: Scene, run: Run, path: list[Run]) -> Iterator[Finding]:
    wrong: list[Run] = []
    for hop in path:
        if hop.conductor in ("", "bolted", "body") or hop.evidence == "as-drawn":
            continue
        if run.conductor in SHIELDED and hop.conductor not in SHIELDED:
            continue  # told as an unshielded run
        covered = run.conductor == "shielded" and hop.conductor == "coax"
        other_kind = run.conductor in DEMANDED and hop.conductor != run.conductor and not covered
        other_type = bool(run.cable_type and hop.cable_type and _plain(run.cable_type) != _plain(hop.cable_type))
        thinner = run.gauge is not None and hop.gauge is not None and hop.gauge > run.gauge
        if other_kind or other_type or thinner:
            wrong.append(hop)
    if wrong:
        key = add_raw(scene, Raw(_key("wire", run), "run", (run.a, run.b)))
        yield make(
            scene,
            "wrong-wire",
            f"{run.a} to {run.b} runs in {some(_what(hop) for hop in wrong)}; {_stock_words(run)}.",
            parts=_ends(run),
            terminals=[run.a, run.b],
            nets=[scene.drawn.index[run.a]],
            explains=scene.take(key),
            shares=_shares(scene, run, path),
            places=[place for hop in wrong for place in hop.places],
        )


def _plain(cable: str) -> str:
    return cable.upper().replace("-", "").replace("/", "").replace(" ", "").removesuffix("U")


def _braid(scene: Scene, run: Run, path: list[Run]) -> Iterator[Finding]:
    if run.braid is None or run.conductor not in SHIELDED:
        return
    screened = [hop for hop in path if hop.conductor in SHIELDED and hop.braid is not None]
    if len(screened) != len(path) or not path:
        return
    first, last = screened[0], screened[-1]
    ends = (_braid_end(first, run.a), _braid_end(last, run.b))
    for wanted, got, side in zip(run.braid, ends, (run.a, run.b), strict=True):
        if wanted in (OPEN, UNFOLLOWED) or got == UNFOLLOWED or got is None:
            continue
        if got != OPEN and scene.net_of(got) in (scene.drawn.index.get(wanted, -2), -1) and scene.net_of(got) >= 0:
            continue
        if got != OPEN and scene.here.get(got) is not None and scene.here.get(got) == scene.here.get(wanted):
            continue
        key = add_raw(scene, Raw(f"{_key('braid', run)}:{side}", "braid", (side, wanted)))
        now = "is open" if got == OPEN else f"is on {got}"
        name = run.cable or f"{run.a} to {run.b}"
        yield make(
            scene,
            "open-braid",
            f"The braid of {name} {now} at the {side} end; the drawing lands it on {wanted}.",
            parts=_ends(run),
            terminals=[side, wanted] if not is_net(wanted) else [side],
            nets=[scene.drawn.index[run.a]],
            explains=scene.take(key),
            shares=_shares(scene, run, path),
            places=[place for hop in screened for place in hop.places],
        )


def _braid_end(run: Run, side: Point) -> Point | None:
    if run.braid is None:
        return None
    if run.a == side:
        return run.braid[0]
    if run.b == side:
        return run.braid[1]
    # The cable ends on a tie point on the way: its nearer end cannot be told, the better one counts.
    return next((end for end in run.braid if end not in (OPEN, UNFOLLOWED)), run.braid[0])


def _shielded_nets(scene: Scene) -> dict[int, list[Point]]:
    out: dict[int, list[Point]] = {}
    for name, net in scene.stock.nets.items():
        number = scene.drawn.index.get(name)
        if net.shielded and number is not None and number in scene.own:
            out[number] = scene.members[scene.own[number]]
    return out


def _runs_on(scene: Scene, points: list[Point]) -> list[Run]:
    return list(dict.fromkeys(run for where in points for run in scene.landing.get(where, ())))


def _volts(scene: Scene, number: int) -> float | None:
    known = [
        abs(net.volts) * (2**0.5 if net.ac else 1)
        for name in scene.names(number)
        if (net := scene.stock.nets.get(name)) is not None and net.volts is not None
    ]
    if scene.stock.ground in scene.names(number):
        return 0.0
    return max(known) if known else None


def exposed(scene: Scene) -> Iterator[Finding]:
    """Bare lengths and narrow gaps that the bench noted."""
    drawn_bare = {frozenset((run.a, run.b)) for run in scene.stock.runs if run.conductor in ("bare", "bus") or run.bare}
    for run in scene.runs:
        if run.evidence == "as-drawn" or not run.joins or frozenset((run.a, run.b)) in drawn_bare:
            continue
        number = max(scene.net_of(run.a), scene.net_of(run.b))
        mine = _volts(scene, number) if number >= 0 else None
        notes = []
        for gap in run.gaps:
            other = scene.net_of(scene.alignment(gap.to))
            theirs = _volts(scene, other) if other >= 0 else None
            if mine is None or theirs is None:
                notes.append(f"{show(gap.distance, 'm')} from {gap.to}; the drawing gives no voltage to judge it by")
                continue
            needed = clearance.least(mine + theirs if theirs else mine)
            if gap.distance < needed:
                notes.append(
                    f"{show(gap.distance, 'm')} from {gap.to}, where {show(mine + theirs, 'V')} ask for "
                    f"{show(round(needed, 5), 'm')} of air"
                )
        dangerous = mine is None or mine >= hazard_volts()
        if run.bare and dangerous:
            notes.insert(0, f"bare over {show(run.bare, 'm')}")
        elif run.conductor == "bare" and dangerous:
            notes.insert(0, f"bare over {show(run.length, 'm')}" if run.length else "bare")
        if notes:
            key = add_raw(scene, Raw(f"bare:{run.a},{run.b}", "state", (run.a, run.b)))
            yield make(
                scene,
                "exposed-conductor",
                f"{run.a} to {run.b} is {some(notes)}.",
                parts=_ends(run),
                terminals=[run.a, run.b],
                nets=[number],
                explains=scene.take(key),
                shares=[f"run {run.a} {run.b}"],
                places=run.places,
            )


def wrong_lug(scene: Scene) -> Iterator[Finding]:
    """On the right net, but not at the point where the drawing demands it."""
    if not any(run.direct for run in scene.stock.runs):
        return
    landed: dict[Point, set[Point]] = defaultdict(set)
    for run in scene.runs:
        if run.joins:
            landed[run.a].add(run.b)
            landed[run.b].add(run.a)
    # Of two parts that are wired alike nobody knows which is which: neither can be on the wrong lug.
    unsure = {name for names in scene.alignment.alternatives.values() for name in names}
    for run in scene.stock.runs:
        a, b = run.a, run.b
        if part_of(a) in unsure or not run.direct or a not in scene.traced or a not in landed or b in landed[a]:
            continue
        if scene.here.get(a) is None or scene.here.get(a) != scene.here.get(b) or _other_end_lands(scene, a, b, landed):
            continue
        key = add_raw(scene, Raw(f"place:{a},{b}", "place", (a, b)))
        yield make(
            scene,
            "wrong-lug",
            f"{a} lands on {some(sorted(landed[a]))}; the drawing wants it straight on {b}.",
            parts=list(dict.fromkeys(part_of(w) for w in (a, b) if part_of(w))),
            terminals=[a, b],
            nets=[scene.drawn.index[a]],
            explains=scene.take(key),
            shares=[f"place {a}"],
            places=_lines(scene, a),
        )


def _other_end_lands(scene: Scene, a: Point, b: Point, landed: dict[Point, set[Point]]) -> bool:
    """Of a part whose two alike ends are on one net, the other end lands on the point demanded."""
    part = scene.stock.parts.get(part_of(a))
    if part is None or part.kind.ends is None or part.kind.polarised:
        return False
    other = next(f"{part.designator}.{end}" for end in part.kind.ends if f"{part.designator}.{end}" != a)
    return scene.here.get(other) == scene.here.get(a) and b in landed.get(other, ())


def _lines(scene: Scene, where: Point) -> list[Place]:
    return [place for run in scene.landing.get(where, ()) for place in run.places]
