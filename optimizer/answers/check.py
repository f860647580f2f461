"""What a case amounts to, and what in it looks wrong."""

import numpy as np

from geometry.vectors import norm
from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.comparison import compared
from optimizer.answers.doubts import doubts, doubts_at_rest
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.odd_points import arms_place, measured_caster_deg, measured_kingpin_deg
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.settings import Settings
from optimizer.car.subject import subject_of
from optimizer.limits.described import band_verdicts
from optimizer.models.case import Case
from optimizer.models.check import CheckResult, Doubt, Doubted, WheelCheck, WheelFigures
from optimizer.models.stacks import buildable_stacks
from optimizer.models.vehicle import Vehicle
from optimizer.options.space import raise_if_too_many
from optimizer.units import Side

TURNING = ("other-arms", "swapped-rod", "contradicted")  # with which no cure need be right


def check(vehicle: Vehicle) -> CheckResult:
    """Say what each wheel amounts to, what looks wrong, and how two of them differ.

    Raises
    ------
    CaseFileError
        The car can't be assembled.
    """
    refuse_impossible(vehicle)
    wheels = [_checked(case) for case in vehicle.wheels]
    if not vehicle.both_wheels:
        return CheckResult(subject=subject_of(vehicle), wheels=wheels)
    return CheckResult(
        subject=subject_of(vehicle),
        wheels=[
            one.model_copy(update={"doubts": _located_as_typed(one.doubts, one.side)})
            for one in wheels
        ],
        comparison=compared(vehicle),
    )


def doubted(vehicle: Vehicle) -> Doubted:
    """Say how much `check` doubts, as far as that is seen without moving the linkage."""
    found: dict[Doubt, None] = {}
    for case in vehicle.wheels:
        of_wheel = list(doubts_at_rest(case, _as_measured(case)))
        if vehicle.both_wheels:
            of_wheel = _located_as_typed(of_wheel, case.side)
        found |= dict.fromkeys(of_wheel)
    return Doubted(
        at_least=len(found), turning=[one for one in found if one.message.kind in TURNING]
    )


def _checked(case: Case) -> WheelCheck:
    aligned, alignment = alignment_of(case)
    measured = _as_measured(case)
    return WheelCheck(
        side=case.side,
        alignment=alignment_effect(alignment, case, Evaluator.of(aligned)),
        figures=_figures(measured),
        doubts=list(doubts(case, measured)),
    )


def _as_measured(case: Case) -> Evaluator:
    return Evaluator.of(case.model_copy(update={"alignment": None}))


def _located_as_typed(found: list[Doubt], side: Side) -> list[Doubt]:
    """Locate doubts about points in the table of the wheel, which has its own."""
    return [
        doubt.model_copy(update={"location": f"{side}.{doubt.location}", "side": side})
        if doubt.location.startswith("points")
        else doubt
        for doubt in found
    ]


def _figures(measured: Evaluator) -> WheelFigures:
    corner, case = measured.corner, measured.case
    change = measured.toe_change(Settings.single())
    stacks, spacers = len(buildable_stacks(case)), len(case.rack.spacers)
    raise_if_too_many(stacks * len(case.rack.places) * len(case.linkage_choices))
    steers = case.words.steers
    return WheelFigures(
        lowered_by_mm=measured.case.ride.lowered_by,
        arms=arms_place(measured),
        arm_mm=corner.steering_arm,
        rod_mm=float(norm(corner.outer_seat - corner.inner)),
        caster_deg=measured_caster_deg(measured) if steers else None,
        kingpin_inclination_deg=measured_kingpin_deg(measured) if steers else None,
        peak_toe_change_deg=float(np.degrees(np.abs(change).max())),
        band=band_verdicts(measured, change)[0],
        stacks=stacks,
        spacers=spacers,
    )
