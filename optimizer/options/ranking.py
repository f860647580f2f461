"""The ranking of options, and the proof that it is right.

Where every setting has a place for itself, the walk of `proof` ranks them.  Otherwise a place is
one kit, or one of what both wheels share: its best option is that of the best of its lots, and a
lot whose estimate can't come below what was found is not looked at.
"""

from collections.abc import Callable
from functools import partial

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from optimizer.car.settings import Rows
from optimizer.options.ahead import first_fits_ahead, least_work_ahead, simplest_ahead
from optimizer.options.candidates import WORK, Candidates
from optimizer.options.dimensions import Lot, Option, OptionSpace, Seat
from optimizer.options.places import (
    Best,
    Found,
    Options,
    best_of,
    bound,
    by_effort,
    by_least,
    simplest_of,
    solved,
    told,
)
from optimizer.options.proof import (
    RESOLUTION,
    Walk,
    finished,
    least_work_fit,
    proof_walk,
    solved_below,
)

ROUNDED = 12  # decimals of a peak in radians; two solves of one setting agree so far


class Ranking(Struct, frozen=True):
    """Options in their order: those that fit, then better ones that don't.

    Of those that don't, where possible cars rank, what keeps every limit as measured comes first.
    The first of those that fit asks least work of what is good enough (`OptionSpace.good_enough`);
    after it come the others of the leading group in order of effort, then the rest by peak.
    `best_peak` is the least worse-wheel peak of an option that fits, infinite where none does;
    `spread` the tape's where that let work decide, None elsewhere. [rad]
    """

    fitting: list[Option]
    refused: list[Option]
    best_peak: float
    spread: float | None = None

    @property
    def limit(self) -> float:
        """Peak up to which options are of the leading group. [rad]."""
        return self.best_peak + RESOLUTION


def ranked(space: OptionSpace, shown: int) -> Ranking:
    """Rank a space, see `ranking_walk`."""
    return finished(ranking_walk(space, shown))


