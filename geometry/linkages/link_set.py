"""Links with a ball joint at each end, and perhaps a damper rod: any independent suspension."""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array, norm


@dataclass(frozen=True)
class LinkSet:
    """What holds a left wheel's upright beside the tie rod, as measured. [mm]

    Each of K links keeps its length between an end in the chassis and an end in the upright:
    `chassis_ends` and `upright_ends` (..., K, 3), `lengths` (..., K).  Four links hold the upright
    of a five-link suspension, whose tie rod or toe link is the fifth; two do beside a strut, whose
    `strut_line` (..., 2, 3) names the top mount, fixed in the chassis, and a second point of the
    damper-rod center line, which is fixed in the upright and runs through the top mount.  Lengths
    other than the measured distances stand for what was fitted afterwards; so does a `strut_top`
    (..., 3) off the measured line.
    """

    chassis_ends: Array
    upright_ends: Array
    lengths: Array
    wheel_center: Array
    strut_line: Array | None = None
    strut_top: Array | None = None

    @staticmethod
    def of(**points: Array) -> "LinkSet":
        """Make a five-link or a twin-link strut suspension from named points, each (..., 3). [mm]

        Both have ``wheel_center`` and, counted from 1, ``link_1_inner`` in the chassis and
        ``link_1_outer`` in the upright; the strut adds ``strut_top`` and ``strut_axis``.
        """
        numbers = range(1, 3 if "strut_top" in points else 5)
        inner = side_by_side(*(points[f"link_{k}_inner"] for k in numbers))
        outer = side_by_side(*(points[f"link_{k}_outer"] for k in numbers))
        line = None
        if "strut_top" in points:
            line = side_by_side(points["strut_top"], points["strut_axis"])
        return LinkSet(inner, outer, norm(outer - inner), points["wheel_center"], line)


def side_by_side(*points: Array) -> Array:
    """K points (..., 3) as one array, (..., K, 3)."""
    return np.stack(np.broadcast_arrays(*points), axis=-2)
