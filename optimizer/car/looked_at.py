"""Where a wheel is looked at to tell what a setting changes beside the toe curve."""

import numpy as np
from msgspec import Struct

from geometry.motion import Motion
from geometry.side_effects import RATE_TRAVEL, axis_point
from geometry.vectors import Array, turned
from geometry.wheel_angles import contact_point, toe_angle
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.models.case import Case
from optimizer.models.side_effects import BeforeAfter

HOME = RATE_TRAVEL.size // 2  # row of ride height among `Places`
DROOP, BUMP = RATE_TRAVEL.size, RATE_TRAVEL.size + 1  # rows of the ends of the used travel
MIRROR = np.array([1.0, -1.0, 1.0])
STEERED_EVERY = 2  # a steered curve takes every second height of the scored ones


def steered_at(case: Case) -> tuple[float, ...]:
    """Rack travels at which toe is told too: those of `check_at`, or halfway to both locks. [mm]"""
    lock = case.steering.rack_travel
    if case.steering.check_at is not None:
        return case.steering.check_at
    return () if lock == 0.0 else (-0.5 * lock, 0.5 * lock)


class Places(Struct, frozen=True):
    """Where the wheel is looked at, all in one go: one pose costs about as much as a hundred.

    In this order: `RATE_TRAVEL` and both ends of the used travel, straight ahead; the heights
    `steered_travel` at each rack travel of `steered_at`; ride height at `turns_at`, one way and
    the other. [mm]
    """

    ends: tuple[float, float]
    steered_travel: Array
    steered_at: tuple[float, ...]
    turns_at: Array

    @staticmethod
    def of(evaluator: Evaluator) -> "Places":
        """Choose the places for a case."""
        ride, lock = evaluator.case.ride, evaluator.case.steering.rack_travel
        off_center = steered_at(evaluator.case)
        return Places(
            (-ride.droop, ride.bump),
            evaluator.travel[evaluator.home % STEERED_EVERY :: STEERED_EVERY],
            off_center,
            np.array(sorted({abs(x) for x in (*off_center, lock)} - {0.0})),
        )

    @property
    def travel(self) -> Array:
        """Wheel travel at each place, (P,). [mm]"""
        steered = np.tile(self.steered_travel, len(self.steered_at))
        turns = np.zeros(2 * self.turns_at.size)
        return np.concatenate([RATE_TRAVEL, self.ends, steered, turns])

    @property
    def rack_travel(self) -> Array:
        """Rack travel at each place, (P,). [mm]"""
        steered = np.repeat(self.steered_at, self.steered_travel.size)
        straight = np.zeros(RATE_TRAVEL.size + len(self.ends))
        return np.concatenate([straight, steered, self.turns_at, -self.turns_at])

    def steered(self, values: Array) -> Array:
        """What was found along the steered curves, (M, P) to (S, M, T)."""
        start = RATE_TRAVEL.size + len(self.ends)
        shape = (len(values), len(self.steered_at), self.steered_travel.size)
        found = values[:, start : start + shape[1] * shape[2]].reshape(shape)
        return np.swapaxes(found, 0, 1)

    def turns(self, values: Array) -> tuple[Array, Array]:
        """What was found with the rack moved one way and the other, (M, P) to (M, K) each."""
        count = self.turns_at.size
        one_way, other_way = np.split(values[:, values.shape[1] - 2 * count :], 2, axis=1)
        return one_way, other_way


class Wheel(Struct, frozen=True):
    """One wheel of one or more cars at P places, (M, P, ...).

    `other_spin` is the spin axis of the wheel at the other end of a beam axle, mirrored to this
    side; None on other layouts.
    """

    motion: Motion
    spin: Array
    center: Array
    contact: Array
    axis_point: Array
    other_spin: Array | None

    @property
    def toe(self) -> Array:
        """Toe, positive toe-in. [rad]."""
        return toe_angle(self.spin)

    @property
    def other_toe(self) -> Array | None:
        """Toe of the wheel at the other end of a beam axle, positive toe-in. [rad]."""
        return None if self.other_spin is None else toe_angle(self.other_spin)

    @staticmethod
    def seen(evaluator: Evaluator, settings: Settings, motion: Motion) -> "Wheel":
        """See the wheel in the poses of M candidates."""
        corner, other = evaluator.corner, motion.other_wheel
        spin = turned(motion.rotation, corner.spin)
        center = motion.moved(corner.points["wheel_center"])
        return Wheel(
            motion,
            spin,
            center,
            contact_point(center, spin, evaluator.case.wheel.tire_radius),
            axis_point(evaluator.linkage(settings), motion),
            None if other is None else MIRROR * turned(other.rotation, MIRROR * corner.spin),
        )


def pair(values: Array) -> BeforeAfter:
    """Figures of one or two cars; None for what isn't there."""
    return BeforeAfter(
        before=or_none(values[0]), after=or_none(values[1]) if len(values) > 1 else None
    )


def or_none(value: float) -> float | None:
    """A figure as results give it: None where it doesn't exist."""
    return float(value) if np.isfinite(value) else None


def listed(values: Array) -> list[float | None]:
    """Figures of any shape as results give them, in a row."""
    return [or_none(value) for value in np.ravel(values)]
