"""The main cap as a plane curved beam between its two feet: unit solutions.

A half ring of varying depth carries the film pressure on its bore.  Its feet are
held in height by the bolts and stand on iron that gives a little in rotation and along
the joint; sideways they are held (by friction and register) or let go.  The solution is
Castigliano's: the right foot's reactions are the unknowns, the flexibilities are integrals
along the ring, with Winkler's curved-beam law for bending and stretching and a shear term.

Angles are measured at the bore's centre from straight down (the crown), positive
towards the right foot; `theta` = +-90 degrees is the joint face.  `direction` is
where the bearing load points, on the same scale: 0 = straight into the cap.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import OutsideValidity
from .cap_film import film_force

Array = NDArray[np.float64]

#: Cells along the half ring; finer ones move no stress by more than 1e-4 of the largest.
CELLS = 120
#: Knots over a whole turn of load direction, evenly spaced in the lean from -2 to 2.
KNOTS = 721
#: Where around the ring the stress is asked, degrees from the crown.
STATIONS = (-25.0, 0.0, 25.0)
CROWN = STATIONS.index(0.0)
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
    film : float
        Half width of the film pressure about the load [rad], up to 90 degrees.
    foot_tilt, foot_give : float
        Turn of the block's iron under a foot, over that of a half-space under a rigid strip, and its movement
        along the joint per E L/force [-]; 0 for a rigid block.
    """

    bore: float
    crown: float
    foot_width: float
    span: float
    length: float
    modulus: float
    poisson: float = 0.26
    film: float = 0.5 * np.pi
    foot_tilt: float = 0.0
    foot_give: float = 0.0

    def __post_init__(self) -> None:
        for name in ("bore", "crown", "foot_width", "span", "length", "modulus"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0.0):
                raise OutsideValidity(f"cap {name} is {value:g}; it must be above 0")
        if not 0.1 <= self.film <= 0.5 * np.pi:
            raise OutsideValidity(
                f"film half width is {np.degrees(self.film):g} degrees; the film can press on 6 to 90"
            )
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
    """Unit solutions of one cap, on `KNOTS` knots of the load's lean (see `lean`).

    Attributes
    ----------
    direction : shape (m,)
        Load direction at the knots [rad], -pi .. pi.
    stress, shoulder : shape (stations, m)
        Stress at the outer and the inner fibre per unit of bearing load, feet held [Pa/N].
    closing : shape (m,)
        Force with which each foot pulls inwards along the joint per unit of load, feet
        held, mean of both feet; negative where the feet spread [N/N].
    lateral, vertical : shape (m,)
        Share of the load that the cap's half of the bore feels, to the right and away
        from the block [N/N].
    lift : shape (m,)
        Pull on the bolts of the foot that lets go first: the trailing one where the
        cap closes, the leading one where it spreads [N/N].
    trailing_lift : shape (m,)
        Pull on the bolts of the trailing foot, the one that the lateral load leaves behind [N/N].
    release, release_inner : shape (stations,)
        Outer- and inner-fibre stress per unit of closing force let go [Pa/N].
    crush : shape (stations,)
        Outer-fibre stress per unit of even pressure on the bore, feet held [Pa/Pa].
    foot_stiffness : float
        Closing force that each foot loses per metre it moves inwards, both moving [N/m].
    """

    direction: Array
    stress: Array
    shoulder: Array
    closing: Array
    lateral: Array
    vertical: Array
    lift: Array
    trailing_lift: Array
    release: Array
    release_inner: Array
    crush: Array
    foot_stiffness: float


def lean(vertical: Array, lateral: Array) -> Array:
    """Direction of a load without trigonometry: 0 into the cap, +-1 sideways, +-2 up.

    ``u = |H| / (|V| + |H|)`` for V >= 0, ``2 - u`` for V < 0, with the sign of H: it
    grows steadily with the angle, so that even steps of it can be read by one division.
    """
    size = np.abs(lateral)
    share = size / np.maximum(np.abs(vertical) + size, 1e-300)
    return np.asarray(np.copysign(np.where(vertical >= 0.0, share, 2.0 - share), lateral))


