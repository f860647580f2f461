"""Most probable points: what the tape said and what the gauge said, weighed by their accuracy.

The unknowns are the errors of all coordinates, in units of their standard deviation, and the zero
of each sweep.  Gauss-Newton steps on the sum of squares of both; every step solves the car with
each coordinate moved both ways in one batch.
"""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array
from optimizer.evaluate import Evaluator
from optimizer.gauge.sweep import Sweep
from optimizer.sampled import moved_corner, point_names, sampled_toe

NUDGE = 1e-2  # of a standard deviation, for central differences
STEPS = 12
ENOUGH = 1e-6  # a step smaller than this share of a standard deviation ends the fit


@dataclass(frozen=True)
class FittedPoints:
    """Errors of the measured points, in standard deviations.

    `errors` (P, 3) is the most probable one for each of `names`, `covariance` (3P, 3P) its spread,
    `residuals` (N,) what is left of the readings in units of their noise.
    """

    names: list[str]
    errors: Array
    covariance: Array
    residuals: Array


def fitted_points(evaluator: Evaluator, sweeps: list[Sweep]) -> FittedPoints:
    """Fit the case's points to all sweeps together.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape; its accuracy is the width of the prior.
    sweeps : list of Sweep
        One or more, taken with whatever was fitted then.

    Returns
    -------
    FittedPoints
        Where the readings say nothing about a coordinate it keeps its measured place and width.
    """
    names = point_names(evaluator.corner)
    size = 3 * len(names)
    errors = np.zeros(size)
    for _ in range(STEPS):
        slope, misfit = _linearized(evaluator, sweeps, errors)
        normal = slope.T @ slope + np.eye(size)
        step = np.linalg.solve(normal, slope.T @ misfit - errors)
        errors = errors + step
        if np.abs(step).max() < ENOUGH:
            break
    slope, misfit = _linearized(evaluator, sweeps, errors)
    covariance = np.asarray(np.linalg.inv(slope.T @ slope + np.eye(size)), dtype=np.float64)
    return FittedPoints(
        names=names,
        errors=errors.reshape(-1, 3),
        covariance=covariance,
        residuals=misfit,
    )


def _linearized(evaluator: Evaluator, sweeps: list[Sweep], errors: Array) -> tuple[Array, Array]:
    """Rates (N, 3P) of the model's readings, and what they miss (N,), in units of the noise.

    The unknown zero of each sweep is taken out of both by subtracting the mean.
    """
    size = errors.size
    nudges = np.concatenate([np.zeros((1, size)), NUDGE * np.eye(size), -NUDGE * np.eye(size)])
    corner = moved_corner(evaluator, (errors + nudges).reshape(len(nudges), -1, 3))
    slopes, misfits = [], []
    for sweep in sweeps:
        toe = sampled_toe(evaluator, corner, sweep.fitted, sweep.travel)
        rate = (toe[1 : size + 1] - toe[size + 1 :]).T / (2.0 * NUDGE)
        miss = sweep.toe - toe[0]
        slopes.append((rate - rate.mean(axis=0)) / sweep.noise)
        misfits.append((miss - miss.mean()) / sweep.noise)
    return np.concatenate(slopes), np.concatenate(misfits)
