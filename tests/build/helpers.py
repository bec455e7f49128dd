"""An invented V8 of few words, and ways to change it."""

from __future__ import annotations

from typing import Any

import pytest
import tomlkit

from blockwright.build import Build, loads
from blockwright.build.changes import set_at
from blockwright.errors import Fault, InputError

MINIMAL: dict[str, Any] = {
    "format": 1,
    "name": "few words",
    "invented": True,
    "layout": {"kind": "V", "cylinders": 8, "firing_order": [1, 5, 4, 2, 6, 3, 7, 8]},
    "target": {"power": "450 hp", "speed": "6500 rpm"},
    "casting": {"bore": "4.030 in"},
    "caps": {"material": "grey-30"},
    "crank": {"stroke": "3.480 in"},
    "rods": {"length": "5.700 in"},
    "heads": {"chamber_volume": "64 cc"},
    "spark": {"advance": "34 deg"},
    "duty": {"kind": "passes", "passes": 200, "pass_time": "45 s"},
}

FOUR: dict[str, Any] = {
    "layout.kind": "inline",
    "layout.cylinders": 4,
    "layout.firing_order": [1, 3, 4, 2],
    "target.power": "320 hp",
    "casting.bore": "86.0 mm",
    "crank.stroke": "94.0 mm",
    "rods.length": "152.0 mm",
    "heads.chamber_volume": "58 cc",
}


def text(changes: dict[str, Any] | None = None) -> str:
    """The minimal build as TOML, with fields changed by path (None takes one out)."""
    document = tomlkit.parse(tomlkit.dumps(MINIMAL)).unwrap()
    for path, new in (changes or {}).items():
        set_at(document, path.split("."), new)
    return tomlkit.dumps(document)


def build(changes: dict[str, Any] | None = None) -> Build:
    """The minimal build, changed and loaded."""
    return loads(text(changes))


def faults(changes: dict[str, Any]) -> tuple[Fault, ...]:
    """The faults of the minimal build with changes."""
    return faults_of_text(text(changes))


def faults_of_text(source: str) -> tuple[Fault, ...]:
    """The faults of a text."""
    with pytest.raises(InputError) as caught:
        loads(source)
    assert caught.value.exit_code == 2
    return caught.value.faults
