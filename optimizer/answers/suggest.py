"""The main job: search, prove, rank, and say what to expect."""

from collections.abc import Iterator, Sequence

import numpy as np
from msgspec import Struct, field

from optimizer.answers.alignment_effect import alignment_effect
from optimizer.answers.check import doubted
from optimizer.answers.comparison import compared
from optimizer.answers.expected import expected_readings
from optimizer.answers.options import fitted_at
from optimizer.answers.ranked import (
    certificate_of,
    least_peak,
    over_cars,
    ranked_by,
    ranked_options,
    surer_than_first,
)
from optimizer.answers.settling import settling
from optimizer.answers.side_effects import side_effects, side_effects_between
from optimizer.answers.spaced_compared import spaced_compared
from optimizer.answers.uncertainty import uncertainty
from optimizer.answers.verdict import verdict
from optimizer.answers.worsened import worsened
from optimizer.car.diagnosis import diagnosis
from optimizer.car.evaluate import Evaluator
from optimizer.car.plausibility import refuse_impossible
from optimizer.car.settings import Settings
from optimizer.car.subject import linkage_now, subject_of
from optimizer.car.wanted import wanted_slope
from optimizer.limits.cautions import cautions, seat_cautions
from optimizer.limits.strength import rod_thread, stud_section
from optimizer.models.aim import Aim
from optimizer.models.cautions import Caution
from optimizer.models.comparison import TotalToe
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.kits import Kit
from optimizer.models.setting import Ranked
from optimizer.models.side_effects import SideEffects
from optimizer.models.suggest import (
    BoughtFor,
    Curves,
    KitFacts,
    NextShim,
    SuggestResult,
    WheelAnswer,
)
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import Option, OptionSpace, option_space
from optimizer.options.drawn import Criterion, DrawnCars
from optimizer.options.hardware import Hardware
from optimizer.options.shopping import best_purchase
from optimizer.options.study.run import Progress, StudyPlan, run_study


class SuggestPlan(Struct, frozen=True):
    """How to search and how much to show: `shown` options that fit, and fewer that don't.

    With `custom`, a pivot made to measure is sought too, within the room that the case states; with
    `pictures`, what a page draws is found out as well.
    """

    study: StudyPlan = field(default_factory=StudyPlan)
    shown: int = 6
    custom: bool = False
    pictures: bool = False
    criterion: Criterion = "nominal"


def suggest(
    vehicle: Vehicle,
    kits: Sequence[Kit] = (),
    plan: SuggestPlan | None = None,
    progress: Progress | None = None,
    *,
    currency: str | None = None,
) -> SuggestResult:
    """Find what to fit.

    Parameters
    ----------
    vehicle : Vehicle
        The wheels measured, their hardware and their limits.
    kits : sequence of Kit, optional
        Each takes the place of the stack or shelf of every wheel; the car's own hardware if empty.
    plan : SuggestPlan, optional
        Where the study is kept, how many options to show, and whether a custom pivot is sought.
    progress : callable, optional
        Called with (trials done, trials wanted).
    currency : str, optional
        That of the kits' prices, passed on.

    Returns
    -------
    SuggestResult
        Ranked options, those that fit first; `reasons` say what stops each of the others.

    Raises
    ------
    CaseFileError
        The car can't be assembled.
    """
    refuse_impossible(vehicle)
    plan = SuggestPlan() if plan is None else plan
    drawn = DrawnCars(plan.study.seed)
    over = over_cars(plan.criterion, vehicle, drawn)
    space = option_space(vehicle, kits, over)
    outcome = run_study(space, plan.study, plan.shown, progress)
    certificate = certificate_of(space, outcome)  # before more is solved than the search had to
    ranked = ranked_options(space, outcome.ranking, drawn)
    as_is = next(row for row in ranked if row.is_as_is)
    first = outcome.ranking.fitting[0] if outcome.ranking.fitting else None
    changed = next((row.rank for row in ranked if row.fits and not row.is_as_is), None)
    effects_of = None if changed is None else outcome.ranking.fitting[changed - 1]
    wheels = _wheels(vehicle, space, (first, effects_of), drawn)
    if plan.pictures:
        from optimizer.answers.pictures import with_pictures  # only pages draw

        wheels = with_pictures(wheels, space, outcome.ranking, plan.study.seed)
    least = least_peak(ranked) if over is not None else certificate.best_peak_toe_change_deg
    custom = _custom(space, plan, least, progress)
    next_shim = None if kits else _next_shim(space.hardware, least)
    told = _evaluators(space, space.as_is if first is None else first)
    by = None if over is None else ranked_by(vehicle, kits, space, outcome.ranking, drawn)
    measured_first = [] if by is None or by.nominal_first is None else [by.nominal_first]
    return SuggestResult(
        subject=subject_of(vehicle),
        verdict=verdict(
            [*ranked[:1], *measured_first, *ranked[1:]],
            as_is,
            least if by is None else None,
            _degrees(outcome.ranking.spread),
            told,
            next_shim,
            custom,
            None if over is None else over.kept,
        ),
        tolerance_deg=vehicle.case.aim.tolerance_deg,
        toe_gain_deg_per_10mm=float(np.degrees(wanted_slope(vehicle.case.aim))) * 10.0,
        as_is=as_is,
        ranked=ranked,
        certificate=certificate,
        ranked_by=by,
        surer=surer_than_first(ranked, vehicle.case.limits.kept_share) if over is None else None,
        wheels=wheels,
        side_effects_of=changed,
        comparison=compared(vehicle) if vehicle.both_wheels else None,
        total_toe=_total_toe(wheels) if vehicle.both_wheels else None,
        custom=custom,
        next_shim=next_shim,
        doubted=doubted(vehicle),
        kits=[facts_of(kit) for kit in kits],
        currency=currency,
        cautions=_cautions(
            vehicle,
            space,
            as_is if first is None else ranked[0],
            first,
            list(_steered(wheels, vehicle.case.aim)) if changed == 1 else [],
        ),
    )


