"""How far the ride height may go while one setting stays within what is wanted."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.answers.wheel_reach import SoundWheel
from optimizer.car.settings import Rows
from optimizer.models.reach import SweetSpot


def sweet_spots(
    wheels: Sequence[SoundWheel], lots: Rows, reachable: NDArray[np.bool_], lowered_by: Array
) -> list[SweetSpot | None]:
    """The widest run of ride heights that one setting of each kit serves.

    Parameters
    ----------
    wheels : sequence of SoundWheel
        All wheels of the car.
    lots, reachable : (K, L) array
        Lot of each of K kits that is best for the car at each of L heights, and whether that meets
        what is wanted.  Only what is best at one of the heights is tried at the others.
    lowered_by : (L,) float array
        The heights. [mm]

    Returns
    -------
    list of SweetSpot or None
        One a kit, None where it meets no height.
    """
    order = np.argsort(lowered_by)
    numbers = np.array([wheel.settings_of(lots) for wheel in wheels])
    found = []
    for kit in range(len(lots)):
        tried = np.unique(numbers[:, kit, reachable[kit]], axis=1).T
        runs = [run for one in tried for run in _runs(wheels, kit, one, order)]
        widest = max(runs, default=None, key=lambda run: (np.ptp(lowered_by[run[1]]), -run[2]))
        found.append(None if widest is None else _told(wheels, kit, widest, lowered_by))
    return found


_Run = tuple[Rows, Rows, float]  # a setting a wheel, places of heights in a row, largest peak


def _runs(wheels: Sequence[SoundWheel], kit: int, setting: Rows, order: Rows) -> Iterator[_Run]:
    """Runs of heights over which a setting, one number a wheel, meets all that is asked."""
    peak = np.max(
        [wheel.at.peaks(number) for wheel, number in zip(wheels, setting, strict=True)], axis=0
    )
    good = np.isfinite(peak)
    for wheel, number in zip(wheels, setting, strict=True):
        good &= wheel.at.meets(np.full((1, peak.size), number), peak[None])[0]
        places = np.flatnonzero(good)
        good[places] = wheel.at.keeps_limits(kit, places, number)
    edges = np.flatnonzero(np.diff(good[order], prepend=False, append=False))
    for first, end in edges.reshape(-1, 2).tolist():
        run = order[first:end]
        yield setting, run, float(peak[run].max())


def _told(wheels: Sequence[SoundWheel], kit: int, run: _Run, lowered_by: Array) -> SweetSpot:
    setting, places, peak = run
    pairs = zip(wheels, setting, strict=True)
    return SweetSpot(
        highest_mm=float(lowered_by[places].min()),
        lowest_mm=float(lowered_by[places].max()),
        peak_toe_change_deg=float(np.degrees(peak)),
        wheels=[wheel.fitted_as(kit, number) for wheel, number in pairs],
    )
