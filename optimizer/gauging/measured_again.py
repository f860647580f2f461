"""Points and lengths measured again: readings like any other, of coordinates instead of poses."""

from collections.abc import Sequence
from itertools import combinations

import numpy as np
from msgspec import Struct

from geometry.motion import Motion
from geometry.variance_indices import uniform_of_normal, variance_indices
from geometry.vectors import Array, norm
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import BUILT, ManyCars, cars_of
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names, tape_root
from optimizer.gauging.fit import foretold_by_tape
from optimizer.gauging.observation import Observation

TO_MM = 0.5  # of a careful second measurement; common practice, no source
INDEXED = 4  # the usual number of cars over those that each index takes
OF_LINKS = (
    *("lower_arm", "upper_arm", "link_1", "link_2", "link_3", "link_4"),
    *("tie_rod", "drag_link"),
)
JOINTS = {"lower_arm": "lower_ball_joint", "upper_arm": "upper_ball_joint"}


class Spot(Struct, frozen=True):
    """A coordinate of a point or, without `axis`, the length between two."""

    points: tuple[str, ...]
    axis: str | None

    def of(self, corner: Corner) -> Array:
        """What it is on N cars, (N, 1). [mm]."""
        places = [corner.measured[name] for name in self.points]
        if self.axis is None:
            return norm(places[1] - places[0])
        return places[0][..., "xyz".index(self.axis)]


def spots(tape: Evaluator) -> list[Spot]:
    """Every coordinate that errors of the tape move, and the length of every link that they do."""
    names, root = point_names(tape.corner), tape_root(tape.case, tape.corner)
    free = root.any(axis=1).reshape(-1, 3)
    found = [
        Spot((name,), axis)
        for name, moves in zip(names, free, strict=True)
        for axis, free_to in zip("xyz", moves, strict=True)
        if free_to
    ]
    known = {name for name in names if all(name not in one.points for one in found)}
    return found + [Spot(ends, None) for ends in _links(names) if not known.issuperset(ends)]


def measured(some: Sequence[Spot], now: Settings) -> Observation:
    """Measure spots again: a row each, whatever is fitted."""

    def seen(corner: Corner, motion: Motion) -> Array:
        rows = np.hstack([one.of(corner) for one in some])
        return np.hstack([rows, np.zeros((len(rows), 1))])  # and none at ride height

    return Observation.of(seen, now, np.zeros(len(some)), TO_MM, zero=False, length=True)


def indices(
    tape: Evaluator, setting: Settings, some: Sequence[Spot], seed: int
) -> dict[Spot, tuple[float, float]]:
    """Variance-based indices of the peak of a setting with each spot, by tape alone.

    Shares of its variance: what goes if the spot alone were known, what is left if all else were.
    """
    size = 3 * len(point_names(tape.corner))
    count = cars_of(tape.corner) // INDEXED

    def peak(normal: Array) -> Array:
        points, built = normal[:, :size], uniform_of_normal(normal[:, size:])
        cars = ManyCars.of(tape, points.reshape(len(points), -1, 3), built)
        found: Array = np.minimum(cars.peaks(setting)[0], np.pi)
        return found

    rng = np.random.default_rng([seed, 2])
    one, other = rng.normal(size=(2, count, size + len(BUILT)))
    ((_, rates),) = foretold_by_tape(tape, [measured(some, setting)])
    ways = np.zeros((len(some), size + len(BUILT)))
    ways[:, :size] = rates / np.linalg.norm(rates, axis=1, keepdims=True)
    first, total = variance_indices(peak, one, other, ways)
    return dict(zip(some, zip(first.tolist(), total.tolist(), strict=True), strict=True))


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
