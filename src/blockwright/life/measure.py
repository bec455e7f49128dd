"""What to measure next: which input's doubt makes most of the verdict's doubt.

The share of an input is the squared correlation of its standard-normal column with
the log of the whole engine's breaking power, over the common samples: the part of
that variance that would go if the input were known, to first order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..trace import Array
from .draw import Draw


@dataclass(frozen=True)
class Shares:
    """Share of the variance of log breaking power by name; `models` is the sum over models' own errors."""

    inputs: Mapping[str, float]
    models: float
    catalogue: float


def variance_shares(draw: Draw, breaking: Array) -> Shares:
    """Shares by input, largest first, noise of the sampling taken off.

    Parameters
    ----------
    draw : Draw
        The common samples, with the quantities that limits used.
    breaking : ndarray, shape (rows,)
        Breaking power of each engine; infinite ones are taken at the ends of the finite range.
    """
    finite = breaking[np.isfinite(breaking)]
    if finite.size < 0.2 * breaking.size or np.ptp(finite) == 0.0:
        return Shares({}, 0.0, 0.0)
    y = np.log(np.clip(breaking, finite.min(), finite.max()))[1:]
    # Ranks make the measure blind to the pile-up at the clipped ends.
    rank = np.argsort(np.argsort(y)).astype(float)
    rank = (rank - rank.mean()) / rank.std()
    n = rank.size
    found: dict[str, float] = {}
    for name in draw.used:
        z = draw.z(name)[1:]
        r = float(rank @ ((z - z.mean()) / z.std())) / n
        # r^2 of an unrelated column is 1/n on average.
        found[name] = max(r * r - 1.0 / n, 0.0)
    kinds = {"build": {}, "model": {}, "catalogue": {}}  # type: dict[str, dict[str, float]]
    for name, share in found.items():
        kind, _, rest = name.partition(" ")
        kinds[kind][rest] = share
    ordered = sorted(kinds["build"].items(), key=lambda item: -item[1])
    return Shares(dict(ordered), sum(kinds["model"].values()), sum(kinds["catalogue"].values()))


#: How a shop narrows an input, by the start of its path (the longest match wins).
ADVICE = {
    "casting.walls": "read the wall again there, the gauge calibrated on a piece of this casting",
    "casting.hardness": "take three hardness readings on a ground spot of the web",
    "casting": "measure it on the casting with a depth gauge or calliper",
    "caps.hardness": "take three hardness readings on a ground spot of each cap",
    "caps.register_fit": "measure cap width and register width with a micrometer and take the difference",
    "caps.crown": "measure the cap's crown with a micrometer at its thinnest place",
    "caps": "measure it on the cap with a micrometer",
    "main_fasteners.thread_friction": "tighten by stretch, or measure stretch at the torque you use",
    "main_fasteners.head_friction": "tighten by stretch, or measure stretch at the torque you use",
    "main_fasteners": "measure the bolt's stretch when it is tight",
    "outer_fasteners": "measure the bolt's stretch when it is tight",
    "head_fasteners": "measure the stud's stretch when it is tight",
    "rod_bolts": "measure the rod bolt's stretch when it is tight",
    "rods": "weigh and measure the rod, each end on its own",
    "pistons": "weigh the piston, pin and rings",
    "heads": "measure it: chamber volume with a burette, flow on a bench",
    "spark.ca50": "take a cylinder pressure trace and read where half is burned",
    "spark": "take a cylinder pressure trace: it fixes phasing, duration and peak together",
    "target.power": "measure the power on a dynamometer with a known correction",
    "conditions": "read the weather at the dynamometer or track",
    "crank": "measure it on the crank",
    "boost": "read it with a gauge in the plenum at full load",
    "girdle": "measure it on the girdle",
}


def advice(path: str) -> str:
    """How a shop would narrow the input at `path`."""
    parts = path.split(".")
    for end in range(len(parts), 0, -1):
        key = ".".join(parts[:end])
        if key in ADVICE:
            return ADVICE[key]
    return "measure it"
