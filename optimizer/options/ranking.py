"""The ranking of options, and the proof that it is right.

Where every setting has a place for itself, the walk of `proof` ranks them.  Otherwise a place is
one kit, or one of what both wheels share: its best option is that of the best of its lots, and a
lot whose estimate can't come below what was found is not looked at.
"""

from collections.abc import Generator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from optimizer.options.dimensions import Lot, Option, OptionSpace, Seat
from optimizer.options.proof import (
    RESOLUTION,
    Walk,
    finished,
    first_fit,
    order_key,
    proof_walk,
    simplest_fits,
    solved_below,
)

Found = TypeVar("Found")
Options = Generator[list[Option], None, Found]


@dataclass(frozen=True)
class Ranking:
    """Options in their order: those that fit, then better ones that don't.

    `best_peak` is the least worse-wheel peak of an option that fits, infinite where none does.
    [rad]
    """

    fitting: list[Option]
    refused: list[Option]
    best_peak: float

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
        proof = yield from _told(proof_walk(space.wheels[0], wanted=shown))
        fitting = [Option((int(row),)) for row in proof.fitting]
        refused = [Option((int(row),)) for row in proof.refused[: max(1, shown // 2)]]
        found = Ranking(fitting, refused, proof.best_peak)
    else:
        found = yield from _ranked_seats(space, shown)
    return _with_as_is(space, found)


def _with_as_is(space: OptionSpace, found: Ranking) -> Ranking:
    """Put leaving the car as it is last of those that fit, or of the others, unless it is there."""
    kept = space.as_is
    if kept in found.fitting or kept in found.refused:
        return found
    of_both = found.fitting if space.fits(kept) else found.refused
    of_both.append(kept)
    return found


@dataclass(frozen=True)
class Best:
    """The best that a place of the ranking has: a row of each wheel of one of its lots."""

    lots: list[Lot]
    option: Option
    peak: float
    fits: bool


def _told(walk: Walk[Found]) -> Options[Found]:
    """Tell of the rows of a single wheel as options."""
    while True:
        try:
            rows = next(walk)
        except StopIteration as end:
            found: Found = end.value
            return found
        yield [Option((row,)) for row in rows.tolist()]


def _driven(walk: Walk[Found]) -> tuple[Found, list[int]]:
    """What a walk finds, and the rows that it has solved."""
    solved: list[int] = []
    while True:
        try:
            solved += next(walk).tolist()
        except StopIteration as end:
            return end.value, solved


def _with_each(rows: Sequence[int], solved: Sequence[list[int]]) -> list[Option]:
    """Options of what was solved for each wheel, the other wheel as in `rows`."""
    return [
        Option((*rows[:k], row, *rows[k + 1 :])) for k, some in enumerate(solved) for row in some
    ]


def _ranked_seats(space: OptionSpace, shown: int) -> Options[Ranking]:
    seats = _seats(space)
    all_shown = any(one.kit is not None for one in space.hardware)
    found: list[Best] = []
    for bound, lots in seats:
        peaks = sorted(best.peak for best in found if best.fits)
        if (
            not all_shown
            and len(peaks) >= shown
            and bound > max(peaks[shown - 1], peaks[0] + RESOLUTION)
        ):
            break
        found.append((yield from best_of(space, lots)))
    best_peak = min((best.peak for best in found if best.fits), default=np.inf)
    limit = best_peak + RESOLUTION
    fitting = [best for best in found if best.fits]
    leading = []
    for best in (best for best in fitting if best.peak <= limit):
        simplest = yield from simplest_of(space, best.lots, limit)
        leading.append(simplest)
    leading.sort(key=lambda option: order_key(space.effort(option), space.peak(option)))
    others = sorted((best for best in fitting if best.peak > limit), key=lambda best: best.peak)
    refused = sorted((best for best in found if not best.fits), key=lambda best: best.peak)
    most = len(found) if all_shown else shown
    return Ranking(
        [*leading, *(best.option for best in others)][:most],
        [best.option for best in refused][: most if all_shown else max(1, shown // 2)],
        float(best_peak),
    )


def _worth_looking(found: list[Best], shown: int) -> float:
    """Peak up to which a place may still be shown, or lead. [rad]."""
    peaks = sorted(best.peak for best in found if best.fits)
    return np.inf if len(peaks) < shown else max(peaks[shown - 1], peaks[0] + RESOLUTION)


def _seats(space: OptionSpace) -> list[tuple[float, list[Lot]]]:
    """Lots by place of the ranking, each with the least peak that it could have, in that order."""
    seats: dict[Seat, list[Lot]] = {}
    for lot in space.lots:
        seats.setdefault(lot.seat, []).append(lot)
    bounds = [min(_bound(space, lot) for lot in lots) for lots in seats.values()]
    return sorted(zip(bounds, seats.values(), strict=True), key=lambda seat: seat[0])


def _bound(space: OptionSpace, lot: Lot) -> float:
    """Least worse-wheel peak that an option of a lot could have. [rad]."""
    return max(
        float(wheel.estimates[1][rows].min(initial=np.inf))
        for wheel, rows in zip(space.wheels, lot.rows, strict=True)
    )


def best_of(space: OptionSpace, lots: list[Lot]) -> Options[Best]:
    """Best option of some lots; where none fits, the one with the least peak."""
    best: Best | None = None
    for lot in sorted(lots, key=lambda one: _bound(space, one)):
        if best is not None and best.fits and _bound(space, lot) > best.peak:
            break
        option, fits = yield from _best_of_lot(space, lot)
        found = Best(lots, option, space.peak(option), fits)
        if best is None or (not found.fits, found.peak) < (not best.fits, best.peak):
            best = found
    assert best is not None
    return best


def _best_of_lot(space: OptionSpace, lot: Lot) -> Options[tuple[Option, bool]]:
    """Simplest of the options with the least worse-wheel peak, and whether it fits."""
    rows, peaks, solved = [], [], []
    for wheel, order in zip(space.wheels, lot.rows, strict=True):
        (peak, refused), looked_at = _driven(first_fit(wheel, order))
        near = order[wheel.peak[order] <= peak] if np.isfinite(peak) else refused
        rows.append(int(near[0] if near.size else order[0]))
        peaks.append(peak)
        solved.append(looked_at)
    yield _with_each(rows, solved)
    if not np.isfinite(peaks).all():
        return Option(tuple(rows)), False
    simplest = yield from _simplest_of_lot(space, lot, max(peaks))
    assert simplest is not None
    return simplest, True


def simplest_of(space: OptionSpace, lots: list[Lot], limit: float) -> Options[Option]:
    """Option of some lots that asks least, of those whose worse wheel peaks within a limit."""
    found: list[Option] = []
    for lot in lots:
        simplest = yield from _simplest_of_lot(space, lot, limit)
        found += [] if simplest is None else [simplest]
    return min(found, key=lambda option: order_key(space.effort(option), space.peak(option)))


def _simplest_of_lot(space: OptionSpace, lot: Lot, limit: float) -> Options[Option | None]:
    """Option that asks least, each wheel's own, of those within a limit; None where none fits."""
    rows, solved = [], []
    for wheel, order in zip(space.wheels, lot.rows, strict=True):
        within, looked_at = _driven(solved_below(wheel, order, limit))
        simplest = simplest_fits(wheel, within, 1)
        if not simplest.size:
            return None
        rows.append(int(simplest[0]))
        solved.append(looked_at)
    yield _with_each(rows, solved)
    return Option(tuple(rows))
