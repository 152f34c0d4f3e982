"""What tubes stand: plates and screens beside their greatest ratings, heaters beside their cathodes, and what all
heaters of a winding draw together."""

from __future__ import annotations

from collections.abc import Iterator

from netdiff.circuit import Part, Point
from netdiff.comparison.words import some
from netdiff.electrical.limits import limit
from netdiff.electrical.supplies import HEATER_VOLTS
from netdiff.hazards.grids import sections, tubes, when
from netdiff.hazards.rule import Hazard, Rule
from netdiff.quantities import show
from netdiff.readings.side import Side

MORE = 1.1
"""What is above a rating in the drawing too is told where it grew by more than this."""


STIFF = 2e4
"""Ohms. What is fed through more lowers its own voltage as its current grows; common practice."""


def too_high(side: Side) -> Iterator[Hazard]:
    """Plates and screens above their greatest direct voltage, and further than the drawing has them."""
    drawn = side.drawn
    if drawn is None:
        return
    high: dict[Point, str] = {}
    for _, part in tubes(side):
        for at in sections(part):
            cathode = at.get("k") or at.get("f1") or side.circuit.ground
            for electrode, fact in (("p", "plate_volts"), ("g2", "screen_volts")):
                rated = part.kind.facts.get(fact)
                if electrode not in at or not isinstance(rated, float):
                    continue
                where = at[electrode]
                now, state = _most(side, where, cathode)
                before, _ = _most(drawn, where, cathode)
                if now > rated and now > MORE * before and side.direct(state).behind(where, cathode) < STIFF:
                    of = f", drawn {show(before, 'V', 3)}" if before else ""
                    high[where] = f"{where} stands at {show(now, 'V', 3)} {when(state)} ({part.kind.type}: "
                    high[where] += f"{show(rated, 'V')} at most{of})"
    if high:
        parts = tuple(dict.fromkeys(where.partition(".")[0] for where in high))
        yield Hazard(("electrodes", *high), f"{some(list(high.values()))}.", parts, tuple(high))


def _most(side: Side, where: Point, cathode: Point) -> tuple[float, str]:
    seen = [(side.direct(state).volts_nominal(where, cathode), state) for state in side.powered]
    return max(((volts, state) for volts, state in seen if volts is not None), default=(0.0, ""))


def heater_to_cathode(side: Side) -> Iterator[Hazard]:
    """Direct voltage between a heater and its cathode that the drawing does not put there."""
    drawn = side.drawn
    if drawn is None:
        return
    stands = limit("heater_to_cathode")
    apart: dict[Point, str] = {}
    for name, part in side.circuit.parts.items():
        for cathode in _cathodes(part):
            now, state = _apart(side, f"{name}.h1", cathode)
            if now > stands and now > MORE * _apart(drawn, f"{name}.h1", cathode)[0]:
                apart[cathode] = f"{name} ({show(now, 'V', 3)} {when(state)})"
    if apart:
        yield Hazard(
            ("heaters", *apart),
            f"Between the heater and the cathode of {some(list(apart.values()))} stands more than the "
            f"{show(stands, 'V')} that most types take.",
            tuple(dict.fromkeys(where.partition(".")[0] for where in apart)),
            tuple(apart),
        )


def _cathodes(part: Part) -> list[Point]:
    if part.kind.name != "tube" or part.kind.lug("h1") is None:
        return []
    return [f"{part.designator}.{lug.name}" for lug in part.kind.terminals if lug.name in ("k", "ka", "kb")]


def _apart(side: Side, a: Point, b: Point) -> tuple[float, str]:
    seen = [(side.direct(state).volts_nominal(a, b), state) for state in side.powered]
    return max(((abs(volts), state) for volts, state in seen if volts is not None), default=(0.0, ""))


def heater_current(side: Side) -> Iterator[Hazard]:
    """Heater windings that feed more than the drawing's."""
    if side.drawn is None:
        return
    before = _drawn_by(side.drawn)
    for winding, heaters in _drawn_by(side).items():
        was, now = sum(before.get(winding, {}).values()), sum(heaters.values())
        more = [name for name, amps in heaters.items() if amps > before.get(winding, {}).get(name, 0.0)]
        if was and more and now > max(MORE * was, was + 0.25):
            yield Hazard(
                ("heaters", winding),
                f"The heater winding at {winding} feeds {show(now, 'A', 3)} with {some(more)}; as drawn it feeds "
                f"{show(was, 'A', 3)}.",
                (*more, winding.partition(".")[0]),
            )


def _drawn_by(side: Side) -> dict[Point, dict[str, float]]:
    """By the first terminal of a heater winding the amperes of each tube and lamp straight across it."""
    index = side.nets.index
    out: dict[Point, dict[str, float]] = {}
    for winding in side.circuit.windings:
        if not winding.volts or winding.volts > HEATER_VOLTS:
            continue
        points = [f"{winding.part}.{terminal}" for terminal in winding.terminals]
        nets = {index[where] for where in points if where in index}
        held = out.setdefault(points[0], {})
        for name, part in side.circuit.parts.items():
            ends = [f"{name}.{end}" for end in _heater(part)]
            there = {index[where] for where in ends if where in index}
            amps = part.kind.facts.get("heater_amps") or part.ratings.get("A")
            if len(there) == 2 and there <= nets and amps:
                held[name] = float(amps)
    return out


def _heater(part: Part) -> tuple[str, ...]:
    names = {lug.name for lug in part.kind.terminals}
    if part.kind.name == "lamp":
        return part.kind.ends or ()
    if part.kind.name != "tube":
        return ()
    return ("f1", "f2") if "f1" in names else ("h1", "h2") if "h1" in names else ()


RULES = (
    Rule(
        "overstressed",
        "a plate or screen above its greatest voltage, and above the drawing's",
        "It arcs, or the screen runs red and the tube with it.",
        "power",
        "greatest ratings of the tube manuals, as the catalogue has them",
        too_high,
        own=False,
    ),
    Rule(
        "overstressed",
        "direct voltage between a heater and its cathode",
        "When the insulation between them goes, the heater supply is live.",
        "power",
        "common practice: 90 to 100 V for most types of the day",
        heater_to_cathode,
        own=False,
    ),
    Rule(
        "overstressed",
        "a heater winding that feeds more than drawn",
        "The transformer runs hot, and with it everything that hangs on it.",
        "deliver",
        "heater currents of the tube manuals",
        heater_current,
        own=False,
    ),
)
