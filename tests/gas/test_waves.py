"""Engines with their pipes: balances, meshes, restarts, and what pipes must do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError
from blockwright.gas.mesh import COARSE, FINE, LUMPED, REACH, Mesh, lay_out
from blockwright.gas.network import Network, Orifice, Volume
from blockwright.gas.solve import solve

from .engines import engine, point
from .networks import before_turbine, collectors, fitted, individual, straight, with_crossover

V8 = ((1, 3, 5, 7), (2, 4, 6, 8))
FIRING_V8 = np.array([0.0, 450.0, 270.0, 180.0, 540.0, 360.0, 630.0, 90.0])

NETWORKS = {
    "collectors": (4, collectors(4, ((1, 2, 3, 4),)), {}),
    "momentum lost": (4, collectors(4, ((1, 2, 3, 4),), kept=0.0), {}),
    "individual": (2, individual(2, (0.35, 0.045), (0.7, 0.042)), {}),
    "boosted V8, nitrous": (
        8,
        before_turbine(8),
        {"plenum_pressure": 2.4e5, "plenum_temperature": 330.0, "exhaust_pressure": 1.1e5, "nitrous": 0.12},
    ),
    "crossover": (8, with_crossover(8, V8), {}),
    "low compression, much boost": (2, before_turbine(2), {"plenum_pressure": 5.0e5}),
}


@pytest.mark.parametrize("name", NETWORKS)
def test_mass_species_and_energy_balance(name):
    """Of the whole engine with its pipes, over a cycle: the issue asks for 1e-9."""
    cylinders, network, running = NETWORKS[name]
    more = {"firing": FIRING_V8} if cylinders == 8 else {}
    breathing = fitted(engine(cylinders, **more), network)
    cycle = solve(breathing, point(5500.0, **running), mesh=COARSE)
    assert cycle.mass_residual < 1e-12
    assert cycle.energy_residual < 1e-12
    assert cycle.duct_heat > 0.0


def test_the_balance_sees_the_heat_of_the_pipes():
    """Left out, the balance would be open by far more than rounding."""
    breathing = fitted(engine(4), collectors(4, ((1, 2, 3, 4),)))
    cycle = solve(breathing, point(), mesh=COARSE)
    assert cycle.duct_heat / np.abs(cycle.indicated_work).sum() > 0.01


def test_fine_mesh_is_within_three_thousandths_of_half_its_cells():
    breathing = fitted(engine(4), collectors(4, ((1, 2, 3, 4),)))
    for rpm in (3500.0, 6500.0):
        fine = solve(breathing, point(rpm), mesh=FINE)
        finer = solve(breathing, point(rpm), mesh=FINE.halved())
        assert_allclose(fine.imep, finer.imep, rtol=3e-3)
        assert_allclose(fine.volumetric_efficiency, finer.volumetric_efficiency, rtol=3e-3)


def _filling(breathing, rpm, mesh):
    return solve(breathing, point(rpm), tolerance=3e-5, mesh=mesh).volumetric_efficiency


def test_error_falls_with_the_cells():
    """Pipes without a junction: each halving of the cells brings the filling nearer to that of fine ones."""
    breathing = fitted(engine(1), individual(1, (0.40, 0.045), (0.9, 0.042)))
    off = np.zeros(3)
    for rpm in (3000.0, 4200.0, 5400.0):
        best = _filling(breathing, rpm, Mesh("best", 0.005, 0.0075))
        for k, dx in enumerate((0.04, 0.02, 0.01)):
            off[k] += abs(_filling(breathing, rpm, Mesh("test", dx, 1.5 * dx)) / best - 1.0)
    assert off[2] < 0.6 * off[1] < 0.36 * off[0]


def test_alike_cylinders_with_alike_pipes_do_alike():
    breathing = fitted(engine(3), individual(3, (0.35, 0.045), (0.7, 0.042)))
    cycle = solve(breathing, point(), mesh=COARSE)
    assert_allclose(cycle.peak_pressure, cycle.peak_pressure.mean(), rtol=2e-3)
    assert_allclose(cycle.trapped_mass, cycle.trapped_mass.mean(), rtol=1e-3)


def test_uneven_groups_make_cylinders_differ():
    """Two cylinders of a cross-plane bank fire 90 deg apart into one collector."""
    breathing = fitted(engine(8, firing=FIRING_V8), collectors(8, V8))
    cycle = solve(breathing, point(5000.0), mesh=COARSE)
    assert np.ptp(cycle.trapped_mass) / cycle.trapped_mass.mean() > 0.005


def test_restart_on_the_same_and_on_another_mesh():
    breathing = fitted(engine(4), collectors(4, ((1, 2, 3, 4),)))
    coarse = solve(breathing, point(), mesh=COARSE)
    again = solve(breathing, point(), coarse.restart, mesh=COARSE)
    assert again.cycles_run <= 3
    assert_allclose(again.imep, coarse.imep, rtol=1e-3)
    fine = solve(breathing, point(), mesh=FINE)
    from_coarse = solve(breathing, point(), coarse.restart, mesh=FINE)
    assert_allclose(from_coarse.imep, fine.imep, rtol=1e-3)


def test_scaled_restart_is_near_at_another_charge():
    breathing = fitted(engine(4), collectors(4, ((1, 2, 3, 4),)))
    base = solve(breathing, point(), mesh=COARSE)
    more = replace(point(), plenum_pressure=1.2e5)
    cold = solve(breathing, more, mesh=COARSE)
    near = solve(breathing, more, base.restart.scaled(1.2), mesh=COARSE)
    assert_allclose(near.imep, cold.imep, rtol=1e-3)


@pytest.mark.parametrize("rpm", [1500.0, 4000.0])
def test_wide_short_pipes_come_near_the_lumped_engine(rpm):
    """Pipes too short to tune and too wide to choke leave the filling as the volumes have it.

    Two solvers that share the cylinder only: Heun's method on volumes, and the wave field.
    """
    bare = {"heat": 0.0, "friction": 0.0, "mouth": 1.0}
    ducts = [straight(f"r{c}", "plenum", f"cylinder {c} intake", 0.02, 0.15, **bare) for c in (1, 2, 3, 4)]
    ducts += [
        straight(f"p{c}", f"cylinder {c} exhaust", "exhaust", 0.02, 0.15, side="exhaust", **bare)
        for c in (1, 2, 3, 4)
    ]
    network = Network(
        tuple(ducts),
        (Volume("plenum", 0.01), Volume("exhaust", 0.01, "exhaust")),
        (),
        (
            Orifice("throttle", "intake air", "plenum", 0.02),
            Orifice("outlet", "exhaust", "open air", 0.02),
        ),
    )
    breathing = engine(
        4, network=network, plenum_volume=0.01, exhaust_volume=0.01, throttle_area=0.02, outlet_area=0.02
    )
    lumped = solve(breathing, point(rpm), mesh=LUMPED)
    piped = solve(breathing, point(rpm), mesh=Mesh("test", 0.005, 0.005))
    assert_allclose(piped.volumetric_efficiency, lumped.volumetric_efficiency, rtol=0.006)
    assert_allclose(piped.imep, lumped.imep, rtol=0.006)
    assert_allclose(piped.trapped.residual, lumped.trapped.residual, rtol=0.03)


def test_long_narrow_primaries_cost_back_pressure():
    breathing = engine(4)
    wide = solve(fitted(breathing, collectors(4, ((1, 2, 3, 4),))), point(7000.0), mesh=COARSE)
    narrow_pipes = collectors(4, ((1, 2, 3, 4),), primary=(0.8, 0.030), tail=(1.2, 0.040))
    narrow = solve(fitted(breathing, narrow_pipes), point(7000.0), mesh=COARSE)
    assert narrow.exhaust_pressure.mean() > 1.1 * wide.exhaust_pressure.mean()
    assert narrow.brake_power < wide.brake_power


def test_a_smaller_turbine_raises_the_pressure_before_it():
    breathing = fitted(engine(4, outlet_area=0.0012), before_turbine(4))
    running = point(5000.0, plenum_pressure=1.8e5)
    large = solve(breathing, running, mesh=COARSE)
    small = solve(replace(breathing, outlet_area=0.0008), running, mesh=COARSE)
    assert small.exhaust_pressure.mean() > 1.2 * large.exhaust_pressure.mean()
    assert_allclose(large.outlet_flow.mean(), large.air_flow + large.fuel_flow, rtol=0.03)


def test_meshes_keep_lengths_and_volumes():
    """What the cells of a pipe leave of its length stands in its junction, with its volume."""
    breathing = fitted(engine(4), collectors(4, ((1, 2, 3, 4),)))
    network = breathing.network
    whole = sum(0.25 * np.pi * d.diameter[0] ** 2 * d.length for d in network.ducts)
    for mesh in (COARSE, FINE, FINE.halved()):
        grid = lay_out(breathing, mesh)
        length = grid.field.geo[0, grid.field.first] * (grid.field.last - grid.field.first + 1)
        missing = np.array([d.length for d in network.ducts]) - length
        joints = np.array([(d.start + d.end).count("collector") for d in network.ducts])
        assert_allclose(missing[joints == 0], 0.0, atol=1e-12)
        assert np.all(missing[joints > 0] >= REACH - 1e-12)
        still = sum(v.volume for v in network.volumes)
        held = (grid.field.geo[2]).sum() + grid.node_volume.sum() - still
        assert_allclose(held, whole, rtol=1e-12)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda n: Network(n.ducts[1:], n.volumes, n.junctions, n.orifices), "cylinder 1 intake"),
        (lambda n: Network((*n.ducts, n.ducts[0]), n.volumes, n.junctions, n.orifices), "two parts"),
        (lambda n: Network(n.ducts, (), n.junctions, n.orifices), "no place"),
    ],
)
def test_broken_networks_are_refused(change, said):
    with pytest.raises(InputError, match=said):
        fitted(engine(4), change(collectors(4, ((1, 2, 3, 4),))))


def test_pipes_are_asked_for_where_there_are_none():
    with pytest.raises(InputError, match="no pipes"):
        solve(engine(4), point(), mesh=COARSE)
