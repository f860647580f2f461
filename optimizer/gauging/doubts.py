"""What may not be what it seems in the sweeps of a wheel: asked about, never corrected."""

from collections.abc import Iterator
from typing import Literal

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.gauging.between import contradictions
from optimizer.gauging.conversions import gauge_of
from optimizer.gauging.questions import questions, questions_without_points
from optimizer.gauging.stack_doubt import within_reach
from optimizer.gauging.swept import Swept
from optimizer.gauging.wheel import SweptWheel
from optimizer.models.answer import Fact
from optimizer.models.case import Case
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.questions import (
    OF_THE_GAUGE,
    IdleShelf,
    NotBuilt,
    NotToe,
    OtherArms,
    OtherAxle,
    OtherTravel,
    OtherWheel,
    PlayFelt,
    QuestionKind,
)
from optimizer.models.readings import Readings
from optimizer.models.stacks import buildable_stacks

LARGE: tuple[QuestionKind, ...] = ("large-change", "large-change-in-degrees")
LARGER = 2.0  # than the points foretell, for a change of toe to be asked about as large
MEANINGLESS = 0.5  # of the whole swing, for play that leaves nothing of a curve


def doubts(wheel: SweptWheel) -> Iterator[Fact]:
    """Everything that may not be what it seems, of all sweeps."""
    for one in wheel.sweeps + wheel.others:
        yield from _play(one)
    every = wheel.sweeps + wheel.others
    for one in every:
        for asked in questions(one.readings, one.curve):
            if asked.kind in LARGE and _foretold(one, wheel.evaluator):
                continue
            named = len(every) > 1 and asked.kind not in OF_THE_GAUGE
            yield asked.model_copy(update={"sweep": one.readings.name}) if named else asked
    for found in contradictions(wheel.sweeps, wheel.car):
        if found.kind != "odd-worth" or wheel.evaluator is None:  # points tell it better
            yield found
    for one in wheel.sweeps:
        if wheel.evaluator is None:
            yield from questions_without_points(one.readings)
        else:
            yield from _mismatches(one, wheel.evaluator.case, wheel.car)
    if wheel.evaluator is not None:
        yield from _other_wheel(wheel.sweeps[0].readings, wheel.evaluator.case)


def _foretold(one: Swept, points: Evaluator | None) -> bool:
    """Whether the points foretell about as large a change of toe as was read."""
    by_points = [0.0] if points is None else np.nan_to_num(np.abs(points.toe_change(one.fitted)))
    return bool(np.abs(one.curve.toe - one.curve.zero).max() < LARGER * np.max(by_points))


def _play(one: Swept) -> Iterator[PlayFelt]:
    """Weigh the play that was felt against what the sweep shows."""
    toe = one.curve.toe[~one.curve.apart]
    swing = float(np.degrees(np.ptp(toe)))
    for of, play in one.loose.items():
        by_deg = float(np.degrees(play))
        kind: Literal["meaningless", "noise"] = (
            "meaningless" if by_deg >= MEANINGLESS * swing else "noise"
        )
        yield PlayFelt(kind=kind, of=of, by_deg=by_deg, swing_deg=swing)
    if one.readings.rack_play is not None and "inner" not in one.loose:
        yield PlayFelt(kind="arm-unknown", of="inner", swing_deg=swing)


def _mismatches(one: Swept, case: Case, car: MeasuredCar) -> Iterator[Fact]:
    """What a sweep says otherwise than its case; `car` are the lengths that the points give."""
    yield from _not_toe(one)
    said = one.readings.car
    if said.axle not in (None, car.axle) and car.axle is not None:
        yield OtherAxle(said=said.axle, measured=car.axle)
    if said.arms is not None and car.arms is not None and said.arms != car.arms:
        yield OtherArms(said=said.arms, measured=car.arms)
    yield from _other_travel(one.readings, case)
    yield from _not_built(one.readings, case)
    if one.readings.shelf is not None:
        yield IdleShelf()


def _not_built(readings: Readings, case: Case) -> Iterator[NotBuilt]:
    """What was fitted by the file, but lies beyond anything that the case lists."""
    stacks = [0.0, *(one.height for one in buildable_stacks(case))]
    if case.outer_pivot.stack is None and case.shelf is None:  # any kit may have been tried
        stacks.append(readings.fitted_drop)
    spacers = [0.0, *case.rack.spacers]
    fitted: tuple[tuple[Literal["stack", "rack"], float, list[float]], ...] = (
        ("stack", readings.fitted_drop, stacks),
        ("rack", readings.fitted_raise, spacers),
    )
    for of, typed, listed in fitted:
        if not within_reach(typed, listed):
            yield NotBuilt(
                of=of,
                sweep=readings.name,
                units=readings.units,
                typed_mm=typed,
                least_mm=min(listed),
                most_mm=max(listed),
            )


def _other_wheel(readings: Readings, case: Case) -> Iterator[OtherWheel]:
    """Readings of one wheel that correct the points of the other."""
    if readings.side not in (None, case.side):
        yield OtherWheel(said=readings.side, measured=case.side)


def _not_toe(one: Swept) -> Iterator[NotToe]:
    """How much of what a fixed gauge shows is no toe, where the model could tell."""
    if not one.not_toe.any():
        return
    worst = int(np.argmax(np.abs(one.not_toe)))
    shown = one.seen - one.seen[np.argmin(np.abs(one.curve.travel))]
    gauge = gauge_of(one.readings)
    yield NotToe(
        units=one.readings.units,
        fore_aft=gauge.fixed == "wall",
        tipping=gauge.behind > 0.0,
        travel_mm=one.curve.travel[worst],
        shown_deg=np.degrees(shown[worst]),
        no_toe_deg=np.degrees(one.not_toe[worst]),
    )


def _other_travel(readings: Readings, case: Case) -> Iterator[OtherTravel]:
    used, ride = readings.used, case.ride
    if used is None or (used.bump, used.droop) == (ride.bump, ride.droop):
        return
    yield OtherTravel(
        units=case.units,
        bump_mm=used.bump,
        droop_mm=used.droop,
        case_bump_mm=ride.bump,
        case_droop_mm=ride.droop,
    )
