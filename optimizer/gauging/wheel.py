"""One wheel that was swept: its sweeps, the car that they are of, and what it shares."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.errors import PivotwrightError
from optimizer.gauging.sides import Sides, compared
from optimizer.gauging.swept import Swept, swept
from optimizer.gauging.swept_linkage import case_with_fitted, fitted_linkage
from optimizer.models.aim import Aim
from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.case import Case
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.readings import Readings
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import Shared
from optimizer.units import Side
from optimizer.wording.refused_readings import refused

FITTED = ("outer_drop", "rack_raise")  # what a sweep must say beside a case
OTHER_SIDE: dict[Side, Side] = {"left": "right", "right": "left"}


class SweptWheel(Struct, frozen=True, dict=True):
    """A wheel with its sweeps, in the order given; `others` are those of the other wheel.

    `place` is that of the wheel in its vehicle, `measured` the car as measured by tape and
    `evaluator` that with its alignment set, both None where no points are known; `car` holds what
    the first-order remedies ask for.  `shared` is what the next stack must go with, where both
    wheels are measured.
    """

    side: Side
    sweeps: list[Swept]
    others: list[Swept]
    aim: Aim
    car: MeasuredCar
    measured: Case | None = None
    evaluator: Evaluator | None = None
    alignment: AlignmentAnswer | None = None
    shared: Shared | None = None
    place: int = 0

    @property
    def last(self) -> Swept:
        """The sweep that is diagnosed."""
        return self.sweeps[-1]

    @cached_property
    def sides(self) -> Sides | None:
        """Last sweeps of both wheels compared; None where only one was swept."""
        if not self.others:
            return None
        return compared(self.last, self.others[-1], self.evaluator, self.car, OTHER_SIDE[self.side])


def swept_wheels(vehicle: Vehicle | None, readings: Sequence[Readings]) -> list[SweptWheel]:
    """Sort sweeps by wheel.

    Where both wheels are measured, each has its own sweeps; one that was not swept is left out.
    Otherwise the wheel of the case is judged, or without one that of the first sweep, and the other
    one is its mirror image; sweeps of the other alone stand for it.

    Raises
    ------
    PivotwrightError
        There is no sweep, or one does not say of which of two measured wheels it is or, beside a
        case, what was fitted, is given twice, is of the wheel of a beam axle that is not measured,
        or can't be what its file says.
    """
    if not readings:
        raise PivotwrightError("readings: must hold one sweep or more")
    _refuse_the_same_rows(readings)
    if vehicle is None:
        return _wheels_without_points(readings)
    asked = FITTED if vehicle.case.rack.fore_aft == (0.0,) else (*FITTED, "rack_fore_aft")
    for one in readings:
        unsaid = [key for key in asked if getattr(one, key) is None]
        if unsaid:
            raise refused(one, "fitted-unsaid", keys=" and ".join(unsaid))
    cases = [case_with_fitted(case, readings) for case in vehicle.wheels]
    if not vehicle.both_wheels:
        return [_wheel(cases[0], readings)]
    for one in readings:
        if one.side is None:
            raise refused(one, "no-side")
        if one.turn_toe_out is not None:
            raise refused(one, "both-measured")
    shared = _settled(cases[0], readings[-1])
    return [
        replace(_wheel(case, own, shared), place=place)
        for place, case in enumerate(cases)
        if (own := [one for one in readings if one.side == case.side])
    ]


def _refuse_the_same_rows(readings: Sequence[Readings]) -> None:
    """Stop where two sweeps of a wheel are one: it would count twice."""
    for place, one in enumerate(readings):
        for other in readings[:place]:
            if (one.side, one.readings) == (other.side, other.readings):
                raise refused(one, "same-rows", other=other.name)


def _wheels_without_points(readings: Sequence[Readings]) -> list[SweptWheel]:
    """The wheel of the first sweep, compared with the other one if that was swept, and that one."""
    side, aim = readings[0].side or "left", _aim(readings) or Aim()
    sweeps, others = _by_side([swept(one, None) for one in readings], side)
    car = _car_said(sweeps) or _car_said(others) or MeasuredCar()
    first = SweptWheel(side, sweeps, others, aim, car)
    if not others:
        return [first]
    return [first, SweptWheel(OTHER_SIDE[side], others, [], aim, _car_said(others) or car)]


def _car_said(sweeps: Sequence[Swept]) -> MeasuredCar | None:
    """What the last sweep that says anything of its car says."""
    said = (one.readings.car for one in reversed(sweeps))
    return next((car for car in said if car != MeasuredCar()), None)


def _wheel(
    measured: Case, readings: Sequence[Readings], shared: Shared | None = None
) -> SweptWheel:
    case, alignment = alignment_of(measured)
    aim = _aim(readings) or case.aim
    evaluator = Evaluator.of(case.model_copy(update={"aim": aim}))
    if evaluator.corner.on_beam:
        _refuse_both_wheels(readings, case.side)
    sweeps, others = _by_side([swept(one, evaluator) for one in readings], case.side)
    if others and evaluator.corner.on_beam:
        other = others[0].readings
        raise refused(other, "other-end", side=OTHER_SIDE[case.side], measured=case.side)
    if not sweeps:  # a symmetric car: the other wheel is this one's mirror image
        sweeps, others = others, []
    car = _car_of(evaluator)
    return SweptWheel(case.side, sweeps, others, aim, car, measured, evaluator, alignment, shared)


def _refuse_both_wheels(readings: Sequence[Readings], side: Side) -> None:
    """Stop where a gauge reads both wheels of a beam axle, which steer together, at once."""
    for one in readings:
        key = "total = true" if one.total else f'kind = "{one.kind}"'
        if one.total or one.kind == "toe-plates":
            raise refused(one, "both-on-a-beam", key=key, side=side)


def _by_side(sweeps: list[Swept], side: Side) -> tuple[list[Swept], list[Swept]]:
    """Sweeps of one wheel, and those of the other."""
    own = [one for one in sweeps if (one.readings.side or side) == side]
    return own, [one for one in sweeps if (one.readings.side or side) != side]


def _aim(readings: Sequence[Readings]) -> Aim | None:
    """Aim of the last sweep that has one."""
    return next((one.wanted for one in reversed(readings) if one.wanted is not None), None)


def _car_of(evaluator: Evaluator) -> MeasuredCar:
    """Lengths for the first-order remedies, from the points."""
    corner = evaluator.corner
    return MeasuredCar(
        rod_length=float(np.hypot(*(corner.outer_seat - corner.inner)[1:])),
        steering_arm=corner.steering_arm,
        axle=evaluator.case.car.axle,
        steering=evaluator.case.steering_kind,
        arms="ahead" if corner.arms_ahead else "behind",
        tire_diameter=2.0 * evaluator.case.wheel.tire_radius,
    )


def _settled(case: Case, last: Readings) -> Shared | None:
    """What both wheels keep; nothing where each has its inner bracket to itself."""
    if not case.words.steers:
        return None
    return Shared(last.fitted_raise, fitted_linkage(last, case), last.rack_fore_aft or 0.0)
