"""The main cap as a plane curved beam between its two feet: unit solutions.

A half ring of varying depth carries the film pressure on its bore.  Its feet are
held in height and rotation by the bolts; sideways they are held (by friction and
register) or let go.  The solution is Castigliano's: the right foot's reactions are
the unknowns, the flexibilities are integrals along the ring, with Winkler's
curved-beam law for bending and stretching and a shear term.

Angles are measured at the bore's centre from straight down (the crown), positive
towards the right foot; `theta` = +-90 degrees is the joint face.  `direction` is
where the bearing load points, on the same scale: 0 = straight into the cap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideValidity

Array = NDArray[np.float64]

#: Cells along the half ring; stresses change by less than 1e-5 from 200 to 400.
CELLS = 240
#: Knots over half a turn of load direction, evenly spaced in the folded angle.
KNOTS = 361
#: Where around the ring the stress is asked, degrees from the crown.
STATIONS = (-30.0, 0.0, 30.0)
#: Shear shape factor of a rectangle.
_SHEAR = 1.2


@dataclass(frozen=True)
class CapDims:
    """Dimensions of one cap [m] and the iron's elastic constants.

    Attributes
    ----------
    bore : float
        Diameter of the main bore in the cap.
    crown : float
        Radial depth of the section under the bore.
    foot_width : float
        Depth of the section at each foot.
    span : float
        Between the two inner bolts; the ring's centre line meets the joint there.
    length : float
        Along the crank.
    modulus : float
        Young's modulus [Pa].
    poisson : float
        Poisson's ratio [-].
    """

    bore: float
    crown: float
    foot_width: float
    span: float
    length: float
    modulus: float
    poisson: float = 0.26

    def __post_init__(self) -> None:
        for name in ("bore", "crown", "foot_width", "span", "length", "modulus"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0.0):
                raise OutsideValidity(f"cap {name} is {value:g}; it must be above 0")
        if self.span <= self.bore:
            raise OutsideValidity(
                f"the cap's bolts stand {self.span * 1e3:.1f} mm apart and its bore is "
                f"{self.bore * 1e3:.1f} mm; the bolts must stand outside the bore"
            )
        if self.crown > 1.5 * self.bore or self.foot_width > 1.5 * self.bore:
            raise OutsideValidity(
                f"cap crown {self.crown * 1e3:.1f} mm or foot {self.foot_width * 1e3:.1f} mm is deeper "
                "than 1.5 bores; a block that stout does not bend as a ring"
            )


@dataclass(frozen=True)
class Influence:
    """Unit solutions of one cap, on knots of the folded load direction.

    The knots stand at ``fold = 0 .. 2`` evenly, see `fold_direction`; the load's
    lateral part points to the right (mirror the stations for the left).

    Attributes
    ----------
    direction : shape (m,)
        Load direction at the knots [rad], 0 .. pi.
    stress : shape (stations, m)
        Outer-fibre stress per unit of bearing load, feet held [Pa/N].
    shoulder : shape (stations, m)
        Inner-fibre stress per unit of bearing load, feet held [Pa/N].
    thrust : shape (m,)
        Spreading force on each foot per unit of load, feet held: the mean of what
        both feet push outwards [N/N].
    lateral, vertical : shape (m,)
        Share of the load that the cap's half of the bore feels, to the right and
        away from the block [N/N].
    lift : shape (m,)
        Pull on the right foot's bolts per unit of load [N/N].
    release : shape (stations,)
        Outer-fibre stress per unit of spreading force let go [Pa/N].
    release_inner : shape (stations,)
        The same at the inner fibre [Pa/N].
    spread_stiffness : float
        Spreading force that each foot loses per metre it moves outwards, both
        feet moving [N/m].
    """

    direction: Array
    stress: Array
    shoulder: Array
    thrust: Array
    lateral: Array
    vertical: Array
    lift: Array
    release: Array
    release_inner: Array
    spread_stiffness: float


def fold_direction(vertical: Array, lateral: Array) -> Array:
    """Direction of a load without trigonometry: 0 down into the cap, 1 sideways, 2 up.

    ``u = |H| / (|V| + |H|)`` for V > 0 and ``2 - u`` for V < 0: it grows steadily with
    the angle, so a table on even steps of it can be read by one division.
    """
    size = np.abs(lateral)
    total = np.maximum(np.abs(vertical) + size, 1e-300)
    share = size / total
    return np.where(vertical >= 0.0, share, 2.0 - share)


def _knot_directions() -> Array:
    fold = np.linspace(0.0, 2.0, KNOTS)
    share = np.where(fold <= 1.0, fold, 2.0 - fold)
    angle = np.arctan2(share, 1.0 - share)
    return np.where(fold <= 1.0, angle, np.pi - angle)


def depth(dims: CapDims, theta: Array) -> Array:
    """Depth of the section at `theta` [m]: the crown's at 0, the foot's at +-90 degrees."""
    return dims.crown * np.cos(theta) ** 2 + dims.foot_width * np.sin(theta) ** 2


def centre_radius(dims: CapDims, theta: Array) -> Array:
    """Distance of the centre line from the bore's centre [m]."""
    crown = 0.5 * (dims.bore + dims.crown)
    return crown * np.cos(theta) ** 2 + 0.5 * dims.span * np.sin(theta) ** 2


