"""A quantity with its bounds: the least, the nominal and the greatest that the parts' tolerances allow."""

from __future__ import annotations

from math import inf
from typing import NamedTuple


class Interval(NamedTuple):
    """SI units; ``math.inf`` stands for an open circuit."""

    low: float
    nominal: float
    high: float

    @property
    def open(self) -> bool:
        """No path at all, whatever the tolerances."""
        return self.low == inf

    def holds(self, value: float, slack: float = 0.0) -> bool:
        """Whether a measured value lies within, give or take ``slack`` of each bound (a fraction)."""
        low, high = self.low - abs(self.low) * slack, self.high
        return low <= value <= (high if high == inf else high + abs(high) * slack)

    def meets(self, other: Interval) -> bool:
        """Whether both can be true at once."""
        return self.low <= other.high and other.low <= self.high


NOTHING = Interval(inf, inf, inf)
"""An open circuit."""

SHORT = Interval(0.0, 0.0, 0.0)
