"""What a setting changes beside the toe curve, against the car as it is."""

import numpy as np

from geometry.linkages import DoubleWishbone, Strut
from geometry.side_effects import (
    RATE_TRAVEL,
    ackermann_angle,
    front_view_angle,
    ground_offsets,
    instant_center,
    roll_center_height,
)
from geometry.steering import turn_toe_out
from geometry.toe_curve import toe_change
from geometry.vectors import Array, dot, unit
from geometry.wheel_angles import camber_angle, caster_angle, kingpin_inclination
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.car.gradients import gradients
from optimizer.car.looked_at import BUMP, DROOP, HOME, Places, Wheel, or_none, pair
from optimizer.car.wanted import wanted_change
from optimizer.models.case import Case
from optimizer.models.side_effects import (
    BeforeAfter,
    SideEffects,
    SteeredCurve,
    Turn,
    TurnAngles,
)


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
    places = Places.of(evaluator)
    motion = evaluator.motion(settings, places.travel, places.rack_travel)
    wheel = Wheel.seen(evaluator, settings, motion)
    rate = np.abs(np.degrees(evaluator.steer_rate(settings)))
    if not evaluator.case.words.steers:
        rate = np.full(rate.shape, np.nan)
    return SideEffects(
        **_wheel_figures(wheel),
        **_front_view(evaluator, settings, wheel),
        **gradients(evaluator, settings, wheel),
        steer_rate_deg_per_mm=pair(rate),
        steer_rate_change_percent=or_none(100.0 * (rate[-1] / rate[0] - 1.0))
        if len(rate) > 1
        else None,
        steered=_steered_curves(evaluator, places, wheel.toe),
        turn_toe_out=_turns(evaluator.case, places, wheel),
    )


def _wheel_figures(wheel: Wheel) -> dict[str, BeforeAfter]:
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
    return {name: pair(values) for name, values in figures.items()}


def _front_view(evaluator: Evaluator, settings: Settings, wheel: Wheel) -> dict[str, BeforeAfter]:
    near = slice(0, RATE_TRAVEL.size)
    contact = wheel.contact[:, HOME]
    track = evaluator.case.car.track
    half_track = contact[:, 1] if track is None else np.full(len(settings), 0.5 * track)
    center = instant_center(wheel.center[:, near], wheel.motion.rotation[:, near])
    roll_center = roll_center_height(wheel.contact[:, near], half_track)
    if evaluator.corner.on_beam:  # the beam carries both wheels about one center
        center = np.full_like(center, np.nan)
        roll_center = _beam_center_height(evaluator, settings) - contact[:, 2]
    outer, inner = evaluator.corner.pivots(settings)
    outer_now = wheel.motion.moved(outer[:, None, :])[:, HOME]
    figures = {
        "half_track_mm": half_track,
        "instant_center_inboard_mm": contact[:, 1] - center[:, 0],
        "instant_center_height_mm": center[:, 1] - contact[:, 2],
        "roll_center_height_mm": roll_center,
        "rod_angle_deg": np.degrees(front_view_angle(inner, outer_now)),
        "arm_angle_deg": _arm_angle_deg(evaluator, settings, wheel),
    }
    return {name: pair(values) for name, values in figures.items()}


def _beam_center_height(evaluator: Evaluator, settings: Settings) -> Array:
    """Height of the point about which a beam rolls under the frame, over both wheel centers. [mm].

    With the wheels moved opposite ways it is the point of the plane across the car, through the
    wheel center, that is at rest in that plane: there a side force tips the frame neither way.
    """
    beam = evaluator.rolling().motion(settings, RATE_TRAVEL).beam
    assert beam is not None
    wheel = beam.moved(evaluator.corner.points["wheel_center"])
    height: Array = instant_center(wheel, beam.rotation)[:, 1]
    return height


def _arm_angle_deg(evaluator: Evaluator, settings: Settings, wheel: Wheel) -> Array:
    """What the rod is held against in the front view.

    The lower arm, from the foot of its ball joint on the line of its pivots; on a beam axle the
    lateral link; NaN on links.
    """
    corner, linkage = evaluator.corner, evaluator.linkage(settings)
    if wheel.motion.beam is not None:
        inner, outer = corner.link(corner.lateral_link, settings.ball_joint_drop)
        now = wheel.motion.beam.moved(outer[:, None, :])[:, HOME]
        ends = (inner, now) if (now[0] - inner[0])[1] > 0.0 else (now, inner)
        return np.degrees(front_view_angle(*ends))
    if not isinstance(linkage, DoubleWishbone | Strut):
        return np.full(len(settings), np.nan)
    joint = wheel.axis_point[:, HOME]
    rear = linkage.lower_arm_rear
    along = unit(linkage.lower_arm_front - rear)
    foot = rear + dot(joint - rear, along)[..., None] * along
    return np.degrees(front_view_angle(foot, joint))


def _steered_curves(evaluator: Evaluator, places: Places, toe: Array) -> list[SteeredCurve]:
    travel = places.steered_travel
    curves = []
    for rack_travel, at_rack in zip(places.steered_at, places.steered(toe), strict=True):
        change = np.degrees(toe_change(travel, at_rack, wanted_change(evaluator.case.aim, travel)))
        rows = [[or_none(x) for x in row] for row in change]
        curves.append(
            SteeredCurve(
                rack_travel_mm=rack_travel,
                travel_mm=travel.tolist(),
                before_deg=rows[0],
                after_deg=rows[1] if len(rows) > 1 else None,
                peak_deg=pair(np.abs(change).max(axis=1)),
            )
        )
    return curves


def _turns(case: Case, places: Places, wheel: Wheel) -> list[Turn]:
    """Turns at the rack travels that are checked, and at the locks.

    To the left, and of a beam axle to the right too: its drag link moves both wheels through one
    arm, which turns them farther one way than the other.
    """
    straight = wheel.toe[:, HOME]
    one_way, other_way = places.turns(wheel.toe)
    if wheel.other_toe is None:
        return _turns_one_way(case, places.turns_at, straight, (one_way, other_way))
    aside = (straight - wheel.other_toe[:, HOME])[:, None]
    other_left, other_right = (toe + aside for toe in places.turns(wheel.other_toe))
    return [
        *_turns_one_way(case, places.turns_at, straight, (one_way, other_left)),
        *_turns_one_way(case, -places.turns_at, straight, (other_way, other_right)),
    ]


def _turns_one_way(
    case: Case, rack_travel: Array, straight: Array, toes: tuple[Array, Array]
) -> list[Turn]:
    """Turns at rack travels (K,) from the toe of M cars straight ahead, (M,), and in turns."""
    angles = [_turn_angles(case, *each) for each in zip(straight, *toes, strict=True)]
    return [
        Turn(
            rack_travel_mm=each,
            before=angles[0][k],
            after=angles[1][k] if len(angles) > 1 else None,
        )
        for k, each in enumerate(rack_travel.tolist())
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
            ackermann_toe_out_deg=or_none(row[3]),
        )
        if np.isfinite(row[:3]).all()
        else None
        for row in rows
    ]
