"""Knuckle plate and crossmember spacer side by side, each by itself with all else as it is."""

import numpy as np
from msgspec.structs import asdict, replace

from optimizer.answers.side_effects import side_effects
from optimizer.car.alignment import alignment_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.linkage import with_linkage
from optimizer.car.settings import Settings
from optimizer.limits.described import described_settings
from optimizer.limits.margins import margins
from optimizer.models.case import Case
from optimizer.models.hardware import LinkageChoice
from optimizer.models.suggest import SpacedPart


def spaced_compared(case: Case) -> list[SpacedPart]:
    """Compare a wheel's plates and spacers, aligned anew with each where the case asks for it.

    Parameters
    ----------
    case : Case
        As measured, its alignment not yet set.

    Returns
    -------
    list of SpacedPart
        The car as it is, then each part that is changed alone, but for those with which the wheel
        can't be followed; empty where no plate and no spacer is to be chosen.
    """
    now = case.linkage_choices[0]
    alone = [one for one in case.linkage_choices if _is_alone(one, now)]
    seen = [_seen(case, one, now) for one in (now, *alone)] if alone else []
    return [one for one in seen if one is not None]


def _is_alone(choice: LinkageChoice, now: LinkageChoice) -> bool:
    """Whether a plate or a spacer is all that is changed."""
    plate = replace(now, knuckle_plate=choice.knuckle_plate)
    spacer = replace(now, crossmember_spacer=choice.crossmember_spacer)
    return choice != now and choice in (plate, spacer)


def _seen(case: Case, choice: LinkageChoice, now: LinkageChoice) -> SpacedPart | None:
    """One of them in figures, None where the wheel can't be followed with it."""
    aligned, _ = alignment_of(with_linkage(case, asdict(choice)))
    evaluator, setting = Evaluator.of(aligned), Settings.single()
    if not np.isfinite(evaluator.toe_change(setting)).all():
        return None
    (seen,) = side_effects([evaluator], [setting])
    limits = margins(evaluator, setting, follow="smallest")
    (told,) = described_settings(evaluator, setting, limits, [()])
    return SpacedPart(
        **{name: getattr(told, name) for name in SpacedPart.model_fields if hasattr(told, name)},
        arm_angle_deg=seen.arm_angle_deg.before,
        roll_center_height_mm=seen.roll_center_height_mm.before,
        work=case.effort.ball_joint * (choice != now),
    )
