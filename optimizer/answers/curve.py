"""Toe, camber, caster and their companions against wheel travel, before and after any change."""

import numpy as np

from geometry.side_effects import ground_offsets
from geometry.toe_curve import toe_change
from geometry.vectors import Array, norm
from geometry.wheel_angles import (
    camber_angle,
    caster_angle,
    iso_camber_angle,
    kingpin_inclination,
)
from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.comparison import compared
from optimizer.answers.settling import settling
from optimizer.car.alignment import alignment_of
from optimizer.car.diagnosis import drift_of
from optimizer.car.evaluate import Evaluator, stepped_travel
from optimizer.car.linkage import LISTED, refuse_missing_parts, with_linkage
from optimizer.car.looked_at import Wheel, listed
from optimizer.car.plausibility import ENDS, refuse_impossible
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.car.wanted import band_verdict
from optimizer.limits.tilts import joint_tilts
from optimizer.models.case import Case
from optimizer.models.curve import (
    CurveOf,
    CurveRequest,
    CurveResult,
    CurvesTogether,
    NoPose,
    WheelCurve,
)
from optimizer.models.pictures import WheelViews
from optimizer.models.setting import BandVerdict
from optimizer.models.vehicle import Vehicle
from optimizer.wording.faults import no_lock_at_the_rear


def curve(vehicle: Vehicle, request: CurveRequest | None = None) -> CurveResult:
    """Follow every wheel through its travel, together or, in roll, one up and the other down.

    Parameters
    ----------
    vehicle : Vehicle
        The wheels measured.
    request : CurveRequest, optional
        What to fit, where to stand, how to step; the car as it is if left out.

    Returns
    -------
    CurveResult
        None where the linkage cannot reach a height, with a note of it.  How the wheels compare is
        of the car as measured, whatever was asked for.

    Raises
    ------
    PivotwrightError
        The car can't be assembled at ride height; rack travel is asked for on a rear axle, an
        extension, plate or spacer where no lower arm is, a bracket where no lateral link is, a
        block or shackle where no leaf spring is, or a tilted rack where both wheels or its mounts
        are not known.
    """
    refuse_impossible(vehicle, used_travel=False)
    asked = CurveRequest() if request is None else request
    if asked.rack_travel and not vehicle.case.words.steers:
        raise no_lock_at_the_rear()
    refuse_missing_parts(vehicle, _linkage(asked))
    wheels = [_followed(case, asked, second=k > 0) for k, case in enumerate(vehicle.wheels)]
    return CurveResult(
        subject=subject_of(vehicle),
        setting=_setting(vehicle, asked),
        wheels=wheels,
        together=_together(wheels, opposite=asked.opposite) if vehicle.both_wheels else None,
        comparison=compared(vehicle) if vehicle.both_wheels else None,
    )


def _linkage(asked: CurveRequest) -> dict[str, float]:
    """What is asked for of the linkage itself. [mm]."""
    return {key: x for key in LISTED if (x := getattr(asked, key)) is not None}


def curve_views(vehicle: Vehicle, asked: CurveRequest) -> list[WheelViews]:
    """Linkage and limits of every wheel, with what was asked for fitted, at its height."""
    from optimizer.answers.pictures import views_of_wheels  # only pages draw

    cases = [_standing(case, asked, rolled=False) for case in vehicle.wheels]
    settings = [_asked_setting(asked, second=k > 0) for k in range(len(cases))]
    return views_of_wheels(cases, settings)


def _asked_setting(asked: CurveRequest, *, second: bool) -> Settings:
    drop = _right_drop(asked) if second else asked.outer_drop
    return Settings.single(drop, asked.rack_raise, 0, asked.rack_fore_aft)


def _right_drop(asked: CurveRequest) -> float:
    """Stack of the right wheel: its own, or that of both. [mm]."""
    return asked.outer_drop if asked.right_outer_drop is None else asked.right_outer_drop


def _setting(vehicle: Vehicle, asked: CurveRequest) -> CurveOf:
    standing = _standing(vehicle.case, asked, rolled=False)
    linkage = standing.linkage_choices[0].named
    return CurveOf(
        lowered_by_mm=standing.ride.lowered_by,
        outer_drop_mm=asked.outer_drop,
        right_outer_drop_mm=_right_drop(asked) if vehicle.both_wheels else None,
        rack_raise_mm=asked.rack_raise,
        rack_fore_aft_mm=asked.rack_fore_aft,
        **linkage,
        rack_travel_mm=asked.rack_travel,
        keep_rod_length=asked.keep_rod_length,
        opposite=asked.opposite,
    )


def _together(wheels: list[WheelCurve], *, opposite: bool) -> CurvesTogether:
    """Both curves at the left wheel's heights; in roll the right wheel's run the other way."""
    left, right = wheels
    order = -1 if opposite else 1
    pairs = list(zip(left.toe_deg, right.toe_deg[::order], strict=True))
    return CurvesTogether(
        right_travel_mm=right.travel_mm[::order],
        total_toe_deg=[None if a is None or b is None else a + b for a, b in pairs],
        toe_difference_deg=[None if a is None or b is None else a - b for a, b in pairs],
    )


