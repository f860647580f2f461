"""Which ride heights can be met, by which kit, and what stops the others."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array
from optimizer.answers.causes import blocked_by, short_by
from optimizer.answers.check import doubted
from optimizer.answers.options import SHARED
from optimizer.answers.sweet_spots import sweet_spots
from optimizer.answers.wheel_reach import LostWheel, SoundWheel
from optimizer.car.alignment import AlignmentError
from optimizer.car.ride_heights import case_at
from optimizer.car.settings import Rows
from optimizer.car.subject import linkage_now, subject_of
from optimizer.errors import PivotwrightError
from optimizer.limits.cautions import cautions_of_choices
from optimizer.models.case import Case
from optimizer.models.cautions import Caution
from optimizer.models.kits import Kit
from optimizer.models.reach import (
    KitReach,
    NotAligned,
    NothingShared,
    ReachResult,
    ReachRow,
    SweetSpot,
    WheelReach,
    WheelStop,
)
from optimizer.models.setting import Fitted
from optimizer.models.vehicle import Vehicle
from optimizer.options.dimensions import by_shared, wheel_space
from optimizer.options.hardware import Hardware, alternatives
from optimizer.options.heights import least_lots

OWN_HARDWARE = "own hardware"
OF_PARTS = set(Fitted.model_fields)

Alternatives = list[Hardware] | NotAligned


def reach(
    vehicle: Vehicle,
    lowered_by: Sequence[float],
    kits: Sequence[Kit] = (),
    *,
    currency: str | None = None,
    in_depth: bool = True,
) -> ReachResult:
    """Find the best peak of every kit at every ride height, and what stops those that miss.

    Parameters
    ----------
    vehicle : Vehicle
        The car; its own stack or shelf is the one kit where `kits` is empty.  An alignment that it
        asks for is set anew at each height.
    lowered_by : sequence of float
        How much lower than measured the chassis is to sit, each height once. [mm]
    kits : sequence of Kit
        Each takes the place of the stack or shelf of every wheel, and of what else it states.
    currency : str, optional
        That of the kits' prices, passed on.
    in_depth : bool
        Whether to seek as well how far one setting serves, what would cure a curve that no stack
        cures, and what looks doubtful in the case.

    Returns
    -------
    ReachResult
        One row per height and kit, heights in the order given, kits in theirs within each.

    Raises
    ------
    PivotwrightError
        There is no height, or one is no number.
    """
    if not len(lowered_by) or not np.isfinite(lowered_by).all():
        raise PivotwrightError(f"lowered_by: must hold one number or more, got {[*lowered_by]}")
    aligned = any(case.alignment is not None for case in vehicle.wheels)
    at_once = [[height] for height in lowered_by] if aligned else [[*lowered_by]]
    found = [_rows(vehicle, heights, kits, in_depth=in_depth) for heights in at_once]
    rows = [row for of_heights, _ in found for row in of_heights]
    spots = found[0][1] if len(found) == 1 else [None] * max(1, len(kits))
    return ReachResult(
        subject=subject_of(vehicle),
        tolerance_deg=vehicle.case.aim.tolerance_deg,
        has_band=any(case.aim.band is not None for case in vehicle.wheels),
        currency=currency,
        kits=[_summary(kit, spot, rows) for kit, spot in zip(kits or (None,), spots, strict=True)],
        heights=rows,
        doubted=doubted(vehicle) if in_depth else None,
        cautions=_cautions(vehicle, rows, kits),
    )


def _cautions(vehicle: Vehicle, rows: list[ReachRow], kits: Sequence[Kit]) -> list[Caution]:
    """What changing a part calls for, wherever a height is met by doing so."""
    met = [wheel for row in rows if row.reachable for wheel in row.wheels]
    told = [wheel.model_dump(include=OF_PARTS, exclude_none=True) for wheel in met]
    fitted = [Fitted.model_validate(one) for one in told]
    return cautions_of_choices(fitted, kits, vehicle.case.stud, linkage_now(vehicle))


def _summary(kit: Kit | None, spot: SweetSpot | None, rows: list[ReachRow]) -> KitReach:
    name = OWN_HARDWARE if kit is None else kit.name
    own = [row for row in rows if row.kit == name]
    met = [row.lowered_by_mm for row in own if row.reachable]
    peaks = [
        (row.peak_toe_change_deg, row.lowered_by_mm)
        for row in own
        if row.peak_toe_change_deg is not None
    ]
    least, at = min(peaks, default=(None, None))
    return KitReach(
        name=name,
        seat=None if kit is None else kit.seat,
        irreversible=kit is not None and kit.irreversible,
        price=None if kit is None else kit.price,
        mass_g=None if kit is None else kit.mass_g,
        lowest_mm=max(met, default=None),
        reachable_heights=len(met),
        least_deg=least,
        least_at_mm=at,
        all_heights_deg=max(peaks)[0] if len(peaks) == len(own) else None,
        sweet_spot=spot,
    )


def _rows(
    vehicle: Vehicle, lowered_by: list[float], kits: Sequence[Kit], *, in_depth: bool
) -> tuple[list[ReachRow], list[SweetSpot | None]]:
    """One row a height and kit, of the best of what the car may be aligned with.

    An alignment is set at the first of the heights.  With them, how far one setting of each kit
    serves.
    """
    found = [_fitted(case_at(case, lowered_by[0]), kits) for case in vehicle.wheels]
    names = [kit.name for kit in kits] or [OWN_HARDWARE]
    each = len(names)
    count = max(each if isinstance(one, NotAligned) else len(one) for one in found)
    of_alignments = [
        _rows_with(
            [one if isinstance(one, NotAligned) else one[k : k + each] for one in found],
            lowered_by,
            names,
            in_depth=in_depth,
        )
        for k in range(0, count, each)
    ]
    of_rows, spots = zip(*of_alignments, strict=True)
    return [min(same, key=_worth) for same in zip(*of_rows, strict=True)], spots[0]


def _fitted(case: Case, kits: Sequence[Kit]) -> Alternatives:
    """What a wheel may have fitted, kit by kit for each alignment; or why it has none."""
    try:
        found = alternatives(Vehicle((case,)), kits)
    except AlignmentError as error:
        fault = error.fault
        return NotAligned(side=case.side, location=fault.location, message=fault.message)
    return [hardware for hardware in found if not hardware.must_leave]


def _worth(row: ReachRow) -> tuple[bool, float]:
    peak = row.peak_toe_change_deg
    return not row.reachable, np.inf if peak is None else peak


def _rows_with(
    fitted: list[Alternatives], lowered_by: list[float], names: list[str], *, in_depth: bool
) -> tuple[list[ReachRow], list[SweetSpot | None]]:
    """Rows of wheels that have one alignment each, or can't be given it."""
    sound = [one for one in fitted if not isinstance(one, NotAligned)]
    shares = len(fitted) == 1 or all(one[0].cases[0].words.steers for one in sound)
    together = shares and len(sound) > 1
    found = _sound_wheels(sound, np.array(lowered_by), share=together, cures=in_depth)
    lots = np.full((len(names), len(lowered_by)), -1)
    reachable = np.zeros(lots.shape, dtype=bool)
    if len(sound) == len(fitted):
        lots, reachable = _best_for_all(found)
    spots: list[SweetSpot | None] = [None] * len(names)
    if in_depth and reachable.any():
        spots = sweet_spots(found, lots, reachable, np.array(lowered_by))
    rest = iter(found)
    wheels = [LostWheel(one) if isinstance(one, NotAligned) else next(rest) for one in fitted]
    rows = []
    for place, height in enumerate(lowered_by):
        for kit, name in enumerate(names):
            told = [wheel.told(kit, place, int(lots[kit, place])) for wheel in wheels]
            row = _row(told, reachable=bool(reachable[kit, place]), shares=shares)
            rows.append(ReachRow(lowered_by_mm=height, kit=name, wheels=told, **row))
    return rows, spots