def _knot_directions() -> Array:
    at = np.linspace(0.0, 2.0, KNOTS // 2 + 1)
    share = np.where(at <= 1.0, at, 2.0 - at)
    angle = np.arctan2(share, 1.0 - share)
    half = np.where(at <= 1.0, angle, np.pi - angle)
    return np.concatenate((-half[:0:-1], half))


def depth(dims: CapDims, theta: Array) -> Array:
    """Depth of the section at `theta` [m]: the crown's at 0, the foot's at +-90 degrees."""
    return np.asarray(dims.crown * np.cos(theta) ** 2 + dims.foot_width * np.sin(theta) ** 2)


def centre_radius(dims: CapDims, theta: Array) -> Array:
    """Distance of the centre line from the bore's centre [m]."""
    crown = 0.5 * (dims.bore + dims.crown)
    return np.asarray(crown * np.cos(theta) ** 2 + 0.5 * dims.span * np.sin(theta) ** 2)


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


def _loads(dims: CapDims, theta: Array, direction: Array) -> tuple[Array, Array]:
    """Film force for each direction, and as last row that of an even pressure of 1 Pa."""
    fx, fy = film_force(theta, direction, dims.film)
    even = 0.5 * dims.bore * dims.length
    return (
        np.vstack((fx, even * np.cos(theta))),
        np.vstack((fy, even * (np.sin(theta) - 1.0))),
    )


def _foot_compliance(dims: CapDims) -> tuple[float, float]:
    """Turn of a foot's face per moment [rad/(N m)] and its movement along the joint per force [m/N]."""
    half = 0.5 * dims.foot_width
    tilt = 4.0 * (1.0 - dims.poisson**2) / (np.pi * dims.modulus * half**2 * dims.length)
    return dims.foot_tilt * tilt, dims.foot_give / (dims.modulus * dims.length)


def influence(dims: CapDims, cells: int = CELLS, direction: Array | None = None) -> Influence:
    """Unit solutions of the cap for a grid of load directions.

    Parameters
    ----------
    dims : CapDims
        The cap.
    cells : int
        Cells of the midpoint rule along the half ring.
    direction : ndarray, optional
        Load directions [rad]; by default the knots of the even grid of `lean`.

    Returns
    -------
    Influence
        Unit solutions, feet held, and what letting them go does.

    Notes
    -----
    Per metre of centre line ``stretch = N/EA + M/EAR``, ``turn = N/EAR + M/EAeR``,
    ``slide = 1.2 V/GA`` with R the centre radius and e the shift of Winkler's
    neutral axis; M stretches the outer fibre.  The right foot's three movements,
    as integrals of these against unit forces, are set to nothing.

    References
    ----------
    Timoshenko, Strength of Materials part II, curved bars (from memory); rederived in
    docs/models/caps.md.
    """
    step = np.pi / cells
    ring = _ring(dims, -0.5 * np.pi + step * (np.arange(cells, dtype=np.float64) + 0.5), step)
    direction = _knot_directions() if direction is None else direction
    one, zero = np.ones(cells), np.zeros(cells)
    foot = 0.5 * dims.span  # the right foot stands at (foot, 0)
    units = (
        _section_forces(ring, one, zero, zero),
        _section_forces(ring, zero, one, foot * one),
        _section_forces(ring, zero, zero, one),
    )
    tilt, give = _foot_compliance(dims)
    ends = _ring(dims, np.array([-0.5 * np.pi, 0.5 * np.pi]), step)
    # sideways force and moment at both feet by each unit force at the right one
    x, y, m = (np.outer(row, np.ones(2)) for row in np.eye(3))
    end_x, end_m = x, _section_forces(ends, x, y, m + foot * y)[2]
    weights = [np.stack(unit) * ring.ds for unit in units]  # N, V, M against stretch, slide, turn
    flexibility = np.array(
        [[np.sum(w * np.stack(_strains(dims, ring, unit))) for unit in units] for w in weights]
    )
    flexibility += tilt * end_m @ end_m.T + give * end_x @ end_x.T
    fx, fy = _loads(dims, ring.theta, direction)
    moved = _strains(dims, ring, _section_forces(ring, fx, fy, np.zeros_like(fx)))
    gaps = np.stack([moved[0] @ w[0] + moved[1] @ w[1] + moved[2] @ w[2] for w in weights])
    ex, ey = _loads(dims, ends.theta, direction)
    gaps += tilt * end_m @ _section_forces(ends, ex, ey, np.zeros_like(ex))[2].T + give * end_x @ ex.T
    reaction = -np.linalg.solve(flexibility, gaps)  # on the cap at the right foot: x, y, moment
    # Reaction at the right foot while it alone is moved outwards by 1 m.
    opened = np.linalg.solve(flexibility, np.array([1.0, 0.0, 0.0]))

    places: Array = np.asarray(np.radians(STATIONS), dtype=np.float64)
    stations = _ring(dims, places, step)
    sx, sy = _loads(dims, stations.theta, direction)
    rx, ry, rm = (row[:, None] for row in reaction)
    outer, inner = _fibres(stations, _section_forces(stations, sx + rx, sy + ry, rm + foot * ry))
    # Letting closing force go pulls the feet inwards: the opposite of a unit pull outwards.
    px, py, pm = -opened / opened[0]
    flat = np.ones(len(STATIONS))
    release, release_inner = _fibres(
        stations, _section_forces(stations, px * flat, py * flat, (pm + foot * py) * flat)
    )

    all_x, all_y = _loads(dims, np.array([-0.5 * np.pi]), direction)
    lateral, vertical = all_x[:-1, 0], -all_y[:-1, 0]
    # On the cap: x at the right foot is `right`, at the left -(lateral + right); both outwards when positive.
    right = reaction[0, :-1]
    closing = 0.5 * (right + lateral + right)
    right_lift, left_lift = reaction[1, :-1], vertical - reaction[1, :-1]
    leading = np.where(direction >= 0.0, right_lift, left_lift)
    lift = np.where(closing >= 0.0, vertical - leading, leading)
    return Influence(
        direction=direction,
        stress=np.ascontiguousarray(outer[:-1].T),
        shoulder=np.ascontiguousarray(inner[:-1].T),
        closing=closing,
        lateral=lateral,
        vertical=vertical,
        lift=lift,
        trailing_lift=vertical - leading,
        release=release,
        release_inner=release_inner,
        crush=outer[-1].copy(),
        # both feet move: the gap between them changes by twice the movement of one
        foot_stiffness=2.0 * float(opened[0]),
    )


#: Dimensions by whose powers the unit solutions are scaled, in this order.
SCALED_BY = ("crown", "span", "foot_width", "length", "film")


@dataclass(frozen=True)
class Sensitivity:
    """Log-derivatives of the unit solutions in `SCALED_BY`, each of shape (5,).

    Taken at the crown with the load straight into the cap.
    """

    stress: Array
    closing: Array
    release: Array
    crush: Array
    foot_stiffness: Array


def sensitivity(dims: CapDims, step: float = 0.02) -> Sensitivity:
    """Exponents of the power laws by which `influence` changes with the cap's dimensions.

    Parameters
    ----------
    dims : CapDims
        The nominal cap.
    step : float
        Relative step of the central differences.

    Returns
    -------
    Sensitivity
        ``d ln(unit solution) / d ln(dimension)``.
    """
    straight = np.zeros(1)
    rows: list[list[float]] = []
    for name in SCALED_BY:
        value = getattr(dims, name)
        logs = []
        for factor in (1.0 + step, 1.0 - step):
            unit = influence(replace(dims, **{name: value * factor}), direction=straight)
            figures = (
                unit.stress[CROWN, 0],
                unit.closing[0],
                unit.release[CROWN],
                unit.crush[CROWN],
                unit.foot_stiffness,
            )
            # A figure that changes sign has no power law; a floor keeps it from being scaled wildly.
            logs.append([float(np.log(max(abs(f), 1e-30))) for f in figures])
        width = np.log1p(step) - np.log1p(-step)
        rows.append([(up - low) / width for up, low in zip(*logs, strict=True)])
    table = np.array(rows).T
    return Sensitivity(*(np.ascontiguousarray(row) for row in table))
