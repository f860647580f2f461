"""How surely each limit is kept, in the cars that tape and build leave possible.

A margin is followed where any limit is worst on the car as measured, and at the ends of travel and
lock, to first order: each error moves it there by so much; what `[aim] also` wants, where that is
looked at.  Limits that no error of a point moves much (stud, lock-up, reach) count as measured, and
so do gaps to all but the nearest parts around.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.motion import toe_held_motion
from geometry.vectors import Array, norm
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars
from optimizer.car.settings import Rows, Settings
from optimizer.limits.also import beside
from optimizer.limits.margins import Margin, Places, end_places, strength_margins, watched_at
from optimizer.limits.near import MOST_GAPS

WATCHED = ("tilt", "gap")  # at places that all share
FOLLOWED = (*WATCHED, "thread", "steered", "turn", "roll")
AS_MEASURED = ("reach", "lock", "stud")  # limits that are not followed in cars
STEP = 0.05  # standard deviations, or shares of a tolerance


class CarByRow(Evaluator, frozen=True):
    """Candidates each of which is fitted to a car of its own, raised and set to toe by `cars`.

    Of `cars` points are (K, 1, 3), of `corner` the two pivots (K, 3); `settings` are the K
    candidates that it was made for.
    """

    cars: ManyCars
    settings: Settings

    @property
    def lowered_by(self) -> Array:
        """How much lower each chassis sits than when measured, (K, 1). [mm]"""
        return self.case.ride.lowered_by + self.cars.raised

    def rod_length(self, settings: Settings) -> Array:
        """Rod length that gives each car its static toe at its ride height, (K,). [mm]."""
        return self._length

    @cached_property
    def _length(self) -> Array:
        toe = self.static_toe + self.cars.toe
        linkage, spin = self.linkage(self.settings), self.corner.spin
        held = toe_held_motion(linkage, self.lowered_by, spin, toe)
        outer, inner = self.corner.pivots(self.settings)
        return norm(held.moved(outer[:, None, :])[:, 0] - inner)


def margins_in_cars(
    evaluator: Evaluator, settings: Settings, found: Sequence[Margin], cars: ManyCars
) -> list[tuple[Margin, Array]]:
    """What limits leave in many cars, to first order.

    Parameters
    ----------
    evaluator : Evaluator
        The case.
    settings : Settings
        M candidates.
    found : sequence of Margin
        Their limits on the car as measured, and where each is worst.
    cars : ManyCars
        N cars of the case.

    Returns
    -------
    list of (Margin, (M, N) float array)
        Those of tilt, gap, thread and `[aim] also`, positive when safe.
    """
    followed, far = _followed(found)
    if not followed:
        return []
    errors = [_errors(one) for one in (cars, cars.other) if one is not None]
    rack, travel = _places(evaluator, followed)
    seen = _seen(evaluator, settings, followed, (rack, travel), cars)
    left = [
        (one, np.broadcast_to(one.margin[:, None], (len(one.margin), len(cars.points))))
        for one in far
    ]
    for k, one in enumerate(followed):
        at, rates = seen[one.key]
        if one.kind in WATCHED:
            at[:, k] = one.margin  # as finely as it was followed there
        wheels = [(at[..., None] + rates[..., : len(own)] @ own).min(axis=1) for own in errors]
        left.append((one, np.min(wheels, axis=0)))
    return left


def _errors(cars: ManyCars) -> Array:
    """Every error of many cars, of points, of the build and from the other side, (E, N)."""
    blocks = (
        [cars.points, cars.built] if cars.apart is None else [cars.points, cars.built, cars.apart]
    )
    return np.concatenate([one.reshape(len(cars.points), -1) for one in blocks], axis=1).T


def kept_in_cars(
    evaluator: Evaluator, settings: Settings, found: Sequence[Margin], cars: ManyCars
) -> tuple[NDArray[np.bool_], list[tuple[Margin, Array]]]:
    """Whether settings keep every limit in each of many cars, (M, N); parameters as above.

    And of each limit that is followed in them the share of the cars in which it is kept, (M,).
    """
    kept = np.ones((len(settings), len(cars.points)), dtype=bool)
    for one in found:
        if one.kind in AS_MEASURED:
            kept &= (one.margin >= 0.0)[:, None]
    shares = []
    for one, left in margins_in_cars(evaluator, settings, found, cars):
        held = left >= 0.0
        kept &= held
        shares.append((one, held.mean(axis=1)))
    return kept, shares


def _followed(found: Sequence[Margin]) -> tuple[list[Margin], list[Margin]]:
    """Limits that are followed in possible cars, and gaps that are too wide for that."""
    known = [one for one in found if one.kind in FOLLOWED and np.isfinite(one.margin).any()]
    gaps = sorted(
        (one for one in known if one.kind == "gap"), key=lambda one: np.nanmin(one.margin)
    )
    far = gaps[MOST_GAPS:]
    names = {one.name for one in far}
    return [one for one in known if one.kind != "gap" or one.name not in names], far


def _places(evaluator: Evaluator, followed: Sequence[Margin]) -> Places:
    """Where any of the limits is worst, and the ends of travel and lock, (M, P) twice. [mm]."""
    rack, travel = (
        np.stack([getattr(one, place) for one in followed], axis=1)
        for place in ("rack_travel", "travel")
    )
    ends = [np.broadcast_to(one, (len(rack), one.size)) for one in end_places(evaluator)]
    return np.hstack([rack, ends[0]]), np.hstack([travel, ends[1]])


def _seen(
    evaluator: Evaluator,
    settings: Settings,
    followed: Sequence[Margin],
    places: Places,
    cars: ManyCars,
) -> dict[tuple[str, str], tuple[Array, Array]]:
    """What each limit leaves at places (M, P), and how much each error moves that (M, P, count)."""
    wanted = {one.key for one in followed}
    size, both = cars.points[0].size, cars.other is not None
    count = size + len(BUILT) + (size if both else 0)
    steps = STEP * np.eye(count + 1, count, -1)
    points, built, apart = np.split(steps, [size, size + len(BUILT)], axis=1)
    by_point = (len(steps), -1, 3)
    moved = ManyCars.of(
        evaluator,
        points.reshape(by_point),
        built,
        apart=apart.reshape(by_point) if both else None,
    )
    many = len(settings)
    each = settings.rows(np.repeat(np.arange(many), len(steps)))
    by_row = _car_by_row(evaluator, moved, each)
    rack, travel = (np.repeat(one, len(steps), axis=0) for one in places)
    values = {
        (one.kind, one.name): one.margin(one.value())
        for one in watched_at(by_row, each, (rack, travel))
        if (one.kind, one.name) in wanted
    } | {
        one.key: one.margin[:, None] for one in strength_margins(by_row, each) if one.key in wanted
    }
    values |= {(one.kind, one.name): one.left for one in beside(by_row, each)}
    found = {}
    for key, value in values.items():
        at = value.reshape(many, len(steps), -1)
        rates = np.moveaxis((at[:, 1:] - at[:, :1]) / STEP, 1, 2)
        found[key] = np.nan_to_num(at[:, 0], nan=np.inf), np.nan_to_num(rates)
    return found


def _car_by_row(evaluator: Evaluator, moved: ManyCars, each: Settings) -> CarByRow:
    """Evaluator of candidates, each fitted to the next of all moved cars, over and over."""
    every = np.arange(len(each)) % len(moved.points)
    corner = _rows(moved.corner, every)
    cars = replace(moved, raised=moved.raised[every], toe=moved.toe[every])
    return CarByRow(evaluator.case, corner, evaluator.travel, {}, cars, each)


def _rows(corner: Corner, rows: Rows) -> Corner:
    return replace(
        corner,
        points={name: point[rows] for name, point in corner.points.items()},
        outer_seat=corner.outer_seat[rows, 0],
        inner=corner.inner[rows, 0],
    )
