"""Which ride heights both wheels of a car meet at once: one rack, one kit on both sides."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.answers.reach import reach
from optimizer.car.alignment import AlignmentError, aligned_case
from optimizer.car.ride_heights import RideHeights, case_at
from optimizer.models.both_sides import SIDES, BothSides
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.reach import ReachRow
from optimizer.models.together import PairReach, ReachOfBothSides, ReachTogether
from optimizer.options.hardware import case_with_kit
from optimizer.options.reachable import Walks
from optimizer.options.space import Shared, built_space, rack_heights, space_at

ONE_RACK = "each wheel meets it alone, but not both with the {inner} at one height"


def reach_both(
    car: BothSides,
    lowered_by: Sequence[float],
    kits: Sequence[Kit] = (),
    *,
    currency: str | None = None,
) -> ReachOfBothSides:
    """Find the ride heights that both wheels meet with the rack at one height.

    Parameters
    ----------
    car : BothSides
        Both wheels.
    lowered_by, kits, currency
        As for `reach`, which answers for each wheel alone.

    Returns
    -------
    ReachOfBothSides
        Of the rack heights, `together` names the one at which the worse wheel is best.
    """
    left, right = (reach(case, lowered_by, kits, currency=currency) for case in car.wheels)
    racks = rack_heights(car.left)
    best_of = [_best_at(case, lowered_by, kits, racks) for case in car.wheels]
    tolerance = np.radians(car.left.aim.tolerance_deg)
    count, inner = len(left.kits), car.left.words.inner
    rows = []
    for k, alone in enumerate(zip(left.heights, right.heights, strict=True)):
        place, kit = divmod(k, count)
        numbers = kit * len(racks) + np.arange(len(racks))
        worse = np.max([one.peak[numbers, place] for one in best_of], axis=0)
        best = int(np.argmin(worse))
        row = PairReach(
            lowered_by_mm=alone[0].lowered_by_mm,
            kit=alone[0].kit,
            reachable=bool(worse[best] <= tolerance),
        )
        if np.isfinite(worse[best]):
            drops = [float(one.outer_drop[numbers[best], place]) for one in best_of]
            row = row.model_copy(update=_setting(racks[best], drops, float(worse[best])))
        rows.append(row if row.reachable else row.model_copy(update=_stops(alone, inner)))
    return ReachOfBothSides(**dict(left), right=right, together=ReachTogether(heights=rows))


@dataclass(frozen=True)
class _Best:
    """Smallest peak of one wheel that fits, by kit x rack height and ride height; infinite if none.

    `outer_drop` is what makes it. [rad, mm]
    """

    peak: Array
    outer_drop: Array


def _best_at(
    case: Case, lowered_by: Sequence[float], kits: Sequence[Kit], racks: Sequence[Shared | None]
) -> _Best:
    """Walk all ride heights at once, or each by itself where the alignment is set anew there."""
    if case.alignment is None:
        return _walked(case, lowered_by, kits, racks)
    found = []
    for height in lowered_by:
        try:
            aligned = aligned_case(case_at(case, height))
            found.append(_walked(aligned, [height], kits, racks))
        except AlignmentError:
            none = np.full((max(1, len(kits)) * len(racks), 1), np.inf)
            found.append(_Best(none, none))
    return _Best(
        np.concatenate([one.peak for one in found], axis=1),
        np.concatenate([one.outer_drop for one in found], axis=1),
    )


def _walked(
    case: Case, lowered_by: Sequence[float], kits: Sequence[Kit], racks: Sequence[Shared | None]
) -> _Best:
    """Walk every kit with the rack at every height, as so many kits."""
    cases = [case_with_kit(case, kit) for kit in kits] or [case]
    fitted = [one for one in cases for _ in racks]
    spaces = [space_at(one, shared) for one in cases for shared in racks]
    spaces = [one if one.left_competes and not kits else built_space(one) for one in spaces]
    heights = RideHeights.of(case, np.array(lowered_by, dtype=float))
    walks = Walks(heights, fitted, spaces)
    reached = walks.reached()
    drops = [
        walks.settings_of(number, np.maximum(rows, 0)).outer_drop
        for number, rows in enumerate(reached.best)
    ]
    return _Best(reached.peak, np.array(drops))


def _setting(shared: Shared | None, drops: Sequence[float], peak: float) -> dict[str, float | None]:
    return {
        "rack_raise_mm": None if shared is None else shared.rack_raise,
        "ball_joint_drop_mm": None if shared is None else shared.ball_joint_drop,
        "left_outer_drop_mm": drops[0],
        "right_outer_drop_mm": drops[1],
        "peak_toe_change_deg": float(np.degrees(peak)),
    }


def _stops(alone: tuple[ReachRow, ReachRow], inner: str) -> dict[str, list[str]]:
    """Which wheel stops it, or that one rack can't suit both."""
    stopped = [(side, row) for side, row in zip(SIDES, alone, strict=True) if not row.reachable]
    if not stopped:
        return {"stopped_by": ["rack"], "reasons": [ONE_RACK.format(inner=inner)]}
    return {
        "stopped_by": [side for side, _ in stopped],
        "reasons": [f"{side} wheel: {reason}" for side, row in stopped for reason in row.reasons],
    }
