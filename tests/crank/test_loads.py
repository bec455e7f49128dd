"""Balances, torque, linear form and counterweights of the crank train."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from blockwright.crank.kinematics import motion
from blockwright.crank.loads import POINTS, at_crank_angle, influence, main_loads, one_cylinder
from blockwright.errors import InputError

from .engines import LAYOUTS, make_layout, make_model, pulse

ANGLE = 2 * np.pi * np.arange(POINTS) / 360
names = st.sampled_from(sorted(LAYOUTS))


def direction(angle):
    """Unit vector (x towards bank B, y up)."""
    return np.stack([np.sin(angle), np.cos(angle)])


def on_crank(model, traces):
    return np.stack([at_crank_angle(t, f) for t, f in zip(traces, model.layout.firing, strict=True)])


def throw_angle(model):
    return [t + model.layout.lead * ANGLE for t in model.layout.throw_pin]


@settings(max_examples=40, deadline=None)
@given(names, st.floats(50, 900), st.sampled_from(["full", "none"]), st.floats(-0.002, 0.002))
def test_block_is_in_balance_with_what_moves(name, speed, counterweight, offset):
    """Newton on the whole: mains + heads + walls = - mass x acceleration, to 1e-9.

    Independent of the pin loads: accelerations of every mass by coordinates alone.
    """
    model = make_model(name, counterweight=counterweight, pin_offset=offset)
    where = model.layout
    pressure = pulse(where.cylinders, spread=0.1)
    loads = main_loads(model, pressure, speed)
    on_block = np.stack([loads.lateral.sum(0), -loads.vertical.sum(0)])
    gas, side = on_crank(model, pressure), on_crank(model, loads.side_thrust)
    # Uneven layouts land between degrees: rebuild the side force at the crank's own angles.
    moved = np.zeros((2, POINTS))
    for c, (axis, tdc) in enumerate(zip(where.axis, where.tdc, strict=True)):
        up = direction(axis)[:, None]
        thrust_side = -where.lead * direction(axis + np.pi / 2)[:, None]
        m = motion(ANGLE - tdc, model.radius, model.rod_length, model.pin_offset)
        net = gas[c] * model.piston_area - model.recip_mass * m.acceleration * speed**2
        side[c] = net * np.tan(m.rod_angle)
        on_block += up * gas[c] * model.piston_area + thrust_side * side[c]
        moved -= model.recip_mass * m.acceleration * speed**2 * up
        pin = direction(axis + where.lead * (ANGLE - tdc))
        moved -= model.rot_mass * model.radius * speed**2 * pin
    for angle in throw_angle(model):
        moved -= model.throw_moment * speed**2 * direction(angle)
    if counterweight == "full":
        for angle in throw_angle(model):
            moved += model.cw_moment * speed**2 * direction(angle)
    else:
        # End weights cancel the force of all throws together.
        moved += model.cw_moment * speed**2 * sum(direction(a) for a in throw_angle(model))
    size = np.abs(loads.pin).max()
    assert_allclose(on_block, -moved, atol=1e-9 * size)


@settings(max_examples=40, deadline=None)
@given(names, st.floats(50, 900))
def test_moment_of_mains_equals_moment_of_pins(name, speed):
    """Statics along the crank, to 1e-9: couple about main 1, without counterweights or webs."""
    model = make_model(name, throw_moment=0.0, balance=0.0, rot_mass=0.0)
    loads = main_loads(model, pulse(model.layout.cylinders), speed)
    mains, stations = np.array(model.layout.mains), np.array(model.layout.station)
    size = np.abs(loads.pin).max()
    assert_allclose(mains @ loads.lateral, stations @ loads.pin[:, 0], atol=1e-9 * size)
    assert_allclose(mains @ -loads.vertical, stations @ loads.pin[:, 1], atol=1e-9 * size)
    assert_allclose(loads.lateral.sum(0), loads.pin[:, 0].sum(0), atol=1e-9 * size)


@pytest.mark.parametrize("name", LAYOUTS)
def test_each_bay_hangs_on_its_own_two_mains(name):
    """Load one cylinder only: every main but its two carries nothing."""
    model = make_model(name, recip_mass=0.0, rot_mass=0.0, throw_moment=0.0, balance=0.0)
    where = model.layout
    for c in range(where.cylinders):
        pressure = np.zeros((where.cylinders, POINTS))
        pressure[c] = pulse(1)[0]
        loads = main_loads(model, pressure, 300.0)
        carried = np.hypot(loads.vertical, loads.lateral).max(axis=1) > 0
        assert list(np.flatnonzero(carried)) == [where.throw[c], where.throw[c] + 1]


@settings(max_examples=30, deadline=None)
@given(names, st.floats(0, 900), st.floats(-0.002, 0.002), st.integers(0, 10**6))
def test_mean_torque_is_the_work_of_the_gas(name, speed, offset, seed):
    """Any periodic pressure: mean torque x 4 pi = sum of p dV, both by the same whole degrees (1e-9)."""
    model = make_model(name, pin_offset=offset)
    cylinders = model.layout.cylinders
    pressure = 1e6 * np.random.default_rng(seed).normal(size=(cylinders, POINTS))
    volume_rate = model.piston_area * motion(ANGLE, 0.044, 0.145, offset).speed
    work = np.sum(pressure * volume_rate) * np.pi / 180
    torque = main_loads(model, pressure, speed).torque
    assert_allclose(torque.mean() * 4 * np.pi, work, atol=1e-9 * np.abs(torque).max() * POINTS)


def test_mean_torque_against_the_area_of_the_pv_diagram():
    """Independent route: the shoelace area of the p-V loop, a polygon of one-degree sides.

    The polygon's error is that of the trapezoid rule, 1e-4 for a peak 30 degrees wide.
    """
    model = make_model("inline 4")
    pressure = pulse(4)
    volume = model.piston_area * motion(ANGLE, 0.044, 0.145, 0.001).position
    p, v = pressure[0], volume
    area = 0.5 * np.sum(p * np.roll(v, -1) - v * np.roll(p, -1))
    torque = main_loads(model, pressure, 600.0).torque
    assert_allclose(torque.mean() * 4 * np.pi, 4 * area, rtol=1e-4)


@pytest.mark.parametrize("name", LAYOUTS)
def test_torque_by_virtual_work_of_the_pin_loads(name):
    """Torque as the moment of every pin load about the crank: no use of the piston's speed.

    The big end pulls straight outwards and gives no moment.
    """
    model = make_model(name)
    where = model.layout
    pressure = pulse(where.cylinders)
    loads = main_loads(model, pressure, 500.0)
    torque = np.zeros(POINTS)
    for c, (axis, tdc) in enumerate(zip(where.axis, where.tdc, strict=True)):
        forward = where.lead * direction(axis + where.lead * (ANGLE - tdc) + np.pi / 2)
        torque += model.radius * np.sum(forward * loads.pin[c], axis=0)
    # A firing angle between two degrees reads the trace by a straight line: 2e-3 of the peak.
    whole = np.allclose(np.degrees(where.firing) % 1.0, 0.0)
    assert_allclose(torque, loads.torque, atol=(1e-10 if whole else 2e-3) * np.abs(torque).max())


def test_lagrange_inertia_torque():
    """Lagrange: T = -(1/2) dI/da w^2 with I = m x'^2, by central differences."""
    model = make_model("single", rot_mass=0.0)
    torque = main_loads(model, np.zeros((1, POINTS)), 400.0).torque
    step = 1e-5

    def inertia(angle):
        return model.recip_mass * motion(angle, 0.044, 0.145, 0.001).speed ** 2

    slope = (inertia(ANGLE + step) - inertia(ANGLE - step)) / (2 * step)
    assert_allclose(torque, -0.5 * slope * 400.0**2, atol=1e-6 * np.abs(torque).max())


