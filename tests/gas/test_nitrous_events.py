"""Events with nitrous oxide: explosion against Cantera, strokes, locks, lean-out, and their refusals."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from blockwright.errors import InputError, OutsideValidity
from blockwright.gas.fuels import working_gas
from blockwright.gas.nitrous.events import activation, hydraulic_lock, lean_out, stuck_open
from blockwright.gas.nitrous.explosion import backfire


@pytest.mark.parametrize(
    ("fuel", "nitrous", "lambda_", "tolerance"),
    [
        ("iso-octane", 0.0, 1.0, 0.002),
        ("iso-octane", 0.3, 0.9, 0.005),
        ("methanol", 0.5, 0.9, 0.006),
        # Burned nitrous counts as air less nitrogen, made for small shares; pure nitrous costs 1.6 %.
        ("iso-octane", 50.0, 0.9, 0.02),
    ],
)
def test_explosion_against_cantera(fuel: str, nitrous: float, lambda_: float, tolerance: float) -> None:
    pytest.importorskip("cantera")
    make = pytest.importorskip("blockwright.gas.tables.make")
    gas, own = make.solution(make.FUELS[fuel]), working_gas(fuel)
    mass = {k: v * gas.molecular_weights[gas.species_index(k)] for k, v in make.AIR.items()}
    air = {k: v / sum(mass.values()) for k, v in mass.items()}
    per_air = (1.0 + float(own.constants[15]) * nitrous) / (own.air_fuel_ratio * lambda_)
    (name,) = make.FUELS[fuel]
    gas.TPY = 290.0, 1e5, {**air, "N2O": nitrous, name: per_air}
    gas.equilibrate("UV")
    found = backfire(4e-3, 1e5, 290.0, fuel, lambda_, nitrous, lid_area=0.05, surroundings=1e5)
    assert_allclose(found.pressure, gas.P, rtol=tolerance)
    assert_allclose(found.temperature, gas.T, rtol=tolerance)
    assert_allclose(found.force, (found.pressure - 1e5) * 0.05)
    assert_allclose(found.ratio, found.pressure / 1e5)


def test_explosion_scales_with_the_plenum_and_its_pressure() -> None:
    small, big = (backfire(v, p, 300.0, "petrol-98", 0.9, 0.2) for v, p in ((2e-3, 1e5), (4e-3, 2e5)))
    assert_allclose(big.energy / small.energy, 4.0, rtol=1e-12)
    # At twice the pressure less falls apart, and the ratio is a little larger.
    assert small.ratio < big.ratio < 1.03 * small.ratio
    assert small.caution
    assert small.formula


def test_explosion_refuses() -> None:
    with pytest.raises(OutsideValidity, match="lambda of the mixture"):
        backfire(4e-3, 1e5, 300.0, "petrol-98", 0.2, 0.0)
    with pytest.raises(InputError, match="volume"):
        backfire(0.0, 1e5, 300.0, "petrol-98", 0.9, 0.0)
    with pytest.raises(InputError, match="nitrous per air"):
        backfire(1e-3, 1e5, 300.0, "petrol-98", 0.9, math.nan)


def test_slow_engine_gets_more_in_each_stroke() -> None:
    rpm = math.pi / 30.0
    slow, fast = (activation(0.05, n * rpm, 6000 * rpm, 8, 7e-4, 8e-4, 1e5, 280.0) for n in (1500.0, 6000.0))
    assert_allclose(slow.per_stroke, 4.0 * fast.per_stroke)
    assert_allclose(fast.per_stroke, 0.05 / (6000 / 60 / 2 * 8))
    assert (slow.more, slow.allowed, fast.allowed) == (4.0, False, True)
    assert_allclose(slow.volume_share, slow.per_stroke * 8314.46 / 44.013 * 280.0 / (1e5 * 7e-4), rtol=1e-4)
    with pytest.raises(InputError, match="above 0"):
        activation(0.05, 0.0, 6000 * rpm, 8, 7e-4, 8e-4, 1e5, 280.0)


def test_stuck_valve_fills_the_manifold() -> None:
    brief, long = (stuck_open(0.05, 0.008, s, 5e-3, 1e5, 290.0, "petrol-98") for s in (0.05, 2.0))
    assert 0.1 < brief.share < long.share <= 1.0
    assert long.share > 0.999
    # A well-mixed vessel: to first order the share is the volume let in.
    tiny = stuck_open(0.05, 0.0, 1e-4, 5e-3, 1e5, 290.0, "petrol-98")
    assert_allclose(tiny.share, tiny.vapour_volume / 5e-3, rtol=3e-3)
    assert backfire(5e-3, 1e5, 290.0, "petrol-98", 0.9, brief.nitrous_per_air).ratio > 10.0
    assert_allclose(long.puddle, 0.016 / 750.0)
    with pytest.raises(InputError, match="negative"):
        stuck_open(-1.0, 0.0, 1.0, 5e-3, 1e5, 290.0, "petrol-98")


def test_liquid_in_a_cylinder() -> None:
    found = hydraulic_lock(0.01, 750.0, 3.0, 7e-4, 6e-5)
    assert_allclose(found.liquid, 4e-5)
    assert_allclose(found.ratio, (7e-4 + 6e-5 - 4e-5) / 2e-5)
    assert_allclose(found.seconds, 4.5)
    assert not found.locked
    full = hydraulic_lock(0.01, 750.0, 5.0, 7e-4, 6e-5)
    assert (full.locked, full.ratio) == (True, math.inf)
    assert hydraulic_lock(0.0, 750.0, 5.0, 7e-4, 6e-5).seconds == math.inf
    with pytest.raises(InputError, match=r"0\.\.1"):
        hydraulic_lock(0.01, 750.0, 5.0, 7e-4, 6e-5, liquid_share=2.0)


def test_lean_out_names_the_way() -> None:
    lost = lean_out("petrol-98", 0.4, (0.053, 0.040), (0.053, 0.031))
    assert lost.way == "lean"
    assert lost.caution
    assert_allclose(lost.after / lost.before, 40.0 / 31.0)
    cooled = lean_out("petrol-98", 0.4, (0.053, 0.040), (0.045, 0.040))
    assert (cooled.way, cooled.caution) == ("rich", "")
    assert lean_out("petrol-98", 0.4, (0.05, 0.04), (0.05, 0.04)).way == "steady"
    with pytest.raises(InputError, match="must flow"):
        lean_out("petrol-98", 0.4, (0.05, 0.04), (0.05, 0.0))
