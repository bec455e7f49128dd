"""Our duct field against PyClaw, a general-purpose library for hyperbolic equations, on Sod's shock tube.

PyClaw's side: Roe's solver with entropy fix, wave propagation of second order, its monotonised central
limiter, compiled Fortran, three equations.  Ours: the field as the engine runs it: five of seven species
carried (seven equations; three species would be five), search for the temperature, fastest wave, friction and
heat included.  Courant number 0.9 for both, after the start from the jump that suits each better.

    python benchmarks/ducts_vs_pyclaw.py

PyClaw (`pip install clawpack`) needs a Fortran compiler to install and is not among our dependencies: without
it only our side is measured, and said so.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from record import record

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.gas.duct_driver import Field, ideal_gas, straight
from tests.gas.riemann import exact_state

from blockwright.gas.kernels import duct, duct_advance, duct_faces, duct_riemann, duct_state, duct_walls
from blockwright.gas.kernels.duct_rows import D_DX
from blockwright.gas.kernels.jit import kernel

CELLS = (100, 200, 400, 800)
END, COURANT = 0.2, 0.9
#: Small steps at our start from a jump, as Toro advises; PyClaw is the better without them (one step at 0.4).
START, SMALL = 5, 0.2
#: Cells of the timed run: as many as a V8 has, so that both work from the same caches.
TIMED = 1100
ACTIVE = {5: (0, 1, 3, 4, 5), 7: tuple(range(7))}


def exact(places: np.ndarray) -> np.ndarray:
    """Density of Sod's tube at the end, at places from the diaphragm."""
    states = [exact_state((1.0, 0.0, 1.0), (0.125, 0.0, 0.1), x / END, 1.4) for x in places]
    return np.array([s[0] for s in states])


def ours(cells: int, active: tuple[int, ...] = ACTIVE[5]) -> Field:
    """Sod's tube with pressure 1 bar for 1 and a share of every active species in both gases."""
    field = Field(
        [straight(1.0, cells, friction=1e-30, heat=1e-30)], [("transmissive", "transmissive")], ideal_gas(),
        active, courant=COURANT,
    )  # fmt: skip
    left = field.x < 0.5
    rho = np.where(left, 1.0, 0.125)
    density = np.zeros((7, cells))
    for place, k in enumerate(active):
        share = np.where(left, place + 1.0, len(active) - place)
        density[k] = rho * share / (0.5 * len(active) * (len(active) + 1))
    field.fill(density, 0.0, np.where(left, 1e5, 1e4))
    return field


@kernel
def many_steps(
    count: int, longest: float, q, temperature, prim, thermo, first, last, geo, face_area, active, flux,
    edges, work, wall, heat,
) -> None:  # fmt: skip
    """Whole steps of the field in compiled code, as an engine runs them; the tube's ends stay as they are."""
    for _ in range(count):
        refresh(q, temperature, prim, thermo, first, last)
        dt = min(longest, 0.9 / wave_speed(prim, geo[D_DX]))
        faces(q, prim, dt, geo, face_area, active, first, last, flux, edges, work)
        for k in range(9):
            for d in range(first.shape[0]):
                flux[k, first[d]] = flux[k, first[d] + 1]
                flux[k, last[d] + 1] = flux[k, last[d]]
        advance(q, flux, prim, temperature, dt, geo, wall, active, heat)


refresh, wave_speed, faces, advance = duct.refresh, duct.wave_speed, duct.faces, duct.advance


def our_pace(species: int) -> float:
    """Nanoseconds for one cell and step, losses' coefficients every eighth step included."""
    field = ours(TIMED, ACTIVE[species])
    f, m = field.arrays, field.mesh
    arguments = (
        f.q, f.temperature, f.prim, field.thermo, m.first, m.last, m.geo, m.face_area, field.active, f.flux,
        f.edges, f.work, f.wall, f.heat,
    )  # fmt: skip

    def go() -> None:
        duct.wall_losses(f.prim, f.temperature, m.geo, m.first, m.last, f.wall)
        many_steps(8, 1e-7, *arguments)

    return best(go, 8)


def best(run, steps: int, times: int = 300) -> float:
    """Shortest time of a cell's step [ns]: the machine has other work too."""
    run()
    shortest = np.inf
    for _ in range(times):
        start = time.perf_counter()
        run()
        shortest = min(shortest, time.perf_counter() - start)
    return shortest / steps / TIMED * 1e9


