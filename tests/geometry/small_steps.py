"""A slow reference for which assembly is meant: linkages led along a path in steps of 0.25 mm.

Every upright is held by links of constant length, by a damper rod that runs through its top mount,
by the height of its wheel center and by its tie rod; a beam axle by the same of its beam and its
two knuckles.  Squared lengths and vector products are all that is written down, differenced where
Newton's method wants slopes: nothing is taken from the project.  Each pose starts from the one
before it.  A step is halved where it would lead far, or where the slopes' determinant would double,
halve or change its sign; a path that needs steps below 1e-4 mm has ended, for there the linkage has
no way on.  Many cars go side by side.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP_MM = 0.25
FINEST_MM = 1e-4
SIZE_MM = 300.0  # brings turns and moves to one size
CLOSED = 1e-12  # of an equation [SIZE_MM squared]
GRAZING = 0.01  # of the determinant at ride height: rod and arm within about half a degree of line
IN_LINE = np.sin(np.radians(2.0))  # sine between rod and arm as measured: no car, but one that jams
FARTHEST = 0.05  # of a step's answer, radians or lengths of SIZE_MM; a longer way is no small step
MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True)
class Car:
    """One left wheel's points as measured, what its rod was set to, and what was fitted. [mm]

    `outer` and `inner` are the rod's pivots straight ahead, `length` its length; `drop` has moved
    the lower ball joint down in the upright.
    """

    points: Mapping[str, Array]
    outer: Array
    inner: Array
    length: float
    drop: float = 0.0


@dataclass(frozen=True)
class Ends:
    """Where paths (P,) ended: `turns` (P, 3, 3) of the wheels, NaN where that is before their end.

    `height` and `rack` are where each path ended [mm].  `stood` says whether the car came to its
    ride height at all, measured with rod and arm clear of one line.  `least` is the least share of
    the determinant there that was met on the way: below `GRAZING` no car could be told from one
    that jams.
    """

    turns: Array
    height: Array
    rack: Array
    stood: NDArray[np.bool_]
    least: Array


def led(
    cars: list[Car], ride: Array, rack: Array, travel: Array, *, rack_first: bool = True
) -> Ends:
    """Lead each car (P,) along its path.

    First to the height `ride` above the measured pose, straight ahead, the rod set and the ball
    joint moved evenly on the way; then the inner pivot goes `rack` to the left, then the wheel
    center to the height `travel`.  Both heights count from the measured pose. [mm]
    """
    problem = _Problem.of(cars)
    here = np.zeros((len(cars), problem.size))
    # height, rack, and the share of what has been set and fitted
    fitted = problem.fitted()
    legs = np.zeros((4, len(cars), 3))
    legs[1] = np.stack([ride, np.zeros(len(cars)), np.ones(len(cars))], axis=-1)
    corner = (ride, rack) if rack_first else (travel, np.zeros(len(cars)))
    legs[2] = np.stack([*corner, np.ones(len(cars))], axis=-1)
    legs[3] = np.stack([travel, rack, np.ones(len(cars))], axis=-1)
    going, place = np.ones(len(cars), dtype=bool), legs[0].copy()
    least, at_ride = np.full(len(cars), np.inf), None
    for start, end in pairwise(legs):
        span = np.abs(end - start)
        span[:, 2] *= fitted
        here, going, share, lowest = _leg(problem, here, (start, end), span.max(axis=1), going)
        place += share[:, None] * (end - start)
        if at_ride is None:
            at_ride = np.abs(problem.determinant(here, end))
            stood = going & (problem.off_line() > IN_LINE)
        least = np.minimum(least, lowest / at_ride)
    turns = _rotation(here[:, :3])
    if problem.size == 8:
        turns = turns @ _about(problem.kingpin[:, 0], here[:, 6])
    turns[~going] = np.nan
    return Ends(turns, place[:, 0], place[:, 1], stood, least)


def leaps_amiss(cars: list[Car], rack: Array, travel: Array) -> NDArray[np.bool_]:
    """Whether Newton's method, started from the measured pose, ends in another assembly, (P,).

    Everything closes there as well; only the determinant has another sign than where it began.
    """
    problem = _Problem.of(cars)
    here = np.zeros((len(cars), problem.size))
    measured, wanted = (
        np.stack(place, axis=-1)
        for place in ((0.0 * travel, 0.0 * rack, 0.0 * rack), (travel, rack, np.ones(len(cars))))
    )
    there, closed = problem.newton(here, wanted)
    signs = problem.determinant(there, wanted) * problem.determinant(here, measured)
    return np.asarray(closed & (signs < 0.0))


def _leg(problem, here, ends, length, going):
    """Go from one condition to the other; cars that do not arrive stay where their path ended."""
    start, end = ends
    share = np.zeros(len(here))
    full = STEP_MM / np.maximum(length, STEP_MM)
    step = full.copy()
    finest = FINEST_MM / np.maximum(length, FINEST_MM)
    determinant = problem.determinant(here, start)
    lowest = np.abs(determinant)
    walking = going & (length > 0.0)
    share[going & (length == 0.0)] = 1.0
    while walking.any():
        rows = np.flatnonzero(walking)
        goal = np.minimum(1.0, share[rows] + step[rows])
        wanted = start[rows] + goal[:, None] * (end - start)[rows]
        part = problem.taken(rows)
        there, closed = part.newton(here[rows], wanted)
        way = np.sqrt(((there - here[rows]) ** 2).sum(axis=1))
        now = part.determinant(there, wanted)
        change = now / determinant[rows]
        good = closed & (way < FARTHEST) & (change > 0.5) & (change < 2.0)
        taken = rows[good]
        here[taken], share[taken], determinant[taken] = there[good], goal[good], now[good]
        lowest[taken] = np.minimum(lowest[taken], np.abs(now[good]))
        step[taken] = np.minimum(full[taken], 2.0 * step[taken])
        step[rows[~good]] *= 0.5
        walking[share >= 1.0] = False
        walking[step < finest] = False
    return here, going & (share >= 1.0), share, lowest


@dataclass(frozen=True)
class _Problem:
    """P cars of one layout; the last axis of `here` is a rotation vector, a move, knuckle turns."""

    center: Array
    fixed: Array
    carried: Array
    moved: Array
    square: Array
    inner: Array
    outer: Array
    length: Array
    line: Array | None
    kingpin: Array | None
    foot: Array | None
    cross: Array | None
    wheel: Array | None

    @staticmethod
    def of(cars):
        return _Problem.beams(cars) if "kingpin_lower" in cars[0].points else _Problem.single(cars)

    @staticmethod
    def single(cars):
        pairs = [_links(car) for car in cars]
        fixed, carried, moved = (np.array([pair[k] for pair in pairs]) for k in range(3))
        line = None
        if "strut_top" in cars[0].points:
            line = np.array([[c.points["strut_top"], c.points["strut_axis"]] for c in cars])
        return _Problem(
            np.array([car.points["wheel_center"] for car in cars]),
            fixed,
            carried,
            moved,
            ((carried - fixed) ** 2).sum(axis=-1),
            np.array([car.inner for car in cars]),
            np.array([car.outer for car in cars]),
            np.array([car.length for car in cars]),
            line,
            *[None] * 4,
        )

    @staticmethod
    def beams(cars):
        bare = _Problem.single(cars)
        lower = np.array([car.points["kingpin_lower"] for car in cars])
        axis = np.array([car.points["kingpin_upper"] for car in cars]) - lower
        axis /= np.linalg.norm(axis, axis=-1)[:, None]
        end = np.array([car.points["cross_rod_end"] for car in cars])
        both = [np.stack([x, x * MIRROR], axis=1) for x in (axis, lower, end, bare.center)]
        middle = bare.center * np.array([1.0, 0.0, 1.0])
        return _Problem(
            middle,
            bare.fixed,
            bare.carried,
            bare.moved,
            bare.square,
            bare.inner,
            bare.outer,
            bare.length,
            None,
            *both,
        )

    @property
    def size(self):
        return 6 if self.kingpin is None else 8

    def taken(self, rows):
        parts = (getattr(self, name) for name in self.__dataclass_fields__)
        return _Problem(*(None if part is None else part[rows] for part in parts))

    def fitted(self):
        """How far the rod is set, and the ball joint moved, from what joins the measured points."""
        reset = np.abs(self.length - np.linalg.norm(self.outer - self.inner, axis=-1))
        return np.maximum(reset, np.linalg.norm(self.moved, axis=-1).max(axis=-1))

    def body(self, here, point):
        """Where the body has carried points (P, 3) or (P, N, 3)."""
        turn, move = _rotation(here[:, :3]), SIZE_MM * here[:, 3:6]
        center = self.center if point.ndim == 2 else self.center[:, None]
        shift = move if point.ndim == 2 else move[:, None]
        return np.einsum("pij,p...j->p...i", turn, point - center) + center + shift

    def knuckle(self, here, k, point):
        """Where a beam's left (0) or right (1) knuckle has carried a point (P, 3)."""
        turn = _rotation(here[:, :3]) @ _about(self.kingpin[:, k], here[:, 6 + k])
        foot = self.foot[:, k]
        return self.body(here, foot) + np.einsum("pij,pj->pi", turn, point - foot)

    def steered(self, here):
        """Where the outer pivot is carried."""
        if self.kingpin is None:
            return self.body(here, self.outer)
        return self.knuckle(here, 0, self.outer)

    def misfit(self, here, wanted):
        """What vanishes where everything closes, in squares of SIZE_MM; the rod's first."""
        height, rack, set_share = wanted.T
        inner = self.inner + rack[:, None] * np.array([0.0, 1.0, 0.0])
        joined = np.linalg.norm(self.outer - self.inner, axis=-1)
        length = joined + set_share * (self.length - joined)
        left = [(((self.steered(here) - inner) ** 2).sum(axis=1) - length**2)[:, None]]
        apart = self.body(here, self.carried + set_share[:, None, None] * self.moved) - self.fixed
        left.append((apart * apart).sum(axis=-1) - self.square)
        if self.kingpin is None:
            left.append(SIZE_MM * (SIZE_MM * here[:, 5] - height)[:, None])
        else:
            for k in range(2):
                rise = self.knuckle(here, k, self.wheel[:, k])[:, 2] - self.wheel[:, k, 2]
                left.append(SIZE_MM * (rise - height)[:, None])
            ends = [self.knuckle(here, k, self.cross[:, k]) for k in range(2)]
            as_measured = self.cross[:, 0] - self.cross[:, 1]
            apart = ends[0] - ends[1]
            left.append(((apart**2).sum(axis=1) - (as_measured**2).sum(axis=1))[:, None])
        if self.line is not None:
            top, on_line = self.line[:, 0], self.line[:, 1]
            line = np.einsum("pij,pj->pi", _rotation(here[:, :3]), top - on_line)
            off = np.cross(line, top - self.body(here, on_line))
            left.append(off[:, :2])  # a strut leans, but not by a right angle
        return np.concatenate(left, axis=1) / SIZE_MM**2

    def off_line(self):
        """Sine of the angle by which rod and arm are out of one line at the measured pose."""
        here, reach = np.zeros((len(self.center), self.size)), 1e-6
        slopes = self.slopes(here, np.zeros((len(here), 3)))
        steer = np.linalg.svd(slopes[:, 1:])[2][:, -1]  # the one way that the rod alone stops
        way = self.steered(here + reach * steer) - self.steered(here - reach * steer)
        rod = self.outer - self.inner
        along = np.einsum("pi,pi->p", rod, way)
        return np.abs(along) / np.linalg.norm(rod, axis=1) / np.linalg.norm(way, axis=1)

    @cached_property
    def nudged(self):
        """The same cars, each once for every way to either side."""
        return self.taken(np.repeat(np.arange(len(self.center)), 2 * self.size))

    def slopes(self, here, wanted):
        reach, count = 1e-6, 2 * self.size
        aside = reach * np.concatenate([np.eye(self.size), -np.eye(self.size)])
        places = (here[:, None] + aside).reshape(-1, self.size)
        misfit = self.nudged.misfit(places, np.repeat(wanted, count, axis=0))
        ahead, back = np.split(misfit.reshape(len(here), count, -1), 2, axis=1)
        return np.swapaxes(ahead - back, 1, 2) / (2.0 * reach)

    def determinant(self, here, wanted):
        return np.linalg.det(self.slopes(here, wanted))

    def newton(self, here, wanted):
        for _ in range(8):
            misfit = self.misfit(here, wanted)
            if (np.abs(misfit).max(axis=1) < CLOSED).all():
                break
            slopes = self.slopes(here, wanted)
            slopes += 1e-14 * np.eye(self.size)
            step = np.linalg.solve(slopes, misfit[..., None])[..., 0]
            size = np.abs(step).max(axis=1, keepdims=True)
            here = here - step * np.minimum(1.0, 0.3 / np.maximum(size, 1e-300))
        return here, np.abs(self.misfit(here, wanted)).max(axis=1) < CLOSED


