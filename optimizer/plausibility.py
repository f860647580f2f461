"""Whether a readable case can be a car: what is impossible, and what merely looks wrong.

Ranges of the usual are common practice, no source; a value outside one is a doubt, never a fault.
"""

from collections.abc import Iterator
from os import PathLike

import numpy as np

from geometry.motion import REASONS, Reach
from geometry.vectors import Array, norm, unit
from geometry.wheel_angles import caster_angle, kingpin_inclination
from optimizer.adjust import Settings
from optimizer.alignment import AlignmentError, aligned_case
from optimizer.alignment_effect import alignment_effect
from optimizer.curve import subject_of
from optimizer.described import band_verdicts
from optimizer.errors import CaseFileError, Fault
from optimizer.evaluate import Evaluator
from optimizer.gaps import gaps
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.case import Case
from optimizer.models.obstacles import Rim
from optimizer.models.result import CheckResult, Doubt
from optimizer.search.stacks import buildable_stacks
from optimizer.strength import grade_faults
from optimizer.tilts import tilt_limit_deg
from optimizer.units import MM_PER_INCH, Units, length_text, short_length

WHOLE_INCH = 0.001  # nearer to a whole inch than this, a rim's size looks like a nominal one [in]


def refuse_impossible(
    car: Case | BothSides, path: str | PathLike[str], *, used_travel: bool = True
) -> None:
    """Stop where the linkage can't be assembled, at ride height or over the used travel.

    So does a stud's grade that the tables don't have.

    Raises
    ------
    CaseFileError
        Names the key, what it says, and how far the linkage really goes.
    """
    if isinstance(car, Case):
        faults = list(_impossible(car, used_travel=used_travel))
    else:
        faults = _impossible_of_either(car, used_travel=used_travel)
    if faults:
        raise CaseFileError(path, faults)


def _impossible_of_either(car: BothSides, *, used_travel: bool) -> list[Fault]:
    """Faults of both wheels, those that they share once and the others with their wheel."""
    of_each = [list(_impossible(case, used_travel=used_travel)) for case in car.wheels]
    faults = []
    for side, found, others in zip(SIDES, of_each, of_each[::-1], strict=True):
        for fault in found:
            if fault.location == "points":
                faults.append(fault.inside(side))
            elif fault not in others:
                faults.append(Fault(fault.location, f"{fault.message}\n(on the {side} wheel)"))
            elif side == "left":
                faults.append(fault)
    return faults


def _impossible(case: Case, *, used_travel: bool) -> Iterator[Fault]:
    yield from grade_faults(case.stud, case.units)
    bare = case.model_copy(update={"alignment": None})
    if case.alignment is not None:
        out_of_reach = list(_out_of_reach(bare, used_travel=False))
        if out_of_reach:
            yield from out_of_reach
            return
        try:
            bare = aligned_case(case)
        except AlignmentError as error:
            yield error.fault
            return
    yield from _out_of_reach(bare, used_travel=used_travel)


def _out_of_reach(case: Case, *, used_travel: bool) -> Iterator[Fault]:
    evaluator = Evaluator.of(case)
    for drop in case.linkage_choices:
        as_is = Settings.single(ball_joint_drop=drop)
        reach = evaluator.motion(as_is, evaluator.travel).reach[0]
        if reach[evaluator.home] != Reach.REACHED:
            yield Fault(
                "points" if case.ride.lowered_by == 0.0 else "ride.lowered_by",
                "must leave a linkage that can be joined at ride height; there, "
                f"{REASONS[Reach(reach[evaluator.home])].format(rod=case.words.rod)}\n"
                "(measure the points again, or lower the car less)",
            )
            return
        if not used_travel:
            continue
        for key, sign in (("bump", 1.0), ("droop", -1.0)):
            stroke = evaluator.travel[sign * evaluator.travel > 0.0]
            lost = reach[sign * evaluator.travel > 0.0] != Reach.REACHED
            if lost.any():
                reached = float(np.abs(stroke[~lost]).max(initial=0.0))
                asked = float(getattr(case.ride, key))
                yield Fault(
                    f"ride.{key}",
                    f"must be travel that the linkage can reach, got "
                    f"{length_text(asked, case.units)}\n(it still reaches "
                    f"{short_length(reached, case.units)} there)",
                )
        if len(case.linkage_choices) == 1:
            break


def check(case: Case) -> CheckResult:
    """Say what a case amounts to, and what in it looks wrong."""
    alignment = alignment_effect(case)[1]
    evaluator = Evaluator.of(case.model_copy(update={"alignment": None}))
    return CheckResult(
        subject=subject_of(case),
        alignment=alignment,
        facts=dict(_facts(case, evaluator)),
        doubts=[Doubt(location=at, message=text) for at, text in _doubts(case, evaluator)],
    )


