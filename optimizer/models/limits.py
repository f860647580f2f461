"""How far the joints of the tie rod may tilt, and the sizes of rod and joints."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import StrictBool

from optimizer.errors import Fault
from optimizer.models.base import FrozenModel, as_empty
from optimizer.models.quantities import (
    Direction,
    LengthFromZero,
    Number,
    PositiveLength,
    TiltAngle,
    between,
)
from optimizer.units import Units, length_text

BALL = ("ball_width", "race_width", "ball_diameter")
BESIDE_BALL = ("neck_diameter", "shoulder_diameter", "width_over_spacers", "head_width")


# Smallest gaps [mm] and largest tilts [deg] are told to this, over the whole travel and lock.
TOLD_TO = 0.01


class TiltLimit(FrozenModel):
    """How far a ball joint may tilt: the maker's figure, or dimensions to find it from.

    With neither, the tilt is not limited.  Ball and race alone stand for a joint between parts no
    wider than the flat of its ball; `shoulder_diameter` names something wider against the ball;
    `neck_diameter` alone a pin with nothing wider on it; all three of neck, shoulder and
    `width_over_spacers` a pair of coned spacers.
    """

    tilt_limit_deg: TiltAngle | None = None
    """The maker's permissible tilt, to either side. [deg]"""
    ball_width: PositiveLength | None = None
    """width of the ball between its faces"""
    race_width: PositiveLength | None = None
    """width of the race that the ball sits in"""
    ball_diameter: PositiveLength | None = None
    """diameter of the ball"""
    neck_diameter: PositiveLength | None = None
    """of a pin with nothing wider on it, or of coned spacers where they leave the ball"""
    shoulder_diameter: PositiveLength | None = None
    """of the widest part clamped against the ball, or against the spacers"""
    width_over_spacers: PositiveLength | None = None
    """from outer face to outer face of the coned spacers on both sides of the ball"""
    head_width: PositiveLength | None = None
    """Of the housing around the race, where a wide shoulder may meet it; as the race if left out.
    [mm]"""

    def _faults(self, units: Units) -> Iterator[Fault]:
        stated = [name for name in (*BALL, *BESIDE_BALL) if getattr(self, name) is not None]
        if self.tilt_limit_deg is None:
            yield from list(self._missing(stated)) or self._misfits(units)
            return
        for name in stated:
            yield Fault(name, "must be left out where tilt_limit_deg is given")

    def _missing(self, stated: list[str]) -> Iterator[Fault]:
        needed = dict.fromkeys(BALL, stated[:1])
        if "width_over_spacers" in stated:
            needed["neck_diameter"] = needed["shoulder_diameter"] = ["width_over_spacers"]
        elif {"neck_diameter", "shoulder_diameter"} <= {*stated}:
            needed["width_over_spacers"] = ["neck_diameter and shoulder_diameter"]
        elif "head_width" in stated:
            needed["shoulder_diameter"] = ["head_width"]
        for name, reason in needed.items():
            if reason and name not in stated:
                what = type(self).meaning_of(name)
                yield Fault(name, f"must be given along with {reason[0]}\n({what})")

    def _misfits(self, units: Units) -> Iterator[Fault]:
        ball, width, race = self.ball_diameter, self.ball_width, self.race_width
        if ball is None or width is None or race is None:
            return
        over, shoulder = self.width_over_spacers, self.shoulder_diameter
        opening, flat = (max(0.0, ball**2 - x**2) ** 0.5 for x in (race, width))
        pairs = [
            ("race_width", race, "ball_width", width),
            ("ball_width", width, "ball_diameter", ball),
            ("neck_diameter", self.neck_diameter, "the opening of the race", opening),
        ]
        if over is not None:
            pairs[2] = ("neck_diameter", self.neck_diameter, "the flat of the ball", flat)
            pairs += [
                ("ball_width", width, "width_over_spacers", over),
                ("neck_diameter", self.neck_diameter, "shoulder_diameter", shoulder),
            ]
        clamped = "ball_width" if over is None else "width_over_spacers"
        pairs.append(("head_width", self.head_width, clamped, over or width))
        for key, size, wider, limit in pairs:
            if size is not None and limit is not None and size >= limit:
                got = f"{length_text(size, units)} and {length_text(limit, units)}"
                yield Fault(key, f"must be less than {wider}, got {got}")
        if self.head_width is not None and self.head_width < race:
            got = f"{length_text(self.head_width, units)} and {length_text(race, units)}"
            yield Fault("head_width", f"must not be less than race_width, got {got}")


class OuterJoint(TiltLimit):
    """The joint at the steering arm."""

    bolt_axis: Direction | None = None
    """Along the bolt through its ball; along the stud axis if left out."""


class InnerJoint(TiltLimit):
    """The joint at the rack."""

    bolt_axis: Direction | None = None
    """Along the bolt through its ball where that is a rod end; left out for a joint whose stud is
    in line with the rack."""


class Limits(FrozenModel):
    """What is to be kept beside the limits of the parts themselves."""

    transmission_angle_deg: TiltAngle = 25.0
    """Between rod and steering arm, and from any other dead center; a warning is given below it.
    Common practice, no source. [deg]"""
    kept_share: Annotated[Number, between(0.0, 1.0, "of all")] = 0.9
    """Share of the possible cars in which an option must keep every limit, where options are ranked
    by what they do in those."""


class Joint(FrozenModel):
    """The tie rod and the joints at its ends; 0 for a size that is not stated."""

    rod_diameter: LengthFromZero = 0.0
    """Of the rod or its sleeve, whichever is thicker. [mm]"""
    housing_diameter: LengthFromZero = 0.0
    """Of the outer joint's housing, across the bolt. [mm]"""
    housing_height: LengthFromZero = 0.0
    """Of the outer joint's housing, along the bolt. [mm]"""
    rod_turns: StrictBool = True
    """Whether the rod can turn about its own line, so that the housing follows the bolt."""
    retaining_washer: PositiveLength | None = None
    """Diameter of the washers that keep a failed outer rod end on its bolt, against the ball or its
    spacers; they cost tilt. [mm]"""
    outer: OuterJoint = as_empty()
    """Limit of the outer joint."""
    inner: InnerJoint = as_empty()
    """Limit of the inner joint."""

    def _faults(self, units: Units) -> Iterator[Fault]:
        if self.retaining_washer is not None and self.outer.ball_width is None:
            message = "must come with the sizes of joint.outer, which say where it stands"
            hint = "(give ball_width, race_width and ball_diameter in place of tilt_limit_deg)"
            yield Fault("retaining_washer", f"{message}\n{hint}")
