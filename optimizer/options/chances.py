"""How each option comes out in the cars that tape and build leave possible."""

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Rows
from optimizer.limits.kept import kept_in_cars
from optimizer.limits.watched import Margin
from optimizer.models.case import Case
from optimizer.models.setting import Chances, LimitKept
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import Option, OptionSpace
from optimizer.options.drawn import DrawnCars
from optimizer.options.proof import FASTER, RESOLUTION

MOST_RIVALS = 256  # settings of a wheel among which the best of each car is sought
WITH_RIVALS = 4  # of so many possible cars one: of 256 a probability of one half is known to 3 %
LOOKED_AT = 2  # of the least of each car at first
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
        All that the ranking shows; the best of each car is sought among them, and without kits
        among the rivals of each wheel too (`rivals_of`).
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
    rivals = peaks[[space.fits(option) for option in options]]
    if not space.with_kits:
        few = sound.size // WITH_RIVALS
        rivals = np.vstack([rivals[:, :few], _best_of_lots(space, drawn, few)])
    told = [[one for _, of_wheel in limits for one in of_wheel[k]] for k in range(len(options))]
    held = InCars(peaks, _met(space, rows, peaks, drawn), kept)
    return chances_of(held, rivals, sound, space.wheels[0].evaluator.case, told)


def _met(space: OptionSpace, rows: Rows, peaks: Array, drawn: DrawnCars) -> Bools:
    """Whether every wheel keeps the wanted band, or else the tolerance, (M, N)."""
    evaluator = space.wheels[0].evaluator
    if evaluator.case.aim.band is None:
        return peaks <= evaluator.tolerance
    met: Bools = np.logical_and.reduce(
        [in_band_in_cars(space.wheels[k], own, drawn, k) for k, own in enumerate(rows)]
    )
    return met


def _best_of_lots(space: OptionSpace, drawn: DrawnCars, few: int) -> Array:
    """Peak of the best rivals of each lot in each of the first few cars, (L, F). [rad]."""
    rows = [_thinned(wheel) for wheel in space.wheels]
    lots = [[np.isin(*both) for both in zip(rows, lot.rows, strict=True)] for lot in space.lots]
    if len(rows) == 1:  # no other wheel has to have the same rack
        lots = [[np.logical_or.reduce(lots)[0]]]
    least = [
        _least_kept(wheel, own, peaks_in_cars(wheel, own, drawn, k, few), [of[k] for of in lots])
        for k, (wheel, own) in enumerate(zip(space.wheels, rows, strict=True))
    ]
    best: Array = np.max(least, axis=0)
    return best


def _least_kept(wheel: Candidates, rows: Rows, peaks: Array, lots: list[Bools]) -> Array:
    """Least of the peaks (M, F) in each car, of those of a lot that are not seen to break a limit.

    Only what would be the least is looked at, and ever more of what comes next where that breaks
    one. (L, F) for L lots, (M,) each.
    """
    size = LOOKED_AT
    while True:
        broken = wheel.violation[rows] > 0.0
        left = np.where(broken[:, None], np.inf, peaks)
        ahead = [np.flatnonzero(lot)[np.argsort(left[lot], axis=0)[:size]] for lot in lots]
        asked = np.unique(np.concatenate([places.ravel() for places in ahead]))
        wheel.find_broken(rows[asked[~broken[asked]]])
        if np.array_equal(broken, wheel.violation[rows] > 0.0):
            return np.array([left[lot].min(axis=0, initial=np.inf) for lot in lots])
        size *= FASTER


def rivals_of(wheel: Candidates) -> Rows:
    """Settings of a wheel that may be the best of a car: none is seen to break a limit.

    At most `MOST_RIVALS`, evenly over all that can be built: between two of these none is much
    better than both.
    """
    rows = _thinned(wheel)
    wheel.find_broken(rows)
    kept: Rows = rows[~(wheel.violation[rows] > 0.0)]
    return kept


def _thinned(wheel: Candidates) -> Rows:
    rows, settings = wheel.allowed, wheel.settings
    if rows.size <= MOST_RIVALS:
        return rows
    columns = settings.outer_drop, settings.rack_raise, settings.forward, settings.linkage
    rows = rows[np.lexsort([one[rows] for one in columns])]
    return rows[np.linspace(0, rows.size - 1, MOST_RIVALS).round().astype(np.intp)]


class InCars(Struct, frozen=True):
    """What M settings do in N cars, (M, N) each.

    Their `peaks` of toe change, infinite out of reach [rad]; whether the wanted band or else the
    tolerance is `met`, and every limit `kept`.
    """

    peaks: Array
    met: Bools
    kept: Bools


