"""Margins with each alternative of hardware, from what is shared between them.

What a kit changes of tilt and gaps is only how much is allowed: the limit of its rod end, and the
radius of the housing.  So the poses, tilts and gaps of a setting at a height are found for a joint
that is a bare line, and each kit takes off its own.
"""

import dataclasses
from collections.abc import Sequence
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.limits.followed import Needed
from optimizer.limits.margins import Margin
from optimizer.limits.strength import strength_limits
from optimizer.limits.tilts import outer_tilt_limit_deg
from optimizer.limits.watched import Watched
from optimizer.models.case import Case
from optimizer.options.pair_margins import PairMargins, Pairs, SettingsAtHeights

RIGHT_ANGLE_DEG = 90.0
AT_A_TIME = 512  # pairs at all places, so that their poses stay in reach of the cache
AT_ENDS_AT_A_TIME = 4096
BROKEN_ENOUGH = 200  # pairs that must be known to break a limit to tell where most do


class HousingMargins(Struct):
    """Margins that hardware with one shape of housing shares, in stages.

    At the place where most of what is known to be broken breaks; at the ends of travel and lock;
    everywhere.  `told` has the worst of every limit that may be broken, for what is told.
    """

    ends: PairMargins
    full: PairMargins
    told: PairMargins
    telling: PairMargins | None = None

    @staticmethod
    def of(pairs: SettingsAtHeights, case: Case, needed: Needed) -> "HousingMargins":
        """Start with nothing known; `case` is that of the bare joint, `needed` what kits leave."""
        ends = PairMargins(pairs, case, AT_ENDS_AT_A_TIME, ends_only=True, needed=needed)
        full = PairMargins(pairs, case, AT_A_TIME, needed=needed)
        told = PairMargins(pairs, case, AT_A_TIME, follow="broken", needed=needed)
        return HousingMargins(ends, full, told)

    def stages(self) -> list[PairMargins | None]:
        """What to look at, in order."""
        return [self.telling, self.ends, self.full]

    def choose_telling(self) -> None:
        """Choose the place at which broken limits are worst most often."""
        if self.telling is not None or not self.ends.rod_change.size:
            return
        margin, _, travel, rack = np.moveaxis(self.ends.table, 1, 0)
        broken = margin < 0.0
        if np.count_nonzero(broken.any(axis=1)) >= BROKEN_ENOUGH:
            worst = np.stack([rack[broken], travel[broken]])
            places, counts = np.unique(worst, axis=1, return_counts=True)
            rack, travel = places[:, [np.argmax(counts)]]
            self.telling = dataclasses.replace(self.ends, ends_only=False, places=(rack, travel))


class HardwareMargins(Struct, frozen=True):
    """Margins of pairs with one alternative fitted: what it allows, taken off what is shared.

    `case` is the wheel's as it stands with it.
    """

    case: Case
    pairs: SettingsAtHeights
    shared: HousingMargins

    def violation(self, pairs: Pairs, shared: PairMargins) -> Array:
        """How far pairs that have been found break their worst limit, (P,); 0 if they keep all."""
        if not pairs.size:
            return np.empty(0)
        rows = shared.row[pairs]
        allowed = np.array([_allowed(self.case, limit)[0] for limit in shared.limits])
        least = (shared.table[rows, 0] + allowed).min(axis=1)
        for strength in self._strength(pairs, shared.rod_change[rows]):
            least = np.minimum(least, strength.margin)
        worst: Array = np.maximum(0.0, -least)
        return worst

    def margins(self, pairs: Pairs) -> list[Margin]:
        """Every limit of each pair, as `optimizer.limits.margins.margins` gives them."""
        shared = self.shared.told
        shared.find(pairs)
        rows = shared.row[pairs]
        found = []
        for column, limit in enumerate(shared.limits):
            more, limit_now, larger = _allowed(self.case, limit)
            margin, value, travel, rack = shared.table[rows, :, column].T
            found.append(
                replace(
                    limit,
                    value=value + larger,
                    limit=limit_now,
                    margin=margin + more,
                    travel=travel,
                    rack_travel=rack,
                )
            )
        return found + self._strength(pairs, shared.rod_change[rows])

    def _strength(self, pairs: Pairs, rod_change: Array) -> list[Margin]:
        if self.case.stud is None and self.case.thread is None:
            return []
        settings, nowhere = self.pairs.setting(pairs), np.zeros(pairs.size)
        drop = self.pairs.heights.evaluators[0].corner.drop_along_stud(settings)
        return [
            Margin(kind, name, value, limit, value - limit, nowhere, nowhere)
            for kind, name, value, limit in strength_limits(self.case, drop, rod_change)
        ]


