"""Formulas of the stresses in a cylinder wall, hoop direction, tension positive."""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula

_SHELLS = "Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells (from memory)"


def over_duty(values: Value) -> Value:
    """Largest over operating points and cycles, shape (n, 1, 1, 1)."""
    given = np.asarray(values, dtype=float)
    return given.reshape(given.shape[0], -1).max(axis=1).reshape(-1, 1, 1, 1)


@formula(symbol="t", unit="m", equation="t = t_read c", source="definition")
def true_thickness(reading: Value, calibration: Value) -> Value:
    """Wall thickness from a reading and the gauge's calibration on this casting."""
    return reading * calibration


@formula(
    symbol="s_i",
    unit="1",
    equation="s_i = (b^2 + a^2)/(b^2 - a^2), b = a + t",
    source="Lame, thick cylinder",
)
def hoop_inside(bore: Value, thickness: Value) -> Value:
    """Hoop stress at the bore per gas pressure, wall free."""
    a = 0.5 * bore
    b = a + thickness
    return (b * b + a * a) / (b * b - a * a)


@formula(symbol="s_o", unit="1", equation="s_o = 2 a^2/(b^2 - a^2), b = a + t", source="Lame, thick cylinder")
def hoop_outside(bore: Value, thickness: Value) -> Value:
    """Hoop stress at the water side per gas pressure, wall free."""
    a = 0.5 * bore
    b = a + thickness
    return 2.0 * a * a / (b * b - a * a)


@formula(
    symbol="f",
    unit="1",
    equation="f = f_0 (t/t_0)^e",
    source="influence of the shell kernel at the nominal wall and its logarithmic slope",
    valid="thickness within about a third of the nominal",
)
def with_thickness(coefficient: Value, thickness: Value, nominal: float, exponent: float) -> Value:
    """A shell coefficient carried from the nominal thickness to the sampled one."""
    return coefficient * (thickness / nominal) ** exponent


@formula(
    symbol="s_u",
    unit="1",
    equation="s_u = 3 d a/t^2",
    source="statics of a ring whose middle line leaves the line of the hoop force, held round by the deck",
)
def uneven_bending(offset: Value, bore: Value, thickness: Value) -> Value:
    """Bending stress at the water side per gas pressure where the wall is thinner than its second order.

    `offset` is minus the second order of thickness times the shell's freedom to go oval
    there [m]: the hoop force p a runs outside the middle of a thin stretch by half of it.
    """
    return 3.0 * offset * 0.5 * bore / (thickness * thickness)


@formula(
    symbol="s", unit="1", equation="s = e (f s_h + v s_u), v = 1 water side, -1 bore side", source="statics"
)
def gas_ratio(error: Value, front: Value, hoop: Value, uneven: Value, outside: bool) -> Value:
    """Stress at one face per gas pressure on the wall, with the model's error."""
    return error * (front * hoop + (uneven if outside else -uneven))


@formula(symbol="s_g", unit="Pa", equation="s_g = s p", source="statics")
def gas_stress(ratio: Value, pressure: Value) -> Value:
    """Stress from gas pressure once the rings have passed."""
    return ratio * pressure


@formula(
    symbol="s_F/F",
    unit="1/m2",
    equation="s_F/F = v e e_F 6 c/(n t^2), v = 1 water side, -1 bore side",
    source="statics of a bent strip; moment c F by the shell equation, docs/models/walls.md; n after FKM",
)
def thrust_ratio(
    error: Value, thrust_error: Value, moment: Value, thickness: Value, support: Value, outside: bool
) -> Value:
    """Bending stress at one face per side force of the skirt, over the support number of bending.

    Dividing the bending stress by its support sets it beside the stretching stress against
    one and the same axial fatigue limit, as FKM adds the two kinds of stress.
    """
    size = 6.0 * error * thrust_error * moment / (support * thickness * thickness)
    return size if outside else -size


@formula(symbol="s_F", unit="Pa", equation="s_F = (s_F/F) F", source="statics")
def thrust_stress(ratio: Value, force: Value) -> Value:
    """Stress as the loaded skirt passes."""
    return ratio * force


@formula(
    symbol="q",
    unit="W/m2",
    equation="q = q_0 (p/p_0)^0.8 (v/v_0)^0.8 exp(-x/(l s))",
    source="Woschni's exponents; size and fall with depth from memory of measured liners",
    valid="full load, p_0 = 85 bar, v_0 = 18 m/s",
)
def heat_flux(
    reference: Value, peak_pressure: Value, piston_speed: Value, depth: Value, stroke: Value, reach: Value
) -> Value:
    """Mean heat flux through the wall at a depth, at each operating point."""
    mean_peak = np.mean(peak_pressure, axis=2, keepdims=True)  # nodes lie evenly about the mean
    load = (mean_peak / 8.5e6) ** 0.8 * (piston_speed / 18.0) ** 0.8
    return reference * load * np.exp(-depth / (reach * stroke))


