"""The stack to fit next: best on average over the cars that the readings still allow."""

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner, sampled_change
from optimizer.car.settings import Settings, joined_settings
from optimizer.gauging.fit import FittedPoints, corrected_car
from optimizer.limits.margins import margins
from optimizer.options.candidates import WORK, Candidates
from optimizer.options.chances import rivals_of
from optimizer.options.proof import good_enough, prove
from optimizer.options.space import Space

SAMPLES = 400
CONSIDERED = 32  # settings that the corrected model likes best, of those within the limits
EVERY = 3  # of the scored heights, every third is enough for a peak
FEWEST_SOUND = 0.96  # of the possible cars must follow the wheel


class NextStack(Struct, frozen=True):
    """A setting (a batch of one), its pieces, the peak to expect and the one that it keeps below.

    `best_of_hardware` is the smallest peak to expect of anything within the limits, `fitted_now`
    the one to expect of what is fitted now, infinite if out of reach; with `stop` the setting is
    what is fitted now.  [rad]
    """

    setting: Settings
    pieces: tuple[float, ...]
    peak: float
    peak_95: float
    best_of_hardware: float
    fitted_now: float
    stop: bool


def next_stack(
    evaluator: Evaluator, fit: FittedPoints, space: Space, now: Settings, seed: int
) -> NextStack | None:
    """Choose the setting that keeps every limit and has the smallest expected peak, or nearly.

    What no gauge tells from the best is as good, but where the best meets the tolerance only if it
    does so too.

    Parameters
    ----------
    evaluator : Evaluator
        The case as measured by tape.
    fit : FittedPoints
        What the readings made of its points.
    space : Space
        What can be built.
    now : Settings
        What is fitted now, a batch of one; it stays where it keeps every limit and is as good.
    seed : int
        Of the random draw of cars.

    Returns
    -------
    NextStack or None
        The 95 % peak is over the cars that tape and gauge still allow together; None where
        nothing keeps every limit.
    """
    corrected = corrected_car(evaluator, fit)
    candidates = Candidates.of(corrected, space)
    rows = prove(candidates, wanted=CONSIDERED).fitting
    if not rows.size:
        return None
    cars = possible_cars(evaluator, fit, seed)
    considered = joined_settings([space.settings.rows(rows), now])
    *peaks, now_peaks = sampled_peaks(evaluator, cars, considered)
    *expected, now_expected = expected_peaks(np.array([*peaks, now_peaks]))
    keeps_limits = all(margin.margin.min() >= 0.0 for margin in margins(corrected, now))
    best = float(min([*expected, now_expected] if keeps_limits else expected))
    if not np.isfinite(best):
        return None
    enough = good_enough(best, evaluator.tolerance)
    if keeps_limits and now_expected <= enough:
        pieces = pieces_of(space, now)
        return _chosen(now, pieces, now_peaks, (best, now_expected), stop=True)
    # Fewest parts first, then the smallest peak.
    alike = np.flatnonzero(np.array(expected) <= enough).tolist()
    parts = candidates.effort[: WORK + 1, rows]
    k = min(alike, key=lambda one: (*parts[:, one].tolist(), expected[one]))
    setting, pieces = space.settings.rows(rows[k : k + 1]), space.pieces(int(rows[k]))
    return _chosen(setting, pieces, peaks[k], (best, now_expected), stop=False)


def _chosen(
    setting: Settings,
    pieces: tuple[float, ...],
    peaks: Array,
    best_and_now: tuple[float, float],
    *,
    stop: bool,
) -> NextStack:
    return NextStack(
        setting=setting,
        pieces=pieces,
        peak=float(expected_peaks(peaks[None])[0]),
        peak_95=float(np.quantile(peaks, 0.95, method="higher")),
        best_of_hardware=best_and_now[0],
        fitted_now=best_and_now[1],
        stop=stop,
    )


def may_be_chosen(car: Evaluator, space: Space, *others: Settings) -> Settings:
    """What the best of any car is among: all that can be built, thinned, and others beside it."""
    rivals = space.settings.rows(rivals_of(Candidates.of(car, space)))
    return joined_settings([rivals, *others])


def pieces_of(space: Space, now: Settings) -> tuple[float, ...]:
    """Pieces of what is fitted now; one piece where the hardware lists no such stack. [mm]."""
    listed = space.settings
    same = np.flatnonzero(
        np.isclose(listed.outer_drop, now.outer_drop)
        & np.isclose(listed.rack_raise, now.rack_raise)
        & np.isclose(listed.forward, now.forward)
        & (listed.linkage == now.linkage)
    )
    if same.size:
        return space.pieces(int(same[0]))
    height = float(now.outer_drop[0])
    return (height,) if height else ()


def possible_cars(evaluator: Evaluator, fit: FittedPoints, seed: int) -> Corner:
    """Cars that tape and gauge still allow together, `SAMPLES` of them."""
    spread = np.linalg.cholesky(fit.covariance)
    draws = np.random.default_rng(seed).normal(size=(SAMPLES, fit.errors.size)) @ spread.T
    return moved_corner(evaluator, fit.errors + draws.reshape(SAMPLES, -1, 3))


def expected_peaks(peaks: Array) -> Array:
    """Mean over the possible cars that follow the wheel, (M, S) to (M,); infinite if too few."""
    sound = np.isfinite(peaks)
    share = sound.mean(axis=1)
    mean = np.where(sound, peaks, 0.0).sum(axis=1) / np.maximum(sound.sum(axis=1), 1)
    expected: Array = np.where(share >= FEWEST_SOUND, mean, np.inf)
    return expected


def sampled_peaks(evaluator: Evaluator, cars: Corner, settings: Settings) -> Array:
    """Peak toe change of each setting in each possible car, (M, S). [rad].

    Infinite where a car can't follow the wheel.
    """
    peaks = np.abs(sampled_changes(evaluator, cars, settings)).max(axis=2)
    return np.where(np.isnan(peaks), np.inf, peaks)


def sampled_changes(evaluator: Evaluator, cars: Corner, settings: Settings) -> Array:
    """Toe change of each setting in each possible car, (M, S, T); NaN out of reach. [rad]."""
    home, last = evaluator.home, evaluator.travel.size - 1
    travel = evaluator.travel[np.unique([*range(0, last, EVERY), home, last])]
    changes: list[Array] = [np.empty(0)] * len(settings)
    for choice in np.unique(settings.linkage):
        rows = np.flatnonzero(settings.linkage == choice)
        found = sampled_change(evaluator, cars, settings.rows(rows), travel)
        for row, change in zip(rows, found, strict=True):
            changes[row] = change
    return np.stack(changes)
