"""The engine with its pipes: a converged point, its mesh error, the preview, a curve, a turbo curve, a start.

    python benchmarks/engine_points.py

Engines of `examples/`, warm (kernels compiled, one run before).  CPU seconds of one core where one core is
meant; the curve by the clock on two threads.
"""

from __future__ import annotations

import math
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from record import record

import blockwright as bw
from blockwright.build.model import Build
from blockwright.gas import from_build
from blockwright.gas.curve import curve
from blockwright.gas.mesh import COARSE, FINE, lay_out
from blockwright.gas.model import Cycle
from blockwright.gas.solve import solve

EXAMPLES = Path(__file__).parents[1] / "examples"
RPM = (3000.0, 4500.0, 6000.0, 7000.0)


def build(name: str) -> Build:
    """A demo build."""
    return bw.load(EXAMPLES / f"{name}.toml")


def cpu(work: Callable[[], object], runs: int = 3) -> float:
    """Least CPU time of this thread over some runs [s]."""
    best = math.inf
    for _ in range(runs):
        start = time.thread_time()
        work()
        best = min(best, time.thread_time() - start)
    return best


def kept(value: float, limit: float) -> str:
    """Whether a limit is kept."""
    return "kept" if value <= limit else "MISSED"


def points() -> None:
    """Converged full-load points on the fine mesh, and the preview."""
    v8 = build("hillclimb_v8")
    breathing = from_build.breathing(v8)
    cells = {mesh.name: lay_out(breathing, mesh).cells for mesh in (COARSE, FINE)}
    fine_told, preview_told = [], []
    worst_fine = worst_mesh = worst_preview = worst_pace = 0.0
    for rpm in RPM:
        point = from_build.operating_point(v8, rpm * math.pi / 30.0)

        def run(mesh=FINE, point=point) -> Cycle:
            return solve(breathing, point, mesh=mesh)

        finer, fine, coarse = run(FINE.halved()), run(), run(COARSE)
        spent, preview = cpu(run), cpu(lambda run=run: run(COARSE))
        turning = coarse.cycles_run * 120.0 / rpm
        off, preview_off = fine.imep / finer.imep - 1.0, coarse.imep / finer.imep - 1.0
        fine_told.append(f"{rpm:.0f} rpm {spent:.2f} s ({fine.cycles_run} cycles, imep {100 * off:+.2f} %)")
        preview_told.append(f"{rpm:.0f} rpm {preview / turning:.2f} of it (imep {100 * preview_off:+.2f} %)")
        worst_fine, worst_mesh = max(worst_fine, spent), max(worst_mesh, abs(off))
        worst_preview, worst_pace = max(worst_preview, abs(preview_off)), max(worst_pace, preview / turning)
    record(
        "a converged point, V8,",
        f"{cells['fine']} cells, one core: " + "; ".join(fine_told)
        + f". Limit 1.0 s: {kept(worst_fine, 1.0)}; against cells of half the length 0.3 %: "
        + kept(worst_mesh, 0.003),
    )  # fmt: skip
    record(
        "the preview mesh, V8,",
        f"{cells['coarse']} cells, over the time in which the engine turns as many cycles: "
        + "; ".join(preview_told)
        + f". Limit 1: {kept(worst_pace, 1.0)}; 0.5 % in imep: {kept(worst_preview, 0.005)}",
    )


def curves() -> None:
    """Fifteen speeds on two threads, and the same with a turbocharger."""
    spent = {}
    for name in ("hillclimb_v8", "turbo_four"):
        engine = build(name)
        speeds = np.linspace(0.4, 1.1, 15) * engine.si("target.speed")
        best = math.inf
        for _ in range(2):
            start = time.perf_counter()
            found = curve(engine, speeds, spread=False)
            best = min(best, time.perf_counter() - start)
        spent[name] = best, len(found.points)
    v8, turbo = spent["hillclimb_v8"], spent["turbo_four"]
    record(
        "a curve of 15 points,",
        f"V8, fine mesh, two threads: {v8[0]:.1f} s ({v8[1]} points), limit 6 s: {kept(v8[0], 6.0)}",
    )
    # Per cylinder, since the turbocharged engine has half as many.
    ratio = (turbo[0] / 4.0) / (v8[0] / 8.0)
    record(
        "a turbo curve over the atmospheric,",
        f"{turbo[0]:.1f} s for 15 points of the four ({turbo[1]} settled), {ratio:.1f} times the V8's a "
        f"cylinder (at most 4): {kept(ratio, 4.0)}; {turbo[0] / v8[0]:.1f} times as a whole",
    )


def start() -> None:
    """A fresh process until its first settled point."""
    code = (
        "import blockwright as bw, math; from blockwright.gas import from_build; "
        "from blockwright.gas.mesh import COARSE; from blockwright.gas.solve import solve; "
        f"b = bw.load({str(EXAMPLES / 'minimal.toml')!r}); "
        "solve(from_build.breathing(b), from_build.operating_point(b), mesh=COARSE)"
    )
    best = math.inf
    for _ in range(3):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        best = min(best, time.perf_counter() - begun)
    record("warm start to a first point,", f"{best:.2f} s, limit 2 s: {kept(best, 2.0)}")


if __name__ == "__main__":
    points()
    curves()
    start()