def claw_tube(cells: int):
    """PyClaw's solver and solution of the same tube."""
    from clawpack import pyclaw, riemann

    solver = pyclaw.ClawSolver1D(riemann.euler_with_efix_1D)
    solver.limiters = pyclaw.limiters.tvd.MC
    solver.order, solver.cfl_desired, solver.cfl_max = 2, COURANT, 1.0
    solver.bc_lower[0] = solver.bc_upper[0] = pyclaw.BC.extrap
    solver.max_steps = 100_000
    domain = pyclaw.Domain([pyclaw.Dimension(0.0, 1.0, cells, name="x")])
    state = pyclaw.State(domain, 3)
    state.problem_data["gamma"], state.problem_data["gamma1"] = 1.4, 0.4
    left = domain.grid.x.centers < 0.5
    state.q[0] = np.where(left, 1.0, 0.125)
    state.q[1] = 0.0
    state.q[2] = np.where(left, 1.0, 0.1) / 0.4
    solver.dt_initial = 0.5 / cells / 1.2
    return solver, pyclaw.Solution(state, domain)


def claw_pace() -> float:
    """Nanoseconds of PyClaw for one cell and step."""
    solver, solution = claw_tube(TIMED)
    solver.dt_variable = False
    solver.setup(solution)
    solver.dt = 1e-5

    def go() -> None:
        for _ in range(8):
            solver.step(solution, False, solution.t, 1e9)

    return best(go, 8)


def vector_loops() -> str:
    """How many of the field's loops became vector code; run where nothing is compiled yet."""
    field = ours(200)
    field.step()
    loops = {
        "state": duct_state._state_rows, "fastest wave": duct_state._fastest, "losses": duct_walls._loss_rows,
        "motion": duct_faces._motion_rows, "species": duct_faces._species_rows,
        "Riemann": duct_riemann.riemann_rows, "carried": duct_riemann.carried_rows,
        "species' step": duct_advance._species_step, "motion's step": duct_advance._motion_step,
    }  # fmt: skip
    told = []
    for name, loop in loops.items():
        code = "\n".join(loop.inspect_asm().values())
        packed = len(re.findall(r"\bv?(?:add|sub|mul|div|sqrt|min|max|fn?m(?:add|sub)\d+)pd\b", code))
        told.append(f"{name} {packed}")
    return "packed arithmetic instructions of each loop: " + ", ".join(told)


def in_fresh_process() -> str:
    """`vector_loops` with an empty compile cache: code loaded from disk shows no assembly."""
    kept = {k: v for k, v in os.environ.items() if k not in ("NUMBA_CACHE_DIR", "_BLOCKWRIGHT_NUMBA")}
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, __file__, "--vectors"], env={**kept, "BLOCKWRIGHT_CACHE": folder},
            capture_output=True, text=True, check=True,
        )  # fmt: skip
    return done.stdout.strip()


def main() -> None:
    """Measure both and record."""
    record("duct field's vector code,", in_fresh_process())
    errors = {}
    for cells in CELLS:
        field = ours(cells)
        field.courant = SMALL
        for _ in range(START):
            field.step()
        field.courant = COURANT
        field.run(END / np.sqrt(1e5))
        errors[cells] = float(np.mean(np.abs(field.rho - exact(field.x - 0.5))))
    pace = {n: our_pace(n) for n in ACTIVE}
    told = ", ".join(f"{n}: {e:.3e}" for n, e in errors.items())
    record(
        "duct field,",
        f"a cell's step: {pace[5]:.1f} ns with 5 species, {pace[7]:.1f} ns with 7; "
        f"V8 of 1100 cells and 2450 steps: {pace[5] * 1100 * 2450 * 1e-9:.3f} s a cycle (aim 0.05); "
        f"L1 of density, Sod, {told}",
    )
    try:
        import clawpack.pyclaw  # noqa: F401
    except ImportError:
        record("duct field against PyClaw:", "not measured, PyClaw is not installed")
        return
    worst = 0.0
    shown = []
    for cells in CELLS:
        solver, solution = claw_tube(cells)
        solver.evolve_to_time(solution, END)
        x = solution.state.grid.x.centers
        error = float(np.mean(np.abs(solution.q[0] - exact(x - 0.5))))
        worst = max(worst, errors[cells] / error)
        shown.append(f"{cells}: {error:.3e}")
    theirs = claw_pace()
    ratio = theirs / pace[5]
    verdict = "kept" if worst <= 1.15 and ratio >= 5.0 else "MISSED"
    record(
        "duct field against PyClaw,",
        f"Sod: PyClaw {theirs:.1f} ns a cell's step, three equations; ours with seven "
        f"{ratio:.1f} times as fast (at least 5), {ratio * 7 / 3:.1f} per equation (at least 8); their L1 "
        f"{', '.join(shown)}; ours at most {worst:.2f} of it (at most 1.15): {verdict}",
    )


if __name__ == "__main__":
    if "--vectors" in sys.argv:
        print(vector_loops())
    else:
        main()
