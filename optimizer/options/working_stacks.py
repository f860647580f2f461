"""Heights of a stack that would do at each ride height, whatever kit builds them."""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Settings
from optimizer.options.estimates import estimated_peaks
from optimizer.options.hardware_margins import fitting_violations, hardware_margins
from optimizer.options.pair_margins import SettingsAtHeights

STACKS_MM = np.arange(-40, 121) * 0.5
"""Heights that are looked at, from the standard seat. [mm]"""

Flags = NDArray[np.bool_]


def working_stacks(heights: RideHeights) -> Flags:
    """Whether each of `STACKS_MM` meets what is wanted and every limit, (L, S) at L ride heights.

    Some rack spacer and choice of the linkage may go with it.  The limits are those of the case
    with its own rod end; its stud is left out, for another stack comes with another.
    """
    case = heights.case.model_copy(update={"stud": None})
    axes = STACKS_MM, case.rack.spacers, np.arange(len(case.linkage_choices)), case.rack.fore_aft
    drops, raises, linkages, forward = (axis.ravel() for axis in np.meshgrid(*axes, indexing="ij"))
    settings = Settings(drops, raises, linkages.astype(np.intp), rack_fore_aft=forward)
    peak = _peaks(heights, settings).reshape(-1, len(settings) // STACKS_MM.size)
    order = np.argsort(peak, axis=1, kind="stable")
    good = np.isfinite(np.take_along_axis(peak, order, axis=1))
    pairs = SettingsAtHeights(heights, settings, len(settings))
    limits = hardware_margins(pairs, [case])
    works = np.zeros(len(peak), dtype=bool)
    for rank in range(good.shape[1]):
        asked = np.flatnonzero(good[:, rank] & ~works)
        if not good[:, rank].any():
            break
        (violation,) = fitting_violations(limits, [asked * good.shape[1] + order[asked, rank]])
        works[asked] = violation == 0.0
    return works.reshape(-1, STACKS_MM.size)


def _peaks(heights: RideHeights, settings: Settings) -> Array:
    """Exact peaks of what meets the tolerance or keeps the band, (L, M), else infinite. [rad]."""
    band, tolerance = heights.case.aim.band, np.radians(heights.case.aim.tolerance_deg)
    peaks = np.full((len(heights.evaluators), len(settings)), np.inf)
    for peak, evaluator, assembled in zip(
        peaks, heights.evaluators, heights.assembled(), strict=True
    ):
        sound = np.flatnonzero(assembled[settings.linkage])
        if not sound.size:
            continue
        if band is None:
            least = estimated_peaks(evaluator, settings.rows(sound))[1]
            sound = sound[least <= tolerance]
        if not sound.size:
            continue
        change = evaluator.toe_change(settings.rows(sound))
        exact = np.abs(change).max(axis=1)
        met = evaluator.meets(change)
        peak[sound[met]] = exact[met]
    return peaks


def runs_of(works: Flags) -> list[tuple[float, float]]:
    """Lowest and tallest height of each run of those that would do, (S,). [mm]."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], works, [False]])))
    ends = STACKS_MM[np.stack([edges[::2], edges[1::2] - 1], axis=1)]
    return [(low, high) for low, high in ends.tolist()]
