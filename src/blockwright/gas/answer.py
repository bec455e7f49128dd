"""A build's curve together with the answer to a wanted power."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..build.model import Build
from .corrections import STANDARDS
from .curve import Curve, curve
from .mesh import FINE, Mesh
from .run_point import AS_BUILT
from .target import TargetAnswer, setting_at, target


def curve_for(
    build: Build,
    speeds: Iterable[float] | None = None,
    *,
    mesh: Mesh = FINE,
    standards: Sequence[str] = tuple(STANDARDS),
    power: float | None = None,
    at: float | str | None = None,
    spread: bool = True,
) -> tuple[Curve, TargetAnswer | None]:
    """The curve of a build; with a wanted power, at the charge or nitrous that makes it.

    Parameters
    ----------
    build : Build
    speeds : iterable of float or None
        [rad/s]
    mesh : Mesh
    standards : sequence of str
    power : float or None
        Wanted [W].
    at : float, "peak" or None
        Speed of the wanted power [rad/s]; that of the curve's best power; the build's target speed.
    spread : bool

    Returns
    -------
    Curve
        As built; where the wanted power is reached by another charge or by nitrous, at that.
        A throttle that is drawn shut for it does not count: a curve is one of full load.
    TargetAnswer or None
    """
    if power is None:
        return curve(build, speeds, mesh=mesh, standards=standards, spread=spread), None
    wanted = None if speeds is None else list(speeds)
    base: Curve | None = None
    if at == "peak":
        base = curve(build, wanted, mesh=mesh, standards=standards, spread=False)
        speed = base.best("power").ran.speed
    else:
        speed = build.si("target.speed") if at is None or isinstance(at, str) else at
    answer = target(build, power, speed, mesh)
    setting = setting_at(answer) if answer.reached else AS_BUILT
    found = curve(build, wanted, mesh=mesh, setting=setting, standards=standards, spread=spread, near=base)
    return found, answer
