"""What a part hands to the life model: one way in which it can break.

Array axes are always (sample, point, cycle, angle): sample 0 is the nominal
engine, the others draws of what is unknown; `point` is the operating point of
the duty; `cycle` the node of the cycle-to-cycle variation of pressure; `angle`
the crank angles kept.  A reduced axis keeps length 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from ..trace import Array, Value


@dataclass(frozen=True)
class Identity:
    """Which limit this is.

    Attributes
    ----------
    id : str
        Stable key, words joined by hyphens: ``cap-crown-main-3``.
    name, part, place : str
        In the trade's words: "Cap crown fatigue", "main cap", "main 3".
    source : str
        Of the method, in one line.
    group : str
        ``"mains"``, ``"bores"``, ``"head"``, ``"rods"``: limits that read the same inputs.
    notes : tuple of str
        Ranges left, simplifications that matter for this limit.
    """

    id: str
    name: str
    part: str
    place: str
    source: str
    group: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class SingleEvent:
    """Breaks the first time that demand passes capacity.

    demand, capacity : shape (n, 1, 1, 1), same SI unit, the worst over the duty.
    breaks : False for a limit of good practice or of service (mean piston speed, a foot that
        slips): shown with its margin, not counted in the chance that the engine lives.
    """

    identity: Identity
    unit: str
    demand: Value
    capacity: Value
    split: Mapping[str, Value] = field(default_factory=dict)
    breaks: bool = True


@dataclass(frozen=True)
class Fatigue:
    """Breaks by damage adding up over the duty's cycles.

    stress_max, stress_min : shape (n, P, Z, 1), largest and smallest local stress in one
        engine cycle [Pa], tension positive.
    strength : shape (n, 1, 1, 1), fully reversed amplitude at the knee, with size, skin,
        notch support and temperature in it [Pa].
    tensile : shape (n, 1, 1, 1), tensile strength, for the mean-stress rule [Pa].
    slope, knee : S-N exponent k [-] and cycles at the knee [-].
    mean_rule : ``"smith"`` (grey iron), ``"goodman"`` or ``"fkm-ductile"``.
    split : shares of stress_max by cause, shape (n, 1, 1, 1), same unit.
    """

    identity: Identity
    stress_max: Value
    stress_min: Value
    strength: Value
    tensile: Value
    slope: Value
    knee: Value
    mean_rule: str
    split: Mapping[str, Value] = field(default_factory=dict)


class Leaves(Protocol):
    """Where formulas get their inputs; each getter gives shape (n, 1, 1, 1) unless said."""

    def build(self, path: str) -> Value:
        """A numeric field of the build, SI, sampled from its spread."""

    def catalogue(self, table: str, row: str, field: str) -> Value:
        """A figure of a catalogue row, SI, sampled from its spread (shared by all parts)."""

    def model(self, name: str) -> Value:
        """A constant or model error of ``models.toml``, sampled from its spread."""

    def kernel(self, name: str, place: str = "") -> Value:
        """A numerical solution, shape (n, P, Z, K) with unused axes of length 1."""

    def constant(self, name: str, place: str, value: Array, unit: str, equation: str, key: str) -> Value:
        """A kernel's figure that does not vary with the samples (a frame's unit stress).

        `value` passes through unchanged; under the tracer it becomes a leaf of kind ``kernel``.
        """

    def choice(self, path: str) -> object:
        """A word, whole number or flag of the build (never sampled)."""
