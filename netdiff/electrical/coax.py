"""Coaxial cables by their type, and what a cable of another type does in a lead.

>>> cable("RG8/U").ohms, cable("rg-58a/u").volts, cable("RG-1")
(52.0, 1400.0, None)
>>> [said for said in differences("RG-8", "RG-174")][1]
'RG-174 stands 1500 V AC, RG-8 4000 V AC'
"""

from __future__ import annotations

import math
import re
from functools import cache
from typing import NamedTuple

from netdiff.electrical.limits import table
from netdiff.electrical.rf import LIGHT, swr_of_section
from netdiff.quantities import show

_TYPE = re.compile(r"(RG)[- ]?(\d+)[- ]?([A-Z]?)(?:[- ]?/?U)?", re.IGNORECASE)


class Cable(NamedTuple):
    """A type of coaxial cable. SI units; ``volts`` r.m.s."""

    name: str
    ohms: float
    farads_per_metre: float
    velocity: float
    """By the velocity of light."""
    diameter: float
    volts: float
    source: str = ""
    sure: tuple[str, ...] = ()
    """How well ohms, farads, velocity, diameter and volts are known, in that order."""


@cache
def _cables() -> dict[str, Cable]:
    return {
        name: Cable(
            name,
            float(row["ohm"]),
            float(row["pf_per_foot"]) * 1e-12 / 0.3048,
            float(row["velocity"]),
            float(row["inch"]) * 0.0254,
            float(row["volts"]),
            row["source"],
            tuple(row["sure"].split()),
        )
        for name, row in table("coax")["coax"].items()
    }


def cables() -> tuple[Cable, ...]:
    """Every type that the table has."""
    return tuple(_cables().values())


def cable(written: str) -> Cable | None:
    """The type that somebody means by ``RG-8``, ``RG8/U``, ``rg 58 A/U``; None for one that the table lacks."""
    match = _TYPE.fullmatch(written.strip())
    return _cables().get(f"RG-{match[2]}{match[3].upper().removesuffix('U')}") if match else None


def peak_volts(power: float, impedance: float, swr: float = 1.0, depth: float = 0.0) -> float:
    """Crest of the voltage on a line (V): sqrt(2 P Z), times the square root of the standing-wave ratio, times 1 + m.

    ``power`` is the carrier (W), ``depth`` the depth of its modulation m. Textbook.
    """
    return math.sqrt(2 * power * impedance * swr) * (1 + depth)


def swr_of(one: Cable, impedance: float, length: float, hertz: float) -> float:
    """The standing-wave ratio that a length (m) of this cable causes alone in a line of another impedance."""
    return swr_of_section(one.ohms, impedance, length * hertz / (one.velocity * LIGHT))


def differences(drawn: str, found: str) -> tuple[str, ...]:
    """How a cable's type differs from the drawing's, a phrase each; empty where they pass for each other.

    Impedances within 5 % pass: 50, 52 and 53.5 ohms were one class (common practice). Types that the
    table lacks are named, and nothing is concluded from them.
    """
    one, other = cable(drawn), cable(found)
    if one is None or other is None:
        unknown = [name for name, known in ((drawn, one), (found, other)) if known is None]
        return tuple(f"no table here has {name}" for name in dict.fromkeys(unknown))
    said = []
    if abs(other.ohms / one.ohms - 1) > 0.05:
        said.append(f"{found} is {show(other.ohms, 'ohm')}, {drawn} {show(one.ohms, 'ohm')}")
    if abs(other.diameter / one.diameter - 1) > 0.2:
        said.append(
            f"{found} is {show(round(other.diameter, 4), 'm')} thick, {drawn} {show(round(one.diameter, 4), 'm')}"
        )
    if other.volts < one.volts:
        said.append(f"{found} stands {show(other.volts, 'Vac')}, {drawn} {show(one.volts, 'Vac')}")
    return tuple(said)
