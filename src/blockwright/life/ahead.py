"""On the very first run: compile in a child what the gas network does not need, while it compiles itself.

Compiled kernels are kept on disk, so this happens once for each version of the kernels.  The two
halves take about equally long; without the child they would follow one another.
"""

from __future__ import annotations

import os

import numpy as np

from ..cache import prepare_compile_cache
from ..gas.model import Breathing, OperatingPoint, Trapped
from ..gas.solve import closed
from ..parts import cap_feet, cap_kernels
from .damage import load_factors
from .parallel import can_fork


def compile_ahead(breathing: Breathing, point: OperatingPoint) -> int | None:
    """Start the child where nothing is compiled yet; its process number, or None.

    Parameters
    ----------
    breathing, point : Breathing, OperatingPoint
        Any engine: only the kinds of the arrays matter.
    """
    folder = prepare_compile_cache()
    if folder is None or not can_fork() or any(folder.rglob("*.nbi")):
        return None
    child = os.fork()
    if child == 0:
        status = 1
        try:
            call_kernels(breathing, point)
            status = 0
        finally:
            os._exit(status)
    return child


def wait_for(child: int | None) -> None:
    """Wait until the child has stored what it compiled.  What it failed to do is done when it is needed."""
    if child is not None:
        os.waitpid(child, 0)


def call_kernels(breathing: Breathing, point: OperatingPoint) -> None:
    """Call every kernel outside the gas network once, with arrays of the kinds that a run uses."""
    charge = point.charge() * 1e-3
    closed(breathing, Trapped(breathing.intake_closes, 1.5e5, 350.0, charge), point)
    table = np.ones((2, 3))
    one = cap_feet.rows(1.0, 2)
    load_factors(table, table, one)
    knots = np.linspace(0.0, 1.0, 5)
    lean = cap_kernels.lean(table, table)
    cap_kernels.read(lean, table, knots, one)
    cap_kernels.released(table, table, *([one] * 8))
    cap_kernels.trailing(table, table, one)
    cap_kernels.range_of(np.ones((2, 4)), 2)
    stations = np.ones((3, 5))
    cap_kernels.extremes(
        table, table, stations, one, table, np.ones((2, 3)), one, np.ones((2, 3)), 3
    )  # fmt: skip
