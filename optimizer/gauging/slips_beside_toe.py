"""Readings beside toe that the points can't explain as typed, but could if a slip were undone."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.gauging.beside_toe import sign_as_typed
from optimizer.gauging.fit import Foretold, foretold_by_tape, misfits_by_shape, weighed
from optimizer.gauging.observation import Observation
from optimizer.gauging.swept import Swept
from optimizer.models.beside_toe import RodTurned
from optimizer.models.read_beside import BesideSlip, BesideSlipKind, MovedSlip
from optimizer.units import MM_PER_INCH

IMPROBABLE, PROBABLE = 3.0, 2.0  # root mean square of a misfit, in standard deviations
MORE_PROBABLE = 0.5  # of the misfit as typed is all that a slip may leave
SEEN = 1e-3  # of a standard deviation: points that move a reading less don't count
FEWEST_ROWS = 4  # of which one can be told to stand apart
# Threads of tie rods and sleeves, coarse and fine. [mm]; common practice, no source
PITCHES = (1.0, 1.25, 1.5, 1.75, 2.0, *(MM_PER_INCH / n for n in (11, 12, 13, 14, 16, 18, 20, 24)))


class _Slip(NamedTuple):
    """A slip, with the pitch or the row that it is about."""

    kind: BesideSlipKind
    pitch: float | None = None
    row: int | None = None


def slips_beside_toe(tape: Evaluator, one: Swept) -> Iterator[BesideSlip | MovedSlip]:
    """Ask about each reading that the points can't explain, with the slip that would, if any."""
    for key, seen in one.beside(tape).items():
        (as_typed,) = _improbabilities([seen], [one.by_tape[key]])
        if IMPROBABLE < as_typed < np.inf:
            slips = dict(_undone(one, key, seen))
            undone = [*slips.values()]
            told = _improbabilities(undone, foretold_by_tape(tape, undone))
            found = dict(zip(slips, told, strict=True))
            best = min(found, key=lambda slip: found[slip])
            probable = found[best] < min(PROBABLE, MORE_PROBABLE * as_typed)
            slip = best if probable else _Slip("odd")
            yield _asked(tape, one, key, seen, slip, as_typed)


def _asked(
    tape: Evaluator, one: Swept, key: str, seen: Observation, slip: _Slip, sigmas: float
) -> BesideSlip | MovedSlip:
    """What is asked about a reading, as far from the points as so many standard deviations."""
    foretold = float(seen.span @ one.by_tape[key][0])
    spans, units = float(seen.span @ seen.seen), one.readings.units
    if seen.length:
        return MovedSlip(
            key=key,
            kind=slip.kind,
            units=units,
            row=slip.row,
            seen_mm=spans,
            foretold_mm=foretold,
            sigmas=sigmas,
        )
    side, turned = one.readings.side or tape.case.side, _turned(one, key)
    sign = sign_as_typed(key, side)
    return BesideSlip(
        key=key,
        kind=slip.kind,
        side=side,
        units=units,
        row=slip.row,
        pitch_mm=slip.pitch,
        typed_pitch_mm=None if turned is None or slip.pitch is None else turned.thread_pitch,
        seen_deg=sign * float(np.degrees(spans)),
        foretold_deg=sign * float(np.degrees(foretold)),
        sigmas=sigmas,
    )


def _turned(one: Swept, key: str) -> RodTurned | None:
    """The rod that was turned, where that is what a key names."""
    place = key.removeprefix("rod_turned[").removesuffix("]")
    return one.readings.rod_turned[int(place) - 1] if place != key else None


def _undone(one: Swept, key: str, seen: Observation) -> Iterator[tuple[_Slip, Observation]]:
    """Every slip of a kind of reading, undone."""
    turned = _turned(one, key)
    if turned is not None:
        yield from _turned_undone(turned, seen)
        return
    back = replace(seen, seen=-seen.seen)
    yield _Slip("sign"), back
    if key in ("camber", "sideways"):
        yield _Slip("exchanged"), replace(seen, travel=-seen.travel)
    if key == "camber":
        yield _Slip("by-60"), replace(seen, seen=seen.seen / 60.0)
    if key == "sideways" and one.readings.units == "mm":
        yield _Slip("inches"), replace(seen, seen=MM_PER_INCH * seen.seen)
    elif key == "sideways":
        yield _Slip("millimeters"), replace(seen, seen=seen.seen / MM_PER_INCH)
    if key == "steered":
        yield _Slip("other-wheel"), replace(back, rack=-seen.rack)
    rows = one.typed_rows(key)
    if len(rows) >= FEWEST_ROWS:
        worst = _worst_row(seen, one.by_tape[key])
        others = np.arange(seen.seen.size) != worst
        yield _Slip("row", row=rows[worst]), seen.of_rows(others)


def _turned_undone(turned: RodTurned, seen: Observation) -> Iterator[tuple[_Slip, Observation]]:
    """Every slip of a rod that was turned, undone."""
    yield _Slip("other-way"), replace(seen, longer=-seen.longer)
    yield _Slip("doubled"), replace(seen, longer=2.0 * seen.longer)
    yield _Slip("halved"), replace(seen, longer=0.5 * seen.longer)
    if turned.turns is not None:
        for pitch in PITCHES:
            longer = pitch / turned.thread_pitch * seen.longer
            yield _Slip("pitch", pitch), replace(seen, longer=longer)


def _worst_row(seen: Observation, told: Foretold) -> int:
    """Place of the row that the points explain least, however they move within their tape."""
    rates, misfit = weighed([seen], [told])
    errors = np.linalg.solve(rates.T @ rates + np.eye(rates.shape[1]), rates.T @ misfit)
    return int(np.argmax(np.abs(misfit - rates @ errors)))


def _improbabilities(observations: Sequence[Observation], told: Sequence[Foretold]) -> list[float]:
    """Root mean square misfit along what the points change, in standard deviations of both.

    Of each; infinite where the model can't follow, or no point changes what was read.
    """
    return [
        float("inf") if found is None else _mean_of_seen(*found)
        for found in misfits_by_shape(observations, told)
    ]


def _mean_of_seen(along: Array, spread: Array) -> float:
    seen = along[spread > SEEN]
    return float(np.sqrt(np.square(seen).mean())) if seen.size else float("inf")
