"""Settings to moved points: the only bridge from a case to geometry.

A case may describe a left or a right wheel; geometry sees left wheels only.  A right wheel is
mirrored here, and so is the sense of rack travel.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.linkages import (
    Axle,
    BeamAxle,
    DoubleWishbone,
    LeafAxle,
    Linkage,
    LinkSet,
    SteeringAxis,
    Strut,
)
from geometry.toe_held_cars import HeldWheels
from geometry.vectors import Array, cross, norm, unit
from geometry.virtual_axis import measured_axis
from geometry.wheel_angles import spin_axis
from optimizer.car.settings import Rows, Settings
from optimizer.models.case import Case
from optimizer.models.quantities import Triple

UP, AHEAD = np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0])
EYE, ARM, RACK = range(3)  # columns of `Corner.lowered`


class Corner(Struct, frozen=True):
    """One wheel's suspension as geometry sees it: a left wheel, as measured. [mm].

    `outer_seat` and `inner` are the tie rod's pivots, `spin`, `stud_axis`, `bolt_axis`, `rack_axis`
    and `drop_axis` unit vectors; `rack_axis` points the way of positive rack travel, `drop_axis`
    the way an extension moves the lower ball joint in the upright.  The rod's points are named
    after `rod`.  By place in `Case.linkage_choices`, `drops` (C,) move the lower ball joint in the
    upright, `lowered` (C, 3) the outer pivot along with it, the lower arm's inner pivots and the
    tie rod's, `brackets` (C, 2) raise the ends of a beam axle's lateral link, at the frame and at
    the axle, `springs` (C, 2) are lift blocks of leaf springs and how much longer their shackles,
    and `rack_slopes` (C,) how much the rack rises toward the wheel's side, per length
    across the car.  The wheels of an axle roll about the height `roll_about` above the measured
    pose, or rise alike where that is None.
    """

    points: dict[str, Array]
    outer_seat: Array
    inner: Array
    spin: Array
    stud_axis: Array
    bolt_axis: Array
    rack_axis: Array
    drop_axis: Array
    drops: Array
    lowered: Array
    brackets: Array
    springs: Array
    lateral_link: int
    rod: str
    rack_slopes: Array
    roll_about: Array | None = None

    @property
    def measured(self) -> dict[str, Array]:
        """Every point that a tape has measured, by its name in the case, the rod's last. [mm]."""
        rod = {f"{self.rod}_outer": self.outer_seat, f"{self.rod}_inner": self.inner}
        return self.points | rod

    def with_measured(self, places: Mapping[str, Array]) -> "Corner":
        """Make the same corner with its measured points elsewhere. [mm]."""
        return replace(
            self,
            points={name: places[name] for name in self.points},
            outer_seat=places[f"{self.rod}_outer"],
            inner=places[f"{self.rod}_inner"],
        )

    def linkage(self, choice: int | Rows = 0) -> Linkage:
        """Make the linkage with a choice of `Case.linkage_choices` fitted, by its place there."""
        if self.on_beam:
            return self._axle(choice)
        if "lower_ball_joint" not in self.points:
            return LinkSet.of(**self.points)
        kind = Strut if "strut_top" in self.points else DoubleWishbone
        drop, axis, points = np.asarray(self.drops[choice]), self.drop_axis, self.points
        if self.lowered[:, ARM].any():
            points = points | self.arm(choice)
            # The arm has gone down with its joint; the upright carries the joint where it did.
            axis = drop[..., None] * axis + self.lowered[choice][..., ARM, None] * UP
            drop = np.ones(drop.shape)
        return kind(**points, ball_joint_drop=drop, drop_axis=axis)

    def arm(self, choice: int | Rows) -> dict[str, Array]:
        """Lower arm as measured, where a choice of the linkage puts it, (..., 3) each. [mm]."""
        down = -self.lowered[choice][..., ARM, None] * UP
        names = ("lower_arm_front", "lower_arm_rear", "lower_ball_joint")
        return {name: self.points[name] + down for name in names}

    @property
    def measured_linkage(self) -> Linkage:
        """The linkage through the points as measured, whatever extends its ball joint later."""
        bare = replace(self, drops=np.zeros_like(self.drops), lowered=np.zeros_like(self.lowered))
        return bare.linkage()

    @property
    def on_beam(self) -> bool:
        """Whether a beam carries the wheel."""
        return "kingpin_lower" in self.points

    @property
    def link_numbers(self) -> list[int]:
        """Numbers of the links, none on arms."""
        return [int(name.split("_")[1]) for name in self.points if name.endswith("_inner")]

    @property
    def on_leaves(self) -> bool:
        """Whether leaf springs carry that beam."""
        return "spring_eye" in self.points

    @property
    def rod_along_car(self) -> bool:
        """Whether the rod runs more along the car than across it, as measured."""
        along, across, _ = np.abs(self.outer_seat - self.inner)
        return bool(along > across)

    def link(self, number: int, choice: int | Rows = 0) -> tuple[Array, Array]:
        """Inner and outer end of a link as measured, with a choice of brackets, (..., 3). [mm]."""
        inner, outer = (self.points[f"link_{number}_{end}"] for end in ("inner", "outer"))
        if number != self.lateral_link:
            return inner, outer
        raises = self.brackets[choice][..., None] * UP
        return inner + raises[..., 0, :], outer + raises[..., 1, :]

    def _axle(self, choice: int | Rows) -> Axle:
        if self.on_leaves:
            block, longer = np.moveaxis(self.springs[choice], -1, 0)
            return LeafAxle(
                **self.points, lift_block=block, shackle_longer=longer, roll_about=self.roll_about
            )
        inner, outer = self.link(self.lateral_link, choice)
        name = f"link_{self.lateral_link}"
        points = self.points | {f"{name}_inner": inner, f"{name}_outer": outer}
        return BeamAxle.of(self.roll_about, **points)

    def pivots(self, settings: Settings) -> tuple[Array, Array]:
        """Outer and inner pivot of each candidate at the measured pose, (M, 3) each. [mm]."""
        outer = self.outer_seat + settings.outer_drop[:, None] * self.stud_axis
        inner = self.inner + settings.rack_raise[:, None] * UP + settings.forward[:, None] * AHEAD
        if self.lowered.any():
            by = self.lowered[settings.linkage]
            outer, inner = outer + by[:, EYE, None] * self.drop_axis, inner - by[:, RACK, None] * UP
        if settings.outer_move is not None:
            outer = outer + settings.outer_move
        if settings.inner_move is not None:
            inner = inner + settings.inner_move
        return outer, inner

    def held(self, choice: int, heights: Array, toe: Array) -> HeldWheels:
        """The wheel, a toe [rad] held at heights above the measured pose [mm], (..., K) each."""
        linkage = self.linkage(choice)
        return HeldWheels(linkage, heights, toe, self.spin, self.outer_seat, self.inner)

    def rack_way(self, choice: int | Rows) -> Array:
        """Unit vector of positive rack travel, with a choice of the linkage, (..., 3)."""
        slope = np.asarray(self.rack_slopes[choice])[..., None]
        return (
            unit(self.rack_axis + slope * self.rack_axis[1] * UP) if slope.any() else self.rack_axis
        )

    def drop_along_stud(self, settings: Settings) -> Array:
        """Height that the stud must make up for, (M,): the stack, and a custom pivot's share. [mm].

        What of a custom pivot's move lies across the stud is not counted: a bracket that carries
        the pivot beside its stud is a part of its own.
        """
        if settings.outer_move is None:
            return settings.outer_drop
        drop: Array = settings.outer_drop + settings.outer_move @ self.stud_axis
        return drop

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
        return measured_axis(self.measured_linkage)

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


