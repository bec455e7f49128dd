"""The duct field: exact solutions, order, balances, rest, real gas; through the driver of the tests."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from blockwright.errors import InputError
from blockwright.gas.duct_gas import duct_thermo
from blockwright.gas.duct_mesh import Pipe, duct_mesh, padded
from blockwright.gas.fuels import working_gas
from blockwright.gas.kernels import duct
from blockwright.gas.kernels.duct_rows import D_DX, D_VOLUME, L_DRAG, L_FILM, P_U
from blockwright.gas.kernels.duct_walls import quick_exp2, quick_log2
from blockwright.gas.pipes import air_viscosity, friction_factor
from tests.gas.duct_driver import Field, ideal_gas, outside_state, straight
from tests.gas.riemann import exact_state

#: Petrol's gas with 10 % more fuel than air can burn, as coefficients of the duct.
PETROL = working_gas("petrol-98")
REAL = duct_thermo(PETROL, 1.1 / PETROL.air_fuel_ratio)
FRESH = np.array([0.92, 0.065, 0.0, 0.015, 0.0, 0.0, 0.0])
BURNED = np.array([0.0, 0.0, 0.0, 0.012, 1.0, 1.1 / PETROL.air_fuel_ratio, 0.0])
BURNED /= BURNED.sum()


def real_density(share: np.ndarray, temperature: np.ndarray, p: np.ndarray) -> np.ndarray:
    """Partial densities of mass shares, shape (7, n), at temperatures and pressures."""
    return np.asarray(share * p / (REAL[:, 5] @ share * temperature))


# --- exact solutions -------------------------------------------------------------------------------


def _random_states(seed: int) -> tuple[float, tuple[float, ...], tuple[float, ...]]:
    rng = np.random.default_rng(seed)
    gamma = rng.uniform(1.15, 1.67)
    left, right = (
        (rng.uniform(0.2, 3.0), rng.uniform(-150.0, 150.0), 1e5 * rng.uniform(0.3, 4.0)) for _ in range(2)
    )
    return gamma, left, right


@pytest.mark.parametrize("seed", range(10))
def test_random_riemann_problems_converge_to_the_exact_solution(seed: int) -> None:
    """Ten pairs of states; error of all three within 3 % of what they span at 100 cells, 1.2 % at 300."""
    gamma, left, right = _random_states(seed)
    for cells, within in ((100, 0.03), (300, 0.012)):
        field = Field([straight(1.0, cells)], [("transmissive", "transmissive")], ideal_gas(gamma))
        on_left = field.x < 0.5
        rho, u, p = (np.where(on_left, a, b) for a, b in zip(left, right, strict=True))
        field.fill_one(rho, u, p)
        time = 0.35 / np.max(np.abs(field.u) + field.a)
        field.run(time)
        truth = np.array([exact_state(left, right, (x - 0.5) / time, gamma) for x in field.x]).T
        for ours, true in zip((field.rho, field.u, field.p), truth, strict=True):
            assert np.mean(np.abs(ours - true)) / np.ptp(true) < within


def _advected(cells: int) -> float:
    """L1 error of a density wave carried once round a periodic duct."""
    field = Field([straight(1.0, cells)], [("periodic", "periodic")], ideal_gas(), courant=0.8)
    edges = np.linspace(0.0, 1.0, cells + 1)
    mean = 1.0 - 0.3 * np.diff(np.cos(2.0 * np.pi * edges)) / (2.0 * np.pi) * cells
    field.fill_one(mean, 100.0, 1e5)
    field.run(0.01)
    return float(np.mean(np.abs(field.rho - mean)))


def test_advection_is_of_second_order() -> None:
    errors = np.array([_advected(n) for n in (50, 100, 200, 400)])
    orders = np.log2(errors[:-1] / errors[1:])
    # The limiter cuts the wave's tops and the slopes beside the ends are one-sided.
    assert np.all(orders > 1.7), orders
    assert orders.mean() > 1.85, orders


def _acoustic(cells: int) -> np.ndarray:
    """Pressure of a wave that runs to the right for one period, brought to 25 cells."""
    field = Field([straight(1.0, cells)], [("periodic", "periodic")], ideal_gas(), courant=0.8)
    edges = np.linspace(0.0, 1.0, cells + 1)
    wave = -1e-3 * np.diff(np.cos(2.0 * np.pi * edges)) / (2.0 * np.pi) * cells
    sound = np.sqrt(1.4e5)
    field.fill_one(1.0 + wave, sound * wave, 1e5 * (1.0 + 1.4 * wave))
    field.run(1.0 / sound)
    return field.p.reshape(25, -1).mean(axis=1)


def test_sound_is_of_second_order() -> None:
    """Against the same wave on eight times the cells of the finest."""
    truth = _acoustic(800)
    errors = np.array([np.mean(np.abs(_acoustic(n) - truth)) for n in (25, 50, 100)])
    orders = np.log2(errors[:-1] / errors[1:])
    assert np.all(orders > 1.7), orders


# --- balances --------------------------------------------------------------------------------------


def _closed_cones() -> Field:
    """Two shut ducts with cones and a violent start: burned gas at five times the fresh gas's pressure."""
    cone = Pipe(np.array([0.0, 0.1, 0.25, 0.4]), np.array([0.03, 0.05, 0.05, 0.04]), 40, 400.0)
    short = Pipe(np.array([0.0, 0.05]), np.array([0.03, 0.04]), 5, 500.0, bends=1.0)
    field = Field([cone, short], [("closed", "closed")] * 2, REAL, (0, 1, 3, 4, 5))
    hot = field.x < 0.15
    temperature, p = np.where(hot, 1300.0, 320.0), np.where(hot, 5e5, 1e5)
    share = np.where(hot, BURNED[:, None], FRESH[:, None])
    field.fill(real_density(share, temperature, p), 0.0, p)
    return field


