"""The end of a duct: its edge cell against a still volume behind an effective area, or a wall.

Speeds are positive INTO the duct.  The gas of the duct answers a change of pressure at its face with one
wave that runs into the duct: an isentropic expansion, or a shock when it compresses.  Both are algebraic
in the ratio x = p_face / p (the shock even without a power), exact for waves of any strength, and
agree up to second order where they meet.  The volume answers with a quasi-steady nozzle:

* into the duct: isentropic to the throat, whose pressure is the face's (the jet's kinetic energy is
  lost in the sudden enlargement); a choked throat; a sonic face at last, as the face cannot pass more.
* out of the duct: isentropic from the face to the throat, whose pressure is the volume's; a choked
  throat; everything carried out when the duct's own gas leaves faster than a shock could stand.

Each direction is one scalar equation, rising in its unknown, solved by Newton's method between
bounds from the last step's answer, kept as its ratio to a first estimate.  The equations:
`docs/models/pipes.md`.
"""

from __future__ import annotations

import math

from .end_wave import FINE, TURNS, choked_outward, shock_heating, shock_speed_change, wall_ratio
from .jit import kernel

#: Areas that differ by a smaller share are equal.
SAME_AREA = 1e-7
#: An opening below this share of the duct's area is shut.
SHUT = 1e-9
#: A start below this share of the first estimate is none.
LEAST = 1e-9
#: Speeds below this share of the speed of sound are none: their squares must stay numbers.
NOTHING = 1e-99


