"""What merely looks wrong in a case: doubts, each with the key that it is about."""

from collections.abc import Iterator

import numpy as np

from geometry.motion import Reach
from optimizer.car.adjust import corner_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.measured_lengths import spans
from optimizer.car.odd_points import odd_points
from optimizer.car.settings import Settings
from optimizer.car.tape import length_misfits
from optimizer.limits.dead_centers import dead_centers
from optimizer.limits.gaps import gaps
from optimizer.limits.margins import margins
from optimizer.limits.near import with_near_tubes
from optimizer.limits.stops import stops
from optimizer.limits.tilts import tilt_limit_deg
from optimizer.models.aim import GAINS
from optimizer.models.case import Case
from optimizer.models.check import (
    BandTooShort,
    Contradicted,
    Doubt,
    LargeAngle,
    NotStated,
    OddLength,
    OddSize,
)
from optimizer.models.obstacles import Disc, Rim
from optimizer.models.stacks import buildable_stacks, unlikely_reach
from optimizer.units import MM_PER_INCH

LARGE_TOE_DEG, LARGE_TOLERANCE_DEG = 2.0, 0.5  # beyond what cars are set to, or made to keep
LARGE_CHANGE_DEG = {False: 4.0, True: 10.0}  # of toe over the used travel, by whether on a beam
LARGE_SLOPE_DEG = {False: 0.07, True: np.inf}  # of that a millimeter; common practice, no source
LARGE_CAMBER_DEG = 8.0  # common practice, no source
FAR_OFF = 3.0  # standard deviations
# Toe is taken across the tire or less: a gauge's plate may be wider, a rim half as wide.
LEAST_ACROSS, MOST_ACROSS, RADIUS, ALIKE = 0.4, 1.5, 0.5, 0.01  # of the tire's diameter
WHOLE_INCH = 0.001  # nearer to a whole inch than this, a rim's size looks like a nominal one [in]


def doubts(case: Case, measured: Evaluator) -> Iterator[Doubt]:
    """Every doubt about one wheel's case; `measured` is it without its alignment."""
    yield from doubts_at_rest(case, measured)
    yield from _large_change(measured)
    yield from _odd_locks(case, measured)
    yield from _near_dead_centers(case, measured)
    yield from _odd_obstacles(case, measured)


def doubts_at_rest(case: Case, measured: Evaluator) -> Iterator[Doubt]:
    """Those that are seen without moving the linkage."""
    yield from odd_points(measured)
    yield from _large_angles(case)
    yield from _odd_lengths(case)
    yield from _odd_aim(case)
    yield from _odd_diameters(case)
    yield from _odd_shelf(case)
    yield from _odd_pitman_ball(case)
    yield from _odd_limits(case)
    yield from _odd_alignment(case)
    if case.accuracy.contradicted:
        yield Doubt(location="accuracy.contradicted", message=Contradicted())


def _large_change(measured: Evaluator) -> Iterator[Doubt]:
    change = measured.toe_change(Settings.single())
    peak = float(np.degrees(np.abs(change).max()))
    on_beam, stroke = measured.corner.on_beam, float(np.abs(measured.travel).max())
    if peak > min(LARGE_CHANGE_DEG[on_beam], LARGE_SLOPE_DEG[on_beam] * stroke):
        yield Doubt(location="points", message=LargeAngle(kind="toe-change", found_deg=peak))


def _large_angles(case: Case) -> Iterator[Doubt]:
    for table, toe in (("wheel", case.wheel.toe_deg), ("ride", case.ride.toe_deg)):
        if toe is not None and abs(toe) > LARGE_TOE_DEG:
            yield Doubt(location=f"{table}.toe_deg", message=LargeAngle(kind="toe", found_deg=toe))
    camber = case.wheel.camber_deg
    if abs(camber) > LARGE_CAMBER_DEG:
        odd = LargeAngle(kind="camber", found_deg=camber)
        yield Doubt(location="wheel.camber_deg", message=odd)
    tolerance = case.aim.tolerance_deg
    if tolerance > LARGE_TOLERANCE_DEG:
        odd = LargeAngle(kind="tolerance", found_deg=tolerance)
        yield Doubt(location="aim.tolerance_deg", message=odd)


