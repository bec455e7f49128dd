"""Equivalent fully reversed amplitude of a stress cycle with a mean: one function per rule.

Every rule gives the amplitude S_e that, fully reversed, does the same damage as the
amplitude S_a about the mean S_m.  Tension is positive.  The three rules that metals of the
catalogue name (`smith`, `fkm_ductile`, `goodman`) are finite, continuous and rise with S_a
and S_m everywhere, so that search and FORM see no step; the textbook ones are for checks.
"""

from __future__ import annotations

import numpy as np

from ..trace import Value, formula

#: Mean over tensile strength beyond which a rule is continued by its tangent: the part
#: breaks by its mean alone near 1, and the demand must stay finite to be searched.
STEEPEST = 0.95
#: FKM's mean-stress sensitivity of grey iron, used for a compressive mean only [-].
GREY_SENSITIVITY = 0.5
#: Most that a compressive mean may add to the bearable amplitude of grey iron [-].
GREY_COMPRESSION_GAIN = 1.3
#: FKM's sensitivity M = a R/1000 MPa + b of ductile iron.
DUCTILE_SENSITIVITY = (0.35e-9, 0.08)


def _smith_ratio(x: Value) -> Value:
    """(1 + x)/(1 - x), by its tangent beyond `STEEPEST`."""
    held = np.minimum(x, STEEPEST)
    tangent = 2.0 / (1.0 - STEEPEST) ** 2
    return (1.0 + held) / (1.0 - held) + tangent * np.maximum(x - STEEPEST, 0.0)


def _goodman_ratio(x: Value) -> Value:
    """1/(1 - x), by its tangent beyond `STEEPEST`."""
    held = np.minimum(x, STEEPEST)
    tangent = 1.0 / (1.0 - STEEPEST) ** 2
    return 1.0 / (1.0 - held) + tangent * np.maximum(x - STEEPEST, 0.0)


@formula(
    symbol="S_e",
    unit="Pa",
    equation="x = S_m/R; x >= 0: S_e = S_a (1 + x)/(1 - x); x < 0: S_e = max(S_a + 0.5 S_m, S_a/1.3)",
    source="J. O. Smith 1942 (tension) and FKM guideline 2012 (compression, gain capped), from memory",
    valid="grey iron; tangent beyond S_m = 0.95 R: there it breaks by its mean alone",
)
def smith(amplitude: Value, mean: Value, tensile: Value) -> Value:
    """Equivalent reversed amplitude of grey iron."""
    pulled = amplitude * _smith_ratio(np.maximum(mean, 0.0) / tensile)
    pressed = np.maximum(
        amplitude + GREY_SENSITIVITY * np.minimum(mean, 0.0), amplitude / GREY_COMPRESSION_GAIN
    )
    return np.where(mean >= 0.0, pulled, pressed)


@formula(
    symbol="S_e",
    unit="Pa",
    equation="S_m >= 0: S_e = S_a/(1 - S_m/R); S_m < 0: S_e = S_a",
    source="Goodman, textbook; no credit for a compressive mean",
    valid="tangent beyond S_m = 0.95 R: there it breaks by its mean alone",
)
def goodman(amplitude: Value, mean: Value, tensile: Value) -> Value:
    """Equivalent reversed amplitude after Goodman."""
    return amplitude * _goodman_ratio(np.maximum(mean, 0.0) / tensile)


@formula(
    symbol="S_e",
    unit="Pa",
    equation=(
        "M = 0.35 R/1000 MPa + 0.08, q = S_m/S_a; q < -1: S_a (1 - M); q <= 1: S_a + M S_m; "
        "q <= 3: (1 + M)(3 S_a + M S_m)/(3 + M); beyond: 3 S_a (1 + M)^2/(3 + M); S_m > 0: not below Goodman"
    ),
    source="FKM guideline 2012, K_AK (read in an open-source library), with Goodman's line towards R",
    valid="ductile iron; tangent beyond S_m = 0.95 R: there it breaks by its mean alone",
)
def fkm_ductile(amplitude: Value, mean: Value, tensile: Value) -> Value:
    """Equivalent reversed amplitude of ductile iron."""
    slope, offset = DUCTILE_SENSITIVITY
    guideline = fkm_equivalent(amplitude, mean, slope * tensile + offset)
    pulled = amplitude * _goodman_ratio(np.maximum(mean, 0.0) / tensile)
    return np.where(mean > 0.0, np.maximum(guideline, pulled), guideline)


def fkm_equivalent(amplitude: Value, mean: Value, sensitivity: Value) -> Value:
    """S_a/K_AK of the FKM guideline for mean-stress sensitivity M, its four fields of R joined.

    Linear in S_a and S_m within each field, so written without their quotient.
    """
    m = sensitivity
    held = np.clip(mean, -amplitude, 3.0 * amplitude)
    low = amplitude + m * np.minimum(held, amplitude)
    high = (1.0 + m) * (3.0 * amplitude + m * held) / (3.0 + m)
    return np.where(held <= amplitude, low, high)


#: Rules by the name that a metal's row gives.
RULES = {"smith": smith, "goodman": goodman, "fkm-ductile": fkm_ductile}


def gerber(amplitude: Value, mean: Value, tensile: Value) -> Value:
    """S_a/(1 - (S_m/R)^2): Gerber's parabola, for checks."""
    return amplitude / (1.0 - (mean / tensile) ** 2)


def morrow(amplitude: Value, mean: Value, true_fracture: Value) -> Value:
    """S_a/(1 - S_m/s_f'): Morrow, for checks."""
    return amplitude / (1.0 - mean / true_fracture)


def soderberg(amplitude: Value, mean: Value, yield_stress: Value) -> Value:
    """S_a/(1 - S_m/R_p): Soderberg, for checks."""
    return amplitude / (1.0 - mean / yield_stress)


def smith_watson_topper(amplitude: Value, mean: Value) -> Value:
    """sqrt((S_m + S_a) S_a): Smith, Watson and Topper, for checks."""
    return np.sqrt(np.maximum(mean + amplitude, 0.0) * amplitude)
