"""Toe, camber, caster and their companions against wheel travel, before and after any change."""

import numpy as np

from geometry.motion import REASONS, Reach
from geometry.side_effects import ground_offsets
from geometry.toe_curve import toe_change
from geometry.vectors import Array, norm
from geometry.wheel_angles import (
    camber_angle,
    caster_angle,
    kingpin_inclination,
)
from optimizer.answers.alignment_effect import alignment_effect
from optimizer.car.adjust import Settings, side_of
from optimizer.car.evaluate import Evaluator, stepped_travel
from optimizer.car.looked_at import Wheel
from optimizer.car.subject import subject_of
from optimizer.car.wanted import band_verdict
from optimizer.errors import PivotwrightError
from optimizer.limits.tilts import joint_tilts
from optimizer.models.case import Case
from optimizer.models.curve import CurveRequest
from optimizer.models.result import CurveResult
from optimizer.units import length_text


def curve(case: Case, request: CurveRequest | None = None) -> CurveResult:
    """Follow the wheel through its travel.

    Parameters
    ----------
    case : Case
        The car.
    request : CurveRequest, optional
        What to fit, where to stand, how to step; the car as it is if left out.

    Returns
    -------
    CurveResult
        None where the linkage cannot reach a height, with a sentence in the notes.

    Raises
    ------
    PivotwrightError
        Rack travel is asked for on a rear axle.
    """
    asked = CurveRequest() if request is None else request
    if asked.rack_travel and not case.words.steers:
        raise PivotwrightError(
            "rack travel must be left out on a rear axle: a rear wheel has no lock"
        )
    ride = case.ride.model_copy(
        update={
            name: value
            for name in ("lowered_by", "bump", "droop")
            if (value := getattr(asked, name)) is not None
        }
    )
    case, alignment = alignment_effect(case.model_copy(update={"ride": ride}))
    travel = stepped_travel(ride.bump, ride.droop, asked.step)
    evaluator = Evaluator.of(case, travel)
    if asked.opposite:
        evaluator = evaluator.rolling()
    settings = Settings.single(asked.outer_drop, asked.rack_raise, case.linkage_choices[0])
    measured = norm(evaluator.corner.outer_seat - evaluator.corner.inner)
    length = measured[None] if asked.keep_rod_length else evaluator.rod_length(settings)
    followed = _followed(case, evaluator, settings, length, asked.rack_travel)
    return followed.model_copy(update={"alignment": alignment})


def _followed(
    case: Case, evaluator: Evaluator, settings: Settings, length: Array, rack_travel: float
) -> CurveResult:
    corner, travel = evaluator.corner, evaluator.travel
    rack = np.full(travel.shape, rack_travel)
    motion = evaluator.motion(settings, travel, rack, length)
    wheel = Wheel.seen(evaluator, settings, motion)
    spin, center, contact = wheel.spin, wheel.center, wheel.contact
    offsets = ground_offsets(wheel.axis_point, motion.steering_axis, spin, contact)
    outer_tilt, inner_tilt = joint_tilts(evaluator, settings, motion, rack, length)
    home = evaluator.home
    return CurveResult(
        subject=subject_of(case),
        side=side_of(case),
        travel_mm=travel.tolist(),
        toe_deg=_degrees(wheel.toe),
        camber_deg=_degrees(camber_angle(spin)),
        caster_deg=_degrees(caster_angle(motion.steering_axis)),
        kingpin_inclination_deg=_degrees(kingpin_inclination(motion.steering_axis)),
        scrub_radius_mm=_listed(offsets[0]),
        mechanical_trail_mm=_listed(offsets[1]),
        half_track_change_mm=_listed(contact[..., 1] - contact[:, home, None, 1]),
        wheel_center_x_change_mm=_listed(center[..., 0] - center[:, home, None, 0]),
        wheel_center_y_change_mm=_listed(center[..., 1] - center[:, home, None, 1]),
        outer_tilt_deg=_degrees(outer_tilt),
        inner_tilt_deg=_degrees(inner_tilt),
        tie_rod_length_change_mm=_listed(length - norm(corner.outer_seat - corner.inner))[0],
        other_wheel_toe_deg=None if wheel.other_toe is None else _degrees(wheel.other_toe),
        notes=_notes(case, travel, motion.reach[0]) + _band(evaluator, wheel.toe[0]),
    )


def _degrees(angle: Array) -> list[float | None]:
    return _listed(np.degrees(angle))


def _listed(values: Array) -> list[float | None]:
    return [float(x) if np.isfinite(x) else None for x in np.ravel(values)]


def _band(evaluator: Evaluator, toe: Array) -> list[str]:
    """Say whether a curve (T,) keeps the wanted band, where there is one."""
    case, travel = evaluator.case, evaluator.travel
    if case.aim.band is None:
        return []
    change = np.degrees(toe_change(travel, toe))
    return [f"The toe curve is {band_verdict(case.aim.band, travel, change, case.units).sentence}."]


def _notes(case: Case, travel: Array, reach: Array) -> list[str]:
    notes = []
    for code in (Reach.ARMS_END, Reach.ROD_ENDS):
        lost = travel[reach == code]
        if lost.size:
            heights = ", ".join(length_text(height, case.units) for height in lost)
            notes.append(
                f"No pose at travel {heights}: {REASONS[code].format(rod=case.words.rod)}."
            )
    return notes
