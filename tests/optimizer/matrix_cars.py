"""A car for every cell of a matrix: wheels x hardware x layout x units, small enough to try all.

What may be fitted is typed in the cell's units; five links in inches are on a rear axle.
"""

from typing import Any, get_args

from optimizer.models.case import Case
from optimizer.models.kits import Kit
from optimizer.models.vehicle import Vehicle
from optimizer.units import MM_PER, Units
from tests.random_cars import GOOD_POINTS, Table

ON_BEAM, ON_LEAVES = AXLES = ("beam-axle", "leaf-axle")  # whose points describe both wheels
CELLS = [
    (wheels, hardware, layout, units)
    for wheels in ("one", "both")
    for hardware in ("shelf", "range", "kits")
    for layout in GOOD_POINTS
    for units in get_args(Units)
    if wheels == "one" or layout not in AXLES
]
NAMES = ["-".join(cell) for cell in CELLS]
STEP = {"mm": 3.0, "in": 0.125}  # in which stacks and spacers are had
# Of the outer joint, such that some of what may be fitted binds.
TILT_DEG = {
    "strut": 7.5,
    "double-wishbone": 11.5,
    "twin-link-strut": 7.5,
    "five-link": 9.4,
    ON_BEAM: 9,
    ON_LEAVES: 9,
}
REAR_TILT_DEG = 3.4
LINKAGES = {
    "strut": {"lower_ball_joint": {"drop": [0.0, 12.0]}},
    "double-wishbone": {"lower_ball_joint": {"drop": [0.0, 12.0]}},
    ON_BEAM: {"lateral_link": {"frame_bracket": [0.0, -20.0]}},
    ON_LEAVES: {"leaf_spring": {"lift_block": [0.0, 20.0]}},
}


def car(wheels: str, hardware: str, layout: str, units: Units, **tables: Any) -> Vehicle:
    """Car of a cell; of two wheels the right one's outer pivot was measured higher."""
    points = GOOD_POINTS[layout]
    mirrored = {name: [x, -y, z] for name, (x, y, z) in points.items()}
    left, right = (points, mirrored) if points["wheel_center"][1] > 0.0 else (mirrored, points)
    if wheels == "one":
        return Vehicle((_case(layout, points, hardware, units, tables),))
    x, y, z = right["tie_rod_outer"]
    higher = right | {"tie_rod_outer": [x, y, z + 4.0]}
    return Vehicle(tuple(_case(layout, one, hardware, units, tables) for one in (left, higher)))


def kits(units: Units) -> list[Kit]:
    """Kits of one range that differ in price and seat, and one that starts above the seat."""
    step = STEP[units]
    whole = {"min": 0.0, "max": 4 * step, "step": step}
    rows: list[Table] = [
        {"name": "unpriced", "seat": "tapered", "stack": whole},
        {"name": "dear", "seat": "tapered", "stack": whole, "price": 90.0},
        {"name": "cheap", "seat": "tapered", "stack": whole, "price": 40.0},
        {"name": "drilled", "seat": "straight-bolt", "stack": whole, "price": 10.0},
        {
            "name": "tall",
            "seat": "tapered",
            "stack": {"min": step, "max": 5 * step},
            "shelf": {
                "shims": [{"thickness": step, "count": 2}, {"thickness": 3 * step, "count": 1}]
            },
            "rod_end": {"tilt_limit_deg": 14.0},
        },
    ]
    return [Kit.model_validate(row, context={"units": units}) for row in rows]


def _case(layout: str, points: Table, hardware: str, units: Units, tables: Table) -> Case:
    step, scale = STEP[units], MM_PER[units]
    shelf = {"shims": [{"thickness": step, "count": 2}, {"thickness": 2 * step, "count": 1}]}
    stack = {"min": -step, "max": 3 * step, "step": step}
    rear = (layout, units) == ("five-link", "in")
    table = {
        "format": 1,
        "name": "A car",
        "units": units,
        "layout": layout,
        "points": {name: [x / scale for x in point] for name, point in points.items()},
        "wheel": {"tire_radius": 310.0 / scale},
        "ride": {"lowered_by": 20.0 / scale, "bump": 40.0 / scale, "droop": 40.0 / scale},
        "rack": {"spacers": [0.0, step]},
        "obstacles": [] if layout in AXLES else [_floor(points, scale)],  # slow to follow there
        "joint": {"outer": {"tilt_limit_deg": REAR_TILT_DEG if rear else TILT_DEG[layout]}},
        **({"shelf": shelf} if hardware == "shelf" else {"outer_pivot": {"stack": stack}}),
        **({"car": {"axle": "rear"}} if rear else {"steering": {"rack_travel": 50.0 / scale}}),
        **{
            name: {key: [x / scale for x in lengths] for key, lengths in keys.items()}
            for name, keys in LINKAGES.get(layout, {}).items()
        },
    }
    return Case.model_validate(table | tables, context={"units": units})


def _floor(points: Table, scale: float) -> Table:
    """A plane below the rod, so that gaps differ from stack to stack."""
    x, y, z = points["tie_rod_outer"]
    point = [x / scale, y / scale, (z - 90.0) / scale]
    up = [0.0, 0.0, 1.0]
    return {"kind": "plane", "fixed_to": "chassis", "point": point, "free_side": up}
