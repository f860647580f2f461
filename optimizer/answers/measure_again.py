"""What to measure again: what each coordinate and length, known better, would make of the choice.

A reading counts by the decision that it serves, as in `gauging.next_reading`.  Each possible car is
taken for the true one in turn: it is read, the others are weighed by how well they agree with the
reading, the setting with the smallest mean peak over them is chosen, and judged on that car.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from geometry.variance_indices import uniform_of_normal, variance_indices
from geometry.vectors import Array, unit
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars, cars_of
from optimizer.car.settings import Rows, Settings
from optimizer.car.tape import point_names, tape_root
from optimizer.models.measure_again import MeasureAgain, MeasuredAgain
from optimizer.models.suggest import WheelAnswer
from optimizer.options.candidates import Candidates
from optimizer.options.dimensions import Option, OptionSpace

TO_MM = 0.5  # of a careful second measurement; common practice, no source
MOST_SETTINGS = 60  # of those that fit, the best by estimate
AS_MANY = 2  # times the usual number of cars
INDEXED = 4  # the usual number of cars over those that each index takes
SHOWN = 12
TOGETHER = 4  # coordinates
TRUTHS, POSSIBLE = 256, 48  # true cars, and those that their readings leave possible
OF_LINKS = (
    *("lower_arm", "upper_arm", "link_1", "link_2", "link_3", "link_4"),
    *("tie_rod", "drag_link"),
)
JOINTS = {"lower_arm": "lower_ball_joint", "upper_arm": "upper_ball_joint"}


def with_measure_again(
    wheels: Sequence[WheelAnswer], space: OptionSpace, first: Option | None, seed: int
) -> list[WheelAnswer]:
    """Add to what is told of each wheel what to measure again, with number 1 or left as it is."""
    rows = (space.as_is if first is None else first).rows
    return [
        one.model_copy(update={"measure_again": measure_again(wheel, row, seed, number)})
        for number, (one, wheel, row) in enumerate(zip(wheels, space.wheels, rows, strict=True))
    ]


def measure_again(wheel: Candidates, first: int, seed: int, number: int) -> MeasureAgain | None:
    """Rank what may be measured again at one wheel by what the setting chosen then would do.

    Parameters
    ----------
    wheel : Candidates
        Its settings.
    first : int
        Row of number 1, or of leaving it as it is where nothing fits.
    seed : int
        Of the draw of cars.
    number : int
        Which wheel, for the draw.

    Returns
    -------
    MeasureAgain or None
        Its `SHOWN` best; None where no possible car can be followed.
    """
    part = wheel.place(first)[0]
    evaluator = wheel.parts[part].evaluator
    rows = _considered(wheel, part, first)
    cars = ManyCars.drawn(evaluator, seed, number, AS_MANY * cars_of(evaluator.corner))
    sound = np.flatnonzero(cars.sound)
    if not sound.size:
        return None
    settings = wheel.settings.rows(rows)
    scored = _Scored(np.minimum(cars.peaks(settings)[:, sound], np.pi), evaluator.tolerance)
    errors = cars.points[sound].reshape(sound.size, -1)
    inputs = _inputs(evaluator)
    indices = _indices(evaluator, wheel.settings.rows(np.array([first])), inputs, seed)
    noise = np.random.default_rng([seed, number, 1]).normal(size=sound.size)
    found = [
        _measured(one, scored.after(errors @ one.rates, noise), (float(first), float(total)))
        for one, first, total in zip(inputs, *indices, strict=True)
    ]
    order = np.argsort([one.peak_mean_deg for one in found], kind="stable").tolist()
    best = [inputs[k] for k in order if inputs[k].axis is not None][:TOGETHER]
    together = _together(evaluator, settings, np.array([one.rates for one in best]), seed)
    now = np.full(sound.size, np.argmin(scored.peaks.mean(axis=1)))
    peak, meets = scored.judged(now)
    return MeasureAgain(
        side=evaluator.case.side,
        cars=sound.size,
        settings=rows.size,
        peak_mean_deg=peak,
        meets_probability=meets,
        ranked=[found[k] for k in order[:SHOWN]],
        together=len(best),
        peak_mean_together_deg=together[0],
        meets_probability_together=together[1],
    )


@dataclass(frozen=True)
class _Input:
    """A coordinate of a point or, without `axis`, the length between two.

    `rates` (3P,) are those with the errors of the tape, in standard deviations. [mm]
    """

    points: list[str]
    axis: str | None
    rates: Array


@dataclass(frozen=True)
class _Scored:
    """Peaks of M settings in N cars (M, N), and the tolerance. [rad]."""

    peaks: Array
    tolerance: float

    def judged(self, chosen: Rows) -> tuple[float, float]:
        """Mean peak [deg] and share within the tolerance, with a setting for each car (N,)."""
        peaks = self.peaks[chosen, np.arange(chosen.size)]
        return float(np.degrees(peaks.mean())), float(np.mean(peaks <= self.tolerance))

    def after(self, value: Array, noise: Array) -> tuple[float, float]:
        """The same with what is chosen in each car after reading its value (N,). [mm].

        `noise` (N,) is that of the reading in standard deviations.
        """
        read = value + TO_MM * noise
        agrees = np.exp(-0.5 * ((read[:, None] - value) / TO_MM) ** 2)
        np.fill_diagonal(agrees, 0.0)  # no car is judged by what it was chosen from
        return self.judged(np.argmin(agrees @ self.peaks.T, axis=1))


def _measured(
    one: _Input, after: tuple[float, float], indices: tuple[float, float]
) -> MeasuredAgain:
    return MeasuredAgain(
        points=one.points,
        axis=one.axis,
        to_mm=TO_MM,
        peak_mean_deg=after[0],
        meets_probability=after[1],
        first_order=indices[0],
        total_order=indices[1],
    )


def _together(
    evaluator: Evaluator, settings: Settings, rates: Array, seed: int
) -> tuple[float, float]:
    """Mean peak [deg] and share within the tolerance after several readings, rates (K, 3P).

    Of every true car others are drawn from what its readings leave open, which is known: errors of
    tape and readings are normal.
    """
    size, rng = rates.shape[1], np.random.default_rng([seed, 3])
    truth = rng.normal(size=(TRUTHS, size))
    read = truth @ rates.T + TO_MM * rng.normal(size=(TRUTHS, len(rates)))
    left = np.linalg.inv(np.eye(size) + rates.T @ rates / TO_MM**2)
    believed = read @ rates @ left / TO_MM**2
    spread = rng.normal(size=(POSSIBLE, size)) @ np.linalg.cholesky(left).T
    every = np.concatenate([truth, (believed[:, None] + spread).reshape(-1, size)])
    built = rng.uniform(-1.0, 1.0, (len(every), len(BUILT)))
    cars = ManyCars.of(evaluator, every.reshape(len(every), -1, 3), built)
    peaks = np.minimum(cars.peaks(settings), np.pi)
    of_truths, possible = peaks[:, :TRUTHS], peaks[:, TRUTHS:].reshape(len(peaks), TRUTHS, POSSIBLE)
    sound = np.flatnonzero(cars.sound[:TRUTHS])
    chosen = np.argmin(possible.mean(axis=2), axis=0)
    return _Scored(of_truths[:, sound], evaluator.tolerance).judged(chosen[sound])


def _considered(wheel: Candidates, part: int, first: int) -> Rows:
    """Settings of number 1's hardware and place of the rack that keep every limit, and itself."""
    rows, settings = wheel.rows_of(part), wheel.settings
    same = settings.rack_raise[rows] == settings.rack_raise[first]
    rows = rows[same & (settings.linkage[rows] == settings.linkage[first])]
    rows = rows[np.argsort(wheel.estimates[0][rows], kind="stable")][:MOST_SETTINGS]
    return np.union1d(rows[wheel.fits(rows)], [first])


