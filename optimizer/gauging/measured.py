"""The curve that readings make: slope, curvature, scatter, play, and rows that stand apart."""

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.models.readings import heights_apart

DEGREE = 3  # a measured curve bears no more
UNLIKE = 5.0  # logarithm of how much likelier the others get without a row that stands apart
LEAST_APART = float(np.radians(0.03))  # closer to the curve than this, no row stands apart
FEWEST_FOR_OUTLIERS = 7
BEYOND_CUBIC = 0.02  # of the whole swing: what a true curve may leave of a cubic at its ends
FEWEST_LEFT = 3  # heights, without the row that stands apart
FEWEST_BOTH_WAYS = 3  # heights read on the way up and on the way down, to tell play
SAME_HEIGHT_MM = 1.0
USUAL_NOISE = float(np.radians(0.01))  # where there are too few rows to tell; common practice
FEWEST_TO_TELL = 3  # rows more than the curve has unknowns


class MeasuredCurve(Struct, frozen=True):
    """A polynomial through a sweep.

    `coefficients` (D,) belong to travel, travel squared, …; `zero` is toe at ride height;
    `scatter` one standard deviation of the rows about it, and `freedom` how many rows more than
    unknowns it is estimated from; `slope_sigma` one standard deviation of the slope [rad/mm];
    `play` toe on the way up less toe on the way down, NaN where no heights were read both ways;
    `apart` (N,) marks rows left out, `left` (N,) is what the curve leaves of each row.  [rad, mm]
    """

    travel: Array
    toe: Array
    coefficients: Array
    zero: float
    scatter: float
    freedom: int
    slope_sigma: float
    play: float
    apart: NDArray[np.bool_]
    left: Array

    @property
    def slope(self) -> float:
        """Slope at ride height, or the mean one where only two heights were read. [rad/mm]."""
        return float(self.coefficients[0])

    @property
    def bend(self) -> float | None:
        """Square part of the curve, None where two heights tell none. [rad/mm^2]."""
        return float(self.coefficients[1]) if self.coefficients.size > 1 else None

    def at(self, travel: Array) -> Array:
        """Toe change from ride height at wheel travels, (T,) to (T,). [rad]."""
        powers = np.vander(travel, len(self.coefficients) + 1, increasing=True)[:, 1:]
        change: Array = powers @ self.coefficients
        return change


class _Fit(Struct, frozen=True):
    """Least squares through the kept rows; the columns are powers of travel, then the stroke.

    `inverse` is the pseudo-inverse of the kept rows.
    """

    solution: Array
    left: Array
    scatter: float
    freedom: int
    inverse: Array
    covariance: Array


def measured_curve(travel: Array, toe: Array) -> MeasuredCurve:
    """Fit the curve, leaving out rows that stand apart.

    Parameters
    ----------
    travel, toe : (N,) float array
        Wheel travel [mm] and toe [rad] in the order in which they were read.

    Returns
    -------
    MeasuredCurve
        Of degree 3, or less where there are few heights.
    """
    kept = np.ones(travel.size, dtype=bool)
    for _ in range(max(1, travel.size // 4)):
        worst = _row_apart(travel, toe, kept)
        if worst is None:
            break
        kept[worst] = False
    terms, scale, degree = _terms(travel, kept)
    fit = _fitted(terms, toe, kept)
    return MeasuredCurve(
        travel=travel,
        toe=toe,
        coefficients=fit.solution[1 : degree + 1] / scale[1 : degree + 1],
        zero=float(fit.solution[0]),
        scatter=fit.scatter,
        freedom=fit.freedom,
        slope_sigma=float(np.sqrt(fit.covariance[1, 1]) / scale[1]),
        play=float(fit.solution[degree + 1]) if terms.shape[1] > degree + 1 else float("nan"),
        apart=~kept,
        left=fit.left,
    )


def _row_apart(travel: Array, toe: Array, kept: NDArray[np.bool_]) -> int | None:
    """Row that the curve through all others misses by far more than they scatter.

    The likelihood ratio of normal errors: the fewer the others, the less they tell of the scatter.
    """
    if kept.sum() < FEWEST_FOR_OUTLIERS:
        return None
    terms, _, _ = _terms(travel, kept)
    worst = int(np.argmax(np.where(kept, np.abs(_fitted(terms, toe, kept).left), 0.0)))
    others = kept.copy()
    others[worst] = False
    if heights_apart(travel[others]) < FEWEST_LEFT:
        return None
    terms = _terms(travel, others)[0]
    without = _fitted(terms, toe, others)
    sigma = without.scatter * np.hypot(1.0, np.linalg.norm(terms[worst] @ without.inverse))
    times = np.sqrt(without.freedom * np.expm1(2.0 * UNLIKE / max(without.freedom, 1)))
    far = max(times * sigma, LEAST_APART, BEYOND_CUBIC * float(np.ptp(toe[others])))
    apart = abs(without.left[worst]) >= far
    return worst if apart else None


def _terms(travel: Array, kept: NDArray[np.bool_]) -> tuple[Array, Array, int]:
    """Columns of the least squares, what divides their coefficients, and the curve's degree."""
    longest = max(float(np.abs(travel).max()), 1e-9)
    degree = min(DEGREE, heights_apart(travel[kept]) - 1)
    powers = np.vander(travel / longest, degree + 1, increasing=True)
    stroke = strokes(travel)
    if heights_read_both_ways(travel[kept], stroke[kept]) >= FEWEST_BOTH_WAYS:
        powers = np.column_stack([powers, 0.5 * stroke])
    return powers, longest ** np.arange(degree + 1.0), degree


def _fitted(terms: Array, toe: Array, kept: NDArray[np.bool_]) -> _Fit:
    solution: Array = np.linalg.lstsq(terms[kept], toe[kept], rcond=None)[0].astype(np.float64)
    left: Array = toe - terms @ solution
    freedom = int(kept.sum()) - terms.shape[1]
    scatter = float(np.sqrt((left[kept] ** 2).sum() / max(freedom, 1)))
    told = scatter if freedom >= FEWEST_TO_TELL else max(scatter, USUAL_NOISE)
    inverse = np.asarray(np.linalg.pinv(terms[kept]), dtype=np.float64)
    covariance: Array = told**2 * inverse @ inverse.T
    return _Fit(solution, left, scatter, max(freedom, 0), inverse, covariance)


def strokes(travel: Array) -> Array:
    """+1 where the wheel had been raised to a row's height, -1 where it had been lowered, (N,)."""
    way = np.sign(np.diff(travel, prepend=travel[:1]))
    moved = np.flatnonzero(way)
    if not moved.size:
        return np.ones(travel.size)
    way[: moved[0]] = way[moved[0]]
    # A row read twice without moving belongs to the stroke before it.
    last = np.maximum.accumulate(np.where(way != 0.0, np.arange(way.size), 0))
    return way[last]


def heights_read_both_ways(travel: Array, stroke: Array) -> int:
    """How many heights of the way up were read on the way down too."""
    up, down = travel[stroke > 0.0], np.sort(travel[stroke < 0.0])
    after = np.searchsorted(down, up)
    ends = np.concatenate([[-np.inf], down, [np.inf]])
    near = np.minimum(up - ends[after], ends[after + 1] - up) <= SAME_HEIGHT_MM
    return int(np.unique(np.round(up[near])).size)