def _odd_lengths(case: Case) -> Iterator[Doubt]:
    """Doubt lengths that the points by tape miss by more than both are known to."""
    if not case.measured:
        return
    by_points = spans(case, corner_of(case).measured)
    for place, sigmas in enumerate(length_misfits(case)):
        if abs(sigmas) > FAR_OFF:
            one = case.measured[place]
            odd = OddLength(
                kind="length" if one.rise is None else "rise",
                said_mm=one.rise if one.length is None else one.length,
                by_points_mm=by_points[place],
                sigmas=abs(sigmas),
            )
            yield Doubt(location=f"measured[{place + 1}]", message=odd)


def _odd_diameters(case: Case) -> Iterator[Doubt]:
    """Diameters at which a toe distance is taken that no tire, rim or plate is likely to have."""
    tire, aim, display = 2.0 * case.wheel.tire_radius, case.aim, case.display
    for location, across in (
        ("aim.toe_gain_diameter", aim.toe_gain_diameter),
        ("display.diameter", display.diameter),
    ):
        if across is not None and not _likely_across(across / tire):
            odd = OddSize(kind="toe-across", found_mm=across, beside_mm=tire)
            yield Doubt(location=location, message=odd)


def _likely_across(of_tire: float) -> bool:
    return LEAST_ACROSS <= of_tire <= MOST_ACROSS and abs(of_tire - RADIUS) > ALIKE


def _odd_aim(case: Case) -> Iterator[Doubt]:
    band, ride = case.aim.band, case.ride
    if band is None:
        if not case.words.steers and case.aim.model_fields_set.isdisjoint(GAINS):
            yield Doubt(location="aim.toe_gain_deg_per_10mm", message=NotStated(kind="rear-aim"))
        return
    low, high = band[0][0], band[-1][0]
    if low > -ride.droop or high < ride.bump:
        odd = BandTooShort(from_mm=low, to_mm=high, used_from_mm=-ride.droop, used_to_mm=ride.bump)
        yield Doubt(location="aim.band", message=odd)


def _odd_shelf(case: Case) -> Iterator[Doubt]:
    """Stacks that no adjuster has, and shims that are thicker than any stack may be."""
    stack = case.outer_pivot.stack
    ends = (
        [one.height for one in buildable_stacks(case)] if stack is None else [stack.min, stack.max]
    )
    if unlikely_reach(ends[0], ends[-1]):
        odd = OddSize(kind="reach", found_mm=max(ends, key=abs))
        yield Doubt(location="shelf" if stack is None else "outer_pivot.stack", message=odd)
    if case.shelf is None or stack is None:
        return
    most = max(abs(stack.min), abs(stack.max))
    for place, shim in enumerate(case.shelf.shims, start=1):
        if shim.thickness > most:
            odd = OddSize(kind="too-thick", found_mm=shim.thickness, beside_mm=most)
            yield Doubt(location=f"shelf.shims[{place}].thickness", message=odd)


def _odd_pitman_ball(case: Case) -> Iterator[Doubt]:
    """A lifted truck whose pitman ball may only be raised."""
    places = case.rack.spacers
    lifted = case.steering_kind == "drag-link" and case.ride.lowered_by < 0.0
    if lifted and min(places) >= 0.0 < max(places):
        odd = OddSize(kind="raised-pitman", found_mm=max(places))
        yield Doubt(location="rack.spacers", message=odd)


