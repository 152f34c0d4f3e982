"""Markings and old units against published values, with the source beside each.

The words of confidence: *seen*, read in the named source; *copy*, read in a transcription; *from
memory*, not read anywhere; *computed*, by the independent means that is named.
"""

from __future__ import annotations

import math

import eseries
import pytest
import rkm_codes
from quantiphy import Quantity as General

from netdiff.markings import SERIES, preferred, read_bands
from netdiff.quantities import read_quantity, show


@pytest.mark.parametrize(
    ("bands", "ohms", "tolerance"),
    [
        # Worked examples of an instrumentation tutorial on IEC 60062 colour bands: seen.
        ("brown-black-red-gold", 1e3, 0.05),
        ("yellow-violet-red-gold", 4.7e3, 0.05),
        ("red-red-orange-gold", 22e3, 0.05),
        ("brown-black-black-gold-brown", 10.0, 0.01),
    ],
)
def test_colour_bands(bands: str, ohms: float, tolerance: float) -> None:
    assert read_bands(bands) == (ohms, tolerance)


# IEC 60062:2016, as transcribed on two public pages: copy.
DIGITS = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white")
MULTIPLIERS = {colour: 10.0**digit for digit, colour in enumerate(DIGITS)} | {
    "gold": 0.1,
    "silver": 0.01,
    "pink": 0.001,
}
# Three transcriptions, agreeing after one misprint (violet): copy. Without a band 20 %: copy.
TOLERANCES = {
    "brown": 0.01, "red": 0.02, "green": 0.005, "blue": 0.0025, "violet": 0.001, "orange": 0.0005, "yellow": 0.0002,
    "gold": 0.05, "silver": 0.1,
}  # fmt: skip


