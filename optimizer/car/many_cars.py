"""The cars that tape and build leave possible: one case many times over, and any setting in each.

Where a point lies is drawn from the accuracy of the tape; how a setting comes out on the car, from
the tolerance of the build: within it every error is as probable as another, as JCGM 100:2008
(Guide to the expression of uncertainty in measurement), 4.3.7, has it where only limits are known.
Where the wheel that nobody measured may differ from its mirror image, it is drawn along.
"""

from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.toe_held_cars import (
    NODES,
    NODES_ON_LEAVES,
    ToeHeldCars,
    height_nodes,
    onto_heights,
    peak_toe_errors,
    toe_errors,
    toe_held_cars,
)
from geometry.vectors import Array
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import moved_corner
from optimizer.car.settings import Settings
from optimizer.car.tape import point_names, with_points_moved
from optimizer.car.wanted import wanted_change

CARS = 1024  # a probability of one half is then known to 1.6 %, one standard deviation
CARS_BY_NEWTON = 512  # where no closed form leads the wheel: to 2.2 %
BUILT = ("stack", "ride_height", "rack_center", "toe", "rod")


def cars_of(corner: Corner) -> int:
    """How many cars are worth their time."""
    return CARS if "lower_ball_joint" in corner.points else CARS_BY_NEWTON


