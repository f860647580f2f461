"""How sure an answer is when points are measured with a tape: the same car, measured many times."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.motion import Rod, rod_motion, toe_held_motion
from geometry.toe_curve import toe_change
from geometry.vectors import Array, norm, turned
from geometry.wheel_angles import toe_angle
from optimizer.adjust import Corner, Settings
from optimizer.evaluate import Evaluator
from optimizer.models.result import Uncertainty

SAMPLES = 400
EVERY = 3  # of the scored heights, every third is enough for a peak


@dataclass(frozen=True)
class SampledCar:
    """A corner measured N times over: `errors` (N, P, 3) were added to its P named points. [mm]."""

    names: list[str]
    errors: Array
    corner: Corner


def sampled_car(evaluator: Evaluator, seed: int) -> SampledCar:
    """Draw points from normal distributions as wide as the case's accuracy says."""
    corner, accuracy = evaluator.corner, evaluator.case.accuracy
    known = corner.points | {"tie_rod_outer": corner.outer_seat, "tie_rod_inner": corner.inner}
    names = list(known)
    sigma = np.array([accuracy.of(name) for name in names])
    errors = np.random.default_rng(seed).normal(size=(SAMPLES, *sigma.shape)) * sigma
    moved = {name: known[name] + errors[:, None, k] for k, name in enumerate(names)}
    return SampledCar(
        names,
        errors,
        Corner(
            points={name: moved[name] for name in corner.points},
            outer_seat=moved["tie_rod_outer"],
            inner=moved["tie_rod_inner"],
            spin=corner.spin,
            stud_axis=corner.stud_axis,
            bolt_axis=corner.bolt_axis,
            rack_axis=corner.rack_axis,
        ),
    )


def uncertainty(evaluator: Evaluator, setting: Settings, seed: int) -> Uncertainty:
    """Spread of one setting's peak toe change over the points that the tape may have meant.

    Parameters
    ----------
    evaluator : Evaluator
        The case; its accuracy is one standard deviation of every coordinate.
    setting : Settings
        A batch of one.
    seed : int
        Of the random draw.

    Returns
    -------
    Uncertainty
        Samples whose linkage cannot be assembled take no part.
    """
    car = sampled_car(evaluator, seed)
    change = _sampled_change(evaluator, car, setting)
    sound: NDArray[np.bool_] = np.all(np.isfinite(change), axis=1)
    peak = np.degrees(np.abs(change[sound]).max(axis=1))
    point, share = _most_telling(car, change, sound)
    return Uncertainty(
        samples=int(sound.sum()),
        peak_median_deg=float(np.median(peak)),
        peak_95_deg=float(np.quantile(peak, 0.95)),
        meets_tolerance_probability=float(np.mean(peak <= evaluator.case.aim.tolerance_deg)),
        remeasure=point,
        remeasure_share=share,
    )


def _sampled_change(evaluator: Evaluator, car: SampledCar, setting: Settings) -> Array:
    """Toe change of every sample, toe reset in each, (N, T); NaN out of reach. [rad]."""
    home, corner = evaluator.home, car.corner
    rows = np.unique([*range(0, evaluator.travel.size, EVERY), home, evaluator.travel.size - 1])
    travel, heights = evaluator.travel[rows], evaluator.heights[rows]
    outer, inner = corner.pivots(setting)
    linkage = corner.linkage(setting.ball_joint_drop)
    toe = np.array(evaluator.static_toe)
    held = toe_held_motion(linkage, evaluator.heights[home], corner.spin, toe)
    length = norm(held.moved(outer) - inner)
    motion = rod_motion(linkage, heights, Rod(inner, outer, length))
    return toe_change(travel, toe_angle(turned(motion.rotation, corner.spin)), evaluator.gain)


def _most_telling(car: SampledCar, change: Array, sound: NDArray[np.bool_]) -> tuple[str, float]:
    """Coordinate that most of the spread comes from, and its share of the variance.

    A straight line through the samples tells how much each coordinate moves the toe change at the
    two ends of the travel.
    """
    errors = car.errors.reshape(len(car.errors), -1)[sound]
    ends = change[sound][:, [0, -1]]
    rates = np.linalg.lstsq(errors - errors.mean(0), ends - ends.mean(0), rcond=None)[0]
    variance = ((rates * errors.std(0)[:, None]) ** 2).sum(axis=1)
    most = int(np.argmax(variance))
    name, axis = car.names[most // 3], "xyz"[most % 3]
    return f"{name} {axis}", float(variance[most] / variance.sum())
