"""Boosting against what stands outside the project."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.gas.boost import Cooler, generic_map
from blockwright.gas.boost.blower import indicated_work
from blockwright.gas.boost.compressor import outlet_temperature
from blockwright.gas.boost.map import KAPPA, CompressorMap, SpeedLine


def _map(temperature: float, pressure: float) -> CompressorMap:
    lines = tuple(
        SpeedLine(
            speed, np.array([0.1, 0.2, 0.3]) * f, np.array([2.0, 1.9, 1.5]) * f, np.array([0.65, 0.7, 0.6])
        )
        for speed, f in ((8e3, 1.0), (1e4, 1.3), (1.2e4, 1.6))
    )
    return CompressorMap("test", temperature, pressure, lines)


def test_compressor_outlet_temperature_and_work():
    """A59: 298.15 K, PR 2, efficiency 0.75, gamma 1.4 -> 385.215 K; 87.501 kW per kg/s (cp 1.005).

    Textbook (ideal gas), figures recomputed by a separate script in the findings; six digits.
    """
    hot = outlet_temperature(298.15, 2.0, 0.75)
    assert_allclose(hot, 385.215, atol=5e-4)
    assert_allclose(1005.0 * (hot - 298.15), 87501.0, atol=1.0)


def test_charge_cooler():
    """A60: effectiveness 0.7 against 298.15 K after A59, -> 324.270 K, density ratio 1.8389.  Textbook."""
    cool = Cooler(0.7, 0.0, 1.0, 298.15).leaves(outlet_temperature(298.15, 2.0, 0.75))
    assert_allclose(cool, 324.270, atol=5e-4)
    assert_allclose(2.0 * 298.15 / cool, 1.8389, atol=5e-5)


@pytest.mark.parametrize(
    ("temperature", "pressure", "printed"),
    [(298.0, 100e3, 0.260188), (302.78, 96.17e3, 0.248239)],
)
def test_corrected_flow_keeps_its_reference(temperature, pressure, printed):
    """A61, A62: 0.25 kg/s at 310 K, 98 kPa, corrected to SAE J1826 and to 545 R, 13.95 psia.

    Definition (from memory, SAE J922/J1826); the same flow reads 5 % lower on the other sheet.
    """
    table = _map(temperature, pressure)
    corrected = table.corrected_flow(0.25, 98e3, 310.0)
    assert_allclose(corrected, printed, rtol=1.5e-5)
    assert_allclose(table.real_flow(corrected, 98e3, 310.0), 0.25, rtol=1e-14)
    assert_allclose(table.corrected_speed(1e4, 310.0), 1e4 * math.sqrt(temperature / 310.0), rtol=1e-14)


@pytest.mark.parametrize(("ratio", "printed"), [(1.5, 0.86), (1.8, 0.80), (2.2, 0.74)])
def test_lobe_blower_without_internal_compression(ratio, printed):
    """Best a lobe blower can do: (gamma/(gamma-1)) (PR^0.2857 - 1)/(PR - 1) = 0.86, 0.80, 0.74.

    Findings 9.5, recomputed there; the closed form is textbook.  Two digits.
    """
    isentropic = (ratio**KAPPA - 1.0) / KAPPA
    assert_allclose(isentropic / indicated_work(ratio, 1.0), printed, atol=0.0051)


def test_generic_wheel_lies_among_ordinary_ones():
    """Common practice, no source: peak efficiency 0.70 to 0.78, and at 480 to 520 m/s the wheel passes
    90 to 130 kg/s per square metre of its outlet circle; the surge flow at PR 2 is 0.3 to 0.5 of the largest.
    """
    table = generic_map(0.071)
    best = max(float(line.efficiency.max()) for line in table.lines)
    assert 0.70 < best < 0.78
    fast = [line for line in table.lines if 475.0 < 0.0355 * line.speed < 525.0]
    for line in fast:
        assert 90.0 < line.flow[-1] / (0.25 * math.pi * 0.071**2) < 130.0
    found = table.at(0.25, 2.0)
    assert 0.25 < found.surge_flow / found.choke_flow < 0.5
