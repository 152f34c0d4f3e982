"""What is printed on a part: colour bands, and the preferred values that parts are made in.

>>> read_bands("yellow-violet-orange-silver")
Bands(ohms=47000.0, tolerance=0.1)
>>> preferred(50e3, "E12"), preferred(20e3, "E12")
((47000.0,), (18000.0, 22000.0))

Sources: IEC 60062 for the colours, IEC 60063 for the series.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

_DIGITS: Final = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
_EXPONENTS: Final = {colour: digit for digit, colour in enumerate(_DIGITS)} | {"gold": -1, "silver": -2, "pink": -3}
# Grey is left out: published lists give it three different tolerances.
_TOLERANCES: Final = {
    "brown": 0.01, "red": 0.02, "green": 0.005, "blue": 0.0025, "violet": 0.001,
    "orange": 0.0005, "yellow": 0.0002, "gold": 0.05, "silver": 0.1,
}  # fmt: skip
_NO_BAND: Final = 0.2
_SPELLED: Final = {"gray": "grey", "purple": "violet"}

_E24: Final = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
SERIES: Final[dict[str, tuple[int, ...]]] = {"E6": _E24[::4], "E12": _E24[::2], "E24": _E24}
"""Preferred numbers of one decade."""


class Bands(NamedTuple):
    """Ohms, and the tolerance as a fraction."""

    ohms: float
    tolerance: float


def read_bands(text: str) -> Bands | None:
    """Reads colour bands joined by ``-``, first digit first; None if the text is none.

    Three bands (20 %), four (two digits, multiplier, tolerance) or five (three digits).
    """
    colours = [_SPELLED.get(colour, colour) for colour in text.lower().split("-")]
    if not 3 <= len(colours) <= 5:
        return None
    tolerance = _NO_BAND if len(colours) == 3 else _TOLERANCES.get(colours.pop())
    *digits, last = colours
    if tolerance is None or last not in _EXPONENTS or any(colour not in _DIGITS for colour in digits):
        return None
    number = "".join(str(_DIGITS.index(colour)) for colour in digits)
    return Bands(float(f"{number}e{_EXPONENTS[last]}"), tolerance)


def preferred(value: float, series: str = "E24") -> tuple[float, ...]:
    """The preferred value nearest to ``value`` (by ratio of the error to it), or both where two are as near."""
    decade = math.floor(math.log10(value))
    near = [float(f"{n}e{e - 1}") for e in (decade - 1, decade, decade + 1) for n in SERIES[series]]
    least = min(abs(candidate - value) for candidate in near)
    return tuple(n for n in near if math.isclose(abs(n - value), least, rel_tol=1e-9, abs_tol=value * 1e-12))
