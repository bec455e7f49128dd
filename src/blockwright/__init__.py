"""Blockwright: will this very block live at the power wanted of it?

>>> import blockwright as bw
>>> verdict = bw.judge(bw.load("examples/hillclimb_v8.toml"))  # doctest: +SKIP
>>> print(verdict.sentence)  # doctest: +SKIP

Names are looked up when they are first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.2.0"

if TYPE_CHECKING:
    from .build.load import load, loads
    from .build.model import Build
    from .build.write import save
    from .errors import BlockwrightError, InputError, NotSettled, OutsideValidity
    from .life.explain import explain
    from .life.judge import judge
    from .life.verdict import Verdict
    from .report.curve import curve
    from .report.curve_record import Curve

__all__ = [
    "BlockwrightError",
    "Build",
    "Curve",
    "InputError",
    "NotSettled",
    "OutsideValidity",
    "Verdict",
    "curve",
    "explain",
    "judge",
    "load",
    "loads",
    "save",
]

_HOME = {
    "BlockwrightError": "errors",
    "InputError": "errors",
    "NotSettled": "errors",
    "OutsideValidity": "errors",
    "Build": "build.model",
    "load": "build.load",
    "loads": "build.load",
    "save": "build.write",
    "judge": "life.judge",
    "explain": "life.explain",
    "Verdict": "life.verdict",
    "curve": "report.curve",
    "Curve": "report.curve_record",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'blockwright' has no attribute {name!r}")
    return getattr(import_module(f".{_HOME[name]}", __name__), name)
