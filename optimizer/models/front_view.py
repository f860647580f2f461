"""Points taken in the front view alone, (y, z): x as it usually is, by layout and steering arms.

Typical of cars with arms or struts, counted from the wheel center; common practice, no source.
What that leaves open is stated as an accuracy, and every answer carries it.
"""

from typing import Any

from optimizer.errors import Fault
from optimizer.models.base import FaultList
from optimizer.units import MM_PER

ROD_MM = 130.0  # how far ahead of the axle the tie rod lies, or behind it
TYPICAL_X_MM = {
    "wheel_center": 0.0,
    "lower_arm_front": 150.0,
    "lower_arm_rear": -180.0,
    "lower_ball_joint": 0.0,
    "upper_arm_front": 110.0,
    "upper_arm_rear": -130.0,
    "upper_ball_joint": -20.0,
    "strut_top": -35.0,
    "strut_axis": -10.0,
}
# Why links have no usual x, and what will do; what it costs is measured in the tests.
LINKS_AT = (
    "links lie along the car in too many ways for a usual x; a rough one, to 40 mm, will do, and "
    'x = "unknown" stays true'
)
BEAM_AT = {
    "beam-axle": "how far apart its links lie along the car decides how the axle turns: measure "
    "x too",
    "leaf-axle": "how far eye and shackle are from the seat decides how the axle moves: measure "
    "x too",
}
ROD = ("tie_rod_inner", "tie_rod_outer")


def with_typical_x(typed: dict[str, Any]) -> dict[str, Any]:
    """Give points of a case as typed that have y and z alone their typical x.

    Raises
    ------
    FaultList
        It is not said whether the arms are ahead or behind, or the layout has no typical x.
    """
    points, steering = typed.get("points"), typed.get("steering")
    flat = [name for name, point in _named(points).items() if _is_flat(point)]
    if not flat:
        return typed
    if typed.get("layout") not in ("strut", "double-wishbone"):
        hint = BEAM_AT.get(str(typed.get("layout")), LINKS_AT)
        message = f"must be x, y and z on this layout\n({hint})"
        raise FaultList([Fault(f"points.{name}", message) for name in flat])
    arms = _named(steering).get("arms")
    if arms not in ("ahead", "behind"):
        message = 'must be given where accuracy.x is "unknown"'
        hint = '("ahead" or "behind" the axle: it decides the sign of everything)'
        raise FaultList([Fault("steering.arms", f"{message}\n{hint}")])
    rod = ROD_MM if arms == "ahead" else -ROD_MM
    typical = TYPICAL_X_MM | dict.fromkeys(ROD, rod)
    unit = MM_PER[typed["units"]] if typed.get("units") in MM_PER else 1.0
    placed = {
        name: [typical[name] / unit, *point] if name in flat and name in typical else point
        for name, point in _named(points).items()
    }
    return typed | {"points": placed}


def _named(table: object) -> dict[str, Any]:
    return table if isinstance(table, dict) else {}


def _is_flat(point: object) -> bool:
    return isinstance(point, list | tuple) and len(point) == 2
