"""The alignment to be set after lowering, by which part of the car, and what came of it."""

from collections.abc import Iterator, Mapping
from typing import Literal

from optimizer.errors import Fault
from optimizer.models.answer import Answer, Fact
from optimizer.models.base import FaultList, FrozenModel
from optimizer.models.quantities import (
    Point,
    PositiveLength,
    PositiveNumber,
    Triple,
    WheelAngle,
)
from optimizer.units import Units

Means = Literal["strut-top", "strut-bolts", "upper-arm", "lower-arm"]

# Points that a layout must have for a means to be there.
POINTS_OF_MEANS: dict[Means, tuple[str, ...]] = {
    "strut-top": ("strut_top",),
    "strut-bolts": ("strut_top",),
    "upper-arm": ("upper_arm_front", "upper_arm_rear"),
    "lower-arm": ("lower_arm_front", "lower_arm_rear"),
}


class Alignment(FrozenModel):
    """Camber and caster wanted at the lowered ride height, and the part that is moved for them.

    An angle that is left out comes as it may.
    """

    by: Means
    """what is moved for it, "strut-top", "strut-bolts", "upper-arm" or "lower-arm" """
    camber_deg: WheelAngle | None = None
    """Camber wanted at ride height, top outboard positive. [deg]"""
    caster_deg: WheelAngle | None = None
    """Caster wanted at ride height, top rearward positive. [deg]"""
    bolt: Point | None = None
    """center of the bolt that the upright turns about, as measured"""
    most: PositiveLength | None = None
    """How far the part goes from where it was measured, either way along x and y. [mm]"""
    most_deg: PositiveNumber | None = None
    """How far the upright turns against the strut, either way. [deg]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.camber_deg is None and self.caster_deg is None:
            wanted = "camber_deg" if self.by == "strut-bolts" else "camber_deg or caster_deg"
            yield Fault("", f"must say {wanted}, the angle wanted at ride height")
        bolts = 'where by = "strut-bolts"'
        if self.by == "strut-bolts":
            if self.caster_deg is not None:
                yield Fault("caster_deg", f"must be left out {bolts}, which sets camber alone")
            if self.bolt is None:
                description = type(self).meaning_of("bolt")
                yield Fault("bolt", f"must be given {bolts}\n({description})")
            if self.most is not None:
                yield Fault("most", f"must be left out {bolts}; most_deg says how far those turn")
            return
        for key in ("bolt", "most_deg"):
            if getattr(self, key) is not None:
                yield Fault(
                    key, f'must be left out where by = "{self.by}"; it is for "strut-bolts"'
                )


def raise_unless_there(alignment: Alignment, points: Mapping[str, object], layout: str) -> None:
    """Find fault with a means that the points of a layout do not have."""
    there = [
        f'"{means}"'
        for means, needed in POINTS_OF_MEANS.items()
        if all(name in points for name in needed)
    ]
    if not there:
        message = f'must be left out: a "{layout}" has no means that this version can move'
        raise FaultList([Fault("", message)])
    if f'"{alignment.by}"' not in there:
        choices = " or ".join([", ".join(there[:-1]), there[-1]] if there[1:] else there)
        raise FaultList([Fault("by", f'must be {choices}, got "{alignment.by}"')])


class MovedPart(Answer):
    """A point of the case that is moved in the chassis, along x, y and z of the case. [mm]."""

    point: str
    by_mm: Triple


class Slide(Answer):
    """How far a point of the chassis is moved along the car and across it. [mm]."""

    forward_mm: float
    outboard_mm: float


class AlignmentMove(Fact):
    """What must be moved for a wanted alignment.

    `slides` are of the strut's top, or of an arm's front and rear inner pivot; `turn_deg` is how
    far the upright turns against the strut, top outboard positive, None where it doesn't.
    """

    kind: Means
    slides: tuple[Slide, ...] = ()
    turn_deg: float | None = None


class ToeEffect(Answer):
    """Toe curve of the car as it is, toe reset and no stack fitted, before and after.

    The peak is that of the toe change beyond the wanted gain over the used travel.
    """

    peak_toe_change_before_deg: float
    peak_toe_change_deg: float
    toe_slope_before_deg_per_10mm: float
    toe_slope_deg_per_10mm: float


class AlignmentAnswer(Answer):
    """What must be moved for the wanted alignment, and what it changes.

    Angles are those at ride height with static toe, before and after.  `turn_deg` is how far the
    upright turns against the strut, top outboard positive, None where it doesn't; `toe_curve` is
    None where it is not looked at, or the linkage can't follow the used travel.  The drop of the
    ball joint, plate and spacer are those before and after, None where they are what the car has.
    """

    by: Means
    what_to_move: AlignmentMove
    moved: list[MovedPart]
    turn_deg: float | None
    camber_before_deg: float
    camber_deg: float
    caster_before_deg: float
    caster_deg: float
    ball_joint_drop_mm: float | None = None
    knuckle_plate_mm: float | None = None
    crossmember_spacer_mm: float | None = None
    toe_curve: ToeEffect | None = None