def film_pressure(theta: Array, direction: Array) -> Array:
    """Film pressure times radius per unit of load [1/rad]: a cosine over +-90 degrees.

    ``p r L / F = (2/pi) cos(theta - direction)``, zero beyond 90 degrees; its
    resultant is the load itself.  First version: a real film is narrower at high
    load and leans with the journal's turning.
    """
    return np.asarray((2.0 / np.pi) * np.maximum(np.cos(theta - direction), 0.0))


@dataclass(frozen=True)
class _Ring:
    """Sections and lever arms at the middles and edges of the cells."""

    theta: Array
    x: Array
    y: Array
    radius: Array
    ds: Array
    cos: Array
    sin: Array
    area: Array
    eccentricity: Array
    depth: Array


def _ring(dims: CapDims, theta: Array, step: float) -> _Ring:
    radius = centre_radius(dims, theta)
    h = depth(dims, theta)
    x, y = radius * np.sin(theta), -radius * np.cos(theta)
    slope = (0.5 * dims.span - 0.5 * (dims.bore + dims.crown)) * np.sin(2.0 * theta)
    tx = slope * np.sin(theta) + radius * np.cos(theta)
    ty = -slope * np.cos(theta) + radius * np.sin(theta)
    stretch = np.hypot(tx, ty)
    # R - h / ln(ro/ri) loses its digits in a thin ring; the series does not.
    half = h / (2.0 * radius)
    if np.any(half >= 1.0):
        raise OutsideValidity("the cap's foot is wider than twice the distance of its bolt from the centre")
    neutral = half / np.arctanh(half)
    series = half**2 / 3.0 + 4.0 * half**4 / 45.0
    share = np.where(half < 1e-2, series, 1.0 - neutral)
    return _Ring(
        theta, x, y, radius, stretch * step, tx / stretch, ty / stretch, h * dims.length, radius * share, h
    )


def _section_forces(ring: _Ring, fx: Array, fy: Array, about: Array) -> tuple[Array, Array, Array]:
    """Normal force, shear, moment from the resultant of all that acts beyond a section.

    ``fx, fy`` is the resultant and `about` its moment about the bore's centre, taken
    over the side towards the right foot; the moment stretches the outer fibre.
    """
    normal = fx * ring.cos + fy * ring.sin
    shear = -fx * ring.sin + fy * ring.cos
    moment = about - (ring.x * fy - ring.y * fx)
    return normal, shear, moment


def _strains(dims: CapDims, ring: _Ring, forces: tuple[Array, Array, Array]) -> tuple[Array, Array, Array]:
    """Stretch of the centre line, slide, and turning per metre of it (Winkler)."""
    normal, shear, moment = forces
    ea = dims.modulus * ring.area
    shear_modulus = dims.modulus / (2.0 * (1.0 + dims.poisson))
    stretch = normal / ea + moment / (ea * ring.radius)
    turn = normal / (ea * ring.radius) + moment / (ea * ring.eccentricity * ring.radius)
    return stretch, _SHEAR * shear / (shear_modulus * ring.area), turn


def _fibres(ring: _Ring, forces: tuple[Array, Array, Array]) -> tuple[Array, Array]:
    """Stress at the outer and the inner fibre by Winkler and Bach [Pa]."""
    normal, _, moment = forces
    centre = normal / ring.area + moment / (ring.area * ring.radius)
    turn = normal / ring.area + moment / (ring.area * ring.eccentricity)
    out = []
    for y in (0.5 * ring.depth, -0.5 * ring.depth):
        out.append((centre * ring.radius + y * turn) / (ring.radius + y))
    return out[0], out[1]


