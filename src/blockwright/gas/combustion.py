"""When and how fast the charge burns: Wiebe's law, spark to 10 % burned, scaling with speed."""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula

#: Wiebe's form factor and exponent m + 1 (Heywood 1988, eq. 9.31); the same figures as in the kernel.
WIEBE_A = 5.0
WIEBE_N = 3.0


@formula(
    symbol="x_b",
    unit="1",
    equation="x_b = 1 - exp(-5 ((theta - theta_0)/Delta_theta)^3)",
    source="Wiebe; a = 5, m = 2 after Heywood (1988), eq. 9.31; from memory",
)
def wiebe(angle: Value, start: Value, length: Value) -> Value:
    """Burned share of the charge.

    Parameters
    ----------
    angle, start, length : array_like
        Angle, start of burning after top dead centre, and length of the law [same unit].

    Returns
    -------
    ndarray
        0 before the start; 99.3 % at its end and held there.
    """
    z = np.clip((np.asarray(angle) - start) / length, 0.0, 1.0)
    return -np.expm1(-WIEBE_A * z**WIEBE_N)


def wiebe_place(share: float) -> float:
    """Place in the length of the law at which a share is burned [-]: z = (-ln(1 - x)/a)^(1/(m+1))."""
    return float((-np.log1p(-share) / WIEBE_A) ** (1.0 / WIEBE_N))


def wiebe_window(ca10: Value, burn_10_90: Value) -> tuple[Value, Value]:
    """Start and length of the law [deg] from 10 % burned and the 10 to 90 % duration [deg]."""
    length = np.asarray(burn_10_90) / (wiebe_place(0.9) - wiebe_place(0.1))
    return np.asarray(ca10) - wiebe_place(0.1) * length, length


@formula(
    symbol="Delta_theta",
    unit="deg",
    equation="Delta_theta = Delta_theta_ref (n/n_ref)^(1/3)",
    source="Hires, Tabaczynski and Novak, SAE 780232 (1978), speed exponent about 1/3; from memory",
    valid="one engine, near its reference speed (a factor of 2.5 either way)",
)
def burn_angle(reference_angle: Value, speed: Value, reference_speed: Value) -> Value:
    """Crank angle that a stage of burning takes at another speed.

    Parameters
    ----------
    reference_angle : array_like
        At the reference speed [deg].
    speed, reference_speed : array_like
        [rad/s]
    """
    return reference_angle * np.cbrt(np.asarray(speed) / reference_speed)


@formula(
    symbol="theta_10",
    unit="deg",
    equation="theta_10 = -advance + delay",
    source="definition",
)
def ca10_from_advance(advance: Value, delay: Value) -> Value:
    """Angle of 10 % burned from the spark advance and the spark-to-10 % delay [deg after TDC]."""
    return delay - advance


@formula(
    symbol="theta_10",
    unit="deg",
    equation="theta_10 = theta_50 - (z_50 - z_10)/(z_90 - z_10) Delta_theta_10-90",
    source="inverse of Wiebe's law, a = 5, m = 2",
)
def ca10_from_ca50(ca50: Value, burn_10_90: Value) -> Value:
    """Angle of 10 % burned from that of 50 % burned [deg after TDC]."""
    z10, z50, z90 = wiebe_place(0.1), wiebe_place(0.5), wiebe_place(0.9)
    return ca50 - (z50 - z10) / (z90 - z10) * np.asarray(burn_10_90)


@formula(
    symbol="theta_50",
    unit="deg",
    equation="theta_50 = theta_10 + (z_50 - z_10)/(z_90 - z_10) Delta_theta_10-90",
    source="Wiebe's law, a = 5, m = 2",
)
def ca50_from_ca10(ca10: Value, burn_10_90: Value) -> Value:
    """Angle of 50 % burned from that of 10 % burned [deg after TDC]."""
    z10, z50, z90 = wiebe_place(0.1), wiebe_place(0.5), wiebe_place(0.9)
    return ca10 + (z50 - z10) / (z90 - z10) * np.asarray(burn_10_90)