@pytest.mark.parametrize("multiplier", MULTIPLIERS)
def test_colour_table(multiplier: str) -> None:
    for number in range(10, 100):
        first, second = DIGITS[number // 10], DIGITS[number % 10]
        read = read_bands(f"{first}-{second}-{multiplier}")
        assert read is not None
        assert math.isclose(read.ohms, number * MULTIPLIERS[multiplier])
        assert read.tolerance == 0.2
        for colour, tolerance in TOLERANCES.items():
            assert read_bands(f"{first}-{second}-{multiplier}-{colour}") == (read.ohms, tolerance)


@pytest.mark.parametrize(
    "bands", ["red-red", "red-red-plaid", "gold-red-red", "red-red-red-grey", "red-red-red-red-red-red"]
)
def test_no_colour_bands(bands: str) -> None:
    assert read_bands(bands) is None


RKM = [
    # IEC 60062, the letter in place of the point: from memory.
    ("4K7", "ohm", 4700.0), ("2R2", "ohm", 2.2), ("R47", "ohm", 0.47), ("1M0", "ohm", 1e6),
    ("4n7", "F", 4.7e-9), ("p33", "F", 0.33e-12),
]  # fmt: skip


@pytest.mark.parametrize(("code", "unit", "value"), RKM)
def test_rkm(code: str, unit: str, value: float) -> None:
    assert read_quantity(code, unit) == (value, unit)


@pytest.mark.parametrize("letter", "RkMGunp")
def test_rkm_beside_a_general_reader(letter: str) -> None:
    """Computed: the rkm_codes library, which implements IEC 60062 of its own."""
    rkm_codes.set_prefs(rkm_maps=rkm_codes.IEC60062_MAPS)
    for code in (f"{whole}{letter}{part}" for whole in ("", "1", "47") for part in ("0", "5", "68")):
        general = rkm_codes.from_rkm(code)
        ours = read_quantity(code, {"Ω": "ohm", "F": "F"}[general.units])
        assert ours is not None
        assert math.isclose(ours.value, float(general), rel_tol=1e-12)


@pytest.mark.parametrize("name", ["E6", "E12", "E24"])
def test_preferred_numbers(name: str) -> None:
    """IEC 60063, computed: the eseries library."""
    assert SERIES[name] == tuple(eseries.series(eseries.ESeries[name]))


@pytest.mark.parametrize("name", ["E6", "E12", "E24"])
@pytest.mark.parametrize("value", [1.0, 9.6, 47.5, 99.0, 0.031, 68e3, 5.05e5, 9.9e6])
def test_nearest_preferred_value(name: str, value: float) -> None:
    """Computed: the eseries library."""
    assert any(
        math.isclose(eseries.find_nearest(eseries.ESeries[name], value), near) for near in preferred(value, name)
    )


OLD_VALUES = [
    # Old catalogue values and the nearest preferred ones: computed with the eseries library, ties by hand.
    (".05mfd", "F", ("0.047 µF",), ("0.051 µF",)),
    (".02mfd", "F", ("0.018 µF", "0.022 µF"), ("0.02 µF",)),
    (".01mfd", "F", ("0.01 µF",), ("0.01 µF",)),
    (".25mfd", "F", ("0.27 µF",), ("0.24 µF",)),
    (".5mfd", "F", ("0.47 µF",), ("0.51 µF",)),
    ("8mfd", "F", ("8.2 µF",), ("8.2 µF",)),
    ("16mfd", "F", ("15 µF",), ("16 µF",)),
    ("500mmf", "F", ("470 pF",), ("510 pF",)),
    ("250mmf", "F", ("270 pF",), ("240 pF",)),
    ("50K", "ohm", ("47 kΩ",), ("51 kΩ",)),
    ("25K", "ohm", ("27 kΩ",), ("24 kΩ",)),
    ("250K", "ohm", ("270 kΩ",), ("240 kΩ",)),
    ("500K", "ohm", ("470 kΩ",), ("510 kΩ",)),
    ("20K", "ohm", ("18 kΩ", "22 kΩ"), ("20 kΩ",)),
    ("2K", "ohm", ("1.8 kΩ", "2.2 kΩ"), ("2 kΩ",)),
    ("400ohm", "ohm", ("390 Ω",), ("390 Ω",)),
]


@pytest.mark.parametrize(("old", "unit", "e12", "e24"), OLD_VALUES)
def test_old_values(old: str, unit: str, e12: tuple[str, ...], e24: tuple[str, ...]) -> None:
    read = read_quantity(old, unit)
    assert read is not None
    assert tuple(show(value, unit) for value in preferred(read.value, "E12")) == e12
    assert tuple(show(value, unit) for value in preferred(read.value, "E24")) == e24


@pytest.mark.parametrize(
    ("mark", "want", "value", "unit"),
    [
        # A question-and-answer page on old capacitor markings, and a mailing list of 2012: seen.
        ("1mfd", "", 1e-6, "F"), ("1mf", "", 1e-6, "F"), ("1MF", "", 1e-6, "F"), ("1MFD", "", 1e-6, "F"),
        ("120mmF", "", 120e-12, "F"), ("120mmf", "", 120e-12, "F"), ("120mmfd", "", 120e-12, "F"),
        ("120uuF", "", 120e-12, "F"), ("120µµF", "", 120e-12, "F"),
        # A parts catalogue of 1940, quoted on that page: seen.
        ("0.000005Mfd", "", 5e-12, "F"),
        # Millihenries, not microhenries; kilocycles and megacycles: the same pages: seen.
        ("2.5mhy", "", 2.5e-3, "H"), ("2.5mH", "", 2.5e-3, "H"), ("455kc", "", 455e3, "Hz"), ("14mc", "", 14e6, "Hz"),
        # A radio technician's page on old drawings: K is a thousand, lower-case omega is ohms: seen.
        ("10K", "ohm", 10e3, "ohm"), ("330ω", "", 330.0, "ohm"),
        # MEG is 10^6 ohms: from memory.
        ("1MEG", "ohm", 1e6, "ohm"),
        # Bare numbers of an old drawing: microfarads with a decimal point, else picofarads; ohms: from memory.
        (".002", "F", 0.002e-6, "F"), ("250", "F", 250e-12, "F"), ("400", "ohm", 400.0, "ohm"),
    ],
)  # fmt: skip
def test_marks_on_old_drawings(mark: str, want: str, value: float, unit: str) -> None:
    read = read_quantity(mark, want)
    assert read is not None
    assert read.unit == unit
    assert math.isclose(read.value, value, rel_tol=1e-12)


def test_a_maker_who_writes_m_for_a_thousand() -> None:
    """The same technician's page: 10MΩ for 10 kΩ on some makers' drawings: seen."""
    assert read_quantity("10MΩ", m_thousand=True) == (10e3, "ohm")


MODERN = ["Ω", "kΩ", "MΩ", "µF", "nF", "pF", "µH", "mH", "H", "mV", "V", "kV", "µA", "mA", "A", "W", "kHz", "MHz"]


@pytest.mark.parametrize("suffix", MODERN)
def test_modern_units_beside_a_general_reader(suffix: str) -> None:
    """Computed: the quantiphy library, which reads SI; old units are what it does not know."""
    for number in ("1", "4.7", ".05", "220", "0.001"):
        general = General(number + suffix)
        ours = read_quantity(number + suffix)
        assert ours is not None
        assert ours.unit == {"Ω": "ohm"}.get(general.units, general.units)
        assert math.isclose(ours.value, float(general), rel_tol=1e-12)
