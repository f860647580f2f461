"""What was seen of a wheel: the one model of every kind of reading, foretold by the exact motion.

A row is a value that was seen at a wheel travel, a rack travel and a change of the rod's length,
with some parts fitted.  An *eye* says what a kind of reading makes of a pose; to add a kind is to
write its eye here and to make its rows in `optimizer.gauging.beside_toe`.
"""

from collections.abc import Callable, Sequence
from functools import cached_property

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from geometry.few_places import FEW, through_few_places
from geometry.linkages.axle import MIRROR
from geometry.motion import Motion
from geometry.vectors import Array, turned
from geometry.wheel_angles import camber_angle, toe_angle
from optimizer.car.adjust import Corner
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import held_motion, sampled_motion
from optimizer.car.settings import Settings
from optimizer.gauging.conversions import Gauge
from optimizer.gauging.seen import dial_place, gauge_toe

Bools = NDArray[np.bool_]
Eye = Callable[[Corner, Motion], Array]  # cars and poses (N, T), ride height last, to (N, T)


class Observation(Struct, frozen=True, dict=True):
    """Readings of one kind, taken with the same parts fitted.

    `travel`, `rack` and `longer` (N,) say where each row was read: wheel travel from ride height,
    rack travel, and how much longer the rod was than for static toe [mm]; a row with `toe` (N,) has
    the wheel held there by hand instead [rad].  `seen` (N,) is what was read, `noise` (N,) one
    standard deviation of it, in radians, or in millimeters with `length`.  With `zero` all share a
    constant that nobody knows.  With `mirrored` what the other wheel, a mirror image, shows with
    the rack where it is counts too.  `fitted` is a batch of one.
    """

    eye: Eye
    fitted: Settings
    seen: Array
    noise: Array
    travel: Array
    rack: Array
    longer: Array
    toe: Array | None = None
    zero: bool = True
    mirrored: bool = False
    length: bool = False

    @staticmethod
    def of(
        eye: Eye,
        fitted: Settings,
        seen: Array,
        noise: Array | float,
        *,
        travel: Array | float = 0.0,
        rack: Array | float = 0.0,
        longer: Array | float = 0.0,
        toe: Array | None = None,
        zero: bool = True,
        mirrored: bool = False,
        length: bool = False,
    ) -> "Observation":
        """Make rows of what was seen; what is one number holds in all."""
        noise, travel, rack, longer = (
            np.broadcast_to(np.asarray(x, dtype=np.float64), seen.shape)
            for x in (noise, travel, rack, longer)
        )
        return Observation(
            eye, fitted, seen, noise, travel, rack, longer, toe, zero, mirrored, length
        )

    def foretold(self, evaluator: Evaluator, corner: Corner) -> Array:
        """What N cars would show, (N, rows); NaN out of reach."""
        return all_foretold(evaluator, corner, [self])[0]

    @property
    def racks(self) -> list[Array]:
        """Rack travels of what counts together, that of the other wheel as the mirror image."""
        return [self.rack, -self.rack] if self.mirrored else [self.rack]

    @cached_property
    def at_few(self) -> tuple["Observation", Array] | None:
        """The same at few heights, and what makes that into all rows, (rows, few).

        None where there are not so many rows, or more than their heights differs.
        """
        alike = self.toe is None and not np.ptp(self.rack) and not np.ptp(self.longer)
        if not alike or self.seen.size <= 2 * FEW or not np.ptp(self.travel):
            return None
        travel, onto = through_few_places(self.travel)
        rack, longer = (np.full(FEW, one[0]) for one in (self.rack, self.longer))
        few = replace(
            self, seen=np.zeros(FEW), noise=np.ones(FEW), travel=travel, rack=rack, longer=longer
        )
        return few, onto

    def sees(self, corner: Corner, motion: Motion, start: int) -> Array:
        """What it makes of poses whose own begin at a place, ride height the last of all."""
        places = np.append(np.arange(start, start + self.seen.size), -1)
        seen: Array = self.eye(corner, motion.at(places))[..., :-1]
        return seen

    @property
    def span(self) -> Array:
        """What tells how far the rows go when they are multiplied by it, (N,).

        From the lowest height to the highest, where they are at several, else from the first row to
        the last; of rows that count from straight ahead, the last one alone.
        """
        ends = np.zeros(self.seen.size)
        ends[np.argmax(self.travel) if np.ptp(self.travel) else -1] += 1.0
        if self.zero:
            ends[np.argmin(self.travel) if np.ptp(self.travel) else 0] -= 1.0
        return ends

    @property
    def tells(self) -> bool:
        """Whether rows are at several places, or where no zero is shared not straight ahead."""
        if not self.zero:
            return bool(self.rack.any())
        places = [self.travel, self.rack, self.longer, *([] if self.toe is None else [self.toe])]
        return self.seen.size > 0 and any(np.ptp(place) > 0.0 for place in places)

    def of_rows(self, kept: Bools) -> "Observation":
        """Some of the rows, those that are true of (N,)."""
        names = ("seen", "noise", "travel", "rack", "longer")
        parts = {name: getattr(self, name)[kept] for name in names}
        return replace(self, **parts, toe=None if self.toe is None else self.toe[kept])

    def with_noise_above(self, least: float) -> "Observation":
        """The same rows, none of them trusted beyond that."""
        return replace(self, noise=np.maximum(self.noise, least))


