"""How much of its rating a part may carry: resistors by temperature and voltage, capacitors, fuses.

>>> round(resistor_fraction(110, "wirewound"), 2), resistor_volts(1e6, 0.25), fuse_amps(2.0)
(0.8, 500.0, 2.6666666666666665)
"""

from __future__ import annotations

import math
from itertools import pairwise

from netdiff.circuit import Part
from netdiff.electrical.limits import limit, table

METRES_PER_FOOT = 0.3048


def style(part: Part) -> str:
    """Which curve a resistor follows: ``wirewound``, ``film`` or ``composition`` (where nothing is said)."""
    words = set(part.words)
    if words & {"wirewound", "vitreous", "ceramic"}:
        return "wirewound"
    return "film" if words & {"film", "metal-film", "carbon-film", "metal-oxide"} else "composition"


def resistor_fraction(celsius: float, style: str, altitude: float = 0.0) -> float:
    """What part of its rated watts a resistor may turn into heat at a temperature around it; altitude in metres.

    Sources in ``derating.yaml``. KeyError for an unknown style.
    """
    curve = table("derating")["resistors"][style]
    rows = [*((float(x), float(y)) for x, y in curve["rows"]), (float(curve["ends"]), 0.0)]
    thin = table("derating")["altitude"]
    feet = altitude / METRES_PER_FOOT
    air = max(0.0, 1 - float(thin["per_10000_feet"]) * max(0.0, feet - float(thin["feet"])) / 10_000)
    if celsius <= rows[0][0]:
        return rows[0][1] * air
    for (x0, y0), (x1, y1) in pairwise(rows):
        if celsius <= x1:
            return (y0 + (y1 - y0) * (celsius - x0) / (x1 - x0)) * air
    return 0.0


def resistor_watts(part: Part, celsius: float | None = None) -> float | None:
    """The watts that a resistor stands at a temperature (``ambient`` if none is given); None without a rating."""
    rated = part.ratings.get("W")
    if rated is None:
        return None
    return rated * resistor_fraction(limit("ambient") if celsius is None else celsius, style(part))


def resistor_volts(ohms: float, watts: float) -> float:
    """Rated voltage of a resistor: sqrt(P R) (MIL-PRF-39005G 3.5.8), before the greatest that its style stands."""
    return math.sqrt(watts * ohms)


def crest_volts(dc: float, ripple: float | None = None) -> float:
    """What an electrolytic capacitor sees at the most (V): d.c. and the crest of the ripple.

    The rule that rated volts exceed both together is from a capacitor maker's guide. ``ripple`` is the
    crest above d.c.; None for the limit ``electrolytic_ripple`` times d.c.
    """
    return abs(dc) * limit("electrolytic_ripple") if ripple is None else abs(dc) + abs(ripple)


def surge_volts(rated: float) -> float:
    """What an electrolytic capacitor stands for moments (V)."""
    row = table("derating")["electrolytic"]
    return rated * float(row["below"] if rated <= row["up_to"] else row["above"])


def fuse_amps(amps: float) -> float:
    """The least rating (A) of a fuse that carries this current for ever."""
    return amps / limit("fuse_load")


def line_capacitor_class(part: Part) -> str:
    """The safety class of a line capacitor by its words: ``X1`` … ``Y2``, ``X1/Y2``; empty for none."""
    known = table("derating")["line_capacitors"]
    return next((word for word in part.words if set(word.split("/")) <= set(known) - {"source"}), "")


def fit_for_line(part: Part, *, chassis: bool) -> bool:
    """Whether a capacitor's safety class allows it across the line, or from line to chassis."""
    rows = table("derating")["line_capacitors"]
    place = "line_to_chassis" if chassis else "line_to_line"
    return any(rows[one][place] for one in line_capacitor_class(part).split("/") if one)
