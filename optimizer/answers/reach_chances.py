"""In how many possible cars a kit meets a ride height, with whatever of it suits each car."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from optimizer.car.alignment import AlignmentError
from optimizer.car.ride_heights import case_at
from optimizer.car.settings import Rows
from optimizer.models.kits import Kit
from optimizer.models.reach import MetInCars, ReachResult
from optimizer.models.vehicle import Vehicle
from optimizer.options.chances import Bools, limits_kept_in_cars, met_in_cars
from optimizer.options.dimensions import OptionSpace, option_space
from optimizer.options.drawn import DrawnCars

CARS = 256  # a share of one half is then known to 3 %, one standard deviation


def with_chances(
    result: ReachResult,
    vehicle: Vehicle,
    kits: Sequence[Kit] = (),
    seed: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> ReachResult:
    """Add to every row in how many of the possible cars it is met.

    Parameters
    ----------
    result : ReachResult
        What `reach` has found of the same car and kits.
    vehicle : Vehicle
        The car.
    kits : sequence of Kit
        The kits.
    seed : int
        Of the draw of cars; the same ones for every kit and height.
    progress : callable, optional
        Told how many of how many ride heights are done.

    Returns
    -------
    ReachResult
        A car counts where some setting of the kit keeps the tolerance, or the wanted band, and
        every limit in it, as a gauge would find it; None where the alignment can't be set.
    """
    heights = list(dict.fromkeys(row.lowered_by_mm for row in result.heights))
    known, each = {}, len(result.kits)
    for done, height in enumerate(heights, start=1):
        known[height] = list(_met(vehicle, height, kits, seed))
        if progress is not None:
            progress(done, len(heights))
    return result.model_copy(
        update={
            "heights": [
                row.model_copy(update={"chances": known[row.lowered_by_mm][place % each]})
                for place, row in enumerate(result.heights)
            ]
        }
    )


def _met(
    vehicle: Vehicle, height: float, kits: Sequence[Kit], seed: int
) -> Iterator[MetInCars | None]:
    """Chances of each kit, or of the car's own hardware, at one ride height."""
    cases = tuple(case_at(case, height) for case in vehicle.wheels)
    names: list[str | None] = [kit.name for kit in kits]
    try:
        space = option_space(Vehicle(cases), kits)
    except AlignmentError:
        yield from [None] * max(1, len(names))
        return
    drawn = DrawnCars(seed, CARS)
    sound = np.logical_and.reduce(
        [drawn.of(k, wheel.evaluator).sound for k, wheel in enumerate(space.wheels)]
    )
    for name in names or [None]:
        if not sound.any():
            yield None
            continue
        met = _met_by(space, drawn, name)[sound]
        yield MetInCars(cars=met.size, met_probability=float(met.mean()))


def _met_by(space: OptionSpace, drawn: DrawnCars, name: str | None) -> Bools:
    """Whether something of a kit serves all wheels of each car, (N,)."""
    lots = [
        lot
        for lot in space.lots
        if not (one := space.hardware[lot.hardware]).must_leave
        and (None if one.kit is None else one.kit.name) == name
    ]
    rows = [np.unique(np.concatenate([lot.rows[k] for lot in lots])) for k in _wheels(space)]
    served = [_served(space, drawn, k, own) for k, own in enumerate(rows)]
    of_lots = [
        np.logical_and.reduce(
            [served[k][np.searchsorted(rows[k], lot.rows[k])].any(axis=0) for k in _wheels(space)]
        )
        for lot in lots
    ]
    met: Bools = np.logical_or.reduce(of_lots)
    return met


def _wheels(space: OptionSpace) -> range:
    return range(len(space.wheels))


def _served(space: OptionSpace, drawn: DrawnCars, number: int, rows: Rows) -> Bools:
    """Whether each row keeps what is wanted and limits of one wheel in each car, (M, N)."""
    wheel = space.wheels[number]
    served = met_in_cars(wheel, rows, drawn, number)
    some = np.flatnonzero(served.any(axis=1))
    if some.size:
        served[some] &= limits_kept_in_cars(wheel, rows[some], drawn, number)[0]
    return served