def _wheels(
    vehicle: Vehicle,
    space: OptionSpace,
    told: tuple[Option | None, Option | None],
    drawn: DrawnCars,
) -> list[WheelAnswer]:
    """What is told of each wheel: with number 1, and what else the first change brings.

    With no such option, of the wheel left as it is.
    """
    first, changed = told
    shown = space.as_is if first is None else first
    hardware = space.hardware_of(shown)
    settings, evaluators = _settings(space, first), _evaluators(space, shown)
    effects = _side_effects(space, changed)
    return [
        WheelAnswer(
            side=evaluator.case.side,
            alignment=alignment_effect(hardware.alignments[k], vehicle.wheels[k], evaluator),
            diagnosis=diagnosis(space.wheels[k].evaluator),
            uncertainty=uncertainty(drawn.of(k, evaluator), fitted.rows(np.array([-1]))),
            curves=Curves(
                travel_mm=evaluator.travel.tolist(),
                wanted_deg=np.degrees(evaluator.wanted).tolist(),
                as_is_deg=_change_deg(space.wheels[k].evaluator, fitted, 0),
                best_deg=None if first is None else _change_deg(evaluator, fitted, -1),
            ),
            expected=[] if first is None else expected_readings(evaluator, fitted),
            side_effects=effects[k],
            spaced_parts=spaced_compared(vehicle.wheels[k]),
            stud=stud_section(evaluator.case),
            thread=rod_thread(evaluator.case),
            settling=settling(evaluator, fitted.rows(np.array([-1]))),
        )
        for k, (evaluator, fitted) in enumerate(zip(evaluators, settings, strict=True))
    ]


def _side_effects(space: OptionSpace, changed: Option | None) -> list[SideEffects]:
    """What else an option changes, if there is one."""
    settings, now = _settings(space, changed), [wheel.evaluator for wheel in space.wheels]
    then = now if changed is None else _evaluators(space, changed)
    if all(one.corner is other.corner for one, other in zip(now, then, strict=True)):
        return side_effects(now, settings)
    before, after = ([one.rows(np.array([row])) for one in settings] for row in (0, 1))
    return side_effects_between((now, before), (then, after))


