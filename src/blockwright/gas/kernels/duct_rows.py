"""Rows of the duct field's arrays and the decorator of its inner loops.

The inner loops take every row as an argument of its own and promise the compiler that no two of them
overlap (`noalias`); with that it turns them into vector code without any check at run time.  `contract`
lets it fuse a multiplication with the addition behind it; sums are never reordered.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from ...cache import prepare_compile_cache
from ...compiled import _without_compiler

F = TypeVar("F", bound=Callable[..., Any])

#: Species carried, and the rows of `q` behind them: momentum and energy density.
SPECIES = 7
Q_MOMENTUM, Q_ENERGY = 7, 8
QUANTITIES = 9

# Rows of `prim`: density [kg/m3], velocity [m/s], pressure [Pa], speed of sound [m/s], ratio of heats [-],
# gas constant [J/(kg K)], internal energy density [J/m3], pressure at half a step [Pa] (set by `faces`),
# scratch.
P_RHO, P_U, P_P, P_A, P_GAMMA, P_R, P_E, P_HALF, P_SPARE = range(9)
PRIMITIVES = 9

# Places in a line of `edges` behind the 7 partial densities [kg/m3]: density [kg/m3], velocity along the duct
# [m/s], pressure [Pa], speed of sound [m/s], ratio of heats [-], gas constant [J/(kg K)], internal energy
# density [J/m3].
E_RHO, E_U, E_P, E_A, E_GAMMA, E_R, E_E = range(7, 14)
EDGE = 14

# Rows of `geo`: cell length [m]; 1 / cell volume [1/m3] and cell volume [m3], both nought in ghosts;
# face area at the end less that at the start [m2]; the same over the mean area [-]; diameter [m];
# wall temperature [K]; the roughness term of Haaland's formula [-]; multiplier of friction [-]; multiplier of
# heat [-]; loss coefficient of bends per length [1/m].
(
    D_DX, D_INVERSE, D_VOLUME, D_STEP, D_WIDEN, D_DIAMETER, D_WALL, D_ROUGH, D_FRICTION, D_HEAT, D_BEND,
) = range(11)  # fmt: skip
GEOMETRY = 11

# Rows of `wall`: drag = momentum lost per length and |u| [1/m]; film = heat per volume and kelvin [W/(m3 K)].
L_DRAG, L_FILM = range(2)
LOSSES = 2

#: Cells worked on at a time, so that what lies between cells and fluxes stays in the fastest cache.
BLOCK = 128
# Rows of `work`, each BLOCK + 4 long: states at the lower and the upper side of each cell (partial densities,
# velocity, pressure, internal energy density, density), and what each cell or face needs for its species.
SIDE = 11
S_U, S_P, S_E, S_RHO = range(7, 11)
W_LOW, W_HIGH = 0, SIDE
W_KEEP, W_BACK, W_AHEAD, W_FROM_LEFT, W_FROM_RIGHT = range(2 * SIDE, 2 * SIDE + 5)
WORK = 2 * SIDE + 5

# Columns of `thermo`, one line per species: e(t) = c0 + c1 t + c2 t^3 + c3 t^3/(t^2 + s3) + c4 t^3/(t^2 + s4)
# [J/kg] with t = T / 1000 K, then the gas constant [J/(kg K)].
H_0, H_1, H_CUBE, H_LOW, H_HIGH, H_R = range(6)
COEFFICIENTS = 6
#: The squares s3 and s4 of the two temperatures [(1000 K)^2] around which vibrations wake up: best common
#: places for all gases of all fuel tables.
LOW_SQUARE, HIGH_SQUARE = 0.5315**2, 1.1125**2


def _inner() -> Callable[[Any], Any]:
    prepare_compile_cache()
    from numba import njit

    return cast(
        Callable[[Any], Any],
        njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract", "nsz"}),
    )


_compile = _inner()


def _promise_no_overlap(flags: Any) -> Any:
    flags.noalias = True
    return flags


def rows_kernel(function: F) -> F:
    """Decorator of the loops over rows; arrays given to such a function must not overlap.

    Numba knows the promise but offers no public option for it.  Where a version lacks the hook, the
    compiler checks for overlap at run time or, with many rows, leaves a loop unvectorised: slower, not wrong.
    """
    compiled = _compile(function)
    if hasattr(compiled._compiler, "_customize_flags"):
        compiled._compiler._customize_flags = _promise_no_overlap
    _without_compiler(compiled)
    return cast(F, compiled)
