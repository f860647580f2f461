"""Which assembly is meant: the one that a linkage comes to from the measured pose, on its own way.

The same lengths can often be joined in several ways: the rod's outer pivot may lie on either side
of the plane through the steering axis and the inner pivot.  A linkage on a car can't change from
one to another, so what counts is where it can be led: from the measured pose to the height at which
the rod was set, straight ahead; from there with the rack, then with the wheel to the wanted height.
By the implicit function theorem the pose follows
along such a way as long as the determinant of the closure's Jacobian keeps its sign; where it
vanishes the linkage is at a dead center and the way has ended, whatever may close farther on
(direct kinematics by continuation: A. Morgan, Solving Polynomial Systems Using Continuation, 1987,
and J. Angeles, Fundamentals of Robotic Mechanical Systems, chapter on singularities; from memory).

Most poses need no walk.  The determinant is, but for factors that don't vanish, the rise of the
wheel with its arm times the sine of the angle between rod and arm.  With the axis held where a pose
has it, the cosine of that angle is linear in the square of the inner pivot's distance from the axis
(`geometry.transmission`), which is a parabola along the rack: so three rack travels bound it over
all of them.  A pose whose rod and arm stay `SURE_ANGLE` clear of one line that way, on the side
where they were measured, belongs to the measured assembly; every other one is walked to.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.linkages import Axle, Linkage, LinkSet
from geometry.linkages.closure import Closure, rod_closure
from geometry.newton import Jumped, joined_pose, led_pose
from geometry.poses import Rod, Rows
from geometry.transmission import rod_arm_cosine
from geometry.vectors import Array, cross, dot, norm, unit
from geometry.virtual_axis import measured_axis

SURE_ANGLE = float(np.radians(15.0))  # from one line; more than an axis moves along a rack [rad]
SURE_ABOUT_KINGPIN = float(np.radians(5.0))  # the same, about an axis that is one [rad]


@dataclass(frozen=True)
class Side:
    """Sense (...) in which a rod turns its arm, `sign`, and whether both are clear of one line."""

    sign: Array
    clear: NDArray[np.bool_]

    @staticmethod
    def of(
        point: Array, axis: Array, outer: Array, inner: Array, sure: float = SURE_ANGLE
    ) -> "Side":
        """Side of a rod between two pivots, (..., 3) each, on an arm about a unit axis."""
        cosine = rod_arm_cosine(point, axis, outer, inner, norm(outer - inner))
        clear = np.abs(cosine) <= np.cos(sure)
        return Side(np.sign(dot(axis, cross(inner - point, outer - point))), clear)

    @staticmethod
    def measured(linkage: Linkage, rod: Rod) -> "Side":
        """Side at the measured pose, straight ahead."""
        axis = measured_axis(linkage)
        along = unit(axis.upper_measured - axis.lower_measured)
        return Side.of(axis.lower_measured, along, rod.outer, rod.inner_straight)

    def taken(self, rows: Rows, shape: tuple[int, ...]) -> "Side":
        """Sides of some of the linkages, their leading axes broadcast to `shape`."""
        sign, clear = np.broadcast_to(self.sign, shape), np.broadcast_to(self.clear, shape)
        return Side(sign[rows], clear[rows])

    def same(self, other: "Side") -> NDArray[np.bool_]:
        """Whether both are surely on one side."""
        kept: NDArray[np.bool_] = self.clear & other.clear & (self.sign == other.sign)
        return kept


def stays_clear(
    point: Array, axis: Array, outer: Array, rod: Rod, sure: float = SURE_ANGLE
) -> NDArray[np.bool_]:
    """Whether rod and arm keep clear of one line, the rack led from straight ahead to its place.

    Parameters
    ----------
    point, axis : (..., 3) float array
        A point of the steering axis where it now is [mm], and its unit direction.
    outer : (..., 3) float array
        Outer pivot where it now is. [mm]
    rod : Rod
        Its inner pivot says where the rack is, and where straight ahead is.
    sure : float
        Angle from one line that counts as clear. [rad]

    Returns
    -------
    (...) bool array
        False also where there is no axis.
    """
    places = [rod.inner]
    if rod.straight is not None:
        places += [rod.straight, _nearest(point, axis, rod)]
    most = np.cos(sure)
    clear = [np.abs(rod_arm_cosine(point, axis, outer, x, rod.length)) <= most for x in places]
    kept: NDArray[np.bool_] = np.logical_and.reduce(clear)
    return kept


def _nearest(point: Array, axis: Array, rod: Rod) -> Array:
    """The inner pivot's place nearest to an axis on its way from straight ahead, (..., 3). [mm]"""
    way = rod.inner - rod.inner_straight
    across = way - dot(way, axis)[..., None] * axis
    square = dot(across, across)
    back = dot(point - rod.inner_straight, across)
    share = np.clip(back / np.where(square == 0.0, np.inf, square), 0.0, 1.0)
    place: Array = rod.inner_straight + share[..., None] * way
    return place


@dataclass(frozen=True)
class Way:
    """The way of linkages (...) to poses: closures where it turns, and how long its parts are.

    From `start`, at ride height straight ahead, `rack` long to `steered`, still at ride height, and
    `rise` long to `end`. [mm]
    """

    start: Closure
    steered: Closure
    end: Closure
    rack: Array
    rise: Array

    @staticmethod
    def of(linkage: LinkSet | Axle, travel: Array, rod: Rod) -> "Way":
        """Way to the poses of `geometry.motion.rod_motion`."""
        ride, straight = np.asarray(rod.ride_height), rod.inner_straight
        places = [
            rod_closure(linkage, height, inner, rod.outer, rod.length)
            for height, inner in ((ride, straight), (ride, rod.inner), (travel, rod.inner))
        ]
        shape = np.broadcast_shapes((1,), *(part.measured.center.shape[:-1] for part in places))
        rack, rise = norm(rod.inner - straight), np.abs(travel - ride)
        start, steered, end = (part.over(shape) for part in places)
        rack, rise = (np.broadcast_to(length, shape) for length in (rack, rise))
        return Way(start, steered, end, rack, rise)

    @property
    def shape(self) -> tuple[int, ...]:
        """Leading axes, at least one."""
        return self.rack.shape

    def led(self, rows: Rows) -> Jumped:
        """Lead some of the linkages from the measured pose to the end, (P,) each."""
        start, steered = self.start.taken(rows), self.steered.taken(rows)
        pose, arrived = joined_pose(start, start.measured)
        legs = ((start, steered, self.rack), (steered, self.end.taken(rows), self.rise))
        for first, last, length in legs:
            going = np.flatnonzero(arrived)
            there, sound = led_pose(
                first.taken(going), last.taken(going), pose.taken(going), length[rows][going]
            )
            pose.put(going, there)
            arrived[going] = sound
        return pose, arrived
