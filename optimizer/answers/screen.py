"""One car of a screening: a row for every kit at every ride height."""

from collections.abc import Sequence

import numpy as np

from optimizer.answers.reach import reach
from optimizer.car.alignment import AlignmentError
from optimizer.car.ride_heights import RideHeights, case_at
from optimizer.errors import PivotwrightError
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.reach import Reached, ReachRow, WheelReach
from optimizer.models.screen import Interval, ScreenedRow, ScreenedWheel
from optimizer.models.vehicle import Vehicle
from optimizer.options.hardware import alternatives, judged_on
from optimizer.options.working_stacks import STACKS_MM, Flags, runs_of, working_stacks

OF_A_WHEEL = ScreenedWheel.model_fields.keys() & WheelReach.model_fields.keys()


def screened_rows(
    vehicle: Vehicle,
    lowered_by: Sequence[float],
    kits: Sequence[Kit],
    *,
    case: str = "",
    digest: str = "",
) -> list[ScreenedRow]:
    """Try every kit on a car at every ride height.

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    lowered_by : sequence of float
        How much lower than measured the chassis is to sit, each height once. [mm]
    kits : sequence of Kit
        At least one.
    case, digest : str
        What the rows are to say that the car is from.

    Returns
    -------
    list of ScreenedRow
        As `reach` orders them: heights as given, kits in theirs within each; one that can't be
        judged on the car serves it nowhere.

    Raises
    ------
    PivotwrightError
        No kit can be judged on the car, or the car can't be assembled.
    """
    judged, unjudged = judged_on(vehicle, kits)
    if unjudged is not None and not judged:
        raise PivotwrightError(f"{case}: {unjudged}")
    result = reach(vehicle, lowered_by, judged, in_depth=False)
    found = {(row.lowered_by_mm, row.kit): row for row in result.heights}
    rows = [
        found.get((height, kit.name)) or _unjudged(vehicle, kit, height)
        for height in lowered_by
        for kit in kits
    ]
    each = [_would_do(one, lowered_by) for one in vehicle.wheels]
    return [
        ScreenedRow(
            **{name: getattr(row, name) for name in Reached.model_fields},
            case=case,
            digest=digest,
            car=vehicle.case.name,
            layout=vehicle.case.layout,
            tolerance_deg=result.tolerance_deg,
            has_band=result.has_band,
            kit=row.kit,
            lowered_by_mm=row.lowered_by_mm,
            wheels=_wheels(row, [one[number // len(kits)] for one in each]),
        )
        for number, row in enumerate(rows)
    ]


def _unjudged(vehicle: Vehicle, kit: Kit, height: float) -> ReachRow:
    wheels = [WheelReach(side=case.side, reachable=False) for case in vehicle.wheels]
    return ReachRow(
        lowered_by_mm=height,
        kit=kit.name,
        reachable=False,
        blocked_by=["unjudged"],
        wheels=wheels,
    )


def _wheels(row: ReachRow, each: list[list[Interval]]) -> list[ScreenedWheel]:
    return [
        ScreenedWheel(
            **{name: getattr(wheel, name) for name in OF_A_WHEEL},
            needed_outer_drop_mm=None if wheel.needed is None else wheel.needed.outer_drop_mm,
            would_do_mm=would_do,
        )
        for wheel, would_do in zip(row.wheels, each, strict=True)
    ]


def _would_do(case: Case, lowered_by: Sequence[float]) -> list[list[Interval]]:
    """Runs of stacks that would do on a wheel at each height; an alignment is set anew at each."""
    aligned = case.alignment is not None
    at_once = [[height] for height in lowered_by] if aligned else [[*lowered_by]]
    return [runs_of(works) for heights in at_once for works in _working(case, heights)]


def _working(case: Case, lowered_by: list[float]) -> Flags:
    works = np.zeros((len(lowered_by), STACKS_MM.size), dtype=bool)
    try:
        fitted = alternatives(Vehicle((case_at(case, lowered_by[0]),)))
    except AlignmentError:
        return works
    for hardware in fitted:
        works |= working_stacks(RideHeights.of(hardware.cases[0], np.array(lowered_by)))
    return works
