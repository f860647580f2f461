"""How each option comes out in the cars that tape and build leave possible."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.settings import Rows
from optimizer.limits.kept import kept_in_cars
from optimizer.models.setting import Chances, LimitKept
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import Option, OptionSpace
from optimizer.options.drawn import DrawnCars
from optimizer.options.proof import RESOLUTION

AS_GOOD_AS_SURE = 0.999
FIVE_IN_A_HUNDRED = (0.05, 0.95)

Bools = NDArray[np.bool_]


def chances(
    space: OptionSpace, options: Sequence[Option], drawn: DrawnCars
) -> list[Chances | None]:
    """Chances of the options that a ranking shows; None where no car follows the wheel.

    Parameters
    ----------
    space : OptionSpace
        What is found out about its settings is kept there.
    options : sequence of Option
        All that the ranking shows, that the best of each car may be found among them.
    drawn : DrawnCars
        The possible cars of each wheel.
    """
    rows = np.array([option.rows for option in options]).T
    peaks = np.max(
        [peaks_in_cars(space.wheels[k], own, drawn, k) for k, own in enumerate(rows)], axis=0
    )
    limits = [limits_kept_in_cars(space.wheels[k], own, drawn, k) for k, own in enumerate(rows)]
    kept = np.logical_and.reduce([kept for kept, _ in limits])
    sound = np.logical_and.reduce(
        [drawn.of(k, wheel.evaluator).sound for k, wheel in enumerate(space.wheels)]
    )
    if not sound.any():
        return [None] * len(options)
    peaks, kept = peaks[:, sound], kept[:, sound]
    fitting = [space.fits(option) for option in options]
    best = peaks[fitting if any(fitting) else slice(None)].min(axis=0)
    tolerance = space.wheels[0].evaluator.tolerance
    return [
        _chances(
            peaks[k],
            (peaks[k] <= tolerance, kept[k], peaks[k] <= best + RESOLUTION),
            [one for _, told in limits for one in told[k]],
        )
        for k in range(len(options))
    ]


def _chances(peaks: Array, held: tuple[Bools, Bools, Bools], limits: list[LimitKept]) -> Chances:
    reached = np.degrees(np.minimum(peaks, np.pi))  # a car that a setting stops counts as the worst
    low, high = np.quantile(reached, FIVE_IN_A_HUNDRED)
    meets, keeps, near = (float(np.mean(one)) for one in held)
    return Chances(
        cars=len(reached),
        peak_mean_deg=float(reached.mean()),
        peak_median_deg=float(np.median(reached)),
        peak_05_deg=float(low),
        peak_95_deg=float(high),
        meets_tolerance_probability=meets,
        keeps_limits_probability=keeps,
        near_best_probability=near,
        limits=limits,
    )


def peaks_in_cars(wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int) -> Array:
    """Peak toe change of some of a wheel's settings in every car, (M, N). [rad]."""
    peaks = np.empty((rows.size, drawn.of(number, wheel.evaluator).sound.size))
    for evaluator, some in wheel.by_limits(rows):
        peaks[some] = drawn.of(number, evaluator).peaks(wheel.settings.rows(rows[some]))
    return peaks


def limits_kept_in_cars(
    wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int
) -> tuple[Bools, list[list[LimitKept]]]:
    """Whether each row keeps every limit in each car, (M, N); and what is told of each row."""
    first, of_row = np.unique(wheel.alike.of_row[rows], return_inverse=True)
    kept = np.empty((first.size, drawn.of(number, wheel.evaluator).sound.size), dtype=bool)
    told: list[list[LimitKept]] = [[] for _ in first]
    for evaluator, places in wheel.by_limits(first):
        found, settings = wheel.margins_of(first[places]), wheel.settings.rows(first[places])
        cars, side = drawn.of(number, evaluator), evaluator.case.side
        kept[places], shares = kept_in_cars(evaluator, settings, found, cars)
        for one, of_rows in shares:
            for place, share in zip(places.tolist(), of_rows.tolist(), strict=True):
                if share < AS_GOOD_AS_SURE:
                    told[place].append(
                        LimitKept(side=side, kind=one.kind, name=one.name, probability=share)
                    )
    return kept[of_row], [told[place] for place in of_row.tolist()]
