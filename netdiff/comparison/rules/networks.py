"""Several parts standing in one stock part's place, and parts put across a stock part."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from netdiff.circuit import Part, Place, is_foreign, is_net, natural, part_of
from netdiff.comparison.limits import within_tolerance
from netdiff.comparison.passives import FAMILIES, Edge, Network, reduce
from netdiff.comparison.results import Finding
from netdiff.comparison.rules.making import make
from netdiff.comparison.scene import Scene
from netdiff.comparison.words import part_words, percent, some
from netdiff.quantities import show


def substituted(scene: Scene) -> Iterator[Finding]:
    changed = _changed(scene)
    edges = _edges(scene, changed)
    if not any(is_foreign(edge.network.name) for edge in edges):
        return
    gone = _gone(scene)
    for edge in reduce(edges, _inside(scene, edges, changed)):
        strangers = [name for name in edge.network.names if is_foreign(name)]
        if not strangers:
            continue
        stands = _stands_for(scene, edge, gone)
        if stands is None:
            continue
        own = stands if stands in edge.network.names else ""
        unchanged = own and not any(f"{what}:{own}" in scene.open for what in ("value", "kind"))
        alone = _without(edge, own) if unchanged and edge.network.how == "parallel" else None
        instead = _stands_for(scene, alone, gone) if alone is not None else None
        if alone is not None and instead is not None:
            # Beside a part that is as it was, the strangers stand for another that is not there.
            yield _substitute(scene, alone, instead, "", strangers)
        elif unchanged and edge.network.how == "parallel":
            yield _across(scene, edge, own, strangers)
        elif not unchanged and len(edge.network.leaves) > 1:
            yield _substitute(scene, edge, stands, own, strangers)


def _without(edge: Edge, name: str) -> Edge:
    branches = [branch for branch in edge.network.branches if branch.name != name]
    network = branches[0] if len(branches) == 1 else Network.parallel(branches)
    return replace(edge, network=network)


def _changed(scene: Scene) -> set[str]:
    """Parts with a raw difference of their own, or on one of whose terminals there is one."""
    changed: set[str] = set()
    for key in scene.open:
        raw = scene.raw[key]
        changed.update(raw.parts)
        changed.update(part_of(where) for where in raw.points)
    return changed


def _edges(scene: Scene, changed: set[str]) -> list[Edge]:
    suspects = set(changed)
    # What a stranger hangs on may have been left alone itself: the old capacitor under the new one.
    for part in scene.found_parts.values():
        if part.foreign and part.designator not in scene.stock.parts:
            for lug in part.kind.terminals:
                net = scene.here.get(f"{part.designator}.{lug.name}")
                if net is not None and len(scene.members[net]) <= 60:
                    suspects.update(part_of(where) for where in scene.members[net])
    edges = []
    for name, part in scene.found_parts.items():
        stranger = f"extra:{name}" in scene.open
        if part.kind.ends is None or part.kind.family not in FAMILIES or not (stranger or name in suspects):
            continue
        a, b = (scene.here.get(f"{name}.{end}") for end in part.kind.ends)
        if a is None or b is None or a == b:
            continue
        drawn = scene.stock.parts.get(name)
        value = part.value if part.value is not None or drawn is None else drawn.value
        edges.append(Edge(a, b, Network.leaf(name, part.kind.family, value, part.ratings)))
    return edges


def _inside(scene: Scene, edges: list[Edge], changed: set[str]) -> set[int]:
    """Nets on which nothing lands but these parts, of the drawing's terminals at most one."""
    mine = {edge.network.name for edge in edges if edge.network.name in changed}
    inside = set()
    for net in {end for edge in edges for end in (edge.a, edge.b)}:
        landed = [w for w in scene.members[net] if not _tie(scene, w)]
        if any(is_net(w) and w in scene.stock.nets for w in landed):
            continue
        terminals = [w for w in landed if not is_net(w)]
        drawn = [w for w in terminals if w in scene.compared]
        if all(part_of(w) in mine for w in terminals) and len(drawn) <= 1:
            inside.add(net)
    return inside


def _tie(scene: Scene, where: str) -> bool:
    part = scene.found_parts.get(part_of(where))
    if part is None:
        return part_of(where).startswith("TB")
    lug = part.kind.lug(where.partition(".")[2])
    return (lug is not None and lug.tie) or "TB" in part.kind.letters


def _gone(scene: Scene) -> dict[int, list[str]]:
    """Stock net -> missing parts with an end on it."""
    out: dict[int, list[str]] = defaultdict(list)
    for name in sorted(scene.missing, key=natural):
        ends = scene.stock.parts[name].kind.ends
        if f"missing:{name}" in scene.open and ends is not None:
            for end in ends:
                out[scene.drawn.index[f"{name}.{end}"]].append(name)
    return out