@formula(
    symbol="s_T",
    unit="Pa",
    equation="s_T = +-E a dT/(2 (1 - nu)), dT = q t/k; + water side",
    source="plate with a linear temperature gradient held flat; " + _SHELLS,
)
def thermal_stress(
    flux: Value,
    thickness: Value,
    conductivity: Value,
    modulus: Value,
    expansion: Value,
    poisson: Value,
    outside: bool,
) -> Value:
    """Steady stress from the temperature difference across the wall."""
    size = modulus * expansion * flux * thickness / (2.0 * conductivity * (1.0 - poisson))
    return size if outside else -size


@formula(
    symbol="s_B",
    unit="Pa",
    equation="s_B = 15 E t W exp(-b_n x)/(2 a^2 (1 - nu^2))",
    source="ring bent to order n = bolts around the bore, W (n^2 - 1) = 15 W of order 4; decay of the shell",
    valid="taken in tension on either face",
)
def bolt_distortion_stress(
    distortion: Value, fade: Value, modulus: Value, poisson: Value, bore: Value, thickness: Value
) -> Value:
    """Steady stress from the distortion of the bore by the head fasteners."""
    a = 0.5 * (bore + thickness)
    return 15.0 * modulus * thickness * distortion * fade / (2.0 * a * a * (1.0 - poisson * poisson))


@formula(symbol="s_s", unit="Pa", equation="s_s = s_T + s_B", source="statics")
def steady_stress(thermal: Value, bolts: Value) -> Value:
    """Stress that does not change within the cycle."""
    return thermal + bolts


@formula(
    symbol="s_max",
    unit="Pa",
    equation="s_max = s_s + max(s_g, s_F, 0)",
    source="statics; gas and skirt load a height at different times of the cycle",
)
def largest_stress(gas: Value, thrust: Value, steady: Value) -> Value:
    """Largest stress at a face in one engine cycle."""
    return steady + np.maximum(np.maximum(gas, thrust), 0.0)


@formula(
    symbol="s_min",
    unit="Pa",
    equation="s_min = s_s + min(s_g, s_F, 0)",
    source="statics; gas and skirt load a height at different times of the cycle",
)
def smallest_stress(gas: Value, thrust: Value, steady: Value) -> Value:
    """Smallest stress at a face in one engine cycle."""
    return steady + np.minimum(np.minimum(gas, thrust), 0.0)


def _worse(max_a: Value, min_a: Value, max_b: Value, min_b: Value) -> Value:
    """Whether b is worse: amplitude and half the largest stress rank places of one material."""
    return 3.0 * max_b - min_b > 3.0 * max_a - min_a


@formula(
    symbol="s_max",
    unit="Pa",
    equation="s_max of the place with the larger 3 s_max - s_min",
    source="definition",
)
def worse_largest(max_a: Value, min_a: Value, max_b: Value, min_b: Value) -> Value:
    """Largest stress at the worse of two places, sample by sample and cycle by cycle."""
    return np.where(_worse(max_a, min_a, max_b, min_b), max_b, max_a)


@formula(
    symbol="s_min",
    unit="Pa",
    equation="s_min of the place with the larger 3 s_max - s_min",
    source="definition",
)
def worse_smallest(max_a: Value, min_a: Value, max_b: Value, min_b: Value) -> Value:
    """Smallest stress at the worse of two places, sample by sample and cycle by cycle."""
    return np.where(_worse(max_a, min_a, max_b, min_b), min_b, min_a)


@formula(symbol="s", unit="Pa", equation="max over operating points and cycles", source="definition")
def peak_of(stress: Value) -> Value:
    """Largest size of a stress over operating points and cycles, with its sign."""
    high, low = over_duty(stress), -over_duty(-stress)
    return np.where(high >= -low, high, low)


@formula(
    symbol="s_x",
    unit="Pa",
    equation="s_x = s_s + s p_x max(p_wall/p_peak)",
    source="statics; the largest pressure falls to the height of the place as in a normal cycle",
)
def bursting_stress(
    ratio: Value, extreme: Value, wall_pressure: Value, peak_pressure: Value, steady: Value
) -> Value:
    """Largest stress at the water side in the hardest cycle of the duty."""
    return over_duty(steady) + ratio * extreme * over_duty(wall_pressure / peak_pressure)


@formula(symbol="s", unit="Pa", equation="max(a, b)", source="definition")
def larger(a: Value, b: Value) -> Value:
    """The larger of two stresses."""
    return np.maximum(a, b)