def _links(car):
    """Ends in the chassis, ends in the body as measured, and how far those have been moved."""
    points, down = car.points, np.array([0.0, 0.0, -1.0])
    fixed, carried, moved = [], [], []
    for name in points:
        if name.startswith("link_") and name.endswith("_inner"):
            outer = points[name.replace("_inner", "_outer")]
            fixed.append(points[name])
            carried.append(outer)
            moved.append(np.zeros(3))
    for arm in ("lower", "upper"):
        joint = points.get(f"{arm}_ball_joint")
        if joint is not None:
            for end in ("front", "rear"):
                fixed.append(points[f"{arm}_arm_{end}"])
                carried.append(joint)
                moved.append(car.drop * down * (arm == "lower"))
    return np.array(fixed), np.array(carried), np.array(moved)


def _rotation(vector):
    angle = np.linalg.norm(vector, axis=-1)
    axis = vector / np.maximum(angle, 1e-300)[..., None]
    return _about(axis, angle)


def _about(axis, angle):
    x, y, z = np.moveaxis(axis, -1, 0)
    zero = np.zeros_like(x)
    across = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=-1)
    across = across.reshape(*x.shape, 3, 3)
    sine, rest = np.sin(angle)[..., None, None], (1.0 - np.cos(angle))[..., None, None]
    return np.eye(3) + sine * across + rest * (across @ across)
