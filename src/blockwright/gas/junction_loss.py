"""Published loss coefficients of three pipes that meet: what the junction of the wave model is held against.

K is the loss of total pressure between a leg and the common pipe over the common pipe's dynamic head; `share`
is the leg's mass flow over the common pipe's, `areas` the common pipe's area over the leg's, `angle` that of
the branch's flow against the common pipe's.  Incompressible; negative K: the leg gains from the other.
"""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula


@formula(
    symbol="K",
    unit="1",
    equation="K = (q psi)^2 + 1 - 2 q psi cos(3/4 theta)",
    source="Hager, J. Hydraulic Eng. 110 (1984); Bassett, Winterbone and Pearson (2001); from memory",
    valid="sharp edges, Mach number below 0.3",
)
def dividing_branch_loss(share: Value, areas: Value, angle: Value) -> Value:
    """Loss from the common pipe into a side branch.

    Parameters
    ----------
    share, areas, angle : array_like
        q of the branch [-], psi [-], theta [rad].

    Returns
    -------
    ndarray
        [-]
    """
    speed = np.asarray(share) * areas
    return speed**2 + 1.0 - 2.0 * speed * np.cos(0.75 * np.asarray(angle))


@formula(
    symbol="K",
    unit="1",
    equation="K = q^2 - 1.5 q + 0.5",
    source="Hager, J. Hydraulic Eng. 110 (1984); from memory",
    valid="equal areas of common pipe and straight leg",
)
def dividing_straight_loss(share: Value) -> Value:
    """Loss from the common pipe straight on, past a side branch.

    Parameters
    ----------
    share : array_like
        q of the straight leg [-].

    Returns
    -------
    ndarray
        [-]
    """
    q = np.asarray(share)
    return q * q - 1.5 * q + 0.5


@formula(
    symbol="K",
    unit="1",
    equation="K = 1 - (1 - q)^2 - 2 q^2 psi cos(theta)",
    source="momentum balance of the junction (derived)",
    valid="equal areas of common pipe and straight leg",
)
def combining_straight_loss(share: Value, areas: Value, angle: Value) -> Value:
    """Loss from the straight leg into the common pipe, past a branch that joins.

    Parameters
    ----------
    share, areas, angle : array_like
        q of the *branch* [-], psi of the branch [-], theta [rad].

    Returns
    -------
    ndarray
        [-]
    """
    q = np.asarray(share)
    return 1.0 - (1.0 - q) ** 2 - 2.0 * q * q * areas * np.cos(angle)


@formula(
    symbol="K",
    unit="1",
    equation="K = A (1 + (q psi)^2 - 2 (1 - q)^2 - 2 q^2 psi cos(theta))",
    source="Idelchik, Handbook of Hydraulic Resistance, section 7; A 0.55 to 1 by shares; from memory",
    valid="equal areas of common pipe and straight leg",
)
def combining_branch_loss(share: Value, areas: Value, angle: Value, factor: Value = 1.0) -> Value:
    """Loss from a branch that joins into the common pipe.

    Parameters
    ----------
    share, areas, angle : array_like
        q of the branch [-], psi of the branch [-], theta [rad].
    factor : array_like
        Idelchik's A [-].

    Returns
    -------
    ndarray
        [-]
    """
    q = np.asarray(share)
    momentum = 2.0 * (1.0 - q) ** 2 + 2.0 * q * q * areas * np.cos(angle)
    return factor * (1.0 + (q * areas) ** 2 - momentum)