def fitting_violations(limits: list[HardwareMargins], asked: list[Pairs]) -> list[Array]:
    """How far the pairs asked for break their worst limit, 0 where they keep them all.

    Each stage looks only at what has kept every limit in the stages before it, whatever hardware it
    is of; so where a limit is broken, this is the least it is broken by.
    """
    found = [np.zeros(pairs.size) for pairs in asked]
    for stage in range(3):
        shared = [one.shared.stages()[stage] for one in limits]
        kept = [pairs[worst == 0.0] for pairs, worst in zip(asked, found, strict=True)]
        find_together(list(zip(shared, kept, strict=True)))
        for one, part, pairs, worst in zip(limits, shared, kept, found, strict=True):
            if part is not None:
                worst[worst == 0.0] = one.violation(pairs, part)
    for one in limits:
        one.shared.choose_telling()
    return found


def find_together(asked: list[tuple[PairMargins | None, Pairs]]) -> None:
    """Find margins in one batch for each shape of housing, whatever hardware asks for them."""
    together: dict[int, tuple[PairMargins, list[Pairs]]] = {}
    for shared, pairs in asked:
        if shared is not None:
            together.setdefault(id(shared), (shared, []))[1].append(pairs)
    for shared, parts in together.values():
        shared.find(np.concatenate(parts))


def hardware_margins(pairs: SettingsAtHeights, cases: Sequence[Case]) -> list[HardwareMargins]:
    """Margins with each case's hardware; housings of one shape share poses and gaps."""
    lengths = [max(0.0, one.joint.housing_height - one.joint.housing_diameter) for one in cases]
    shared: dict[float, HousingMargins] = {}
    for length in dict.fromkeys(lengths):
        alike = [one for one, own in zip(cases, lengths, strict=True) if own == length]
        bare = _with_bare_joint(pairs.heights.case, length)
        shared[length] = HousingMargins.of(pairs, bare, partial(_needed, alike))
    return [
        HardwareMargins(one, pairs, shared[length])
        for one, length in zip(cases, lengths, strict=True)
    ]


def _needed(cases: list[Case], limit: Watched) -> tuple[float, float]:
    """What a shared margin must leave for some of the hardware to keep a limit, and for all."""
    needed = [-_allowed(one, limit)[0] for one in cases]
    return min(needed), max(needed)


def _allowed(case: Case, shared: Margin | Watched) -> tuple[float, float, float]:
    """What the hardware adds to a shared margin, its limit, and what it adds to the value."""
    joint = case.joint
    if shared.part != "outer joint":
        return 0.0, shared.limit, 0.0
    if shared.kind == "tilt":
        stated = outer_tilt_limit_deg(joint)
        limit = np.inf if stated is None else stated
        return limit - RIGHT_ANGLE_DEG, limit, 0.0
    radius = 0.5 * joint.housing_diameter
    return -radius, shared.limit, -radius


def _with_bare_joint(case: Case, length: float) -> Case:
    """Make a case whose outer joint is a line of a length along the bolt and may tilt freely."""
    free = case.joint.outer.model_copy(
        update={name: None for name in type(case.joint.outer).model_fields if name != "bolt_axis"}
        | {"tilt_limit_deg": RIGHT_ANGLE_DEG}
    )
    joint = case.joint.model_copy(
        update={"outer": free, "housing_diameter": 0.0, "housing_height": length}
        | {"retaining_washer": None}
    )
    return case.model_copy(update={"joint": joint, "stud": None, "thread": None})
