"""What stops a wheel from meeting the tolerance at a ride height, and by how much: as facts."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows
from optimizer.limits.described import band_verdicts
from optimizer.limits.stops import stops
from optimizer.models.reach import (
    CurveLeft,
    NotJoined,
    OutOfBand,
    RodCure,
    StackMissed,
    StopThere,
    WheelStop,
    WhichStack,
    beside_ends,
)
from optimizer.models.setting import NeededSetting
from optimizer.models.stops import Stop
from optimizer.options.arm_ends import arm_ends
from optimizer.options.hardware import Hardware
from optimizer.options.hardware_margins import (
    HardwareMargins,
    find_together,
    fitting_violations,
    hardware_margins,
)
from optimizer.options.heights import BestAtHeights, WheelAtHeights
from optimizer.options.ideal_stacks import ideal_stacks
from optimizer.options.pair_margins import SettingsAtHeights
from optimizer.options.rod_lengths import FINE_MM, best_rod, out_of_reach
from optimizer.units import Side

Stops = dict[tuple[int, int], list[WheelStop]]
Flags = NDArray[np.bool_]
Asked = tuple[int, Rows, Rows]  # an alternative, places, and its pairs there


def stops_at_heights(
    wheel: WheelAtHeights,
    alone: BestAtHeights,
    fitted: Sequence[Hardware],
    stacks: list[Array],
    *,
    cures: bool,
) -> Stops:
    """Say of every alternative of hardware and height that miss the tolerance what stops them.

    Parameters
    ----------
    wheel, alone : WheelAtHeights, BestAtHeights
        A wheel, and the best of each of its alternatives.
    fitted : sequence of Hardware
        The alternatives, all with the same alignment.
    stacks : list of (N,) float array
        Heights that each alternative can build, ascending. [mm]
    cures : bool
        Whether to seek what would cure a curve that no stack cures.

    Returns
    -------
    dict
        By number of the alternative and place of the height.
    """
    missed = ~wheel.meets(alone.setting, alone.peak)
    assembled = wheel.heights.assembled().any(axis=1)
    found: Stops = {}
    if wheel.heights.case.aim.band is not None:
        outside = missed & np.isfinite(alone.peak)
        found |= {
            (kit, at): [_out_of_band(wheel, at, int(alone.setting[kit, at]))]
            for kit, at in np.argwhere(outside).tolist()
        }
        missed &= ~outside
    for place in np.flatnonzero(~assembled).tolist():
        stop = _not_joined(wheel.heights, place)
        found |= {(kit, place): [stop] for kit in np.flatnonzero(missed[:, place]).tolist()}
    limited = missed & (alone.nearest >= 0)
    found |= _limit_stops(wheel, alone, limited)
    rest = missed & ~limited & assembled
    if rest.any():
        ideal = _IdealStops(wheel, fitted[0], stacks, rest, cures=cures)
        found |= ideal.found(rest & ~np.isfinite(alone.peak))
    return found


def _out_of_band(wheel: WheelAtHeights, place: int, setting: int) -> OutOfBand:
    """Where the setting that comes nearest to the middle of the wanted band leaves it most."""
    evaluator = wheel.heights.evaluators[place]
    change = evaluator.toe_change(wheel.pairs.settings.rows(np.array([setting])))
    (verdict,) = band_verdicts(evaluator, change)
    return OutOfBand(side=evaluator.case.side, verdict=verdict)


def _not_joined(heights: RideHeights, place: int) -> NotJoined:
    """How far the arms, with the linkage that takes them farthest, fall short of the travel."""
    case, height = heights.case, float(heights.lowered_by[place])
    shorts: list[tuple[float, float]] = []
    for choice in range(len(case.linkage_choices)):
        lowest, highest = arm_ends(heights, choice)
        shorts.append((height + case.ride.bump - highest, lowest - height + case.ride.droop))
    bump, droop = min(shorts, key=max)
    by = max(0.0, bump, droop)
    used = case.ride.bump if bump >= droop else case.ride.droop
    return NotJoined(
        kind="arms",
        side=case.side,
        stroke="bump" if bump >= droop else "droop",
        travel_mm=by,
        everywhere=by >= used and by > 0.0,
    )


def _limit_stops(wheel: WheelAtHeights, alone: BestAtHeights, limited: Flags) -> Stops:
    """Hardware that builds a good enough setting, none of which keeps every limit."""
    asked = _asked(limited, lambda k, places: wheel.pairs_of(places, alone.nearest[k, places]))
    broken = _broken(wheel.limits, asked, wheel.heights.case.side)
    return {(number, place): [*reasons] for number, place, reasons in broken}


def _asked(wanted: Flags, pairs_at: Callable[[int, Rows], Rows]) -> list[Asked]:
    """Each alternative that is wanted anywhere, the places, and its pairs there."""
    numbers = np.flatnonzero(wanted.any(axis=1)).tolist()
    places = [np.flatnonzero(wanted[number]) for number in numbers]
    return [(k, at, pairs_at(k, at)) for k, at in zip(numbers, places, strict=True)]


def _broken(
    limits: Sequence[HardwareMargins], asked: list[Asked], side: Side
) -> Iterator[tuple[int, int, list[Stop]]]:
    """Limits that pairs of alternatives break: number, place, and what is broken there."""
    find_together([(limits[number].shared.told, pairs) for number, _, pairs in asked])
    for number, places, pairs in asked:
        margins = limits[number].margins(pairs)
        for row, place in enumerate(places.tolist()):
            yield number, place, stops(margins, row, side)


class _IdealStops:
    """Hardware that builds nothing within the tolerance, held against the ideal stack."""

    def __init__(
        self,
        wheel: WheelAtHeights,
        first: Hardware,
        stacks: list[Array],
        rest: Flags,
        *,
        cures: bool,
    ) -> None:
        self.wheel, self.stacks, self.rest, self.cures = wheel, stacks, rest, cures
        self.own, self.extended = first.kit is None, first.extended
        self.places = np.flatnonzero(rest.any(axis=0))
        heights = wheel.heights.some(self.places)
        self.ideal = ideal_stacks(heights)
        self.pairs = SettingsAtHeights(heights, self.ideal.settings, self.ideal.peak.shape[1])
        self.good = self.ideal.peak <= wheel.tolerance
        self.case = heights.case

    def found(self, breaks_limits: Flags) -> Stops:
        """Stops of all of them; `breaks_limits` are those of which nothing keeps every limit."""
        limits = hardware_margins(self.pairs, [one.case for one in self.wheel.limits])
        needed = [
            (number, self.places[self.pairs.place(pairs)], pairs)
            for number, pairs in enumerate(self._chosen(limits))
            if pairs.size
        ]
        found = dict(one for asked in needed for one in self._of_stacks(*asked))
        left = self.rest.copy()
        for one in found:
            left[one] = False
        curves = {at: self._of_curve(at) for at in np.flatnonzero(left.any(axis=0)).tolist()}
        ends = [stacks[[0, -1]].tolist() for stacks in self.stacks]
        found |= {
            (k, at): [beside_ends(curves[at], ends[k])] for k, at in np.argwhere(left).tolist()
        }
        followed = [isinstance(curves.get(at), CurveLeft) for at in range(left.shape[1])]
        best = _asked(
            left & breaks_limits & followed, lambda _, at: np.array([*map(self._best, at)])
        )
        stacks: list[tuple[WhichStack, list[Asked]]] = [("needed", needed), ("best", best)]
        for stack, asked in stacks:
            for number, at, broken in _broken(limits, asked, self.case.side):
                found[number, at] += [StopThere(**dict(stop), stack=stack) for stop in broken]
        return found

    def _chosen(self, limits: list[HardwareMargins]) -> list[Rows]:
        """Of each alternative, for each height, the pair that asks least and keeps all limits.

        Where none keeps them, the one that asks least.
        """
        ranked = [self._ranked(number) for number in range(len(limits))]
        chosen = [pairs[:, 0].copy() for pairs in ranked]
        left = [np.arange(len(pairs)) for pairs in ranked]
        for rank in range(self.pairs.each):
            left = [rows[pairs[rows, rank] >= 0] for pairs, rows in zip(ranked, left, strict=True)]
            asked = [pairs[rows, rank] for pairs, rows in zip(ranked, left, strict=True)]
            if not any(pairs.size for pairs in asked):
                break
            for number, worst in enumerate(fitting_violations(limits, asked)):
                kept = worst == 0.0
                chosen[number][left[number][kept]] = asked[number][kept]
                left[number] = left[number][~kept]
        return chosen

    def _ranked(self, number: int) -> Rows:
        """Pairs within the tolerance for each height that an alternative misses, (P, C).

        In order of what they ask of it; -1 after the last.
        """
        wanted = self.good & self.rest[number, self.places, None]
        every = np.arange(wanted.size)
        off = np.abs(self.pairs.setting(every).outer_drop - self._nearest(number, every))
        off = np.where(wanted, off.reshape(wanted.shape), np.inf)
        order = np.argsort(off, axis=1, kind="stable")
        pairs: Rows = np.take_along_axis(every.reshape(wanted.shape), order, axis=1)
        pairs[~np.take_along_axis(wanted, order, axis=1)] = -1
        return np.asarray(pairs[wanted.any(axis=1)])

    def _nearest(self, number: int, pairs: Rows) -> Array:
        """Stack that an alternative builds nearest to each ideal one, (P,). [mm]."""
        stacks, ideal = self.stacks[number], self.pairs.setting(pairs).outer_drop
        after = np.clip(np.searchsorted(stacks, ideal), 1, max(1, len(stacks) - 1))
        two = stacks[np.stack([after - 1, np.minimum(after, len(stacks) - 1)])]
        nearest: Array = two[np.argmin(np.abs(two - ideal), axis=0), np.arange(ideal.size)]
        return nearest

    def _of_stacks(
        self, number: int, places: Rows, pairs: Rows
    ) -> Iterator[tuple[tuple[int, int], list[WheelStop]]]:
        """The stack that is missed at each place."""
        asked = zip(places.tolist(), pairs.tolist(), self._nearest(number, pairs), strict=True)
        for place, pair, nearest in asked:
            yield (number, place), [self._missed(number, self._needed(pair), float(nearest))]

    def _missed(self, number: int, needed: NeededSetting, nearest: float) -> StackMissed:
        stack, (low, high) = needed.outer_drop_mm, self.stacks[number][[0, -1]]
        return StackMissed(
            kind="before" if stack < low else "step" if low < stack < high else "behind",
            side=self.case.side,
            own_hardware=self.own,
            needed=needed,
            nearest_mm=nearest,
            by_mm=abs(stack - nearest),
        )

    def _best(self, place: int) -> int:
        """Pair with the least peak at a height."""
        at = int(np.flatnonzero(self.places == place)[0])
        return at * self.pairs.each + int(np.argmin(self.ideal.peak[at]))

    def _of_curve(self, place: int) -> WheelStop:
        """No stack at all comes within the tolerance."""
        best = self._best(place)
        if not np.isfinite(self.ideal.peak.ravel()[best]):
            return NotJoined(kind="rod", side=self.case.side)
        needed = self._needed(best)
        over = needed.peak_toe_change_deg - float(np.degrees(self.wheel.tolerance))
        cure = self._rod_cure(place, best) if self.cures else None
        side, own = self.case.side, self.own
        return CurveLeft(side=side, own_hardware=own, needed=needed, by_deg=over, cure=cure)

    def _rod_cure(self, place: int, pair: int) -> RodCure | None:
        """Where the inner pivot would go, and what that leaves; None where it can't."""
        evaluator, step = self.wheel.heights.evaluators[place], FINE_MM[self.case.units]
        settings, longer = best_rod(evaluator, self.ideal.settings.rows(np.array([pair])), step)
        rounded = np.round(settings.outer_drop / step) * step
        change = evaluator.toe_change(replace(settings, outer_drop=rounded))
        if out_of_reach(evaluator, longer) or not np.isfinite(change).all():
            return None
        return RodCure(
            longer_mm=longer,
            outer_drop_mm=float(rounded[0]),
            peak_toe_change_deg=float(np.degrees(np.abs(change).max())),
        )

    def _needed(self, pair: int) -> NeededSetting:
        one = self.ideal.settings
        choice, now = self.case.linkage_choices[one.linkage[pair]], self.case.linkage_choices[0]
        return NeededSetting(
            outer_drop_mm=float(one.outer_drop[pair]),
            rack_raise_mm=float(one.rack_raise[pair]),
            rack_fore_aft_mm=float(one.forward[pair]),
            **choice.named,
            extended=self.extended or choice.ball_joint_drop != now.ball_joint_drop,
            peak_toe_change_deg=float(np.degrees(self.ideal.peak.ravel()[pair])),
        )
