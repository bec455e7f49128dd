"""Damage over a duty: load factor to failure, damage-equivalent demand, running variation.

What varies while the engine runs (pressure from cycle to cycle, operating points) is
integrated here, inside the damage sum; what is unknown but fixed is on the sample axis.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ..errors import InputError
from ..parts.cases import Fatigue
from ..parts.mean_stress import RULES
from ..trace import Array, Value, formula
from .damage import load_factors
from .normal import quantile

_MINER = "Palmgren-Miner with critical sum 1 for cast iron (FKM guideline 2012, from memory)"


@formula(symbol="S_a", unit="Pa", equation="S_a = (S_max - S_min)/2", source="definition")
def amplitude(stress_max: Value, stress_min: Value) -> Value:
    """Stress amplitude of one engine cycle."""
    return 0.5 * (stress_max - stress_min)


@formula(symbol="S_m", unit="Pa", equation="S_m = (S_max + S_min)/2", source="definition")
def mean(stress_max: Value, stress_min: Value) -> Value:
    """Mean stress of one engine cycle."""
    return 0.5 * (stress_max + stress_min)


@formula(
    symbol="lambda",
    unit="1",
    equation=(
        "sum_pz N_p w_z / N(lambda S_e,pz) = 1; N(S) = N_D (S/S_D)^-k for S >= S_D, N_D (S/S_D)^-(2k-1) below"
    ),
    source=_MINER + "; line below the knee after Haibach, a careful choice (FKM ends it there)",
    valid="stress cycles of one range a cycle; smaller ones are counted in as shares",
)
def load_factor_to_failure(
    equivalent: Value, strength: Value, cycles: Value, weights: Value, slope: Value, knee: Value
) -> Value:
    """Factor on the equivalent amplitudes at which the duty's damage sum is 1.

    Parameters
    ----------
    equivalent : array_like, shape (n, P, Z, 1)
        Equivalent fully reversed amplitude at each point and node [Pa].
    strength : array_like, shape (n, 1, 1, 1)
        Fully reversed amplitude at the knee [Pa].
    cycles : array_like, shape (1, P, 1, 1) or (n, P, 1, 1)
        Engine cycles at each point over the duty.
    weights : array_like, shape (1, 1, Z, 1)
        Weights of the nodes of the running variation; they add up to 1.
    slope, knee : array_like, shape (n, 1, 1, 1)
        S-N exponent k [-] and cycles at the knee.

    Returns
    -------
    ndarray, shape (n, 1, 1, 1)
        Load factor, at most `damage.NO_DAMAGE` (a duty that does no damage).

    Notes
    -----
    Haibach's continuation is taken although the FKM guideline lets the S-N line of cast iron
    end at the knee: rare large cycles (knock, a missed shift) open cracks at graphite, after
    which smaller ones count; and a demand without a step can be searched.
    """
    level, share = np.broadcast_arrays(
        np.asarray(equivalent, dtype=float) / strength,
        np.asarray(cycles, dtype=float) * weights / knee,
    )
    n = level.shape[0]
    exponent = np.ascontiguousarray(np.broadcast_to(np.reshape(slope, -1), (n,)), dtype=float)
    if not np.all(np.isfinite(level)) or not np.all(exponent >= 1.0):
        raise InputError(
            "a fatigue load level is not finite, or an S-N exponent is below 1; the damage sum has no root"
        )
    found = load_factors(
        np.ascontiguousarray(level.reshape(n, -1)), np.ascontiguousarray(share.reshape(n, -1)), exponent
    )
    return found.reshape(n, 1, 1, 1)


@formula(
    symbol="N",
    unit="1",
    equation="N = N_engine m",
    source="rainflow of the nominal load over one engine cycle (ASTM E1049-85), weighed by damage",
)
def load_cycles(engine_cycles: Value, pulses: Value) -> Value:
    """Load cycles of the largest range in place of engine cycles.

    Parameters
    ----------
    engine_cycles, pulses : array_like, shape (1, P, 1, 1)
        Over the duty; load cycles that one engine cycle is worth [-].
    """
    return engine_cycles * pulses


@formula(
    symbol="S_eq",
    unit="Pa",
    equation="S_eq = S_D/lambda",
    source="definition",
)
def damage_equivalent(strength: Value, factor: Value) -> Value:
    """Reversed amplitude that would just use up the same strength over the duty."""
    return strength / factor


def equivalent_amplitude(case: Fatigue) -> Value:
    """Equivalent fully reversed amplitude of a case by its own mean-stress rule, shape (n, P, Z, 1) [Pa]."""
    rule = RULES.get(case.mean_rule)
    if rule is None:
        raise InputError(f"mean rule {case.mean_rule!r} is not known; the rules are {', '.join(RULES)}")
    return rule(
        amplitude(case.stress_max, case.stress_min), mean(case.stress_max, case.stress_min), case.tensile
    )


def case_load_factor(case: Fatigue, cycles: Value, weights: Value) -> Value:
    """`load_factor_to_failure` of a part's fatigue case, shape (n, 1, 1, 1)."""
    return load_factor_to_failure(
        equivalent_amplitude(case), case.strength, cycles, weights, case.slope, case.knee
    )


def case_demand(case: Fatigue, cycles: Value, weights: Value) -> Value:
    """Damage-equivalent reversed amplitude to set against `case.strength`, shape (n, 1, 1, 1) [Pa]."""
    return damage_equivalent(case.strength, case_load_factor(case, cycles, weights))


@lru_cache(maxsize=16)
def cycle_nodes(count: int) -> tuple[Array, Array]:
    """Nodes and weights of the cycle-to-cycle variation, Gauss-Hermite for a standard normal.

    Parameters
    ----------
    count : int
        Number of nodes, 1 to 32.

    Returns
    -------
    nodes, weights : ndarray, shape (count,)
        Standard normal values, rising, and weights that add up to 1.  Exact for
        polynomials up to degree 2 count - 1.
    """
    if not 1 <= count <= 32:
        raise InputError(f"cycle_nodes: {count} nodes asked; 1 to 32 are supported")
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    weights = weights / weights.sum()
    nodes.flags.writeable = weights.flags.writeable = False
    return nodes, weights


@formula(
    symbol="z_N",
    unit="1",
    equation="z_N = -Phi^-1(1 - u^(1/N))",
    source="distribution of the largest of N independent normal values, exact",
    valid="independent cycles",
)
def largest_normal(uniform: Value, count: Value) -> Value:
    """Largest of N standard normal values, at the quantile given by a uniform draw.

    u^(1/N) is near 1 for long duties, so its complement is formed by expm1.
    """
    u = np.clip(uniform, 1e-300, 1.0 - 1e-16)
    return -quantile(-np.expm1(np.log(u) / np.maximum(count, 1.0)))
