"""Whether a stack is as typed: another one that explains the sweeps, weighed against the tape.

Sweeps that the points explain only by moving far are of points that the tape has missed, of one
coordinate that is altogether wrong, of a stack that was typed for another, or of a rack that was
moved the other way.  All are weighed as probabilities, by the accuracy of the tape and by how
seldom a number is mistyped; nothing is corrected.  Beside them stands a gauge that was read as
twice or half of what it is: a sweep so read may ask for another stack of the one beside it.
"""

from collections.abc import Sequence
from itertools import chain

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from geometry.vectors import Array
from optimizer.car.evaluate import Evaluator
from optimizer.car.tape import moved_by, tape_root
from optimizer.gauging.fit import FittedPoints, fitted_points, foreseen_points, linearized
from optimizer.gauging.observation import Observation
from optimizer.gauging.slips import LEAST_NOISE, OF_ANY
from optimizer.gauging.swept import Swept
from optimizer.models.questions import OtherStack, Slip, SlipKind, StackDoubt

MISTYPED = 0.05  # share of stacks that are typed for another; common practice, no source
WRONG_SIGN = 0.02  # share of stacks and rack heights that are typed up for down; the same
BLUNDERS = 0.005  # share of coordinates that are; the same
WIDEST_MM = 25.0  # either way, alike likely: what a mistyped length may be instead
NOT_BUILT = 0.1  # how much less likely a stack is that the case's hardware does not reach
LEAST_TOLD = 1e-9  # of what is known of a coordinate, that readings may tell
BARE = 0.2  # and one typed as none: whether anything is fitted, the eye tells
CERTAIN = 30.0  # the logarithm of odds that no one would ask to be told more exactly
HOPELESS = -100.0  # and of a gain, to first order, of which no one need know more
PROBABLE = 0.5
LEAST_GAIN = 4.0  # of the logarithm of a probability, for another stack to be looked at
ROUNDS = 3  # the worth of a stack changes with its height
NUDGE_MM = 0.1
NEAR = 2.0  # standard deviations, for what the hardware builds to be meant by what it does not
SAME_SIZE_MM = 0.6  # a stack that the hardware builds is meant, if it is so near
# What may have been typed with the wrong sign.
TURNED: dict[str, StackDoubt] = {"outer_drop": "stack-sign", "rack_raise": "rack-sign"}
SCALED: tuple[SlipKind, ...] = ("doubled", "halved")
WRONG_SCALE = 0.01  # share of sweeps that are read as half or twice of what they are; the same
MOST_SWEEPS = 4  # the last ones; an older sweep was looked at with those before it


class _Other(Struct, frozen=True):
    """What one sweep may have been typed wrongly of, and the logarithm of its odds.

    `length` is what it would be instead, known to `sigma`, 0 where only its sign is in doubt, or no
    length at all but the gauge. [mm]
    """

    place: int
    of: StackDoubt | SlipKind
    length: float
    sigma: float
    log_odds: float


def other_stack(
    tape: Evaluator, sweeps: Sequence[Swept], heights: Sequence[float], near: FittedPoints
) -> OtherStack | Slip | None:
    """Name the stack that explains the sweeps of a wheel better than the one that was typed.

    Or the sweep whose gauge shows half or twice the toe, beside another one.

    Parameters
    ----------
    tape : Evaluator
        The case as measured by tape.
    sweeps : sequence of Swept
        All of one wheel.
    heights : sequence of float
        Stacks that the case's hardware builds. [mm]
    near : FittedPoints
        What the readings made of the points, to begin with.

    Returns
    -------
    OtherStack, Slip or None
        None where what was typed is more probable than any other stack.
    """
    recent = sweeps[-MOST_SWEEPS:]
    typed = [[one.toe_seen().with_noise_above(LEAST_NOISE)] for one in recent]
    fit = fitted_points(tape, [*chain(*typed)], near)
    places = range(len(typed))
    found = [_better(tape, typed, place, fit, heights) for place in places]
    found += [_turned(tape, typed, place, fit, key, heights) for place in places for key in TURNED]
    if len(recent) > 1:
        found += [_scaled(tape, typed, place, fit, kind) for place in places for kind in SCALED]
    others = [one for one in found if one is not None]
    odds = float(np.exp([min(one.log_odds, CERTAIN) for one in others]).sum())
    probability = odds / (1.0 + odds + _odds_of_a_blunder(tape, fit))
    if probability < PROBABLE:
        return None
    best = max(others, key=lambda one: one.log_odds)
    said = recent[best.place].readings
    if best.of in ("doubled", "halved"):
        return Slip(sweep=said.name, kind=best.of, beside_others=True)
    return OtherStack(
        of=best.of,
        sweep=said.name,
        units=said.units,
        typed_mm=said.fitted_raise if best.of == "rack-sign" else said.fitted_drop,
        explains_mm=_buildable(best.length, heights) if best.of == "stack" else best.length,
        give_or_take_mm=best.sigma,
        probability=probability,
        tape_sigmas=float(moved_by(tape_root(tape.case, tape.corner), fit.errors.ravel())[1].max()),
    )


