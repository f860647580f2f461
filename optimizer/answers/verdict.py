"""Where an answer stands, and what would meet a tolerance that it misses."""

from collections.abc import Iterator, Sequence
from itertools import chain
from typing import Literal

import numpy as np
from msgspec.structs import replace

from optimizer.car.adjust import linkage_choice
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.subject import stud_way
from optimizer.car.wanted import wanted_slope
from optimizer.limits.described import described_settings
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.custom_pivot import CustomPivot
from optimizer.models.setting import Fitted, Option, Ranked, WheelSetting
from optimizer.models.stops import Stop
from optimizer.models.suggest import NextShim
from optimizer.models.verdict import Placed, Verdict, WayOut
from optimizer.options.ideal_stacks import with_best_stack
from optimizer.options.rod_lengths import FINE_MM, best_rod, out_of_reach

SAME = 6  # decimals of a millimeter to which heights of a pivot are alike


def verdict(
    ranked: Sequence[Ranked],
    as_is: Ranked,
    least_deg: float | None,
    tape_deg: float | None,
    evaluators: Sequence[Evaluator],
    shim: NextShim | None,
    custom: CustomPivot | None,
    kept_share: float | None,
) -> Verdict:
    """Hold number 1, or the car left as it is where nothing fits, against the tolerance.

    Parameters
    ----------
    ranked : sequence of Ranked
        What was ranked, in order.
    as_is : Ranked
        The car left as it is.
    least_deg : float, optional
        Least peak of anything that fits.
    tape_deg : float, optional
        The tape's spread, where number 1 is chosen for the work that it saves.
    evaluators : sequence of Evaluator
        One a wheel, with the hardware that is told of.
    shim, custom : NextShim, CustomPivot, optional
        What a purchase or a pivot made to measure would bring, as far as they were sought.
    kept_share : float, optional
        Share of the possible cars in which every limit is to be kept, where these rank.
    """
    first = ranked[0] if ranked[0].fits else None
    told, tolerance = first or as_is, evaluators[0].case.aim.tolerance_deg
    meets = first is not None and all(map(_good_enough, first.wheels))
    pairs = zip(told.wheels, as_is.wheels, evaluators, strict=True)
    ways = () if meets else _ways_out(told, ranked, evaluators, shim, custom)
    return Verdict(
        kit=told.kit,
        kit_idle=told.kit_idle,
        leave=told.is_as_is,
        fits=first is not None,
        meets=meets,
        peak_deg=None if first is None else first.peak_toe_change_deg,
        least_deg=least_deg,
        tape_deg=tape_deg,
        tolerance_deg=tolerance,
        from_gain=wanted_slope(evaluators[0].case.aim) != 0.0,
        bands=[wheel.band for wheel in told.wheels if wheel.band is not None],
        wheels=[_placed(wheel, now, one.case) for wheel, now, one in pairs],
        ways_out=[*ways],
        stops=[] if first else ranked[0].reasons,
        kept_share=kept_share,
    )


def _good_enough(wheel: WheelSetting) -> bool:
    """Whether a wheel keeps the wanted band, or the tolerance where there is none."""
    return wheel.meets_tolerance if wheel.band is None else wheel.band.within


def _placed(wheel: WheelSetting, now: WheelSetting, case: Case) -> Placed:
    return Placed(
        **_fitted(wheel).model_dump(),
        of_arm=side_of_arm(wheel.outer_drop_mm, case),
        other_ball_joint=wheel.ball_joint_drop_mm != now.ball_joint_drop_mm,
    )


def side_of_arm(outer_drop_mm: float, case: Case) -> Literal["under", "over"] | None:
    """On which side of its arm an outer joint with a stack sits; see `Placed`."""
    way = stud_way(case)
    if outer_drop_mm == 0.0 or way == "level":
        return None
    return "over" if (outer_drop_mm > 0.0) == (way == "up") else "under"


def _fitted(wheel: Fitted) -> Fitted:
    return Fitted.model_validate({name: getattr(wheel, name) for name in Fitted.model_fields})


