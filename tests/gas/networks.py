"""Invented pipes around the invented engines of the tests."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from blockwright.gas.model import Breathing
from blockwright.gas.network import Duct, Junction, Network, Orifice, Volume


def straight(name: str, start: str, end: str, length: float, diameter: float, **more: Any) -> Duct:
    """A straight pipe."""
    given: dict[str, Any] = {"wall_temperature": 340.0} | more
    return Duct(name, start, end, np.array([0.0, length]), np.array([diameter, diameter]), **given)


def collectors(
    cylinders: int,
    groups: tuple[tuple[int, ...], ...],
    *,
    runner: tuple[float, float] = (0.30, 0.045),
    primary: tuple[float, float] = (0.80, 0.043),
    tail: tuple[float, float] = (1.2, 0.070),
    plenum: float = 0.004,
    throttle: float = 0.006,
    kept: float = 0.9,
) -> Network:
    """Plenum, runners, primaries into one collector a group, a tail pipe each."""
    ducts, junctions = [], []
    for c in range(1, cylinders + 1):
        ducts.append(straight(f"runner {c}", "plenum", f"cylinder {c} intake", *runner))
    for k, group in enumerate(groups):
        meet = f"collector {k + 1}"
        for c in group:
            ducts.append(
                straight(
                    f"primary {c}", f"cylinder {c} exhaust", meet, *primary,
                    wall_temperature=800.0, side="exhaust",
                )
            )  # fmt: skip
        ducts.append(
            straight(f"tail {k + 1}", meet, "open air", *tail, wall_temperature=700.0, side="exhaust")
        )
        junctions.append(Junction(meet, {f"primary {c}": 12.0 * (-1) ** c for c in group}, kept))
    return Network(
        tuple(ducts),
        (Volume("plenum", plenum),),
        tuple(junctions),
        (Orifice("throttle", "intake air", "plenum", throttle),),
    )


def individual(cylinders: int, runner: tuple[float, float], primary: tuple[float, float]) -> Network:
    """Every cylinder breathes through pipes of its own, straight from and to the air."""
    ducts = []
    for c in range(1, cylinders + 1):
        ducts.append(straight(f"runner {c}", "intake air", f"cylinder {c} intake", *runner))
        ducts.append(
            straight(
                f"pipe {c}", f"cylinder {c} exhaust", "open air", *primary,
                wall_temperature=800.0, side="exhaust",
            )
        )  # fmt: skip
    return Network(tuple(ducts))


def before_turbine(cylinders: int) -> Network:
    """Plenum and runners; short primaries into a volume whose outlet is a turbine."""
    ducts = []
    for c in range(1, cylinders + 1):
        ducts.append(straight(f"runner {c}", "plenum", f"cylinder {c} intake", 0.25, 0.045))
        ducts.append(
            straight(
                f"primary {c}", f"cylinder {c} exhaust", "turbine inlet", 0.25, 0.040,
                wall_temperature=850.0, side="exhaust",
            )
        )  # fmt: skip
    return Network(
        tuple(ducts),
        (Volume("plenum", 0.004), Volume("turbine inlet", 0.0008, "exhaust")),
        (),
        (
            Orifice("throttle", "intake air", "plenum", 0.006),
            Orifice("outlet", "turbine inlet", "open air", 0.001),
        ),
    )


def with_crossover(cylinders: int, groups: tuple[tuple[int, ...], ...]) -> Network:
    """As `collectors`, two groups, their tails joined halfway by a crossover pipe."""
    base = collectors(cylinders, groups)
    ducts = [d for d in base.ducts if not d.name.startswith("tail")]
    junctions = list(base.junctions)
    hot: dict[str, Any] = {"wall_temperature": 700.0, "side": "exhaust"}
    for k in (1, 2):
        ducts.append(straight(f"tail {k}", f"collector {k}", f"cross {k}", 0.5, 0.07, **hot))
        ducts.append(straight(f"end {k}", f"cross {k}", "open air", 0.7, 0.07, **hot))
        junctions.append(Junction(f"cross {k}", {"crossover": 90.0}, 0.9))
    ducts.append(straight("crossover", "cross 1", "cross 2", 0.4, 0.05, **hot))
    return Network(tuple(ducts), base.volumes, tuple(junctions), base.orifices)


def fitted(breathing: Breathing, network: Network) -> Breathing:
    """An engine with its pipes."""
    return replace(breathing, network=network)
