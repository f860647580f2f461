"""What a motion is: poses of an upright, whether they exist, and the rod that sets them."""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy import int8
from numpy.typing import NDArray

from geometry.vectors import Array, turned

Rows = tuple[NDArray[np.intp], ...]


class Reach(IntEnum):
    """Whether a pose exists, and if not, what stops it."""

    REACHED = 0
    ARMS_END = 1
    ROD_ENDS = 2
    JAMMED = 3


@dataclass(frozen=True)
class Rod:
    """A tie rod or drag link: pivot in the chassis, pivot at the wheel, length; all broadcast.

    `inner` (..., 3) and `outer` (..., 3) are at the measured pose, `inner` including any rack
    travel; `length` is (...).  Straight ahead the inner pivot is at `straight` (..., 3), where that
    is not `inner` itself; the rod was set there with the wheel center `ride_height` (...) above the
    measured pose. [mm]
    """

    inner: Array
    outer: Array
    length: Array
    straight: Array | None = None
    ride_height: Array | float = 0.0

    @property
    def inner_straight(self) -> Array:
        """The inner pivot straight ahead, (..., 3). [mm]"""
        return self.inner if self.straight is None else self.straight

    @property
    def shape(self) -> tuple[int, ...]:
        """Leading axes of all of it together."""
        points = (self.inner, self.outer, self.inner_straight)
        sizes = (np.shape(self.length), np.shape(self.ride_height))
        return np.broadcast_shapes(*(point.shape[:-1] for point in points), *sizes)

    def taken(self, rows: Rows, shape: tuple[int, ...]) -> "Rod":
        """Rods (P,) of some of the poses, whose leading axes are `shape`."""
        inner, outer, straight = (
            np.broadcast_to(point, (*shape, 3))[rows]
            for point in (self.inner, self.outer, self.inner_straight)
        )
        length, height = (
            np.broadcast_to(x, shape)[rows] for x in (self.length, np.asarray(self.ride_height))
        )
        return Rod(inner, outer, length, straight, height)


@dataclass(frozen=True)
class Motion:
    """Poses of the upright: a point measured at `q` is now at ``rotation @ q + translation``.

    `rotation` is (..., 3, 3), `translation` (..., 3) [mm], `steering_axis` (..., 3) the unit
    vector from the lower to the upper end of the axis, `reach` (...) holds `Reach` codes.  Every
    float is NaN where `reach` is not `Reach.REACHED`.

    On links, the axis is the virtual one of `geometry.virtual_axis`, and NaN where there is none;
    on a beam axle it is the kingpin, and `beam` and `other_wheel` are the poses of the beam and of
    the wheel at its other end.
    """

    rotation: Array
    translation: Array
    steering_axis: Array
    reach: NDArray[int8]
    beam: "Motion | None" = None
    other_wheel: "Motion | None" = None

    def at(self, places: NDArray[np.intp]) -> "Motion":
        """Some of the poses, by their places along the last axis."""
        return Motion(
            self.rotation[..., places, :, :],
            self.translation[..., places, :],
            self.steering_axis[..., places, :],
            self.reach[..., places],
            None if self.beam is None else self.beam.at(places),
            None if self.other_wheel is None else self.other_wheel.at(places),
        )

    def moved(self, point: Array) -> Array:
        """Where the upright has carried a point, (..., 3) to (..., 3). [mm]"""
        place: Array = turned(self.rotation, point) + self.translation
        return place