def mirror_of(case: Case) -> Array:
    """Signs that turn a vector of the case's wheel into one of a left wheel, (3,)."""
    return np.array([1.0, 1.0 if case.side == "left" else -1.0, 1.0])


def corner_of(case: Case) -> Corner:
    """Bring a case's points, mirrored to the left if need be, to geometry."""
    mirror = mirror_of(case)
    points = {
        name: np.array(point) * mirror
        for name, point in case.points.model_dump().items()
        if not name.startswith(case.points.rod)
    }
    stud_axis = unit(np.array(case.outer_pivot.stud_axis) * mirror)
    bolt, choices = case.joint.outer.bolt_axis, case.linkage_choices
    carried = float(case.crossmember.carries_rack)
    inner = np.array(case.points.rod_inner) * mirror
    slopes = np.array([case.rack.slope(one.rack_tilt) for one in choices]) * mirror[1]
    return Corner(
        points=points,
        outer_seat=np.array(case.points.rod_outer) * mirror,
        inner=inner,
        spin=spin_axis(np.radians(case.wheel.toe_deg), np.radians(case.wheel.camber_deg)),
        stud_axis=stud_axis,
        bolt_axis=stud_axis if bolt is None else unit(np.array(bolt) * mirror),
        rack_axis=unit(np.array(case.steering.rack_axis) * mirror),
        drop_axis=unit(np.array(case.lower_ball_joint.stud_axis) * mirror),
        drops=np.array([one.ball_joint_drop + one.knuckle_plate for one in choices]),
        lowered=np.array(
            [
                (
                    one.knuckle_plate,
                    one.crossmember_spacer,
                    one.crossmember_spacer * carried - slope * inner[1],
                )
                for one, slope in zip(choices, slopes, strict=True)
            ]
        ),
        brackets=np.array([[one.frame_bracket_raise, one.axle_bracket_raise] for one in choices]),
        springs=np.array([[one.lift_block, one.shackle_longer] for one in choices]),
        lateral_link=case.lateral_link.number or most_lateral_link(points),
        rod=case.points.rod,
        rack_slopes=slopes,
    )


def points_of(case: Case, corner: Corner) -> dict[str, Triple]:
    """Measured points as the case writes them, on its side of the car; undoes `corner_of`. [mm]."""
    placed = {name: point * mirror_of(case) for name, point in corner.measured.items()}
    return {name: (float(x), float(y), float(z)) for name, (x, y, z) in placed.items()}


def linkage_choice(case: Case, fitted: Mapping[str, Any]) -> int:
    """Place of the choice of `Case.linkage_choices` that fits what a result names."""
    return next(
        place
        for place, choice in enumerate(case.linkage_choices)
        if all(fitted[name] == length for name, length in choice.named.items())
    )


def most_lateral_link(points: dict[str, Array]) -> int:
    """Number of the link that lies most across the car; 0 where there are no links."""
    spans = {
        int(name.split("_")[1]): points[name.replace("_inner", "_outer")] - point
        for name, point in points.items()
        if name.endswith("_inner")
    }
    return max(spans, key=lambda k: abs(spans[k][1]) / float(norm(spans[k])), default=0)
