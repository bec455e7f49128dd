"""Largest flux of nitrous oxide that expands in balance: both phases at one temperature and speed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .inlet import Inlet
from .saturation import (
    COLDEST,
    coldest_pressure,
    critical_temperature,
    saturated,
    saturation_pressure,
    saturation_temperature,
)
from .state import state

Array = NDArray[np.float64]

#: Places along the expansion.
_PLACES = 81


def homogeneous(inlet: Inlet, back_pressure: Array) -> tuple[Array, Array]:
    """Mass flux in balance and the critical pressure.

    Parameters
    ----------
    inlet : Inlet
    back_pressure : ndarray
        Absolute [Pa]; broadcast with the inlet.

    Returns
    -------
    flux, critical_pressure : ndarray
        The largest of rho sqrt(2 (h1 - h)) over the isentrope from p1 down to the back pressure
        [kg/(m2 s)], and where the largest lies on the whole isentrope [Pa].

    Notes
    -----
    .. math:: G = \\max_{p \\ge p_2} \\rho(p, s_1) \\sqrt{2 (h_1 - h(p, s_1))}

    Found on 81 places, refined by a parabola: within 0.02 % of a fine search (tested).
    """
    if inlet.superheated:
        return _dry(inlet, back_pressure)
    shape = np.broadcast_shapes(inlet.pressure.shape, back_pressure.shape)
    t1 = np.broadcast_to(inlet.temperature, shape)[..., None]
    h1 = np.broadcast_to(inlet.enthalpy, shape)[..., None]
    s1 = np.broadcast_to(inlet.entropy, shape)[..., None]
    p2 = np.broadcast_to(back_pressure, shape)
    whole = _along(t1, np.full_like(t1, COLDEST), h1, s1)
    best, critical = _peak(*whole)
    start = np.broadcast_to(np.asarray(saturation_pressure(inlet.temperature)), shape)
    # Before a pressed liquid starts to boil it flows as a liquid.
    press = np.broadcast_to(inlet.pressure, shape)
    density = np.broadcast_to(inlet.density, shape)
    onset = np.sqrt(2.0 * density * np.maximum(press - start, 0.0))
    critical = np.where(onset > best, start, critical)
    best = np.maximum(best, onset)
    if np.all(p2 < critical):
        return best, critical
    dry = np.sqrt(2.0 * density * np.maximum(press - np.maximum(p2, start), 0.0))
    end = saturation_temperature(np.clip(p2, coldest_pressure(), start))[..., None]
    flux = _along(end, end, h1, s1, places=1)[1][..., 0]
    # The parabola leaves the maximum uncertain by 1e-5; the flow must not rise with the pressure.
    ended = np.minimum(np.where(p2 < start, flux, dry), best)
    return np.where(p2 < critical, best, ended), critical


def _along(t1: Array, t2: Array, h1: Array, s1: Array, places: int = _PLACES) -> tuple[Array, Array]:
    """Pressure and flux at places from t1 to t2 on the isentrope, shape (..., places)."""
    share = np.linspace(0.0, 1.0, places)
    t = t1 + share * (t2 - t1)
    both = saturated(t)
    x = np.clip((s1 - both.liquid_entropy) / (both.vapour_entropy - both.liquid_entropy), 0.0, None)
    h = both.liquid_enthalpy + x * both.latent_heat
    return both.pressure, both.density(x) * np.sqrt(2.0 * np.maximum(h1 - h, 0.0))


def _peak(pressure: Array, flux: Array) -> tuple[Array, Array]:
    """Largest flux and its pressure, by a parabola in ln p through the highest place and its neighbours."""
    i = np.clip(flux.argmax(axis=-1), 1, flux.shape[-1] - 2)[..., None]
    x0, x1, x2 = (np.log(np.take_along_axis(pressure, i + k, -1)[..., 0]) for k in (-1, 0, 1))
    y0, y1, y2 = (np.take_along_axis(flux, i + k, -1)[..., 0] for k in (-1, 0, 1))
    d01, d12 = (y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1)
    curve = (d12 - d01) / (x2 - x0)
    safe = np.where(curve < 0.0, curve, -1.0)
    at = 0.5 * (x0 + x1) - 0.5 * d01 / safe
    inside = (curve < 0.0) & (at < x0) & (at > x2)
    top = y1 + (at - x1) * (d01 + curve * (at - x0))
    return np.where(inside, np.maximum(top, y1), y1), np.exp(np.where(inside, at, x1))


def _dry(inlet: Inlet, back_pressure: Array) -> tuple[Array, Array]:
    """The same for one superheated state: as a gas until it gets wet, then in balance."""
    t1, h1, s1 = float(inlet.temperature), float(inlet.enthalpy), float(inlet.entropy)
    dew = _dew(s1, t1)
    t = np.linspace(t1, max(dew, 0.55 * t1), _PLACES)
    rho = _density_on(t, s1, float(inlet.density))
    gas = state(t, rho)
    pressure = gas.pressure
    flux = rho * np.sqrt(2.0 * np.maximum(h1 - gas.enthalpy, 0.0))
    if dew > COLDEST:
        wet_p, wet_flux = _along(np.array([dew]), np.array([COLDEST]), np.array([h1]), np.array([s1]))
        pressure, flux = np.concatenate([pressure, wet_p[1:]]), np.concatenate([flux, wet_flux[1:]])
    best, critical = _peak(pressure[None], flux[None])
    ended = np.interp(back_pressure, pressure[::-1], flux[::-1])
    at = np.broadcast_to(critical[0], back_pressure.shape)
    return np.where(back_pressure < at, best[0], ended), at


def _dew(entropy: float, hottest: float) -> float:
    """Temperature at which the expanding gas gets wet, or -90 C when it does not before [K]."""
    t = np.linspace(COLDEST, min(hottest, critical_temperature() - 1e-6), 200)
    vapour = saturated(t).vapour_entropy  # falls with the temperature
    if entropy >= vapour[0]:
        return COLDEST
    return float(np.interp(-entropy, -vapour, t))


def _density_on(temperature: Array, entropy: float, start: float) -> Array:
    """Densities of the gas on an isentrope [kg/m3]: Newton on ln rho, of which entropy is nearly linear."""
    guess = np.log(start) + 3.5 * np.log(temperature / temperature[0])
    most = np.log(start) + 1e-9
    for _ in range(12):
        a = state(temperature, np.exp(guess)).entropy
        b = state(temperature, np.exp(guess - 1e-4)).entropy
        step = np.clip((entropy - a) * 1e-4 / (a - b), -1.0, 1.0)
        guess = np.minimum(guess + step, most)
        if np.max(np.abs(step)) < 1e-9:
            break
    return np.asarray(np.exp(guess))
