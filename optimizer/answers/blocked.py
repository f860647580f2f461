"""What stops a wheel from meeting the tolerance at a ride height, and by how much: as facts."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.ride_heights import RideHeights
from optimizer.car.settings import Rows
from optimizer.limits.stops import stops
from optimizer.models.reach import (
    BlockedBy,
    CurveLeft,
    NotAligned,
    NothingShared,
    NotJoined,
    RodCure,
    StackMissed,
    StopThere,
    WheelStop,
    beside_ends,
)
from optimizer.models.setting import NeededSetting
from optimizer.models.stops import LimitKind
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

Stops = dict[tuple[int, int], list[WheelStop]]
Flags = NDArray[np.bool_]

OF_LIMIT: dict[LimitKind, tuple[BlockedBy, str | None]] = {
    "reach": ("linkage", None),
    "lock": ("linkage", None),
    "tilt": ("tilt", "tilt_deg"),
    "gap": ("gap", "gap_mm"),
    "thread": ("thread", "thread_mm"),
    "stud": ("stud", "stud_factor"),
    "steered": ("steered", "steered_deg"),
    "turn": ("turn", "turn_toe_out_deg"),
    "roll": ("roll", "roll_steer"),
}


def blocked_by(reasons: Sequence[WheelStop | NothingShared]) -> list[BlockedBy]:
    """Name what stops, each once."""
    return list(dict.fromkeys(_cause(fact)[0] for fact in reasons))


def short_by(reasons: Sequence[WheelStop | NothingShared]) -> dict[str, float]:
    """By how much each falls short, the most of each; the key names the unit."""
    short: dict[str, float] = {}
    for fact in reasons:
        _, key, by = _cause(fact)
        if key is not None and by is not None:
            short[key] = max(short.get(key, 0.0), by)
    return short


def _cause(fact: WheelStop | NothingShared) -> tuple[BlockedBy, str | None, float | None]:
    match fact:
        case NotAligned():
            return "alignment", None, None
        case NotJoined():
            return "linkage", "travel_mm", fact.travel_mm
        case StackMissed(kind="step"):
            return "step", "step_mm", fact.by_mm
        case StackMissed():
            return "stack", "stack_mm", fact.by_mm
        case CurveLeft():
            return "curve", "peak_deg", fact.by_deg
        case NothingShared():
            return "shared", None, None
        case _:
            return *OF_LIMIT[fact.kind], fact.short


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
    missed = alone.peak > wheel.tolerance
    assembled = wheel.heights.assembled().any(axis=1)
    found: Stops = {}
    for place in np.flatnonzero(~assembled).tolist():
        stop = _not_joined(wheel.heights, place)
        found |= {(kit, place): [stop] for kit in np.flatnonzero(missed[:, place]).tolist()}
    limited = missed & (alone.nearest >= 0)
    found |= _limit_stops(wheel, alone, limited)
    rest = missed & ~limited & assembled
    if rest.any():
        found |= _IdealStops(wheel, fitted[0], stacks, rest, cures=cures).found()
    return found


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
    found, asked = Stops(), []
    for number in np.flatnonzero(limited.any(axis=1)).tolist():
        places = np.flatnonzero(limited[number])
        asked.append((number, places, wheel.pairs_of(places, alone.nearest[number, places])))
    find_together([(wheel.limits[number].shared.told, pairs) for number, _, pairs in asked])
    for number, places, pairs in asked:
        margins = wheel.limits[number].margins(pairs)
        for row, place in enumerate(places.tolist()):
            found[number, place] = [*stops(margins, row, wheel.heights.case.side)]
    return found


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

    def found(self) -> Stops:
        """Stops of all of them."""
        limits = hardware_margins(self.pairs, [one.case for one in self.wheel.limits])
        chosen = self._chosen(limits)
        find_together([(one.shared.told, pairs) for one, pairs in zip(limits, chosen, strict=True)])
        found: Stops = {}
        for number, (one, pairs) in enumerate(zip(limits, chosen, strict=True)):
            found |= dict(self._of_stacks(number, one, pairs))
        left = [one for one in map(tuple, np.argwhere(self.rest).tolist()) if one not in found]
        curves = {place: self._of_curve(place) for place in {place for _, place in left}}
        ends = [stacks[[0, -1]].tolist() for stacks in self.stacks]
        return found | {(k, at): [beside_ends(curves[at], ends[k])] for k, at in left}

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
        self, number: int, limits: HardwareMargins, pairs: Rows
    ) -> Iterator[tuple[tuple[int, int], list[WheelStop]]]:
        """The stack that is missed, and what it would break."""
        if not pairs.size:
            return
        margins, nearest = limits.margins(pairs), self._nearest(number, pairs)
        places = self.places[self.pairs.place(pairs)].tolist()
        for row, (pair, place) in enumerate(zip(pairs.tolist(), places, strict=True)):
            missed = self._missed(number, self._needed(pair), float(nearest[row]))
            broken = stops(margins, row, self.case.side)
            yield (
                (number, place),
                [missed, *(StopThere(**dict(stop), stack="needed") for stop in broken)],
            )

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

    def _of_curve(self, place: int) -> WheelStop:
        """No stack at all comes within the tolerance."""
        at = int(np.flatnonzero(self.places == place)[0])
        best = int(np.argmin(self.ideal.peak[at]))
        if not np.isfinite(self.ideal.peak[at, best]):
            return NotJoined(kind="rod", side=self.case.side)
        needed = self._needed(at * self.ideal.peak.shape[1] + best)
        over = needed.peak_toe_change_deg - float(np.degrees(self.wheel.tolerance))
        cure = self._rod_cure(place, at * self.ideal.peak.shape[1] + best) if self.cures else None
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
