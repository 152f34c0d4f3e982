"""What the wiring does: resistances, voltages and currents, r.f. runs, clearances, stored charge. SI units throughout.

>>> from netdiff.electrical import Interval
>>> Interval(90.0, 100.0, 110.0).holds(95.0)
True
"""

from __future__ import annotations

from netdiff.electrical.alternating import Alternating
from netdiff.electrical.direct import measured_supplies, operate
from netdiff.electrical.interval import Interval
from netdiff.electrical.ohmmeter import Ohmmeter, Unreadable
from netdiff.electrical.solved import Operating

__all__ = ["Alternating", "Interval", "Ohmmeter", "Operating", "Unreadable", "measured_supplies", "operate"]
