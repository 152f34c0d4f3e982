"""Open stretches of a radio-frequency lead: bounds and laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from netdiff.electrical import rf, wire
from netdiff.electrical.limits import standard

lengths = st.floats(0.005, 2.0)
hertz = st.floats(1e5, 60e6)


@given(lengths, lengths, hertz)
def test_a_longer_stretch_is_never_better(a: float, b: float, f: float) -> None:
    short, long = (rf.effect(length, f, 52, 45) for length in sorted((a, b)))
    assert short.henries <= long.henries and short.swr <= long.swr
    assert (short.radiated or 0) <= (long.radiated or 0)


@given(lengths, hertz, hertz)
def test_a_higher_frequency_is_never_better(length: float, a: float, b: float) -> None:
    low, high = rf.over_band(length, (min(a, b), max(a, b)), 52, 45)
    assert low.swr <= high.swr and low.ohms <= high.ohms and low.fraction <= high.fraction
    assert (low.radiated or 0) <= (high.radiated or 0)


@given(lengths, hertz, st.floats(1, 600), st.floats(0.1, 5000))
def test_it_never_radiates_more_than_there_is(length: float, f: float, impedance: float, power: float) -> None:
    assert 0 <= rf.radiated(length, f, impedance, power) <= power


def test_beyond_a_tenth_of_a_wavelength_nothing_is_estimated() -> None:
    assert rf.radiated(2.0, 28e6, 50, 100) == 100
    assert rf.radiated(0.1, 28e6, 50, 100) < 1


def test_without_power_nothing_is_said_of_radiation() -> None:
    assert rf.effect(0.1, 7e6, 52).radiated is None


@given(lengths, st.floats(1e-4, 4e-3), st.floats(1e-4, 4e-3))
def test_thicker_wire_has_less_inductance(length: float, a: float, b: float) -> None:
    thin, thick = sorted((a, b))
    assert wire.inductance(length, thick) <= wire.inductance(length, thin)


def test_a_stub_shorter_than_its_thickness_has_none() -> None:
    assert wire.inductance(1e-4, 2e-3) == 0 == wire.inductance(0, 1e-3)


def test_the_gauge_that_nobody_noted_is_the_limits() -> None:
    thick = wire.diameter(standard()("hookup_gauge"))
    assert rf.effect(0.1, 7e6, 52) == rf.effect(0.1, 7e6, 52, thick=thick)


def test_it_says_how_it_is_estimated() -> None:
    assert "upper estimate" in rf.HOW and "short wire" in rf.HOW


@pytest.mark.parametrize("ohms", [0.0, 1e-9])
def test_nothing_in_series_is_a_match(ohms: float) -> None:
    assert rf.swr_of_series(ohms, 52) == pytest.approx(1)
