"""What fitting something changes beside the toe curve, before and after."""

from typing import Literal

from optimizer.models.answer import Answer, Fact

GradientKind = Literal["ride-toe", "ride-steer", "roll-steer"]


class BeforeAfter(Answer):
    """A figure of the car as it is and with `SuggestResult.side_effects_of` fitted.

    None where it doesn't exist, and after where nothing fits.
    """

    before: float | None
    after: float | None


class Definition(Fact):
    """What a gradient means, in the words of which standard."""

    kind: GradientKind


class Gradient(BeforeAfter):
    """A slope at ride height, with its unit and what it means."""

    unit: str
    definition: Definition


class SteeredCurve(Answer):
    """Toe change over the used travel with the rack held off center.

    From the toe that the wheel has there at ride height, toe-in positive, beyond what is wanted;
    `rack_travel_mm` is to the left of the car.
    """

    rack_travel_mm: float
    travel_mm: list[float]
    before_deg: list[float | None]
    after_deg: list[float | None] | None
    peak_deg: BeforeAfter


class TurnAngles(Answer):
    """How the two wheels of a turn are steered from straight ahead.

    The other side is a mirror image where one wheel was measured, and the wheel there where both
    were; this wheel is then the inner one.
    `toe_out_deg` is inner minus outer, `ackermann_toe_out_deg` what it would be if both wheels
    rolled about one center in line with the other axle: cot(outer) - cot(inner) = track /
    wheelbase; None where the case doesn't state these two.
    """

    inner_deg: float
    outer_deg: float
    toe_out_deg: float
    ackermann_toe_out_deg: float | None


class Turn(Answer):
    """A turn at so much rack travel; None where the linkage can't follow.

    Either way; on a beam axle to the left where it is positive, and told to the right as well.
    """

    rack_travel_mm: float
    before: TurnAngles | None
    after: TurnAngles | None


class SideEffects(Answer):
    """Figures of number 1 against the car as it is, both aligned to the static toe at ride height.

    Scrub radius is positive with the contact point outboard of the steering axis, mechanical trail
    with it behind the axis, both at the ground and along the wheel.  The instant center of the
    front view is so far inboard of the contact point, None where the wheel rises without leaning
    and on a beam axle; instant center and roll center are so high above the ground.  The roll
    center lies in the center plane, `half_track_mm` from the contact point: half of the stated
    track, or the contact point's y where none is stated; that of a beam axle is the point about
    which it rolls under the frame, in the plane through the wheel centers.  `camber_change_*` and
    `half_track_change_*` are from ride height to the ends of the used travel.  The rate of steering
    is this wheel's steer angle per rack travel, None on a rear axle; there the steering axis is the
    one that the wheel toes about.  Rod and arm angle are in the front view, positive where they
    rise toward the wheel: a guide only, for parallel does not mean free of bump steer; the arm's is
    None on links.
    """

    camber_deg: BeforeAfter
    caster_deg: BeforeAfter
    kingpin_inclination_deg: BeforeAfter
    scrub_radius_mm: BeforeAfter
    mechanical_trail_mm: BeforeAfter
    camber_change_in_bump_deg: BeforeAfter
    camber_change_in_droop_deg: BeforeAfter
    half_track_change_in_bump_mm: BeforeAfter
    half_track_change_in_droop_mm: BeforeAfter
    half_track_mm: BeforeAfter
    instant_center_inboard_mm: BeforeAfter
    instant_center_height_mm: BeforeAfter
    roll_center_height_mm: BeforeAfter
    steer_rate_deg_per_mm: BeforeAfter
    steer_rate_change_percent: float | None
    rod_angle_deg: BeforeAfter
    arm_angle_deg: BeforeAfter
    ride_toe_gradient: Gradient
    ride_steer_gradient: Gradient
    roll_steer_gradient: Gradient
    steered: list[SteeredCurve]
    turn_toe_out: list[Turn]
