"""Points placed by known distances, and which of two mirror-image assemblies is meant."""

import numpy as np

from geometry.vectors import Array, cross, dot, norm, unit

# Spheres that touch leave a square that rounding can push below zero; this share of the first
# radius squared is still taken as touching.
TOUCHING = 1e-13


def three_sphere_point(centers: Array, radii: Array, side: Array) -> Array:
    """Place the point that lies at three known distances from three known points.

    Two mirror-image answers exist, one on each side of the plane through the centers.  The caller
    names the side once, at the measured pose, and keeps it for the whole travel, so the linkage
    cannot flip to its other assembly.

    Parameters
    ----------
    centers : (..., 3, 3) float array
        Three sphere centers; the last axis is x, y, z. [mm]
    radii : (..., 3) float array
        Distance of the wanted point from each center. [mm]
    side : (...) float array
        +1 for the side that the normal ``(c1 - c0) x (c2 - c0)`` points to, -1 for the other.

    Returns
    -------
    (..., 3) float array
        The point, NaN where the three spheres do not meet. [mm]
    """
    origin = centers[..., 0, :]
    to_second, to_third = centers[..., 1, :] - origin, centers[..., 2, :] - origin
    distance = norm(to_second)
    e1 = to_second / distance[..., None]
    along = dot(e1, to_third)
    e2 = unit(to_third - along[..., None] * e1)
    across = dot(e2, to_third)
    r0, r1, r2 = (radii[..., k] ** 2 for k in range(3))
    x = (r0 - r1 + distance**2) / (2.0 * distance)
    y = (r0 - r2 + along**2 + across**2 - 2.0 * along * x) / (2.0 * across)
    z = np.asarray(side) * root_or_nan(r0 - x**2 - y**2, r0)
    point: Array = origin + x[..., None] * e1 + y[..., None] * e2 + z[..., None] * cross(e1, e2)
    return point


def which_side(centers: Array, point: Array) -> Array:
    """Side of the plane through three centers on which a point lies: +1, -1, or 0 in the plane.

    Takes (..., 3, 3) centers and (..., 3) points, gives (...): the `side` of `three_sphere_point`.
    """
    origin = centers[..., 0, :]
    normal = cross(centers[..., 1, :] - origin, centers[..., 2, :] - origin)
    side: Array = np.sign(dot(normal, point - origin))
    return side


def line_sphere_point(
    origin: Array, direction: Array, center: Array, radius: Array, side: Array
) -> Array:
    """Distance along a line at which it meets a sphere.

    Parameters
    ----------
    origin, direction : (..., 3) float array
        A point of the line and its unit direction. [mm]
    center : (..., 3) float array
        Center of the sphere. [mm]
    radius : (...) float array
        Radius of the sphere. [mm]
    side : (...) float array
        +1 for the meeting point farther along `direction`, -1 for the other.

    Returns
    -------
    (...) float array
        Distance from `origin` along `direction`, NaN where the line misses the sphere. [mm]
    """
    to_center = center - origin
    nearest = dot(direction, to_center)
    square = np.asarray(radius) ** 2
    half_chord = root_or_nan(square - dot(to_center, to_center) + nearest**2, square)
    distance: Array = nearest + np.asarray(side) * half_chord
    return distance


def root_or_nan(square: Array, scale: Array | float) -> Array:
    """Square root; 0 where rounding left a touching case just below zero, NaN farther below."""
    touching = np.abs(square) <= TOUCHING * scale
    root: Array = np.sqrt(np.where(touching, 0.0, np.where(square < 0.0, np.nan, square)))
    return root
