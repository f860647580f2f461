"""One wheel's part of `reach`: what is fitted in a row, and what stops the wheel by itself."""

from collections.abc import Sequence
from functools import cached_property
from math import degrees, isfinite
from typing import Any

import numpy as np
from msgspec import Struct

from geometry.vectors import Array, norm
from optimizer.answers.blocked import Stops, stops_at_heights
from optimizer.answers.causes import blocked_by, short_by
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows
from optimizer.limits.described import fitted_by
from optimizer.models.reach import (
    CurveLeft,
    NotAligned,
    StackMissed,
    WheelReach,
    WheelStop,
)
from optimizer.models.setting import Fitted
from optimizer.options.hardware import Hardware
from optimizer.options.heights import BestAtHeights, WheelAtHeights
from optimizer.options.space import Space

Lots = Sequence[tuple[int, Rows]]


class LostWheel(Struct, frozen=True):
    """A wheel that can't be given the alignment that is asked for."""

    stop: NotAligned

    def told(self, kit: int, place: int, lot: int) -> WheelReach:
        """What stops it, whatever is fitted."""
        return WheelReach(side=self.stop.side, reachable=False, **_stopped([self.stop]))


class SoundWheel(Struct, frozen=True, dict=True):
    """A wheel with each of K kits at each of L heights.

    `best` is that of every lot, `alone` of every kit, whatever would suit the other wheel, `stops`
    what stops the wheel then; `rod_length` (N, L) goes with the best of each lot; `angles` are
    camber and caster (L,) with each choice of the linkage. [mm, rad]
    """

    at: WheelAtHeights
    fitted: Sequence[Hardware]
    pieces: list[dict[float, tuple[float, ...]]]
    best: BestAtHeights
    alone: BestAtHeights
    stops: Stops
    rod_length: Array
    angles: list[tuple[Array, Array]]

    @staticmethod
    def of(
        fitted: Sequence[Hardware],
        spaces: Sequence[Space],
        lots: Lots,
        lowered_by: Array,
        *,
        cures: bool,
    ) -> "SoundWheel":
        """Walk all lots, each the number of its kit and rows of that kit's space.

        With `cures`, also seek what would cure a curve that no stack cures.
        """
        cases = [one.cases[0] for one in fitted]
        at = WheelAtHeights(
            RideHeights.of(cases[0], lowered_by),
            cases,
            [(number, spaces[number].settings.rows(rows)) for number, rows in lots],
        )
        best = at.best()
        alone = best.of_hardware(at.hardware)
        pieces = [{stack.height: stack.pieces for stack in space.stacks} for space in spaces]
        heights = [np.array(list(of_kit)) for of_kit in pieces]
        stops = stops_at_heights(at, alone, fitted, heights, cures=cures)
        choices = range(len(at.heights.case.linkage_choices))
        angles = [at.heights.ride_angles(choice) for choice in choices]
        return SoundWheel(at, fitted, pieces, best, alone, stops, _rod_lengths(at, best), angles)

    def told(self, kit: int, place: int, lot: int) -> WheelReach:
        """The wheel in a row, with the best of a lot fitted, or nothing where that is -1."""
        reasons = self.stops.get((kit, place), [])
        settings, number = self.at.pairs.settings, self.best.setting[lot, place]
        choice = 0 if lot < 0 else settings.linkage[number]
        camber, caster = (_degrees(angle[place]) for angle in self.angles[choice])
        case = self.at.heights.case
        return WheelReach(
            **({"side": case.side} if lot < 0 else self._setting(kit, place, lot)),
            reachable=not reasons,
            alone_peak_deg=_degrees(self.alone.peak[kit, place]),
            camber_deg=camber,
            caster_deg=caster,
            alignment=self.fitted[kit].alignments[0],
            **_stopped(reasons),
        )

    def _setting(self, kit: int, place: int, lot: int) -> dict[str, Any]:
        length = float(self.rod_length[lot, place])
        return {
            **dict(self.fitted_as(kit, int(self.best.setting[lot, place]))),
            "peak_toe_change_deg": _degrees(self.best.peak[lot, place]),
            "tie_rod_length_mm": length,
            "tie_rod_length_change_mm": length - self.measured_rod,
        }

    def settings_of(self, lots: Rows) -> Rows:
        """Number of the best setting of a lot at each height, (K, L); -1 where there is none."""
        best = self.best.setting[lots, np.arange(lots.shape[1])]
        return np.where(lots < 0, -1, best)

    def fitted_as(self, kit: int, number: int) -> Fitted:
        """What a setting with a kit is, as it is fitted."""
        settings = self.at.pairs.settings
        pieces = self.pieces[kit].get(float(settings.outer_drop[number]), ())
        return fitted_by(self.at.heights.case, settings, pieces, number)

    @cached_property
    def measured_rod(self) -> float:
        """Rod length as measured. [mm]."""
        corner = self.at.heights.evaluators[0].corner
        return float(norm(corner.outer_seat - corner.inner))


def _rod_lengths(at: WheelAtHeights, best: BestAtHeights) -> Array:
    """Rod length of the best of each lot at each height, (N, L); NaN where there is none. [mm]."""
    lengths = np.full(best.setting.shape, np.nan)
    lots, places = np.nonzero(best.setting >= 0)
    settings = at.pairs.settings.rows(best.setting[lots, places])
    lengths[lots, places] = at.heights.rod_length(places, settings)
    return lengths


def _stopped(reasons: list[WheelStop]) -> dict[str, Any]:
    needed = [fact.needed for fact in reasons if isinstance(fact, StackMissed | CurveLeft)]
    return {
        "blocked_by": blocked_by(reasons),
        "short_by": short_by(reasons),
        "reasons": reasons,
        "needed": needed[0] if needed else None,
    }


def _degrees(angle: float) -> float | None:
    """An angle in degrees; None where there is none."""
    return degrees(angle) if isfinite(angle) else None
