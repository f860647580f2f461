"""Settings described in full: figures of the toe curve, margins, and what stops them."""

from collections.abc import Sequence

import numpy as np

from geometry.toe_curve import toe_curve
from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.car.wanted import band_verdict
from optimizer.limits.dead_centers import dead_centers
from optimizer.limits.margins import Margin
from optimizer.limits.stops import smallest, stops, tightest
from optimizer.limits.strength import strength_figures
from optimizer.models.case import Case
from optimizer.models.setting import BandVerdict, Fitted, WheelSetting


def described_settings(
    evaluator: Evaluator,
    settings: Settings,
    margins: list[Margin],
    stacks: Sequence[tuple[float, ...]],
) -> list[WheelSetting]:
    """Describe candidates, given their `margins` and the pieces of their `stacks`. [mm]."""
    change = evaluator.toe_change(settings)
    figures = toe_curve(evaluator.travel, change)
    verdicts = band_verdicts(evaluator, change)
    length_change = evaluator.rod_length_change(settings)
    drop = evaluator.corner.drop_along_stud(settings)
    strength = strength_figures(evaluator.case, drop, length_change)
    tolerance = evaluator.tolerance
    side, diameter = evaluator.case.side, evaluator.case.toe_diameter
    near = dead_centers(evaluator, settings)
    described = []
    for k, pieces in enumerate(stacks):
        reasons = stops(margins, k, side)
        described.append(
            WheelSetting(
                side=side,
                peak_toe_change_deg=np.degrees(figures.peak[k]),
                rms_toe_change_deg=np.degrees(figures.rms[k]),
                toe_slope_deg_per_10mm=np.degrees(figures.slope[k]) * 10.0,
                toe_slope_in_per_in=figures.slope[k] * diameter,
                toe_curvature_deg=np.degrees(figures.curvature[k]),
                toe_remainder_deg=np.degrees(figures.remainder[k]),
                outer_drop_mm=settings.outer_drop[k],
                rack_raise_mm=settings.rack_raise[k],
                rack_fore_aft_mm=settings.forward[k],
                **evaluator.case.linkage_choices[settings.linkage[k]].named,
                stack_mm=list(pieces),
                tilt_margin_deg=smallest(margins, "tilt", k),
                clearance_mm=smallest(margins, "gap", k),
                tightest_joint=tightest(margins, "tilt", k, side),
                tightest_gap=tightest(margins, "gap", k, side),
                dead_centers=near[k],
                tie_rod_length_change_mm=length_change[k],
                **strength.row(k),
                fits=not reasons,
                meets_tolerance=bool(figures.peak[k] <= tolerance),
                band=verdicts[k],
                reasons=reasons,
            )
        )
    return described


def fitted_by(case: Case, settings: Settings, pieces: tuple[float, ...], row: int = 0) -> Fitted:
    """What one of a batch of settings fits at the wheel of a case, with the pieces of its stack."""
    return Fitted(
        side=case.side,
        outer_drop_mm=float(settings.outer_drop[row]),
        stack_mm=list(pieces),
        rack_raise_mm=float(settings.rack_raise[row]),
        rack_fore_aft_mm=float(settings.forward[row]),
        **case.linkage_choices[int(settings.linkage[row])].named,
    )


def band_verdicts(evaluator: Evaluator, change: Array) -> list[BandVerdict | None]:
    """Hold toe changes beyond the wanted one, (M, H), against the wanted band, if there is one."""
    case = evaluator.case
    if case.aim.band is None:
        return [None] * len(change)
    whole = np.degrees(change + evaluator.wanted)
    return [band_verdict(case.aim.band, evaluator.travel, row) for row in whole]
