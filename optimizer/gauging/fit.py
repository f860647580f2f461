"""Most probable points: what the tape said and what the gauge said, weighed by their accuracy.

The unknowns are the errors of all coordinates, in units of their standard deviation, and the zero
of each sweep.  Gauss-Newton steps on the sum of squares of both; every step solves the car with
each coordinate moved in one batch.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.tape import point_names
from optimizer.gauging.seen import seen_toe
from optimizer.gauging.sweep import Sweep

NUDGE = 1e-3  # of a standard deviation, for differences
STEPS = 12
LONGEST_STEP = 3.0  # standard deviations; farther away a straight line misleads
ENOUGH = 1e-2  # a step smaller than this, in standard deviations, ends the fit


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


def corrected_car(evaluator: Evaluator, fit: FittedPoints) -> Evaluator:
    """The car of a case with its most probable points."""
    return evaluator.with_corner(moved_corner(evaluator, fit.errors[None]).row(0))


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
        rates, misfit = linearized(evaluator, sweeps, errors)
        normal = rates.T @ rates + np.eye(size)
        step = np.linalg.solve(normal, rates.T @ misfit - errors)
        farthest = float(np.abs(step).max())
        step = step * min(1.0, LONGEST_STEP / max(farthest, LONGEST_STEP))
        errors = errors + step
        misfit = misfit - rates @ step
        if farthest < ENOUGH:
            break
    return FittedPoints(
        names=names,
        errors=errors.reshape(-1, 3),
        covariance=np.asarray(np.linalg.inv(normal), dtype=np.float64),
        residuals=misfit,
    )


def linearized(evaluator: Evaluator, sweeps: list[Sweep], errors: Array) -> tuple[Array, Array]:
    """What the model misses of the readings, and how fast that changes with the points.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape.
    sweeps : list of Sweep
        N readings in all.
    errors : (3P,) float array
        Errors of the points about which to take rates. [standard deviations]

    Returns
    -------
    rates : (N, 3P) float array
        Of the model's readings with the errors.
    misfit : (N,) float array
        Readings less the model's.  The unknown zero of each sweep is taken out of both, as its
        mean; both are 0 where the model can't reach a height. [standard deviations of a reading]
    """
    nudges = np.concatenate([np.zeros((1, errors.size)), NUDGE * np.eye(errors.size)])
    corner = moved_corner(evaluator, (errors + nudges).reshape(len(nudges), -1, 3))
    rates, misfits = [], []
    for sweep in sweeps:
        toe = seen_toe(sweep.gauge, evaluator, corner, sweep.fitted, sweep.travel)
        reached: NDArray[np.bool_] = np.all(np.isfinite(toe), axis=0)
        rate = np.where(reached[:, None], (toe[1:] - toe[0]).T / NUDGE, 0.0)
        miss = np.where(reached, sweep.toe - toe[0], 0.0)
        count = max(int(reached.sum()), 1)
        rates.append((rate - reached[:, None] * rate.sum(axis=0) / count) / sweep.noise)
        misfits.append((miss - reached * miss.sum() / count) / sweep.noise)
    return np.concatenate(rates), np.concatenate(misfits)
