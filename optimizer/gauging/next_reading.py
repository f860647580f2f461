"""What to read next: the reading after which the stack that is then chosen loses least.

Each reading that may be taken is foretold for many cars that are still possible; what it would
make of the points chooses a stack, which is judged on the car that it came from.  So a reading
counts by the decision that it serves, not by the coordinates that it narrows: the variance of the
prediction that matters (arXiv 1311.6658), carried on to what is lost by choosing.  Heights, and
the stack to have fitted, are chosen by the same.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np
from msgspec import Struct

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings, joined_settings
from optimizer.gauging.beside_toe import rate_of_rod, turned_out_at
from optimizer.gauging.fit import FittedPoints
from optimizer.gauging.measured_again import TO_MM, Spot, measured, spots
from optimizer.gauging.observation import Observation, camber, sideways, toe
from optimizer.gauging.regret import Outcome, Weighed
from optimizer.models.base import FrozenModel
from optimizer.models.beside_toe import (
    CamberRead,
    CasterSweep,
    RodTurned,
    Sideways,
    Steered,
    TurnToeOut,
)
from optimizer.models.next_reading import (
    Measured,
    Nearer,
    NextReading,
    NextReadings,
    ReadingKind,
)
from optimizer.options.proof import RESOLUTION

TURNS, PITCH_MM = 2.0, 1.5  # a usual thread; common practice, no source
STEER_DEG = 20.0
MOST_RACK_MM = 40.0
AT_HEIGHTS = ("sweep", "sideways", "camber", "three_with_stack")
ENOUGH = 0.97  # of the possible cars; beyond it nothing is worth a minute
CLEARLY = 0.1  # of the possible cars, in which another stack is nearer
LEAST_GAIN = float(np.radians(0.0005))  # of what is lost, per reading
MEASURED_AGAIN = 6  # coordinates and lengths, those that tell most of the toe change
TOGETHER = 4  # coordinates
AS_GOOD = float(np.radians(0.001))  # of what is lost: not worth more heights, nor another stack


class _Reading(Struct, frozen=True, eq=False):
    """A reading that may be taken, as its rows would be, and what it measures again."""

    kind: ReadingKind
    rows: Observation
    spots: tuple[Spot, ...] = ()

    @property
    def minutes_of(self) -> str:
        """Key of its minutes, of one row where it measures points."""
        again = {"point": "point_again", "points": "point_again", "length": "length_again"}
        return again.get(self.kind, self.kind)

    @staticmethod
    def again(*some: Spot, now: Settings) -> "_Reading":
        """Measure spots again."""
        of_one: ReadingKind = "length" if some[0].axis is None else "point"
        return _Reading("points" if len(some) > 1 else of_one, measured(some, now), some)


def next_readings(
    tape: Evaluator,
    fit: FittedPoints,
    *,
    chosen: Settings,
    others: Settings,
    now: Settings,
    noise: float,
    heights: Array,
    mirrored: bool,
    seed: int,
) -> NextReadings:
    """Rank the readings that may be taken next by what the stack chosen after each would lose.

    Parameters
    ----------
    tape : Evaluator
        The case as measured by tape.
    fit : FittedPoints
        What has been read so far made of its points.
    chosen, now : Settings
        What is to be fitted next and what is fitted now, batches of one.
    others : Settings
        What may be fitted instead, the best of any car among it.
    noise : float
        One standard deviation of a toe reading. [rad]
    heights : (T,) float array
        Wheel travels that the gauge is read at. [mm]
    mirrored : bool
        Whether the other wheel is taken for this one's mirror image.
    seed : int
        Of the draw of possible cars.
    """
    weighed = Weighed.of(tape, fit, joined_settings([chosen, others]), heights.size, seed)
    ways = [
        *_now(tape, now, noise, heights, mirrored=mirrored),
        _with_stack(weighed, chosen, noise, heights),
    ]
    ways += _measured_again(weighed, now)
    outcomes = iter(weighed.after([way.rows for some in ways for way in some]))
    found = [_fewest([(way, next(outcomes)) for way in some]) for some in ways]
    return _ranked(tape, weighed, found, chosen)


def _fewest(ways: list[tuple[_Reading, Outcome]]) -> tuple[_Reading, Outcome]:
    """Of ways to take a reading, fewest rows first, the first that loses no more than any."""
    least = min(_loss(one) for _, one in ways)
    return next(way for way in ways if _loss(way[1]) <= least + AS_GOOD)


def _loss(one: Outcome) -> float:
    return float(one.lost.mean())


def _measured_again(weighed: Weighed, now: Settings) -> list[list[_Reading]]:
    """Coordinates and lengths that tell most, each by itself, and the best coordinates together."""
    every = [_Reading.again(spot, now=now) for spot in spots(weighed.tape)]
    if not every:
        return []
    order = np.argsort(-weighed.told([one.rows for one in every]), kind="stable").tolist()
    points = [spot for k in order for spot in every[k].spots if spot.axis is not None][:TOGETHER]
    together = [[_Reading.again(*points, now=now)]] if len(points) > 1 else []
    return [*([every[k]] for k in order[:MEASURED_AGAIN]), *together]


def _with_stack(weighed: Weighed, chosen: Settings, noise: float, heights: Array) -> list[_Reading]:
    """Readings with another stack: the chosen one, or the lowest or highest if clearly better."""
    sets = _sets_of_heights(weighed.tape, heights)
    settings, drops = weighed.settings, weighed.settings.outer_drop
    stacks = [chosen, *(settings.rows(np.array([k])) for k in (drops.argmin(), drops.argmax()))]
    ways = [_toe_with(stack, sets[1], noise) for stack in stacks]
    lost = [_loss(one) for one in weighed.after([way.rows for way in ways])]
    best = int(np.argmin(lost))
    stack = stacks[best] if lost[best] < lost[0] - AS_GOOD else chosen
    return [_toe_with(stack, travel, noise) for travel in sets]


def _toe_with(stack: Settings, travel: Array, noise: float) -> _Reading:
    rows = Observation.of(toe, stack, np.zeros(travel.size), noise, travel=travel)
    return _Reading("three_with_stack", rows)


def _sets_of_heights(tape: Evaluator, heights: Array) -> list[Array]:
    """Heights to read, fewest first: ride height and the farther end, both ends, all of them."""
    ride = tape.case.ride
    farther = ride.bump if ride.bump >= ride.droop else -ride.droop
    return [np.unique([0.0, farther]), np.unique([-ride.droop, 0.0, ride.bump]), heights]


def _now(
    tape: Evaluator, now: Settings, noise: float, heights: Array, *, mirrored: bool
) -> Iterator[list[_Reading]]:
    """Every reading that may be taken with what is fitted, each in the ways it may be taken."""
    none = np.zeros(heights.size)
    yield [_Reading("sweep", Observation.of(toe, now, none, noise, travel=heights))]
    longer = TURNS * PITCH_MM
    known = abs(rate_of_rod(tape, now, longer)) * PITCH_MM * _usual(RodTurned, "turns_noise")
    both = np.array([noise, np.hypot(noise, known)])
    rod = Observation.of(toe, now, np.zeros(2), both, longer=np.array([0.0, longer]))
    yield [_Reading("rod_turned", rod)]
    sets = _sets_of_heights(tape, heights)[1:]
    off = _usual(Sideways, "noise")
    dial = sideways(0.0)
    yield [
        _Reading("sideways", Observation.of(dial, now, 0.0 * one, off, travel=one, length=True))
        for one in sets
    ]
    off = np.radians(_usual(CamberRead, "noise_deg"))
    yield [
        _Reading("camber", Observation.of(camber, now, 0.0 * one, off, travel=one)) for one in sets
    ]
    if tape.case.steering_kind is not None:
        yield from ([one] for one in _steered(tape, now, mirrored=mirrored))


def _steered(tape: Evaluator, now: Settings, *, mirrored: bool) -> Iterator[_Reading]:
    """Readings of a wheel that steers."""
    most = min(tape.case.steering.rack_travel or MOST_RACK_MM, MOST_RACK_MM)
    rack, none = most * np.array([-1.0, -0.5, 0.5, 1.0]), np.zeros(4)
    off = np.radians(_usual(Steered, "noise_deg"))
    yield _Reading("steered", Observation.of(toe, now, none, off, rack=rack))
    if mirrored or tape.corner.on_beam:
        off = np.radians(_usual(TurnToeOut, "noise_deg"))
        yield _Reading("turn_toe_out", turned_out_at(tape, now, rack, none, off))
    held = np.radians([-STEER_DEG, STEER_DEG])
    off = np.radians(_usual(CasterSweep, "noise_deg"))
    yield _Reading("caster_sweep", Observation.of(camber, now, np.zeros(2), off, toe=held))


def _usual(table: type[FrozenModel], key: str) -> float:
    """What a key of a table is where a file leaves it out."""
    return float(table.model_fields[key].default)


def _ranked(
    tape: Evaluator,
    weighed: Weighed,
    found: list[tuple[_Reading, Outcome]],
    chosen: Settings,
) -> NextReadings:
    unread = weighed.unread
    before = _loss(unread)
    minutes = {
        reading: getattr(tape.case.minutes, reading.minutes_of) * max(1, len(reading.spots))
        for reading, _ in found
    }
    worth = {
        reading: (before - _loss(one)) / minutes[reading]
        for reading, one in found
        if before - _loss(one) >= LEAST_GAIN
    }
    done = float(np.mean(unread.lost <= RESOLUTION)) >= ENOUGH
    best = max(worth.items(), key=lambda one: one[1])[0] if worth and not done else None
    ranked = [
        NextReading(
            kind=reading.kind,
            minutes=minutes[reading],
            travel_mm=reading.rows.travel.tolist() if reading.kind in AT_HEIGHTS else [],
            **_to_fit(reading, chosen),
            measured=[Measured(points=list(one.points), axis=one.axis) for one in reading.spots],
            to_mm=TO_MM if reading.spots else None,
            **_figures(one, tape.tolerance),
            worth_it=reading is best,
        )
        for reading, one in sorted(found, key=lambda one: _loss(one[1]))
    ]
    now = _figures(weighed.as_it_is, tape.tolerance)
    return NextReadings(**now, ranked=ranked, nearer=_nearer(tape, weighed))


def _nearer(tape: Evaluator, weighed: Weighed) -> Nearer | None:
    """What is best on average, where that is clearly nearer to the best than what is chosen."""
    best, settings = weighed.best_on_average, weighed.settings
    then, now = (_figures(one, tape.tolerance) for one in (weighed.unread, weighed.as_it_is))
    alike = settings.linkage[best] == settings.linkage[0]
    alike &= settings.forward[best] == settings.forward[0]
    if not alike or then["enough_of_100"] < now["enough_of_100"] + 100.0 * CLEARLY:
        return None
    return Nearer(
        outer_drop_mm=float(settings.outer_drop[best]),
        rack_raise_mm=float(settings.rack_raise[best]) if np.ptp(settings.rack_raise) else None,
        enough_of_100=then["enough_of_100"],
        gain_deg=now["loss_deg"] - then["loss_deg"],
    )


def _figures(one: Outcome, tolerance: float) -> dict[str, float]:
    """What is told of a choice."""
    return {
        "loss_deg": float(np.degrees(_loss(one))),
        "enough_of_100": 100.0 * float(np.mean(one.lost <= RESOLUTION)),
        "peak_mean_deg": float(np.degrees(one.peaks.mean())),
        "meets_of_100": 100.0 * float(np.mean(one.peaks <= tolerance)),
    }


def _to_fit(reading: _Reading, chosen: Settings) -> dict[str, Any]:
    """What is to be fitted for a reading, where that is anything else."""
    stack = reading.rows.fitted
    if reading.kind != "three_with_stack":
        return {}
    return {
        "outer_drop_mm": float(stack.outer_drop[0]),
        "rack_raise_mm": float(stack.rack_raise[0]),
        "is_next": stack is chosen,
    }