def test_closed_ducts_keep_every_species_and_the_energy() -> None:
    """With friction, bends and heat: what the gas lost the walls received; to 1e-13 after 600 steps."""
    field = _closed_cones()
    before = field.totals()
    for _ in range(600):
        field.step()
    after = field.totals()
    assert_allclose(after[:7], before[:7], rtol=1e-13, atol=1e-20)
    scale = np.abs(field.arrays.q[8] @ field.mesh.geo[D_VOLUME]) + before[:7].sum() * 1e6
    lost = field.arrays.heat.sum()
    assert lost > 0.001 * scale
    assert abs(after[8] + lost - before[8]) < 1e-13 * scale
    # A cell that a gas has all but left can be drawn on a little too much.
    assert np.all(field.arrays.q[:7, field.real] > -1e-9)


def test_rest_in_a_cone_stays_at_rest() -> None:
    """Steep and gentle cones, two gases and temperatures side by side at one pressure."""
    cone = Pipe(np.array([0.0, 0.1, 0.12, 0.4]), np.array([0.03, 0.03, 0.06, 0.045]), 40, heat=0.0)
    field = Field([cone], [("closed", "closed")], REAL, (0, 1, 3, 4, 5))
    # The same gas everywhere, so that the temperature's search is at rest too.
    share = np.repeat(FRESH[:, None], 40, axis=1)
    field.fill(real_density(share, np.full(40, 330.0), np.full(40, 1.3e5)), 0.0, np.full(40, 1.3e5))
    for _ in range(500):
        field.step()
    field.refresh()
    assert np.max(np.abs(field.u)) < 1e-9 * 340.0
    assert_allclose(field.p, 1.3e5, rtol=1e-11)


def test_ducts_do_not_see_each_other() -> None:
    """A duct between two others runs as it runs alone."""
    rng = np.random.default_rng(3)

    def run(pipes: list[Pipe], which: int) -> np.ndarray:
        field = Field(pipes, [("closed", "transmissive")] * len(pipes), ideal_gas())
        part = np.concatenate([np.full(p.cells, d) for d, p in enumerate(pipes)]) == which
        p = np.where(part, 1e5, rng.uniform(0.5e5, 9e5, part.size))
        rho = np.where(part, 1.0, rng.uniform(0.3, 3.0, part.size))
        p[part] = 1e5 * (1.0 + 0.3 * np.sin(np.arange(23)))
        field.fill_one(rho, 0.0, p)
        for _ in range(300):
            field.step(3e-7)
        field.refresh()
        return np.array([field.rho[part], field.u[part], field.p[part]])

    middle = straight(0.3, 23)
    alone = run([middle], 0)
    among = run([straight(0.4, 30), middle, straight(0.5, 150)], 1)
    assert_allclose(among, alone, rtol=1e-12, atol=1e-9)