def _better(
    tape: Evaluator,
    typed: list[list[Observation]],
    place: int,
    fit: FittedPoints,
    heights: Sequence[float],
) -> _Other | None:
    """Look for a stack that makes the sweep at a place more probable."""
    change, sigma, gain = _change_asked_for(tape, typed, place, fit)
    if not gain > LEAST_GAIN:
        return None
    own = drop = _drop_of(typed[place])
    low, high = own - WIDEST_MM, own + WIDEST_MM
    if _less_likely(own, heights):  # whatever the hardware builds is nearer to what was meant
        low, high = min(low, min(heights) - WIDEST_MM), max(high, max(heights) + WIDEST_MM)
    sweeps, other = [*typed], fit
    for _ in range(ROUNDS):
        drop += float(np.clip(change, low - drop, high - drop))
        sweeps[place] = _with_drop(typed[place], drop)
        other = _fit(tape, sweeps)
        change, sigma, _ = _change_asked_for(tape, sweeps, place, other)
    built = float(np.clip(drop, min(heights), max(heights)))
    if built != drop and abs(built - drop) <= NEAR * sigma:
        drop, sweeps[place] = built, _with_drop(typed[place], built)
        other = _fit(tape, sweeps)
    if not np.isfinite(sigma) or not low < drop < high:  # nothing that is likely is it
        return None
    room = np.sqrt(2.0 * np.pi) * sigma / (high - low)
    log_odds = np.log(MISTYPED / (1.0 - MISTYPED) * room) + _evidence(other) - _evidence(fit)
    if own == 0.0:
        log_odds += np.log(BARE)
    log_odds += _less_likely(drop, heights) - _less_likely(own, heights)
    return _Other(place, "stack", drop, sigma, float(log_odds))


def _less_likely(drop: float, heights: Sequence[float]) -> float:
    """Logarithm of how much less likely a stack is for the hardware not to reach it."""
    return 0.0 if within_reach(drop, heights) else float(np.log(NOT_BUILT))


def within_reach(length: float, listed: Sequence[float]) -> bool:
    """Whether a length lies among those that are listed, or so near that one is meant. [mm]."""
    return min(listed) - SAME_SIZE_MM <= length <= max(listed) + SAME_SIZE_MM


def _turned(
    tape: Evaluator,
    typed: list[list[Observation]],
    place: int,
    fit: FittedPoints,
    key: str,
    heights: Sequence[float],
) -> _Other | None:
    """Weigh the sweep at a place as one with what was moved the other way, where it was moved."""
    fitted = typed[place][0].fitted
    (own,) = getattr(fitted, key)
    if not own or (key == "outer_drop" and _less_likely(-own, heights)):
        return None
    sweeps, turned = [*typed], replace(fitted, **{key: np.array([-own])})
    sweeps[place] = [replace(one, fitted=turned) for one in typed[place]]
    odds = np.log(WRONG_SIGN / (1.0 - WRONG_SIGN))
    if key == "outer_drop":
        odds -= _less_likely(own, heights)
    gain = _gain(tape, sweeps, fit)
    return _Other(place, TURNED[key], -float(own), 0.0, float(odds + gain))


def _scaled(
    tape: Evaluator,
    typed: list[list[Observation]],
    place: int,
    fit: FittedPoints,
    kind: SlipKind,
) -> _Other:
    """Weigh the sweep at a place as one whose gauge shows half, or twice, of the toe there is."""
    factor, sweeps = OF_ANY[kind], [*typed]
    sweeps[place] = [replace(one, seen=factor * one.seen) for one in typed[place]]
    odds = np.log(WRONG_SCALE / (1.0 - WRONG_SCALE))
    # What was read was spread wider than the toe there is: each row was that much less likely.
    odds += min(0.0, np.log(factor)) * sum(one.seen.size for one in typed[place])
    gain = _gain(tape, sweeps, fit)
    return _Other(place, kind, 0.0, 0.0, float(odds + gain))


