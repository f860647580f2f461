"""How sure an answer is when points are measured with a tape: the same car, measured many times."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.toe_curve import toe_change
from geometry.vectors import Array
from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_toe
from optimizer.car.tape import point_names, tape_root
from optimizer.car.wanted import wanted_change
from optimizer.models.pictures import TapeBand
from optimizer.models.setting import Uncertainty

SAMPLES = 400
EVERY = 3  # of the scored heights, every third is enough for a peak
NINE_IN_TEN = (0.05, 0.95)
NO_SPREAD = 1e-20  # a variance below it is that of rounding alone [rad^2]


def uncertainty(evaluator: Evaluator, setting: Settings, seed: int) -> Uncertainty:
    """Spread of one setting's peak toe change over the points that the tape may have meant.

    Parameters
    ----------
    evaluator : Evaluator
        The case; its accuracy says how far the tape may err, and what errs together.
    setting : Settings
        A batch of one.
    seed : int
        Of the random draw.

    Returns
    -------
    Uncertainty
        Samples whose linkage cannot be assembled take no part.
    """
    names = point_names(evaluator.corner)
    _, change, errors = _measured_many_times(evaluator, setting, seed)
    peak = np.degrees(np.abs(change).max(axis=1))
    root = tape_root(evaluator.case, evaluator.corner)
    most, share = _most_telling(errors.reshape(len(errors), -1), change, root)
    return Uncertainty(
        samples=len(change),
        peak_median_deg=float(np.median(peak)),
        peak_95_deg=float(np.quantile(peak, 0.95)),
        meets_tolerance_probability=float(np.mean(peak <= evaluator.case.aim.tolerance_deg)),
        remeasure=f"{names[most // 3]} {'xyz'[most % 3]}",
        remeasure_share=share,
        peak_95_with_x_deg=_with_x_measured(evaluator, setting, seed),
    )


def _with_x_measured(evaluator: Evaluator, setting: Settings, seed: int) -> float | None:
    case = evaluator.case
    if case.accuracy.x == "measured":
        return None
    accuracy = case.accuracy.model_copy(update={"x": "measured"})
    known = replace(evaluator, case=case.model_copy(update={"accuracy": accuracy}))
    _, change, _ = _measured_many_times(known, setting, seed)
    return float(np.degrees(np.quantile(np.abs(change).max(axis=1), 0.95)))


def tape_band(evaluator: Evaluator, setting: Settings, seed: int) -> TapeBand:
    """Where nine in ten of those cars lie, at each height by itself; as `uncertainty`."""
    travel, change, _ = _measured_many_times(evaluator, setting, seed)
    low, high = np.degrees(np.quantile(change, NINE_IN_TEN, axis=0))
    return TapeBand(travel_mm=travel.tolist(), low_deg=low.tolist(), high_deg=high.tolist())


def _measured_many_times(
    evaluator: Evaluator, setting: Settings, seed: int
) -> tuple[Array, Array, Array]:
    """Travel (T,), toe change (N, T) [rad] and errors (N, P, 3) of the cars that can be joined."""
    errors = np.random.default_rng(seed).normal(
        size=(SAMPLES, len(point_names(evaluator.corner)), 3)
    )
    home, last = evaluator.home, evaluator.travel.size - 1
    travel = evaluator.travel[np.unique([*range(0, last, EVERY), home, last])]
    toe = sampled_toe(evaluator, moved_corner(evaluator, errors), setting, travel)
    change = toe_change(travel, toe, wanted_change(evaluator.case.aim, travel))
    sound: NDArray[np.bool_] = np.all(np.isfinite(change), axis=1)
    return travel, change[sound], errors[sound]


def _most_telling(errors: Array, change: Array, root: Array) -> tuple[int, float]:
    """Place of the coordinate that would take most of the spread away, if it were known exactly.

    A straight line through the samples tells how much each error moves the toe change at the two
    ends of the travel.  The share of the variance is 0 where points known exactly leave no spread.
    """
    ends = change[:, [0, -1]]
    rates = np.linalg.lstsq(errors - errors.mean(0), ends - ends.mean(0), rcond=None)[0]
    moves = rates * errors.std(0)[:, None]
    of_coordinates = np.linalg.norm(root, axis=1)
    along = root / np.where(of_coordinates > 0.0, of_coordinates, 1.0)[:, None]
    variance = ((along @ moves) ** 2).sum(axis=1)
    most, spread = int(np.argmax(variance)), float((moves**2).sum())
    return most, float(variance[most]) / spread if spread > NO_SPREAD else 0.0
