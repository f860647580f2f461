"""What a setting changes beside the toe curve, against the car as it is."""

from dataclasses import dataclass

import numpy as np

from geometry.linkages import LinkSet
from geometry.motion import Motion
from geometry.side_effects import (
    RATE_TRAVEL,
    ackermann_angle,
    axis_point,
    front_view_angle,
    ground_offsets,
    instant_center,
    roll_center_height,
    roll_steer_gradient,
    travel_rate,
)
from geometry.steering import turn_toe_out
from geometry.toe_curve import toe_change
from geometry.vectors import Array, dot, turned, unit
from geometry.wheel_angles import (
    camber_angle,
    caster_angle,
    contact_point,
    kingpin_inclination,
    toe_angle,
)
from optimizer.adjust import Settings, side_of
from optimizer.evaluate import Evaluator
from optimizer.models.case import Case
from optimizer.models.side_effects import (
    BeforeAfter,
    Gradient,
    SideEffects,
    SteeredCurve,
    Turn,
    TurnAngles,
)

HOME = RATE_TRAVEL.size // 2  # row of ride height among `_Places`
DROOP, BUMP = RATE_TRAVEL.size, RATE_TRAVEL.size + 1  # rows of the ends of the used travel
STEERED_EVERY = 2  # a steered curve takes every second height of the scored ones

RIDE_TOE = (
    "change of this wheel's toe, toe-in positive, per wheel travel, bump positive, both wheels "
    "moved together: the slope at ride height, not the range over the travel (SAE J1574)"
)
RIDE_STEER = (
    "ride steer gradient as ISO 23365:2022, 7.2.5, uses the words: the same with the sign of the "
    "steer angle, positive to the left (ISO 8855), so toe-in is negative on a left wheel"
)
ROLL_STEER = (
    "roll steer gradient as ISO 23365:2022, 7.2.13, uses the words: change of steer angle, "
    "positive to the left, per roll angle of the body, positive to the right, with the wheels "
    "moved opposite ways (roll angle = 2 x travel / track) and the slope taken at ride height "
    "(SAE J1574); toe-in in bump makes it positive"
)


