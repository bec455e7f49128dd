"""Tuned pipes: ringing frequencies of the network, and the speeds at which pipes fill an engine."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from blockwright.gas.duct_gas import duct_thermo
from blockwright.gas.duct_mesh import field_arrays
from blockwright.gas.kernels.duct import refresh
from blockwright.gas.mesh import FINE, Mesh, lay_out
from blockwright.gas.model import Breathing, Cycle
from blockwright.gas.network import Network, Volume
from blockwright.gas.solve import solve

from ..gas.engines import engine, point
from ..gas.networks import fitted, individual, straight

Array = NDArray[np.float64]


def _period(trace: Array, degrees: NDArray[np.int64], rpm: float) -> float:
    """Mean time between rising zero crossings about the mean [s]."""
    values = trace[degrees] - trace[degrees].mean()
    up = np.flatnonzero((values[:-1] < 0.0) & (values[1:] >= 0.0))
    at = up - values[up] / (values[up + 1] - values[up])
    return float(np.diff(at).mean() / (6.0 * rpm))


def _still_gas(breathing: Breathing, cycle: Cycle, duct: int) -> tuple[Array, Array]:
    """Speed of sound [m/s] and density [kg/m3] in every cell of a duct at the end of the cycle."""
    grid = lay_out(breathing, FINE)
    mesh, state = grid.field, cycle.restart
    field = field_arrays(mesh)
    thermo = duct_thermo(cycle.point.gas, cycle.point.fuel_per_air)
    q, temperature = state.on(mesh)
    for _ in range(3):
        refresh(q, temperature, field.prim, thermo, mesh.first, mesh.last)
    cells = slice(mesh.first[duct], mesh.last[duct] + 1)
    return field.prim[3, cells].copy(), field.prim[0, cells].copy()


def _lowest(sound: Array, density: Array, length: float) -> float:
    """Lowest frequency of still gas in a pipe open at its start and closed at its end [Hz].

    (p'/rho)' + omega^2 p/(rho a^2) = 0, cells in the middle, by the eigenvalues of the symmetric matrix.
    """
    n, dx = sound.size, length / sound.size
    inertia = 1.0 / np.concatenate([[0.5 * density[0]], 0.5 * (density[1:] + density[:-1])])
    matrix = np.diag(inertia + np.concatenate([inertia[1:], [0.0]]))
    matrix -= np.diag(inertia[1:], 1) + np.diag(inertia[1:], -1)
    weight = 1.0 / np.sqrt(1.0 / (density * sound**2))
    values = np.linalg.eigvalsh(weight[:, None] * matrix * weight[None, :])
    assert values.size == n
    return float(math.sqrt(values[0]) / (2.0 * math.pi * dx))


def test_the_eigenvalue_of_uniform_gas_is_the_quarter_wave():
    n = 400
    found = _lowest(np.full(n, 346.25), np.full(n, 1.18), 0.40)
    assert_allclose(found, 216.406, rtol=1e-4)  # check value A56


def test_a_runner_behind_a_shut_valve_rings_as_a_quarter_wave():
    """f = a/(4 L), Kinsler and Frey, Fundamentals of Acoustics, ch. 10 (from memory); check value A56.

    The gas is warmer and thinner at the valve than at the mouth: the frequency is that of the still gas
    that the run leaves in the pipe.
    """
    rpm, length = 1000.0, 0.40
    pipes = individual(1, (length, 0.045), (0.7, 0.042))
    bare = tuple(replace(d, friction=0.0, mouth=1.0) for d in pipes.ducts)
    breathing = fitted(engine(1), replace(pipes, ducts=bare))
    cycle = solve(breathing, point(rpm), mesh=FINE)
    # The intake shuts at 610 deg and opens at 325: in between the pipe rings by itself.
    trace = np.concatenate([cycle.intake_port.pressure[0], cycle.intake_port.pressure[0]])
    expected = _lowest(*_still_gas(breathing, cycle, 0), length)
    assert_allclose(1.0 / _period(trace, np.arange(640, 800), rpm), expected, rtol=0.005)


def test_a_plenum_behind_its_inlet_pipe_rings_as_a_helmholtz_resonator():
    """f = a/(2 pi) sqrt(A/(L V)), Heywood (1988) sec. 7.6.2 (from memory); check value A55.

    A third of the neck's own gas moves with the volume: V + A L/3 (Rayleigh's second approximation).  The
    mouth of the neck has no end correction in the model.
    """
    rpm, length, diameter, volume = 700.0, 0.50, 0.045, 0.003
    still = {"friction": 0.0, "heat": 0.0, "mouth": 1.0}
    ducts = (
        straight("inlet", "intake air", "plenum", length, diameter, **still),
        straight("runner 1", "plenum", "cylinder 1 intake", 0.05, 0.045, **still),
        straight(
            "pipe 1", "cylinder 1 exhaust", "open air", 0.7, 0.042, wall_temperature=800.0, side="exhaust"
        ),
    )
    breathing = fitted(engine(1), Network(ducts, (Volume("plenum", volume),)))
    cycle = solve(breathing, point(rpm), mesh=FINE)
    trace = np.concatenate([cycle.plenum_pressure, cycle.plenum_pressure])
    area = 0.25 * math.pi * diameter**2
    runner = 0.05 * 0.25 * math.pi * 0.045**2
    held = volume + runner + area * length / 3.0
    sound = float(_still_gas(breathing, cycle, 0)[0].mean())
    expected = sound / (2.0 * math.pi) * math.sqrt(area / (length * held))
    assert_allclose(1.0 / _period(trace, np.arange(640, 1020), rpm), expected, rtol=0.03)


def _best_speed(length: float) -> float:
    breathing = fitted(
        engine(1, bore=0.086, stroke=0.086, intake=(30.0, 60.0, 0.0105), exhaust=(70.0, 30.0, 0.010)),
        individual(1, (length, 0.040), (0.02, 0.060)),
    )
    speeds = np.arange(2400.0, 8801.0, 400.0)
    filling = np.array(
        [solve(breathing, point(rpm), mesh=Mesh("test", 0.015, 0.02)).volumetric_efficiency for rpm in speeds]
    )
    k = int(np.argmax(filling))
    assert 0 < k < speeds.size - 1
    a, b, c = filling[k - 1 : k + 2]
    return float(speeds[k] + 400.0 * 0.5 * (a - c) / (a - 2.0 * b + c))


@pytest.mark.parametrize(("short", "long"), [(0.30, 0.45)])
def test_a_longer_runner_moves_the_best_filling_down_as_the_resonator_says(short, long):
    """Engelman's cylinder-and-runner resonator (ASME 1973; Heywood sec. 7.6.2; from memory).

    N is proportional to sqrt(A/(L V_eff)) with V_eff half the swept and all of the clearance volume: the
    ratio of the two speeds is sqrt(long/short) = 1.22 for plain lengths.  A wave picture
    (Broome) would give 1.5; engines lie between.  Both bounds with 5 %.
    """
    ratio = _best_speed(short) / _best_speed(long)
    assert math.sqrt(long / short) * 0.95 < ratio < long / short * 1.05


def test_the_best_speed_itself_is_engelmans():
    """N = 60 f / K with K 2.0 to 2.5, usually 2.1 (Engelman 1973, ASME 73-DGP-4; from memory).

    f is the runner's resonance with half the swept and all of the clearance volume:
    162 a sqrt(A/(L V) (R-1)/(R+1)) in feet and inches is 13.5 a sqrt(...) in SI, 60 a/(2 pi) sqrt(2 ...).
    """
    length, diameter, bore, stroke, ratio = 0.38, 0.040, 0.086, 0.086, 10.5
    swept = 0.25 * math.pi * bore**2 * stroke
    area = 0.25 * math.pi * diameter**2
    sound = 340.0  # of the charge at 300 K, within 1 %
    shape = area * (ratio - 1.0) / (length * swept * (ratio + 1.0))
    resonance = 60.0 * sound / (2.0 * math.pi) * math.sqrt(2.0 * shape)
    assert_allclose(resonance, 13.5 * sound * math.sqrt(shape), rtol=1e-3)
    assert 2.0 < resonance / _best_speed(length) < 2.5
