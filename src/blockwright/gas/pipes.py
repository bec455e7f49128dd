"""Formulas of pipes: ends, friction, heat to the walls, resonances, junctions, throttle.

The kernels of the wave model carry the same friction and heat laws inside; these are the forms to read, trace
and check.
"""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula

#: End corrections over the pipe's radius, low frequency: unflanged (as printed in 1948; the integral gives
#: 0.6127), flanged.
UNFLANGED, FLANGED = 0.6133, 0.8217
#: Sutherland's constants of air [kg/(m s K^0.5)], [K].
VISCOSITY, SUTHERLAND = 1.458e-6, 110.4


@formula(
    symbol="delta_l",
    unit="m",
    equation="delta_l = 0.6133 r (pipe ending in the open) or 0.8217 r (in a wall)",
    source="Levine and Schwinger, Phys. Rev. 73 (1948) 383; flanged: Nomura et al. (1960); from memory",
    valid="wavelength over 6 radii; still air outside",
)
def end_correction(radius: Value, flanged: bool) -> Value:
    """Length by which the air before an open end moves with the pipe.

    Parameters
    ----------
    radius : array_like
        [m]
    flanged : bool
        Whether the pipe ends flush in a wall or plenum.

    Returns
    -------
    ndarray
        [m]
    """
    return (FLANGED if flanged else UNFLANGED) * np.asarray(radius)


@formula(
    symbol="f_4",
    unit="1/s",
    equation="f = a/(4 L)",
    source="organ pipe; Kinsler and Frey, Fundamentals of Acoustics, ch. 10; from memory",
    valid="one end shut, no mean flow; L with its end correction",
)
def quarter_wave_frequency(sound: Value, length: Value) -> Value:
    """Frequency of a pipe open at one end and shut at the other.

    Parameters
    ----------
    sound, length : array_like
        Speed of sound [m/s], effective length [m].

    Returns
    -------
    ndarray
        [1/s]
    """
    return np.asarray(sound) / (4.0 * np.asarray(length))


@formula(
    symbol="f_H",
    unit="1/s",
    equation="f = a/(2 pi) sqrt(A/(L V))",
    source="Helmholtz resonator; Heywood (1988), sec. 7.6.2; from memory",
    valid="pipe much shorter than a quarter of the wavelength",
)
def helmholtz_frequency(sound: Value, area: Value, length: Value, volume: Value) -> Value:
    """Frequency of a volume that breathes through a pipe.

    Parameters
    ----------
    sound, area, length, volume : array_like
        Speed of sound [m/s], pipe's area [m2] and effective length [m], volume [m3].

    Returns
    -------
    ndarray
        [1/s]
    """
    return np.asarray(sound) / (2.0 * np.pi) * np.sqrt(np.asarray(area) / (length * volume))


@formula(
    symbol="a",
    unit="m/s",
    equation="a = sqrt(gamma R T)",
    source="definition, perfect gas",
)
def sound_speed(gamma: Value, gas_constant: Value, temperature: Value) -> Value:
    """Speed of sound of a perfect gas.

    Parameters
    ----------
    gamma, gas_constant, temperature : array_like
        Ratio of heats [-], gas constant [J/(kg K)], [K].

    Returns
    -------
    ndarray
        [m/s]
    """
    return np.sqrt(np.asarray(gamma) * gas_constant * temperature)


@formula(
    symbol="p2/p1",
    unit="1",
    equation="p2/p1 = (2 gamma M^2 - gamma + 1)/(gamma + 1)",
    source="Rankine and Hugoniot; NACA report 1135 (1953), eq. 93; number from memory",
    valid="M of at least 1",
)
def normal_shock_ratio(mach: Value, gamma: Value) -> Value:
    """Pressure ratio across a normal shock.

    Parameters
    ----------
    mach, gamma : array_like
        Mach number before the shock [-], ratio of heats [-].

    Returns
    -------
    ndarray
        [-]
    """
    return (2.0 * gamma * np.asarray(mach) ** 2 - gamma + 1.0) / (gamma + 1.0)


@formula(
    symbol="A_m/A",
    unit="1",
    equation="A_m/A = 1/sqrt(1 + K)",
    source="definition: p0 - p = (1 + K) rho u^2/2 at the pipe's face, density constant",
)
def mouth_share(loss: Value) -> Value:
    """Effective area of a mouth over the pipe's, for gas going in.

    Parameters
    ----------
    loss : array_like
        Loss coefficient on the pipe's dynamic head [-].

    Returns
    -------
    ndarray
        [-]
    """
    return 1.0 / np.sqrt(1.0 + np.asarray(loss))


