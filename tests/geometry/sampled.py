"""Gaps by dense sampling, to hold the closed forms against."""

import numpy as np

# The sampled distance stops zooming at a step of this size.
SAMPLED_ATOL_MM = 1e-6


def sampled_least(value, part):
    """Least of value(points) along a capsule's center line, by zooming into sampled valleys."""

    def along(t):
        return value(part.start + t[:, None] * (part.end - part.start))

    t = np.linspace(0.0, 1.0, 4001)
    g = np.concatenate([[np.inf], along(t), [np.inf]])
    valleys = np.flatnonzero((g[1:-1] <= g[:-2]) & (g[1:-1] <= g[2:]))
    best = np.inf
    for valley in valleys[np.argsort(g[1:-1][valleys])][:6]:
        low, high = t[max(valley - 1, 0)], t[min(valley + 1, t.size - 1)]
        for _ in range(4):
            zoom = np.linspace(low, high, 201)
            values = along(zoom)
            k = int(values.argmin())
            low, high = zoom[max(k - 1, 0)], zoom[min(k + 1, 200)]
        best = min(best, values.min())
    return best


def axial(points, axis):
    station = points @ axis
    return station, np.linalg.norm(points - station[:, None] * axis, axis=-1)
