"""Cars, kits and ride heights that tests of `reach` share, and its answers about them."""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from optimizer.answers.reach import reach
from optimizer.answers.suggest import suggest
from optimizer.car.subject import subject_of
from optimizer.files.case_file import read_case
from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.reach import ReachResult, ReachRow, WheelReach
from optimizer.models.suggest import SuggestResult
from optimizer.models.vehicle import Vehicle
from optimizer.wording.reader import Reader
from optimizer.wording.sentences import sentence

LENGTH_ATOL_MM = 1e-9
ANGLE_ATOL_DEG = 1e-9
# A pair is solved in a batch of its own, so sums are rounded in another order.
SAME_ANGLE_ATOL_DEG = 1e-9
CASES = Path(__file__).parents[3] / "cases"
WISHBONE = CASES / "track-wishbone.toml"
EXTENDED = CASES / "extended-strut.toml"


def kit(low: float, high: float, step: float = 1.0, **more: object) -> Kit:
    said = {
        "name": f"{low:g} to {high:g}",
        "seat": "tapered",
        "stack": {"min": low, "max": high, "step": step},
    }
    return Kit.model_validate(said | more)


def joint(tilt_limit_deg: float, diameter: float = 30.0, height: float = 20.0) -> dict[str, float]:
    return {
        "tilt_limit_deg": tilt_limit_deg,
        "housing_diameter": diameter,
        "housing_height": height,
    }


TRIED = (
    kit(0.0, 8.0, rod_end=joint(16.0)),
    kit(0.0, 30.0, 0.5, name="fine", rod_end=joint(10.0, 26.0, 34.0)),
    kit(9.0, 30.0, 3.0, name="coarse"),
)
LOWEST = 330.0  # far below what any spring allows: the arms of the wishbone car stand on end
HEIGHTS = [float(height) for height in range(0, 70, 6)]


@cache
def car(path: Path = WISHBONE) -> Case:
    return read_case(path)


@cache
def answer(path: Path = WISHBONE) -> ReachResult:
    return reach_of(car(path), HEIGHTS, TRIED)


def reach_of(case: Case, heights: Sequence[float], kits: Sequence[Kit] = ()) -> ReachResult:
    return reach(Vehicle((case,)), heights, kits)


def suggested(case: Case) -> SuggestResult:
    return suggest(Vehicle((case,)))


def rows_of(result: ReachResult, name: str) -> list[ReachRow]:
    return [row for row in result.heights if row.kit == name]


def wheel_at(case: Case, lowered_by: float, *kits: Kit) -> WheelReach:
    """The wheel of the one row of a car of one wheel."""
    (row,) = reach_of(case, [lowered_by], kits).heights
    (wheel,) = row.wheels
    assert (wheel.reachable, wheel.blocked_by, wheel.short_by, wheel.reasons) == (
        row.reachable,
        row.blocked_by,
        row.short_by,
        row.reasons,
    )
    return wheel


def said(wheel: WheelReach, case: Case) -> list[str]:
    reader = Reader(subject_of(Vehicle((case,))))
    return [sentence(fact, reader) for fact in wheel.reasons]


def free_of_limits(case: Case) -> Case:
    free = case.joint.outer.model_copy(update=dict.fromkeys(type(case.joint.outer).model_fields))
    return case.model_copy(
        update={"obstacles": (), "joint": case.joint.model_copy(update={"outer": free})}
    )