def _inputs(evaluator: Evaluator) -> list[_Input]:
    """Every coordinate, and the length of every link, that errors of the tape move."""
    names, root = point_names(evaluator.corner), tape_root(evaluator.case, evaluator.corner)
    found = [
        _Input([name], axis, root[3 * k + j])
        for k, name in enumerate(names)
        for j, axis in enumerate("xyz")
    ]
    for start, end in _links(names):
        first, second = (evaluator.corner.measured[name] for name in (start, end))
        at, to = 3 * names.index(start), 3 * names.index(end)
        moved = root[to : to + 3] - root[at : at + 3]
        found.append(_Input([start, end], None, unit(second - first) @ moved))
    return [one for one in found if one.rates.any()]


def _links(names: list[str]) -> list[tuple[str, str]]:
    """Ends of arms, links and rods."""
    found = []
    for link in OF_LINKS:
        ends = [name for name in names if name.startswith(f"{link}_")]
        joint = JOINTS.get(link)
        if joint is None:
            found += [pair for pair in combinations(ends, 2) if len(ends) == 2]
        elif joint in names:
            found += [(end, joint) for end in ends]
    return found


def _indices(
    evaluator: Evaluator, setting: Settings, inputs: list[_Input], seed: int
) -> tuple[Array, Array]:
    """First-order and total indices of a setting's peak with each input."""
    size = 3 * len(point_names(evaluator.corner))
    count = cars_of(evaluator.corner) // INDEXED

    def peak(normal: Array) -> Array:
        points, built = normal[:, :size], uniform_of_normal(normal[:, size:])
        cars = ManyCars.of(evaluator, points.reshape(len(points), -1, 3), built)
        found: Array = np.minimum(cars.peaks(setting)[0], np.pi)
        return found

    rng = np.random.default_rng([seed, 2])
    one, other = rng.normal(size=(2, count, size + len(BUILT)))
    rates = np.array([one.rates for one in inputs])
    ways = np.zeros((len(inputs), size + len(BUILT)))
    ways[:, :size] = rates / np.linalg.norm(rates, axis=1, keepdims=True)
    return variance_indices(peak, one, other, ways)
