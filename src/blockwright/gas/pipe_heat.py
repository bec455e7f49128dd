"""Heat from the gas to the walls of pipes and ports: Nusselt numbers, and how far they can be trusted.

For one exhaust port at full flow the authors disagree by a factor of 1.7, and pulsation multiplies the
laws of steady pipes by 1.5 to 3.  `pipes.heat_intake` and `pipes.heat_exhaust` are factors that carry that.
"""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula

#: Nusselt number of laminar flow in a round pipe with a wall of one temperature.
LAMINAR = 3.66


@formula(
    symbol="Nu",
    unit="1",
    equation="Nu = max(3.66, 0.023 Re^0.8 Pr^0.4)",
    source="Dittus and Boelter (1930), as in Incropera; laminar: Graetz; from memory",
    valid="Re over 1e4, smooth, steady, 10 diameters from the entry; within 25 %",
)
def pipe_nusselt(reynolds: Value, prandtl: Value = 0.71) -> Value:
    """Nusselt number of steady flow in a pipe.

    Parameters
    ----------
    reynolds, prandtl : array_like
        [-]

    Returns
    -------
    ndarray
        [-]
    """
    return np.maximum(LAMINAR, 0.023 * np.asarray(reynolds, dtype=float) ** 0.8 * np.asarray(prandtl) ** 0.4)


@formula(
    symbol="Nu",
    unit="1",
    equation="Nu = (f/8)(Re - 1000) Pr/(1 + 12.7 sqrt(f/8)(Pr^(2/3) - 1))",
    source="Gnielinski (1976), from memory",
    valid="Re 3000 to 5e6, Pr 0.5 to 2000; within 10 % in smooth pipes",
)
def gnielinski_nusselt(reynolds: Value, friction: Value, prandtl: Value = 0.71) -> Value:
    """Nusselt number of steady flow in a pipe from its friction factor.

    Parameters
    ----------
    reynolds, friction, prandtl : array_like
        [-], Darcy's factor [-], [-].

    Returns
    -------
    ndarray
        [-]
    """
    eighth = np.asarray(friction) / 8.0
    pr = np.asarray(prandtl)
    return eighth * (reynolds - 1000.0) * pr / (1.0 + 12.7 * np.sqrt(eighth) * (pr ** (2.0 / 3.0) - 1.0))


@formula(
    symbol="Nu",
    unit="1",
    equation="Nu = 2.58 Re^0.5 (1 - 0.797 lift/d)",
    source="Zapf, MTZ 30 (1969) 461; from memory",
    valid="exhaust port, valve open, lift up to 0.4 of the valve's diameter",
)
def exhaust_port_nusselt(reynolds: Value, lift_ratio: Value) -> Value:
    """Nusselt number of an exhaust port behind its open valve, after Zapf.

    Parameters
    ----------
    reynolds, lift_ratio : array_like
        Of the port [-]; lift over the valve's inner diameter [-].

    Returns
    -------
    ndarray
        [-]
    """
    return 2.58 * np.asarray(reynolds, dtype=float) ** 0.5 * (1.0 - 0.797 * np.asarray(lift_ratio))


@formula(
    symbol="Nu",
    unit="1",
    equation="Nu = 0.216 Re^0.68 (1 - 0.785 lift/d)",
    source="Zapf, MTZ 30 (1969) 461; from memory",
    valid="intake port, valve open, lift up to 0.4 of the valve's diameter",
)
def intake_port_nusselt(reynolds: Value, lift_ratio: Value) -> Value:
    """Nusselt number of an intake port before its open valve, after Zapf.

    Parameters
    ----------
    reynolds, lift_ratio : array_like
        As in `exhaust_port_nusselt`.

    Returns
    -------
    ndarray
        [-]
    """
    return 0.216 * np.asarray(reynolds, dtype=float) ** 0.68 * (1.0 - 0.785 * np.asarray(lift_ratio))


@formula(
    symbol="Nu",
    unit="1",
    equation="Nu = 0.4 Re^0.6",
    source="Caton and Heywood, Int. J. Heat Mass Transfer 24 (1981) 581; from memory",
    valid="exhaust port, valve open",
)
def open_exhaust_nusselt(reynolds: Value) -> Value:
    """Nusselt number of an exhaust port behind its open valve, after Caton and Heywood.

    Parameters
    ----------
    reynolds : array_like
        Of the port [-].

    Returns
    -------
    ndarray
        [-]
    """
    return 0.4 * np.asarray(reynolds, dtype=float) ** 0.6
