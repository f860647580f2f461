"""One beam axle built in the same multibody library (exudyn), with none of our own formulas.

    ground --distance--> beam                                    (each of four links)
    left knuckle <--revolute-- beam --revolute--> right knuckle  (the kingpins)
    left knuckle --distance--> right knuckle                     (the cross rod)
    ground --three coordinates--> pitman ball --distance--> left knuckle

The height of each wheel is a constraint on one coordinate of its knuckle, whose reference point is
the wheel center.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from .axle_cars import MIRROR
from .multibody import METERS, Array, Model, MultibodySweep


def multibody_axle_sweep(
    points: Mapping[str, Array],
    drag_link: tuple[Array, Array, float],
    rises: Array,
    *,
    pitman_shift: float = 0.0,
) -> tuple[MultibodySweep, MultibodySweep]:
    """Sweep the wheels of one axle through `rises`; where the left and the right knuckle are then.

    Parameters
    ----------
    points : mapping of point name to (3,)
        As measured. [mm]
    drag_link : inner point, outer point, length
        Pitman ball steering straight ahead, end on the left knuckle as measured, length. [mm]
    rises : (n, 2)
        Rise of the left and the right wheel center from the measured pose, in an order in which
        they can be walked through from the middle outward. [mm]
    pitman_shift : float
        Shift of the pitman ball to the left. [mm]
    """
    place = {name: np.asarray(point, dtype=float) * METERS for name, point in points.items()}
    inner, outer = (np.asarray(point, dtype=float) * METERS for point in drag_link[:2])
    axle = _Axle(place, inner, outer)

    def values(rise: Sequence[float]) -> Array:
        return np.array([drag_link[2], pitman_shift, *rise])

    middle = len(rises) // 2
    measured = np.array([np.linalg.norm(outer - inner) / METERS, 0.0, 0.0, 0.0])
    axle.walk(measured, values(rises[middle]))
    start = axle.coordinates()
    poses: dict[int, list[tuple[Array, Array]]] = {}
    for rows in (range(middle, len(rises)), range(middle, -1, -1)):
        axle.restore(start)
        here = values(rises[middle])
        for row in rows:
            axle.walk(here, values(rises[row]))
            here = values(rises[row])
            poses[row] = [axle.pose(knuckle) for knuckle in axle.knuckles]
    left, right = (
        MultibodySweep(
            rotation=np.array([poses[row][side][0] for row in range(len(rises))]),
            wheel_center=np.array([poses[row][side][1] for row in range(len(rises))]) / METERS,
            measured_wheel_center=points["wheel_center"] * (1.0, MIRROR)[side],
        )
        for side in range(2)
    )
    return left, right


class _Axle(Model):
    """The axle; its values are drag link length, pitman shift and the rise of each wheel."""

    def __init__(self, place: Mapping[str, Array], inner: Array, outer: Array) -> None:
        super().__init__()
        middle = place["wheel_center"] * [1.0, 0.0, 1.0]
        beam, _ = self.body(middle)
        for k in range(1, 5):
            in_chassis, in_beam = place[f"link_{k}_inner"], place[f"link_{k}_outer"]
            self.distance(
                self.marker(self.ground, in_chassis),
                self.marker(beam, in_beam - middle),
                np.linalg.norm(in_beam - in_chassis),
            )
        self.knuckles, self._heights, rod_ends = [], [], []
        for mirror in (np.ones(3), MIRROR):
            knuckle, node = self.body(place["wheel_center"] * mirror)
            self._kingpin(beam, knuckle, place, mirror)
            self.knuckles.append(knuckle)
            self._heights.append(self.held_coordinate(node, 2))
            arm = (place["cross_rod_end"] - place["wheel_center"]) * mirror
            rod_ends.append(self.marker(knuckle, arm))
        self.distance(*rod_ends, 2.0 * abs(place["cross_rod_end"][1]))
        pitman, self._pitman = self.moving_end(inner)
        self._drag_link = self.distance(
            pitman,
            self.marker(self.knuckles[0], outer - place["wheel_center"]),
            np.linalg.norm(outer - inner),
        )
        self.mbs.Assemble()

    def _kingpin(self, beam: Any, knuckle: Any, place: Mapping[str, Array], mirror: Array) -> None:
        lower, upper = place["kingpin_lower"] * mirror, place["kingpin_upper"] * mirror
        axis = (upper - lower) / np.linalg.norm(upper - lower)
        self.mbs.CreateRevoluteJoint(
            itemNumbers=[beam, knuckle], position=list(lower), axis=list(axis)
        )

    def set(self, values: Array) -> None:
        length, shift, *rises = values
        self.mbs.SetObjectParameter(self._drag_link, "distance", length)
        self.mbs.SetObjectParameter(self._pitman, "offset", shift)
        for height, rise in zip(self._heights, rises, strict=True):
            self.mbs.SetObjectParameter(height, "offset", rise)
