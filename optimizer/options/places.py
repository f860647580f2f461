"""The best that a place of the ranking has: one kit, or one of what both wheels share.

Its best option is that of the best of its lots; a lot whose estimate can't come below what was
found is not looked at.  What must be solved is told as it is on the way, see `ranking`.
"""

from collections.abc import Generator
from functools import partial
from itertools import chain, islice
from typing import TypeVar

import numpy as np
from msgspec import Struct

from optimizer.options.dimensions import Lot, Option, OptionSpace
from optimizer.options.proof import FASTER, FEW, finished, first_fit, simplest_fits, solved_below

Found = TypeVar("Found")
Options = Generator[list[Option], None, Found]


class Best(Struct, frozen=True):
    """The best that a place of the ranking has: a row of each wheel of one of its lots."""

    lots: list[Lot]
    option: Option
    peak: float
    fits: bool


def by_effort(space: OptionSpace, option: Option) -> tuple[float, ...]:
    """What decides between options of the leading group, least first."""
    return *space.effort(option).tolist(), space.peak(option)


def bound(space: OptionSpace, lot: Lot) -> float:
    """Least worse-wheel peak that an option of a lot could have. [rad]."""
    return max(
        float(wheel.estimates[1][rows].min(initial=np.inf))
        for wheel, rows in zip(space.wheels, lot.rows, strict=True)
    )


def by_least(space: OptionSpace, lots: list[Lot]) -> list[Lot]:
    """Lots in order of `bound`."""
    return sorted(lots, key=lambda one: bound(space, one))


def best_of(space: OptionSpace, lots: list[Lot]) -> Options[Best]:
    """Best option of some lots; where none fits, see `_by_fit`."""
    best: Best | None = None
    for lot in by_least(space, lots):
        if best is not None and best.fits and bound(space, lot) > best.peak:
            break
        option, fits = yield from _best_of_lot(space, lot)
        found = Best(lots, option, space.peak(option), fits)
        if best is None or _by_fit(space, found) < _by_fit(space, best):
            best = found
    assert best is not None
    return best


def _by_fit(space: OptionSpace, one: Best) -> tuple[bool | float, ...]:
    """What fits first, then what is not seen to break a limit as measured, then the least peak."""
    return not one.fits, not np.isfinite(one.peak), space.breaks(one.option), one.peak


def _best_of_lot(space: OptionSpace, lot: Lot) -> Options[tuple[Option, bool]]:
    """Simplest of the options with the least worse-wheel peak, and whether it fits."""
    before, rows, peaks = solved(space), [], []
    for wheel, order in zip(space.wheels, lot.rows, strict=True):
        peak, refused = finished(first_fit(wheel, order, FEW, FASTER))
        fitting = order[(wheel.peak[order] <= peak) & (wheel.violation[order] == 0.0)]
        rows.append(int(next(chain(fitting, refused, order))))
        peaks.append(peak)
    best = Option(tuple(rows))
    yield told(space, best, before)
    simplest = None
    if np.isfinite(peaks).all():
        simplest = yield from _simplest_of_lot(space, lot, max(peaks))
    return simplest or best, simplest is not None


def simplest_of(space: OptionSpace, lots: list[Lot], limit: float) -> Options[Option]:
    """Option of some lots that asks least, of those whose worse wheel peaks within a limit."""
    found: list[Option] = []
    for lot in lots:
        simplest = yield from _simplest_of_lot(space, lot, limit)
        found += [] if simplest is None else [simplest]
    return min(found, key=partial(by_effort, space))


def _simplest_of_lot(space: OptionSpace, lot: Lot, limit: float) -> Options[Option | None]:
    """Option that asks least, each wheel's own, of those within a limit; None where none fits."""
    before, rows = solved(space), [int(order[0]) for order in lot.rows]
    for k, (wheel, order) in enumerate(zip(space.wheels, lot.rows, strict=True)):
        within = finished(solved_below(wheel, order, limit))
        simplest = simplest_fits(wheel, within, 1)
        if not simplest.size:
            yield told(space, Option(tuple(rows)), before)
            return None
        rows[k] = int(simplest[0])
    option = Option(tuple(rows))
    yield [option, *told(space, option, before)]
    return option


def solved(space: OptionSpace) -> list[int]:
    """How many settings of each wheel are solved so far."""
    return [len(wheel.asked) for wheel in space.wheels]


def told(space: OptionSpace, option: Option, before: list[int]) -> list[Option]:
    """What each wheel has solved since, the other wheel as in an option."""
    rows = option.rows
    return [
        Option((*rows[:k], row, *rows[k + 1 :]))
        for k, (wheel, first) in enumerate(zip(space.wheels, before, strict=True))
        for row in islice(wheel.asked, first, None)
    ]