def _followed(measured: Case, asked: CurveRequest, *, second: bool) -> WheelCurve:
    """Follow one wheel, the `second` one with what was asked for the right one."""
    own, rolled = measured.ride, second and asked.opposite
    used = (own.droop, own.bump) if rolled else (own.bump, own.droop)
    measured = _standing(measured, asked, rolled=rolled)
    case, alignment = alignment_of(measured)
    ride = case.ride
    standing = Evaluator.of(case, stepped_travel(ride.bump, ride.droop, asked.step))
    evaluator = standing.rolling() if asked.opposite else standing
    settings = _asked_setting(asked, second=second)
    corner, travel = evaluator.corner, evaluator.travel
    rod = norm(corner.outer_seat - corner.inner)
    length = rod[None] if asked.keep_rod_length else evaluator.rod_length(settings)
    rack = np.full(travel.shape, asked.rack_travel)
    motion = evaluator.motion(settings, travel, rack, length)
    wheel = Wheel.seen(evaluator, settings, motion)
    outer_tilt, inner_tilt = joint_tilts(evaluator, settings, motion, rack, length)
    return WheelCurve(
        side=case.side,
        travel_mm=travel.tolist(),
        **_degrees_by_name(wheel),
        **_lengths_by_name(wheel, evaluator.home),
        outer_tilt_deg=_degrees(outer_tilt),
        inner_tilt_deg=_degrees(inner_tilt),
        tie_rod_length_change_mm=listed(length - rod)[0],
        other_wheel_toe_deg=None if wheel.other_toe is None else _degrees(wheel.other_toe),
        alignment=alignment_effect(alignment, measured, Evaluator.of(case)),
        band=_band(evaluator, wheel.toe[0]),
        settling=None if asked.keep_rod_length else settling(evaluator, settings),
        drift=[] if asked.keep_rod_length else drift_of(standing, settings),
        notes=_notes(travel, motion.reach[0], used),
    )


def _standing(case: Case, asked: CurveRequest, *, rolled: bool) -> Case:
    """The case with height, travel and parts asked for; `rolled`, its bump is the droop."""
    ride = case.ride
    bump = ride.bump if asked.bump is None else asked.bump
    droop = ride.droop if asked.droop is None else asked.droop
    height = ride.lowered_by if asked.lowered_by is None else asked.lowered_by
    strokes = {"bump": droop, "droop": bump} if rolled else {"bump": bump, "droop": droop}
    asked_ride = ride.model_copy(update={"lowered_by": height, **strokes})
    return with_linkage(case.model_copy(update={"ride": asked_ride}), _linkage(asked))


def _degrees_by_name(wheel: Wheel) -> dict[str, list[float | None]]:
    axis = wheel.motion.steering_axis
    return {
        "toe_deg": _degrees(wheel.toe),
        "camber_deg": _degrees(camber_angle(wheel.spin)),
        "iso_camber_deg": _degrees(iso_camber_angle(wheel.spin)),
        "caster_deg": _degrees(caster_angle(axis)),
        "kingpin_inclination_deg": _degrees(kingpin_inclination(axis)),
    }


def _lengths_by_name(wheel: Wheel, home: int) -> dict[str, list[float | None]]:
    axis, center, contact = wheel.motion.steering_axis, wheel.center, wheel.contact
    scrub_radius, trail = ground_offsets(wheel.axis_point, axis, wheel.spin, contact)
    return {
        "scrub_radius_mm": listed(scrub_radius),
        "mechanical_trail_mm": listed(trail),
        "half_track_change_mm": listed(contact[..., 1] - contact[:, home, None, 1]),
        "wheel_center_x_change_mm": listed(center[..., 0] - center[:, home, None, 0]),
        "wheel_center_y_change_mm": listed(center[..., 1] - center[:, home, None, 1]),
    }


def _degrees(angle: Array) -> list[float | None]:
    return listed(np.degrees(angle))


def _band(evaluator: Evaluator, toe: Array) -> BandVerdict | None:
    """Whether a curve (T,) keeps the wanted band, where there is one."""
    band, travel = evaluator.case.aim.band, evaluator.travel
    if band is None:
        return None
    return band_verdict(band, travel, np.degrees(toe_change(travel, toe)))


def _notes(travel: Array, reach: Array, used_mm: tuple[float, float]) -> list[NoPose]:
    """Where the wheel can't be, apart for heights within and beyond the used bump and droop."""
    bump, droop = used_mm
    beyond = (travel > bump) | (travel < -droop)
    parts = [
        (tuple(travel[(reach == code) & (beyond == far)].tolist()), ends, used_mm if far else None)
        for code, ends in ENDS.items()
        for far in (False, True)
    ]
    return [
        NoPose(travel_mm=heights, ends=ends, used_mm=used)
        for heights, ends, used in parts
        if heights
    ]
