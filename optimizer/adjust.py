"""Settings to moved points: the only bridge from a case to geometry.

A case may describe a left or a right wheel; geometry sees left wheels only.  A right wheel is
mirrored here, and so is the sense of rack travel.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.linkages import DoubleWishbone, Linkage, LinkSet, SteeringAxis, Strut
from geometry.vectors import Array, cross, norm, unit
from geometry.virtual_axis import measured_axis
from geometry.wheel_angles import spin_axis
from optimizer.models.case import Case
from optimizer.models.result import Side

Rows = NDArray[np.intp]

UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Settings:
    """What may be fitted, one row a candidate, each (M,). [mm].

    `outer_drop` moves the outer pivot along the stud axis from the standard seat, `rack_raise`
    lifts the inner pivot, `ball_joint_drop` extends the lower ball joint downward.  A custom pivot
    has moved on top of that by `outer_move` or `inner_move` (M, 3), for a left wheel.
    """

    outer_drop: Array
    rack_raise: Array
    ball_joint_drop: Array
    outer_move: Array | None = None
    inner_move: Array | None = None

    def __len__(self) -> int:
        """Count the candidates."""
        return len(self.outer_drop)

    def rows(self, which: Rows) -> "Settings":
        """Pick some of the candidates."""
        return Settings(
            self.outer_drop[which],
            self.rack_raise[which],
            self.ball_joint_drop[which],
            None if self.outer_move is None else self.outer_move[which],
            None if self.inner_move is None else self.inner_move[which],
        )

    @staticmethod
    def single(
        outer_drop: float = 0.0, rack_raise: float = 0.0, ball_joint_drop: float = 0.0
    ) -> "Settings":
        """Make a batch of one."""
        return Settings(np.array([outer_drop]), np.array([rack_raise]), np.array([ball_joint_drop]))


@dataclass(frozen=True)
class Corner:
    """One wheel's suspension as geometry sees it: a left wheel, as measured. [mm].

    `outer_seat` and `inner` are the tie rod's pivots, `spin`, `stud_axis`, `bolt_axis` and
    `rack_axis` unit vectors; `rack_axis` points the way of positive rack travel.
    """

    points: dict[str, Array]
    outer_seat: Array
    inner: Array
    spin: Array
    stud_axis: Array
    bolt_axis: Array
    rack_axis: Array

    def linkage(self, ball_joint_drop: float | Array = 0.0) -> Linkage:
        """Make the linkage, its lower ball joint, if any, moved down in the upright by so much."""
        if "lower_ball_joint" not in self.points:
            return LinkSet.of(**self.points)
        kind = Strut if "strut_top" in self.points else DoubleWishbone
        return kind(**self.points, ball_joint_drop=np.asarray(ball_joint_drop, dtype=float))

    def pivots(self, settings: Settings) -> tuple[Array, Array]:
        """Outer and inner pivot of each candidate at the measured pose, (M, 3) each. [mm]."""
        outer = self.outer_seat + settings.outer_drop[:, None] * self.stud_axis
        inner = self.inner + settings.rack_raise[:, None] * UP
        if settings.outer_move is not None:
            outer = outer + settings.outer_move
        if settings.inner_move is not None:
            inner = inner + settings.inner_move
        return outer, inner

    def row(self, k: int) -> "Corner":
        """Pick one car of a batch whose points are (N, 1, 3)."""
        return replace(
            self,
            points={name: point[k, 0] for name, point in self.points.items()},
            outer_seat=self.outer_seat[k, 0],
            inner=self.inner[k, 0],
        )

    @property
    def steering_axis(self) -> SteeringAxis:
        """Steering axis at the measured pose, on links the virtual one. [mm]."""
        return measured_axis(self.linkage())

    @property
    def steering_arm(self) -> float:
        """Distance of the outer pivot from the steering axis. [mm]."""
        axis = self.steering_axis
        along = unit(axis.upper - axis.lower)
        return float(norm(cross(along, self.outer_seat - axis.lower)))

    @property
    def arms_ahead(self) -> bool:
        """Whether the steering arm points ahead of the steering axis at the outer pivot."""
        axis = self.steering_axis
        span = axis.upper - axis.lower
        share = (self.outer_seat[2] - axis.lower[2]) / span[2]
        return bool(self.outer_seat[0] > axis.lower[0] + share * span[0])


def side_of(case: Case) -> Side:
    """Name the side of the car that the points lie on: "left" where y is positive."""
    return "left" if case.points.wheel_center[1] > 0.0 else "right"


def mirror_of(case: Case) -> Array:
    """Signs that turn a vector of the case's wheel into one of a left wheel, (3,)."""
    return np.array([1.0, 1.0 if side_of(case) == "left" else -1.0, 1.0])


def corner_of(case: Case) -> Corner:
    """Bring a case's points, mirrored to the left if need be, to geometry."""
    mirror = mirror_of(case)
    points = {
        name: np.array(point) * mirror
        for name, point in case.points.model_dump().items()
        if not name.startswith("tie_rod")
    }
    stud_axis = unit(np.array(case.outer_pivot.stud_axis) * mirror)
    bolt = case.joint.outer.bolt_axis
    return Corner(
        points=points,
        outer_seat=np.array(case.points.tie_rod_outer) * mirror,
        inner=np.array(case.points.tie_rod_inner) * mirror,
        spin=spin_axis(np.radians(case.wheel.toe_deg), np.radians(case.wheel.camber_deg)),
        stud_axis=stud_axis,
        bolt_axis=stud_axis if bolt is None else unit(np.array(bolt) * mirror),
        rack_axis=unit(np.array(case.steering.rack_axis) * mirror),
    )
