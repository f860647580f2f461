"""Many ride heights of one car: toe-held poses from one solve, exact poses in one batch.

A ride height only shifts the travel of the same linkage, so the poses of all heights come from one
call; nothing in them depends on what is fitted, so every kit shares them.
"""

import dataclasses

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.motion import Reach, toe_held_motion
from geometry.toe_held import ToeHeldPoses, toe_held_poses
from geometry.vectors import Array, norm, turned
from geometry.wheel_angles import camber_angle, caster_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows, Settings
from optimizer.models.case import Case


class RideHeights(Struct, frozen=True):
    """One car at L ride heights, `evaluators` one each; `lowered_by` is (L,). [mm]."""

    lowered_by: Array
    evaluators: list[Evaluator]

    @staticmethod
    def of(case: Case, lowered_by: Array) -> "RideHeights":
        """Solve the toe-held poses over the used travel about each ride height, (L,). [mm]."""
        first = Evaluator.of(case)
        families = {
            choice: _poses_by_height(first, lowered_by, choice)
            for choice in range(len(case.linkage_choices))
        }
        evaluators = [
            Evaluator(
                case_at(first.case, float(height)),
                first.corner,
                first.travel,
                {choice: poses[place] for choice, poses in families.items()},
            )
            for place, height in enumerate(lowered_by)
        ]
        return RideHeights(lowered_by, evaluators)

    @property
    def case(self) -> Case:
        """The case, at the first of the heights."""
        return self.evaluators[0].case

    def some(self, places: Rows) -> "RideHeights":
        """Pick some of the heights."""
        return RideHeights(self.lowered_by[places], [self.evaluators[k] for k in places])

    def assembled(self) -> NDArray[np.bool_]:
        """Whether the arms can be joined over the used travel, (L, C) with each of C linkages."""
        choices = range(len(self.case.linkage_choices))
        return np.array(
            [
                [bool(np.isfinite(one.poses(choice).translation).all()) for choice in choices]
                for one in self.evaluators
            ]
        )

    def rod_length(self, places: Rows, settings: Settings) -> Array:
        """Rod length that gives the static toe, each setting at a height of its own, (M,). [mm].

        `places` (M,) says at which of the heights.
        """
        outer, inner = self.evaluators[0].corner.pivots(settings)
        length = np.empty(len(settings))
        for choice in np.unique(settings.linkage).tolist():
            rows = np.flatnonzero(settings.linkage == choice)
            poses = [one.poses(choice) for one in self.evaluators]
            rotation = np.array([pose.rotation[pose.home] for pose in poses])[places[rows]]
            translation = np.array([pose.translation[pose.home] for pose in poses])[places[rows]]
            length[rows] = norm(turned(rotation, outer[rows]) + translation - inner[rows])
        return length

    def ride_angles(self, choice: int) -> tuple[Array, Array]:
        """Camber and caster with static toe and a choice of the linkage, (L,); NaN out of reach.

        [rad]
        """
        first = self.evaluators[0]
        corner, toe = first.corner, np.full(self.lowered_by.shape, first.static_toe)
        motion = toe_held_motion(corner.linkage(choice), self.lowered_by, corner.spin, toe)
        lost = motion.reach != Reach.REACHED
        camber = camber_angle(turned(motion.rotation, corner.spin))
        caster = caster_angle(motion.steering_axis)
        return np.where(lost, np.nan, camber), np.where(lost, np.nan, caster)

    def standing(self, case: Case, places: Rows, settings: Settings) -> "Standing":
        """Evaluator of settings that each stand at a height of their own, by the case's limits."""
        first = self.evaluators[0]
        return Standing(
            case,
            first.corner,
            first.travel,
            {},
            self.lowered_by[places],
            self.rod_length(places, settings),
        )


class Standing(Evaluator, frozen=True):
    """Evaluator of M settings, each at a ride height of its own, for what the exact poses tell.

    `chassis` (M,) is how much lower each stands, `length` (M,) its rod length. [mm]
    """

    chassis: Array
    length: Array

    def standing_as(self, rows: Rows) -> "Standing":
        """Evaluator of some of the settings."""
        return replace(self, chassis=self.chassis[rows], length=self.length[rows])

    @property
    def lowered_by(self) -> Array:
        """How much lower the chassis sits than when measured, (M, 1). [mm]."""
        return self.chassis[:, None]

    def rod_length(self, settings: Settings) -> Array:
        """Rod length of the settings that it was made for, (M,). [mm]."""
        return self.length


def case_at(case: Case, lowered_by: float) -> Case:
    """Make the case of the same car at another ride height. [mm]."""
    ride = case.ride.model_copy(update={"lowered_by": lowered_by})
    return case.model_copy(update={"ride": ride})


def _poses_by_height(evaluator: Evaluator, lowered_by: Array, choice: int) -> list[ToeHeldPoses]:
    """Toe-held poses about each height, cut from one solve in the order of wheel travel."""
    rise = (lowered_by[:, None] + evaluator.travel).ravel()
    toe = np.tile(evaluator.static_toe + evaluator.wanted, lowered_by.size)
    order = np.argsort(rise, kind="stable")
    solved = toe_held_poses(
        evaluator.corner.linkage(choice), rise[order], evaluator.corner.spin, toe[order], 0
    )
    rows = np.argsort(order, kind="stable").reshape(lowered_by.size, -1)
    return [
        dataclasses.replace(
            solved,
            travel=rise[order][row],
            toe=toe[order][row],
            home=evaluator.home,
            rotation=solved.rotation[row],
            translation=solved.translation[row],
            family=solved.family[..., row],
        )
        for row in rows
    ]
