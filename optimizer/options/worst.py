"""What margins say of each candidate: the worst limit, the smallest gap, the place that tells."""

import numpy as np

from geometry.vectors import Array
from optimizer.limits.margins import Margin, Places


def clearance(found: list[Margin], rows: int) -> Array:
    """Smallest gap of each of the rows, (M,); infinite where no obstacle is stated. [mm]."""
    gaps = [margin.value for margin in found if margin.kind == "gap"]
    return np.min(gaps, axis=0) if gaps else np.full(rows, np.inf)


def unsure(kept: float, wanted: float) -> Margin:
    """The limit that a setting breaks whose limits are kept in too few of the possible cars."""
    share, short, at = np.array([kept]), np.array([kept - wanted]), np.zeros(1)
    return Margin("chance", "every limit", share, wanted, short, at, at)


def violation(found: list[Margin]) -> Array:
    """How far each row exceeds its worst limit, (M,), 0 where it keeps all."""
    worst: Array = np.maximum(0.0, -np.min([margin.margin for margin in found], axis=0))
    return worst


def most_telling(found: list[Margin], worst: Array) -> Places:
    """Rack travel and wheel travel at which most of the broken rows break their worst limit."""
    broken = np.flatnonzero(worst > 0.0)
    limit = np.argmin([margin.margin for margin in found], axis=0)[broken]
    travel = np.array([margin.travel for margin in found])[limit, broken]
    rack = np.array([margin.rack_travel for margin in found])[limit, broken]
    places, counts = np.unique([rack, travel], axis=1, return_counts=True)
    most = places[:, [np.argmax(counts)]]
    return most[0], most[1]
