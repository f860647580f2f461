"""The stack to fit next: best on average over the cars that the readings still allow."""

from dataclasses import dataclass

import numpy as np

from geometry.toe_curve import toe_change
from geometry.vectors import Array
from optimizer.adjust import Rows, Settings
from optimizer.evaluate import Evaluator
from optimizer.gauge.fit import FittedPoints
from optimizer.sampled import moved_corner, sampled_toe
from optimizer.search.candidates import Candidates
from optimizer.search.certificate import RESOLUTION, prove
from optimizer.search.space import Space

SAMPLES = 200
CONSIDERED = 12  # settings that the corrected model likes best
EVERY = 3  # of the scored heights, every third is enough for a peak


@dataclass(frozen=True)
class NextStack:
    """A setting, the peak to expect with it and the one that it stays below. [rad].

    `row` is its place in the space, None where nothing fits; `best_of_hardware` is the smallest
    peak that the corrected model finds for anything that fits.
    """

    row: int | None
    peak: float
    peak_95: float
    best_of_hardware: float


def next_stack(evaluator: Evaluator, fit: FittedPoints, space: Space, seed: int) -> NextStack:
    """Choose the setting that keeps every limit and has the smallest expected peak, or near it.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape.
    fit : FittedPoints
        What the readings made of its points.
    space : Space
        What can be built.
    seed : int
        Of the random draw of cars.

    Returns
    -------
    NextStack
        The 95 % peak is over the cars that tape and gauge still allow together.
    """
    corrected = evaluator.with_corner(moved_corner(evaluator, fit.errors[None]).row(0))
    proof = prove(Candidates(corrected, space), wanted=CONSIDERED)
    rows = proof.fitting
    if not rows.size:
        return NextStack(None, np.nan, np.nan, np.nan)
    peaks = _sampled_peaks(evaluator, fit, space.settings, rows, seed)
    expected = np.nanmean(peaks, axis=1)
    # No gauge tells these apart, so the one that asks least of the workshop is the best of them.
    alike = np.flatnonzero(expected <= expected.min() + RESOLUTION)
    best = int(alike[np.lexsort(space.effort()[:, rows[alike]][::-1])[0]])
    return NextStack(
        row=int(rows[best]),
        peak=float(expected[best]),
        peak_95=float(np.nanquantile(peaks[best], 0.95)),
        best_of_hardware=proof.best_peak,
    )


def _sampled_peaks(
    evaluator: Evaluator, fit: FittedPoints, settings: Settings, rows: Rows, seed: int
) -> Array:
    """Peak toe change of each row in each possible car, (R, S). [rad]."""
    spread = np.linalg.cholesky(fit.covariance)
    draws = np.random.default_rng(seed).normal(size=(SAMPLES, fit.errors.size)) @ spread.T
    corner = moved_corner(evaluator, fit.errors + draws.reshape(SAMPLES, -1, 3))
    home, last = evaluator.home, evaluator.travel.size - 1
    travel = evaluator.travel[np.unique([*range(0, last, EVERY), home, last])]
    peaks = []
    for row in rows:
        toe = sampled_toe(evaluator, corner, settings.rows(np.array([row])), travel)
        peaks.append(np.abs(toe_change(travel, toe, evaluator.gain)).max(axis=1))
    return np.array(peaks)