def _settings(space: OptionSpace, option: Option | None) -> list[Settings]:
    """Of each wheel: left as it is, then with an option, if there is one."""
    left = [np.array([wheel.left]) for wheel in space.wheels]
    rows = (
        left
        if option is None
        else [np.append(*pair) for pair in zip(left, option.rows, strict=True)]
    )
    return [
        wheel.settings.rows(of_wheel) for wheel, of_wheel in zip(space.wheels, rows, strict=True)
    ]


def _evaluators(space: OptionSpace, option: Option) -> list[Evaluator]:
    """Evaluator of each wheel with the hardware of an option."""
    return [
        wheel.parts[wheel.place(row)[0]].evaluator
        for wheel, row in zip(space.wheels, option.rows, strict=True)
    ]


def _degrees(angle: float | None) -> float | None:
    return None if angle is None else float(np.degrees(angle))


def _change_deg(evaluator: Evaluator, settings: Settings, row: int) -> list[float]:
    change = np.degrees(evaluator.toe_change(settings.rows(np.array([row])))[0])
    return [float(angle) for angle in change]


def _total_toe(wheels: Sequence[WheelAnswer]) -> TotalToe:
    """Toe change of both wheels as they are and with number 1."""
    left, right = (one.curves for one in wheels)
    now = np.array([left.as_is_deg, right.as_is_deg])
    then = None
    if left.best_deg is not None and right.best_deg is not None:
        then = np.array([left.best_deg, right.best_deg])
    return TotalToe(
        travel_mm=left.travel_mm,
        total_as_is_deg=now.sum(axis=0).tolist(),
        difference_as_is_deg=(now[0] - now[1]).tolist(),
        total_best_deg=None if then is None else then.sum(axis=0).tolist(),
        difference_best_deg=None if then is None else (then[0] - then[1]).tolist(),
    )


def _custom(
    space: OptionSpace,
    plan: SuggestPlan,
    least_deg: float | None,
    progress: Progress | None,
) -> CustomPivot | None:
    if not plan.custom:
        return None
    from optimizer.answers.custom import custom_pivot  # brings highspy

    return custom_pivot(space, plan.study, least_deg, progress)


def _next_shim(own: Sequence[Hardware], least_deg: float | None) -> NextShim | None:
    best_peak = np.inf if least_deg is None else float(np.radians(least_deg))
    found = best_purchase(own, best_peak)
    if found is None:
        return None
    wheels = fitted_at(found.space, found.option)
    return NextShim(
        peak_now_deg=least_deg,
        peak_then_deg=float(np.degrees(found.peak)),
        wheels=[
            BoughtFor(**dict(wheel), thickness_mm=shim)
            for wheel, shim in zip(wheels, found.shims, strict=True)
        ],
    )


def _steered(wheels: Sequence[WheelAnswer], aim: Aim) -> Iterator[Caution]:
    """What number 1 makes worse in a turn."""
    for wheel in wheels:
        for one in worsened(wheel.side, wheel.side_effects, aim):
            yield Caution(kind=one.kind, worsened=one)


def _cautions(
    vehicle: Vehicle,
    space: OptionSpace,
    told: Ranked,
    first: Option | None,
    steered: list[Caution],
) -> list[Caution]:
    """What fitting number 1 calls for; its kit's own cautions first, then turns."""
    fitted = space.hardware_of(space.as_is if first is None else first)
    of_kit = [] if fitted.kit is None else kit_cautions(vehicle, fitted.kit, fitted)
    drilled = any(caution.kind == "taper-drilled" for caution in of_kit)
    others = cautions(told.wheels, linkage_now(vehicle))
    return [*of_kit, *steered, *(one for one in others if not (drilled and one.kind == "taper"))]


def kit_cautions(vehicle: Vehicle, kit: Kit, fitted: Hardware) -> list[Caution]:
    """Cautions about what fitting a kit undoes for good, and what can't be judged with it."""
    unknown = vehicle.case.stud is not None and fitted.cases[0].stud is None
    seat = seat_cautions(kit, vehicle.case.stud)
    return [*seat, *([Caution(kind="stud-unknown", kit=kit.name)] if unknown else [])]


def facts_of(kit: Kit) -> KitFacts:
    """What a kit is held by, costs and weighs."""
    return KitFacts(
        name=kit.name,
        seat=kit.seat,
        irreversible=kit.irreversible,
        price=kit.price,
        mass_g=kit.mass_g,
    )
