"""Where a line meets a sphere, and roots that rounding may push below zero."""

import numpy as np

from geometry.vectors import Array, dot

# Spheres that touch leave a square that rounding can push below zero; this share of the first
# radius squared is still taken as touching.
TOUCHING = 1e-13


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