@formula(
    symbol="A_t",
    unit="m2",
    equation="A_t = pi/4 D^2 (1 - cos(psi)/cos(psi_0)), at most pi/4 D^2 - D d",
    source="projection of a tilted disc, the shaft in its way when open; geometry, simplified",
    valid="psi_0 <= psi <= 90 deg; without the leak of the closed plate",
)
def throttle_area(angle: Value, closed_angle: Value, bore: Value, shaft: Value = 0.0) -> Value:
    """Free area of a throttle plate in a round bore.

    Parameters
    ----------
    angle, closed_angle : array_like
        Plate's tilt, and its tilt when it touches the bore [rad].
    bore, shaft : array_like
        Diameters [m].

    Returns
    -------
    ndarray
        [m2]
    """
    whole = 0.25 * np.pi * np.asarray(bore) ** 2
    open_share = 1.0 - np.cos(angle) / np.cos(closed_angle)
    return np.clip(whole * open_share, 0.0, whole - bore * np.asarray(shaft))


@formula(
    symbol="mu",
    unit="Pa s",
    equation="mu = 1.458e-6 T^1.5/(T + 110.4)",
    source="Sutherland; constants of the US Standard Atmosphere 1976, from memory",
    valid="air, 100 to 1900 K within about 3 %; used for burned gas too",
)
def air_viscosity(temperature: Value) -> Value:
    """Viscosity of air.

    Parameters
    ----------
    temperature : array_like
        [K]

    Returns
    -------
    ndarray
        [Pa s]
    """
    t = np.asarray(temperature)
    return VISCOSITY * t**1.5 / (t + SUTHERLAND)


@formula(
    symbol="f",
    unit="1",
    equation="f = max(64/Re, (-1.8 log10((e/(3.7 D))^1.11 + 6.9/Re))^-2)",
    source="Haaland, J. Fluids Eng. 105 (1983) 89, from memory; laminar: Hagen and Poiseuille",
    valid="Darcy's; Re over 4000, e/D below 0.05: within 2 % of Colebrook; turbulent from Re 1100",
)
def friction_factor(reynolds: Value, roughness: Value) -> Value:
    """Darcy's friction factor of a round pipe (four times Fanning's), laminar or rough and turbulent.

    Parameters
    ----------
    reynolds : array_like
        [-], above 0.
    roughness : array_like
        Sand-grain roughness over diameter [-].

    Returns
    -------
    ndarray
        [-]
    """
    re = np.asarray(reynolds, dtype=float)
    # Below Re 100 the logarithm would reach its zero; laminar flow is far above it there.
    root = -1.8 * np.log10((np.asarray(roughness) / 3.7) ** 1.11 + 6.9 / np.maximum(re, 100.0))
    return np.maximum(64.0 / re, root**-2.0)


@formula(
    symbol="f_B",
    unit="1",
    equation="f = 0.3164 Re^-0.25",
    source="Blasius (1913)",
    valid="smooth pipe, Re 4000 to 1e5",
)
def blasius_friction(reynolds: Value) -> Value:
    """Darcy's friction factor of a smooth pipe.

    Parameters
    ----------
    reynolds : array_like
        [-]

    Returns
    -------
    ndarray
        [-]
    """
    return 0.3164 * np.asarray(reynolds, dtype=float) ** -0.25


@formula(
    symbol="f_C",
    unit="1",
    equation="1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f)))",
    source="Colebrook, J. Inst. Civil Eng. 11 (1939) 133; from memory",
    valid="Re over 4000; solved to rounding",
)
def colebrook_friction(reynolds: Value, roughness: Value) -> Value:
    """Darcy's friction factor after Colebrook, the reference of the explicit forms.

    Parameters
    ----------
    reynolds, roughness : array_like
        [-], [-], as in `friction_factor`.

    Returns
    -------
    ndarray
        [-]
    """
    a, b = np.asarray(roughness) / 3.7, 2.51 / np.asarray(reynolds, dtype=float)
    root = -1.8 * np.log10(a**1.11 + 2.75 * b)
    for _ in range(6):  # Newton on 1/sqrt(f): the third step is at rounding
        wrong = root + 2.0 * np.log10(a + b * root)
        root = root - wrong / (1.0 + 2.0 / np.log(10.0) * b / (a + b * root))
    return root**-2.0