def _ways_out(
    told: Option,
    ranked: Sequence[Ranked],
    evaluators: Sequence[Evaluator],
    shim: NextShim | None,
    custom: CustomPivot | None,
) -> Iterator[WayOut]:
    """Ways out in order; the first that meets the tolerance without breaking a limit ends them.

    What can be built but for a limit is always told, so is a pivot made to measure that was sought.
    """
    aim = evaluators[0].case.aim
    yield from _first_that_meets("listed", [row for row in ranked if not row.reasons])
    if shim is not None and aim.band is None and shim.peak_then_deg <= aim.tolerance_deg:
        yield WayOut(
            kind="shim",
            peak_deg=shim.peak_then_deg,
            meets=True,
            wheels=[_fitted(wheel) for wheel in shim.wheels],
            shims_mm=[wheel.thickness_mm for wheel in shim.wheels],
        )
    limited = list(_first_that_meets("limit", [row for row in ranked if row.reasons]))
    yield from limited
    stack = _beyond_the_hardware("stack", told, evaluators)
    if stack is not None and stack.meets and not any(_alike(stack, one) for one in limited):
        yield stack
    if stack is not None and (not stack.meets or stack.stops):
        rod = _beyond_the_hardware("rod", told, evaluators)
        yield from () if rod is None else (rod,)
    if custom is not None and custom.fits:
        met = all(map(_good_enough, custom.wheels))
        yield WayOut(kind="custom", peak_deg=custom.peak_toe_change_deg, meets=met)


def _alike(one: WayOut, other: WayOut) -> bool:
    """Whether two ways fit the same, whatever it is built of."""
    drops, others = (
        [
            wheel.model_copy(
                update={"outer_drop_mm": round(wheel.outer_drop_mm, SAME), "stack_mm": []}
            )
            for wheel in way.wheels
        ]
        for way in (one, other)
    )
    return drops == others


def _first_that_meets(
    kind: Literal["listed", "limit"], options: Sequence[Ranked]
) -> Iterator[WayOut]:
    """The first of some options whose every wheel is good enough, if there is one."""
    for option in options:
        if all(map(_good_enough, option.wheels)):
            yield WayOut(
                kind=kind,
                kit=option.kit,
                peak_deg=option.peak_toe_change_deg,
                meets=True,
                wheels=[_fitted(wheel) for wheel in option.wheels],
                stops=option.reasons,
            )
            return


def _beyond_the_hardware(
    kind: Literal["stack", "rod"], told: Option, evaluators: Sequence[Evaluator]
) -> WayOut | None:
    """Stack of any height, or rod of any length too, of every wheel that misses the tolerance.

    None where the linkage can't follow the wheel with it.  It names no kit where a stack is none
    that was built of it.
    """
    wheels, longer, peaks, met, found = [], [], [], list[bool](), list[list[Stop]]()
    built, far = True, False
    for wheel, evaluator in zip(told.wheels, evaluators, strict=True):
        settings = Settings.single(
            wheel.outer_drop_mm,
            wheel.rack_raise_mm,
            linkage_choice(evaluator.case, _fitted(wheel).model_dump()),
            wheel.rack_fore_aft_mm,
        )
        moved: float | None = None
        if not (wheel.fits and _good_enough(wheel)):
            step = FINE_MM[evaluator.case.units]
            if kind == "rod":
                settings, moved = best_rod(evaluator, settings, step)
                far = far or out_of_reach(evaluator, moved)
            else:
                settings = with_best_stack(evaluator, settings)
            settings = replace(settings, outer_drop=np.round(settings.outer_drop / step) * step)
        if not np.isfinite(evaluator.toe_change(settings)).all():
            return None
        stack = float(settings.outer_drop[0])
        pieces = wheel.stack_mm if stack == wheel.outer_drop_mm else []
        built = built and stack == wheel.outer_drop_mm
        changed = {"outer_drop_mm": stack, "stack_mm": pieces}
        wheels.append(_fitted(wheel).model_copy(update=changed))
        longer.append(moved)
        (one,) = described_settings(
            evaluator, settings, margins(evaluator, settings, follow="broken"), [tuple(pieces)]
        )
        peaks.append(one.peak_toe_change_deg)
        met.append(_good_enough(one))
        found.append(one.reasons)
    return WayOut(
        kind=kind,
        kit=told.kit if built else None,
        peak_deg=max(peaks),
        meets=all(met),
        wheels=wheels,
        longer_mm=longer,
        far=far,
        stops=[*chain.from_iterable(found)],
    )
