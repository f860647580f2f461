"""Readings beside toe that the points can't explain as typed, but could if a slip were undone."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.sampled import as_taped
from optimizer.gauging.fit import misfits_by_shape
from optimizer.gauging.observation import Observation
from optimizer.gauging.swept import Swept
from optimizer.models.beside_toe import RodTurned
from optimizer.models.read_beside import BesideSlip, BesideSlipKind, MovedSlip
from optimizer.units import MM_PER_INCH

IMPROBABLE, PROBABLE = 3.0, 2.0  # root mean square of a misfit, in standard deviations
MORE_PROBABLE = 0.5  # of the misfit as typed is all that a slip may leave
SEEN = 1e-3  # of a standard deviation: points that move a reading less don't count
# Threads of tie rods and sleeves, coarse and fine. [mm]; common practice, no source
PITCHES = (1.0, 1.25, 1.5, 1.75, 2.0, *(MM_PER_INCH / n for n in (11, 12, 13, 14, 16, 18, 20, 24)))


def slips_beside_toe(tape: Evaluator, one: Swept) -> Iterator[BesideSlip | MovedSlip]:
    """Ask about each reading that the points can't explain, with the slip that would, if any."""
    side = one.readings.side or tape.case.side
    beside = one.beside(tape)
    typed = _improbabilities(tape, [*beside.values()])
    for (key, seen), as_typed in zip(beside.items(), typed, strict=True):
        if not IMPROBABLE < as_typed < np.inf:
            continue
        turned = _turned(one, key)
        slips = dict(_undone(key, seen, turned))
        found = dict(zip(slips, _improbabilities(tape, [*slips.values()]), strict=True))
        best = min(found, key=lambda slip: found[slip])
        probable = found[best] < min(PROBABLE, MORE_PROBABLE * as_typed)
        kind, pitch = best if probable else ("odd", None)
        foretold = float(seen.span @ seen.foretold(tape, as_taped(tape))[0])
        spans, units = float(seen.span @ seen.seen), one.readings.units
        if seen.length:
            yield MovedSlip(
                key=key,
                kind=kind,
                units=units,
                seen_mm=spans,
                foretold_mm=foretold,
                sigmas=as_typed,
            )
            continue
        yield BesideSlip(
            key=key,
            kind=kind,
            side=side,
            units=units,
            pitch_mm=pitch,
            typed_pitch_mm=None if turned is None or pitch is None else turned.thread_pitch,
            seen_deg=float(np.degrees(abs(spans))),
            foretold_deg=float(np.degrees(abs(foretold))),
            sigmas=as_typed,
        )


def _turned(one: Swept, key: str) -> RodTurned | None:
    """The rod that was turned, where that is what a key names."""
    place = key.removeprefix("rod_turned[").removesuffix("]")
    return one.readings.rod_turned[int(place) - 1] if place != key else None


def _undone(
    key: str, seen: Observation, turned: RodTurned | None
) -> Iterator[tuple[tuple[BesideSlipKind, float | None], Observation]]:
    """Every slip of a kind of reading, undone."""
    back = replace(seen, seen=-seen.seen)
    if turned is None:
        yield ("sign", None), back
        if key == "steered":
            yield ("other-wheel", None), replace(back, rack=-seen.rack)
        return
    yield ("other-way", None), replace(seen, longer=-seen.longer)
    for factor in (2.0, 0.5):
        kind: BesideSlipKind = "doubled" if factor > 1.0 else "halved"
        yield (kind, None), replace(seen, longer=factor * seen.longer)
    if turned.turns is not None:
        for pitch in PITCHES:
            yield ("pitch", pitch), replace(seen, longer=pitch / turned.thread_pitch * seen.longer)


def _improbabilities(tape: Evaluator, observations: Sequence[Observation]) -> list[float]:
    """Root mean square misfit along what the points change, in standard deviations of both.

    Of each; infinite where the model can't follow.
    """
    if not observations:
        return []
    return [
        float("inf") if found is None else _mean_of_seen(*found)
        for found in misfits_by_shape(tape, observations)
    ]


def _mean_of_seen(along: Array, spread: Array) -> float:
    seen = along[spread > SEEN]
    return float(np.sqrt(np.square(seen).mean())) if seen.size else 0.0
