"""How clear two parts of a linkage are of one line, at places and on every cell between them.

Where a link and the arm that it moves come into one line, the linkage ends.  The cosine of the
angle between them is smooth and its size reaches 1 there, so its bound on every cell between places
tells (`geometry.sag`); cells that may hold more than that are looked at closer.
"""

from collections.abc import Callable

import numpy as np

from geometry.sag import Grid, largest_length, on_grid
from geometry.vectors import Array

CLEAR_DEG = 1.0  # from one line; what is clear by more on a whole cell needs no closer look
BEYOND_DEG = -1.0  # as a drop link that can't follow has it
ALONG = np.array([1.0, 0.0, 0.0])  # makes a smooth number a smooth path

Cosines = Callable[[], Array]  # of one or more angles that count alike, (M, T, K)


def clear_deg(cosines: Cosines) -> Array:
    """Angle from one line at places, (M, T), below 0 where no angle has the cosine. [deg].

    More than `CLEAR_DEG` counts as that.
    """
    return np.minimum(_angle_deg(np.abs(cosines()).max(axis=-1)), CLEAR_DEG)


def least_clear_deg(cosines: Cosines, _: Array, grid: Grid) -> Array:
    """Lower bound of it on every cell of the grid of those places, (M, R - 1, H - 1). [deg].

    Beyond one line, where no part can be, it is no less than `BEYOND_DEG`.
    """
    path = on_grid(cosines(), grid)
    each = [path[..., k] for k in range(path.shape[-1])]
    most = np.maximum.reduce([largest_length(x[..., None] * ALONG, np.abs(x), grid) for x in each])
    return np.clip(_angle_deg(most), BEYOND_DEG, CLEAR_DEG)


def _angle_deg(cosine: Array) -> Array:
    """Angle of a cosine, below 0 where that is above 1. [deg]."""
    with np.errstate(invalid="ignore"):
        angle: Array = np.degrees(np.arccos(np.minimum(cosine, 1.0))) - np.maximum(cosine - 1, 0.0)
    return angle
