"""Standing-wave ratios beside a general network library (scikit-rf), and radiation resistance beside quadrature.

The library builds the same circuits from its own media and terminations; nothing of it is used by the package.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import quad
from skrf import Frequency
from skrf.media import DefinedGammaZ0

from netdiff.electrical import rf, wire


def by_library(ohms: float, impedance: float, hertz: float = 7e6) -> float:
    band = Frequency(hertz, hertz, 1, unit="Hz")
    media = DefinedGammaZ0(frequency=band, z0=impedance, gamma=1j * 1e-9)
    network = media.inductor(ohms / (2 * math.pi * hertz)) ** media.match()
    return float(network.s_vswr[0, 0, 0])


@pytest.mark.parametrize("impedance", [50.0, 52.0, 300.0])
@pytest.mark.parametrize("ohms", [0.5, 1, 2, 5, 10, 20, 25, 50, 100])
def test_a_reactance_in_series(ohms: float, impedance: float) -> None:
    assert rf.swr_of_series(ohms, impedance) == pytest.approx(by_library(ohms, impedance), rel=1e-6)
    assert rf.swr_of_series(-ohms, impedance) == rf.swr_of_series(ohms, impedance)


@pytest.mark.parametrize("fraction", [0.001, 0.03, 0.125, 0.2, 0.24])
@pytest.mark.parametrize("line", [25.0, 73.0, 93.0])
def test_a_length_of_other_line(line: float, fraction: float) -> None:
    hertz, impedance = 10e6, 52.0
    band = Frequency(hertz, hertz, 1, unit="Hz")
    beta = 2 * math.pi * hertz / rf.LIGHT
    outer = DefinedGammaZ0(frequency=band, z0=impedance, gamma=1j * beta)
    inner = DefinedGammaZ0(frequency=band, z0=line, z0_port=impedance, gamma=1j * beta)
    network = inner.line(fraction * rf.LIGHT / hertz, "m") ** outer.match()
    assert rf.swr_of_section(line, impedance, fraction) == pytest.approx(float(network.s_vswr[0, 0, 0]), rel=1e-6)


@pytest.mark.parametrize(
    ("length", "published"),
    [(0.1, (1.0228, 1.0449, 1.0918, 1.1917, 1.4183)), (0.3, (1.0861, 1.1741, 1.3772, 1.8819, 3.3550))],
)
def test_wires_of_one_millimetre_over_the_bands(length: float, published: tuple[float, ...]) -> None:
    """Computed with the library from the inductance with skin effect, 50 ohms."""
    for hertz, swr in zip((1.8e6, 3.5e6, 7e6, 14e6, 28e6), published, strict=True):
        assert rf.effect(length, hertz, 50, thick=1e-3).swr == pytest.approx(swr, abs=1.5e-4)


@pytest.mark.parametrize("fraction", [0.001, 0.01, 0.05])
def test_radiation_of_a_short_wire_is_the_far_field_of_its_current(fraction: float) -> None:
    """Power through a far sphere of a wire of uniform current, integrated: close to the closed form, never above.

    E_theta = j 60 pi I (l / lambda) sin(theta) sinc(pi l cos(theta) / lambda) / r (textbook); 120 pi ohms of space.
    """

    def density(theta: float) -> float:
        shape = np.sinc(fraction * math.cos(theta)) * math.sin(theta)
        return float((60 * math.pi * fraction * shape) ** 2 / (120 * math.pi) * 2 * math.pi * math.sin(theta))

    power, _ = quad(density, 0, math.pi)
    assert power <= rf.dipole_ohms(fraction) * (1 + 1e-9)
    assert power == pytest.approx(rf.dipole_ohms(fraction), rel=0.01)


def test_a_loop_radiates_less_than_its_wire_alone() -> None:
    """The wire and its return in the chassis make a loop; far below a wavelength it is the wire alone that bounds."""
    length, height, hertz = 0.13, 0.03, 4e6
    assert rf.loop_ohms(length * height, hertz) < rf.dipole_ohms(length / rf.wavelength(hertz))


def test_the_open_lead_of_a_coast_station() -> None:
    """130 mm of 20 AWG at 45 W into 52 ohms, 2 to 4 MHz: milliwatts, and hardly a reflection."""
    low, high = rf.over_band(0.13, (2e6, 4e6), 52, 45, wire.diameter(20))
    assert 1.02 < low.swr < high.swr < 1.1
    assert low.radiated is not None and high.radiated is not None
    assert 0.5e-3 < low.radiated < high.radiated < 5e-3
