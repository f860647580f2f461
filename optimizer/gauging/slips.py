"""Readings that the measured points can't explain as typed, but could if a slip were undone.

The tape's accuracy says how probable any sweep is before it is taken.  A sweep that is more likely
one with its sign turned round, or doubled, or halved, than as typed asks for a second look; nothing
is corrected.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from msgspec.structs import replace

from optimizer.car.evaluate import Evaluator
from optimizer.gauging.conversions import gauge_of, toe_readings
from optimizer.gauging.fit import foretold_by_tape, misfits_by_shape
from optimizer.gauging.observation import Observation
from optimizer.gauging.swept import Swept
from optimizer.models.questions import Slip, SlipKind
from optimizer.units import MM_PER_INCH, Units

LEAST_NOISE = float(np.radians(0.01))  # so that flexing parts don't pass for slips [rad]
SHAPES = 2  # a slope and a curvature
IMPROBABLE, PROBABLE = 9.0, 4.0  # mean square of the misfit, in standard deviations
SLIPS = 0.02  # share of sweeps with any one of the slips; common practice, no source
RARE = 2.0 * float(np.log(1.0 / SLIPS - 1.0)) / SHAPES  # what a slip must take from the misfit
FAR, SELDOM = 10.0, float(np.log(10.0))  # or that, where it is undone by a factor so large

ALIKE = 2.0  # of the misfit: slips that leave nearly the same can't be told apart

# What undoes each slip, as a factor of toe.
OF_ANY: dict[SlipKind, float] = {
    "turned": -1.0,
    "doubled": 2.0,
    "halved": 0.5,
    "tenfold": 10.0,
    "tenth": 0.1,
}
OF_TRAVEL: dict[SlipKind, float] = {"travel-halved": 2.0, "travel-doubled": 0.5}  # of the slope
OF_ANGLES: dict[SlipKind, float] = {"times-60": 60.0, "by-60": 1.0 / 60.0}
OF_LENGTHS: dict[Units, dict[SlipKind, float]] = {  # by the units of the file
    "mm": {"inches": MM_PER_INCH},
    "in": {"millimeters": 1.0 / MM_PER_INCH},
}
LENGTH_SLIPS: tuple[SlipKind, ...] = ("doubled", "halved")
STANDS = ("dial_distance", "target_ahead", "target_behind", "wall_distance")  # what, and how far
Undone = tuple[SlipKind, str | None, Observation]  # the slip, in which column, the sweep
OTHER_END = {"front": "rear", "rear": "front"}


def slips(evaluator: Evaluator, one: Swept, *, alone: bool) -> Iterator[Slip]:
    """Ask about the slip that best explains a sweep that the points can't, or the few that do.

    Of a sweep that is not `alone` a stack may be mistyped as well, which the others then tell.
    """
    as_typed = _improbability(evaluator, _sweep(one))
    if not as_typed > (SELDOM if alone else IMPROBABLE):
        return
    by_angle = one.readings.kind == "angle"
    factors = OF_ANY | (OF_ANGLES if by_angle else OF_LENGTHS[one.readings.units])
    found: dict[SlipKind, float] = {}
    columns: dict[SlipKind, str | None] = {}
    for kind, column, sweep in [*_undone(one, factors), *_columns_turned(one)]:
        left = _improbability(evaluator, sweep)
        if left < found.get(kind, np.inf):
            found[kind], columns[kind] = left, column
    least = {kind: _least(abs(by)) for kind, by in (factors | OF_TRAVEL).items()}
    likely = [
        kind
        for kind in sorted(found, key=lambda kind: found[kind])
        if found[kind] < PROBABLE and as_typed - found[kind] > least.get(kind, RARE)
    ]
    if likely:
        near = found[likely[0]] + ALIKE
        first, *others = [kind for kind in likely if found[kind] <= near]
        yield Slip(
            sweep=one.readings.name,
            kind=first,
            or_kinds=tuple(others),
            column=next((columns[kind] for kind in (first, *others) if columns[kind]), None),
        )


def _least(factor: float) -> float:
    """What a slip that a factor undoes must take from the misfit, for it to be asked about.

    As typed a sweep would have to be spread wider where the factor is below 1, so that it takes
    more; and hardly any comes out by chance as small as where it is ten or more.
    """
    return SELDOM if factor >= FAR else RARE + 2.0 * float(np.log(max(1.0 / factor, 1.0)))


def _undone(one: Swept, factors: Mapping[SlipKind, float]) -> Iterator[Undone]:
    """The sweep with each slip undone, in each way in which it may have come about."""
    typed = _sweep(one)
    yield "exchanged", None, replace(typed, travel=-typed.travel)
    for kind, factor in OF_TRAVEL.items():
        yield kind, None, replace(typed, travel=typed.travel / factor)
    for kind, factor in factors.items():
        yield kind, None, replace(typed, seen=factor * typed.seen)
    if gauge_of(one.readings).fixed is None:
        return
    # What stands still sees the wheel move sideways too, and not by the same factor.
    lengths = {key: getattr(one.readings, key) for key in STANDS if getattr(one.readings, key)}
    for kind in LENGTH_SLIPS if lengths else ():
        yield kind, None, _sweep(one, {key: far / factors[kind] for key, far in lengths.items()})
    if one.readings.dial_at is not None:
        yield "other-end", None, _sweep(one, {"dial_at": OTHER_END[one.readings.dial_at]})


def _columns_turned(one: Swept) -> Iterator[Undone]:
    """The sweep with the sign of every reading of one dial or spot of two turned round."""
    if one.readings.kind in ("two-dial", "laser") and len(one.readings.columns) == 3:
        for place in (1, 2):
            signs = np.where(np.arange(3) == place, -1.0, 1.0)
            turned = [tuple(signs * row) for row in one.readings.readings]
            yield "column-turned", one.readings.columns[place], _sweep(one, {"readings": turned})


def _sweep(one: Swept, typed: Mapping[str, object] | None = None) -> Observation:
    """The sweep as it would be with other keys than were typed."""
    readings = one.readings.model_copy(update=typed)
    other = replace(one, readings=readings, seen=toe_readings(readings))
    return other.toe_seen().with_noise_above(LEAST_NOISE)


def sides_exchanged(
    left: tuple[Evaluator, Sequence[Swept]], right: tuple[Evaluator, Sequence[Swept]]
) -> bool:
    """Whether the points of each wheel explain the sweeps of the other one, and not its own."""
    typed, exchanged = (
        [_improbability(points, _sweep(sweep)) for points, sweeps in pairs for sweep in sweeps]
        for pairs in ((left, right), ((left[0], right[1]), (right[0], left[1])))
    )
    return max(exchanged) < PROBABLE and sum(typed) - sum(exchanged) > RARE


def _improbability(evaluator: Evaluator, sweep: Observation) -> float:
    """Mean square misfit of a sweep along the shapes of toe curve that points change most.

    In standard deviations of tape and gauge together; infinite where the model can't follow.
    """
    (found,) = misfits_by_shape([sweep], foretold_by_tape(evaluator, [sweep]))
    return float("inf") if found is None else float(np.square(found[0][:SHAPES]).mean())
