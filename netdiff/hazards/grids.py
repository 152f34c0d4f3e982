"""Grids, screens and cathodes: what keeps a tube within its limits, and what happens when it is gone."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from netdiff.circuit import Part, Point
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

BIASED = -3.0
"""Volts. A grid drawn below that is held there by a supply or a grid leak, not by contact potential."""

POSITIVE = 1.0
"""Volts above its cathode at which a grid draws current."""

COUPLED = 5.0
"""Volts of a grid above ground that is coupled to a plate: its cathode follows it."""

SCREEN_AT_WORK = 50.0
"""Volts of a screen that draws current."""


def tubes(side: Side) -> Iterator[tuple[str, Part]]:
    """Tubes with a control grid, regulators and rectifiers left out."""
    for name, part in side.circuit.parts.items():
        if (part.kind.name == "tube" and part.kind.lug("g1")) or part.kind.lug("g1a"):
            yield name, part


def sections(part: Part) -> Iterator[dict[str, Point]]:
    """The electrodes of each section of a tube, by their plain names: ``g1``, ``k``, ``p``, ``g2``."""
    names = [lug.name for lug in part.kind.terminals]
    for suffix in ("", "a", "b"):
        if f"g1{suffix}" in names:
            own = {n: f"{n}{suffix}" for n in ("g1", "g2", "p", "k") if f"{n}{suffix}" in names}
            for shared in ("k", "g2", "p", "f1"):
                if shared not in own and shared in names:
                    own[shared] = shared
            yield {n: f"{part.designator}.{t}" for n, t in own.items()}


def open_grids(side: Side) -> Iterator[Hazard]:
    for name, part in tubes(side):
        for at in sections(part):
            grid = at["g1"]
            if len(side.nets.members[side.nets.index[grid]]) == 1 or side.can_reach(grid):
                continue
            yield Hazard(
                (grid,),
                f"{grid} has no way to ground for direct current: the grid has lost its return.",
                parts=(name,),
                terminals=(grid,),
            )


def lost_bias(side: Side) -> Iterator[Hazard]:
    drawn = side.drawn
    if drawn is None:
        return
    for name, part in tubes(side):
        for at in sections(part):
            yield from _bias(side, drawn, name, at)


def _bias(side: Side, drawn: Side, name: str, at: dict[str, Point]) -> Iterator[Hazard]:
    grid, cathode = at["g1"], at.get("k") or at.get("f1") or side.circuit.ground
    worst: tuple[float, str, str] | None = None
    for state in side.powered:
        before = drawn.direct(state).volts_nominal(grid, cathode)
        now = side.direct(state).volts_nominal(grid, cathode)
        fixed = drawn.direct(state).volts_nominal(grid)
        coupled = fixed is not None and fixed > COUPLED
        if now is not None and now > POSITIVE and not coupled and (before is None or before <= POSITIVE):
            says = f"{grid} stands {show(now, 'V', 3)} above its cathode {when(state)}"
            says += f"; the drawing has {show(before, 'V', 3)}." if before is not None else "."
            worst = (1.0, says, state)
            break
        if before is None or before > BIASED or fixed is None or fixed > BIASED:
            continue  # held by its cathode, if at all
        if now is None:
            says = f"{grid} has no bias {when(state)}: the drawing has {show(before, 'V', 3)} against the cathode."
            worst = (1.0, says, state)
            break
        share = 1 - now / before
        if share > 0.5 and (worst is None or share > worst[0]):
            says = (
                f"{grid} stands at {show(now, 'V', 3)} against its cathode {when(state)}; "
                f"the drawing has {show(before, 'V', 3)}."
            )
            worst = (share, says, state)
    if worst is not None:
        yield Hazard((grid,), worst[1], parts=(name,), terminals=(grid, cathode))


def when(state: str) -> str:
    """``in the state phone``."""
    return f"in the state {state}" if state != "powered" else "with power on"


def screens(side: Side) -> Iterator[Hazard]:
    """A screen that is fed while the plate is not: it takes the whole current."""
    for name, part in tubes(side):
        for at in sections(part):
            if "g2" not in at or "p" not in at or side.same(at["g2"], at["p"]):
                continue
            cathode = at.get("k") or at.get("f1") or side.circuit.ground
            for state in side.powered:
                solved = side.direct(state)
                screen, plate = solved.volts_nominal(at["g2"], cathode), solved.volts_nominal(at["p"], cathode)
                if screen is not None and screen > SCREEN_AT_WORK and (plate is None or plate < 0.1 * screen):
                    fed = show(screen, "V", 3)
                    yield Hazard(
                        (at["g2"],),
                        f"{at['g2']} is fed ({fed}) while {at['p']} has no voltage {when(state)}.",
                        parts=(name,),
                        terminals=(at["g2"], at["p"]),
                    )
                    break


def open_cathodes(side: Side) -> Iterator[Hazard]:
    for name, part in tubes(side):
        for at in sections(part):
            cathode = at.get("k")
            if cathode is None or side.can_reach(cathode):
                continue
            if len(side.nets.members[side.nets.index[cathode]]) == 1 and not side.can_reach(at.get("p", cathode)):
                continue
            yield Hazard(
                (cathode,),
                f"{cathode} has no way to ground in any position of the switches: it floats up until the insulation "
                f"between heater and cathode of {name} takes the plate voltage.",
                parts=(name,),
                terminals=(cathode,),
            )


def shorted_cathodes(side: Side) -> Iterator[Hazard]:
    """Cathode bias that is gone: the cathode as good as on ground where the drawing lifts it."""
    drawn = side.drawn
    if drawn is None:
        return
    for name, part in tubes(side):
        for at in sections(part):
            cathode = at.get("k")
            if cathode is None:
                continue
            for state in side.powered:
                before = drawn.direct(state).volts_nominal(cathode)
                now = side.direct(state).volts_nominal(cathode)
                if before is None or before <= 1.0 or now is None or abs(now) >= 0.1 * before:
                    continue
                if _ohms(side, state, cathode) < 0.2 * _ohms(drawn, state, cathode):
                    yield Hazard(
                        (cathode,),
                        f"{cathode} stands at {show(now, 'V', 3)} {when(state)} where its resistor lifts it to "
                        f"{show(before, 'V', 3)}: the cathode bias is gone.",
                        parts=(name,),
                        terminals=(cathode,),
                    )
                    break


def _ohms(side: Side, state: str, where: Point) -> float:
    return side.ohms(state).between(where).nominal if side.ohms(state).has(where) else inf


RULES = (
    Rule(
        "open-grid-return",
        "a control grid with no way to ground for direct current",
        "A grid without a return drifts positive on its own emission; the tube runs away.",
        "power",
        "common practice; cold readings of grid to ground",
        open_grids,
    ),
    Rule(
        "lost-bias",
        "a grid that has lost more than half of its drawn bias",
        "Without bias the tube draws all the current that its supply can give.",
        "power",
        "common practice: every output and modulator grid at its bias before any plate voltage",
        lost_bias,
        own=False,
    ),
    Rule(
        "lost-bias",
        "a cathode on ground where the drawing lifts it by a resistor",
        "Without its cathode resistor the tube draws too much current.",
        "power",
        "common practice",
        shorted_cathodes,
        own=False,
    ),
    Rule(
        "screen-without-plate",
        "a screen that is fed while its plate has no voltage",
        "The screen takes the whole current of the tube and melts within seconds.",
        "power",
        "common practice: never screen voltage without plate voltage",
        screens,
    ),
    Rule(
        "overstressed",
        "a cathode with no way to ground",
        "The insulation between heater and cathode is good for 90 to 200 V; when it goes, the heater supply is live.",
        "power",
        "common practice; heater to cathode ratings of tube manuals",
        open_cathodes,
    ),
)