def chances_of(
    held: InCars,
    rivals: Array,
    sound: Bools,
    case: Case,
    limits: list[list[LimitKept]],
) -> list[Chances | None]:
    """Chances of M settings from what they do in N cars; None without a sound one.

    Parameters
    ----------
    held : InCars
        What they do.
    rivals : (K, F) float array
        Peaks of all that the best of each of the first F cars may be, the settings' own where there
        is none. [rad]
    sound : (N,) bool array
        Cars that count.
    case : Case
        For whether a band is wanted, and its other wheel was drawn along.
    limits : list of M lists of LimitKept
        What is told of each limit.
    """
    if not sound.any():
        return [None] * len(held.peaks)
    few = np.flatnonzero(sound[: rivals.shape[1]])
    least, own = rivals[:, few].min(axis=0, initial=np.inf), held.peaks[:, few].min(axis=0)
    best = np.where(np.isfinite(least), least, own) + RESOLUTION
    found: list[Chances | None] = []
    for peak, meets, keeps, told in zip(held.peaks, held.met, held.kept, limits, strict=True):
        shares = meets[sound], keeps[sound], peak[few] <= best
        found.append(_chances(peak[sound], shares, told, case))
    return found


def _chances(
    peaks: Array, shares: tuple[Bools, Bools, Bools], limits: list[LimitKept], case: Case
) -> Chances:
    reached = np.degrees(np.minimum(peaks, np.pi))  # a car that a setting stops counts as the worst
    low, high = np.quantile(reached, FIVE_IN_A_HUNDRED)
    meets, keeps, near = (float(np.mean(one)) for one in shares)
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
        other_wheel=bool(case.accuracy.left_right),
        of_band=case.aim.band is not None,
    )


def peaks_in_cars(
    wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int, few: int | None = None
) -> Array:
    """Peak toe change of some of a wheel's settings in all cars or the first few, (M, N). [rad]."""
    count = drawn.of(number, wheel.evaluator).sound.size if few is None else few
    peaks = np.empty((rows.size, count))
    for evaluator, some in wheel.by_limits(rows):
        cars = drawn.of(number, evaluator)
        cars = cars if few is None else cars.first(few)
        peaks[some] = cars.peaks(wheel.settings.rows(rows[some]))
    return peaks


def met_in_cars(wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int) -> Bools:
    """Whether some of a wheel's settings keep the band, or else the tolerance, (M, N)."""
    if wheel.evaluator.case.aim.band is not None:
        return in_band_in_cars(wheel, rows, drawn, number)
    met: Bools = peaks_in_cars(wheel, rows, drawn, number) <= wheel.evaluator.tolerance
    return met


def in_band_in_cars(wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int) -> Bools:
    """Whether some of a wheel's settings keep the wanted band in each car, (M, N)."""
    met = np.empty((rows.size, drawn.of(number, wheel.evaluator).sound.size), dtype=bool)
    for evaluator, some in wheel.by_limits(rows):
        met[some] = drawn.of(number, evaluator).in_band(wheel.settings.rows(rows[some]))
    return met


def limits_kept_in_cars(
    wheel: Candidates, rows: Rows, drawn: DrawnCars, number: int
) -> tuple[Bools, list[list[LimitKept]]]:
    """Whether each row keeps every limit in each car, (M, N); and what is told of each row."""
    first, of_row = np.unique(wheel.alike.of_row[rows], return_inverse=True)
    kept = np.empty((first.size, drawn.of(number, wheel.evaluator).sound.size), dtype=bool)
    told: list[list[LimitKept]] = [[] for _ in first]
    for evaluator, places in wheel.by_limits(first):
        found, settings = wheel.margins_of(first[places]), wheel.settings.rows(first[places])
        cars = drawn.of(number, evaluator)
        kept[places], shares = kept_in_cars(evaluator, settings, found, cars)
        limits_of = limits_told(shares, evaluator, places.size)
        for place, limits in zip(places.tolist(), limits_of, strict=True):
            told[place] = limits
    return kept[of_row], [told[place] for place in of_row.tolist()]


def limits_told(
    shares: Sequence[tuple[Margin, Array]], evaluator: Evaluator, count: int
) -> list[list[LimitKept]]:
    """Of each of `count` settings the limits that are not as good as sure, from their shares."""
    side = evaluator.case.side
    return [
        [
            LimitKept(side=side, kind=one.kind, name=one.name, probability=float(share[k]))
            for one, share in shares
            if share[k] < AS_GOOD_AS_SURE
        ]
        for k in range(count)
    ]
