"""What a wanted alignment moves, and what that alone does to the toe curve."""

import numpy as np

from optimizer.car.adjust import Settings
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.models.alignment import AlignmentAnswer, ToeEffect
from optimizer.models.case import Case


def alignment_effect(case: Case) -> tuple[Case, AlignmentAnswer | None]:
    """Set the alignment as `alignment_of` does, and compare the toe curves of before and after."""
    aligned, answer = alignment_of(case)
    if answer is None or case.ride.bump == case.ride.droop == 0.0:
        return aligned, answer
    peak_before, slope_before = _as_is(case.model_copy(update={"alignment": None}))
    peak, slope = _as_is(aligned)
    if not np.isfinite([peak_before, peak]).all():
        return aligned, answer
    effect = ToeEffect(
        peak_toe_change_before_deg=peak_before,
        peak_toe_change_deg=peak,
        toe_slope_before_deg_per_10mm=slope_before,
        toe_slope_deg_per_10mm=slope,
    )
    return aligned, answer.model_copy(update={"toe_curve": effect})


def _as_is(case: Case) -> tuple[float, float]:
    """Peak toe change and slope at ride height without a stack. [deg, deg per 10 mm]."""
    as_is = Settings.single(ball_joint_drop=case.linkage_choices[0])
    curve = Evaluator.of(case).curve(as_is)
    return float(np.degrees(curve.peak[0])), float(np.degrees(curve.slope[0]) * 10.0)
