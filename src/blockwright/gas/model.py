"""What the gas model takes and gives: frozen, SI, free of the build file and of compiled code."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError, OutsideValidity
from .combustion import BurnSummary
from .friction import Friction
from .fuels import WorkingGas, working_gas
from .network import Network
from .wave_state import WaveState

Array = NDArray[np.float64]

#: Effective areas are tabulated at every quarter of a degree of the cylinder's own cycle.
PLACES = 2880

#: Names of the masses in a state, in order.
SPECIES = ("air", "fuel", "nitrous", "vapour", "burned_air", "burned_fuel", "burned_nitrous")


@dataclass(frozen=True)
class Walls:
    """Mean temperatures of the surfaces around the gas [K]; defaults from Heywood's ranges (from memory)."""

    head: float = 510.0
    piston: float = 570.0
    liner: float = 420.0


@dataclass(frozen=True)
class Breathing:
    """Geometry, valves and volumes of an engine, as the gas sees it.

    Attributes
    ----------
    bore, stroke, rod : float
        [m]
    pin_offset : float
        Piston pin off the bore's axis, positive towards the major thrust side [m].
    clearance_volume : float
        Volume above the piston at its highest place, with gasket and deck clearance [m3].
    firing : ndarray, shape (n_cyl,)
        Crank angle at which each cylinder fires, cylinder 1 at 0 [deg, 0..720].
    intake_area, exhaust_area : ndarray, shape (2880,)
        Effective (isentropic) area of all intake, exhaust valves of one cylinder [m2] at every
        quarter degree of its own cycle, 0 at the firing top dead centre.
    plenum_volume, exhaust_volume : float
        [m3]
    throttle_area, outlet_area : float
        Effective area from the intake reservoir to the plenum, from the exhaust volume to the open [m2].
    reverse_flow : float
        Effective area of a valve in reverse flow over that in forward flow [-].
    head_area, piston_area : float
        Surfaces that take heat, as multiples of the bore's area [-].
    liner_top : float
        Height of liner bare above the piston at its highest place (deck clearance and gasket) [m].
    walls : Walls
    friction : Friction
    network : Network or None
        Pipes for the wave model; None where only the two volumes are known.
    """

    bore: float
    stroke: float
    rod: float
    clearance_volume: float
    firing: Array
    intake_area: Array
    exhaust_area: Array
    plenum_volume: float
    exhaust_volume: float
    throttle_area: float
    outlet_area: float
    pin_offset: float = 0.0
    reverse_flow: float = 0.93
    head_area: float = 1.2
    piston_area: float = 1.0
    liner_top: float = 0.001
    walls: Walls = field(default_factory=Walls)
    friction: Friction = field(default_factory=Friction)
    network: Network | None = None

    def __post_init__(self) -> None:
        if self.network is not None:
            self.network.check_cylinders(self.cylinders)
        for name in ("bore", "stroke", "rod", "clearance_volume", "plenum_volume", "exhaust_volume"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise InputError(f"{name} is {value:g}; it must be positive and finite")
        if self.rod <= 0.5 * self.stroke + abs(self.pin_offset):
            raise InputError(
                f"the rod is {self.rod:g} m; it must be longer than the throw of {0.5 * self.stroke:g} m"
            )
        for name in ("intake_area", "exhaust_area"):
            area = getattr(self, name)
            if area.shape != (PLACES,) or not np.all(np.isfinite(area)) or np.any(area < 0.0):
                raise InputError(f"{name} must hold {PLACES} areas of at least 0")
            if not area.any():
                raise InputError(f"{name} is 0 at every angle: the valve never opens")
        if not self.exhaust_opens > 0.0 > self.intake_closes:
            raise InputError(
                f"the intake shuts at {self.intake_closes:g} deg and the exhaust opens at "
                f"{self.exhaust_opens:g} deg after firing top dead centre: the charge is never enclosed"
            )

    @property
    def cylinders(self) -> int:
        """Number of cylinders."""
        return int(self.firing.size)

    @property
    def swept_volume(self) -> float:
        """Of one cylinder [m3]."""
        return 0.25 * math.pi * self.bore**2 * float(self._travel(np.array(np.linspace(0, 360, 1441))).max())

    @property
    def displacement(self) -> float:
        """Of the engine [m3]."""
        return self.cylinders * self.swept_volume

    @property
    def compression_ratio(self) -> float:
        """Largest over smallest cylinder volume [-]."""
        return 1.0 + self.swept_volume / self.clearance_volume

    @property
    def intake_closes(self) -> float:
        """Angle at which the intake is shut, before firing top dead centre [deg, negative]."""
        shut = np.flatnonzero(self.intake_area[1440:] > 0.0)
        return (1440 + float(shut[-1]) + 1.0) / 4.0 - 720.0 if shut.size else -180.0

    @property
    def exhaust_opens(self) -> float:
        """Angle at which the exhaust starts to open, after firing top dead centre [deg]."""
        first = np.flatnonzero(self.exhaust_area[:2160] > 0.0)
        return (float(first[0]) - 1.0) / 4.0 if first.size else 180.0

    def _travel(self, angle: Array) -> Array:
        turn = np.radians(angle)
        crank = 0.5 * self.stroke
        side = crank * np.sin(turn) + self.pin_offset
        top = math.sqrt((crank + self.rod) ** 2 - self.pin_offset**2)
        return np.asarray(top - crank * np.cos(turn) - np.sqrt(self.rod**2 - side**2), dtype=np.float64)

    def volume(self, angle: Array) -> Array:
        """Cylinder volume [m3] at angles after firing top dead centre [deg]."""
        area = 0.25 * math.pi * self.bore**2
        return np.asarray(self.clearance_volume + area * self._travel(angle), dtype=np.float64)

    @property
    def geometry(self) -> Array:
        """Packed as `gas.kernels.jit` lays it out."""
        area = 0.25 * math.pi * self.bore**2
        crank = 0.5 * self.stroke
        return np.array(
            [
                *(area, crank, self.rod, self.pin_offset),
                *(math.sqrt((crank + self.rod) ** 2 - self.pin_offset**2), self.bore),
                *(self.head_area * area, self.piston_area * area, self.liner_top),
                *(self.walls.head, self.walls.piston, self.walls.liner),
                3.26 * self.bore**-0.2,
            ]
        )


@dataclass(frozen=True)
class OperatingPoint:
    """How an engine runs.

    Attributes
    ----------
    speed : float
        [rad/s]
    plenum_pressure, plenum_temperature : float
        Absolute, of the charge that the plenum draws from: ambient air, or the boosted
        air; the temperature after the fuel has evaporated in it [Pa, K].
    exhaust_pressure : float
        Behind the exhaust's outlet, absolute [Pa].
    lambda_ : float
        Air over stoichiometric air [-].
    fuel : str
        Name in `gas.fuels.TABLE_OF`.
    ca10, burn_10_90 : float
        Angle of 10 % burned after top dead centre, and from 10 to 90 % [deg].
    heat_factor : float
        Multiplies Woschni's coefficient [-]; 0 for adiabatic walls.
    combustion_efficiency : float
        Share of the fresh charge that burns [-]; 0 for a motored engine.
    nitrous : float
        Nitrous oxide vapour per dry air in the charge, by mass [-].
    vapour : float
        Water vapour per dry air, by mass [-].
    exhaust_temperature : float
        Of the burned gas that may return from behind the outlet [K].
    charger_work : float
        Work that a mechanically driven charger takes from the crank, per dry air [J/kg].
    law : "flame" or "wiebe"
        Whether the flame model gives the burning, or `ca10` and `burn_10_90` do.
    spark : float
        After top dead centre, negative before it [deg]; starts the flame.
    turbulence : float
        Multiplies the flame model's turbulence intensity [-].
    burn_up : float
        Multiplies the time that entrained gas takes to burn behind the front [-].
    plug_offset : float
        Distance of the plug from the bore's axis over the bore's radius [-].
    quench_share : float
        Share of the bore under quench pads [-].
    octane : float
        Octane index of the fuel as this engine sees it [-]; for the knock integral.
    profile : ndarray or None
        Burned share over the burn's own angle, for a law other than Wiebe's.
    """

    speed: float
    plenum_pressure: float
    plenum_temperature: float
    exhaust_pressure: float
    lambda_: float
    fuel: str
    ca10: float
    burn_10_90: float
    heat_factor: float = 1.0
    combustion_efficiency: float = 0.97
    nitrous: float = 0.0
    vapour: float = 0.0
    exhaust_temperature: float = 900.0
    charger_work: float = 0.0
    law: str = "wiebe"
    spark: float = -25.0
    turbulence: float = 1.0
    burn_up: float = 1.0
    plug_offset: float = 0.0
    quench_share: float = 0.0
    octane: float = 98.0
    profile: Array | None = None

    def __post_init__(self) -> None:
        for name in ("speed", "plenum_pressure", "plenum_temperature", "exhaust_pressure", "burn_10_90"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0.0):
                raise InputError(f"{name} is {value:g}; it must be positive and finite")
        low, high = self.gas.lambda_range
        if not low <= self.lambda_ <= high:
            raise OutsideValidity(
                f"lambda is {self.lambda_:g}; the burned-gas tables hold from {low:.2f} to {high:.2f}"
            )
        if not 0.0 <= self.combustion_efficiency <= 1.0:
            raise InputError(f"combustion_efficiency is {self.combustion_efficiency:g}; it must lie in 0..1")
        if not -60.0 < self.ca10 < 60.0:
            raise OutsideValidity(f"10 % burned at {self.ca10:g} deg; the burn law holds from -60 to 60")

    @property
    def gas(self) -> WorkingGas:
        """Property tables of the fuel."""
        return working_gas(self.fuel)

    @property
    def fuel_per_air(self) -> float:
        """Fuel vapour per dry air in the charge, by mass [-]."""
        oxygen = 1.0 + float(self.gas.constants[15]) * self.nitrous
        return oxygen / (self.gas.air_fuel_ratio * self.lambda_)

    def charge(self) -> Array:
        """Masses in one kilogram of charge, in the order of `SPECIES` [-]."""
        masses = np.array([1.0, self.fuel_per_air, self.nitrous, self.vapour, 0.0, 0.0, 0.0])
        return np.asarray(masses / masses.sum(), dtype=np.float64)

    def ash(self) -> Array:
        """Masses in one kilogram of what the charge burns to [-]."""
        fresh = self.charge()
        return np.array([0.0, 0.0, 0.0, fresh[3], fresh[0], fresh[1], fresh[2]])


@dataclass(frozen=True)
class Trapped:
    """The charge when the intake has shut; means over the cylinders, or arrays of a batch.

    Attributes
    ----------
    angle : float
        Before firing top dead centre, a whole degree unless the firing angles are not [deg].
    pressure, temperature : float or ndarray, shape (B,)
        [Pa], [K]
    masses : ndarray, shape (7,) or (B, 7)
        In the order of `SPECIES` [kg].
    """

    angle: float
    pressure: float | Array
    temperature: float | Array
    masses: Array

    @property
    def residual(self) -> float:
        """Share of burned gas in the (first) charge [-]."""
        masses = np.atleast_2d(self.masses)[0]
        return float(masses[4:].sum() / masses.sum())


@dataclass(frozen=True)
class Ports:
    """Gas in the pipes beside the valves of one side, on each cylinder's own axis.

    pressure, temperature, flow : ndarray, shape (n_cyl, 720)
        [Pa], [K], [kg/s] along the pipe: into the cylinder, out of it.
    """

    pressure: Array
    temperature: Array
    flow: Array


@dataclass(frozen=True)
class Cycle:
    """One periodic engine cycle.

    Arrays of angle have 720 whole degrees of each cylinder's own cycle, 0 at its firing top dead centre.

    Attributes
    ----------
    angle : ndarray, shape (720,)
        [deg]
    pressure, temperature, mass : ndarray, shape (n_cyl, 720)
        [Pa], [K], [kg]
    plenum_pressure, exhaust_pressure, exhaust_temperature : ndarray, shape (720,)
        Against the crank angle of cylinder 1 [Pa], [Pa], [K].
    indicated_work : ndarray, shape (n_cyl,)
        Of the gas on the piston over 720 deg, pumping included [J].
    wall_heat : ndarray, shape (n_cyl,)
        Given to the walls over a cycle [J].
    friction_work, charger_work : float
        Of the whole engine over a cycle [J].
    brake_torque, brake_power : float
        [N m], [W]
    imep, fmep, bmep : float
        [Pa]
    volumetric_efficiency : float
        Dry air drawn in over the dry air that fills the displacement at the state the plenum
        draws from [-].
    air_flow, fuel_flow : float
        Dry air and fuel of the whole engine [kg/s].
    trapped : Trapped
        Mean of the cylinders.
    trapped_mass : ndarray, shape (n_cyl,)
        [kg]
    peak_pressure, peak_angle : ndarray, shape (n_cyl,)
        [Pa], [deg after top dead centre]
    cycles_run : int
    mass_residual, energy_residual : float
        What the balance of the last cycle leaves open, over the mass that flowed through and over the
        larger of the fuel's energy and the pressure times the displacement [-].
    settled : mapping
        Largest relative change in the last cycle, of mass, energy and work.
    restart : ndarray or WaveState
        State at the end, to start a near point from.
    point : OperatingPoint
        How it ran; where something is steered, as it settled.
    breathing : Breathing
        The same of the engine.
    nitrous_flow : float
        [kg/s]
    outlet_flow : ndarray, shape (720,)
        Through the exhaust's outlet [kg/s].
    duct_heat : float
        Given to the walls of the pipes over a cycle [J].
    leaked : float
        Past the rings of all cylinders over a cycle [kg].
    unburned_temperature, burned_share : ndarray, shape (n_cyl, 720)
        Of the gas that the flame has not reached (of all gas with a valve open) [K]; burned share of the
        charge [-].
    burn : BurnSummary
        Mean of the cylinders.
    intake_port, exhaust_port : Ports or None
        None without pipes.
    """

    angle: Array
    pressure: Array
    temperature: Array
    mass: Array
    plenum_pressure: Array
    exhaust_pressure: Array
    exhaust_temperature: Array
    indicated_work: Array
    wall_heat: Array
    friction_work: float
    charger_work: float
    brake_torque: float
    brake_power: float
    imep: float
    fmep: float
    bmep: float
    volumetric_efficiency: float
    air_flow: float
    fuel_flow: float
    trapped: Trapped
    trapped_mass: Array
    peak_pressure: Array
    peak_angle: Array
    cycles_run: int
    mass_residual: float
    energy_residual: float
    settled: Mapping[str, float]
    restart: Array | WaveState
    point: OperatingPoint
    breathing: Breathing
    nitrous_flow: float
    outlet_flow: Array
    duct_heat: float
    leaked: float
    unburned_temperature: Array
    burned_share: Array
    burn: BurnSummary
    intake_port: Ports | None = None
    exhaust_port: Ports | None = None
