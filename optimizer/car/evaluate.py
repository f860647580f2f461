"""Settings to scores and margins, in batches: the one place that everything asks."""

import math
from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.linkages import Linkage
from geometry.motion import Motion, Rod, rod_motion
from geometry.steering import steer_rate
from geometry.toe_curve import ToeCurve, toe_change, toe_curve
from geometry.toe_held import (
    ToeHeldPoses,
    estimate_error_rate,
    rod_length_needed,
    toe_error,
    toe_error_estimate,
    toe_held_choices,
)
from geometry.vectors import Array, norm, turned
from geometry.wheel_angles import toe_angle
from optimizer.car.adjust import Corner, corner_of
from optimizer.car.alignment import aligned_case
from optimizer.car.settings import Rows, Settings
from optimizer.car.wanted import inside_band, wanted_change
from optimizer.models.case import Case

TINY = 1e-9  # share of a step that still counts as a whole one
STEPS_PER_STROKE = 12  # heights scored between ride height and each end of the used travel


def scored_travel(bump: float, droop: float) -> Array:
    """Heights at which a setting is scored, from -droop to +bump, holding 0, (H,). [mm]."""
    down = np.linspace(-droop, 0.0, STEPS_PER_STROKE + 1)
    up = np.linspace(0.0, bump, STEPS_PER_STROKE + 1)
    return np.unique(np.concatenate([down, up]))


def stepped_travel(bump: float, droop: float, step: float) -> Array:
    """Heights from -droop to +bump, counted in steps from ride height, both ends included. [mm]."""
    down = np.arange(math.ceil(droop / step - TINY)) * step
    up = np.arange(math.ceil(bump / step - TINY)) * step
    return np.unique(np.concatenate([-down, up, [-droop, 0.0, bump]])) + 0.0


