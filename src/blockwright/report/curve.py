"""A build's power curve as the records that are printed and drawn: what `bw.curve` gives."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..build.model import Build
from ..gas.answer import curve_for
from ..gas.corrections import STANDARDS
from ..gas.mesh import COARSE, FINE
from ..life.pipework import Pipework, pipework
from ..life.shop_units import shop_units
from .curve_record import Curve
from .curve_told import told


def curve(
    build: Build,
    speeds: Iterable[float] | None = None,
    *,
    power: float | None = None,
    at: float | str | None = None,
    standards: Sequence[str] = tuple(STANDARDS),
    preview: bool = False,
) -> Curve:
    """Power, torque and what they cost over the speeds, in the shop's own units.

    Parameters
    ----------
    build : Build
        From `load`.
    speeds : iterable of float or None
        [rad/s]; None for some fifteen about the target's.
    power : float or None
        What it takes to make this power is answered too [W].
    at : float, "peak" or None
        Speed of that power [rad/s]; that of the curve's best power; the build's target speed.
    standards : sequence of str
        Keys of the standards to correct to.
    preview : bool
        Cut the pipes coarsely: quicker and a little off.

    Returns
    -------
    Curve

    Raises
    ------
    InputError, OutsideValidity
        When the build cannot be computed as described.
    NotSettled
        When no speed gave a figure.
    """
    return curve_with_pipes(build, speeds, power=power, at=at, standards=standards, preview=preview)[0]


def curve_with_pipes(
    build: Build,
    speeds: Iterable[float] | None = None,
    *,
    power: float | None = None,
    at: float | str | None = None,
    standards: Sequence[str] = tuple(STANDARDS),
    preview: bool = False,
) -> tuple[Curve, Pipework | None]:
    """The curve, and the pipes that its report draws."""
    mesh = COARSE if preview else FINE
    found, answer = curve_for(build, speeds, mesh=mesh, standards=standards, power=power, at=at)
    pipes = pipework(found.points[0].ran.breathing, shop_units(build))
    return told(build, found, answer), pipes