@pytest.mark.parametrize("cells", [1, 2, 3])
def test_shortest_ducts(cells: int) -> None:
    """Ducts of one to three cells run and keep what they hold."""
    field = Field([straight(0.03, cells), straight(0.03, cells)], [("closed", "closed")] * 2, ideal_gas())
    rho = np.linspace(1.0, 1.5, 2 * cells)
    field.fill_one(rho, 20.0, 1e5)
    before = field.totals()
    for _ in range(100):
        field.step()
    assert_allclose(field.totals()[[0, 8]], before[[0, 8]], rtol=1e-13)


def test_species_add_up_to_the_mass_flux() -> None:
    """The same flow with one species and split into seven gives the same densities everywhere."""
    share = np.array([0.4, 0.05, 0.1, 0.02, 0.3, 0.03, 0.1])
    found = []
    for active in ((0,), tuple(range(7))):
        field = Field([straight(0.5, 60)], [("closed", "transmissive")], ideal_gas(1.35), active)
        rho = np.where(field.x < 0.2, 2.0, 0.5)
        density = share[:, None] * rho if len(active) > 1 else np.vstack([rho, np.zeros((6, 60))])
        field.fill(density, 30.0, np.where(field.x < 0.2, 3e5, 1e5))
        for _ in range(60):
            field.step()
        field.refresh()
        found.append(np.array([field.rho, field.u, field.p]))
        if len(active) > 1:
            for k in range(7):
                assert_allclose(field.arrays.q[k, field.real], share[k] * field.rho, rtol=1e-12)
    assert_allclose(found[1], found[0], rtol=1e-11)


# --- real gas --------------------------------------------------------------------------------------


def test_contact_of_fresh_and_burned_gas_keeps_pressure_and_velocity() -> None:
    """300 K fresh gas carried beside 1100 K burned gas at 30 m/s through 60 cells.

    Mixing inside cells at constant energy changes the pressure where heat capacities differ, and starts weak
    waves: while the sharp contact takes its form at most 1 % of the pressure, later 0.1 %.
    """
    field = Field([straight(1.0, 150)], [("transmissive", "transmissive")], REAL, (0, 1, 3, 4, 5))
    fresh = field.x < 0.3
    temperature = np.where(fresh, 300.0, 1100.0)
    share = np.where(fresh, FRESH[:, None], BURNED[:, None])
    field.fill(real_density(share, temperature, np.full(150, 1.2e5)), 30.0, 1.2e5)
    worst = []
    while field.time < 0.4 / 30.0:
        field.step(0.4 / 30.0 - field.time)
        field.refresh()
        worst.append((np.max(np.abs(field.p / 1.2e5 - 1.0)), np.max(np.abs(field.u - 30.0))))
    early, late = np.array(worst[:300]), np.array(worst[300:])
    assert np.all(early.max(axis=0) < (0.01, 3.0))
    assert np.all(late.max(axis=0) < (0.001, 0.3))
    # The contact has arrived where it should: half the jump of the burned share at 0.7 m.
    share_burned = field.arrays.q[4, field.real] / field.rho
    assert_allclose(np.interp(0.5 * BURNED[4], share_burned, field.x), 0.7, atol=0.02)


def test_contact_between_ideal_gases_of_different_heat_ratio() -> None:
    """The same with two perfect gases, 1.4 and 1.25, equally hot: mixing then leaves the pressure alone."""
    thermo = ideal_gas(1.4)
    thermo[4] = ideal_gas(1.25, 260.0)[4]
    field = Field([straight(1.0, 100)], [("transmissive", "transmissive")], thermo, (0, 4))
    first = field.x < 0.4
    density = np.zeros((7, 100))
    density[0], density[4] = (
        np.where(first, 1e5 / (287.0 * 400.0), 0.0),
        np.where(first, 0.0, 1e5 / (260.0 * 400.0)),
    )
    field.fill(density, 50.0, 1e5)
    field.run(0.2 / 50.0)
    assert_allclose(field.p, 1e5, rtol=1e-10)
    assert_allclose(field.u, 50.0, rtol=1e-9)


