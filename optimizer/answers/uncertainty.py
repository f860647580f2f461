"""How sure an answer is when points are measured with a tape: the same car, measured many times."""

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names, tape_root
from optimizer.models.pictures import TapeBand
from optimizer.models.setting import Uncertainty

NINE_IN_TEN = (0.05, 0.95)
NO_SPREAD = 1e-20  # a variance below it is that of rounding alone [rad^2]


def uncertainty(cars: ManyCars, setting: Settings) -> Uncertainty:
    """Spread of one setting's peak toe change over the cars that tape and build leave possible.

    Parameters
    ----------
    cars : ManyCars
        Cars of the case with the setting's hardware.
    setting : Settings
        A batch of one.

    Returns
    -------
    Uncertainty
        Samples whose linkage cannot be assembled take no part.
    """
    evaluator = cars.evaluator
    names = point_names(evaluator.corner)
    change, errors = _of_sound_cars(cars, setting)
    peaks, aim = np.degrees(cars.peaks(setting)[0]), evaluator.case.aim
    met = peaks <= aim.tolerance_deg if aim.band is None else cars.in_band(setting)[0]
    led = np.isfinite(peaks)
    root = tape_root(evaluator.case, evaluator.corner)
    most, share = _most_telling(errors.reshape(len(errors), -1), change, root)
    return Uncertainty(
        samples=len(change),
        peak_median_deg=float(np.median(peaks[led])),
        peak_95_deg=float(np.quantile(peaks[led], 0.95)),
        meets_tolerance_probability=float(np.mean(met[led])),
        of_band=aim.band is not None,
        remeasure=f"{names[most // 3]} {'xyz'[most % 3]}",
        remeasure_share=share,
        peak_95_with_x_deg=_with_x_measured(cars, setting),
    )


def _with_x_measured(cars: ManyCars, setting: Settings) -> float | None:
    case = cars.evaluator.case
    if case.accuracy.x == "measured":
        return None
    accuracy = case.accuracy.model_copy(update={"x": "measured"})
    known = replace(cars.evaluator, case=case.model_copy(update={"accuracy": accuracy}))
    peaks = np.degrees(cars.of_case(known).peaks(setting)[0])
    return float(np.quantile(peaks[np.isfinite(peaks)], 0.95))


def tape_band(evaluator: Evaluator, setting: Settings, seed: int) -> TapeBand:
    """Where nine in ten of those cars lie, at each height by itself; as `uncertainty`."""
    change, _ = _of_sound_cars(ManyCars.drawn(evaluator, seed), setting)
    low, high = np.degrees(np.quantile(change, NINE_IN_TEN, axis=0))
    return TapeBand(
        travel_mm=evaluator.travel.tolist(), low_deg=low.tolist(), high_deg=high.tolist()
    )


def _of_sound_cars(cars: ManyCars, setting: Settings) -> tuple[Array, Array]:
    """Toe change (N, H) [rad] and errors of the tape (N, P, 3) of the cars that can be led."""
    change = cars.change(setting)
    sound = np.isfinite(change).all(axis=1)
    return change[sound], cars.points[sound]


def _most_telling(errors: Array, change: Array, root: Array) -> tuple[int, float]:
    """Place of the coordinate that would take most of the spread away, if it were known exactly.

    A straight line through the samples tells how much each error moves the toe change at the two
    ends of the travel.  The share of the variance is 0 where points known exactly leave no spread.
    """
    ends, off = change[:, [0, -1]], errors - errors.mean(0)
    rates = np.linalg.lstsq(off.T @ off, off.T @ (ends - ends.mean(0)), rcond=None)[0]
    moves = rates * errors.std(0)[:, None]
    of_coordinates = np.linalg.norm(root, axis=1)
    along = root / np.where(of_coordinates > 0.0, of_coordinates, 1.0)[:, None]
    variance = ((along @ moves) ** 2).sum(axis=1)
    most, spread = int(np.argmax(variance)), float((moves**2).sum())
    return most, float(variance[most]) / spread if spread > NO_SPREAD else 0.0
