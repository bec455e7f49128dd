"""Make the property table of nitrous oxide with CoolProp.

Run by hand when the grid changes::

    python -m blockwright.gas.tables.make_nitrous

It needs CoolProp, which the shipped package never imports.  The table holds the saturated liquid and
vapour, as values and slopes of a cubic spline, and the coefficients of the equation of state
(Lemmon and Span 2006) for everything that is not saturated.

Notes
-----
The grid is even in s = sqrt(1 - T/Tc): an analytic equation of state is smooth in s up to its
critical point, where it is not smooth in T.  Heat capacities grow as 1/s^2 there, so s^2 c_p is stored.
"""

from __future__ import annotations

import datetime
import importlib
import json
from pathlib import Path
from typing import Any

import numpy as np

FLUID = "NitrousOxide"
NODES = 161
COLDEST = 182.35  # K, just above the triple point
NEAREST = 1.0e-3  # s of the node next to the critical point: 0.3 mK below it

#: Columns of the table and CoolProp's names for them.
COLUMNS = (
    ("log_pressure", "P", 0), ("liquid_density", "D", 0), ("log_vapour_density", "D", 1),
    ("liquid_enthalpy", "H", 0), ("vapour_enthalpy", "H", 1),
    ("liquid_entropy", "S", 0), ("vapour_entropy", "S", 1),
    ("liquid_heat", "C", 0), ("vapour_heat", "C", 1),
)  # fmt: skip


def _column(cp: Any, name: str, key: str, quality: int, temperature: Any, place: Any) -> Any:
    values = np.array([cp.PropsSI(key, "T", t, "Q", quality, FLUID) for t in temperature])
    if name.startswith("log"):
        return np.log(values)
    return values * place**2 if name.endswith("heat") else values


def make(folder: Path) -> Path:
    """Make and store the table."""
    cp: Any = importlib.import_module("CoolProp.CoolProp")
    spline: Any = importlib.import_module("scipy.interpolate").CubicSpline
    told = json.loads(cp.get_fluid_param_string(FLUID, "JSON"))[0]
    state = told["EOS"][0]
    critical = state["STATES"]["reducing"]
    place = np.linspace(NEAREST, np.sqrt(1.0 - COLDEST / critical["T"]), NODES)
    temperature = critical["T"] * (1.0 - place**2)
    values = np.stack([_column(cp, n, k, q, temperature, place) for n, k, q in COLUMNS])
    slopes = spline(place, values, axis=1)(place, 1)
    residual, ideal = state["alphar"][0], {t["type"]: t for t in state["alpha0"]}
    planck = ideal["IdealGasHelmholtzPlanckEinstein"]
    lead = ideal["IdealGasHelmholtzLead"]
    path = folder / "nitrous.npz"
    np.savez_compressed(
        path,
        place=place,
        values=values,
        slopes=slopes,
        residual=np.array([residual["n"], residual["d"], residual["t"], residual["l"]], dtype=float),
        planck=np.array([planck["n"], planck["t"]]),
        lead=np.array([lead["a1"], lead["a2"], ideal["IdealGasHelmholtzLogTau"]["a"]]),
        critical=np.array([critical["T"], critical["p"], critical["rhomolar"] * state["molar_mass"]]),
        gas_constant=state["gas_constant"] / state["molar_mass"],
        triple_temperature=told["STATES"]["triple_liquid"]["T"],
        provenance=json.dumps(
            {
                "equation of state": "Lemmon and Span, J. Chem. Eng. Data 51 (2006) 785",
                "CoolProp": importlib.import_module("CoolProp").__version__,
                "columns": [c[0] for c in COLUMNS],
                "made": datetime.date.today().isoformat(),
            }
        ),
    )
    return path


if __name__ == "__main__":
    print(make(Path(__file__).parent))
