"""Whether a readable case can be a car: what is impossible, and what merely looks wrong."""

from collections.abc import Iterator
from os import PathLike

import numpy as np

from geometry.motion import REASONS, Reach, toe_held_motion
from geometry.toe_held import HALF_RANGE
from geometry.vectors import norm
from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.odd_points import measured_caster_deg, measured_kingpin_deg, odd_points
from optimizer.car.adjust import Settings, fitted_to_linkage
from optimizer.car.alignment import AlignmentError, aligned_case
from optimizer.car.evaluate import Evaluator
from optimizer.car.subject import subject_of
from optimizer.errors import CaseFileError, Fault
from optimizer.limits.described import band_verdicts
from optimizer.limits.gaps import gaps
from optimizer.limits.tilts import tilt_limit_deg
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.case import Case
from optimizer.models.obstacles import Rim
from optimizer.models.result import CheckResult, Doubt
from optimizer.models.stacks import buildable_stacks
from optimizer.models.tables import grade_faults
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
    shortest: dict[str, tuple[float, float]] = {}  # how far each stroke goes, with which choice
    for choice in case.linkage_choices:
        as_is = Settings.single(ball_joint_drop=choice)
        reach = evaluator.motion(as_is, evaluator.travel).reach[0]
        standing = _cannot_stand(evaluator, Reach(reach[evaluator.home]), choice)
        if standing is not None:
            at = "points" if case.ride.lowered_by == 0.0 else "ride.lowered_by"
            yield Fault(at, standing)
            return
        for key, sign in (("bump", 1.0), ("droop", -1.0)):
            stroke = evaluator.travel[sign * evaluator.travel > 0.0]
            lost = reach[sign * evaluator.travel > 0.0] != Reach.REACHED
            if used_travel and lost.any():
                reached = float(np.abs(stroke[~lost]).max(initial=0.0))
                shortest[key] = min(shortest.get(key, (np.inf, choice)), (reached, choice))
    for key, (reached, choice) in shortest.items():
        yield Fault(
            f"ride.{key}",
            "must be travel that the linkage can reach, got "
            f"{length_text(float(getattr(case.ride, key)), case.units)}\n"
            f"(it still reaches {short_length(reached, case.units)} there"
            f"{_with_choice(case, choice)})",
        )


def _cannot_stand(evaluator: Evaluator, at_home: Reach, choice: float) -> str | None:
    """What keeps a car from its ride height, or its wheel from being aligned there."""
    words, corner = evaluator.case.words, evaluator.corner
    if at_home != Reach.REACHED:
        return (
            "must leave a linkage that can be joined at ride height: "
            f"{REASONS[at_home].format(rod=words.rod)}\n"
            "(measure the points again, or lower the car less)"
        )
    toes = evaluator.static_toe + HALF_RANGE * np.array([-1.0, 1.0])
    height = np.full(2, evaluator.heights[evaluator.home])
    turned = toe_held_motion(corner.linkage(choice), height, corner.spin, toes)
    if (turned.reach == Reach.REACHED).all():
        return None
    return (
        "must leave a wheel whose toe can be set at ride height; about its "
        f"{words.axis if words.steers else 'axis'} it can't be turned by "
        f"{np.degrees(HALF_RANGE):.0f} deg either way\n"
        "(measure the points again: are two of them swapped?)"
    )


def _with_choice(case: Case, choice: float) -> str:
    """Name what is chosen of the linkage, where there is a choice."""
    if len(case.linkage_choices) == 1:
        return ""
    fitted = {
        name: length_text(mm, case.units) for name, mm in fitted_to_linkage(case, choice).items()
    }
    if case.points.rod == "drag_link":
        frame, axle = fitted["frame_bracket_raise_mm"], fitted["axle_bracket_raise_mm"]
        return f" with the lateral link's frame_bracket at {frame}, its axle_bracket at {axle}"
    return f" with a ball-joint drop of {fitted['ball_joint_drop_mm']}"


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
        yield "caster", f"{measured_caster_deg(evaluator):.2f} deg as measured"
        yield "kingpin inclination", f"{measured_kingpin_deg(evaluator):.2f} deg as measured"
    yield "toe change now", f"{np.degrees(np.abs(change).max()):.3f} deg peak over the used travel"
    for verdict in band_verdicts(evaluator, change):
        if verdict is not None:
            yield "wanted band", f"now {verdict.sentence}"
    stacks = buildable_stacks(case)
    yield "stacks that can be built", f"{len(stacks)}"
    yield f"{words.inner} spacers", f"{len(case.rack.spacers)}"


def _doubts(case: Case, evaluator: Evaluator) -> Iterator[tuple[str, str]]:
    yield from odd_points(case, evaluator)
    yield from _odd_aim(case)
    yield from _odd_limits(case, evaluator)
    yield from _odd_alignment(case)
    yield from _odd_obstacles(case, evaluator)


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
    for one in gaps(evaluator, as_is, measured, straight):
        gap = float(one.value()[0, 0])
        if one.kind == "gap" and gap < 0.0:
            overlap = short_length(-gap, case.units)
            yield (
                "obstacles",
                f"{one.name} overlaps by {overlap} as the car was measured; check its sizes and, "
                "of a plane, which side is free",
            )


def _odd_barrel(rim: Rim, units: Units) -> Iterator[str]:
    narrowest = min(rim.profile[1])
    inches, nominal = narrowest / MM_PER_INCH, rim.nominal_diameter
    found = f"has an inside diameter of {length_text(narrowest, units)}"
    if nominal is not None and inches >= nominal:
        yield f"{found}, no less than its nominal {nominal:g} in: was it measured in the barrel?"
    elif abs(inches - round(inches)) < WHOLE_INCH:
        yield f"{found}, {round(inches)} in exactly: is that measured in the barrel, or nominal?"
