"""Inductance of a straight wire beside an independent method, and beside exact skin effect.

No printed worked value could be read. Independent method: Neumann's mutual inductance of two parallel filaments,
averaged over the distance between two points of the wire's cross-section by numerical quadrature (the distribution of
that distance in a disc is from geometrical probability). The formula drops a term r/l, so that it lies below.

Negative check: one public calculator writes the formula with a common logarithm and comes to 63.5 nH for 10 cm of 2 mm
wire. That is wrong.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ive

from netdiff.electrical import wire


def filament(length: float, distance: float) -> float:
    """Neumann's mutual inductance of two parallel filaments, henries."""
    root = math.hypot(length, distance)
    return 2e-7 * (length * math.asinh(length / distance) - root + distance)


def by_quadrature(length: float, thick: float) -> float:
    r = thick / 2

    def weighed(s: float) -> float:
        density = 4 * s / (math.pi * r**2) * math.acos(s / (2 * r))
        density -= 2 * s**2 / (math.pi * r**3) * math.sqrt(max(0.0, 1 - (s / (2 * r)) ** 2))
        return density * filament(length, s)

    value, _ = quad(weighed, 0, 2 * r, limit=200)
    return float(value)


@pytest.mark.parametrize(
    ("length", "thick", "nanohenries"),
    [(0.1, 1e-3, 104.92), (0.3, 1e-3, 380.495), (1.0, 2e-3, 1370.362), (0.1, 2e-3, 91.147)],
)
def test_inductance_is_that_of_filaments_averaged_over_the_section(length, thick, nanohenries) -> None:  # type: ignore[no-untyped-def]
    independent = by_quadrature(length, thick)
    assert independent * 1e9 == pytest.approx(nanohenries, rel=1e-4)
    assert wire.inductance(length, thick) == pytest.approx(independent, rel=3e-3)
    assert wire.inductance(length, thick) < independent


def test_it_is_not_the_wrong_one_of_the_public_calculator() -> None:
    assert wire.inductance(0.1, 2e-3) == pytest.approx(0.0910e-6, rel=3e-3)
    assert wire.inductance(0.1, 2e-3) > 1.3 * 0.0635e-6


def test_an_inch_of_hookup_wire_is_twenty_odd_nanohenries() -> None:
    """The usual rule says 20 to 25 nH an inch: from memory."""
    assert 20e-9 < wire.inductance(0.0254, wire.diameter(22), skin=True) < 25e-9


@pytest.mark.parametrize("megahertz", [1.8, 3.5, 7, 14, 28])
@pytest.mark.parametrize("length", [0.1, 0.3])
def test_exact_skin_effect_lies_between_the_two_forms(length: float, megahertz: float) -> None:
    """Internal inductance by modified Bessel functions of a round conductor: textbook."""
    r, omega = 0.5e-3, 2 * math.pi * megahertz * 1e6
    gamma = complex(1, 1) / wire.skin_depth(megahertz * 1e6)
    inner = complex(gamma) * wire.resistivity() / (2 * math.pi * r) * ive(0, gamma * r) / ive(1, gamma * r)
    exact = omega * wire.inductance(length, 2 * r, skin=True) + float(np.imag(inner)) * length
    low = wire.reactance(wire.inductance(length, 2 * r, skin=True), megahertz * 1e6)
    high = wire.reactance(wire.inductance(length, 2 * r), megahertz * 1e6)
    assert low < exact < high


@pytest.mark.parametrize(("megahertz", "microns"), [(1.8, 49.26), (3.5, 35.32), (7, 24.98), (14, 17.66), (28, 12.49)])
def test_skin_depth(megahertz: float, microns: float) -> None:
    """Computed with a conductivity of 5.80e7 S/m, by an electromagnetics textbook's formula."""
    assert wire.skin_depth(megahertz * 1e6) * 1e6 == pytest.approx(microns, rel=1e-3)


def test_a_chassis_nearby_lowers_it() -> None:
    """Computed: 59.9, 73.8 and 87.6 nH for 100 mm of 1 mm wire 5, 10 and 20 mm above a plane."""
    for height, nanohenries in ((5e-3, 59.9), (10e-3, 73.8), (20e-3, 87.6)):
        assert wire.inductance_over(0.1, 1e-3, height) * 1e9 == pytest.approx(nanohenries, abs=0.06)
        assert wire.inductance_over(0.1, 1e-3, height) < wire.inductance(0.1, 1e-3, skin=True)
    with pytest.raises(ValueError, match="lies on the chassis"):
        wire.inductance_over(0.1, 1e-3, 0.4e-3)