def _loads(theta: Array, direction: Array) -> tuple[Array, Array]:
    """Film force between each `theta` and the right foot, shape (directions, theta).

    Closed form of the integral of the cosine film over theta .. 90 degrees.
    """
    d = direction[:, None]
    low = np.clip(theta[None, :], d - 0.5 * np.pi, 0.5 * np.pi)
    high = np.minimum(0.5 * np.pi, d + 0.5 * np.pi)
    low = np.minimum(low, high)

    # integral of cos(t-d) sin t and of -cos(t-d) cos t
    fx = 0.5 * (np.sin(d) * (high - low)) - 0.25 * (np.cos(2 * high - d) - np.cos(2 * low - d))
    fy = -0.5 * (np.cos(d) * (high - low)) - 0.25 * (np.sin(2 * high - d) - np.sin(2 * low - d))
    return (2.0 / np.pi) * fx, (2.0 / np.pi) * fy


def influence(dims: CapDims, cells: int = CELLS) -> Influence:
    """Unit solutions of the cap on the grid of load directions.

    Parameters
    ----------
    dims : CapDims
    cells : int
        Cells of the midpoint rule along the half ring.

    Returns
    -------
    Influence

    Notes
    -----
    Per metre of centre line ``eps = N/EA + M/EAR``, ``turn = N/EAR + M/EAeR``,
    ``slide = 1.2 V/GA`` with R the centre radius and e the shift of Winkler's
    neutral axis; M stretches the outer fibre.  The right foot's three movements,
    as integrals of these against unit forces, are set to nothing.

    References
    ----------
    Timoshenko, Strength of Materials part II, art. 10-13 (from memory); the energy
    form rederived in docs/models/caps.md.
    """
    step = np.pi / cells
    ring = _ring(dims, -0.5 * np.pi + step * (np.arange(cells) + 0.5), step)
    direction = _knot_directions()
    one, zero = np.ones(cells), np.zeros(cells)
    foot = 0.5 * dims.span  # the right foot stands at (foot, 0)
    units = [
        _section_forces(ring, one, zero, zero),
        _section_forces(ring, zero, one, foot * one),
        _section_forces(ring, zero, zero, one),
    ]
    strains = [_strains(dims, ring, unit) for unit in units]
    weights = [np.stack(unit) * ring.ds for unit in units]  # N, V, M against stretch, slide, turn
    flexibility = np.array([[np.sum(w * np.stack(s)) for s in strains] for w in weights])

    fx, fy = _loads(ring.theta, direction)
    loaded = _section_forces(ring, fx, fy, np.zeros_like(fx))
    moved = _strains(dims, ring, loaded)
    gaps = np.stack([sum(np.sum(m * w, axis=-1) for m, w in zip(moved, wt, strict=True)) for wt in weights])
    reaction = -np.linalg.solve(flexibility, gaps)  # on the cap at the right foot: x, y, moment
    freed = np.linalg.solve(flexibility, np.array([1.0, 0.0, 0.0]))  # a unit movement outwards

    total_x, total_y = _loads(np.array([-0.5 * np.pi]), direction)
    right, left = -reaction[0], reaction[0] + total_x[:, 0]  # pushed outwards by the cap
    # to the left is outwards there: reaction on the cap at the left is -(total + right's)
    thrust = 0.5 * (right - left)

    stations = _ring(dims, np.radians(np.array(STATIONS)), step)
    sfx, sfy = _loads(stations.theta, direction)
    held = _section_forces(
        stations, sfx + reaction[0][:, None], sfy + reaction[1][:, None],
        (reaction[2] + foot * reaction[1])[:, None] * np.ones(len(STATIONS)),
    )  # fmt: skip
    outer, inner = _fibres(stations, held)
    open_up = freed / freed[0]  # per unit of force outwards at the right foot
    ones = np.ones(len(STATIONS))
    let_go = _section_forces(
        stations, open_up[0] * ones, open_up[1] * ones, (open_up[2] + foot * open_up[1]) * ones
    )
    release, release_inner = _fibres(stations, let_go)
    return Influence(
        direction=direction,
        stress=outer.T.copy(),
        shoulder=inner.T.copy(),
        thrust=thrust,
        lateral=total_x[:, 0],
        vertical=-total_y[:, 0],
        lift=reaction[1],
        release=release,
        release_inner=release_inner,
        # both feet move: the gap between them opens by twice the movement of one
        spread_stiffness=2.0 * float(freed[0]),
    )