def test_sound_and_heat_ratio_follow_the_temperature() -> None:
    """The field's ratio of heats and speed of sound against those of the tables' own kernel."""
    from blockwright.gas.kernels.properties import fill_energy, settle

    tables = (PETROL.frozen, PETROL.burned, PETROL.constants)
    for share, temperatures in ((FRESH, (290.0, 350.0, 450.0)), (BURNED, (500.0, 900.0, 1300.0))):
        for hot in temperatures:
            field = Field([straight(0.1, 3)], [("closed", "closed")], REAL, (0, 1, 3, 4, 5))
            density = real_density(np.repeat(share[:, None], 3, axis=1), np.full(3, hot), np.full(3, 1.5e5))
            field.fill(density, 0.0, 1.5e5)
            y = np.append(density[:, 0], 0.0)
            y[7] = fill_energy(y, hot, 1.5e5, *tables)
            t, p, r, gamma = settle(y, 1.0, hot, 1.5e5, *tables)
            assert_allclose(field.p[0], p, rtol=1e-6)
            assert_allclose(field.gamma[0], gamma, atol=0.004)
            assert_allclose(field.a[0], np.sqrt(gamma * r * t), rtol=0.002)


def test_temperature_is_found_again_after_a_jump() -> None:
    """After one call within 0.05 K of a change by 50 K and 1.5 K of one by 180 K; 300 to 1500 K in four."""
    n = 4
    field = Field([straight(0.1, n)], [("closed", "closed")], REAL, (0, 1, 3, 4, 5))
    for hot, calls, within in ((350.0, 1, 0.05), (480.0, 1, 1.5), (480.0, 2, 1e-6), (1500.0, 4, 1e-3)):
        field.fill(
            real_density(np.repeat(BURNED[:, None], n, axis=1), np.full(n, hot), np.full(n, 1e5)), 0.0, 1e5
        )
        field.arrays.temperature[:] = 300.0
        for _ in range(calls):
            field.refresh()
        assert_allclose(field.temperature, hot, rtol=0.0, atol=within)


# --- steady flow -----------------------------------------------------------------------------------


def test_steady_flow_through_a_venturi_is_isentropic() -> None:
    """Mach 0.3 before, 0.53 in the throat: pressure against isentropic relations, error of second order."""
    gamma, r, p0, t0 = 1.4, 287.0, 1.2e5, 350.0
    place = np.linspace(0.0, 0.4, 201)
    diameter = 0.05 - 0.005 * (1.0 - np.cos(2.0 * np.pi * place / 0.4))

    def per_area(mach: float) -> float:
        return float(mach * (1.0 + 0.2 * mach**2) ** -3.0)

    flow = per_area(0.3) * 0.05**2

    def state(d: float) -> tuple[float, float, float]:
        mach = brentq(lambda m: per_area(m) - flow / d**2, 1e-3, 1.0)
        t = t0 / (1.0 + 0.2 * mach**2)
        p = p0 * (t / t0) ** 3.5
        return p / (r * t), mach * np.sqrt(gamma * r * t), p

    errors = []
    for cells in (20, 40):
        rho, u, p = state(0.05)
        ends = outside_state(ideal_gas(), np.array([rho, *[0.0] * 6]), u, p)
        field = Field([Pipe(place, diameter, cells, friction=0.0, heat=0.0)], [(ends, ends)], ideal_gas())
        truth = np.array([state(np.interp(x, place, diameter)) for x in field.x]).T
        field.fill_one(*truth)
        for _ in range(40 * cells):
            field.step()
        field.refresh()
        assert_allclose(field.p, truth[2], rtol=0.004)
        flux = field.arrays.flux[0, field.mesh.first[0] : field.mesh.last[0] + 2]
        assert_allclose(flux, flux.mean(), rtol=1e-6)
        errors.append(np.mean(np.abs(field.p - truth[2])) / p0)
    assert errors[0] / errors[1] > 3.0, errors