class ManyCars(Struct, frozen=True, dict=True):
    """N cars of one case, and what any setting makes of them.

    `points` (N, P, 3) are errors of the tape in standard deviations, `built` (N, 5) those of the
    build as shares of their tolerances, in the order of `BUILT`.  `corner` has points (N, 1, 3)
    with both in them; its wheels stand `raised` (N, 1) above the wanted ride height [mm] and are
    set to a toe `toe` (N, 1) beside the wanted one. [rad]  `other` are the wheels on the other
    side, seen as on this one, whose points lie `apart` (N, P, 3) shares of `left_right` from these;
    None where both are mirror images.
    """

    evaluator: Evaluator
    points: Array
    built: Array
    corner: Corner
    raised: Array
    toe: Array
    known: dict[int, ToeHeldCars]
    apart: Array | None = None
    other: "ManyCars | None" = None

    @staticmethod
    def drawn(
        evaluator: Evaluator,
        seed: int,
        wheel: int = 0,
        count: int | None = None,
        root: Array | None = None,
    ) -> "ManyCars":
        """Draw cars at random; the same ones for one seed and wheel, whatever the hardware.

        `root` (3P, 3P) is one of the covariance of their errors, where those are no longer the
        tape's, in standard deviations of it.
        """
        count = cars_of(evaluator.corner) if count is None else count
        shape, center = (count, len(point_names(evaluator.corner)), 3), BUILT.index("rack_center")
        points, built = _drawn([seed, wheel], shape)
        if wheel and evaluator.case.words.steers:  # both wheels have one rack
            built[:, center] = _drawn([seed, 0], shape)[1][:, center]
        if root is not None:
            points = (points.reshape(count, -1) @ root.T).reshape(points.shape)
        if not evaluator.case.accuracy.left_right:
            return ManyCars.of(evaluator, points, built)
        rng = np.random.default_rng([seed, wheel, 1])
        apart, of_other = (rng.uniform(-1.0, 1.0, one.shape) for one in (points, built))
        of_other[:, center] = -built[:, center]  # nearer to one wheel, farther from one
        return ManyCars.of(evaluator, points, built, (apart, of_other))

    def mirrored(self) -> "ManyCars":
        """These cars, and as many with every error to the other side.

        What is odd in the errors leaves no trace in a mean over them: settings are then told apart
        as by many times as many cars.  (J. M. Hammersley, K. W. Morton, A new Monte Carlo
        technique: antithetic variates, Proc. Cambridge Phil. Soc. 52 (1956), 449-475.)
        """
        return self._made_anew(lambda x: np.concatenate([x, -x]))

    def first(self, count: int) -> "ManyCars":
        """The first of these cars alone, with what is solved of them."""
        some = self._made_anew(lambda x: x[:count])
        for own, all_of_them in ((some, self), (some.other, self.other)):
            if own is not None and all_of_them is not None:
                own.known.update({k: one.first(count) for k, one in all_of_them.known.items()})
        return some

    def of_case(self, evaluator: Evaluator) -> "ManyCars":
        """The same errors in another case."""
        return self._made_anew(lambda x: x, evaluator)

    def _made_anew(
        self, change: Callable[[Array], Array], evaluator: Evaluator | None = None
    ) -> "ManyCars":
        """Cars of changed errors."""
        other = self.other
        of_other = None
        if other is not None and other.apart is not None:
            of_other = change(other.apart), change(other.built)
        return ManyCars.of(
            evaluator or self.evaluator, change(self.points), change(self.built), of_other
        )

    @staticmethod
    def of(
        evaluator: Evaluator,
        points: Array,
        built: Array,
        of_other: tuple[Array, Array] | None = None,
        apart: Array | None = None,
    ) -> "ManyCars":
        """Make the cars of known errors; `of_other` are `apart` and `built` of the other wheels."""
        accuracy, corner = evaluator.case.accuracy, moved_corner(evaluator, points)
        if apart is not None:
            corner = with_points_moved(corner, accuracy.left_right * apart[:, None])
        other = None
        if of_other is not None:
            other = ManyCars.of(evaluator, points, of_other[1], apart=of_other[0])
        stack, height, center, toe, rod = np.moveaxis(built, -1, 0)[..., None]
        steers = evaluator.case.words.steers
        off_center = (accuracy.rack_center if steers else 0.0) * center[..., None]
        return ManyCars(
            evaluator,
            points,
            built,
            replace(
                corner,
                outer_seat=corner.outer_seat + accuracy.stack * stack[..., None] * corner.stud_axis,
                inner=corner.inner + off_center * corner.rack_axis,
            ),
            accuracy.ride_height * height,
            np.radians(accuracy.toe_setting_deg) * toe
            + accuracy.rod_play / evaluator.corner.steering_arm * rod,
            {},
            apart,
            other,
        )

    @cached_property
    def sound(self) -> NDArray[np.bool_]:
        """Cars that can be led over the used travel as the first linkage makes them, (N,)."""
        own = self.family(0).sound
        return own if self.other is None else own & self.other.sound

    def family(self, linkage: int) -> ToeHeldCars:
        """Toe-held poses with one choice of the linkage, solved once."""
        if linkage not in self.known:
            self.known[linkage] = self._solved(linkage)
        return self.known[linkage]

    def peaks(self, settings: Settings) -> Array:
        """Peak toe change of every setting in every car, (M, N); infinite out of reach. [rad].

        The worse wheel's, where the other one was drawn too.
        """
        peaks = np.empty((len(settings), len(self.points)))
        for choice in np.unique(settings.linkage).tolist():
            rows = np.flatnonzero(settings.linkage == choice)
            cars, shifts = self.family(choice), self._shifts(settings.rows(rows))
            peaks[rows] = peak_toe_errors(cars, *shifts)
        own = np.where(np.isnan(peaks), np.inf, peaks)
        return own if self.other is None else np.maximum(own, self.other.peaks(settings))

    def in_band(self, settings: Settings) -> NDArray[np.bool_]:
        """Whether every setting keeps the wanted band in every car, (M, N); ValueError without one.

        Both wheels, where the other one was drawn too.
        """
        evaluator = self.evaluator
        if evaluator.case.aim.band is None:
            raise ValueError("no band is wanted")
        kept = np.empty((len(settings), len(self.points)), dtype=bool)
        for row in range(len(settings)):
            kept[row] = evaluator.meets(self.change(settings.rows(np.array([row]))))
        return kept if self.other is None else kept & self.other.in_band(settings)

    def change(self, setting: Settings) -> Array:
        """Toe change of one setting beyond the wanted one, (N, H); NaN out of reach. [rad]."""
        cars = self.family(int(setting.linkage[0]))
        return np.concatenate([one[0] for _, one in toe_errors(cars, *self._shifts(setting))])

    def _shifts(self, settings: Settings) -> tuple[Array, Array]:
        """What settings move the pivots by, (M, 3) each. [mm]."""
        corner = self.evaluator.corner
        outer, inner = corner.pivots(settings)
        return outer - corner.outer_seat, inner - corner.inner

    def _solved(self, linkage: int) -> ToeHeldCars:
        evaluator = self.evaluator
        travel, aim = evaluator.travel, evaluator.case.aim
        # A band may have corners, which no polynomial follows.
        count = NODES_ON_LEAVES if self.corner.on_leaves else NODES
        nodes = height_nodes(travel[0], travel[-1], count) if aim.band is None else travel
        to = onto_heights(nodes, np.concatenate([[0.0], travel]))
        toe = evaluator.static_toe + wanted_change(aim, nodes)
        heights = nodes + evaluator.case.ride.lowered_by
        cars = self.corner.held(linkage, heights + self.raised, toe + self.toe)
        return toe_held_cars(cars, evaluator.corner.held(linkage, heights, toe), to)


def _drawn(seed: list[int], shape: tuple[int, int, int]) -> tuple[Array, Array]:
    """Errors of the points (N, P, 3) and of the build (N, 5), see `ManyCars`."""
    rng = np.random.default_rng(seed)
    return rng.normal(size=shape), rng.uniform(-1.0, 1.0, (shape[0], len(BUILT)))
