"""Gauges and resistance of copper wire beside a published table.

Source: wire table in Floyd, Electric Circuit Fundamentals, 2nd edition, as shown on the page "wirega" of a physics
reference of a state university (seen); two further public tables give the same figures. NBS Handbook 100 "Copper Wire
Tables" (1966) takes its diameters from ASTM B258-61 (title page and foreword seen; its tables were not readable).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.electrical import wire

OHMS_PER_1000_FEET = {
    10: 0.9989, 12: 1.588, 14: 2.525, 16: 4.016, 18: 6.385, 20: 10.15,
    22: 16.14, 24: 25.67, 26: 40.81, 28: 64.90, 30: 103.2,
}  # fmt: skip


@pytest.mark.parametrize(("gauge", "published"), OHMS_PER_1000_FEET.items())
def test_resistance_is_the_published_one(gauge: int, published: float) -> None:
    assert wire.ohms(304.8, gauge) == pytest.approx(published, rel=5e-4)


def test_six_gauges_are_half_the_thickness_and_39_are_92_times() -> None:
    """The definition of the series: 36 is 5 mils, 0000 is 460 mils (ASTM B258; from memory)."""
    assert wire.diameter(36) == pytest.approx(5 * 25.4e-6)
    assert wire.diameter(-3) == pytest.approx(460 * 25.4e-6)
    assert wire.diameter(16) / wire.diameter(22) == pytest.approx(2, rel=0.005)


@given(st.floats(-3, 40))
def test_a_gauge_and_its_diameter_are_one(gauge: float) -> None:
    assert wire.gauge_of(wire.diameter(gauge)) == pytest.approx(gauge, abs=1e-9)


def test_copper_gains_four_tenths_of_a_percent_a_degree() -> None:
    """alpha = 0.00393 per degree at 20 degrees C: NBS Handbook 100, from memory."""
    assert wire.ohms(1, 20, 70) / wire.ohms(1, 20) == pytest.approx(1 + 50 * 0.00393)


def test_a_hand_of_hookup_wire_is_below_what_a_common_ohmmeter_resolves() -> None:
    assert wire.ohms(0.3, 22) == pytest.approx(0.01589, rel=1e-3)
    assert math.isclose(wire.ohms(0.6, 22), 2 * wire.ohms(0.3, 22))
