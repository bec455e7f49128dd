"""Compiled inner loops of the gas model: pure functions of floats and arrays, SI.

Importing this package imports Numba, so only the bodies of functions in the model layer do it.

Layout of a *state* vector, shape (8,): masses [kg] of fresh air, fuel vapour, nitrous oxide, water
vapour of the air, burned air, burned fuel, burned nitrous, and the absolute internal energy [J]
with the energy of formation in it.
"""

from ...cache import prepare_compile_cache

prepare_compile_cache()