def all_foretold(
    evaluator: Evaluator, corner: Corner, observations: Sequence[Observation]
) -> list[Array]:
    """What N cars would show of each of several observations, (N, rows); NaN out of reach.

    Where very many heights were read, a few are solved and the others found from those.
    """
    few = [one if one.at_few is None else one.at_few[0] for one in observations]
    found = _solved(evaluator, corner, few)
    for place, one in enumerate(observations):
        if one.at_few is None:
            continue
        if np.isfinite(found[place]).all():
            found[place] = found[place] @ one.at_few[1].T
        else:
            (found[place],) = _solved(evaluator, corner, [one])
    return found


def _solved(
    evaluator: Evaluator, corner: Corner, observations: Sequence[Observation]
) -> list[Array]:
    """Solve what N cars would show at every height, (N, rows); NaN out of reach.

    Those with the same parts fitted share one motion: a few poses cost as much as many.
    """
    found: list[Array] = [np.zeros(1)] * len(observations)
    for places in _with_the_same_parts(observations):
        alike = [observations[place] for place in places]
        motion, start = _motion(evaluator, corner, alike), 0
        for place, one in zip(places, alike, strict=True):
            for _ in one.racks:
                found[place] = found[place] + one.sees(corner, motion, start)
                start += one.seen.size
    return found


def _with_the_same_parts(observations: Sequence[Observation]) -> list[list[int]]:
    """Places of observations whose poses can be found together."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for place, one in enumerate(observations):
        fitted = one.fitted
        parts = (fitted.outer_drop, fitted.rack_raise, fitted.linkage, fitted.forward)
        held = () if one.toe is None else (place,)
        key = (*(float(part[0]) for part in parts), *held)
        groups.setdefault(key, []).append(place)
    return list(groups.values())


def _motion(evaluator: Evaluator, corner: Corner, alike: Sequence[Observation]) -> Motion:
    """Poses of every row of observations, one behind the other, and of ride height last.

    There a gauge that stands still is set up.
    """
    first = alike[0]
    travel = np.concatenate([np.tile(one.travel, len(one.racks)) for one in alike] + [[0.0]])
    if first.toe is not None:
        return held_motion(evaluator, corner, first.fitted, travel, first.toe)
    rack = np.concatenate([rack for one in alike for rack in one.racks] + [np.zeros(1)])
    longer = np.concatenate([np.tile(one.longer, len(one.racks)) for one in alike] + [[0.0]])
    return sampled_motion(evaluator, corner, first.fitted, travel, rack=rack, longer=longer)


def toe_by(gauge: Gauge) -> Eye:
    """Toe as a gauge sees it, positive toe-in. [rad]."""
    return lambda corner, motion: gauge_toe(gauge, corner, motion)


def camber(corner: Corner, motion: Motion) -> Array:
    """Camber as a gauge on the rim reads it, positive top outboard. [rad]."""
    return camber_angle(turned(motion.rotation, corner.spin))


def toe(corner: Corner, motion: Motion) -> Array:
    """Toe itself, positive toe-in: what a turn plate tells of either wheel. [rad]."""
    return toe_angle(turned(motion.rotation, corner.spin))


def turned_out(corner: Corner, motion: Motion) -> Array:
    """Toe-out from straight ahead: of this wheel and, on a beam, of the other one too. [rad]."""
    toed = toe_angle(turned(motion.rotation, corner.spin))
    if motion.other_wheel is not None:
        other = turned(motion.other_wheel.rotation, MIRROR * corner.spin)
        toed = toed + toe_angle(MIRROR * other)
    out: Array = toed[..., -1:] - toed
    return out


def sideways(ahead: float) -> Eye:
    """Where a dial so far ahead of the axle meets a plate on the hub, outboard positive. [mm]."""
    return lambda corner, motion: dial_place(corner, motion, ahead)
