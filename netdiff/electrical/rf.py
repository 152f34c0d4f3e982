"""What a stretch of open wire does in a radio-frequency lead.

A lead that should be coax is, over an unshielded stretch, a coil in series with a matched line: it
reflects, and it radiates. Everything here is an estimate from its length alone, made so that the
truth is not above it: a straight wire far from the chassis has the greatest inductance, and a
current that is the same all along the wire, doubled by its image, radiates most.

>>> effect(0.13, 7e6, 52, 45).swr < 1.2
True
>>> round(swr_of_series(10, 50), 4)
1.221
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from netdiff.electrical import wire
from netdiff.electrical.limits import limit

LIGHT: Final = 299_792_458.0
"""m/s, exact."""

HOW: Final = (
    "upper estimate: a short wire with the full line current all along it, and its image in the chassis in phase"
)
"""How ``Effect.radiated`` is estimated, for whoever reads the figure."""


class Effect(NamedTuple):
    """What a stretch does at one frequency. SI units."""

    hertz: float
    length: float
    fraction: float
    """Length by the wavelength in free space."""
    henries: float
    ohms: float
    """Its reactance."""
    swr: float
    """What it causes alone, in a line of the net's impedance that is matched otherwise."""
    radiated: float | None
    """Watts, an upper estimate; None where the power is not known."""


def wavelength(hertz: float) -> float:
    """Metres in free space."""
    return LIGHT / hertz


def swr_of_series(ohms: float, impedance: float) -> float:
    """Standing-wave ratio of a matched load with a reactance (of either sign) in series.

    With X the reactance and Z the impedance: |Gamma| = |X| / sqrt(4 Z^2 + X^2). Textbook; checked
    beside a general network library.
    """
    x = abs(ohms)
    root = math.hypot(2 * impedance, x)
    return (root + x) / (root - x)


def swr_of_section(line: float, impedance: float, fraction: float) -> float:
    """Standing-wave ratio at the near end of a lossless line of another impedance before a matched load.

    ``fraction`` is its length by the wavelength on it. Line transformation: Z = Zl (Z0 + j Zl t) /
    (Zl + j Z0 t), t the tangent of the electrical length. Textbook.
    """
    t = complex(0, math.tan(2 * math.pi * fraction))
    z = line * (impedance + line * t) / (line + impedance * t)
    gamma = abs((z - impedance) / (z + impedance))
    return (1 + gamma) / (1 - gamma)


def dipole_ohms(fraction: float) -> float:
    """Radiation resistance of a short wire in free space with the same current all along: 80 pi^2 (l/λ)^2.

    Textbook (the elementary dipole). A wire whose ends are open has a quarter of it.
    """
    return 80 * math.pi**2 * fraction**2


def loop_ohms(area: float, hertz: float) -> float:
    """Radiation resistance of a small loop of an area in m²: 320 pi^4 (A/λ²)². Textbook."""
    return 320 * math.pi**4 * (area / wavelength(hertz) ** 2) ** 2


def radiated(length: float, hertz: float, impedance: float, power: float) -> float:
    """Watts that a stretch in a matched line can radiate, an upper estimate: see ``HOW``.

    Never more than there is: beyond a tenth of a wavelength the formula ends, and the whole power is given.
    """
    fraction = length / wavelength(hertz)
    if fraction > limit("short_fraction"):
        return power
    return min(power, 2 * dipole_ohms(fraction) * power / impedance)


def effect(
    length: float, hertz: float, impedance: float, power: float | None = None, thick: float | None = None
) -> Effect:
    """What a stretch of open wire (m) in a line of an impedance (ohms) does; diameter in metres.

    The current of such frequencies keeps to the surface: the inductance is the one with skin effect.
    """
    thick = wire.diameter(limit("hookup_gauge")) if thick is None else thick
    henries = wire.inductance(length, thick, skin=True)
    ohms = wire.reactance(henries, hertz)
    return Effect(
        hertz=hertz,
        length=length,
        fraction=length / wavelength(hertz),
        henries=henries,
        ohms=ohms,
        swr=swr_of_series(ohms, impedance),
        radiated=None if power is None else radiated(length, hertz, impedance, power),
    )


def over_band(
    length: float,
    band: tuple[float, float],
    impedance: float,
    power: float | None = None,
    thick: float | None = None,
) -> tuple[Effect, Effect]:
    """The effect at both ends of a band (Hz)."""
    low, high = (effect(length, hertz, impedance, power, thick) for hertz in band)
    return low, high
