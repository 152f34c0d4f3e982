"""Clearances beside published rows, typed here from the sources once more.

IPC-2221 table 6-1 in a second-hand copy; its predecessor IPC-D-275 from a mailing list of 2 August 2002; IPC-9592's
rule 0.6 mm + 0.005 mm per volt (the same copy); table III of a standards magazine of March 2001; Paschen's law with
the constants of high-voltage hobbyists and the minimum of a connector page; gaps of needles from a reference book's
graph as read in a post of 2005.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.electrical import clearance


@pytest.mark.parametrize(
    ("volts", "millimetres"),
    [(15, 0.1), (30, 0.1), (50, 0.6), (100, 0.6), (150, 0.6), (170, 1.25), (250, 1.25), (300, 1.25), (500, 2.5)],
)
def test_bare_conductors(volts: float, millimetres: float) -> None:
    assert clearance.least(volts) * 1e3 == pytest.approx(millimetres)


@pytest.mark.parametrize(
    ("volts", "column", "millimetres"),
    [
        (600, "bare", 3.0), (1000, "bare", 5.0), (2000, "bare", 10.0), (3000, "bare", 15.0),
        (1000, "coated", 2.325), (1000, "leads", 3.025), (2000, "leads", 6.075), (3000, "leads", 9.125),
    ],
)  # fmt: skip
def test_above_500_volts_the_step_is_added(volts: float, column: str, millimetres: float) -> None:
    assert clearance.least(volts, column) * 1e3 == pytest.approx(millimetres)


@pytest.mark.parametrize(("volts", "older"), [(50, 0.64), (300, 1.27), (500, 2.54)])
def test_the_predecessor_differs_by_its_rounding(volts: float, older: float) -> None:
    assert clearance.least(volts) * 1e3 == pytest.approx(older, rel=0.07)


@given(st.floats(301, 5000))
def test_the_rule_for_power_supplies_is_of_the_same_size(volts: float) -> None:
    """0.6 mm + 0.005 mm per volt of crest lies within a millimetre of the table."""
    assert abs(clearance.least(volts) * 1e3 - (0.6 + 0.005 * volts)) < 1.0


@pytest.mark.parametrize(
    ("volts", "millimetres"),
    [
        (700, 2.5),
        (840, 3.2),
        (1400, 4.2),
        (2800, 8.4),
        (7000, 17.5),
        (9800, 25),
        (14000, 37),
        (28000, 80),
        (42000, 130),
    ],
)
def test_equipment_rows(volts: float, millimetres: float) -> None:
    assert clearance.least_in_equipment(volts) * 1e3 == pytest.approx(millimetres)


def test_mains_parts() -> None:
    assert clearance.least_on_mains(354) == pytest.approx(3e-3)
    assert clearance.least_on_mains(163, reinforced=True) == pytest.approx(6e-3)
    assert clearance.least_on_mains(400) is None


@given(st.floats(0, 20000), st.floats(0, 20000))
def test_more_volts_never_ask_for_less(a: float, b: float) -> None:
    low, high = sorted((a, b))
    for column in ("bare", "high", "coated", "leads"):
        assert clearance.least(low, column) <= clearance.least(high, column)
    assert clearance.least_in_equipment(low) <= clearance.least_in_equipment(high)


@pytest.mark.parametrize(
    ("millimetres", "volts"), [(0.1, 865), (0.5, 2879), (1, 5034), (2, 8943), (5, 19480), (10, 35500)]
)
def test_paschen(millimetres: float, volts: float) -> None:
    assert clearance.breakdown(millimetres / 1e3) == pytest.approx(volts, rel=1e-3)


@given(st.floats(1e-7, 0.3))
def test_every_clearance_is_far_below_breakdown(gap: float) -> None:
    """Never under the minimum of 327 V; and what a table allows for a gap is a third of its breakdown at the most."""
    assert clearance.breakdown(gap) >= 327
    allowed = max((v for v in range(100, 20000, 100) if clearance.least(v) <= gap), default=0)
    assert allowed == 0 or 3 * allowed <= clearance.breakdown(gap) * 1.01


def test_needles_arc_over_more_than_the_table_allows() -> None:
    """A little over 3 kV crest at 0.1 inch, over 25 kV at 1 inch: read off a graph (copy)."""
    assert clearance.least(3000) > 0.00254
    assert clearance.least(25000) > 0.0254


def test_altitude() -> None:
    """1.48 at 5000 m: a note of GB 4943.1 (copy). Between from memory."""
    assert clearance.altitude_factor(0) == clearance.altitude_factor(2000) == 1.0
    assert clearance.altitude_factor(5000) == pytest.approx(1.48)
    assert 1.0 < clearance.altitude_factor(2500) < clearance.altitude_factor(3500) < 1.48
