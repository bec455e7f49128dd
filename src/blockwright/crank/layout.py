"""Where every cylinder, throw and main sits, and when each piston is at the top.

Axes (right-handed), seen from the end from which the crank turns from bank A to bank B::

              y up, middle of the V
      bank A  |  bank B            x   lateral, towards bank B
           \\  |  /                 y   up, bisector of the banks
            \\ | /   turns  -->     z   out of the page; stations s run into it,
             \\|/                       main 1 at s = 0, counted from the front
        ------O------ x

A direction at angle a, counted from y in the turning sense, is (sin a, cos a).  For
an engine that turns clockwise seen from the front and whose bank A is on the left
(`lead` = +1) that end is the front.  When bank B's piston on a shared pin comes to
the top first (`lead` = -1) bank A is on the right seen from the front: x still points
to bank B and angles counted in the turning sense run from B to A.

The crank angle is 0 at the firing dead centre of cylinder 1: its crankpin in line with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..build.firing import firing as phase
from ..errors import Fault, InputError


@dataclass(frozen=True)
class Layout:
    """The crank train as directions, phases and stations.  Angles in rad, lengths in m.

    Attributes
    ----------
    kind : str
        ``"inline"``, ``"V"`` or ``"flat"``.
    bank : tuple of int
        Bank of each cylinder, 0 A and 1 B.
    axis : tuple of float
        Direction of each cylinder from the crank, from y towards bank B (+x) [rad].
    lead : int
        +1 when the crank turns from bank A to bank B, else -1.
    throw : tuple of int
        Throw that carries each cylinder's rod, 0 at the front.
    pin : tuple of float
        Direction of each cylinder's crankpin, from y towards bank B, at crank angle 0 [rad].
    throw_pin : tuple of float
        Direction of each throw as a whole (middle of a split pin), same datum [rad].
    tdc, firing : tuple of float
        Crank angle of top dead centre (0..2 pi) and of firing (0..4 pi) after cylinder 1 [rad].
    station : tuple of float
        Where each rod sits along the crank, behind main 1 [m].
    mains : tuple of float
        Where each main bearing sits, behind main 1 [m].
    split : float
        Angle between the two halves of a split pin [rad].
    """

    kind: str
    bank: tuple[int, ...]
    axis: tuple[float, ...]
    lead: int
    throw: tuple[int, ...]
    pin: tuple[float, ...]
    throw_pin: tuple[float, ...]
    tdc: tuple[float, ...]
    firing: tuple[float, ...]
    station: tuple[float, ...]
    mains: tuple[float, ...]
    split: float

    @property
    def cylinders(self) -> int:
        """Number of cylinders."""
        return len(self.bank)

    @property
    def throws(self) -> int:
        """Number of throws."""
        return len(self.throw_pin)

    @property
    def rods_per_throw(self) -> int:
        """Rods on one throw."""
        return self.cylinders // self.throws

    @property
    def even(self) -> bool:
        """Whether the cylinders fire at equal intervals."""
        each = 4.0 * np.pi / self.cylinders
        return bool(np.allclose(np.sort(self.firing), each * np.arange(self.cylinders), atol=1e-3))


def layout(
    kind: str,
    cylinders: int,
    order: Sequence[int],
    bore_spacing: float,
    bank_angle: float = 0.0,
    throws: Sequence[float] | NDArray[np.float64] | None = None,
    split: float = 0.0,
    numbering: str = "alternating",
    bank_offset: float = 0.0,
) -> Layout:
    """Lay out the crank train from the words of the build.

    Parameters
    ----------
    kind : str
        ``"inline"``, ``"V"`` or ``"flat"``.
    cylinders : int
        Number of cylinders.
    order : sequence of int
        Firing order.
    bore_spacing : float
        Distance between neighbouring bores of a bank [m].
    bank_angle, split : float
        Angle between the banks of a V; setback of the second half pin [rad].
    throws : sequence of float or None
        Crankpin angles ahead of throw 1 in the turning sense, front to rear [rad].
        None: those that fire evenly.
    numbering : str
        ``"alternating"`` or ``"by-bank"``.
    bank_offset : float
        Distance of bank B behind bank A [m]: the spacing of two rods on one pin.  Not used
        when every cylinder has its own throw.

    Raises
    ------
    InputError
        When the pins cannot fire the cylinders in that order.
    """
    degrees = None if throws is None else [float(np.degrees(angle)) for angle in throws]
    found = phase(
        kind, cylinders, order, float(np.degrees(bank_angle)), degrees, float(np.degrees(split)), numbering
    )
    if isinstance(found, str):
        raise InputError(Fault("layout.firing_order", "-".join(map(str, order)), found))
    if not bore_spacing > 0.0:
        raise InputError(Fault("casting.bore_spacing", f"{bore_spacing:g} m", "it must be above 0"))
    between = {"inline": 0.0, "flat": np.pi}.get(kind, bank_angle)
    lead, n_throws = found.lead, len(found.throws)
    axis = tuple((b - 0.5) * between for b in found.bank)
    # Pin angles count in the turning sense; directions here count towards bank B.
    pins = np.radians(found.pin)
    first = axis[0] - lead * pins[0]
    halves: list[list[float]] = [[] for _ in range(n_throws)]
    for cylinder, throw in enumerate(found.throw):
        halves[throw].append(float(first + lead * pins[cylinder]))
    pitch = bore_spacing * (cylinders // (max(found.bank) + 1)) / n_throws
    shared = cylinders > n_throws
    return Layout(
        kind=kind,
        bank=found.bank,
        axis=axis,
        lead=lead,
        throw=found.throw,
        pin=tuple(float(first + lead * angle) for angle in pins),
        throw_pin=tuple(float(np.mean(angles)) for angles in halves),
        tdc=tuple(float(np.radians(angle)) for angle in found.tdc),
        firing=tuple(float(np.radians(angle)) for angle in found.firing),
        station=tuple(
            (t + 0.5) * pitch + (b - 0.5) * bank_offset * shared
            for t, b in zip(found.throw, found.bank, strict=True)
        ),
        mains=tuple(t * pitch for t in range(n_throws + 1)),
        split=split if shared else 0.0,
    )
