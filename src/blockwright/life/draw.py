"""Common samples: the same draw of what is unknown for every limit, level and option.

Each uncertain quantity has a name.  Its standard-normal column is made from the
seed and that name alone, so it does not depend on the order in which limits ask
for it, and a changed build is compared with the old one on the same engines.
Row 0 is the nominal engine.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from ..trace import Array
from . import normal

#: A relative spread above this makes a positive quantity log-normal, so that no draw turns negative.
LOGNORMAL_ABOVE = 0.10


@dataclass(frozen=True)
class Uncertain:
    """One uncertain quantity: its name, best estimate, standard uncertainty and distribution."""

    name: str
    mean: float
    sd: float
    lognormal: bool

    def at(self, z: Array) -> Array:
        """Values at standard-normal coordinates `z`; `z` = 0 gives the best estimate exactly.

        Log-normal: x = x0 exp(s z), s = sqrt(ln(1 + (u/x0)^2)), so that x0 is the median.
        """
        if self.lognormal:
            s = math.sqrt(math.log1p((self.sd / self.mean) ** 2))
            return np.asarray(self.mean * np.exp(s * z))
        return np.asarray(self.mean + self.sd * z)

    def moved(self, values: Array) -> Array:
        """How far values lie from the best estimate, in its unit: x - x0, or x0 ln(x/x0) when log-normal."""
        if self.lognormal:
            return np.asarray(self.mean * np.log(values / self.mean))
        return np.asarray(values - self.mean)


def uncertain(name: str, mean: float, sd: float, distribution: str) -> Uncertain:
    """An `Uncertain`, log-normal where asked or where the spread is wide and the value positive."""
    wide = mean > 0.0 and sd > LOGNORMAL_ABOVE * mean
    return Uncertain(name, mean, sd, (distribution == "lognormal" and mean > 0.0) or wide)


@lru_cache(maxsize=8)
def _strata(n: int) -> Array:
    """Standard normal values in the middle of n equally likely strata, rising."""
    return normal.quantile((np.arange(n) + 0.5) / n)


class Draw:
    """Standard-normal columns by name, n samples behind the nominal row.

    Parameters
    ----------
    n : int
        Number of samples beside the nominal row.
    seed : int
        Seed of the whole draw.
    fixed : mapping of str to ndarray, optional
        Columns given instead of drawn, all of one length: FORM's points in standard space.
        Names not in it are at 0.
    """

    def __init__(self, n: int, seed: int = 1, fixed: Mapping[str, Array] | None = None) -> None:
        self.seed = seed
        self.fixed = dict(fixed) if fixed is not None else None
        self.rows = n + 1 if fixed is None else len(next(iter(fixed.values())))
        self.used: dict[str, Uncertain] = {}
        self._columns: dict[str, Array] = {}
        self._values: dict[Uncertain, Array] = {}
        self._shaped: dict[Uncertain, Array] = {}

    def z(self, name: str) -> Array:
        """Standard-normal column of `name`, shape (rows,), row 0 = 0.

        Latin hypercube: one value in the middle of each equally likely stratum, in random order.
        """
        if self.fixed is not None:
            return self.fixed.get(name, np.zeros(self.rows))
        if name not in self._columns:
            rng = np.random.default_rng([self.seed, zlib.crc32(name.encode())])
            n = self.rows - 1
            self._columns[name] = np.concatenate([[0.0], rng.permutation(_strata(n))])
        return self._columns[name]

    def sample(self, variable: Uncertain) -> Array:
        """Values of `variable`, shape (rows,); a quantity without spread is constant."""
        if variable not in self._values:
            if variable.sd == 0.0:
                values = np.full(self.rows, variable.mean)
            else:
                self.used[variable.name] = variable
                values = variable.at(self.z(variable.name))
            values.flags.writeable = False
            self._values[variable] = values
        return self._values[variable]

    def column(self, variable: Uncertain) -> Array:
        """Values of `variable` with the axes of a limit, shape (rows, 1, 1, 1); the same array each time."""
        if variable not in self._shaped:
            self._shaped[variable] = self.sample(variable).reshape(-1, 1, 1, 1)
        return self._shaped[variable]

    def at(self, points: Mapping[str, Array]) -> Draw:
        """The same quantities at given standard-normal points."""
        return Draw(0, self.seed, points)


@dataclass
class Coordinates:
    """Names in a fixed order, to go between a vector in standard space and a `Draw`."""

    names: tuple[str, ...]
    evaluate: Callable[[Draw], Array] = field(repr=False)

    def __call__(self, u: Array) -> Array:
        """Limit-state values at rows `u`, shape (m, d) -> (m,)."""
        return self.evaluate(Draw(0, 0, {name: u[:, i] for i, name in enumerate(self.names)}))