@pytest.mark.parametrize("counterweight", ["full", "none"])
@pytest.mark.parametrize("name", LAYOUTS)
def test_linear_form_gives_the_same_loads(name, counterweight):
    model = make_model(name, counterweight=counterweight)
    pressure, speed = pulse(model.layout.cylinders, spread=0.2), 612.0
    loads, form = main_loads(model, pressure, speed), influence(model)
    at = on_crank(model, pressure)
    for axis, direct in (("v", loads.vertical), ("h", loads.lateral)):
        parts = {n: getattr(form, f"{n}_{axis}") for n in ("gas", "recip", "rot", "crank", "cw")}
        by_form = np.einsum("jac,ca->ja", parts["gas"], at) + speed**2 * (
            model.recip_mass * parts["recip"]
            + model.rot_mass * parts["rot"]
            + model.throw_moment * parts["crank"]
            + model.cw_moment * parts["cw"]
        )
        assert_allclose(by_form, direct, atol=1e-10 * np.abs(direct).max())


def test_signs_gas_on_one_cylinder_of_a_v():
    """Bank A fires at the top: the load goes down into the cap and away from bank A, towards bank B."""
    model = make_model("cross-plane V8, bank A leads", recip_mass=0.0, rot_mass=0.0, throw_moment=0.0)
    pressure = np.zeros((8, POINTS))
    pressure[0, 0] = 1e6
    loads = main_loads(model, pressure, 0.0)
    assert loads.vertical[0, 0] > 0
    assert loads.lateral[0, 0] > 0
    share = model.piston_area * 1e6 * np.cos(np.pi / 4)
    assert_allclose(loads.vertical[:, 0].sum(), share, rtol=0.02)  # the offset pin tilts the rod a little


