"""What is compiled ahead is what a run uses: no kernel is compiled twice for two kinds of arrays."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "examples" / "hillclimb_v8.toml"

SCRIPT = """
import sys
from blockwright import judge, load
from blockwright.gas import from_build
from blockwright.gas.kernels import cylinder
from blockwright.life import ahead, damage, parallel
from blockwright.parts import cap_kernels

parallel.can_fork = ahead.can_fork = lambda: False
build = load(sys.argv[1])
ahead.call_kernels(from_build.breathing(build), from_build.operating_point(build))
# Those that are called from outside; what they call in turn is compiled as they ask for it.
called = [
    getattr(module, name)
    for module, names in (
        (cylinder, ("closed_cycles",)),
        (damage, ("load_factors",)),
        (cap_kernels, ("lean", "read", "released", "trailing", "range_of", "extremes")),
    )
    for name in names
]
judge(build, samples=100, preview=True)
for kernel in called:
    print(kernel.__name__, len(kernel.signatures))
"""


def test_one_kind_of_arrays_for_every_kernel():
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(EXAMPLE)], capture_output=True, text=True, check=True
    )
    counts = dict(line.split() for line in done.stdout.splitlines())
    assert len(counts) == 8
    assert set(counts.values()) == {"1"}, counts