@dataclass(frozen=True)
class _Places:
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
    def of(evaluator: Evaluator) -> "_Places":
        ride, steering = evaluator.case.ride, evaluator.case.steering
        lock = steering.rack_travel
        halfway = () if lock == 0.0 else (-0.5 * lock, 0.5 * lock)
        steered_at = halfway if steering.check_at is None else steering.check_at
        return _Places(
            (-ride.droop, ride.bump),
            evaluator.travel[evaluator.home % STEERED_EVERY :: STEERED_EVERY],
            steered_at,
            np.array(sorted({abs(x) for x in (*steered_at, lock)} - {0.0})),
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


@dataclass(frozen=True)
class _Wheel:
    """One wheel of one or two cars at P places, (M, P, ...).

    The first car is the one as it is, the second, if any, has number 1 fitted.
    """

    motion: Motion
    spin: Array
    center: Array
    contact: Array
    axis_point: Array

    @staticmethod
    def of(evaluator: Evaluator, settings: Settings, places: _Places) -> "_Wheel":
        motion = evaluator.motion(settings, places.travel, places.rack_travel)
        spin = turned(motion.rotation, evaluator.corner.spin)
        center = motion.moved(evaluator.corner.points["wheel_center"])
        contact = contact_point(center, spin, evaluator.case.wheel.tire_radius)
        point = axis_point(evaluator.linkage(settings), motion)
        return _Wheel(motion, spin, center, contact, point)


def side_effects(evaluator: Evaluator, settings: Settings) -> SideEffects:
    """Compare a setting with the car as it is.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        The car as it is, then what is to be fitted, if anything.

    Returns
    -------
    SideEffects
        At ride height with the static toe reset, where it doesn't say otherwise.
    """
    places = _Places.of(evaluator)
    wheel = _Wheel.of(evaluator, settings, places)
    toe = toe_angle(wheel.spin)
    rate = np.abs(np.degrees(evaluator.steer_rate(settings)))
    if not evaluator.case.words.steers:
        rate = np.full(rate.shape, np.nan)
    return SideEffects(
        **_wheel_figures(wheel),
        **_front_view(evaluator, settings, wheel),
        **_gradients(evaluator.case, toe),
        steer_rate_deg_per_mm=_pair(rate),
        steer_rate_change_percent=_or_none(100.0 * (rate[-1] / rate[0] - 1.0))
        if len(rate) > 1
        else None,
        steered=_steered_curves(evaluator, places, toe),
        turn_toe_out=_turns(evaluator.case, places, toe),
    )


def _wheel_figures(wheel: _Wheel) -> dict[str, BeforeAfter]:
    axis = wheel.motion.steering_axis
    camber = np.degrees(camber_angle(wheel.spin))
    scrub_radius, trail = ground_offsets(wheel.axis_point, axis, wheel.spin, wheel.contact)
    half_track = wheel.contact[..., 1]
    figures = {
        "camber_deg": camber[:, HOME],
        "caster_deg": np.degrees(caster_angle(axis[:, HOME])),
        "kingpin_inclination_deg": np.degrees(kingpin_inclination(axis[:, HOME])),
        "scrub_radius_mm": scrub_radius[:, HOME],
        "mechanical_trail_mm": trail[:, HOME],
    }
    for end, row in (("bump", BUMP), ("droop", DROOP)):
        figures[f"camber_change_in_{end}_deg"] = camber[:, row] - camber[:, HOME]
        figures[f"half_track_change_in_{end}_mm"] = half_track[:, row] - half_track[:, HOME]
    return {name: _pair(values) for name, values in figures.items()}


def _front_view(evaluator: Evaluator, settings: Settings, wheel: _Wheel) -> dict[str, BeforeAfter]:
    near = slice(0, RATE_TRAVEL.size)
    contact = wheel.contact[:, HOME]
    track = evaluator.case.car.track
    half_track = contact[:, 1] if track is None else np.full(len(settings), 0.5 * track)
    center = instant_center(wheel.center[:, near], wheel.motion.rotation[:, near])
    outer, inner = evaluator.corner.pivots(settings)
    outer_now = wheel.motion.moved(outer[:, None, :])[:, HOME]
    figures = {
        "half_track_mm": half_track,
        "instant_center_inboard_mm": contact[:, 1] - center[:, 0],
        "instant_center_height_mm": center[:, 1] - contact[:, 2],
        "roll_center_height_mm": roll_center_height(wheel.contact[:, near], half_track),
        "rod_angle_deg": np.degrees(front_view_angle(inner, outer_now)),
        "arm_angle_deg": _arm_angle_deg(evaluator, settings, wheel.axis_point[:, HOME]),
    }
    return {name: _pair(values) for name, values in figures.items()}


def _arm_angle_deg(evaluator: Evaluator, settings: Settings, joint: Array) -> Array:
    """Lower arm in the front view, from the foot of its ball joint on the line of its pivots."""
    linkage = evaluator.linkage(settings)
    if isinstance(linkage, LinkSet):
        return np.full(len(settings), np.nan)
    rear = linkage.lower_arm_rear
    along = unit(linkage.lower_arm_front - rear)
    foot = rear + dot(joint - rear, along)[..., None] * along
    return np.degrees(front_view_angle(foot, joint))


def _gradients(case: Case, toe: Array) -> dict[str, Gradient]:
    toe_rate = travel_rate(toe[:, : RATE_TRAVEL.size])
    to_the_left = -1.0 if side_of(case) == "left" else 1.0
    track = np.nan if case.car.track is None else case.car.track
    per_meter = 1000.0 * np.degrees(toe_rate)
    return {
        "ride_toe_gradient": _gradient(per_meter, "deg/m", RIDE_TOE),
        "ride_steer_gradient": _gradient(to_the_left * per_meter, "deg/m", RIDE_STEER),
        "roll_steer_gradient": _gradient(
            roll_steer_gradient(toe_rate, track), "deg/deg", ROLL_STEER
        ),
    }


def _steered_curves(evaluator: Evaluator, places: _Places, toe: Array) -> list[SteeredCurve]:
    travel = places.steered_travel
    curves = []
    for rack_travel, at_rack in zip(places.steered_at, places.steered(toe), strict=True):
        change = np.degrees(toe_change(travel, at_rack, evaluator.gain))
        rows = [[_or_none(x) for x in row] for row in change]
        curves.append(
            SteeredCurve(
                rack_travel_mm=rack_travel,
                travel_mm=travel.tolist(),
                before_deg=rows[0],
                after_deg=rows[1] if len(rows) > 1 else None,
                peak_deg=_pair(np.abs(change).max(axis=1)),
            )
        )
    return curves


def _turns(case: Case, places: _Places, toe: Array) -> list[Turn]:
    """Turn toe-out at the rack travels that are checked, and at the locks."""
    angles = [
        _turn_angles(case, straight, one_way, other_way)
        for straight, one_way, other_way in zip(toe[:, HOME], *places.turns(toe), strict=True)
    ]
    return [
        Turn(
            rack_travel_mm=rack_travel,
            before=angles[0][k],
            after=angles[1][k] if len(angles) > 1 else None,
        )
        for k, rack_travel in enumerate(places.turns_at.tolist())
    ]


def _turn_angles(
    case: Case, straight: float, one_way: Array, other_way: Array
) -> list[TurnAngles | None]:
    """Angles at K rack travels from toe straight ahead, moved one way, and the other, (K,)."""
    # Toe-in steers a left wheel to the right, so in that turn it is the outer one.
    outer = np.maximum(one_way, other_way) - straight
    out = turn_toe_out(np.asarray(straight), one_way, other_way)
    ideal = np.full(outer.shape, np.nan)
    if case.car.track is not None and case.car.wheelbase is not None:
        ideal = ackermann_angle(outer, case.car.track, case.car.wheelbase) - outer
    rows = np.degrees(np.stack([outer + out, outer, out, ideal], axis=1))
    return [
        TurnAngles(
            inner_deg=row[0],
            outer_deg=row[1],
            toe_out_deg=row[2],
            ackermann_toe_out_deg=_or_none(row[3]),
        )
        if np.isfinite(row[:3]).all()
        else None
        for row in rows
    ]


def _pair(values: Array) -> BeforeAfter:
    """Figures of one or two cars; None for what isn't there."""
    return BeforeAfter(
        before=_or_none(values[0]), after=_or_none(values[1]) if len(values) > 1 else None
    )


def _gradient(values: Array, unit_name: str, definition: str) -> Gradient:
    return Gradient(**_pair(values).model_dump(), unit=unit_name, definition=definition)


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
