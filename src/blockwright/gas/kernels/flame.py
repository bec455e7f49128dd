"""The turbulent flame: a sphere from the plug cut by the chamber, entraining gas that burns behind it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .jit import (
    AIR,
    B_SHARE,
    BURNED_AIR,
    BURNED_FUEL,
    BURNED_NITROUS,
    C_AREA,
    FUEL,
    G_AFR,
    G_AIR_OF_NITROUS,
    NITROUS,
    kernel,
)  # fmt: skip
from .properties import mixture
from .zones import (
    B_TABLE,
    Z_ALPHA,
    Z_BETA,
    Z_DENSITY,
    Z_DP,
    Z_ENERGY,
    Z_INTENSITY,
    Z_MU,
    Z_R,
    Z_RADIUS,
    Z_SCALE,
    Z_SPEED,
    Z_TU,
    Z_VB,
    Z_W,
    Z_X,
)  # fmt: skip

Array = NDArray[np.float64]

# Places of the flame's constants in the packed burn law.
(
    F_KERNEL, F_OFFSET, F_TURBULENCE, F_SCALE, F_BURNUP, F_SPEED,
    F_FORM, F_S0, F_S1, F_S2, F_ALPHA0, F_ALPHA1, F_BETA0, F_BETA1, F_T0, F_P0, F_RESIDUAL,
    F_PHI_LOW, F_PHI_HIGH, F_OPEN,
) = range(B_TABLE, B_TABLE + 20)  # fmt: skip
#: Forms of the laminar speed: a parabola in the equivalence ratio, or a power with a bell.
PARABOLA, BELL = 0.0, 1.0

#: Gauss-Legendre nodes and weights on 0..1 (8 points).
_NODES = (
    0.019855071751231884, 0.10166676129318664, 0.2372337950418355, 0.4082826787521751,
    0.5917173212478249, 0.7627662049581645, 0.8983332387068134, 0.9801449282487681,
)  # fmt: skip
_WEIGHTS = (
    0.05061426814518813, 0.11119051722668723, 0.15685332293894366, 0.18134189168918100,
    0.18134189168918100, 0.15685332293894366, 0.11119051722668723, 0.05061426814518813,
)  # fmt: skip

#: Usual volume of burned gas over that of the gas it was made of [-], where nothing hangs on its value.
USUAL_EXPANSION = 4.0
#: Smallest factor that residual gas leaves of the laminar speed [-]: the published line ends long before.
LEAST_RESIDUAL = 0.1


@kernel
def front(
    inside: float, guess: float, bore_radius: float, offset: float, height: float
) -> tuple[float, float]:
    """Radius [m] and area [m2] of a spherical front around a volume [m3], cut by a disc-shaped chamber.

    The centre lies in the flat roof, `offset` from the bore's axis; the piston is a plane `height`
    below.  At each depth z the sphere is a circle, s^2 = r^2 - z^2, of which the bore leaves a lens;
    the volume is the integral of the lens over z, and the area is dV/dr.  Exact where the circle is
    whole or covers the bore; between, eight Gauss points after a substitution that takes away
    the roots at both ends.  Newton's method from the radius `guess`, which may be far.
    """
    most = math.sqrt((bore_radius + offset) ** 2 + height * height)
    near, far = bore_radius - offset, bore_radius + offset
    radius, area = min(guess, most), 0.0
    low, high = 0.0, most
    for _ in range(40):
        top = min(height, radius)
        z_far = min(math.sqrt(max(radius * radius - far * far, 0.0)), top)
        z_near = min(math.sqrt(max(radius * radius - near * near, 0.0)), top)
        found = math.pi * bore_radius * bore_radius * z_far
        found += (
            math.pi * (top - z_near) * (radius * radius - (top * top + top * z_near + z_near * z_near) / 3.0)
        )
        area = 2.0 * math.pi * radius * (top - z_near)
        span = z_near - z_far
        if span > 0.0 and offset > 0.0:
            for k in range(8):
                q = _NODES[k]
                z = z_far + span * q * q * (3.0 - 2.0 * q)
                weight = span * _WEIGHTS[k] * 6.0 * q * (1.0 - q)
                s2 = radius * radius - z * z
                s = math.sqrt(s2)
                c = (s2 + offset * offset - bore_radius * bore_radius) / (2.0 * s * offset)
                d = (bore_radius * bore_radius + offset * offset - s2) / (2.0 * bore_radius * offset)
                c, d = min(max(c, -1.0), 1.0), min(max(d, -1.0), 1.0)
                arc = math.acos(c)
                lens = s2 * arc + bore_radius * bore_radius * math.acos(d)
                lens -= s * offset * math.sqrt(1.0 - c * c)
                found += weight * lens
                area += weight * 2.0 * radius * arc
        off = inside - found
        if abs(off) < 1e-6 * inside:
            break
        if off > 0.0:
            low = radius
        else:
            high = radius
        radius = radius + off / area if area > 0.0 else 0.5 * (low + high)
        if not low < radius < high:
            radius = 0.5 * (low + high)
    return radius, area


@kernel
def expansion(
    zone: Array, ash: Array, pressure: float, frozen: Array, burned: Array, g: Array
) -> float:  # fmt: skip
    """Volume of the charge burned at its pressure [Pa] and enthalpy, over its volume unburned [-].

    Newton's method for h_b(T_b, p) = h_u; `ash` is room for 8 figures.
    """
    w = zone[Z_W : Z_W + 8]
    for k in range(8):
        ash[k] = w[k]
    ash[BURNED_AIR], ash[BURNED_FUEL] = w[AIR] + w[BURNED_AIR], w[FUEL] + w[BURNED_FUEL]
    ash[BURNED_NITROUS] = w[NITROUS] + w[BURNED_NITROUS]
    ash[AIR], ash[FUEL], ash[NITROUS] = 0.0, 0.0, 0.0
    before = zone[Z_R] * zone[Z_TU]
    t, gas = min(zone[Z_TU] + 1900.0, 3400.0), zone[Z_R]
    for _ in range(20):
        energy, gas, capacity, _ = mixture(ash, t, math.log(pressure), frozen, burned, g)
        step = (zone[Z_ENERGY] + before - energy - gas * t) / (capacity + gas)
        t += min(max(step, -500.0), 500.0)
        if abs(step) < 1e-4 * t:
            break
    return float(gas * t / before)


@kernel
def ignite(
    zone: Array, burn: Array, room: float, mass: float, piston_speed: float, growth: float,
    geometry: Array, g: Array,
) -> float:  # fmt: skip
    """Start the flame: a hemisphere of burned gas at the plug.  Returns the share of the mass it holds.

    `room` is the volume [m3] at the spark, `growth` the `expansion` with which the hemisphere became it.

    Notes the laminar speed at its reference state and its exponents for this charge.  Parabola: S0 = s0 +
    s1 (phi - s2)^2, alpha and beta linear in phi - 1.  Bell: S0 = s0 phi^s1 exp(-s2 (phi - 1.075)^2), beta =
    beta0 over (phi >= 1) or times the root of phi.
    """
    w = zone[Z_W : Z_W + 8]
    air = w[AIR] + g[G_AIR_OF_NITROUS] * w[NITROUS]
    phi = w[FUEL] * g[G_AFR] / air if air > 0.0 else 10.0
    phi = min(max(phi, burn[F_PHI_LOW]), burn[F_PHI_HIGH])
    if burn[F_FORM] == PARABOLA:
        speed = burn[F_S0] + burn[F_S1] * (phi - burn[F_S2]) ** 2
        zone[Z_ALPHA] = burn[F_ALPHA0] + burn[F_ALPHA1] * (phi - 1.0)
        zone[Z_BETA] = burn[F_BETA0] + burn[F_BETA1] * (phi - 1.0)
    else:
        bell = burn[F_S1] * math.log(phi) - burn[F_S2] * (phi - 1.075) ** 2
        speed = burn[F_S0] * math.exp(bell)
        root = math.sqrt(phi)
        zone[Z_ALPHA] = burn[F_ALPHA0]
        zone[Z_BETA] = burn[F_BETA0] / root if phi >= 1.0 else burn[F_BETA0] * root
    residual = w[BURNED_AIR] + w[BURNED_FUEL] + w[BURNED_NITROUS]
    zone[Z_SPEED] = burn[F_SPEED] * speed * max(1.0 - burn[F_RESIDUAL] * residual, LEAST_RESIDUAL)
    density = mass / room
    zone[Z_DENSITY], zone[Z_INTENSITY] = density, burn[F_TURBULENCE] * piston_speed
    zone[Z_SCALE] = burn[F_SCALE] * room / (burn[F_OPEN] * geometry[C_AREA])
    zone[Z_RADIUS], zone[Z_MU] = burn[F_KERNEL], 0.0
    zone[Z_VB] = 2.0 / 3.0 * math.pi * burn[F_KERNEL] ** 3
    return float(min(zone[Z_VB] * density / growth / mass, 0.01 * burn[B_SHARE]))


@kernel
def flame_step(
    zone: Array, burn: Array, pressure: float, room: float, mass: float, dt: float, ahead: float,
    geometry: Array,
) -> float:  # fmt: skip
    """Share of the mass [-] that burns in a step; entrained mass and front of the flame are kept.

    dm_e/dt = rho_u A (S_L + u'), dm_b/dt = rho_u A S_L + (m_e - m_b)/tau, tau = lambda/S_L,
    lambda = sqrt(15 nu L/u') (Tabaczynski and others 1977, 1980).  The gas is taken at the middle of the
    step, from its last change of pressure; `ahead` is the place of that middle, 0.5 in a whole step, and
    `room` the volume there.  The front goes on by the midpoint rule, in parts while it is small; what
    burns behind it is integrated exactly.
    """
    limit = burn[B_SHARE]
    if limit - zone[Z_X] <= 1e-9:
        return 0.0
    rise = min(max(ahead * zone[Z_DP] / pressure, -0.2), 0.2)
    now, t_u = pressure * (1.0 + rise), zone[Z_TU] * (1.0 + 0.27 * rise)
    density = now / (zone[Z_R] * t_u)
    speed = zone[Z_SPEED] * math.exp(
        zone[Z_ALPHA] * math.log(t_u / burn[F_T0]) + zone[Z_BETA] * math.log(now / burn[F_P0])
    )
    stretch = (density / zone[Z_DENSITY]) ** (1.0 / 3.0)
    intensity, scale = zone[Z_INTENSITY] * stretch, zone[Z_SCALE] / stretch
    viscosity = 3.3e-7 * t_u**0.7 / density
    tau = burn[F_BURNUP] * math.sqrt(15.0 * viscosity * scale / intensity) / speed
    # Quench pads take no part: the chamber is a disc of what the bore leaves open, and as much deeper.
    floor = burn[F_OPEN] * geometry[C_AREA]
    radius = math.sqrt(floor / math.pi)
    # What never burns hides outside the chamber that the flame can reach.
    reach = room - (1.0 - limit) * mass / density
    height = reach / floor
    x, waiting = zone[Z_X], zone[Z_MU]
    burned_room = zone[Z_VB] * (1.0 - 0.8 * rise)
    by_share = burned_room / x
    parts = min(1 + int(dt * (USUAL_EXPANSION * speed + intensity) / zone[Z_RADIUS] / 0.1), 16)
    part = dt / parts
    for _ in range(parts):
        left, burned, ahead_waiting = max(limit - x - waiting, 0.0), 0.0, waiting
        for half in range(2):
            # To the middle of the part, then over all of it with the rates of the middle.
            span = 0.5 * part if half == 0 else part
            inside = burned_room + by_share * burned + ahead_waiting * mass / density
            area = 0.0
            if left > 0.0:
                zone[Z_RADIUS], area = front(
                    min(inside, reach), zone[Z_RADIUS], radius, burn[F_OFFSET], height
                )
            laminar = density * area * speed / mass
            source = density * area * intensity / mass
            wanted = (laminar + source) * span
            if wanted > left:
                laminar *= left / wanted
                source *= left / wanted
            fade = math.exp(-span / tau)
            ahead_waiting = waiting * fade + source * tau * (1.0 - fade)
            burned = (laminar + source) * span + waiting - ahead_waiting
        x, waiting = x + burned, ahead_waiting
        burned_room += by_share * burned
    zone[Z_MU] = waiting
    return float(min(x, limit) - zone[Z_X])
