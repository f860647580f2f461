"""Most probable points: what the tape said and what was seen, weighed by their accuracy.

The unknowns are the errors of all coordinates, in units of their standard deviation, and the zero
of each kind of reading.  Gauss-Newton steps on the sum of squares of both; every step solves the
car with each coordinate moved in one batch.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from msgspec import Struct

from geometry.network import root_by_point
from geometry.vectors import Array
from optimizer.car.adjust import Corner, mirror_of
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.tape import point_names, tape_root
from optimizer.gauging.observation import Observation, all_foretold

NUDGE = 1e-3  # of a standard deviation, for differences
STEPS = 12
LONGEST_STEP = 3.0  # standard deviations; farther away a straight line misleads
ENOUGH = 1e-2  # a step smaller than this, in standard deviations, ends the fit


Foretold = tuple[Array, Array]  # what a model foretells of N readings, (N,), its rates, (N, 3P)


class FittedPoints(Struct, frozen=True):
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


def fitted_points(
    evaluator: Evaluator, observations: Sequence[Observation], near: FittedPoints | None = None
) -> FittedPoints:
    """Fit the case's points to all readings together.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape; its accuracy is the width of the prior.
    observations : sequence of Observation
        One or more, taken with whatever was fitted then.
    near : FittedPoints, optional
        A fit to much the same readings, to begin with; else the tape.

    Returns
    -------
    FittedPoints
        Where the readings say nothing about a coordinate it keeps its measured place and width.
    """
    fit = unread(evaluator) if near is None else near
    for _ in range(STEPS):
        fit, farthest = _stepped(evaluator, observations, fit, LONGEST_STEP)
        if farthest < ENOUGH:
            break
    return fit


def foreseen_points(
    evaluator: Evaluator, observations: Sequence[Observation], near: FittedPoints
) -> FittedPoints:
    """What `fitted_points` would come to, as far as rates at a fit to other readings tell."""
    return _stepped(evaluator, observations, near, np.inf)[0]


def _stepped(
    evaluator: Evaluator, observations: Sequence[Observation], fit: FittedPoints, longest: float
) -> tuple[FittedPoints, float]:
    """The fit after one step, and how far any error would have gone in a step of any length."""
    errors = fit.errors.ravel()
    rates, misfit = linearized(evaluator, observations, errors)
    normal = rates.T @ rates + np.eye(errors.size)
    step = np.linalg.solve(normal, rates.T @ misfit - errors)
    farthest = float(np.abs(step).max())
    if farthest > longest:
        step = step * (longest / farthest)
    found = FittedPoints(
        names=fit.names,
        errors=(errors + step).reshape(-1, 3),
        covariance=np.asarray(np.linalg.inv(normal), dtype=np.float64),
        residuals=misfit - rates @ step,
    )
    return found, farthest


def unread(tape: Evaluator) -> FittedPoints:
    """The points as the tape has them, with nothing read."""
    names = point_names(tape.corner)
    size = 3 * len(names)
    return FittedPoints(names, np.zeros((len(names), 3)), np.eye(size), np.empty(0))


def left_open(tape: Evaluator, fit: FittedPoints) -> Mapping[str, tuple[tuple[float, ...], ...]]:
    """Lower triangle of the covariance that tape and readings leave, by point, x, y and z. [mm].

    Along the axes of the case, with what lengths measured beside the points told.  Empty where
    points share one place.  Of an aligned car errors are those of its aligned points, as in every
    answer: setting the alignment shifts points, and nearly every error with them.
    """
    case = tape.case
    mirror = np.tile(mirror_of(case), len(fit.names))
    along = mirror[:, None] * tape_root(case, tape.corner)
    try:
        return root_by_point(fit.names, along @ fit.covariance @ along.T)
    except np.linalg.LinAlgError:
        return {}


def linearized(
    evaluator: Evaluator, observations: Sequence[Observation], errors: Array
) -> tuple[Array, Array]:
    """What the model misses of the readings, and how fast that changes with the points.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape.
    observations : sequence of Observation
        N readings in all.
    errors : (3P,) float array
        Errors of the points about which to take rates. [standard deviations]

    Returns
    -------
    rates : (N, 3P) float array
        Of the model's readings with the errors.
    misfit : (N,) float array
        Readings less the model's.  An unknown zero is taken out of both, as their weighted mean;
        both are 0 where the model can't reach a height. [standard deviations of a reading]
    """
    return weighed(observations, foretold_rates(evaluator, observations, errors))


def weighed(observations: Sequence[Observation], told: Sequence[Foretold]) -> tuple[Array, Array]:
    """Rates and misfit as `linearized` gives them, of what was foretold."""
    rates, misfits = [], []
    for one, (foretold, rate) in zip(observations, told, strict=True):
        reached = np.isfinite(foretold) & np.isfinite(rate).all(axis=1)
        weight = np.where(reached, 1.0 / one.noise, 0.0)
        missed = np.where(reached, one.seen - foretold, 0.0)
        both = np.column_stack([np.where(reached[:, None], rate, 0.0), missed]) * weight[:, None]
        if one.zero and reached.any():
            both -= np.outer(weight, weight @ both) / (weight @ weight)
        rates.append(both[:, :-1])
        misfits.append(both[:, -1])
    return np.concatenate(rates), np.concatenate(misfits)


def foretold_rates(
    evaluator: Evaluator, observations: Sequence[Observation], errors: Array
) -> list[Foretold]:
    """What the model foretells of N readings, (N,), and how fast that changes, (N, 3P), of each.

    Per standard deviation of each coordinate; NaN out of reach.
    """
    told = all_foretold(evaluator, nudged_cars(evaluator, errors), observations)
    return [(cars[0], (cars[1:] - cars[0]).T / NUDGE) for cars in told]


def foretold_by_tape(tape: Evaluator, observations: Sequence[Observation]) -> list[Foretold]:
    """What the points by tape foretell, as `foretold_rates` does."""
    return foretold_rates(tape, observations, np.zeros(3 * len(point_names(tape.corner))))


def nudged_cars(evaluator: Evaluator, errors: Array) -> Corner:
    """The car with errors (3P,), then with each of them `NUDGE` larger."""
    nudges = np.concatenate([np.zeros((1, errors.size)), NUDGE * np.eye(errors.size)])
    return moved_corner(evaluator, (errors + nudges).reshape(len(nudges), -1, 3))


def misfits_by_shape(
    observations: Sequence[Observation], told: Sequence[Foretold]
) -> list[tuple[Array, Array] | None]:
    """Misfit of the points by tape along each shape in which they can change what was seen.

    Returns
    -------
    list of (K,) float array and (K,) float array, or None
        In standard deviations of tape and reading together, and what a deviation of the tape makes
        of it in those of the reading, the largest first; None where the model can't follow.
    """
    rates, misfit = weighed(observations, told)
    ends = np.cumsum([one.seen.size for one in observations])[:-1]
    return [*map(_by_shape, np.split(rates, ends), np.split(misfit, ends))]


def _by_shape(rates: Array, misfit: Array) -> tuple[Array, Array] | None:
    if not rates.any():
        return None
    shapes, spread, _ = np.linalg.svd(rates, full_matrices=False)
    return (shapes.T @ misfit) / np.sqrt(spread**2 + 1.0), spread
