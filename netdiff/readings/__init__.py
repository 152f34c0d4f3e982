"""What a meter should read: the drawing's chart, computed; what the wiring as found predicts; what the meter said."""

from __future__ import annotations

from netdiff.readings.bearing import PartLoad, loads
from netdiff.readings.chart import Row, chart, row_between
from netdiff.readings.side import Side, sides

__all__ = ["PartLoad", "Row", "Side", "chart", "loads", "row_between", "sides"]
