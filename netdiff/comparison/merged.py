"""One circuit of what is known of a unit: as found where somebody looked, as drawn where nobody did.

It is what a meter is predicted from. Points are under their stock names where they have one, so that states, loads and
charts of the drawing hold for it as they stand.
"""

from __future__ import annotations

from dataclasses import replace

from netdiff.circuit import Circuit, Part, Point, Run, Winding, part_of, point, terminal_of
from netdiff.comparison.results import Comparison
from netdiff.comparison.scene import Scene, build
from netdiff.nets import Union, joints


def scene_of(comparison: Comparison) -> Scene:
    """The two circuits of a comparison laid over each other as it laid them."""
    reading = comparison.reading
    return build(comparison.stock, comparison.found, guess=reading.guess, blame=reading.blame)


def as_found(comparison: Comparison, scene: Scene | None = None) -> Circuit:
    """The unit as it is as far as anybody knows. Near linear in the number of terminals."""
    scene = scene or scene_of(comparison)
    stock, unit = scene.stock, scene.found.circuit
    parts = {name: _part(part, stock.parts.get(name)) for name, part in scene.found_parts.items()}
    for name, part in stock.parts.items():
        if name not in parts and name not in scene.missing:
            parts[name] = part
    return Circuit(
        title=unit.title,
        file=unit.file,
        ground=stock.ground,
        zones={**stock.zones, **unit.zones},
        parts=parts,
        nets={**stock.nets, **unit.nets},
        runs=(*scene.runs, *_by_their_own_names(scene), *_completing(scene)),
        insulated=unit.insulated,
        windings=_windings(scene, parts),
        states={**stock.states, **unit.states},
        loads=tuple(load for load in stock.loads if {part_of(load.a), part_of(load.b)} - {""} <= parts.keys()),
        readings=stock.readings,
        signals=stock.signals,
        drawing=stock.drawing,
        ohms_per_volt=stock.ohms_per_volt,
        production=stock.production,
    )


def _part(part: Part, drawn: Part | None) -> Part:
    """A part as found; what nobody read off it is as drawn."""
    if drawn is None:
        return part
    same = part.kind is drawn.kind and (part.value is None or part.value == drawn.value)
    return replace(
        part,
        designator=drawn.designator,
        value=part.value if part.value is not None or part.kind is not drawn.kind else drawn.value,
        span=part.span or (drawn.span if same else None),
        tolerance=part.tolerance if part.tolerance is not None or not same else drawn.tolerance,
        ratings={**drawn.ratings, **part.ratings} if same else part.ratings,
        label=part.label or drawn.label,
        zone=part.zone or drawn.zone,
        at=part.at or (drawn.at if part.kind is drawn.kind else ""),
    )


def _windings(scene: Scene, parts: dict[str, Part]) -> tuple[Winding, ...]:
    same = scene.alignment.same
    told = tuple(
        winding._replace(part=same.get(winding.part, winding.part)) for winding in scene.found.circuit.windings
    )
    wound = {winding.part for winding in told}
    return tuple(w for w in told if w.part in parts) + tuple(
        w for w in scene.stock.windings if w.part in parts and w.part not in wound
    )


def _by_their_own_names(scene: Scene) -> list[Run]:
    """The drawing speaks of a socket's pins where the part in it has other terminals: a diode in a tube's place."""
    out = []
    for own, where in scene.alignment.alias.items():
        name, terminal = part_of(where), terminal_of(own)
        part = scene.found_parts.get(name)
        if part is not None and part.kind.lug(terminal_of(where)) is None and part.kind.lug(terminal) is not None:
            out.append(Run(point(name, terminal), where, conductor="body", evidence="as-drawn"))
    return out


def _completing(scene: Scene) -> list[Run]:
    """What holds together beyond the runs that the file writes, because nobody looked and the drawing has it."""
    wired = Union()
    for a, b in joints(scene.runs):
        wired.join(a, b)
    out: list[Run] = []

    def hold(a: Point, b: Point) -> None:
        if wired.find(a) != wired.find(b):
            wired.join(a, b)
            out.append(Run(a, b, evidence="as-drawn"))

    for points in scene.members:
        for where in points[1:]:
            hold(points[0], where)
    for number, points in enumerate(scene.drawn.members):
        # Names that the file does not use, and tie points that nobody looked at, are where their net is.
        loose = [where for where in points if _nobody_looked(scene, where)]
        home = scene.own.get(number)
        at = next((w for w in scene.members[home] if w in scene.drawn.index), "") if home is not None else ""
        for where in loose:
            hold(at or loose[0], where)
    return out


def _nobody_looked(scene: Scene, where: Point) -> bool:
    if where in scene.compared or where in scene.traced or where in scene.landing:
        return False
    name = part_of(where)
    if not name:
        return True
    part = scene.found_parts.get(name) or scene.stock.parts.get(name)
    return (
        part is not None
        and name not in scene.missing
        and (part.kind.any_terminal or part.kind.lug(where.partition(".")[2]) is not None)
    )
