"""Ratings beside published rows.

Chart after MIL-R-39017 on a reference page (metal film, wirewound: seen); NSWC Crane SD-18 in a document library (half
a watt, 1 megohm: 500 V at half its rating: seen); MIL-PRF-39005G 3.5.8, E = sqrt(P R) (seen); a fuse maker's guide,
2.0 A -> 2.67 A (seen). Carbon composition and surge factors: from memory, loose checks.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.circuit import Kind, Part
from netdiff.electrical import derating

CHART = {
    "film": {70: 100, 85: 80, 100: 60, 120: 40, 140: 20, 145: 10},
    "wirewound": {70: 100, 110: 80, 150: 60, 190: 40, 240: 20, 260: 10},
}


@pytest.mark.parametrize(("style", "celsius", "percent"), [(s, c, p) for s in CHART for c, p in CHART[s].items()])
def test_the_chart(style: str, celsius: float, percent: float) -> None:
    assert derating.resistor_fraction(celsius, style) == pytest.approx(percent / 100)


@given(st.floats(-40, 400), st.floats(-40, 400), st.sampled_from(["film", "wirewound", "composition"]))
def test_hotter_never_carries_more(a: float, b: float, style: str) -> None:
    low, high = sorted((a, b))
    assert 1 >= derating.resistor_fraction(low, style) >= derating.resistor_fraction(high, style) >= 0


def test_carbon_composition_ends_at_130_degrees() -> None:
    """MIL-R-11, from memory."""
    assert derating.resistor_fraction(130, "composition") == 0
    assert derating.resistor_fraction(100, "composition") == pytest.approx(0.5)


def test_thin_air_carries_less_heat() -> None:
    """10 % less for each 10 000 ft above 5000 ft (the same chart)."""
    feet = 0.3048
    assert derating.resistor_fraction(25, "film", 5000 * feet) == 1
    assert derating.resistor_fraction(25, "film", 15000 * feet) == pytest.approx(0.9)


def test_rated_voltage() -> None:
    assert derating.resistor_volts(1e6, 0.25) == pytest.approx(500)


def test_a_fuse_is_loaded_to_three_quarters() -> None:
    assert derating.fuse_amps(2.0) == pytest.approx(2.67, abs=0.005)


def test_surge_of_electrolytics() -> None:
    """450 V -> 495 V, 300 V -> 345 V: IEC 60384-4, from memory."""
    assert derating.surge_volts(450) == pytest.approx(495)
    assert derating.surge_volts(300) == pytest.approx(345)


@pytest.mark.parametrize(
    ("words", "line", "chassis"),
    [
        ((), False, False), (("paper",), False, False), (("X2",), True, False), (("X1",), True, False),
        (("Y2",), True, True), (("Y1",), True, True), (("X1/Y2",), True, True),
    ],
)  # fmt: skip
def test_where_a_line_capacitor_may_be(words: tuple[str, ...], line: bool, chassis: bool) -> None:
    """X where a failure gives no shock, Y where it could: draft of IEC 60384-14 in a mailing list of 1999 (seen);
    replacement across the line X2, X1/Y2 or Y2, from line to chassis Y2 or X1/Y2, never X2: a club's page (copy)."""
    one = Part("C1", Kind("capacitor", family="capacitor"), 1e-8, words=words)
    assert derating.fit_for_line(one, chassis=False) is line
    assert derating.fit_for_line(one, chassis=True) is chassis
