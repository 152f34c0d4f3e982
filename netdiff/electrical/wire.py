"""Round copper wire: gauges, resistance, inductance and skin effect.

>>> round(diameter(22) * 1e3, 4), round(ohms(0.3, 22) * 1e3, 2)
(0.6438, 15.89)
>>> round(inductance(0.1, 1e-3) * 1e9, 1)
104.8
"""

from __future__ import annotations

import math
from typing import Final

from netdiff.electrical.limits import table

MU_0: Final = 4e-7 * math.pi
"""Permeability of free space, H/m (exact by the older SI, to nine digits by the present one)."""


def diameter(gauge: float) -> float:
    """Metres, of a gauge number of the American wire gauge (0000 is -3). Source in ``wire.yaml``."""
    row = table("wire")["gauge"]
    return float(row["inches"] * 0.0254 * row["ratio"] ** ((row["base"] - gauge) / row["steps"]))


def gauge_of(metres: float) -> float:
    """The gauge number of a diameter, not rounded. ValueError below or at zero."""
    row = table("wire")["gauge"]
    return float(row["base"] - row["steps"] * math.log(metres / (row["inches"] * 0.0254), row["ratio"]))


def resistivity(celsius: float = 20.0) -> float:
    """Ohm metres of annealed copper, linear about 20 °C. Source in ``wire.yaml``."""
    row = table("wire")["copper"]
    return float(row["ohm_metre"] * (1 + row["per_kelvin"] * (celsius - row["celsius"])))


def ohms(length: float, gauge: float, celsius: float = 20.0) -> float:
    """Resistance of a length (m) of copper wire to direct current."""
    return resistivity(celsius) * length / (math.pi * diameter(gauge) ** 2 / 4)


def inductance(length: float, thick: float, *, skin: bool = False) -> float:
    """Henries of a straight round copper wire far from everything; length and diameter in metres.

    2e-7 l (ln(2 l / r) - 3/4), and with ``skin`` -1 in place of -3/4, where the current keeps to the
    surface. Source: Rosa, Bulletin of the Bureau of Standards 4 (1907-8), eq. 11; Grover, Inductance
    Calculations, eq. 8, both as cited by a magnetics encyclopaedia; the limit with skin effect after
    Wadell (1991). The dropped term r/l is less than 0.3 % where l is 50 diameters or more; for a stub
    shorter than its own thickness the formula ends, and zero is given. A chassis nearby lowers the
    value: this is an upper estimate.
    """
    if length <= 0 or thick <= 0:
        return 0.0
    return max(0.0, 2e-7 * length * (math.log(4 * length / thick) - (1.0 if skin else 0.75)))


def inductance_over(length: float, thick: float, height: float) -> float:
    """Henries of a long wire whose axis runs at a height (m) over a metal chassis, current on the surface.

    2e-7 l acosh(h / r): textbook line over a plane; from memory. ValueError if the wire would touch.
    """
    if height <= thick / 2:
        raise ValueError("the wire lies on the chassis")
    return 2e-7 * length * math.acosh(2 * height / thick)


def skin_depth(hertz: float, celsius: float = 20.0) -> float:
    """Metres to which a current of this frequency enters copper: sqrt(rho / (pi f mu0))."""
    return math.sqrt(resistivity(celsius) / (math.pi * hertz * MU_0))


def reactance(henries: float, hertz: float) -> float:
    """Ohms: 2 pi f L."""
    return 2 * math.pi * hertz * henries
