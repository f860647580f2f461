"""What setting the wanted alignment alone does to the toe curve."""

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.car.linkage import AT_LOWER_ARM, listed
from optimizer.car.settings import Settings
from optimizer.models.alignment import AlignmentAnswer, ToeEffect
from optimizer.models.case import Case


def alignment_effect(
    answer: AlignmentAnswer | None, measured: Case, aligned: Evaluator
) -> AlignmentAnswer | None:
    """Add to what is moved the toe curve of before and after, with no stack fitted, and with what.

    Parameters
    ----------
    answer : AlignmentAnswer or None
        Of `optimizer.car.alignment.alignment_of`; None stays None.
    measured : Case
        The wheel as measured.
    aligned : Evaluator
        The wheel so aligned, over the used travel, with the ball joint, plate and spacer that it is
        aligned with.
    """
    ride = aligned.case.ride
    if answer is not None:
        answer = answer.model_copy(update=_other_than_now(measured, aligned.case))
    if answer is None or ride.bump == ride.droop == 0.0:
        return answer
    joint = measured.lower_ball_joint.model_copy(
        update={"drop": aligned.case.lower_ball_joint.drop}
    )
    kept = {name: getattr(aligned.case, name) for name in ("knuckle_plate", "crossmember")}
    changes = {"ride": ride, "lower_ball_joint": joint, "alignment": None} | kept
    peak_before, slope_before = _as_is(Evaluator.of(measured.model_copy(update=changes)))
    peak, slope = _as_is(aligned)
    if not np.isfinite([peak_before, peak]).all():
        return answer
    effect = ToeEffect(
        peak_toe_change_before_deg=peak_before,
        peak_toe_change_deg=peak,
        toe_slope_before_deg_per_10mm=slope_before,
        toe_slope_deg_per_10mm=slope,
    )
    return answer.model_copy(update={"toe_curve": effect})


def _other_than_now(now: Case, then: Case) -> dict[str, float]:
    """Ball joint's drop, plate and spacer where they are others than the car has now. [mm]."""
    first = {part: (listed(now, part)[0], listed(then, part)[0]) for part in AT_LOWER_ARM}
    return {f"{part}_mm": after for part, (before, after) in first.items() if after != before}


def _as_is(evaluator: Evaluator) -> tuple[float, float]:
    """Peak toe change and slope at ride height without a stack. [deg, deg per 10 mm]."""
    curve = evaluator.curve(Settings.single())
    return float(np.degrees(curve.peak[0])), float(np.degrees(curve.slope[0]) * 10.0)
