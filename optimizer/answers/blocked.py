"""What stops a kit from meeting the tolerance at a ride height, and by how much."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.car.adjust import Rows, fitted_to_linkage
from optimizer.car.ride_heights import RideHeights
from optimizer.car.subject import subject_of
from optimizer.limits.margins import Margin
from optimizer.limits.reasons import violations
from optimizer.models.case import Case
from optimizer.models.reach import BlockedBy, NeededSetting
from optimizer.options.arm_ends import arm_ends
from optimizer.options.ideal_stacks import ideal_stacks
from optimizer.options.kit_margins import (
    KitMargins,
    find_together,
    fitting_violations,
    kit_margins,
)
from optimizer.options.pair_margins import SettingsAtHeights
from optimizer.options.reachable import Reached, Walks
from optimizer.units import MM_PER, TOE_DECIMALS, short_length, toe_in_unit

BROKEN: dict[str, tuple[BlockedBy, str | None]] = {
    "reach": ("linkage", None),
    "tilt": ("tilt", "tilt_deg"),
    "gap": ("gap", "gap_mm"),
    "thread": ("thread", "thread_mm"),
    "stud": ("stud", "stud_factor"),
}


@dataclass(frozen=True)
class Stop:
    """What stops a kit at a ride height: in a word, by how much, in a sentence each."""

    blocked_by: list[BlockedBy] = field(default_factory=list)
    short_by: dict[str, float] = field(default_factory=dict)
    reasons: list[str] = field(default_factory=list)
    needed: NeededSetting | None = None


Stops = dict[tuple[int, int], Stop]
Flags = NDArray[np.bool_]


def stops(walks: Walks, reached: Reached, stacks: list[Array], owner: str) -> Stops:
    """Say of every kit and height that miss the tolerance what stops them.

    Parameters
    ----------
    walks, reached : Walks, Reached
        The walks over kits and heights, and what they found.
    stacks : list of (N,) float array
        Heights that each kit can build, ascending. [mm]
    owner : str
        What to call a kit in sentences.

    Returns
    -------
    dict
        By place of the kit and place of the height.
    """
    missed = reached.peak > walks.tolerance
    assembled = walks.heights.assembled().any(axis=1)
    found: Stops = {}
    if not assembled.all():
        for place, stop in _linkage_stops(walks.heights, np.flatnonzero(~assembled)):
            found |= {(int(kit), place): stop for kit in np.flatnonzero(missed[:, place])}
    limited = missed & (reached.nearest >= 0)
    found |= _limit_stops(walks, reached, limited)
    rest = missed & ~limited & assembled
    if rest.any():
        found |= _IdealStops(walks, stacks, owner, rest).found()
    return found


def _linkage_stops(heights: RideHeights, lost: Rows) -> Iterator[tuple[int, Stop]]:
    """Heights whose travel the arms cannot follow, and how far they fall short of it."""
    case = heights.case
    ends = [arm_ends(heights, drop) for drop in case.linkage_choices]
    for place in lost:
        height = float(heights.lowered_by[place])
        shorts = [
            {
                "bump": height + case.ride.bump - highest,
                "droop": lowest - height + case.ride.droop,
            }
            for lowest, highest in ends
        ]
        short = min(shorts, key=lambda by: max(by.values()))
        end = max(short, key=lambda name: short[name])
        by = max(0.0, short[end])
        where = (
            "at this ride height"
            if by >= getattr(case.ride, end) and by > 0.0
            else f"over the last {short_length(by, case.units)} of {end}"
        )
        yield (
            int(place),
            Stop(["linkage"], {"travel_mm": by}, [f"the suspension can't be joined {where}"]),
        )


def _limit_stops(walks: Walks, reached: Reached, limited: Flags) -> Stops:
    """Kits that build a good enough setting, none of which keeps every limit."""
    found: Stops = {}
    asked = []
    for kit in np.flatnonzero(limited.any(axis=1)).tolist():
        places = np.flatnonzero(limited[kit])
        asked.append((kit, places, walks.pairs_of(kit, places, reached.nearest[kit, places])))
    find_together([(walks.limits[kit].shared.told, pairs) for kit, _, pairs in asked])
    for kit, places, pairs in asked:
        margins = walks.limits[kit].margins(pairs)
        for row, place in enumerate(places.tolist()):
            found[kit, place] = _broken(margins, row, walks.heights.case)
    return found


def _broken(margins: list[Margin], row: int, case: Case) -> Stop:
    short: dict[str, float] = {}
    kinds: list[BlockedBy] = []
    for margin in margins:
        if margin.margin[row] < 0.0:
            kind, key = BROKEN[margin.kind]
            kinds += [] if kind in kinds else [kind]
            if key is not None:
                short[key] = max(short.get(key, 0.0), -float(margin.margin[row]))
    return Stop(kinds, short, violations(margins, row, case))


class _IdealStops:
    """Kits that build nothing within the tolerance, held against the ideal stack."""

    def __init__(self, walks: Walks, stacks: list[Array], owner: str, rest: Flags) -> None:
        self.walks, self.stacks, self.owner, self.rest = walks, stacks, owner, rest
        self.places = np.flatnonzero(rest.any(axis=0))
        heights = walks.heights.some(self.places)
        self.ideal = ideal_stacks(heights)
        self.pairs = SettingsAtHeights(heights, self.ideal.settings, self.ideal.peak.shape[1])
        self.good = self.ideal.peak <= walks.tolerance
        self.case = heights.case

    def found(self) -> Stops:
        """Stops of all of them."""
        limits = kit_margins(self.pairs, [one.case for one in self.walks.limits])
        asked = [self._asked(kit) for kit in range(len(limits))]
        broken = fitting_violations(limits, asked)
        chosen = [
            self._chosen(kit, pairs, worst)
            for kit, (pairs, worst) in enumerate(zip(asked, broken, strict=True))
        ]
        find_together([(one.shared.told, pairs) for one, pairs in zip(limits, chosen, strict=True)])
        found: Stops = {}
        for kit, (one, pairs) in enumerate(zip(limits, chosen, strict=True)):
            found |= self._kit_stops(kit, one, pairs)
        for kit, place in np.argwhere(self.rest):
            if (int(kit), int(place)) not in found:
                found[int(kit), int(place)] = self._curve_stop(int(place))
        return found

    def _asked(self, kit: int) -> Rows:
        """Pairs within the tolerance at the heights that the kit misses."""
        return np.flatnonzero((self.good & self.rest[kit, self.places, None]).ravel())

    def _chosen(self, kit: int, pairs: Rows, broken: Array) -> Rows:
        """For each height the pair that asks least of the kit, of those that keep all limits."""
        off = np.abs(self._off(kit, pairs)[0])
        order = np.lexsort([off, broken > 0.0, self.pairs.place(pairs)])
        return pairs[order[np.unique(self.pairs.place(pairs)[order], return_index=True)[1]]]

    def _off(self, kit: int, pairs: Rows) -> tuple[Array, Array]:
        """How far each ideal stack lies above the nearest that the kit builds, and that one."""
        stacks, ideal = self.stacks[kit], self.pairs.setting(pairs).outer_drop
        after = np.clip(np.searchsorted(stacks, ideal), 1, max(1, len(stacks) - 1))
        two = stacks[np.stack([after - 1, np.minimum(after, len(stacks) - 1)])]
        nearest = two[np.argmin(np.abs(two - ideal), axis=0), np.arange(ideal.size)]
        return ideal - nearest, nearest

    def _kit_stops(self, kit: int, limits: KitMargins, pairs: Rows) -> Stops:
        if not pairs.size:
            return {}
        found: Stops = {}
        margins, (away, nearest) = limits.margins(pairs), self._off(kit, pairs)
        places = self.places[self.pairs.place(pairs)]
        low, high = self.stacks[kit][0], self.stacks[kit][-1]
        for row, pair in enumerate(pairs):
            needed = self._needed(int(pair))
            broken = _broken(margins, row, self.case)
            by = abs(float(away[row]))
            within = low < needed.outer_drop_mm < high
            cause: BlockedBy = "step" if within else "stack"
            wants = f"needs {self._in_words(needed)}"
            if within:
                off = f"{by / MM_PER[self.case.units]:.2g} {self.case.units}"
                text = f"{wants}, {off} from the nearest that the {self.owner} builds"
            else:
                end = "starts" if needed.outer_drop_mm < low else "ends"
                text = f"{wants}, the {self.owner} {end} at {self._length(float(nearest[row]))}"
            found[kit, int(places[row])] = Stop(
                [cause, *broken.blocked_by],
                {f"{cause}_mm": by, **broken.short_by},
                [text, *(f"there, {reason}" for reason in broken.reasons)],
                needed,
            )
        return found

    def _curve_stop(self, place: int) -> Stop:
        """No stack at all comes within the tolerance."""
        at = int(np.flatnonzero(self.places == place)[0])
        best = int(np.argmin(self.ideal.peak[at]))
        if not np.isfinite(self.ideal.peak[at, best]):
            text = f"the {self.case.words.rod} can't follow the wheel over its travel"
            return Stop(["linkage"], {}, [text])
        needed = self._needed(at * self.ideal.peak.shape[1] + best)
        short = needed.peak_toe_change_deg - float(np.degrees(self.walks.tolerance))
        leaves, unit = self._toe(needed.peak_toe_change_deg), self.case.display.toe_unit
        text = (
            f"even {self._in_words(needed)} leaves {leaves:.{TOE_DECIMALS[unit]}f} {unit}, "
            f"{self._toe(short):.2g} {unit} too much: that is the curve's own shape, which no "
            "stack cures"
        )
        return Stop(["curve"], {"peak_deg": short}, [text], needed)

    def _needed(self, pair: int) -> NeededSetting:
        one = self.ideal.settings
        return NeededSetting(
            outer_drop_mm=float(one.outer_drop[pair]),
            rack_raise_mm=float(one.rack_raise[pair]),
            **fitted_to_linkage(self.case, float(one.ball_joint_drop[pair])),
            peak_toe_change_deg=float(np.degrees(self.ideal.peak.ravel()[pair])),
        )

    def _in_words(self, needed: NeededSetting) -> str:
        text = self._length(needed.outer_drop_mm)
        if needed.rack_raise_mm:
            way = "raised" if needed.rack_raise_mm > 0.0 else "lowered"
            text += (
                f" with the {self.case.words.inner} {way} {self._length(abs(needed.rack_raise_mm))}"
            )
        if needed.ball_joint_drop_mm != self.case.lower_ball_joint.drop[0]:
            text += f" and the ball joint dropped {self._length(needed.ball_joint_drop_mm)}"
        for end, height in (
            ("frame", needed.frame_bracket_raise_mm),
            ("axle", needed.axle_bracket_raise_mm),
        ):
            if height:
                way = "raised" if height > 0.0 else "lowered"
                text += f" and the lateral link's {end} bracket {way} {self._length(abs(height))}"
        return text

    def _toe(self, toe_deg: float) -> float:
        told = subject_of(self.case)
        return toe_in_unit(toe_deg, told.toe_unit, told.toe_diameter_mm)

    def _length(self, length_mm: float) -> str:
        return short_length(length_mm, self.case.units)
