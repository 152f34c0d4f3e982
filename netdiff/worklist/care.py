"""The caution that one step needs beyond the usual ones, from what its points are on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from netdiff.circuit import UNFOLLOWED, Net, Point, part_of
from netdiff.comparison.limits import hazard_volts
from netdiff.comparison.words import some
from netdiff.worklist.bench import natural
from netdiff.worklist.goal import Goal
from netdiff.worklist.steps import Change

MAINS: Final = (
    "Mains wiring: the plug lies in sight, out of its socket. Local electrical code says how it is done, and by whom."
)
EARTH: Final = "Protective earth: its bond is proven before anything else gets power."
FOLLOW: Final = "A lead here was not followed: follow it to its end before it is cut."


class Care:
    """Cautions for the steps of one goal. Common practice."""

    def __init__(self, goal: Goal) -> None:
        self.goal = goal
        self.declared: dict[int, list[Net]] = {}
        for name, net in goal.stock.nets.items():
            if name in goal.net_of_drawing:
                self.declared.setdefault(goal.net_of_drawing[name], []).append(net)
        ground = goal.net_of_drawing.get(goal.stock.ground, -1)
        self.storing: dict[int, set[str]] = {}
        """Net -> capacitors on it that can keep a charge: a net without a name can hold one too."""
        for where, number in goal.net_of_drawing.items():
            if number != ground and _stores(goal, part_of(where)):
                self.storing.setdefault(number, set()).add(part_of(where))

    def __call__(self, touched: Iterable[Point], change: Change) -> tuple[str, ...]:
        """Cautions for a step that touches these points."""
        points = set(touched)
        numbers = {self.goal.net_of_drawing[where] for where in points if where in self.goal.net_of_drawing}
        nets = [net for number in sorted(numbers) for net in self.declared.get(number, ())]
        out = []
        if points & self.goal.live:
            out.append(MAINS)
        if any(net.purpose == "earth" for net in nets):
            out.append(EARTH)
        high = sorted(net.name for net in nets if _hurts(net))
        charged = {name for name in map(part_of, points) if _stores(self.goal, name)}
        if not high:
            charged |= {name for number in numbers for name in self.storing.get(number, ())}
        stores = sorted(charged, key=natural)
        if high or stores:
            where = some([*high, *stores])
            out.append(f"Charge may stand on {where}: discharge and prove it dead right before this step.")
        if any(UNFOLLOWED in (run.a, run.b) for run in change.runs_off):
            out.append(FOLLOW)
        return tuple(out)


def _hurts(net: Net) -> bool:
    return net.purpose in ("supply", "bias") and (net.volts is None or abs(net.volts) >= hazard_volts())


def _stores(goal: Goal, name: str) -> bool:
    """A capacitor that can keep a charge that hurts: electrolytic, or rated for such a voltage at a microfarad."""
    part = goal.unit.parts.get(name) or goal.parts.get(name)
    if part is None or part.kind.family != "capacitor":
        return False
    volts = part.ratings.get("V", hazard_volts())
    return volts >= hazard_volts() and (part.kind.polarised or (part.value or 0.0) >= 1e-6)
