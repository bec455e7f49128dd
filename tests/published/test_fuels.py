"""Fuels against handbooks, Cantera and other tables.

Numbers (A22 ...) are those of the project's list of check values, "table 7" its table of fuels.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from blockwright.build import catalogue
from blockwright.gas.fuels import working_gas
from blockwright.gas.kernels.properties import mixture

ATM = 101_325.0


def flame_temperature(fuel: str, phi: float, liquid: bool) -> float:
    """Adiabatic flame temperature at constant pressure from 298.15 K and 1 atm [K], by our tables."""
    gas = working_gas(fuel)
    tables = (gas.frozen, gas.burned, gas.constants)
    fresh = np.array([1.0, phi / gas.air_fuel_ratio, 0, 0, 0, 0, 0, 0.0])
    burnt = np.array([0, 0, 0, 0, fresh[0], fresh[1], 0, 0.0])
    energy, constant, _, _ = mixture(fresh, 298.15, math.log(ATM), *tables)
    enthalpy = energy + constant * 298.15 - (fresh[1] * gas.latent_heat if liquid else 0.0)
    low, high = 1000.0, 3800.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        energy, constant, _, _ = mixture(burnt, middle, math.log(ATM), *tables)
        low, high = (low, middle) if energy + constant * middle > enthalpy else (middle, high)
    return low


@pytest.mark.parametrize(
    ("fuel", "expected"), [("iso-octane", 2268.0), ("methanol", 2218.0), ("ethanol", 2234.0)]
)
def test_flame_temperature_of_vapours(fuel, expected):
    """A22, A23: Cantera, phi 1, 298 K, 1 atm; 10 K."""
    assert_allclose(flame_temperature(fuel, 1.0, liquid=False), expected, atol=10.0)


@pytest.mark.parametrize(
    ("fuel", "expected", "within"),
    [
        ("iso-octane", 2263.0, 8.0),
        ("ethanol", 2195.0, 8.0),
        ("methanol", 2150.0, 8.0),
        ("petrol-95", 2270.0, 15.0),
    ],
)
def test_flame_temperature_of_liquids(fuel, expected, within):
    """Table 7: from the liquid, phi 1; computed with Cantera there (petrol "about")."""
    assert_allclose(flame_temperature(fuel, 1.0, liquid=True), expected, atol=within)


def test_nitro_flame_is_hotter_and_hardly_cools_when_rich():
    """Table 7: pure nitromethane 2543 K at phi 1 and 2610 K at phi 2, approximate; ours lies below."""
    lean, rich = (flame_temperature("nitro-90", phi, liquid=True) for phi in (1.0, 2.0))
    assert 2440.0 < lean < 2543.0
    assert 2440.0 < rich < 2610.0
    assert flame_temperature("methanol", 2.0, liquid=True) < rich - 800.0


@pytest.mark.parametrize(
    ("fuel", "air", "heating", "latent", "carbon"),
    [
        ("methanol", 6.47, 19.94, 1169.0, (4.0, 1.0)),
        ("ethanol", 9.00, 26.82, 921.0, (3.0, 0.5)),
        ("iso-octane", 15.13, 44.35, 307.0, (2.25, 0.0)),
    ],
)
def test_pure_fuels(fuel, air, heating, latent, carbon):
    """A24, A25, A27: Heywood table D.4 (memory), enthalpies of formation and CoolProp (recomputed)."""
    gas = working_gas(fuel)
    assert_allclose(gas.air_fuel_ratio, air, rtol=3e-3)
    assert_allclose(gas.heating_value / 1e6, heating, rtol=7e-3)
    assert_allclose(gas.latent_heat / 1e3, latent, rtol=0.01)
    assert_allclose((gas.hydrogen_carbon, gas.oxygen_carbon), carbon, rtol=1e-9)


def _nitromethane_share(blend: str) -> tuple[float, float]:
    """Mass share of nitromethane in a blend, and what the rest (methanol) is."""
    share = {"nitro-20": 0.2, "nitro-50": 0.5, "nitro-90": 0.9}[blend]
    mass = share * 1.138 / (share * 1.138 + (1.0 - share) * 0.796)
    return mass, 1.0 - mass


@pytest.mark.parametrize("blend", ["nitro-20", "nitro-50", "nitro-90"])
def test_nitromethane_behind_the_blends(blend):
    """A24-A27: pure nitromethane 1.70 kg/kg, 10.55 MJ/kg, 627 kJ/kg, taken back out of each blend by mass."""
    ours, methanol = working_gas(blend), working_gas("methanol")
    nitro, rest = _nitromethane_share(blend)

    def pure(name: str) -> float:
        return (getattr(ours, name) - rest * getattr(methanol, name)) / nitro

    assert_allclose(pure("air_fuel_ratio"), 1.70, rtol=5e-3)
    assert_allclose(pure("heating_value") / 1e6, 10.55, rtol=7e-3)
    assert_allclose(pure("latent_heat") / 1e3, 627.0, rtol=0.01)


def test_energy_per_air():
    """A26: 2.93, 3.08, 2.98 MJ per kg of air; nitromethane 6.2, nitro-90 just below."""
    for fuel, expected in (("iso-octane", 2.93), ("methanol", 3.08), ("ethanol", 2.98)):
        gas = working_gas(fuel)
        assert_allclose(gas.heating_value / gas.air_fuel_ratio / 1e6, expected, rtol=0.01)
    gas = working_gas("nitro-90")
    assert 5.3 < gas.heating_value / gas.air_fuel_ratio / 1e6 < 6.2


@pytest.mark.parametrize(
    ("temperature", "expected"), [(298.15, 57.27), (500.0, 81.57), (1000.0, 117.22), (1500.0, 133.04)]
)
def test_heat_capacity_of_nitromethane(temperature, expected):
    """TRC's gas tables as the ``chemicals`` package 1.5 evaluates them (read), J/(mol K); ours by vibrations.

    Poling's polynomial there gives 57.22, 81.49, 116.93 to 1000 K.
    """
    make = pytest.importorskip("blockwright.gas.tables.nitromethane")
    assert_allclose(make.heat_capacity(temperature), expected, rtol=4e-3)
    assert_allclose(make.species().thermo.cp(temperature) / 1e3, expected, rtol=6e-3)


def test_formation_enthalpy_of_nitromethane_is_doubtful_and_inside_the_tables():
    """The ``chemicals`` package holds -60.8, -74.7, -80.8, -81.0 (read); liquid -112.6 + 38.3 gives -74.3."""
    make = pytest.importorskip("blockwright.gas.tables.nitromethane")
    assert abs(make.FORMATION / 1e3 + 74.7) < 1e-9
    assert abs(make.FORMATION + 112.6e3 - make.EVAPORATION) < make.FORMATION_SPREAD
    assert make.species().thermo.h(298.15) / 1e6 == pytest.approx(-74.7, abs=1e-3)


def test_e85_by_volume():
    """A50: 85 % ethanol (0.789 kg/l) in petrol (0.745): air 9.80; our petrol holds some oxygen."""
    gas = working_gas("e85")
    assert_allclose(gas.air_fuel_ratio, 9.80, rtol=5e-3)


@pytest.mark.parametrize(("fuel", "expected"), [("petrol-95", 23.8), ("ethanol", 101.7), ("methanol", 179.6)])
def test_cooling_by_full_evaporation(fuel, expected):
    """A49: all of a stoichiometric charge's fuel evaporates into its air alone, cp 1.006; an upper bound.

    The list's petrol holds no ethanol (350 kJ/kg, 14.6); the catalogue's, with 1 % oxygen, gives 24.2 K.
    """
    row = catalogue.row("fuel", fuel)
    drop = row.si("latent") / row.si("afr_stoich") / 1006.0
    assert_allclose(drop, expected, rtol=0.02)


@pytest.mark.parametrize(
    ("fuel", "heating", "latent"), [("ethanol", 11_585.0, 396.0), ("methanol", 8_637.0, 506.0)]
)
def test_government_fuel_tables(fuel, heating, latent):
    """US alternative-fuels tables (read): Btu/lb of heating value and evaporation; 1 %."""
    row = catalogue.row("fuel", fuel)
    assert_allclose(row.si("lhv") / 2326.0, heating, rtol=0.01)
    assert_allclose(row.si("latent") / 2326.0, latent, rtol=0.01)


@pytest.mark.parametrize(("ron", "share", "blended"), [(91.0, 0.25, 95.4)])
def test_octane_of_blends_is_linear_in_moles(ron, share, blended):
    """A51: 25 mol% ethanol (RON about 108.5) in RON 91 gives about 95.4 (Anderson 2012, from memory)."""
    ethanol = catalogue.row("fuel", "ethanol")
    mixed = (1.0 - share) * ron + share * ethanol.si("ron")
    assert abs(mixed - blended) < share * ethanol.u("ron")


def test_e85_octane_is_that_of_its_moles():
    """Table 6.3: base 95/85 gives E85 108.0/89.6 by moles; the catalogue's row lies inside its spread."""
    row = catalogue.row("fuel", "e85")
    assert abs(row.si("ron") - 108.0) <= row.u("ron")
    assert abs(row.si("mon") - 89.6) <= row.u("mon")
