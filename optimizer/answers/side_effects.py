"""What a setting changes beside the toe curve, against the car as it is."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct

from geometry.linkages import DoubleWishbone, Strut
from geometry.side_effects import (
    RATE_TRAVEL,
    ackermann_angle,
    front_view_angle,
    ground_offsets,
    instant_center,
    roll_center_height,
)
from geometry.toe_curve import toe_change
from geometry.vectors import Array, dot, unit
from geometry.wheel_angles import camber_angle, caster_angle, kingpin_inclination
from optimizer.car.evaluate import Evaluator
from optimizer.car.gradients import gradients
from optimizer.car.looked_at import BUMP, DROOP, HOME, Places, Wheel, or_none, pair
from optimizer.car.settings import Settings
from optimizer.car.wanted import wanted_change
from optimizer.models.case import Case
from optimizer.models.side_effects import (
    BeforeAfter,
    SideEffects,
    SteeredCurve,
    Turn,
    TurnAngles,
)


def side_effects(
    evaluators: Sequence[Evaluator], settings: Sequence[Settings]
) -> list[SideEffects]:
    """Compare what is fitted with the car as it is, for each wheel.

    Parameters
    ----------
    evaluators : sequence of Evaluator
        Of one wheel, or of both.
    settings : sequence of Settings
        For each of them the car as it is, then what is to be fitted, if anything.

    Returns
    -------
    list of SideEffects
        At ride height with the static toe reset, where it doesn't say otherwise.  Where both wheels
        are there, a turn that a wheel is the inner one of has the other as its outer one.
    """
    seen = [_Seen.of(*of_wheel) for of_wheel in zip(evaluators, settings, strict=True)]
    return [one.effects(other) for one, other in zip(seen, seen[::-1], strict=True)]


def side_effects_between(
    before: tuple[Sequence[Evaluator], Sequence[Settings]],
    after: tuple[Sequence[Evaluator], Sequence[Settings]],
) -> list[SideEffects]:
    """The same with the car as it is and what is fitted each by an evaluator of its own.

    So it is wherever the wheel is aligned anew, or its pivot is a custom one.  Takes a setting for
    each wheel, before and after.
    """
    pairs = zip(side_effects(*before), side_effects(*after), strict=True)
    return [_joined(now, then) for now, then in pairs]


def _joined(now: SideEffects, then: SideEffects) -> SideEffects:
    """Figures of two cars, each told as the car as it is."""
    figures: dict[str, object] = {
        name: figure.model_copy(update={"after": getattr(then, name).before})
        for name in SideEffects.model_fields
        if isinstance(figure := getattr(now, name), BeforeAfter)
    }
    rates = now.steer_rate_deg_per_mm.before, then.steer_rate_deg_per_mm.before
    figures["steer_rate_change_percent"] = _faster(np.array(rates, dtype=np.float64))
    figures["steered"] = [
        one.model_copy(
            update={
                "after_deg": other.before_deg,
                "peak_deg": BeforeAfter(before=one.peak_deg.before, after=other.peak_deg.before),
            }
        )
        for one, other in zip(now.steered, then.steered, strict=True)
    ]
    figures["turn_toe_out"] = [
        one.model_copy(update={"after": other.before})
        for one, other in zip(now.turn_toe_out, then.turn_toe_out, strict=True)
    ]
    return now.model_copy(update=figures)


class _Seen(Struct, frozen=True):
    """One wheel of one car or two, seen at all of its places."""

    evaluator: Evaluator
    settings: Settings
    places: Places
    wheel: Wheel

    @staticmethod
    def of(evaluator: Evaluator, settings: Settings) -> "_Seen":
        places = Places.of(evaluator)
        motion = evaluator.motion(settings, places.travel, places.rack_travel)
        return _Seen(evaluator, settings, places, Wheel.seen(evaluator, settings, motion))

    def effects(self, other: "_Seen") -> SideEffects:
        """What is changed at this wheel; `other` is it itself where one wheel was measured."""
        evaluator, settings, wheel = self.evaluator, self.settings, self.wheel
        rate = np.abs(np.degrees(evaluator.steer_rate(settings)))
        if not evaluator.case.words.steers:
            rate = np.full(rate.shape, np.nan)
        return SideEffects(
            **_wheel_figures(wheel),
            **_front_view(evaluator, settings, wheel),
            **gradients(evaluator, settings, wheel),
            steer_rate_deg_per_mm=pair(rate),
            steer_rate_change_percent=_faster(rate) if len(rate) > 1 else None,
            steered=_steered_curves(evaluator, self.places, wheel.toe),
            turn_toe_out=self._turns(other),
        )

    def _turns(self, other: "_Seen") -> list[Turn]:
        """Turns at the rack travels that are checked, and at the locks.

        To this wheel's side, and of a beam axle to both: its drag link moves both wheels through
        one arm, which turns them farther one way than the other.
        """
        case, rack = self.evaluator.case, self.places.turns_at
        if self.wheel.other_toe is None:
            inner = -np.minimum(*self._turned(self.wheel.toe))
            outer = np.maximum(*other._turned(other.wheel.toe))
            return _turns_at(case, rack, inner, outer)
        this, that = self._turned(self.wheel.toe), self._turned(self.wheel.other_toe)
        return [
            turn
            for at, one, two in zip((rack, -rack), this, that, strict=True)
            for turn in _turns_at(case, at, -np.minimum(one, two), np.maximum(one, two))
        ]

    def _turned(self, toe: Array) -> tuple[Array, Array]:
        """Toe with the rack moved one way and the other, from straight ahead, (M, K) each.

        Toe-in steers a left wheel to the right, so in that turn it is the outer one.
        """
        one_way, other_way = self.places.turns(toe)
        straight = toe[:, HOME, None]
        return one_way - straight, other_way - straight


def _faster(rate: Array) -> float | None:
    """By how much the second of two rates of steering is more than the first. [%]."""
    return or_none(100.0 * (rate[-1] / rate[0] - 1.0))


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
        "rod_angle_deg": _rod_angle_deg(inner, outer_now),
        "arm_angle_deg": _arm_angle_deg(evaluator, settings, wheel),
    }
    return {name: pair(values) for name, values in figures.items()}


def _rod_angle_deg(inner: Array, outer: Array) -> Array:
    """Angle of a rod in the front view, (M,); NaN for one that runs more along the car. [deg]."""
    along, across, _ = np.abs(outer - inner).T
    return np.where(along > across, np.nan, np.degrees(front_view_angle(inner, outer)))


def _beam_center_height(evaluator: Evaluator, settings: Settings) -> Array:
    """Height of the point about which a beam rolls under the frame, over both wheel centers. [mm].

    With the wheels moved opposite ways it is the point of the plane across the car, through the
    wheel center, that is at rest in that plane: there a side force tips the frame neither way.
    """
    beam = evaluator.rolled(settings, RATE_TRAVEL).beam
    assert beam is not None
    wheel = beam.moved(evaluator.corner.points["wheel_center"])
    height: Array = instant_center(wheel, beam.rotation)[:, 1]
    return height


def _arm_angle_deg(evaluator: Evaluator, settings: Settings, wheel: Wheel) -> Array:
    """What the rod is held against in the front view.

    The lower arm, from the foot of its ball joint on the line of its pivots; on a beam axle the
    lateral link; NaN on links and leaf springs.
    """
    corner, linkage = evaluator.corner, evaluator.linkage(settings)
    if wheel.motion.beam is not None and not corner.on_leaves:
        inner, outer = corner.link(corner.lateral_link, settings.linkage)
        now = wheel.motion.beam.moved(outer[:, None, :])[:, HOME]
        ends = (inner, now) if (now[0] - inner[0])[1] > 0.0 else (now, inner)
        return np.degrees(front_view_angle(*ends))
    if not isinstance(linkage, DoubleWishbone | Strut):
        return np.full(len(settings), np.nan)
    joint = wheel.axis_point[:, HOME]
    front, rear, _ = corner.arm(settings.linkage).values()
    along = unit(front - rear)
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


def _turns_at(case: Case, rack_travel: Array, inner: Array, outer: Array) -> list[Turn]:
    """Turns at rack travels (K,) by the angles of inner and outer wheel of M cars, (M, K)."""
    angles = [_turn_angles(case, *each) for each in zip(inner, outer, strict=True)]
    return [
        Turn(
            rack_travel_mm=each,
            before=angles[0][k],
            after=angles[1][k] if len(angles) > 1 else None,
        )
        for k, each in enumerate(rack_travel.tolist())
    ]


def _turn_angles(case: Case, inner: Array, outer: Array) -> list[TurnAngles | None]:
    ideal = np.full(outer.shape, np.nan)
    if case.car.track is not None and case.car.wheelbase is not None:
        ideal = ackermann_angle(outer, case.car.track, case.car.wheelbase) - outer
    rows = np.degrees(np.stack([inner, outer, inner - outer, ideal], axis=1))
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