def test_steady_flow_with_friction_and_heat() -> None:
    """Against the equations of one-dimensional flow with wall friction and heat, integrated by SciPy.

    Air at 60 m/s and 500 K in 2 m of 40 mm pipe with 300 K walls; drag and film are those of the kernel,
    which `test_wall_losses_follow_the_formulas` holds against the formulas.
    """
    gas = ideal_gas()
    rho, u, p, length, cells = 0.8, 60.0, 1.2e5, 2.0, 80
    entry = outside_state(gas, np.array([rho, *[0.0] * 6]), u, p)
    pipe = Pipe(np.array([0.0, length]), np.array([0.04, 0.04]), cells, 300.0, roughness=1e-4)
    field = Field([pipe], [(entry, 1.15e5)], gas, losses_every=1)
    field.fill_one(np.full(cells, rho), u, p)
    for _ in range(2500):
        field.step()
    field.refresh()
    drag, film = field.arrays.wall[L_DRAG, field.real], field.arrays.wall[L_FILM, field.real]

    def slopes(x: float, y: np.ndarray) -> np.ndarray:
        """Of density, velocity and temperature along the pipe; mass, momentum and energy in steady flow."""
        density, v, t = y
        k, h = np.interp(x, field.x, drag), np.interp(x, field.x, film)
        matrix = np.array([[v, density, 0.0], [287.0 * t, density * v, 287.0 * density],
                           [0.0, density * v**2, density * v * 3.5 * 287.0]])  # fmt: skip
        return np.linalg.solve(matrix, [0.0, -density * v * abs(v) * k, -h * (t - 300.0)])

    x0, x1 = field.x[2], field.x[-3]
    start = [field.rho[2], field.u[2], field.temperature[2]]
    truth = solve_ivp(slopes, (x0, x1), start, t_eval=[x1], rtol=1e-9).y[:, 0]
    assert_allclose(field.temperature[-3], truth[2], rtol=1e-3)
    assert_allclose(field.u[-3], truth[1], rtol=1e-3)
    dropped = field.p[2] - field.p[-3]
    assert_allclose(dropped, field.p[2] - truth[0] * 287.0 * truth[2], rtol=0.01)
    # Darcy with mean values, the engineer's way, to 3 %: friction less what the gas gains by slowing down.
    re = field.rho * field.u * 0.04 / air_viscosity(field.temperature)
    factor = friction_factor(re, 1e-4 / 0.04)
    darcy = np.sum((factor * 0.5 * field.rho * field.u**2 / 0.04)[2:-3]) * length / cells
    slowing = field.rho[2] * field.u[2] * (field.u[2] - field.u[-3])
    assert_allclose(dropped, darcy - slowing, rtol=0.03)
    # Heat to the walls = loss of total enthalpy flow.
    field.arrays.heat[:] = 0.0
    dt = field.step()
    flux = field.arrays.flux[8]
    assert_allclose(
        field.arrays.heat.sum() / dt, flux[field.mesh.first[0]] - flux[field.mesh.last[0] + 1], rtol=1e-3
    )


def test_friction_slows_a_column_as_darcy_says() -> None:
    """Gas going round: du/dt = -f u^2/(2 D) - zeta u^2/(2 L), with the factor of the step."""
    pipe = Pipe(np.array([0.0, 1.0]), np.array([0.03, 0.03]), 10, heat=0.0, roughness=6e-5, bends=0.8)
    field = Field([pipe], [("periodic", "periodic")], ideal_gas(), losses_every=1)
    field.fill_one(np.full(10, 1.2), 80.0, 1e5)
    u, before = 80.0, field.totals()
    for _ in range(300):
        re = 1.2 * u * 0.03 / air_viscosity(field.temperature[0])
        k = 0.5 * (float(friction_factor(re, 6e-5 / 0.03)) / 0.03 + 0.8)
        dt = field.step()
        field.refresh()
        u /= 1.0 + dt * k * u
    assert u < 70.0
    assert_allclose(field.u, u, rtol=1e-4)
    assert_allclose(field.totals()[8], before[8], rtol=1e-13)  # the motion's energy is the gas's heat
    assert field.p.min() > 1e5


def test_shut_hot_gas_comes_to_the_temperature_of_the_walls() -> None:
    pipe = Pipe(np.array([0.0, 0.1]), np.array([0.01, 0.01]), 4, 350.0, heat=500.0)
    field = Field([pipe], [("closed", "closed")], ideal_gas(), losses_every=1)
    field.fill_one(np.full(4, 1.0), 0.0, 287.0 * 900.0)
    before = field.totals()[8]
    for _ in range(1500):
        field.step()
    field.refresh()
    assert_allclose(field.temperature, 350.0, rtol=1e-3)
    assert_allclose(field.arrays.heat.sum(), before - field.totals()[8], rtol=1e-12)


# --- losses and helpers ----------------------------------------------------------------------------


