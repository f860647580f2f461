"""Margins of settings at ride heights, found out once and shared by kits.

What a kit changes of tilt and gaps is only how much is allowed: the limit of its rod end, and the
radius of the housing.  So the poses, tilts and gaps of a setting at a height are found for a joint
that is a bare line, and each kit takes off its own.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.adjust import Rows, Settings
from optimizer.limits import Margin, margins
from optimizer.models.case import Case
from optimizer.search.ride_heights import RideHeights
from optimizer.strength import strength_limits
from optimizer.tilts import tilt_limit_deg

RIGHT_ANGLE_DEG = 90.0
AT_A_TIME = 512  # pairs at all places, so that the poses stay in reach of the cache
ENDS_AT_A_TIME = 4096

Pairs = NDArray[np.intp]


@dataclass(frozen=True)
class SettingsAtHeights:
    """Pairs of a setting and a ride height, numbered ``height * each + setting``.

    `settings` are `each` that stand at every height, or `each` for one height after the other.
    """

    heights: RideHeights
    settings: Settings
    each: int

    def place(self, pairs: Pairs) -> Rows:
        """Which height each pair stands at."""
        return pairs // self.each

    def setting(self, pairs: Pairs) -> Settings:
        """What is fitted in each pair."""
        return self.settings.rows(pairs % len(self.settings))


@dataclass
class PairMargins:
    """Margins of pairs for one shape of housing, its radius taken as 0 and its joint as free.

    `table` (N, 4, limits) holds margin, value, travel and rack travel of the pairs found so far,
    `rod_change` (N,) how much longer their rod becomes [mm]; `row` says where a pair is in them,
    -1 for one that is not.
    """

    pairs: SettingsAtHeights
    case: Case
    ends_only: bool
    limits: list[Margin] = field(init=False, default_factory=list)
    row: Rows = field(init=False)
    table: Array = field(init=False)
    rod_change: Array = field(init=False)

    def __post_init__(self) -> None:
        self.row = np.full(len(self.pairs.heights.evaluators) * self.pairs.each, -1)
        self.rod_change = np.empty(0)

    def find(self, pairs: Pairs) -> None:
        """Find the margins of those pairs that are not known yet."""
        new = np.unique(pairs[self.row[pairs] < 0])
        at_a_time = ENDS_AT_A_TIME if self.ends_only else AT_A_TIME
        found = [self._found(new[k : k + at_a_time]) for k in range(0, new.size, at_a_time)]
        if found:
            tables, changes = zip(*found, strict=True)
            self.row[new] = np.arange(new.size) + self.rod_change.size
            known = [self.table] if self.rod_change.size else []
            self.table = np.concatenate([*known, *tables])
            self.rod_change = np.concatenate([self.rod_change, *changes])

    def _found(self, new: Pairs) -> tuple[Array, Array]:
        settings, places = self.pairs.setting(new), self.pairs.place(new)
        evaluator = self.pairs.heights.standing(self.case, places, settings)
        self.limits = margins(evaluator, settings, ends_only=self.ends_only)
        table = np.empty((new.size, 4, len(self.limits)))
        for column, one in enumerate(self.limits):
            table[:, :, column] = np.stack(
                [one.margin, one.value, one.travel, one.rack_travel], axis=1
            )
        return table, evaluator.rod_length_change(settings)


@dataclass(frozen=True)
class KitMargins:
    """Margins of pairs with one kit fitted: what it allows, taken off what is shared."""

    case: Case
    pairs: SettingsAtHeights
    ends: PairMargins
    full: PairMargins

    def violation(self, pairs: Pairs, *, ends_only: bool) -> Array:
        """How far pairs that have been found break their worst limit, (P,); 0 if they keep all."""
        if not pairs.size:
            return np.empty(0)
        shared = self.ends if ends_only else self.full
        rows = shared.row[pairs]
        allowed = np.array([self._allowed(limit)[0] for limit in shared.limits])
        least = (shared.table[rows, 0] + allowed).min(axis=1)
        for strength in self._strength(pairs, shared.rod_change[rows]):
            least = np.minimum(least, strength.margin)
        worst: Array = np.maximum(0.0, -least)
        return worst

    def margins(self, pairs: Pairs) -> list[Margin]:
        """Every limit of each pair, as `optimizer.limits.margins` gives them."""
        self.full.find(pairs)
        rows = self.full.row[pairs]
        found = []
        for column, limit in enumerate(self.full.limits):
            more, limit_now, larger = self._allowed(limit)
            margin, value, travel, rack = self.full.table[rows, :, column].T
            found.append(
                Margin(
                    limit.kind, limit.name, value + larger, limit_now, margin + more, travel, rack
                )
            )
        return found + self._strength(pairs, self.full.rod_change[rows])

    def _allowed(self, shared: Margin) -> tuple[float, float, float]:
        """What the kit adds to a shared margin, its limit, and what it adds to the value."""
        joint = self.case.joint
        if shared.kind == "tilt" and shared.name == "outer joint":
            stated = tilt_limit_deg(joint.outer)
            limit = np.inf if stated is None else stated
            return limit - RIGHT_ANGLE_DEG, limit, 0.0
        if shared.kind == "gap" and shared.name.startswith("outer joint to "):
            radius = 0.5 * joint.housing_diameter
            return -radius, shared.limit, -radius
        return 0.0, shared.limit, 0.0

    def _strength(self, pairs: Pairs, rod_change: Array) -> list[Margin]:
        if self.case.stud is None and self.case.thread is None:
            return []
        drop, nowhere = self.pairs.setting(pairs).outer_drop, np.zeros(pairs.size)
        return [
            Margin(kind, name, value, limit, value - limit, nowhere, nowhere)
            for kind, name, value, limit in strength_limits(self.case, drop, rod_change)
        ]


def fitting_violations(limits: list[KitMargins], asked: list[Pairs]) -> list[Array]:
    """How far each kit's pairs break their worst limit, 0 where they keep them all.

    The ends of travel and lock are looked at first, for all kits at once; only what keeps every
    limit there is looked at everywhere, so that where a limit is broken this is the least it is
    broken by.
    """
    find_together([(one.ends, pairs) for one, pairs in zip(limits, asked, strict=True)])
    found = [one.violation(pairs, ends_only=True) for one, pairs in zip(limits, asked, strict=True)]
    kept = [pairs[worst == 0.0] for pairs, worst in zip(asked, found, strict=True)]
    find_together([(one.full, pairs) for one, pairs in zip(limits, kept, strict=True)])
    for one, pairs, worst in zip(limits, kept, found, strict=True):
        worst[worst == 0.0] = one.violation(pairs, ends_only=False)
    return found


def find_together(asked: list[tuple[PairMargins, Pairs]]) -> None:
    """Find margins in one batch for each shape of housing, whichever kits ask for them."""
    together: dict[int, tuple[PairMargins, list[Pairs]]] = {}
    for shared, pairs in asked:
        together.setdefault(id(shared), (shared, []))[1].append(pairs)
    for shared, parts in together.values():
        shared.find(np.concatenate(parts))


def kit_margins(pairs: SettingsAtHeights, cases: list[Case]) -> list[KitMargins]:
    """Margins of each kit's case; kits whose housings have one shape share poses and gaps."""
    shared: dict[float, tuple[PairMargins, PairMargins]] = {}
    found = []
    for case in cases:
        joint = case.joint
        length = max(0.0, joint.housing_height - joint.housing_diameter)
        if length not in shared:
            bare = _with_bare_joint(pairs.heights.case, length)
            shared[length] = PairMargins(pairs, bare, True), PairMargins(pairs, bare, False)
        found.append(KitMargins(case, pairs, *shared[length]))
    return found


def _with_bare_joint(case: Case, length: float) -> Case:
    """Make a case whose outer joint is a line of a length along the bolt and may tilt freely."""
    free = case.joint.outer.model_copy(
        update={name: None for name in type(case.joint.outer).model_fields if name != "bolt_axis"}
        | {"tilt_limit_deg": RIGHT_ANGLE_DEG}
    )
    joint = case.joint.model_copy(
        update={"outer": free, "housing_diameter": 0.0, "housing_height": length}
    )
    return case.model_copy(update={"joint": joint, "stud": None, "thread": None})
