"""An answer in a few lines that stand alone: the verdict, and what it rests on."""

from collections.abc import Iterator

from optimizer.models.stops import Tightest
from optimizer.models.suggest import SuggestResult
from optimizer.models.verdict import Verdict
from optimizer.units import Side
from optimizer.wording.chances import ACCURATE, chances, limits_kept_shortly, without_x
from optimizer.wording.check import doubted_in_words
from optimizer.wording.ranking import CANT_BE_JUDGED
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence
from optimizer.wording.steps import alignment_moves, toe_resets

NOW = "Now the car peaks at {peak}."
ALIGNED_NOW = "So aligned, but otherwise as it is, the car peaks at {peak}."
NEXT = "Next: {align}fit it, {reset} Then sweep: `pivotwright sheet {case}` prints what to read."
LEFT_ALONE = "Next: sweep the wheel with a gauge; `pivotwright sheet {case}` prints what to read."
NOTHING_NEXT = "Next: read below what stops each setting; `pivotwright reach {case}` tries heights."


def at_a_glance(
    result: SuggestResult, files: tuple[str, str | None], reader: Reader
) -> Iterator[str]:
    """Say what to fit, its peak now and then, the tightest limit, how sure, and the next step.

    `files` are the paths of the case and, if there are, of the kits.
    """
    aligned = any(wheel.alignment is not None for wheel in result.wheels)
    now = (ALIGNED_NOW if aligned else NOW).format(
        peak=reader.toe_with_unit(result.as_is.peak_toe_change_deg)
    )
    yield f"{sentence(_shorter(result.verdict), reader)} {now}"
    if result.first is not None:
        yield _tightest(result, reader)
        yield _sure(result, reader)
    yield from doubted_in_words(result.doubted, files[0], reader)
    yield _next(result, files, reader)


def _shorter(found: Verdict) -> Verdict:
    """A verdict with the easiest way that would meet the tolerance, or that comes nearest."""
    ways = sorted(found.ways_out, key=lambda way: (not way.meets, bool(way.stops)))
    return found.model_copy(update={"ways_out": ways[:1]})


def _tightest(result: SuggestResult, reader: Reader) -> str:
    """The joint and the gap that come nearest to their limits, of the wheel where they do."""
    wheels = result.ranked[0].wheels
    joints = [(x.tilt_margin_deg, x.side, x.tightest_joint) for x in wheels]
    gaps = [(x.clearance_mm, x.side, x.tightest_gap) for x in wheels]
    told = [
        f"{reader.wheel(side)}{sentence(tight, reader)}"
        for limits in (joints, gaps)
        for _, side, tight in sorted(_stated(limits), key=lambda one: one[0])[:1]
    ]
    return f"Tightest: {'; '.join(told)}." if told else CANT_BE_JUDGED


def _stated(
    limits: list[tuple[float | None, Side, Tightest | None]],
) -> list[tuple[float, Side, Tightest]]:
    return [(left, side, x) for left, side, x in limits if left is not None and x is not None]


def _sure(result: SuggestResult, reader: Reader) -> str:
    """How sure it is, of both wheels together where both were measured."""
    wheel = min(result.wheels, key=lambda one: one.uncertainty.meets_tolerance_probability)
    both = None if result.first is None else result.first.chances
    known = wheel.uncertainty if both is None or not result.wheels[1:] else both
    told = chances(known, result.tolerance_deg, reader)
    sure = f"How sure: {ACCURATE.lower()}, it {told}.{without_x(wheel.uncertainty, reader)}"
    return f"{sure}{limits_kept_shortly(result)}"


def _next(result: SuggestResult, files: tuple[str, str | None], reader: Reader) -> str:
    first, case = result.first, files[0] if files[1] is None else f"{files[0]} --kits {files[1]}"
    if first is None:
        return NOTHING_NEXT.format(case=case)
    if result.ranked_by is not None:
        case = f"{case} --rank-by {result.ranked_by.criterion}"
    if first.is_as_is:
        return LEFT_ALONE.format(case=case)
    reset = " ".join(toe_resets(first, result, reader))
    moves = alignment_moves(result, reader)
    align = f"at ride height {moves}, " if moves else ""
    return NEXT.format(case=case, align=align, reset=reset[0].lower() + reset[1:])