def _sound_wheels(
    fitted: list[list[Hardware]], lowered_by: Array, *, share: bool, cures: bool
) -> list[SoundWheel]:
    """Walk each wheel; their lots are of the same kit and the same of what they share."""
    spaces = [[wheel_space(kit, 0) for kit in one] for one in fitted]
    lots = [
        (kit, rows)
        for kit, of_wheels in enumerate(zip(*spaces, strict=True))
        for _, rows in by_shared(of_wheels, share=share)
    ]
    return [
        SoundWheel.of(
            one, spaces[k], [(kit, rows[k]) for kit, rows in lots], lowered_by, cures=cures
        )
        for k, one in enumerate(fitted)
    ]


def _best_for_all(wheels: list[SoundWheel]) -> tuple[Rows, NDArray[np.bool_]]:
    """Lot of each of K kits in which the worse wheel is best at each of L heights, (K, L).

    It is -1 where no lot keeps every limit on all wheels; the second tells where the tolerance, or
    the band that is wanted, is met.
    """
    worse = np.max([wheel.best.peak for wheel in wheels], axis=0)
    lots = least_lots(worse, wheels[0].at.hardware)
    peak = np.take_along_axis(worse, lots, axis=0)
    place = np.arange(lots.shape[1])
    met = [wheel.at.meets(wheel.best.setting[lots, place], peak) for wheel in wheels]
    return np.where(np.isfinite(peak), lots, -1), np.logical_and.reduce(met)


def _row(wheels: list[WheelReach], *, reachable: bool, shares: bool) -> dict[str, Any]:
    """What a row says of all wheels."""
    reasons: list[WheelStop | NothingShared] = [x for wheel in wheels for x in wheel.reasons]
    if not reachable and not reasons:
        reasons = [NothingShared()]
    peaks = [x.peak_toe_change_deg for x in wheels if x.peak_toe_change_deg is not None]
    shared = {name: getattr(wheels[0], name) for name in SHARED if shares}
    return {
        "reachable": reachable,
        **shared,
        "peak_toe_change_deg": max(peaks, default=None),
        "blocked_by": blocked_by(reasons),
        "short_by": short_by(reasons),
        "reasons": reasons,
    }
