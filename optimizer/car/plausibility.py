"""Whether a readable case can be a car: what can't be assembled stops every answer."""

from collections.abc import Iterator
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Reach, toe_held_motion
from geometry.toe_held import HALF_RANGE
from geometry.vectors import Array
from optimizer.car.alignment import AlignmentError, aligned_apart, aligned_case
from optimizer.car.evaluate import STEPS_PER_STROKE, Evaluator, scored_travel
from optimizer.car.odd_points import odd_points
from optimizer.car.settings import Settings
from optimizer.car.wanted import wanted_change
from optimizer.errors import CaseFileError, Fault
from optimizer.models.case import Case
from optimizer.models.stops import Ends
from optimizer.models.tables import grade_faults
from optimizer.models.vehicle import Vehicle
from optimizer.wording.faults import (
    no_ride_height,
    no_such_travel,
    no_toe_at_ride_height,
    odd_beside,
    on_one_wheel,
    with_extension,
)

ENDS: dict[Reach, Ends] = {
    Reach.ARMS_END: "arms",
    Reach.ROD_ENDS: "rod",
    Reach.JAMMED: "line",
}
EITHER_WAY_DEG = float(np.degrees(HALF_RANGE))
NARROWINGS = 4  # to a twelfth each: of a stroke of 100 mm less than 0.01 mm is left
Flags = NDArray[np.bool_]
STROKES: tuple[tuple[Literal["bump", "droop"], float], ...] = (("bump", 1.0), ("droop", -1.0))


def refuse_impossible(vehicle: Vehicle, *, used_travel: bool = True) -> None:
    """Stop where the linkage can't be assembled, at ride height or over the used travel.

    So does a stud's grade that the tables don't have.

    Raises
    ------
    CaseFileError
        Names the key, what it says, and how far the linkage really goes.
    """
    faults = _impossible_of_any(vehicle, used_travel=used_travel)
    if faults:
        raise CaseFileError(vehicle.name, faults)


def _impossible_of_any(vehicle: Vehicle, *, used_travel: bool) -> list[Fault]:
    """Faults of every wheel, those that two share once and the others with their wheel."""
    of_each = [list(_impossible(case, used_travel=used_travel)) for case in vehicle.wheels]
    if not vehicle.both_wheels:
        return of_each[0]
    faults = [
        fault.inside(case.side)
        if fault.location == "points"
        else fault
        if fault in others
        else on_one_wheel(fault, case.side)
        for case, found, others in zip(vehicle.wheels, of_each, of_each[::-1], strict=True)
        for fault in found
    ]
    return list(dict.fromkeys(faults))


def _impossible(case: Case, *, used_travel: bool) -> Iterator[Fault]:
    yield from grade_faults(case.stud, case.units)
    bare = case.model_copy(update={"alignment": None})
    found = list(_out_of_reach(bare, used_travel=used_travel and case.alignment is None))
    if found:
        odd = [doubt.location for doubt in odd_points(Evaluator.of(bare))]
        found = [odd_beside(fault, [name for name in odd if "points." in name]) for fault in found]
    apart = iter([] if case.alignment is None else aligned_apart(case))
    while not found and (one := next(apart, None)) is not None:
        found = _not_aligned(one, used_travel=used_travel)
        if len(case.lower_ball_joint.drop) > 1:
            found = [with_extension(fault, one) for fault in found]
    yield from found


def _not_aligned(case: Case, *, used_travel: bool) -> list[Fault]:
    try:
        return list(_out_of_reach(aligned_case(case), used_travel=used_travel))
    except AlignmentError as error:
        return [error.fault]


def _out_of_reach(case: Case, *, used_travel: bool) -> Iterator[Fault]:
    ride, home = case.ride, np.zeros(1)
    evaluator, choices = Evaluator.of(case, home), np.arange(len(case.linkage_choices))
    every = Settings(np.zeros(choices.size), np.zeros(choices.size), choices)
    travel = scored_travel(ride.bump, ride.droop) if used_travel else home
    reach, turns = evaluator.motion(every, travel).reach, _turns(evaluator, every, travel)
    at_home = (told[:, travel == 0.0].ravel().tolist() for told in (reach, turns))
    for code, turns_there in zip(*at_home, strict=True):
        standing = _cannot_stand(case, Reach(code), turns=turns_there)
        if standing is not None:
            yield standing
            return
    led = (reach == Reach.REACHED) & turns
    for key, sign in STROKES:
        stroke = sign * travel >= 0.0
        outward = travel[stroke][:: int(sign)]
        ends = [
            (_end_of_stroke(evaluator, every.rows(choices[[choice]]), outward), choice)
            for choice in np.flatnonzero(~led[:, stroke].all(axis=1)).tolist()
        ]
        if ends:
            yield no_such_travel(case, key, *min(ends), EITHER_WAY_DEG)


def _end_of_stroke(evaluator: Evaluator, as_is: Settings, outward: Array) -> float:
    """How far the wheel goes along heights from ride height outward, before it is lost. [mm]."""
    for _ in range(NARROWINGS):
        first = max(1, int(np.argmin(_led(evaluator, as_is, outward))))
        outward = np.linspace(outward[first - 1], outward[first], STEPS_PER_STROKE + 1)
    return float(np.abs(outward[0]))


def _cannot_stand(case: Case, at_home: Reach, *, turns: bool) -> Fault | None:
    """What keeps a car from its ride height, or its wheel from being aligned there."""
    if at_home in ENDS:
        return no_ride_height(case, ENDS[at_home])
    return None if turns else no_toe_at_ride_height(case, EITHER_WAY_DEG)


def _led(evaluator: Evaluator, as_is: Settings, travel: Array) -> Flags:
    """Whether each goes to each travel (T,), and leaves room there for a search of toe, (M, T)."""
    goes: Flags = evaluator.motion(as_is, travel).reach == Reach.REACHED
    return goes & _turns(evaluator, as_is, travel)


def _turns(evaluator: Evaluator, as_is: Settings, travel: Array) -> Flags:
    """Whether the wheel can be turned by `HALF_RANGE` either way at each travel (T,), (M, T)."""
    toes = evaluator.static_toe + wanted_change(evaluator.case.aim, travel)
    either_way = toes + HALF_RANGE * np.array([-1.0, 1.0])[:, None, None]
    heights = np.broadcast_to(travel + evaluator.lowered_by, (2, len(as_is), travel.size))
    turned = toe_held_motion(evaluator.linkage(as_is), heights, evaluator.corner.spin, either_way)
    turns: Flags = (turned.reach == Reach.REACHED).all(axis=0)
    return turns