def _stands_for(scene: Scene, edge: Edge, gone: dict[int, list[str]]) -> str | None:
    """The stock part between whose two nets the network hangs."""
    own = [name for name in edge.network.names if not is_foreign(name)]
    if len(own) > 1:
        return None
    near = own or [
        name
        for net in dict.fromkeys(n for found in (edge.a, edge.b) for n in scene.of_found.get(found, ()))
        for name in gone.get(net, ())
        if scene.stock.parts[name].kind.family == edge.network.family and f"missing:{name}" in scene.open
    ]
    for name in near:
        drawn = scene.stock.parts[name]
        if drawn.kind.ends is None:
            continue
        a, b = (scene.drawn.index[f"{name}.{end}"] for end in drawn.kind.ends)
        for first, second in ((a, b), (b, a)):
            if _belongs(scene, first, edge.a, name) and _belongs(scene, second, edge.b, name):
                return name
    return None


def _belongs(scene: Scene, stock_net: int, found_net: int, name: str) -> bool:
    """Whether the found net has something of the stock net, the part's own ends not counted."""
    if any(part_of(where) != name for where in scene.blocks.get((stock_net, found_net), ())):
        return True
    others = [w for w in scene.drawn.members[stock_net] if part_of(w) != name and w in scene.compared]
    return not others and scene.home.get(found_net, stock_net) == stock_net


def _explained(scene: Scene, edge: Edge, name: str, strangers: list[str]) -> tuple[str, ...]:
    drawn = scene.stock.parts[name]
    ends = {f"{name}.{end}" for end in drawn.kind.ends or ()}
    nets = {scene.drawn.index[where] for where in ends}
    near = {edge.a, edge.b, *edge.inner}
    keys = [f"extra:{stranger}" for stranger in strangers]
    keys += [f"{what}:{name}" for what in ("missing", "value", "rating", "kind", "construction")]
    for key in sorted(scene.open):
        raw = scene.raw[key]
        if raw.sort in ("cut", "join") and (
            set(raw.points) <= ends or (raw.sort == "cut" and raw.stock_net in nets and raw.found_net in near)
        ):
            keys.append(key)
    return scene.take(*keys)


def _substitute(scene: Scene, edge: Edge, name: str, own: str, strangers: list[str]) -> Finding:
    drawn = scene.stock.parts[name]
    network, unit = edge.network, drawn.kind.unit
    called = {leaf.name: scene.found_parts[leaf.name].designator for leaf in network.leaves}
    strangers = list(dict.fromkeys([n for n in called.values() if is_foreign(n)] + strangers))
    values = [
        f"{called[leaf.name]} {show(leaf.own, unit) if leaf.own is not None else 'not read'}" for leaf in network.leaves
    ]
    says = f"{part_words(drawn, label=False)} is made up of {network.say(called)} ({', '.join(values)})"
    fits = True
    value = network.value
    if value is not None and drawn.value:
        off = value / drawn.value - 1
        fits = within_tolerance(drawn, value)
        same = (
            "the value agrees" if abs(off) < 0.005 else f"{percent(off)}, {'within' if fits else 'outside'} tolerance"
        )
        says += f": together {show(value, unit)}, {same}"
    else:
        says += ": one value was not read, so nobody knows the sum"
    low = False
    for quantity in ("W", "V"):
        wanted, got = drawn.ratings.get(quantity), network.rating(quantity)
        if got is not None:
            low = low or (wanted is not None and got < 0.7 * wanted)
            drawn_words = f", drawn {show(wanted, quantity)}" if wanted is not None else ""
            says += f"; together they stand {show(got, quantity, 3)}{drawn_words}"
    ends = tuple(f"{name}.{end}" for end in drawn.kind.ends or ())
    return make(
        scene,
        "substituted-part",
        says + ".",
        parts=[name, *strangers],
        terminals=ends,
        nets={scene.drawn.index[where] for where in ends},
        explains=_explained(scene, edge, name, strangers),
        shares=[f"part {n}" for n in (name, *strangers)],
        row="substituted-part-off"
        if not fits or value is None
        else "substituted-part-low"
        if low
        else "substituted-part",
        places=_places(scene, [*strangers, own]),
    )


def _across(scene: Scene, edge: Edge, name: str, strangers: list[str]) -> Finding:
    part: Part = scene.found_parts[name]
    drawn = scene.stock.parts[name]
    foreign = [part_words(scene.found_parts[s]) for s in strangers]
    ends = tuple(f"{name}.{end}" for end in drawn.kind.ends or ())
    says = f"{some(foreign)} {'is' if len(foreign) == 1 else 'are'} wired across {part_words(part, label=False)}"
    whole = edge.network.value
    if whole is not None and drawn.value:
        says += f": together {show(whole, drawn.kind.unit, 3)}, drawn {show(drawn.value, drawn.kind.unit)}"
    return make(
        scene,
        "bypassed-part",
        says + ".",
        parts=[name, *strangers],
        terminals=ends,
        nets={scene.drawn.index[where] for where in ends},
        explains=scene.take(*(f"extra:{stranger}" for stranger in strangers)),
        shares=[f"part {n}" for n in (name, *strangers)],
        places=_places(scene, strangers),
    )


def _places(scene: Scene, names: list[str]) -> list[Place]:
    out = []
    for name in names:
        part = scene.found_parts.get(name)
        if part is not None and part.read_off:
            out += list(part.places)
    return out
