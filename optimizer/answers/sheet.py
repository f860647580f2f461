"""The measuring sheet: how to prepare the car, which heights to read, what to expect."""

from collections.abc import Sequence
from typing import get_args

import numpy as np

from optimizer.answers.expected import expected_readings
from optimizer.answers.settling import settling
from optimizer.car.adjust import linkage_choice
from optimizer.car.alignment import aligned_apart, alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.linkage import also_listed, linkage_lengths
from optimizer.car.settings import Settings
from optimizer.car.subject import linkage_now, subject_of
from optimizer.errors import PivotwrightError
from optimizer.limits.cautions import cautions_of_parts, unjudged
from optimizer.limits.margins import margins
from optimizer.limits.stops import stops
from optimizer.limits.strength import rod_thread, strength_figures, stud_section
from optimizer.models.alignment import AlignmentAnswer
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.setting import Fitted, Strength
from optimizer.models.sheet import (
    BLANKS,
    AlignmentToSet,
    FitKind,
    GaugeKind,
    NotBuilt,
    RideHeight,
    SetUp,
    Sheet,
    Step,
    StepKind,
    ToFit,
    WheelSheet,
)
from optimizer.models.stacks import buildable_stacks, stack_of_height
from optimizer.models.vehicle import Vehicle
from optimizer.options.hardware import case_with_kit
from optimizer.wording.faults import rod_could_not_follow

STEPS: tuple[StepKind, ...] = get_args(StepKind)
OF_STEERING: tuple[StepKind, ...] = ("lock", "plates", "caster-sweep")


def sheet(
    vehicle: Vehicle,
    fitted: Sequence[Fitted],
    kind: GaugeKind,
    fit: FitKind = "asked",
    kit: Kit | None = None,
) -> Sheet:
    """Make the sheet for a car with something fitted.

    Parameters
    ----------
    vehicle : Vehicle
        The wheels measured.
    fitted : sequence of Fitted
        What is on each of them when it is swept.
    kind : str
        Gauge, a key of `optimizer.models.sheet.BLANKS`.
    fit : {"as-is", "best", "asked"}
        Why it is that.
    kit : Kit, optional
        What it is built of, in place of the car's own stack and shelf.

    Returns
    -------
    Sheet
        One row a height, in the steps of the trade.

    Raises
    ------
    PivotwrightError
        The tie rod can't follow the wheel with that setting, or the gauge reads both wheels of a
        beam axle, which bump steers alike, at once.
    """
    if kind == "toe-plates" and vehicle.case.steering_kind == "drag-link":
        raise PivotwrightError(
            "--kind toe-plates: reads both wheels together, and bump steers those of a beam axle "
            "the same way; take a gauge that reads one wheel, such as two-dial"
        )
    if kit is not None:
        vehicle = Vehicle(tuple(case_with_kit(case, kit) for case in vehicle.wheels))
    vehicle = Vehicle(
        tuple(
            also_listed(case, linkage_lengths(case, on_wheel))
            for case, on_wheel in zip(vehicle.wheels, fitted, strict=True)
        )
    )
    case, changed = vehicle.case, [] if fit == "as-is" else fitted
    steps = [step for step in STEPS if step not in OF_STEERING or case.words.steers]
    return Sheet(
        subject=subject_of(vehicle),
        kind=kind,
        prepare=[
            RideHeight(lowered_by_mm=case.ride.lowered_by),
            *(Step(kind=step) for step in steps),
        ],
        set_up=SetUp(kind=kind),
        blanks=list(BLANKS[kind]),
        wheels=[
            _sheet_of_wheel(vehicle, *of_wheel, fit, kit)
            for of_wheel in zip(vehicle.wheels, fitted, strict=True)
        ],
        cautions=[
            *(unjudged(vehicle.wheels) if changed else []),
            *cautions_of_parts(changed, linkage_now(vehicle)),
        ],
    )


def _sheet_of_wheel(
    vehicle: Vehicle, case: Case, fitted: Fitted, fit: FitKind, kit: Kit | None
) -> WheelSheet:
    place, apart = linkage_choice(case, fitted.model_dump()), aligned_apart(case)
    own_drop = case.linkage_choices[0].ball_joint_drop
    to_fit = ToFit(
        kind=fit,
        kit=None if kit is None or kit.is_idle([fitted.outer_drop_mm]) else kit.name,
        fitted=Fitted(**fitted.model_dump(include=set(Fitted.model_fields))),
        other_ball_joint=fitted.ball_joint_drop_mm != own_drop,
    )
    if len(apart) > 1:
        case, place = apart[place], 0
    case, alignment = alignment_of(case)
    evaluator = Evaluator.of(case)
    setting = Settings.single(
        fitted.outer_drop_mm, fitted.rack_raise_mm, place, fitted.rack_fore_aft_mm
    )
    if np.isnan(evaluator.toe_change(setting)).any():
        raise rod_could_not_follow(to_fit, subject_of(vehicle))
    longer = evaluator.rod_length_change(setting)
    drop = evaluator.corner.drop_along_stud(setting)
    missing = None
    if fit == "asked":
        to_fit, missing = _built(case, to_fit)
    return WheelSheet(
        side=case.side,
        fit=to_fit,
        not_built=missing,
        tie_rod_length_change_mm=longer[0],
        stud=stud_section(case),
        thread=rod_thread(case),
        settling=settling(evaluator, setting),
        stops=stops(margins(evaluator, setting, follow="broken"), 0, case.side),
        strength=Strength(**strength_figures(case, drop, longer).row(0)),
        align=None if alignment is None else _to_set(case, alignment),
        rows=expected_readings(evaluator, setting),
    )


def _built(case: Case, to_fit: ToFit) -> tuple[ToFit, NotBuilt | None]:
    """Name the pieces of a stack that was asked for, or the nearest that can be built.

    Neither where no stack is fitted, or the case names no hardware.
    """
    drop, limits = to_fit.fitted.outer_drop_mm, case.outer_pivot.stack
    if drop == 0.0 or (case.shelf is None and (limits is None or limits.step is None)):
        return to_fit, None
    stack = stack_of_height(case, drop)
    if stack is not None:
        fitted = to_fit.fitted.model_copy(update={"stack_mm": [*stack.pieces]})
        return to_fit.model_copy(update={"fitted": fitted}), None
    nearest = min(buildable_stacks(case), key=lambda one: abs(one.height - drop))
    return to_fit, NotBuilt(nearest_mm=nearest.height, stack_mm=[*nearest.pieces])


def _to_set(case: Case, answer: AlignmentAnswer) -> AlignmentToSet:
    return AlignmentToSet(
        side=case.side,
        camber_deg=answer.camber_deg,
        caster_deg=answer.caster_deg,
        move=answer.what_to_move,
    )