def test_side_thrust_is_on_the_major_side_in_the_power_stroke():
    model = make_model("inline 4", pin_offset=0.0)
    loads = main_loads(model, pulse(4), 0.0)
    assert (loads.side_thrust[0, 1:90] > 0).all()
    assert (loads.side_thrust[0, 690:719] < 0).all()
    assert (loads.rod_force[0, :90] > 0).all()


def test_rod_is_pulled_at_the_top_of_the_exhaust_stroke():
    model = make_model("inline 4", pin_offset=0.0)
    loads = main_loads(model, np.zeros((4, POINTS)), 700.0)
    pulled = -0.65 * 0.044 * (1 + 0.044 / 0.145) * 700.0**2
    assert_allclose(loads.rod_force[0, 360], pulled, rtol=1e-12)
    assert loads.rod_force[0].argmin() in (0, 360)


def test_full_counterweights_leave_no_load_of_turning_masses():
    """With no reciprocating mass and no pressure a fully counterweighted crank loads no main."""
    model = make_model(
        "cross-plane V8, bank A leads", recip_mass=0.0, layout=make_layout("cross-plane V8, bank A leads",
                                                                           bank_offset=0.0))  # fmt: skip
    loads = main_loads(model, np.zeros((8, POINTS)), 700.0)
    assert_allclose(loads.vertical, 0.0, atol=1e-9 * model.cw_moment * 700.0**2)


@pytest.mark.parametrize(
    "name", ["inline 3", "cross-plane V8, bank A leads", "V6, 60 degrees, pins split by 60"]
)
def test_end_weights_cancel_force_and_couple(name):
    model = make_model(name, counterweight="none", recip_mass=0.0, layout=make_layout(name, bank_offset=0.0))
    loads = main_loads(model, np.zeros((model.layout.cylinders, POINTS)), 700.0)
    size = model.cw_moment * 700.0**2
    mains = np.array(model.layout.mains)
    for force in (loads.vertical, loads.lateral):
        assert_allclose(force.sum(axis=0), 0.0, atol=1e-9 * size)
        assert_allclose(mains @ force, 0.0, atol=1e-9 * size)
    # ... but the mains between still carry the throws.
    assert np.hypot(loads.vertical[1], loads.lateral[1]).max() > 0.1 * size


def test_mirror_image_engine_carries_mirror_image_loads():
    """Bank A leading or bank B leading, the same engine seen in a mirror has lateral loads reversed."""
    single = [make_model(n, recip_mass=0.0, rot_mass=0.0, throw_moment=0.0, balance=0.0)
              for n in ("cross-plane V8, bank A leads", "cross-plane V8, bank B leads")]  # fmt: skip
    lead = np.zeros((8, POINTS))
    lead[0] = pulse(1)[0]
    right = main_loads(single[0], lead, 0.0)  # cylinder 1 of leading bank A
    lead_b = np.zeros((8, POINTS))
    lead_b[1] = pulse(1)[0]  # cylinder 2 of leading bank B, same throw
    left = main_loads(single[1], lead_b, 0.0)
    shift = round(np.degrees(single[1].layout.firing[1]))
    ahead = np.roll(left.lateral, -shift, axis=1).sum(axis=0)
    assert_allclose(right.lateral.sum(axis=0), -ahead, atol=1e-9 * np.abs(ahead).max())


@given(st.floats(0, 4 * np.pi), st.integers(0, 1000))
def test_reading_on_the_crank_angle_keeps_the_mean(firing, seed):
    trace = np.random.default_rng(seed).normal(size=POINTS)
    moved = at_crank_angle(trace, firing)
    assert_allclose(moved.mean(), trace.mean(), atol=1e-12)
    assert moved.max() <= trace.max() + 1e-12


def test_one_cylinder_forms_match_the_loads():
    model = make_model("inline 6")
    pressure, speed = pulse(6), 555.0
    loads, own = main_loads(model, pressure, speed), one_cylinder(model)
    inertia = speed**2 * model.recip_mass
    assert_allclose(own.side_gas * pressure + inertia * own.side_recip, loads.side_thrust, rtol=1e-12)
    assert_allclose(own.rod_gas * pressure + inertia * own.rod_recip, loads.rod_force, rtol=1e-12)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"counterweight": "half"}, "full"),
        ({"recip_mass": -0.1}, "not negative"),
        ({"rot_mass": np.nan}, "finite"),
        ({"rod_length": 0.04}, "longer"),
    ],
)
def test_refusals(changes, words):
    with pytest.raises(InputError, match=words):
        make_model("inline 4", **changes)


def test_refuses_rods_outside_their_bay_and_misshapen_pressure():
    model = make_model(
        "cross-plane V8, bank A leads", layout=make_layout("cross-plane V8, bank A leads", bank_offset=0.12)
    )
    with pytest.raises(InputError, match="outside the bay"):
        influence(model)
    with pytest.raises(InputError, match="every degree"):
        main_loads(make_model("inline 4"), np.zeros((4, 360)), 100.0)
