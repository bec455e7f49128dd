"""A turbocharged and a blown engine to test with: the demo four with generic machines."""

from __future__ import annotations

import functools
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import blockwright as bw
from blockwright.gas import from_build
from blockwright.gas.boost import (
    BlowerSteering,
    Compressor,
    Cooler,
    Displacer,
    DrivenWheel,
    Surroundings,
    Turbine,
    Turbocharger,
    TurboSteering,
    Wastegate,
    constant,
    generic_map,
)
from blockwright.gas.model import Breathing, OperatingPoint

EXAMPLES = Path(__file__).parents[2] / "examples"
AIR = Surroundings(100_500.0, 293.15)
WANTED = 2.45e5
FLOW = 0.32


@functools.cache
def four() -> Breathing:
    return replace(from_build.breathing(bw.load(EXAMPLES / "turbo_four.toml")), network=None)


def point(rpm: float) -> OperatingPoint:
    """Full load on E85, burning by Wiebe's law: what is tested is the charger."""
    return OperatingPoint(
        speed=rpm * math.pi / 30.0,
        plenum_pressure=WANTED,
        plenum_temperature=300.0,
        exhaust_pressure=2.5e5,
        lambda_=0.84,
        fuel="e85",
        ca10=-1.0,
        burn_10_90=27.0 * (rpm / 7200.0) ** (1.0 / 3.0),
        vapour=0.0073,
    )


def turbo(area: float = 1.2e-3, gate: float = 0.039, **changes: Any) -> Turbocharger:
    machine = Turbocharger(
        surroundings=AIR,
        compressor=Compressor(generic_map(0.070), None, constant("tip_limit")),
        turbine=Turbine(
            0.065,
            area,
            constant("turbine_discharge"),
            constant("stator_share"),
            constant("turbine_efficiency"),
            constant("best_speed_ratio"),
            constant("swallowing_fall"),
        ),
        wastegate=Wastegate(gate, constant("wastegate_discharge")),
        cooler=Cooler(0.7, 8e3, FLOW, AIR.temperature),
        evaporation_share=from_build.constant("evaporation_share"),
        charge_heating=from_build.constant("charge_heating"),
        back_loss=constant("back_loss"),
        back_diameter=0.087,
        inertia=1.3e-4,
        inlet_drop=2e3,
        inlet_flow=FLOW,
        mechanical_efficiency=0.96,
    )
    return replace(machine, **changes)


def steered(wanted: float = WANTED, **changes: Any) -> TurboSteering:
    return TurboSteering(wanted, turbo(**changes))


def lobe(displacement: float = 1.2e-3, **changes: Any) -> BlowerSteering:
    machine = Displacer(
        displacement, 1.0, constant("lobe_efficiency"), constant("lobe_leak"), constant("filling_loss")
    )
    return _blower(machine, **changes)


def wheel(diameter: float = 0.080, **changes: Any) -> BlowerSteering:
    return _blower(DrivenWheel(Compressor(generic_map(diameter), None, 520.0)), **changes)


def _blower(machine: Displacer | DrivenWheel, **changes: Any) -> BlowerSteering:
    settings: dict[str, Any] = {
        "wanted": 1.8e5,
        "machine": machine,
        "surroundings": AIR,
        "cooler": Cooler(0.7, 8e3, FLOW, AIR.temperature),
        "drive_ratio": 2.0,
        "evaporation_share": from_build.constant("evaporation_share"),
        "charge_heating": from_build.constant("charge_heating"),
        "inlet_drop": 2e3,
        "inlet_flow": FLOW,
    }
    return BlowerSteering(**{**settings, **changes})