def _odd_limits(case: Case) -> Iterator[Doubt]:
    joint = case.joint
    if tilt_limit_deg(joint.outer) is None:
        yield Doubt(location="joint.outer", message=NotStated(kind="tilt-limit"))
    if not case.obstacles:
        yield Doubt(location="obstacles", message=NotStated(kind="obstacles"))
    elif joint.rod_diameter == 0.0 or joint.housing_diameter == 0.0:
        yield Doubt(location="joint", message=NotStated(kind="sizes"))
    asks = case.words.inner_line and joint.inner.bolt_axis is None
    if asks and tilt_limit_deg(joint.inner) is not None:
        yield Doubt(location="joint.inner", message=NotStated(kind="inner-bolt-axis"))
    if case.words.steers and case.steering.rack_travel == 0.0:
        yield Doubt(location="steering.rack_travel", message=NotStated(kind="rack-travel"))


def _odd_locks(case: Case, measured: Evaluator) -> Iterator[Doubt]:
    full = case.steering.rack_travel
    if not case.words.steers or full == 0.0:
        return
    locks = measured.motion(Settings.single(), np.zeros(2), np.array([-full, full]))
    if (locks.reach != Reach.REACHED).any():
        odd = OddSize(kind="rack-too-far", found_mm=full)
        yield Doubt(location="steering.rack_travel", message=odd)


def _near_dead_centers(case: Case, measured: Evaluator) -> Iterator[Doubt]:
    """Where the steering jams as the car is, and what comes near to a dead center."""
    as_is = Settings.single()
    for stop in stops(margins(measured, as_is, follow="broken"), 0, case.side):
        if stop.kind == "lock":
            yield Doubt(location="steering.rack_travel", message=stop)
    for near in dead_centers(measured, as_is)[0]:
        if near.angle_deg < near.least_deg:
            yield Doubt(location="limits.transmission_angle_deg", message=near)


def _odd_alignment(case: Case) -> Iterator[Doubt]:
    alignment = case.alignment
    if alignment is not None and (alignment.most, alignment.most_deg) == (None, None):
        key = "most_deg" if alignment.by == "strut-bolts" else "most"
        yield Doubt(location=f"alignment.{key}", message=NotStated(kind="most-move"))


def _odd_obstacles(case: Case, measured: Evaluator) -> Iterator[Doubt]:
    for place, part in enumerate(case.obstacles, start=1):
        if isinstance(part, Rim):
            for odd in _odd_barrel(part):
                yield Doubt(location=f"obstacles[{place}]", message=odd)
        if isinstance(part, Rim | Disc) and (odd_size := _too_large(case, part)) is not None:
            yield Doubt(location=f"obstacles[{place}]", message=odd_size)
    as_is, straight = Settings.single(), np.zeros(1)
    travel = np.array([-case.ride.lowered_by])
    near = with_near_tubes(measured, as_is, (travel, straight))
    motion = measured.motion(as_is, travel, straight)
    for one in gaps(near, as_is, motion, straight):
        gap = float(one.value()[0, 0])
        if one.kind == "gap" and gap < 0.0:
            odd = OddSize(kind="overlaps", name=one.name, found_mm=-gap)
            yield Doubt(location="obstacles", message=odd)


def _too_large(case: Case, part: Rim | Disc) -> OddSize | None:
    """A rim or a disc that does not go into the tire, or a disc that does not go into the rim."""
    across = max(part.profile[1]) if isinstance(part, Rim) else part.diameter
    tire = 2.0 * case.wheel.tire_radius
    if across >= tire:
        return OddSize(kind="beyond-tire", found_mm=across, beside_mm=tire)
    rims = [max(one.profile[1]) for one in case.obstacles if isinstance(one, Rim)]
    if isinstance(part, Disc) and rims and across >= min(rims):
        return OddSize(kind="beyond-rim", found_mm=across, beside_mm=min(rims))
    return None


def _odd_barrel(rim: Rim) -> Iterator[OddSize]:
    narrowest, nominal = min(rim.profile[1]), rim.nominal_diameter
    inches = narrowest / MM_PER_INCH
    if nominal is not None and inches >= nominal:
        yield OddSize(kind="nominal", found_mm=narrowest, beside_mm=nominal * MM_PER_INCH)
    elif abs(inches - round(inches)) < WHOLE_INCH:
        yield OddSize(kind="whole-inches", found_mm=narrowest)
