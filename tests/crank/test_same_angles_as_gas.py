"""The gas and the crank must mean the same angle and the same offset, or torque and gas work part."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.crank.kinematics import motion
from blockwright.gas.kernels.cylinder import travel
from blockwright.gas.kernels.jit import C_CRANK, C_OFFSET, C_ROD, C_TOP


@pytest.mark.parametrize("offset", [-0.0015, 0.0, 0.0015])
def test_piston_travel_is_the_same_in_both(offset):
    r, length = 0.044, 0.145
    geometry = np.zeros(max(C_CRANK, C_OFFSET, C_ROD, C_TOP) + 20)
    geometry[[C_CRANK, C_ROD, C_OFFSET]] = r, length, offset
    geometry[C_TOP] = np.sqrt((r + length) ** 2 - offset**2)
    angle = np.linspace(0.0, 4 * np.pi, 73)
    by_gas = [travel(a, geometry) for a in angle]
    assert_allclose(by_gas, motion(angle, r, length, offset).position, atol=1e-15)
