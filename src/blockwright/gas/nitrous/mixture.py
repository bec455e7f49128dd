"""How the mixture moves when the bottle or the fuel pressure is not what the jets were chosen for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ...errors import InputError
from ...trace import Value, formula
from ..fuels import working_gas
from .bottle import Pass
from .charge import air_equivalent, charge_lambda, stoichiometric_ratio

Array = NDArray[np.float64]

#: Relative change of lambda below which the mixture counts as steady [-].
_STEADY = 0.002


@formula(
    symbol="lambda_n",
    unit="1",
    equation="lambda_n = (m_n/m_f)/S",
    source="definition",
)
def shot_lambda(nitrous: Value, fuel: Value, stoichiometric: Value) -> Value:
    """Oxygen of the nitrous oxide over what its own enrichment fuel needs.

    Parameters
    ----------
    nitrous, fuel : array_like
        Flows [kg/s].
    stoichiometric : array_like
        Nitrous oxide that just burns a kilogram of fuel [-].

    Returns
    -------
    ndarray
        [-]
    """
    return nitrous / (fuel * stoichiometric)


def direction(before: float, after: float) -> str:
    """``"lean"``, ``"rich"`` or ``"steady"``: which way a lambda has moved."""
    change = after / before - 1.0
    if abs(change) < _STEADY:
        return "steady"
    return "lean" if change > 0.0 else "rich"


@dataclass(frozen=True)
class Drift:
    """The mixture through a pass; arrays over `Pass.time`.

    Attributes
    ----------
    ratio : ndarray
        Nitrous oxide over enrichment fuel [-].
    shot_lambda : ndarray
        Of nitrous oxide and its fuel alone [-].
    lambda_ : ndarray or None
        Of the whole charge, where the engine's own air and fuel are given [-].
    way : str
        Where the mixture has gone by the end of the liquid: ``"lean"``, ``"rich"`` or ``"steady"``.
    leanest, richest : float
        Of the whole charge, or of the shot when the engine's flows are not given [-].
    """

    ratio: Array
    shot_lambda: Array
    lambda_: Array | None
    way: str
    leanest: float
    richest: float


def drift(
    run: Pass,
    fuel: str,
    enrichment: float | Array,
    air: float | None = None,
    own_fuel: float | None = None,
) -> Drift:
    """Mixture through a pass.

    Parameters
    ----------
    run : Pass
    fuel : str
        Name in `gas.fuels.TABLE_OF`.
    enrichment : float or ndarray
        Flow of the fuel jet, over `run.time` if it changes [kg/s].
    air, own_fuel : float or None
        The engine's own flows [kg/s].

    Returns
    -------
    Drift
    """
    given = np.broadcast_to(np.asarray(enrichment, dtype=np.float64), run.time.shape)
    if np.any(given <= 0.0):
        raise InputError("there is no enrichment fuel; the mixture of the shot has no meaning without it")
    shot = np.asarray(shot_lambda(run.flow, given, stoichiometric_ratio(fuel)))
    whole = None
    if air is not None and own_fuel is not None:
        afr = working_gas(fuel).air_fuel_ratio
        whole = np.asarray(charge_lambda(run.flow / air, (own_fuel + given) / air, afr, air_equivalent(fuel)))
    judged = shot if whole is None else whole
    wet = judged[run.liquid] if run.liquid.any() else judged
    return Drift(
        run.flow / given, shot, whole, direction(float(wet[0]), float(wet[-1])),
        float(judged.max()), float(judged.min()),
    )  # fmt: skip


@dataclass(frozen=True)
class OffTarget:
    """The mixture of fixed jets away from the state they were chosen for.

    Attributes
    ----------
    temperature, pressure : ndarray
        Of the bottle [K], [Pa].
    flow : ndarray
        Nitrous oxide [kg/s].
    lambda_ : ndarray
        Of the shot [-].
    way : tuple of str
        Against the state that the jets were chosen for.
    """

    temperature: Array
    pressure: Array
    flow: Array
    lambda_: Array
    way: tuple[str, ...]


def off_target(
    temperature: Array, pressure: Array, flow: Array, enrichment: float | Array, fuel: str, wanted: float
) -> OffTarget:
    """Mixture against the bottle's temperature, fuel pressure, or both.

    Parameters
    ----------
    temperature, pressure, flow : ndarray, shape (n,)
        Bottle states and the flow of the fixed jet at each [K], [Pa], [kg/s].
    enrichment : float or ndarray
        Flow of the fuel jet at each [kg/s].
    fuel : str
    wanted : float
        Lambda of the shot that the jets were chosen for [-].

    Returns
    -------
    OffTarget
    """
    lambda_ = np.asarray(shot_lambda(flow, enrichment, stoichiometric_ratio(fuel)))
    ways = tuple(direction(wanted, float(value)) for value in lambda_)
    return OffTarget(temperature, pressure, flow, lambda_, ways)
