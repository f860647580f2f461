"""The project's own linkage and rod for a corner given as a mapping of point names."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.linkages import DoubleWishbone, Linkage, LinkSet, Strut
from geometry.motion import Rod

Array = NDArray[np.float64]

LINKAGES = {"double-wishbone": DoubleWishbone, "strut": Strut}


def corner_points(printed: Mapping[str, Any]) -> dict[str, Array]:
    return {name: np.array(point, dtype=float) for name, point in printed.items()}


def linkage_of(layout: str, points: Mapping[str, Array], drop: float = 0.0) -> Linkage:
    """Arms or a strut, its ball joint dropped, or links."""
    if layout not in LINKAGES:
        return link_set_of(points)
    carrier = {name: point for name, point in points.items() if not name.startswith("tie_rod")}
    return LINKAGES[layout](**carrier, ball_joint_drop=np.asarray(drop))


def link_set_of(points: Mapping[str, Array]) -> LinkSet:
    """The links of a layout that has no arm to swing."""
    return LinkSet.of(
        **{name: point for name, point in points.items() if not name.startswith("tie_rod")}
    )


def rod_between(inner: Array, outer: Array, longer_by: float = 0.0) -> Rod:
    return Rod(inner, outer, np.linalg.norm(outer - inner) + np.asarray(longer_by))
