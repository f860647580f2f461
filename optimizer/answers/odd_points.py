"""What merely looks wrong among measured points: doubts, each with the key that it is about.

Ranges of the usual are common practice, no source; a value outside one is a doubt, never a fault.
"""

from collections.abc import Iterator

import numpy as np

from geometry.vectors import Array, norm, unit
from geometry.wheel_angles import caster_angle, kingpin_inclination
from optimizer.car.evaluate import Evaluator
from optimizer.models.case import Case
from optimizer.units import Units, short_length


def odd_points(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    """Places in the file and doubts about what stands there."""
    yield from _odd_places(case, evaluator)
    yield from _odd_arm(case, evaluator)
    yield from _odd_links(case, evaluator)
    yield from _odd_steering(case, evaluator)


def _axis_direction(evaluator: Evaluator) -> Array:
    axis = evaluator.corner.steering_axis
    return unit(axis.upper - axis.lower)


def measured_caster_deg(evaluator: Evaluator) -> float:
    """Caster as measured. [deg]."""
    return float(np.degrees(caster_angle(_axis_direction(evaluator))))


def measured_kingpin_deg(evaluator: Evaluator) -> float:
    """Kingpin inclination as measured. [deg]."""
    return float(np.degrees(kingpin_inclination(_axis_direction(evaluator))))


def _odd_arm(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    points, units = evaluator.corner.points, case.units
    if "lower_arm_front" not in points:
        return
    front, rear = points["lower_arm_front"], points["lower_arm_rear"]
    if front[0] <= rear[0]:
        yield (
            "points.lower_arm_front",
            f"lies behind lower_arm_rear (x = {_text(front[0], units)} and "
            f"{_text(rear[0], units)}); x is forward: are the two swapped?",
        )
    joint, center = points["lower_ball_joint"], points["wheel_center"]
    if joint[2] >= center[2]:
        yield (
            "points.lower_ball_joint",
            f"lies above the wheel center (z = {_text(joint[2], units)} and "
            f"{_text(center[2], units)}); is z up?",
        )
    if abs(center[0] - joint[0]) > 100.0:
        yield (
            "points.wheel_center",
            f"is {_text(abs(center[0] - joint[0]), units)} ahead of or behind lower_ball_joint; "
            "were x of both measured from one place?",
        )
    rod = float(norm(evaluator.corner.outer_seat - evaluator.corner.inner))
    reach = float(norm(joint - rear))
    if not 0.6 <= rod / reach <= 1.6:
        yield (
            "points.tie_rod_inner",
            f"makes a {case.words.rod} of {_text(rod, units)} beside a lower arm of "
            f"{_text(reach, units)}; they are usually alike",
        )


def _odd_links(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    corner, units = evaluator.corner, case.units
    if corner.on_beam:
        yield from _odd_axle(case, evaluator)
        return
    for number in corner.link_numbers:
        inner, outer = corner.link(number)
        span = outer - inner
        if span[1] < 0.0 and abs(span[1]) > abs(span[0]):
            yield (
                f"points.link_{number}_inner",
                f"lies outboard of link_{number}_outer (y = {_text(inner[1], units)} and "
                f"{_text(outer[1], units)}); are the two swapped?",
            )


def _odd_axle(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    corner = evaluator.corner
    spans = {k: np.abs(corner.link(k)[1] - corner.link(k)[0]) for k in corner.link_numbers}
    across = [k for k, span in spans.items() if span[1] > span[0]]
    if corner.lateral_link not in across:
        yield (
            "lateral_link.number",
            f"takes link {corner.lateral_link} for the lateral link, but it runs more along the "
            "car than across it; which link holds the axle sideways?",
        )
    axle = corner.points["wheel_center"][0]
    for number in (k for k in spans if k not in across):
        inner, outer = (end[0] for end in corner.link(number))
        if abs(inner - axle) < abs(outer - axle):
            yield (
                f"points.link_{number}_inner",
                f"lies nearer to the axle than link_{number}_outer (x = "
                f"{_text(inner, case.units)} and {_text(outer, case.units)}); inner is the end at "
                "the frame: are the two swapped?",
            )
    rod = np.abs(corner.outer_seat - corner.inner)
    if rod[0] > rod[1]:
        yield (
            "points.drag_link_inner",
            "makes a drag link that runs more along the car than across it: set "
            "steering.rack_axis to the pitman ball's way; what is said about rods too long or too "
            "short, and about lowering and raising, is meant for one that runs across",
        )


def _odd_places(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    points, units = evaluator.corner.points, case.units
    center = points["wheel_center"]
    joints = ["lower_ball_joint", "kingpin_lower"]
    if not evaluator.corner.on_beam:
        joints += [f"link_{k}_outer" for k in evaluator.corner.link_numbers]
    for joint in (name for name in joints if name in points):
        if center[1] <= points[joint][1]:
            yield (
                "points.wheel_center",
                f"lies inboard of {joint} (y = {_text(center[1], units)} and "
                f"{_text(points[joint][1], units)}); "
                "the wheel center is in the middle plane of the tire",
            )
    if "strut_axis" in points and points["strut_axis"][2] >= points["strut_top"][2]:
        yield (
            "points.strut_axis",
            f"lies above strut_top (z = {_text(points['strut_axis'][2], units)} and "
            f"{_text(points['strut_top'][2], units)}); strut_top is the top mount, strut_axis a "
            "point of the rod's line far below it: are the two swapped?",
        )
    radius = case.wheel.tire_radius
    if abs(center[2] - radius) > 0.15 * radius:
        yield (
            "points.wheel_center",
            f"is {_text(center[2], units)} up, but tire_radius is {_text(radius, units)}; "
            "only heights against each other matter, but was z measured from the ground?",
        )
    track = case.car.track
    if track is not None and abs(0.5 * track - center[1]) > 75.0:
        yield (
            "car.track",
            f"says {_text(track, units)}, but points.wheel_center lies "
            f"{_text(center[1], units)} from y = 0; "
            "is it that of this axle, and y = 0 the car's center line?",
        )
    for name, angle, low, high in (
        ("caster", measured_caster_deg(evaluator), -2.0, 15.0),
        ("kingpin inclination", measured_kingpin_deg(evaluator), 0.0, 25.0),
    ):
        if case.words.steers and not low <= angle <= high:
            yield "points", f"give a {name} of {angle:.1f} deg; {low:g} to {high:g} is usual"


def _odd_steering(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    corner, words = evaluator.corner, case.words
    found, place = ("ahead", "ahead of") if corner.arms_ahead else ("behind", "behind")
    if case.steering.arms is None:
        yield (
            "steering.arms",
            f"is not stated; the points put the {words.arm}s {place} the axle: state arms = "
            f'"{found}" if that is so',
        )
    elif case.steering.arms != found:
        yield (
            "steering.arms",
            f'says "{case.steering.arms}", but {case.points.rod}_outer lies {place} the '
            f"{words.axis}; every cure turns round with this: check the sign of x",
        )
    arm = corner.steering_arm
    if words.steers and not 70.0 <= arm <= 220.0:
        yield (
            f"points.{case.points.rod}_outer",
            f"makes a {words.arm} of {short_length(arm, case.units)}; "
            f"{short_length(70.0, case.units)} to {short_length(220.0, case.units)} is usual",
        )
    if abs(corner.rack_axis[1]) < 0.9:
        yield "steering.rack_axis", "is far from lying across the car; y is to the left"
    if corner.stud_axis[2] > 0.0:
        yield (
            "outer_pivot.stud_axis",
            "points up: a thicker stack would raise the pivot; is that how it is fitted?",
        )


def _text(length: float, units: Units) -> str:
    return short_length(float(length), units)
