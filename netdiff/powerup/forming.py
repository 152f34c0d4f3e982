"""Electrolytics: the series resistor with which they are formed, how long, and the leakage that passes.

>>> round(leakage(20e-6, 450) * 1000, 2), series_resistor(450), series_resistor(150)
(1.1, 100000.0, 33000.0)
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from netdiff.circuit import Circuit, Part
from netdiff.powerup.anatomy import Anatomy
from netdiff.powerup.stages import Ask, figure
from netdiff.quantities import show

_E12: Final = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
_FORMED: Final = ("supply", "bias", "control")


def leakage(farads: float, volts: float) -> float:
    """The greatest leakage, amperes, of an electrolytic of this capacitance at this rating: K C + 0.3 mA."""
    row = figure("leakage")
    upto: dict[int, float] = row["upto"]
    k = next((value for limit, value in sorted(upto.items()) if volts <= limit), upto[max(upto)])
    return k * farads * 1e6 * 1e-3 + float(row["plus"])


def series_resistor(volts: float) -> float:
    """Ohms that let 5 mA through at the rated voltage at most, the next greater of the series E12."""
    ohms = volts / figure("forming")["amps"]
    decade = 1.0
    while decade * 100 <= ohms:
        decade *= 10
    return next((n * decade for n in _E12 if n * decade >= ohms * (1 - 1e-9)), 100 * decade)


def electrolytics(circuit: Circuit) -> Iterator[tuple[str, Part]]:
    for name, part in circuit.parts.items():
        if part.kind.name == "electrolytic":
            yield name, part


def asks(anatomy: Anatomy) -> Iterator[Ask]:
    """One reading for each: those on supplies must be read, a cathode's bypass may be."""
    circuit, ways = anatomy.circuit, anatomy.ways
    fed = {net for one in anatomy.supplies for net in one.reached}
    for name, part in electrolytics(circuit):
        volts = part.ratings.get("V")
        must = any(ways.net(f"{name}.{end}") in fed for end in "+-")
        if part.value is None or not volts:
            yield Ask(
                name,
                "amps",
                0.0,
                None,
                "trade",
                must=must,
                says="its rating is not on the drawing: read it off the can",
            )
            continue
        ohms = series_resistor(volts)
        says = (
            f"at {show(volts, 'V')} through {show(ohms, 'ohm')}, {_watts(volts, ohms)}"
            f"{'; above the table' if volts > max(figure('leakage')['upto']) else ''}"
        )
        yield Ask(
            name, "amps", 0.0, leakage(part.value, volts), "trade", f"{name}.+", f"{name}.-", must=must, says=says
        )


def _watts(volts: float, ohms: float) -> str:
    """Twice what a shorted capacitor would leave in the resistor."""
    usual = (0.5, 1.0, 2.0, 5.0, 10.0)
    need = 2 * volts**2 / ohms
    return show(next((w for w in usual if w >= need), need), "W")