def _gain(tape: Evaluator, sweeps: list[list[Observation]], fit: FittedPoints) -> float:
    """How much more evidence the sweeps have if changed than they had as typed.

    Sweeps that are explained as typed leave little to gain: only of them the first order is enough.
    """
    missed = 0.5 * float((fit.residuals**2).sum() + (fit.errors**2).sum())
    if missed < fit.residuals.size:
        foreseen = _evidence(foreseen_points(tape, [*chain(*sweeps)], fit)) - _evidence(fit)
        if foreseen < HOPELESS:
            return foreseen
    return _evidence(_fit(tape, sweeps)) - _evidence(fit)


def _change_asked_for(
    tape: Evaluator, sweeps: list[list[Observation]], place: int, fit: FittedPoints
) -> tuple[float, float, float]:
    """Change of a sweep's stack that the readings ask for, its sigma, and what it gains.

    To first order, the points free to move within their tape. [mm, mm, logarithm of probability]
    """
    errors = fit.errors.ravel()
    rates, misfit = linearized(tape, [*chain(*sweeps)], errors)
    nudged = [*sweeps]
    nudged[place] = _with_drop(sweeps[place], _drop_of(sweeps[place]) + NUDGE_MM)
    by_drop = (linearized(tape, [*chain(*nudged)], errors)[1] - misfit) / NUDGE_MM
    # What the tape leaves open counts as noise of the readings: what errors of the points, each as
    # improbable as it is large, can't take from the change.  A sum of squares keeps its sign.
    size = errors.size
    as_tape = np.linalg.lstsq(
        np.vstack([rates, np.eye(size)]), np.append(by_drop, np.zeros(size)), rcond=None
    )[0]
    weighed = by_drop - rates @ as_tape
    precision = float(weighed @ weighed + as_tape @ as_tape)
    if not precision > 0.0:
        return 0.0, float("inf"), 0.0
    change = -float(weighed @ (misfit + rates @ errors)) / precision
    return change, precision**-0.5, 0.5 * change**2 * precision


def _odds_of_a_blunder(tape: Evaluator, fit: FittedPoints) -> float:
    """How likely one coordinate is altogether wrong, against points as accurate as stated.

    By the first order: what it gains not to hold a coordinate to its tape.
    """
    root = tape_root(tape.case, tape.corner)
    per_mm = np.linalg.pinv(root)[:, root.any(axis=1)]  # errors that a millimeter of each would be
    told = np.maximum(  # what the readings tell of each
        (per_mm * (per_mm - fit.covariance @ per_mm)).sum(axis=0),
        LEAST_TOLD * (per_mm**2).sum(axis=0),
    )
    room = np.minimum(np.sqrt(2.0 * np.pi / told) / (2.0 * WIDEST_MM), 1.0)
    gain = np.minimum(0.5 * (fit.errors.ravel() @ per_mm) ** 2 / told, CERTAIN)
    return float((BLUNDERS * room * np.exp(gain)).sum())


def _evidence(fit: FittedPoints) -> float:
    """Logarithm of how probable the sweeps are, whatever the points, up to a constant."""
    left: Array = np.concatenate([fit.errors.ravel(), fit.residuals])
    return float(-0.5 * left @ left + 0.5 * np.linalg.slogdet(fit.covariance)[1])


def _fit(tape: Evaluator, sweeps: list[list[Observation]]) -> FittedPoints:
    return fitted_points(tape, [*chain(*sweeps)])


def _drop_of(sweep: list[Observation]) -> float:
    return float(sweep[0].fitted.outer_drop[0])


def _with_drop(sweep: list[Observation], drop: float) -> list[Observation]:
    """All that was seen in a sweep, as of another stack."""
    fitted = replace(sweep[0].fitted, outer_drop=np.array([drop]))
    return [replace(one, fitted=fitted) for one in sweep]


def _buildable(drop: float, heights: Sequence[float]) -> float:
    """The stack that the hardware builds, where one is as good as meant. [mm]."""
    nearest = min(heights, key=lambda height: abs(height - drop))
    return nearest if abs(nearest - drop) <= SAME_SIZE_MM else round(drop, 1)