class Evaluator(Struct, frozen=True, dict=True):
    """Scores the settings of one case.

    `travel` (H,) are the heights above ride height that are scored; ride height itself lies
    `lowered_by` above the measured pose, seen from the chassis. [mm]
    """

    case: Case
    corner: Corner
    travel: Array
    poses_by_linkage: dict[int, ToeHeldPoses]

    @staticmethod
    def of(case: Case, travel: Array | None = None) -> "Evaluator":
        """Prepare a case; `travel` (H,) must hold 0 and is the used travel by default. [mm].

        An alignment that the case asks for is set.
        """
        case = aligned_case(case)
        if travel is None:
            travel = scored_travel(case.ride.bump, case.ride.droop)
        return Evaluator(case, corner_of(case), travel, {})

    def rolling(self) -> "Evaluator":
        """Prepare the same case with the wheels moved opposite ways; so it is on a beam axle only.

        Elsewhere one wheel does not feel what the other one does.
        """
        corner = replace(self.corner, roll_about=self.lowered_by)
        return replace(self, corner=corner, poses_by_linkage={})

    def rolled(self, settings: Settings, travel: Array) -> Motion:
        """Poses of a `rolling` beam axle at travels (T,) of the left wheel, (M, T)."""
        length = self.rod_length(settings)  # set at ride height, where nothing has rolled
        return self.rolling().motion(settings, travel, rod_length=length)

    def with_corner(self, corner: Corner) -> "Evaluator":
        """Prepare the same case with its points moved."""
        return Evaluator(self.case, corner, self.travel, {})

    def standing_as(self, rows: Rows) -> "Evaluator":
        """Evaluator for some of the candidates, each of which may stand at a height of its own."""
        return self

    @cached_property
    def home(self) -> int:
        """Row of ride height in `travel`."""
        return int(np.flatnonzero(self.travel == 0.0)[0])

    @cached_property
    def heights(self) -> Array:
        """Rise of the wheel center from the measured pose at each travel, (H,). [mm]."""
        return self.travel + self.case.ride.lowered_by

    @property
    def lowered_by(self) -> Array:
        """How much lower the chassis sits than when measured, () or one a candidate (M, 1). [mm]"""
        return np.asarray(self.case.ride.lowered_by)

    @cached_property
    def wanted(self) -> Array:
        """Toe change that is wanted at each height of `travel`, (H,). [rad]."""
        return wanted_change(self.case.aim, self.travel)

    @cached_property
    def static_toe(self) -> float:
        """Toe to which the car is aligned at ride height. [rad]."""
        wanted = self.case.ride.toe_deg
        return float(np.radians(self.case.wheel.toe_deg if wanted is None else wanted))

    @property
    def tolerance(self) -> float:
        """Toe change beyond the wanted one that is good enough. [rad]."""
        return float(np.radians(self.case.aim.tolerance_deg))

    def meets(self, change: Array) -> NDArray[np.bool_]:
        """Whether toe changes beyond the wanted one keep the band, (..., H) to (...,); not if NaN.

        Where no band is wanted, whether they stay within the tolerance. [rad].
        """
        band = self.case.aim.band
        if band is None:
            return np.asarray(np.abs(change).max(axis=-1) <= self.tolerance)
        return inside_band(band, self.travel, np.degrees(change + self.wanted))

    def poses(self, linkage: int) -> ToeHeldPoses:
        """Toe-held poses of the used travel; solved once for each choice of the linkage. [mm]."""
        self._solve([linkage])
        return self.poses_by_linkage[linkage]

    def _solve(self, linkages: list[int]) -> None:
        """Solve the toe-held poses of all those choices of the linkage that are not known."""
        new = [choice for choice in linkages if choice not in self.poses_by_linkage]
        if new:
            solved = toe_held_choices(
                self.corner.linkage(np.array(new)[:, None, None]),
                np.tile(self.heights, (len(new), 1)),
                self.corner.spin,
                self.static_toe + self.wanted,
                self.home,
            )
            self.poses_by_linkage.update(zip(new, solved, strict=True))

    def _found(
        self, settings: Settings, of_pairs: Callable[..., Array], shape: tuple[int, ...]
    ) -> Array:
        """What a function of poses and pivot pairs finds of each candidate, (M, *shape)."""
        out = np.empty((len(settings), *shape))
        self._solve(np.unique(settings.linkage).tolist())
        for choice, rows in _by_linkage(settings):
            out[rows] = of_pairs(self.poses(choice), *self.corner.pivots(settings.rows(rows)))
        return out

    def toe_change_estimate(self, settings: Settings) -> Array:
        """Toe change beyond the wanted one to first order, (M, H). [rad]."""
        return self._found(settings, toe_error_estimate, self.travel.shape)

    def estimate_error_rate(self, settings: Settings) -> float:
        """Largest share that the estimate leaves out, per radian of estimate. [1/rad]."""
        return max(
            estimate_error_rate(self.poses(choice), *self.corner.pivots(settings.rows(rows)))
            for choice, rows in _by_linkage(settings)
        )

    def toe_change(self, settings: Settings) -> Array:
        """Toe change beyond the wanted one, exact, (M, H); NaN out of reach. [rad]."""
        out = self._found(settings, toe_error, self.travel.shape)
        far = np.flatnonzero(np.isnan(out).any(axis=1))
        if far.size:
            toe = self.toe(settings.rows(far), self.travel)
            out[far] = toe_change(self.travel, toe, self.wanted)
        return out

    def curve(self, settings: Settings) -> ToeCurve:
        """Peak, slope, curvature and the rest of the exact toe change, each (M,). [rad]."""
        return toe_curve(self.travel, self.toe_change(settings))

    def rod_length(self, settings: Settings) -> Array:
        """Rod length that gives the static toe at ride height, (M,). [mm]."""
        return self._found(settings, rod_length_needed, self.travel.shape)[:, self.home]

    def rod_length_change(self, settings: Settings) -> Array:
        """How much longer than measured the rod must be for the static toe, (M,). [mm]."""
        return self.rod_length(settings) - norm(self.corner.outer_seat - self.corner.inner)

    def steer_rate(self, settings: Settings) -> Array:
        """Toe per rack travel to the left, straight ahead at ride height, (M,). [rad/mm]."""
        out = np.empty(len(settings))
        for choice, rows in _by_linkage(settings):
            pairs = self.corner.pivots(settings.rows(rows))
            out[rows] = steer_rate(self.poses(choice), *pairs, self.corner.rack_way(choice))
        return out

    def toe(self, settings: Settings, travel: Array, rack_travel: float = 0.0) -> Array:
        """Toe by the exact solver at wheel travels (T,), (M, T); NaN out of reach. [rad]."""
        motion = self.motion(settings, travel, np.full(travel.shape, rack_travel))
        return toe_angle(turned(motion.rotation, self.corner.spin))

    def motion(
        self,
        settings: Settings,
        travel: Array,
        rack_travel: Array | float = 0.0,
        rod_length: Array | None = None,
    ) -> Motion:
        """Poses of the upright by the exact solver.

        Parameters
        ----------
        settings : Settings
            M candidates.
        travel : (T,) or (M, T) float array
            Wheel travel from ride height. [mm]
        rack_travel : (T,) or (M, T) float array or float
            Rack travel at each of them, to the left of the car positive. [mm]
        rod_length : (M,) float array, optional
            Rod length; the one that gives the static toe if left out. [mm]

        Returns
        -------
        Motion
            Poses (M, T), NaN where the linkage cannot be assembled.
        """
        outer, inner = self.corner.pivots(settings)
        length = self.rod_length(settings) if rod_length is None else rod_length
        steered = self._steered(settings, np.asarray(rack_travel))
        straight = inner[:, None, :]
        rod = Rod(
            straight + steered,
            outer[:, None, :],
            length[:, None],
            straight if steered.any() else None,
            self.lowered_by,
        )
        heights = np.broadcast_to(travel + self.lowered_by, (len(settings), travel.shape[-1]))
        return rod_motion(self.linkage(settings), heights, rod)

    def rod_ends(
        self, settings: Settings, motion: Motion, rack_travel: Array
    ) -> tuple[Array, Array]:
        """Outer and inner pivot of M candidates where they are now, (M, T, 3) each. [mm]."""
        outer, inner = self.corner.pivots(settings)
        steered = self._steered(settings, rack_travel)
        return motion.moved(outer[:, None, :]), inner[:, None, :] + steered

    def _steered(self, settings: Settings, rack_travel: Array) -> Array:
        """How far the inner pivot has gone with rack travels (T,) or (M, T), (M or 1, T, 3)."""
        return rack_travel[..., None] * self.rack_way(settings)

    def rack_way(self, settings: Settings) -> Array:
        """Unit vector of positive rack travel, (3,), or (M, 1, 3) where candidates differ."""
        way = self.corner.rack_way(settings.linkage)
        return way if way.ndim == 1 else way[:, None, :]

    def linkage(self, settings: Settings) -> Linkage:
        """Linkage with one row a candidate, (M, 1)."""
        return self.corner.linkage(settings.linkage[:, None])


def _by_linkage(settings: Settings) -> list[tuple[int, Rows]]:
    """Rows of the candidates that share each choice of the linkage."""
    return [
        (choice, np.flatnonzero(settings.linkage == choice))
        for choice in np.unique(settings.linkage).tolist()
    ]