def _facts(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    corner, words = evaluator.corner, case.words
    arm, rod = corner.steering_arm, norm(corner.outer_seat - corner.inner)
    change = evaluator.toe_change(Settings.single(ball_joint_drop=case.linkage_choices[0]))
    yield f"{words.arm}s", "ahead of the axle" if corner.arms_ahead else "behind the axle"
    yield words.arm, f"{short_length(arm, case.units)} from the {words.axis}"
    yield words.rod, short_length(float(rod), case.units)
    if words.steers:
        yield "caster", f"{_caster_deg(evaluator):.2f} deg as measured"
        yield "kingpin inclination", f"{_kingpin_deg(evaluator):.2f} deg as measured"
    yield "toe change now", f"{np.degrees(np.abs(change).max()):.3f} deg peak over the used travel"
    for verdict in band_verdicts(evaluator, change):
        if verdict is not None:
            yield "wanted band", f"now {verdict.sentence}"
    stacks = buildable_stacks(case)
    yield "stacks that can be built", f"{len(stacks)}"
    yield f"{words.inner} spacers", f"{len(case.rack.spacers)}"


def _axis_direction(evaluator: Evaluator) -> Array:
    axis = evaluator.corner.steering_axis
    return unit(axis.upper - axis.lower)


def _caster_deg(evaluator: Evaluator) -> float:
    return float(np.degrees(caster_angle(_axis_direction(evaluator))))


def _kingpin_deg(evaluator: Evaluator) -> float:
    return float(np.degrees(kingpin_inclination(_axis_direction(evaluator))))


def _doubts(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    yield from _odd_points(case, evaluator)
    yield from _odd_arm(case, evaluator)
    yield from _odd_links(case, evaluator)
    yield from _odd_steering(case, evaluator)
    yield from _odd_aim(case)
    yield from _odd_limits(case, evaluator)
    yield from _odd_alignment(case)
    yield from _odd_obstacles(case, evaluator)


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
    rod = np.abs(corner.outer_seat - corner.inner)
    if rod[0] > rod[1]:
        yield (
            "points.drag_link_inner",
            "makes a drag link that runs more along the car than across it: set "
            "steering.rack_axis to the pitman ball's way; what is said about rods too long or too "
            "short, and about lowering and raising, is meant for one that runs across",
        )


def _odd_points(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
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
        ("caster", _caster_deg(evaluator), -2.0, 15.0),
        ("kingpin inclination", _kingpin_deg(evaluator), 0.0, 25.0),
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
            f'says "{case.steering.arms}", but {case.points.rod}_outer lies {found} the '
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


def _odd_aim(case: Case) -> Iterator[tuple[str, str]]:
    band = case.aim.band
    if band is None:
        if not case.words.steers and "toe_gain_deg_per_10mm" not in case.aim.model_fields_set:
            yield (
                "aim.toe_gain_deg_per_10mm",
                "is not stated, nor is a band, so no toe change at all is taken as wanted; at the "
                "rear a maker may mean some: is there a figure or a band of the maker's?",
            )
        return
    low, high = band[0][0], band[-1][0]
    if low > -case.ride.droop or high < case.ride.bump:
        yield (
            "aim.band",
            f"covers travel {length_text(low, case.units)} to {length_text(high, case.units)}, the "
            f"car uses {length_text(-case.ride.droop, case.units)} to "
            f"{length_text(case.ride.bump, case.units)}; beyond the band nothing is judged",
        )


def _odd_limits(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    if tilt_limit_deg(case.joint.outer) is None:
        yield "joint.outer", "states no tilt limit: binding of the outer joint can't be judged"
    if not case.obstacles:
        yield "obstacles", "lists none: clearance can't be judged"
    elif case.joint.rod_diameter == 0.0 or case.joint.housing_diameter == 0.0:
        yield (
            "joint",
            "states no rod_diameter or no housing_diameter: the gaps count from the center lines",
        )
    inner, line = case.joint.inner, case.words.inner_line
    if line and inner.bolt_axis is None and tilt_limit_deg(inner) is not None:
        yield (
            "joint.inner",
            f"states a tilt limit and no bolt_axis: its tilt counts from {line}; where a bolt or "
            "stud goes through the ball, state bolt_axis along it",
        )
    yield from _odd_locks(case, evaluator)


def _odd_locks(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    if not case.words.steers:
        return
    full = case.steering.rack_travel
    if full == 0.0:
        yield "steering.rack_travel", "is not stated: limits are judged straight ahead only"
        return
    as_is = Settings.single(ball_joint_drop=case.linkage_choices[0])
    ends = evaluator.motion(as_is, np.zeros(2), np.array([-full, full]))
    if (ends.reach != Reach.REACHED).any():
        yield (
            "steering.rack_travel",
            f"{length_text(full, case.units)} is more than the linkage can follow at ride height",
        )


def _odd_alignment(case: Case) -> Iterator[tuple[str, str]]:
    alignment = case.alignment
    if alignment is not None and (alignment.most, alignment.most_deg) == (None, None):
        key = "most_deg" if alignment.by == "strut-bolts" else "most"
        yield (
            f"alignment.{key}",
            "is not stated: whether the part goes as far as the wanted alignment asks can't be "
            "judged",
        )


def _odd_obstacles(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    for place, part in enumerate(case.obstacles, start=1):
        if isinstance(part, Rim):
            for text in _odd_barrel(part, case.units):
                yield f"obstacles[{place}]", text
    as_is = Settings.single(ball_joint_drop=case.linkage_choices[0])
    straight = np.zeros(1)
    measured = evaluator.motion(as_is, np.array([-case.ride.lowered_by]), straight)
    for kind, name, value, _ in gaps(evaluator, as_is, measured, straight):
        if kind == "gap" and value[0, 0] < 0.0:
            overlap = short_length(-float(value[0, 0]), case.units)
            yield (
                "obstacles",
                f"{name} overlaps by {overlap} as the car was measured; check its sizes and, of a "
                "plane, which side is free",
            )


def _odd_barrel(rim: Rim, units: Units) -> Iterator[str]:
    narrowest = min(rim.profile[1])
    inches, nominal = narrowest / MM_PER_INCH, rim.nominal_diameter
    found = f"has an inside diameter of {length_text(narrowest, units)}"
    if nominal is not None and inches >= nominal:
        yield f"{found}, no less than its nominal {nominal:g} in: was it measured in the barrel?"
    elif abs(inches - round(inches)) < WHOLE_INCH:
        yield f"{found}, {round(inches)} in exactly: is that measured in the barrel, or nominal?"


def _text(length: float, units: Units) -> str:
    return short_length(float(length), units)
