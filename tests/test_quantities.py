"""Quantities: what was written is read, what is shown reads back, nothing raises."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.quantities import Quantity, read_quantity, read_range, show

UNITS = ("ohm", "F", "H", "Hz", "V", "Vac", "A", "W", "m", "AWG", "%", "s", "")
SMALLEST = {"F": -13, "H": -9, "A": -6, "%": -4}


@st.composite
def given_values(draw: st.DrawFn) -> tuple[float, str]:
    """A value of at most seven digits, within what the trade uses of its unit."""
    unit = draw(st.sampled_from(UNITS))
    digits = draw(st.integers(1, 9_999_999))
    exponent = draw(st.integers(SMALLEST.get(unit, -3), 3))
    sign = draw(st.sampled_from(["", "-"]))
    return float(f"{sign}{digits}e{exponent}"), unit


@given(given_values())
def test_what_is_shown_reads_back(given_value: tuple[float, str]) -> None:
    value, unit = given_value
    back = read_quantity(show(value, unit), unit if unit in ("", "%") else "")
    assert back is not None
    assert back.unit == unit
    assert math.isclose(back.value, value, rel_tol=1e-12)
    assert show(*back) == show(value, unit)


@given(st.floats(1e-12, 1e12), st.sampled_from(UNITS))
def test_computed_values_are_shown_to_four_digits_or_better(value: float, unit: str) -> None:
    back = read_quantity(show(value, unit))
    assert back is not None
    if value >= 10.0 ** SMALLEST.get(unit, -3):
        assert math.isclose(back.value, value, rel_tol=6e-4)


@given(
    st.text(max_size=60) | st.text("0123456789.kKmMuµnpΩ/-+%VacF ", max_size=12), st.sampled_from(UNITS), st.booleans()
)
def test_no_text_raises(text: str, want: str, m_thousand: bool) -> None:
    quantity = read_quantity(text, want, m_thousand)
    assert quantity is None or (quantity.unit in UNITS and math.isfinite(quantity.value))
    both = read_range(text, want)
    assert both is None or both[0].value <= both[1].value


@pytest.mark.parametrize(
    ("text", "want", "value", "unit"),
    [
        ("20k", "ohm", 20e3, "ohm"),
        ("4k7", "ohm", 4.7e3, "ohm"),
        ("R47", "ohm", 0.47, "ohm"),
        ("4R7", "", 4.7, "ohm"),
        ("47R", "", 47.0, "ohm"),
        ("1M5", "ohm", 1.5e6, "ohm"),
        ("22", "ohm", 22.0, "ohm"),
        ("1.5meg", "ohm", 1.5e6, "ohm"),
        ("2MEG", "ohm", 2e6, "ohm"),
        ("52ohm", "", 52.0, "ohm"),
        ("2.2MΩ", "", 2.2e6, "ohm"),
        ("50mohm", "", 0.05, "ohm"),
        ("22\N{OHM SIGN}", "", 22.0, "ohm"),
        ("p33", "F", 0.33e-12, "F"),
        ("4n7", "F", 4.7e-9, "F"),
        (".05", "F", 0.05e-6, "F"),
        ("8.", "F", 8e-6, "F"),
        ("100", "F", 100e-12, "F"),
        (".01u", "F", 1e-8, "F"),
        ("0.01\N{MICRO SIGN}F", "", 1e-8, "F"),
        ("0.01\N{GREEK SMALL LETTER MU}F", "", 1e-8, "F"),
        ("16u", "F", 16e-6, "F"),
        ("1000p", "F", 1e-9, "F"),
        ("2.5mH", "", 2.5e-3, "H"),
        ("2m5", "H", 2.5e-3, "H"),
        ("8H", "", 8.0, "H"),
        ("12u", "H", 12e-6, "H"),
        ("600V", "", 600.0, "V"),
        ("-90V", "", -90.0, "V"),
        ("\N{MINUS SIGN}90V", "", -90.0, "V"),
        ("1.2kV", "", 1200.0, "V"),
        ("115Vac", "", 115.0, "Vac"),
        ("6.3VAC", "", 6.3, "Vac"),
        ("110mA", "", 0.11, "A"),
        ("150MA", "", 0.15, "A"),
        ("1/2W", "", 0.5, "W"),
        ("½W", "", 0.5, "W"),
        ("10%", "", 0.1, "%"),
        ("300mm", "", 0.3, "m"),
        ("12in", "", 0.3048, "m"),
        ("2m", "", 2.0, "m"),
        ("18AWG", "", 18.0, "AWG"),
        ("455kc", "", 455e3, "Hz"),
        ("7Mc/s", "", 7e6, "Hz"),
        ("3.5mc", "", 3.5e6, "Hz"),
        ("30s", "", 30.0, "s"),
        ("yellow-violet-orange", "ohm", 47e3, "ohm"),
    ],
)
def test_reads(text: str, want: str, value: float, unit: str) -> None:
    assert read_quantity(text, want) == Quantity(value, unit)


@pytest.mark.parametrize(
    ("text", "want"),
    [
        ("", ""), ("k", "ohm"), ("charred", ""), ("2x6", ""), ("6V6GT", ""), ("6L6-GB", "V"), ("RG-8", ""),
        ("1/0W", ""), ("20m", "ohm"), ("20m", "F"), ("5MV", ""), ("5MW", ""), ("20u", "ohm"), ("4k7", "F"),
        ("1/2", "F"), ("1e3", "ohm"), ("1,000", "ohm"), ("0x10", "ohm"), ("4k7uF", ""), ("9" * 400, "ohm"),
        ("۵k", "ohm"), ("--5V", ""), ("5V5V", ""),
    ],
)  # fmt: skip
def test_does_not_guess(text: str, want: str) -> None:
    assert read_quantity(text, want) is None


def test_a_drawing_may_write_m_for_a_thousand() -> None:
    assert read_quantity("20M", "ohm", m_thousand=True) == Quantity(20e3, "ohm")
    assert read_quantity("20MΩ", m_thousand=True) == Quantity(20e3, "ohm")
    assert read_quantity("1M5", "ohm", m_thousand=True) == Quantity(1500.0, "ohm")
    assert read_quantity("2meg", "ohm", m_thousand=True) == Quantity(2e6, "ohm")
    assert read_quantity("30MHz", m_thousand=True) == Quantity(30e6, "Hz")


@pytest.mark.parametrize(
    ("text", "want", "low", "high", "unit"),
    [
        ("1.8..30MHz", "", 1.8e6, 30e6, "Hz"),
        ("-50..-40V", "", -50.0, -40.0, "V"),
        ("-40..-50V", "", -50.0, -40.0, "V"),
        ("-5..5V", "", -5.0, 5.0, "V"),
        ("250..290V", "", 250.0, 290.0, "V"),
        ("10..365p", "F", 10e-12, 365e-12, "F"),
        ("100k..1M", "ohm", 100e3, 1e6, "ohm"),
        ("3.5MHz..7MHz", "", 3.5e6, 7e6, "Hz"),
    ],
)
def test_reads_ranges(text: str, want: str, low: float, high: float, unit: str) -> None:
    assert read_range(text, want) == (Quantity(low, unit), Quantity(high, unit))


@pytest.mark.parametrize(
    "text", ["", "..", "5V", "..5V", "5..", "1...3V", "1..2..3V", "1V..2A", "30..10MHz", "500..1M"]
)
def test_is_no_range(text: str) -> None:
    assert read_range(text, "ohm") is None


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (22e3, "ohm", "22 kΩ"), (0.47, "ohm", "0.47 Ω"), (1.5e6, "ohm", "1.5 MΩ"), (0, "ohm", "0 Ω"),
        (22e3 / 3, "ohm", "7.333 kΩ"), (999.999999999, "ohm", "1 kΩ"), (1e-8, "F", "0.01 µF"),
        (250e-12, "F", "250 pF"), (1e-9, "F", "0.001 µF"), (40e-6, "F", "40 µF"), (2.5e-3, "H", "2.5 mH"),
        (8, "H", "8 H"), (250, "V", "250 V"), (-90, "V", "-90 V"), (1200, "V", "1200 V"), (0, "V", "0 V"),
        (6.3, "Vac", "6.3 V AC"), (0.11, "A", "110 mA"), (0.5, "W", "0.5 W"), (0.18, "m", "180 mm"),
        (0.1, "%", "10 %"), (3579545, "Hz", "3.579545 MHz"), (18, "AWG", "18 AWG"),
    ],
)  # fmt: skip
def test_shows(value: float, unit: str, shown: str) -> None:
    assert show(value, unit) == shown


def test_shows_what_was_computed_to_so_many_digits() -> None:
    assert [show(1234.5, "V", 3), show(0.014273, "A", 2), show(120.4, "J", 2), show(-0.0, "V", 2)] == [
        "1230 V", "14 mA", "120 J", "0 V",
    ]  # fmt: skip
