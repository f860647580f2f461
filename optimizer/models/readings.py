"""A readings file: what a gauge showed at each wheel travel, and how it was set up.

All lengths are in millimeters once read, also where the file's units are inches.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    StrictBool,
    ValidationInfo,
)

from optimizer.errors import Fault
from optimizer.models.aim import Aim
from optimizer.models.base import FrozenModel, as_empty
from optimizer.models.beside_toe import (
    CamberRead,
    CasterSweep,
    RodTurned,
    Sideways,
    Steered,
    TurnToeOut,
)
from optimizer.models.display import Display
from optimizer.models.gauge_kinds import ALLOWED, NEEDED, SET_UP, WAYS, Grows, Kind, row_columns
from optimizer.models.measured_car import Between, MeasuredCar, UsedTravel
from optimizer.models.quantities import (
    LEAST_STEP_MM,
    Adjustment,
    FormatOne,
    Length,
    Name,
    Number,
    PositiveLength,
    PositiveNumber,
    Row,
    above_zero,
    between_mm,
    in_millimeters,
    rows_of_numbers,
)
from optimizer.models.shelf import Shelf
from optimizer.units import Units

FARTHEST_TARGET_MM = 50_000.0
FEWEST_HEIGHTS = 2
LEAST_TOLERANCE_DEG = 0.01  # no gauge shows less
LEAST_STEP = 0.05  # of the whole sweep: no curve bends between heights nearer than this
TargetLength = Annotated[
    Number,
    AfterValidator(above_zero),
    AfterValidator(in_millimeters),
    between_mm(0.0, FARTHEST_TARGET_MM),
]


def _rows(typed: Any, info: ValidationInfo) -> tuple[Row, ...]:
    """Take rows of numbers, lengths scaled; every faulty row is named."""
    lengths = 1 if info.data.get("kind") == "angle" else None
    return rows_of_numbers(typed, info, lengths=lengths)


def heights_apart(heights: Iterable[float]) -> int:
    """How many heights are far enough apart to tell a curve between them. [mm]."""
    lowest_first = sorted(heights)
    if not lowest_first:
        return 0
    step = max(LEAST_STEP_MM, LEAST_STEP * (lowest_first[-1] - lowest_first[0]))
    count, last = 0, float("-inf")
    for height in lowest_first:
        if height - last >= step:
            count, last = count + 1, height
    return count


class Readings(FrozenModel):
    """One sweep of one wheel, or several with the same parts fitted."""

    format: FormatOne
    """format = 1, the only one that this version reads"""
    units: Units
    """"mm" or "in", for every length in the file"""
    kind: Kind
    """how toe was read: two-dial, dial-and-roller, laser, mirror, string, toe-plates or angle"""
    name: Name = "readings"
    """A line of text that names the sweep; the file's own name if left out."""
    side: Literal["left", "right"] | None = None
    """Wheel that was swept; the case's own if left out."""
    outer_drop: Adjustment | None = None
    """Stack that was fitted, from the standard seat; a case can't do without it. [mm]"""
    rack_raise: Adjustment | None = None
    """Rack spacer that was fitted; a case can't do without it. [mm]"""
    rack_fore_aft: Adjustment | None = None
    """How far forward the rack was moved; not at all if left out. [mm]"""
    ball_joint_drop: Adjustment | None = None
    """Ball-joint extension that was fitted; the case's first if left out. [mm]"""
    knuckle_plate: Adjustment | None = None
    """Plate under the strut's foot that was fitted; the case's first if left out. [mm]"""
    crossmember_spacer: Adjustment | None = None
    """Spacer on the crossmember that was fitted; the case's first if left out. [mm]"""
    rack_tilt: Adjustment | None = None
    """How much higher the left end of the rack was; the case's first if left out. [mm]"""
    frame_bracket_raise: Adjustment | None = None
    """Raise of a beam axle's lateral-link bracket at the frame; the case's first if left out."""
    axle_bracket_raise: Adjustment | None = None
    """Raise of its bracket at the axle; the case's first if left out. [mm]"""
    lift_block: Adjustment | None = None
    """Lift blocks that stood on a leaf-sprung axle; the case's first if left out. [mm]"""
    shackle_longer: Adjustment | None = None
    """How much longer its shackles were than measured; the case's first if left out. [mm]"""
    spacing: PositiveLength | None = None
    """distance between the two places where the gauge reads: dials, roller, string or tape ends"""
    dial_distance: PositiveLength | None = None
    """distance of the single dial from the wheel's axle, along the car"""
    dial_at: Literal["front", "rear"] | None = None
    """"front" or "rear" of the axle, where the dial stands"""
    target_ahead: TargetLength | None = None
    """distance from the wheel's axle to the target ahead"""
    target_behind: TargetLength | None = None
    """Distance from the wheel's axle to the target behind. [mm]"""
    target_distance: TargetLength | None = None
    """distance from the mirror on the hub to the target that the spot falls on"""
    wall_distance: TargetLength | None = None
    """distance from the wheel's center to the wall beside the car, square to the car"""
    below_center: PositiveLength | None = None
    """How far below the wheel's center toe was read on a tire of the diameter `spacing`. [mm]"""
    reading_grows: Grows | None = None
    """"outboard" or "inboard", the way the touched place moves when the reading grows"""
    angle_unit: Literal["deg", "min"] = "deg"
    """Unit of toe where kind is "angle"."""
    total: StrictBool = False
    """Whether the angle is of both wheels together."""
    revolution: PositiveLength | None = None
    """Length of one turn of the dial's hand; given, turns that went uncounted are counted. [mm]"""
    noise: PositiveNumber | None = None
    """One standard deviation of a reading, in the reading's own unit; estimated if left out."""
    play: PositiveNumber | None = None
    """How far the reading moves as the wheel is pushed and pulled by hand, end to end, in its own
    unit; of two columns, how far their difference does."""
    rack_play: PositiveLength | None = None
    """How far what the inner pivot sits in slides in its mounts, each way. [mm]"""
    travel_is: Literal["travel", "hub-to-arch", "hub-to-floor"] = "travel"
    """What the first number of a row is."""
    at_ride_height: Length | None = None
    """what the first number of a row shows at ride height"""
    between: Between | None = None
    """A maker's toe between two heights; aimed at where no aim is given."""
    used: UsedTravel | None = None
    """Travel that the car uses, for readings without a case; all that was swept if left out."""
    shelf: Shelf | None = None
    """Pieces at hand, for readings without a case."""
    car: MeasuredCar = as_empty()
    """Lengths for readings without a case."""
    aim: Aim | None = None
    """Wanted curve; the case's if left out."""
    display: Display = as_empty()
    """How reports state toe."""
    readings: Annotated[tuple[Row, ...], BeforeValidator(_rows)]
    """rows of numbers: travel first, then what the gauge showed"""
    rod_turned: tuple[RodTurned, ...] = ()
    """What turning the rod did to toe at ride height; a toe reset is such a reading."""
    sideways: Sideways | None = None
    """How far the wheel moves sideways at wheel travels."""
    camber: CamberRead | None = None
    """Camber at wheel travels."""
    steered: Steered | None = None
    """Angles on a turn plate at rack travels."""
    turn_toe_out: TurnToeOut | None = None
    """Toe-out on turns at rack travels."""
    caster_sweep: CasterSweep | None = None
    """Camber with the wheel steered out and in."""

    @property
    def columns(self) -> tuple[str, ...]:
        """Names of the numbers in a row."""
        return row_columns(self.kind, both=bool(self.target_ahead and self.target_behind))

    @property
    def wanted(self) -> Aim | None:
        """Aim of these readings: their own, or the middle of a maker's toe between two heights."""
        if self.aim is not None or self.between is None:
            return self.aim
        two = self.between
        rise = self.travel_at(two.second) - self.travel_at(two.first)
        gain = 0.5 * (two.least_deg + two.most_deg) / rise * 10.0
        half = 0.5 * (two.most_deg - two.least_deg)
        return Aim(toe_gain_deg_per_10mm=gain, tolerance_deg=max(half, LEAST_TOLERANCE_DEG))

    def lowered(self, by: float) -> Self:
        """The same readings of a car that then stands lower by so much. [mm]."""
        sign = -1.0 if self.travel_is == "hub-to-arch" else 1.0
        zero = (self.at_ride_height or 0.0) + sign * by
        return self.model_copy(update={"at_ride_height": zero})

    def travel_at(self, height: float) -> float:
        """Wheel travel at a height as the rows count heights, positive in bump. [mm]."""
        # The hub comes nearer to the arch in bump; a hub swept on stands rises from the floor.
        sign = -1.0 if self.travel_is == "hub-to-arch" else 1.0
        return sign * (height - (self.at_ride_height or 0.0))

    @property
    def fitted_drop(self) -> float:
        """Stack that was fitted, the standard seat where nothing is said. [mm]."""
        return self.outer_drop or 0.0

    @property
    def fitted_raise(self) -> float:
        """Rack spacer that was fitted, none where nothing is said. [mm]."""
        return self.rack_raise or 0.0

    @property
    def noise_of_number(self) -> float | None:
        """Standard deviation of the number that tells toe, two columns making one. [as read]."""
        if self.noise is None:
            return None
        return self.noise * (2.0**0.5 if len(self.columns) == 3 else 1.0)

    def _faults(self, units: Units) -> Iterator[Fault]:
        kind = f'where kind is "{self.kind}"'
        yield from (Fault(key, f"must be given {kind}") for key in self._missing())
        yield from (Fault(key, f"must be left out {kind}") for key in self._idle())
        if self.travel_is != "travel" and self.at_ride_height is None:
            message = f'must be given where travel_is is "{self.travel_is}"'
            yield Fault("at_ride_height", message)
        yield from self._odd_ways()
        yield from self._odd_columns()
        wanted = self.columns
        yield from (
            Fault(f"readings[{place}]", f"must be [{', '.join(wanted)}], got {_counted(row)}")
            for place, row in enumerate(self.readings, start=1)
            if len(row) != len(wanted)
        )
        if heights_apart(row[0] for row in self.readings if row) < FEWEST_HEIGHTS:
            yield Fault(
                "readings",
                "must be at two different heights or more, well apart\n"
                "(one reading tells static toe, never how toe changes with travel)",
            )

    def _odd_ways(self) -> Iterable[Fault]:
        """A reading that grows in a way that this gauge doesn't tell, or is taken off the tire."""
        ways, of = WAYS.get(self.kind, (None, ""))
        along = self.kind != "wall" and self.reading_grows in ("forward", "rearward")
        if self.reading_grows and ways is not None and self.reading_grows not in ways:
            yield Fault("reading_grows", f'must be "{ways[0]}" or "{ways[1]}", {of}')
        elif along:
            yield Fault("reading_grows", 'must be "outboard" or "inboard", the way the plate moves')
        if self.below_center and self.spacing and 2.0 * self.below_center >= self.spacing:
            message = "must be less than half of spacing\n(which is the tire's diameter then)"
            yield Fault("below_center", message)

    def _odd_columns(self) -> Iterable[Fault]:
        """What stands beside the sweep, with other columns than the sweep's."""
        if self.sideways is not None and self.sideways.both_dials and self.kind != "two-dial":
            yield Fault("sideways.both_dials", 'must be left out unless kind is "two-dial"')
        columns = self.columns[1:]
        for place, turned in enumerate(self.rod_turned, start=1):
            for key in ("before", "after"):
                shown = getattr(turned, key)
                if shown is not None and len(shown) != len(columns):
                    message = f"must be [{', '.join(columns)}], got {_counted(shown)}"
                    yield Fault(f"rod_turned[{place}].{key}", message)

    def _missing(self) -> list[str]:
        missing = [key for key in NEEDED[self.kind] if getattr(self, key) is None]
        if self.kind == "laser" and self.target_ahead is None and self.target_behind is None:
            missing.append("target_ahead")
        return missing

    def _idle(self) -> list[str]:
        """Keys about the set-up of some other gauge."""
        used = {*NEEDED[self.kind], *ALLOWED.get(self.kind, ())}
        return [key for key in SET_UP if key in self.model_fields_set and key not in used]


def _counted(row: Sequence[float]) -> str:
    return "one number" if len(row) == 1 else f"{len(row)} numbers"
