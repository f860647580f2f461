"""What is wrong with a case that can be read: faults that stop a command, with what to try next."""

from collections.abc import Sequence
from math import floor
from typing import Literal

from optimizer.errors import Fault, PivotwrightError
from optimizer.models.alignment import Alignment, AlignmentMove
from optimizer.models.answer import Fact
from optimizer.models.case import Case
from optimizer.models.points import Layout
from optimizer.models.stops import Ends
from optimizer.models.subject import Subject
from optimizer.units import MM_PER, Side, Units, length_text, short_length
from optimizer.wording.alignment import what_to_move
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.stops import ENDS

Angles = tuple[float, float]  # camber and caster [deg]
FITTED_TO = {
    "lower ball joint": "ball-joint drop, knuckle plate and crossmember spacer",
    "lateral link of an axle": "frame and axle bracket",
    "leaf spring": "lift block and longer shackle",
}


def no_height_to_align_at() -> Fault:
    """The linkage can't be joined at ride height."""
    message = "must be a height at which the linkage can be joined"
    return Fault("ride.lowered_by", message)


def angle_out_of_reach(
    alignment: Alignment, move: AlignmentMove, nearest: Angles, units: Units
) -> Fault:
    """No move sets the wanted angles; `move` brings them `nearest`. [deg]."""
    key = "camber_deg" if alignment.camber_deg is not None else "caster_deg"
    return Fault(
        f"alignment.{key}",
        f'must be an angle that "{alignment.by}" can set, got {_wish(alignment)}\n'
        f"(it comes no nearer than {_angles(nearest)}:\n{what_to_move(move, units)})",
    )


def too_far_to_move(
    alignment: Alignment, move: AlignmentMove, reached: Angles, units: Units
) -> Fault:
    """A part goes less far than the wanted angles take, and so to `reached` alone. [deg]."""
    if alignment.most is None:
        key, stated = "most_deg", f"{alignment.most_deg:g} deg"
    else:
        key, stated = "most", length_text(alignment.most, units)
    return Fault(
        f"alignment.{key}",
        f"must be enough for {_wish(alignment)}, got {stated}\n"
        f"(that takes: {what_to_move(move, units)};\n"
        f"no farther than {stated} gives {_angles(reached)})",
    )


def stuck_link(place: int) -> Fault:
    """An obstacle, counted from 1, is a link that can't follow the upright."""
    message = "can't follow the upright to the wanted alignment\n(check the link's points)"
    return Fault(f"obstacles[{place}]", message)


def no_lock_at_the_rear() -> PivotwrightError:
    """Rack travel is asked for on a rear axle."""
    return PivotwrightError("rack travel must be left out on a rear axle: a rear wheel has no lock")


def no_such_part(part: str, layout: Layout) -> PivotwrightError:
    """Something is to be fitted to a part of `FITTED_TO` that the points of a layout don't name."""
    return PivotwrightError(
        f"{FITTED_TO[part]} must be left out: the points of a {layout} case name no {part}"
    )


def no_tilt() -> PivotwrightError:
    """A tilted rack is asked for where it can't be told what that does."""
    return PivotwrightError(
        "a tilted rack asks for both wheels, [left] and [right], and for rack.mounts: from its "
        "left mount to its right one"
    )


def rod_could_not_follow(fit: Fact, subject: Subject) -> PivotwrightError:
    """What is fitted keeps the rod from following the wheel over the used travel."""
    fitted, rod = sentence(fit, Reader(subject)), subject.words.rod
    return PivotwrightError(f"{fitted}: the {rod} could not follow the wheel over the used travel")


def no_ride_height(case: Case, ends: Ends) -> Fault:
    """The linkage can't be joined at ride height."""
    less = "lower the car less" if case.ride.lowered_by >= 0.0 else "lift it less"
    return Fault(
        _standing(case),
        "must leave a linkage that can be joined at ride height: "
        f"{ENDS[ends].format(words=case.words)}\n"
        f"(measure the points again, or {less})",
    )


def no_toe_at_ride_height(case: Case, either_way_deg: float) -> Fault:
    """The wheel can't be turned so far about its axis at ride height."""
    return Fault(
        _standing(case),
        "must leave a wheel whose toe can be set at ride height; about its "
        f"{case.words.axis if case.words.steers else 'axis'} it can't be turned by "
        f"{either_way_deg:.0f} deg either way\n"
        "(measure the points again: are two of them swapped?)",
    )


def odd_beside(fault: Fault, points: Sequence[str]) -> Fault:
    """Name the points that look wrong in a car that can't be assembled."""
    if not points:
        return fault
    look = ", ".join(dict.fromkeys(points))
    return Fault(fault.location, f"{fault.message}\n(first look at {look}: out of place?)")


def _standing(case: Case) -> str:
    return "points" if case.ride.lowered_by == 0.0 else "ride.lowered_by"


def no_such_travel(
    case: Case,
    stroke: Literal["bump", "droop"],
    reached_mm: float,
    choice: int,
    either_way_deg: float,
) -> Fault:
    """The linkage reaches less than a stroke, and that little with a choice of it fitted."""
    units = case.units
    told = MM_PER[units] * (0.1 if units == "mm" else 0.001)
    reached = floor(reached_mm / told) * told  # never more than it reaches
    fitted = ""
    if len(case.linkage_choices) > 1:
        fitted = f"{_fitted(case, choice)}; leave out of its list what is not for this ride height"
    return Fault(
        f"ride.{stroke}",
        "must be travel that the linkage can reach, the wheel free to turn by "
        f"{either_way_deg:.0f} deg either way, got "
        f"{length_text(getattr(case.ride, stroke), units)}\n"
        f"(so it still reaches {short_length(reached, units)} there{fitted})",
    )


def _fitted(case: Case, choice: int) -> str:
    if case.layout != "beam-axle":
        return f" {_extension(case, choice)}"
    brackets = case.linkage_choices[choice]
    frame, axle = (
        length_text(mm, case.units)
        for mm in (brackets.frame_bracket_raise, brackets.axle_bracket_raise)
    )
    return f" with the lateral link's frame_bracket at {frame}, its axle_bracket at {axle}"


def _extension(case: Case, choice: int) -> str:
    fitted = case.linkage_choices[choice]
    first, *others = (
        (("lift block", fitted.lift_block), ("longer shackle", fitted.shackle_longer))
        if case.layout == "leaf-axle"
        else (
            ("ball-joint drop", fitted.ball_joint_drop),
            ("knuckle plate", fitted.knuckle_plate),
            ("crossmember spacer", fitted.crossmember_spacer),
            ("rack tilt", fitted.rack_tilt),
        )
    )
    parts = [first, *((name, mm) for name, mm in others if mm)]
    told = (f"a {name} of {length_text(mm, case.units)}" for name, mm in parts)
    return f"with {' and '.join(told)}"


def with_extension(fault: Fault, case: Case) -> Fault:
    """Name what is fitted to the linkage of a case that stands for one of several."""
    return Fault(fault.location, f"{fault.message}\n({_extension(case, 0)})")


def on_one_wheel(fault: Fault, side: Side) -> Fault:
    """Name the wheel that a fault of a shared key is of, where the other one has none."""
    return Fault(fault.location, f"{fault.message}\n(on the {side} wheel)")


def _wish(alignment: Alignment) -> str:
    wishes = {"camber": alignment.camber_deg, "caster": alignment.caster_deg}
    return " and ".join(f"{name} {x:g} deg" for name, x in wishes.items() if x is not None)


def _angles(angles: Angles) -> str:
    return f"camber {angles[0]:.2f} deg and caster {angles[1]:.2f} deg"
