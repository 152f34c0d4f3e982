"""Quantities as the trade writes them, read into SI units and written for a person at a bench.

>>> read_quantity("4k7", "ohm"), read_quantity("250mmf"), read_quantity(".05", "F")
(Quantity(value=4700.0, unit='ohm'), Quantity(value=2.5e-10, unit='F'), Quantity(value=5e-08, unit='F'))
>>> show(22000, "ohm"), show(1e-8, "F"), show(0.18, "m"), show(6.3, "Vac"), show(0.1, "%")
('22 kΩ', '0.01 µF', '180 mm', '6.3 V AC', '10 %')

Old drawings and modern SI differ on what an ``m`` is worth, and general-purpose readers of quantities
follow SI: ``mf`` would be a millifarad there and ``250mmf`` nothing at all. Hence a table of our own;
the tests lay it beside general-purpose readers wherever the two worlds agree.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Final, NamedTuple

from netdiff.markings import read_bands

LONGEST: Final = 40
"""Nobody writes a quantity with more characters; what is longer is something else."""


class Quantity(NamedTuple):
    """A value in SI units.

    ``unit`` is ``ohm``, ``F``, ``H``, ``Hz``, ``V`` (d.c., or not said), ``Vac`` (r.m.s.), ``A``, ``W``,
    ``m``, ``AWG``, ``s``, ``%`` (the value is then a fraction: 0.1 for 10 %), or empty.
    """

    value: float
    unit: str


class _Scale(NamedTuple):
    """What a suffix means: the number times ``factor`` times ten to the ``exponent``, in ``unit``."""

    unit: str
    exponent: int = 0
    factor: int = 1


# Unit: the names it goes by, and what may stand before a name. Lower case; `u` stands for `µ` too.
# `mf` and `mfd` are microfarads, `mmf` and `uuf` picofarads, `mc` megacycles: so old drawings write them.
_UNITS: Final[dict[str, tuple[tuple[str, ...], dict[str, int]]]] = {
    "ohm": (("ohm", "ohms", "Ω", "ω"), {"": 0, "k": 3, "meg": 6, "g": 9}),
    "F": (("f", "fd"), {"": 0, "m": -6, "u": -6, "n": -9, "p": -12, "mm": -12, "uu": -12}),
    "H": (("h", "hy", "hys", "henry", "henries"), {"": 0, "m": -3, "u": -6, "n": -9}),
    "Hz": (("hz", "cps", "c/s"), {"": 0, "k": 3, "m": 6, "meg": 6, "g": 9}),
    "V": (("v", "vdc", "volt", "volts"), {"": 0, "k": 3, "m": -3, "u": -6}),
    "Vac": (("vac", "vrms"), {"": 0, "k": 3, "m": -3}),
    "A": (("a", "amp", "amps"), {"": 0, "m": -3, "u": -6}),
    "W": (("w", "watt", "watts"), {"": 0, "k": 3, "m": -3, "u": -6}),
    "s": (("s", "sec"), {"": 0, "m": -3, "u": -6}),
}

_SUFFIXES: Final[dict[str, _Scale]] = {
    before + name: _Scale(unit, exponent)
    for unit, (names, befores) in _UNITS.items()
    for name in names
    for before, exponent in befores.items()
} | {
    "r": _Scale("ohm"),
    "kc": _Scale("Hz", 3),
    "kcs": _Scale("Hz", 3),
    "mc": _Scale("Hz", 6),
    "mcs": _Scale("Hz", 6),
    "m": _Scale("m"),
    "cm": _Scale("m", -2),
    "mm": _Scale("m", -3),
    "in": _Scale("m", -4, 254),
    "inch": _Scale("m", -4, 254),
    "inches": _Scale("m", -4, 254),
    "ft": _Scale("m", -4, 3048),
    "mil": _Scale("m", -7, 254),
    "mils": _Scale("m", -7, 254),
    "awg": _Scale("AWG"),
    "ga": _Scale("AWG"),
    "%": _Scale("%", -2),
}

# Before ohms the case of `m` tells a million from a thousandth.
_MEGOHM: Final = {f"M{name}" for name in ("ohm", "ohms", "OHM", "OHMS", "Ohm", "Ohms", "Ω", "ω")}
_MILLIOHM: Final = {f"m{name}" for name in ("ohm", "ohms", "Ohm", "Ohms", "Ω", "ω")}

# A capital M before these is an old drawing's way to write capitals (`150 MA`, `2.5 MH`, `8 MFD`);
# before volts and watts nobody can say whether thousandths or millions are meant, so it is not read.
_CAPITAL_M_IS_SMALL: Final = frozenset({"A", "H", "F", "Hz", "m"})

# Multipliers that may stand alone, by the unit that is wanted. A lone `m` of a resistor or capacitor
# is not read: it has meant a thousand, a millionth and a thousandth.
_BARE: Final[dict[str, dict[str, int]]] = {
    "": {"k": 3, "K": 3, "M": 6, "G": 9, "u": -6, "n": -9, "p": -12},
    "ohm": {"k": 3, "K": 3, "M": 6, "G": 9},
    "F": {"u": -6, "U": -6, "n": -9, "N": -9, "p": -12, "P": -12},
    "H": {"m": -3, "u": -6, "U": -6, "n": -9},
    "Hz": {"k": 3, "K": 3, "M": 6, "G": 9},
    "V": {"k": 3, "K": 3, "m": -3, "u": -6},
    "Vac": {"k": 3, "K": 3, "m": -3},
    "A": {"m": -3, "u": -6},
    "W": {"k": 3, "K": 3, "m": -3},
    "s": {"m": -3, "u": -6},
}

_ALIKE: Final = str.maketrans(
    {
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{OHM SIGN}": "Ω",
        "\N{MINUS SIGN}": "-",
        "½": "1/2",
        "¼": "1/4",
        "¾": "3/4",
        " ": None,
        "\N{NO-BREAK SPACE}": None,
    }
)

_PLAIN: Final = re.compile(r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:/([1-9][0-9]*))?([^0-9.+-]*)")
_POINT_LETTER: Final = re.compile(r"([+-]?)([0-9]*)([RrLkKMGmuUnNpP])([0-9]+)([A-Za-zΩω]*)")


@lru_cache(maxsize=65536)
def read_quantity(text: str, want: str = "", m_thousand: bool = False) -> Quantity | None:
    """Reads one quantity; None if the text is none.

    ``want`` is the unit that a bare number or a bare multiplier has (a bare number of farads is µF
    with a decimal point, else pF). ``m_thousand``: the drawing writes M for a thousand ohms.
    A unit that is written wins over ``want``; the caller sees by ``unit`` what was written. Where ohms
    are wanted, colour bands (``yellow-violet-orange``) are read too.
    """
    if len(text) > LONGEST:
        return None
    text = text.translate(_ALIKE)
    plain = _PLAIN.fullmatch(text)
    if plain is None:
        bands = read_bands(text) if want == "ohm" and "-" in text else None
        return Quantity(bands.ohms, "ohm") if bands else _read_point_letter(text, want, m_thousand)
    number, divisor, suffix = plain.groups()
    scale = _scale_of(suffix, want, m_thousand) if suffix else _scale_of_bare(number, divisor, want)
    return None if scale is None else _scaled(number, divisor, scale)


def read_range(text: str, want: str = "", m_thousand: bool = False) -> tuple[Quantity, Quantity] | None:
    """Reads ``1.8..30MHz`` or ``-50..-40V``, lower end first; None if the text is no range.

    A bare first number has the multiplier and unit of the second.
    """
    first, dots, second = text.partition("..")
    if not dots or not first or first[-1] == "." or second.startswith("."):
        return None
    high = read_quantity(second, want, m_thousand)
    if first[-1].isdigit() and read_quantity(first) is not None:
        first += second.lstrip("+-−0123456789.")
    low = read_quantity(first, want, m_thousand)
    if low is None or high is None or low.unit != high.unit:
        return None
    if low.value > high.value:
        # `-40..-50V` is natural; `500..1M` is a slip, since nobody means 500 megohms there.
        return (high, low) if low.value <= 0 else None
    return low, high


def _scale_of(suffix: str, want: str, m_thousand: bool) -> _Scale | None:
    if suffix.lower() in ("meg", "megs"):
        return _Scale(want, 6) if want in ("", "ohm", "Hz") else None
    if suffix in _MEGOHM:
        return _Scale("ohm", 3 if m_thousand else 6)
    if suffix in _MILLIOHM:
        return _Scale("ohm", -3)
    if want != "m" and suffix in _BARE.get(want, {}):
        exponent = 3 if m_thousand and suffix == "M" and want == "ohm" else _BARE[want][suffix]
        return _Scale(want, exponent)
    if suffix == "m" and want not in ("", "m"):
        return None
    scale = _SUFFIXES.get(suffix) or _SUFFIXES.get(suffix.lower())
    if scale is None or suffix == "M":
        return None
    return scale if not suffix.startswith("M") or scale.unit in _CAPITAL_M_IS_SMALL else None


def _scale_of_bare(number: str, divisor: str | None, want: str) -> _Scale | None:
    if want != "F":
        return _Scale(want, -2) if want == "%" else _Scale(want)
    if divisor:
        return None
    return _Scale("F", -6 if "." in number else -12)


def _read_point_letter(text: str, want: str, m_thousand: bool) -> Quantity | None:
    """The letter in place of the decimal point (IEC 60062): ``4k7``, ``R47``, ``p33``, ``4k7ohm``."""
    match = _POINT_LETTER.fullmatch(text)
    if match is None:
        return None
    sign, whole, letter, part, name = match.groups()
    named = _SUFFIXES.get(name.lower()) if name else _Scale(want)
    if named is None or named.exponent or named.factor != 1:
        return None
    if letter in "RrL":
        if named.unit not in ("", "ohm") or (letter == "L" and named.unit != "ohm"):
            return None
        scale = _Scale("ohm", -3 if letter == "L" else 0)
    else:
        allowed = _BARE.get(named.unit, {})
        if letter not in allowed:
            return None
        thousand = m_thousand and letter == "M" and named.unit == "ohm"
        scale = _Scale(named.unit, 3 if thousand else allowed[letter])
    return _scaled(f"{sign}{whole or '0'}.{part}", None, scale)


def _scaled(number: str, divisor: str | None, scale: _Scale) -> Quantity | None:
    if scale.factor == 1:
        # The exponent goes into the text, so that `4.7n` is the float nearest to 4.7e-9.
        value = float(f"{number}e{scale.exponent}")
    else:
        value = float(number) * scale.factor / 10**-scale.exponent
    if divisor:
        value /= int(divisor)
    return Quantity(value, scale.unit) if math.isfinite(value) else None


# Unit: what is shown from which value up, smallest first. Microfarads and picofarads, never nano- or
# millifarads: so the parts and the drawings of the time are marked.
_SHOWN: Final[dict[str, tuple[tuple[float, int, str], ...]]] = {
    "ohm": ((0.0, -3, "mΩ"), (0.1, 0, "Ω"), (1e3, 3, "kΩ"), (1e6, 6, "MΩ"), (1e9, 9, "GΩ")),
    "F": ((0.0, -12, "pF"), (1e-9, -6, "µF"), (1.0, 0, "F")),
    "H": ((0.0, -9, "nH"), (1e-7, -6, "µH"), (1e-3, -3, "mH"), (1.0, 0, "H")),
    "Hz": ((0.0, 0, "Hz"), (1e3, 3, "kHz"), (1e6, 6, "MHz"), (1e9, 9, "GHz")),
    "V": ((0.0, -3, "mV"), (0.1, 0, "V"), (1e4, 3, "kV")),
    "Vac": ((0.0, -3, "mV AC"), (0.1, 0, "V AC"), (1e4, 3, "kV AC")),
    "A": ((0.0, -6, "µA"), (1e-3, -3, "mA"), (1.0, 0, "A")),
    "W": ((0.0, -3, "mW"), (0.1, 0, "W"), (1e3, 3, "kW")),
    "m": ((0.0, -3, "mm"), (1.0, 0, "m")),
    "s": ((0.0, -3, "ms"), (0.1, 0, "s")),
    "J": ((0.0, -3, "mJ"), (0.1, 0, "J")),
    "%": ((0.0, -2, "%"),),
    "AWG": ((0.0, 0, "AWG"),),
    "": ((0.0, 0, ""),),
}


@lru_cache(maxsize=65536)
def show(value: float, unit: str, digits: int = 0) -> str:
    """Writes a value (SI units) for a person: ``22 kΩ``, ``0.01 µF``, ``-90 V``, ``6.3 V AC``.

    What was given with up to seven digits is shown as it was given; what was computed, to four, or to ``digits``.
    """
    value = float(f"{value:.{digits}g}") if digits else value
    steps = _SHOWN[unit]
    if value == 0:
        base = next((step for step in steps if step[1] == 0), steps[-1])
        return f"0 {base[2]}".rstrip()
    size = _rounded(abs(value))
    _, exponent, name = next(step for step in reversed(steps) if size >= step[0])
    number = f"{size * 10.0**-exponent:.9g}"
    if "e" in number:
        number = f"{float(number):.15f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{'-' if value < 0 else ''}{number} {name}".rstrip()


def _rounded(size: float) -> float:
    """To seven digits if that is what the value is, else to four."""
    given = float(f"{size:.7g}")
    return given if math.isclose(given, size, rel_tol=1e-12) else float(f"{size:.4g}")