def test_wall_losses_follow_the_formulas() -> None:
    """Friction and Nusselt number, laminar to Re 3e5, against `gas.pipes` and Dittus and Boelter."""
    cells = 60
    pipe = Pipe(
        np.array([0.0, 1.0]), np.array([0.04, 0.04]), cells, roughness=5e-5, friction=1.3, heat=1.7, bends=0.5
    )
    field = Field([pipe], [("closed", "closed")], ideal_gas())
    u = np.geomspace(1e-3, 200.0, cells)
    rho = np.linspace(0.4, 1.4, cells)
    field.fill_one(rho, u, 1e5)
    f, m = field.arrays, field.mesh
    duct.wall_losses(f.prim, f.temperature, m.geo, m.first, m.last, f.wall)
    hot = 1e5 / (287.0 * rho)
    viscosity = air_viscosity(hot)
    re = rho * u * 0.04 / viscosity
    drag = 0.5 * (1.3 * friction_factor(re, 5e-5 / 0.04) / 0.04 + 0.5)
    moving = re > 1.0
    assert re[~moving].size
    assert re.max() > 1e5
    assert_allclose(f.wall[L_DRAG, field.real][moving], drag[moving], rtol=2e-3)
    nusselt = np.maximum(3.66, 0.023 * re**0.8 * 0.71**0.4)
    film = 1.7 * 4.0 * nusselt * viscosity * 3.5 * 287.0 / 0.71 / 0.04**2
    assert_allclose(f.wall[L_FILM, field.real], film, rtol=1e-4)
    assert np.all(f.wall[:, [0, m.last[0] + 1]] == 0.0)


def test_quick_logarithm_and_power() -> None:
    x = np.geomspace(1e-9, 1e12, 4001)
    assert max(abs(quick_log2(v) - np.log2(v)) for v in x) < 1e-5
    y = np.linspace(-40.0, 40.0, 4001)
    assert max(abs(quick_exp2(v) / 2.0**v - 1.0) for v in y) < 2e-7


def test_what_is_not_a_number_shows_in_the_wave_speed() -> None:
    field = Field([straight(0.3, 21)], [("closed", "closed")], ideal_gas())
    field.fill_one(np.full(21, 1.0), 10.0, 1e5)
    assert_allclose(
        duct.wave_speed(field.arrays.prim, field.mesh.geo[D_DX]),
        np.max((np.abs(field.u) + field.a) / (0.3 / 21)), rtol=1e-15,
    )  # fmt: skip
    for cell, wrong in ((3, np.nan), (11, -np.nan), (21, np.inf)):
        prim = field.arrays.prim.copy()
        prim[P_U, cell] = wrong
        assert not duct.wave_speed(prim, field.mesh.geo[D_DX]) < 1e9


def test_mesh_holds_the_volume_of_cones() -> None:
    distance, diameter = np.array([0.0, 0.07, 0.1, 0.33]), np.array([0.03, 0.05, 0.05, 0.02])
    mesh = duct_mesh([straight(0.2, 7), Pipe(distance, diameter, 13)])
    a, b = diameter[:-1], diameter[1:]
    truth = np.pi / 12.0 * np.sum(np.diff(distance) * (a * a + a * b + b * b))
    real = slice(mesh.first[1], mesh.last[1] + 1)
    assert_allclose(mesh.geo[D_VOLUME, real].sum(), truth, rtol=1e-13)
    assert mesh.geo[D_VOLUME].sum() == pytest.approx(truth + 0.2 * np.pi * 0.0025 / 4.0, rel=1e-13)
    assert_allclose(mesh.face_area[mesh.last[1] + 1], np.pi / 4.0 * 0.02**2)
    assert_array_equal(mesh.first, [1, 10])
    assert_array_equal(mesh.last, [7, 22])


def test_rows_never_lie_a_page_apart() -> None:
    for cells in range(1, 5000, 7):
        n = padded(cells)
        assert cells <= n < cells + 56
        assert n * 8 % 4096 not in (0, 2048)


@pytest.mark.parametrize(
    ("distance", "diameter", "cells", "reads"),
    [([0.0, 0.1], [0.03], 3, "two figures"), ([0.0, 0.2, 0.1], [0.03] * 3, 3, "rise"),
     ([0.0, 0.1], [0.03, 0.0], 3, "more than nought"), ([0.0, 0.1], [0.03, 0.03], 0, "at least one")],
)  # fmt: skip
def test_refuses_ducts_that_are_none(
    distance: list[float], diameter: list[float], cells: int, reads: str
) -> None:
    with pytest.raises(InputError, match=reads):
        duct_mesh([Pipe(np.array(distance), np.array(diameter), cells)])