def ranking_walk(space: OptionSpace, shown: int) -> Options[Ranking]:
    """Rank a space, and prove that nothing better was left out.

    A generator of the options that it has solved.

    Parameters
    ----------
    space : OptionSpace
        What is found out about its settings is kept there.
    shown : int
        How many options that fit to name, and half as many that don't; of kits all.

    Returns
    -------
    Ranking
        Leaving the car as it is is always among them.
    """
    if space.by_setting:
        proof = yield from _as_options(proof_walk(space.wheels[0], wanted=shown))
        fitting = [Option((int(row),)) for row in proof.fitting]
        refused = [Option((int(row),)) for row in proof.refused[: max(1, shown // 2)]]
        found = Ranking(fitting, refused, proof.best_peak)
    else:
        found = yield from _ranked_seats(space, shown)
    if found.fitting:
        found = yield from _least_work_first(space, found, shown)
    return _with_as_is(space, found)


def _least_work_first(space: OptionSpace, found: Ranking, shown: int) -> Options[Ranking]:
    """Put what asks least work of everything that is good enough before what leads by its peak."""
    limit, first = space.good_enough(found.best_peak), found.fitting[0]
    simplest = yield from _least_work(space, limit)
    if simplest == first or (
        _work(space, simplest) == _work(space, first) and space.peak(first) <= limit
    ):
        return found
    others = [
        option
        for option in found.fitting
        if option != simplest
        and not (
            space.with_kits and space.hardware_of(option).kit == space.hardware_of(simplest).kit
        )
    ]
    kept = [simplest, *others][: max(shown, len(found.fitting))]
    by_tape = space.peak(simplest) > found.limit
    return replace(found, fitting=kept, spread=space.tape_spread if by_tape else None)


def _least_work(space: OptionSpace, limit: float) -> Options[Option]:
    """Option with the least work whose worse wheel peaks within a limit, each wheel's own.

    Of those with the same work the best, as far as a gauge tells, and of these the simplest.
    """
    options = []
    if space.with_kits:
        _look_ahead(space, space.lots, partial(least_work_ahead, limit=limit))
    for lot in space.lots:
        before, rows, fits = solved(space), [int(order[0]) for order in lot.rows], True
        for k, (wheel, order) in enumerate(zip(space.wheels, lot.rows, strict=True)):
            for row in least_work_fit(wheel, finished(solved_below(wheel, order, limit))):
                rows[k] = int(row)
                break
            else:
                fits = False
        option = Option(tuple(rows))
        yield told(space, option, before)
        options += [option] if fits else []
    least = min(_work(space, option) for option in options)
    options = [option for option in options if _work(space, option) == least]
    near = min(space.peak(option) for option in options) + RESOLUTION
    simplest = min(
        (option for option in options if space.peak(option) <= near),
        key=partial(by_effort, space),
    )
    yield [simplest]
    return simplest


def _work(space: OptionSpace, option: Option) -> list[float]:
    """Keys of effort down to work."""
    keys: list[float] = space.effort(option)[: WORK + 1].tolist()
    return keys


def _with_as_is(space: OptionSpace, found: Ranking) -> Ranking:
    """Put leaving the car as it is last of those that fit, or of the others, unless it is there."""
    kept = space.as_is
    if kept in found.fitting or kept in found.refused:
        return found
    of_both = found.fitting if space.fits(kept) else found.refused
    of_both.append(kept)
    return found


def _as_options(walk: Walk[Found]) -> Options[Found]:
    """Walk over the rows of the only wheel."""
    while True:
        try:
            rows = next(walk)
        except StopIteration as end:
            found: Found = end.value
            return found
        yield [Option((row,)) for row in rows.tolist()]


def _ranked_seats(space: OptionSpace, shown: int) -> Options[Ranking]:
    seats = _seats(space)
    if space.with_kits:
        shown = 2 * len(seats)  # all of them, and of those that don't fit too
        _look_ahead(space, [by_least(space, lots)[0] for _, lots in seats], first_fits_ahead)
    found: list[Best] = []
    for least, lots in seats:
        if least > _worth_looking(found, shown):
            break
        found.append((yield from best_of(space, lots)))
    fitting = [best for best in found if best.fits]
    best_peak = min((best.peak for best in fitting), default=np.inf)
    limit = best_peak + RESOLUTION
    leading = []
    near = [best for best in fitting if best.peak <= limit]
    if space.with_kits:
        lots = [lot for best in near for lot in best.lots]
        _look_ahead(space, lots, partial(simplest_ahead, limit=limit))
    for best in near:
        simplest = yield from simplest_of(space, best.lots, limit)
        leading.append(simplest)
    leading.sort(key=partial(by_effort, space))
    others, refused = (
        sorted((best.option for best in some), key=partial(_by_peak, space))
        for some in (
            (best for best in fitting if best.peak > limit),
            (best for best in found if not best.fits and np.isfinite(best.peak)),
        )
    )
    refused.sort(key=space.breaks)
    return Ranking([*leading, *others][:shown], refused[: max(1, shown // 2)], float(best_peak))


def _worth_looking(found: list[Best], shown: int) -> float:
    """Peak up to which a place may still be shown, or lead. [rad]."""
    peaks = sorted(best.peak for best in found if best.fits)
    return np.inf if len(peaks) < shown else max(peaks[shown - 1], peaks[0] + RESOLUTION)


def _by_peak(space: OptionSpace, option: Option) -> tuple[float, ...]:
    """What decides between the others; equal peaks are so but for rounding."""
    return round(space.peak(option), ROUNDED), *space.effort(option).tolist()


def _seats(space: OptionSpace) -> list[tuple[float, list[Lot]]]:
    """Lots by place of the ranking, each with the least peak that it could have, in that order."""
    seats: dict[Seat, list[Lot]] = {}
    for lot in space.lots:
        seats.setdefault(lot.seat, []).append(lot)
    bounds = [min(bound(space, lot) for lot in lots) for lots in seats.values()]
    return sorted(zip(bounds, seats.values(), strict=True), key=lambda seat: seat[0])


def _look_ahead(
    space: OptionSpace, lots: list[Lot], ahead: Callable[[Candidates, list[Rows]], list[bool]]
) -> None:
    """Find in one batch what the walks over lots will ask for; only where all will be walked."""
    for k, wheel in enumerate(space.wheels):
        if lots:
            going = ahead(wheel, [lot.rows[k] for lot in lots])
            lots = [lot for lot, on in zip(lots, going, strict=True) if on]
