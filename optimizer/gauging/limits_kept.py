"""How surely the next stack keeps every limit, in the cars that tape, readings and build leave."""

from collections.abc import Sequence

import numpy as np

from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.settings import Settings
from optimizer.gauging.fit import FittedPoints
from optimizer.limits.kept import kept_in_cars
from optimizer.limits.margins import Margin
from optimizer.models.gauge import LimitsKept
from optimizer.models.setting import LimitKept

CARS = 1024  # a probability of one half is then known to 1.6 %, one standard deviation


def limits_kept(
    corrected: Evaluator, fit: FittedPoints, setting: Settings, found: Sequence[Margin], seed: int
) -> LimitsKept:
    """Tell in what share of the possible cars a setting keeps every limit, and each of them.

    Parameters
    ----------
    corrected : Evaluator
        The car with its most probable points.
    fit : FittedPoints
        What tape and readings leave open of them.
    setting : Settings
        A batch of one.
    found : sequence of Margin
        Its limits on that car, and where each is worst.
    seed : int
        Of the random draw of cars.
    """
    rng = np.random.default_rng(seed)
    spread = np.linalg.cholesky(fit.covariance)
    points = rng.normal(size=(CARS, len(spread))) @ spread.T
    built = rng.uniform(-1.0, 1.0, (CARS, len(BUILT)))
    cars = ManyCars.of(corrected, points.reshape(CARS, -1, 3), built)
    kept, shares = kept_in_cars(corrected, setting, found, cars)
    side = corrected.case.side
    limits = [
        LimitKept(side=side, kind=one.kind, name=one.name, probability=float(share[0]))
        for one, share in shares
    ]
    return LimitsKept(probability=float(kept.mean()), limits=limits)
