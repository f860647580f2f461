"""What a motion is: poses of an upright, whether they exist, and the rod that sets them."""

from dataclasses import dataclass
from enum import IntEnum

from numpy import int8
from numpy.typing import NDArray

from geometry.vectors import Array, turned


class Reach(IntEnum):
    """Whether a pose exists, and if not, what stops it."""

    REACHED = 0
    ARMS_END = 1
    ROD_ENDS = 2


@dataclass(frozen=True)
class Rod:
    """A tie rod or drag link: pivot in the chassis, pivot at the wheel, length; all broadcast.

    `inner` (..., 3) and `outer` (..., 3) are at the measured pose, `inner` including any rack
    travel; `length` is (...). [mm]
    """

    inner: Array
    outer: Array
    length: Array


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

    def moved(self, point: Array) -> Array:
        """Where the upright has carried a point, (..., 3) to (..., 3). [mm]"""
        place: Array = turned(self.rotation, point) + self.translation
        return place