@kernel
def inward(
    x0: float, speed: float, gamma: float, share: float, free: float, sound: float, gamma0: float,
    start: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Flow from the volume into the duct.

    Parameters
    ----------
    x0 : float
        Volume's pressure over the duct's [-].
    speed : float
        Duct's speed over its sound speed [-].
    share : float
        Effective area over the duct's, above 0 and at most 1 [-].
    free : float
        Speed over sound speed of the duct's gas if its face had the volume's pressure; above 0 [-].
    sound : float
        Volume's sound speed over the duct's [-].
    start : float
        The last result of the last call: the unknown over its first estimate; 0 = not known [-].

    Returns
    -------
    face's speed over the volume's sound speed, face's pressure over the duct's, next `start` [-]

    Notes
    -----
    The face's speed y gives all: mass and energy between throat and face make the throat's speed v a
    quadratic of y; the throat's state gives the pressure, or, once choked, the mass gives it.
    """
    g, g0 = 0.5 * (gamma - 1.0), 0.5 * (gamma0 - 1.0)
    sonic = 2.0 / (gamma0 + 1.0)
    top = math.sqrt(sonic)
    choked_flow = -1.0
    # Incompressible nozzle against a duct of constant impedance.
    about = free / sound
    about *= 2.0 / (1.0 + math.sqrt(1.0 + 2.0 * x0 * gamma0 / (gamma * sound) * about / (share * share)))
    y = about * start if start > LEAST else about
    low, high = 0.0, top
    if y > top:
        y = top
    x = x0
    for _ in range(TURNS):
        b = share * (1.0 - g0 * y * y)
        disc = math.sqrt(b * b + 4.0 * g0 * y * y)
        v = 2.0 * y / (b + disc)
        if v * v < sonic:
            tau = 1.0 - g0 * v * v
            x = x0 * tau * math.exp(math.log(tau) / (gamma0 - 1.0))
            slope_x = -x * gamma0 * v / tau * (tau + 2.0 * share * g0 * y * v) / disc
        else:
            if choked_flow < 0.0:
                choked_flow = share * x0 * top * math.exp(math.log(sonic) / (gamma0 - 1.0))
            x = choked_flow * (1.0 / y - g0 * y)
            slope_x = -choked_flow * (1.0 / (y * y) + g0)
        if x >= 1.0:
            change, slope = shock_speed_change(x, gamma)
        else:
            z = math.exp(g / gamma * math.log(x))
            change, slope = (z - 1.0) / g, z / (gamma * x)
        wrong = sound * y - speed - change
        if wrong <= 0.0:
            if y >= top:
                # The duct could take more than a sonic face passes.  Begin there next time too.
                return y, x, 10.0 * top / about
            low = y
        else:
            high = y
        step = -wrong / (sound - slope * slope_x)
        if abs(step) <= FINE * y and y + step < top:
            return y + step, x + slope_x * step, (y + step) / about
        y += step
        if y >= high:
            y = top if high == top else 0.5 * (low + high)
        elif y <= low:
            y = 0.5 * (low + high)
    return y, x, y / about


@kernel
def outward(
    x0: float, speed: float, gamma: float, share: float, free: float, z0: float, start: float
) -> tuple[float, float, float, float]:
    """Flow from the duct into the volume through less than the duct's area.

    Parameters
    ----------
    x0, speed, share, free, start : float
        As in `inward`; free is below 0.
    z0 : float
        x0^((gamma-1)/(2 gamma)), wanted when x0 < 1 [-].

    Returns
    -------
    the unknown (for the next start), the face's Mach number, its pressure and temperature over the duct's [-]

    Notes
    -----
    From V = (speed at the throat)^2 - (at the face)^2, over the face's sound speed squared, follow the
    throat's temperature and density ratio to the face, the face's Mach number and its pressure.  The
    unknown s is V stretched so that s * share is nearly the Mach number, whatever the share.  The flow is the
    smaller root of two rising functions: the wave relation, and that of the sonic throat.
    """
    g = 0.5 * (gamma - 1.0)
    square = share * share
    rest = (1.0 - share) * (1.0 + share)
    most = 2.0 / (gamma + 1.0)
    top = math.sqrt(most / (rest + square * most))  # V no higher than with no speed at the face
    about = -2.0 * free / (share + math.sqrt(square - 2.0 * free))  # as in `inward`
    s = about * start if start > LEAST else about
    if s > top:
        s = top
    low, high = 0.0, top
    for _ in range(TURNS):
        below = 1.0 / (1.0 - square * s * s)
        v2 = s * s * rest * below
        slope_v2 = 2.0 * s * rest * below * below
        tau = 1.0 - g * v2
        dense = math.exp(math.log(tau) / g)  # square of the density ratio
        room = rest + square * (1.0 - dense)
        mach = share * math.sqrt(dense * v2 / room)
        slope_mach = 0.5 * mach * (1.0 / v2 - (1.0 + square * dense / room) / tau)
        x = x0 / (tau * math.sqrt(dense))
        slope_x = 0.5 * gamma * x / tau
        if x < 1.0:
            root = z0 / math.sqrt(tau)
            wrong = speed + (root - 1.0) / g + mach * root
            slope = root * (0.5 * (1.0 + g * mach) / tau + slope_mach)
        else:
            change, slope_change = shock_speed_change(x, gamma)
            growth = 1.0 / x + (gamma - 1.0) / ((gamma - 1.0) * x + gamma + 1.0)
            growth -= (gamma + 1.0) / ((gamma + 1.0) * x + gamma - 1.0)
            root = math.sqrt(shock_heating(x, gamma))
            wrong = speed + change + mach * root
            slope = (slope_change + 0.5 * mach * root * growth) * slope_x + root * slope_mach
        step = -wrong / (slope * slope_v2)
        choked = False
        if v2 > 0.5 * tau * room:  # near a sonic throat, where v2 = tau * room
            sonic = v2 - (v2 - tau * room) / (0.5 * (gamma + 1.0) * room)
            sonic = math.sqrt(sonic / (rest + square * sonic)) - s
            if sonic < step:
                step, choked = sonic, True
        grown = slope_v2 * step
        if abs(grown) <= 2.0 * FINE * v2:
            mach += slope_mach * grown
            if choked:
                x, hot = choked_outward(speed, gamma, mach)
                return (s + step) / about, mach, x, hot
            x += slope_x * grown
            if x < 1.0:
                root += 0.5 * root * g / tau * grown
                return (s + step) / about, mach, x, root * root
            return (s + step) / about, mach, x, shock_heating(x, gamma)
        if step > 0.0:
            low = s
        else:
            high = s
        s += step
        if s <= low or s > high:
            s = 0.5 * (low + high)
    return s / about, mach, x, root * root


@kernel
def nozzle_end(
    rho: float, u: float, p: float, a: float, gamma: float, area: float, p0: float, T0: float,
    R0: float, gamma0: float, effective: float, reverse: float, guess: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Flow between a duct and a still volume behind an effective area: valve, open end, mouth, throttle.

    Parameters
    ----------
    rho, u, p, a, gamma : float
        Edge of the duct: density [kg/m3], speed, positive into the duct [m/s], pressure [Pa], sound speed
        [m/s], ratio of heats [-].
    area : float
        Of the duct's face [m2].
    p0, T0, R0, gamma0 : float
        Volume: pressure [Pa], temperature [K], gas constant [J/(kg K)], ratio of heats [-].
    effective, reverse : float
        Effective (isentropic) area for flow into the duct [m2], and what multiplies it for flow out of
        it [-].  Neither way may exceed the duct's area; more is cut.
    guess : float
        What the last call for this end returned, or 0.  It changes the time taken, not the answer.

    Returns
    -------
    mass : float
        Mass flow, positive into the duct [kg/s].
    force : float
        (p + rho u^2) area at the face [N].
    rise : float
        What the total enthalpy of the gas that passes lies above the static enthalpy of where it
        comes from, the volume (mass > 0) or the edge of the duct [J/kg].
    p_face : float
        Pressure at the face [Pa].
    guess : float
        For the next call.

    Notes
    -----
    Equal pressures and gas at rest give exactly no flow and the force p * area.
    """
    speed = u / a
    x0 = p0 / p
    z0 = 1.0
    if x0 >= 1.0:
        free = speed + shock_speed_change(x0, gamma)[0]
    else:
        z0 = math.exp(0.5 * (gamma - 1.0) / gamma * math.log(x0))
        free = speed + 2.0 * (z0 - 1.0) / (gamma - 1.0)
    share = min(effective if free > 0.0 else effective * reverse, area) / area
    if share <= SHUT:
        x = wall_ratio(speed, gamma)
        return 0.0, x * p * area, 0.0, x * p, 0.0
    if abs(free) <= NOTHING:
        return 0.0, p0 * area, 0.0, p0, 0.0
    if free > 0.0:
        sound0 = math.sqrt(gamma0 * R0 * T0)
        y, x, guess = inward(x0, speed, gamma, share, free, sound0 / a, gamma0, guess)
        face = x * p
        fast = y * sound0
        flow = face * fast / (R0 * T0 * (1.0 - 0.5 * (gamma0 - 1.0) * y * y))
        return flow * area, (face + flow * fast) * area, 0.0, face, guess
    s = 0.0
    if share < 1.0 - SAME_AREA:
        s, mach, x, hot = outward(x0, speed, gamma, share, free, z0, -guess)
        fast = -mach * a * math.sqrt(hot)
    else:
        x = x0
        hot = shock_heating(x0, gamma) if x0 >= 1.0 else z0 * z0
        fast = a * free
        if free * free > hot:  # faster than sound: the face stays sonic
            x, hot = choked_outward(speed, gamma, 1.0)
            fast = -a * math.sqrt(hot)
    if speed <= -1.0 and speed * speed >= ((gamma + 1.0) * x + gamma - 1.0) / (2.0 * gamma):
        # The shock that would hold the gas back is itself carried out: nothing runs into the duct.
        return rho * u * area, (p + rho * u * u) * area, 0.5 * u * u, p, -s
    flow = rho * x / hot * fast
    rise = a * a * (hot - 1.0) / (gamma - 1.0) + 0.5 * fast * fast
    return flow * area, (x * p + flow * fast) * area, rise, x * p, -s


@kernel
def junction_end(
    rho: float, u: float, p: float, a: float, gamma: float, area: float, pj: float, Tj: float,
    Rj: float, gammaj: float, along: float, speed_squared: float, guess: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Flow between a duct and a junction whose gas moves.

    Parameters
    ----------
    rho, u, p, a, gamma, area, guess : float
        As in `nozzle_end`.
    pj, Tj, Rj, gammaj : float
        Junction, static: pressure [Pa], temperature [K], gas constant [J/(kg K)], ratio of heats [-].
    along : float
        Speed of the junction's gas towards this duct [m/s].
    speed_squared : float
        Square of the junction's whole speed [m2/s2].

    Returns
    -------
    mass, force, rise, p_face, guess
        As in `nozzle_end`; the static state of the junction takes the place of the volume's.

    Notes
    -----
    A volume whose pressure is the junction's with the ram pressure of `along`, isentropic, added when the
    gas comes towards the duct and taken off when it leaves.  With the momentum balance of the
    junction (force - pj area of every duct) that is the classical control volume: at low speed the total
    pressure of an outgoing duct is pj + rho w |w| / 2.  In line and with equal areas nothing is lost.
    """
    heat = gammaj * Rj / (gammaj - 1.0) * Tj  # static enthalpy
    ram = math.exp(gammaj / (gammaj - 1.0) * math.log1p(0.5 * along * along / heat))
    pressure = pj * ram if along >= 0.0 else pj / ram
    hot = Tj * (1.0 + 0.5 * speed_squared / heat)
    mass, force, rise, face, guess = nozzle_end(
        rho, u, p, a, gamma, area, pressure, hot, Rj, gammaj, area, 1.0, guess
    )
    return mass, force, 0.5 * speed_squared if mass > 0.0 else rise, face, guess


@kernel
def keep(mass: float, through: float, kept: float, dt: float) -> float:
    """Share of a junction's momentum that stays over a time step [-].

    Implicit in dP/dt = -(1/kept - 1) (through/mass) P: what is lost while the gas is exchanged once does
    not depend on the step.  `mass` of the junction [kg], what comes in `through` it [kg/s], `dt` [s].
    """
    if kept <= 0.0:
        return 0.0
    return 1.0 / (1.0 + dt * through * (1.0 - kept) / (kept * mass))


@kernel
def junction_flux(
    rho: float, u: float, p: float, a: float, e: float, rho_j: float, u_j: float, p_j: float, a_j: float,
    e_j: float,
) -> tuple[float, float, float, bool]:  # fmt: skip
    """Flux between a junction's cell and a duct's edge by the HLLC Riemann solver, for pipes in line.

    Parameters
    ----------
    rho, u, p, a, e : float
        Duct's edge: density [kg/m3], speed into the duct [m/s], pressure [Pa], sound speed [m/s], internal
        energy, of any zero [J/kg].
    rho_j, u_j, p_j, a_j, e_j : float
        The same of the junction; u_j towards the duct.

    Returns
    -------
    mass [kg/(m2 s)], momentum [Pa], energy [W/m2], whether the gas is the junction's

    Notes
    -----
    Toro (2009) section 10.4, with Davis' wave speeds (from memory).  Where the speeds differ, a side
    branch or momentum lost, it takes rho a |u - u_j| of pressure: no loss of steady flow is like that.
    """
    fastest_left = min(u_j - a_j, u - a)
    fastest_right = max(u_j + a_j, u + a)
    push_j, push = rho_j * (fastest_left - u_j), rho * (fastest_right - u)
    middle = (p - p_j + u_j * push_j - u * push) / (push_j - push)
    if middle >= 0.0:
        energy = rho_j * (e_j + 0.5 * u_j * u_j)
        mass = rho_j * u_j
        momentum, power = mass * u_j + p_j, (energy + p_j) * u_j
        if fastest_left < 0.0:
            dense = push_j / (fastest_left - middle)
            extra = dense * (energy / rho_j + (middle - u_j) * (middle + p_j / push_j)) - energy
            momentum += fastest_left * (dense * middle - mass)
            power += fastest_left * extra
            mass += fastest_left * (dense - rho_j)
        return mass, momentum, power, True
    energy = rho * (e + 0.5 * u * u)
    mass = rho * u
    momentum, power = mass * u + p, (energy + p) * u
    if fastest_right > 0.0:
        dense = push / (fastest_right - middle)
        extra = dense * (energy / rho + (middle - u) * (middle + p / push)) - energy
        momentum += fastest_right * (dense * middle - mass)
        power += fastest_right * extra
        mass += fastest_right * (dense - rho)
    return mass, momentum, power, False
