"""The upright tracks of the channel between two columns: which lines share one, and in which order they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from netdiff.drawing.layout import Ref

NEAR: Final = 3.0
"""Level pieces of different lines nearer than this are hard to tell apart; at half of it they look like one."""


class Pin(NamedTuple):
    """A line in a channel: its number, its heights on the left and on the right, its ends that are in the channel.

    Lines that are ``plain`` share a track where they share an end; a line that differs has its own.
    """

    wire: int
    left: float
    right: float
    ends: tuple[Ref, ...]
    plain: bool


@dataclass(slots=True)
class Track:
    """One upright line with its level pieces to the left and to the right, by height."""

    wires: list[int] = field(default_factory=list)
    left: list[float] = field(default_factory=list)
    right: list[float] = field(default_factory=list)
    place: int = 0
    last: int = 0
    """Where the line goes on upright a second time, at the far side of the channel, and ..."""
    level: float | None = None
    """... the height at which it crosses the channel to get there."""

    @property
    def low(self) -> float:
        return min(self.left + self.right)

    @property
    def high(self) -> float:
        return max(self.left + self.right)

    @property
    def straight(self) -> bool:
        return self.high - self.low < 0.5


def tracks(pins: Sequence[Pin]) -> list[Track]:
    """The tracks of one channel, each in its place."""
    group_of: dict[Ref, Track] = {}
    out: list[Track] = []
    for pin in pins:
        track = next((group_of[end] for end in pin.ends if end in group_of), None) if pin.plain else None
        if track is None:
            track = Track()
            out.append(track)
        track.wires.append(pin.wire)
        track.left.append(pin.left)
        track.right.append(pin.right)
        if pin.plain:
            for end in pin.ends:
                group_of.setdefault(end, track)
    _order([track for track in out if not track.straight], out)
    return out


def _order(bent: list[Track], every: list[Track]) -> None:
    """Exchange two as long as that lessens what the order costs; what then still lies on another takes a detour."""
    bent.sort(key=lambda t: (_mean(t.left) < _mean(t.right), -t.low if t.left[0] < t.right[0] else t.low))
    best = _cost(bent)
    for _ in range(8 if len(bent) < 30 else 2):
        better = False
        for i in range(len(bent)):
            for j in range(i + 1, len(bent)):
                bent[i], bent[j] = bent[j], bent[i]
                cost = _cost(bent)
                if cost < best - 0.5:
                    best, better = cost, True
                else:
                    bent[i], bent[j] = bent[j], bent[i]
        if not better or best < 1:
            break
    for place, track in enumerate(bent, 1):
        track.place = place
    if best >= ALIKE:
        _detours(bent, every)


ALIKE: Final = 100.0


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)


def _cost(order: list[Track]) -> float:
    """A crossing costs 1; level pieces of two lines that look like one ``ALIKE``, hardly apart a tenth of it."""
    total = 0.0
    for i, near in enumerate(order):
        low, high = near.low, near.high
        for far in order[i + 1 :]:
            total += sum(low < y < high for y in far.left)  # on its way to the left it meets ``near``
            total += sum(far.low < y < far.high for y in near.right)
            total += sum(_alike(y, z) for y in far.left for z in near.right)
    return total


def _alike(y: float, z: float) -> float:
    gap = abs(y - z)
    return ALIKE if gap < NEAR / 2 else ALIKE / 10 if gap < NEAR else 0.0


def _detours(bent: list[Track], every: list[Track]) -> None:
    """Two lines that change places, each where the other comes from: one of them goes upright twice."""
    taken = [y for track in every for y in (*track.left, *track.right)]
    last = len(bent) + 1
    for i, near in enumerate(bent):
        for far in bent[i + 1 :]:
            if not any(_alike(y, z) >= ALIKE for y in far.left for z in near.right):
                continue
            one = next((t for t in (far, near) if len(t.wires) == 1 and t.level is None), None)
            if one is None:
                continue
            one.level = _free((one.left[0] + one.right[0]) / 2, taken)
            taken.append(one.level)
            one.place, one.last = 0, last
            last += 1


def _free(wanted: float, taken: list[float]) -> float:
    """The height nearest to the one wanted at which nothing else runs."""
    for step in range(400):
        for y in (wanted + step, wanted - step):
            if all(abs(y - other) >= NEAR for other in taken):
                return y
    return wanted
