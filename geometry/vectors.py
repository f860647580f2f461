"""Stacked three-vectors: the last axis is x, y, z and every leading axis broadcasts.

Arrays are laid out with their first axis fastest (order "F"): the long axis, of poses or settings,
comes first, and numpy works off in one go whatever lies in a row.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def vectors(x: Array, y: Array | float, z: Array | float) -> Array:
    """Vectors from their components, (...) or one number for all, to (..., 3)."""
    out = np.empty((*x.shape, 3), order="F")
    out[..., 0], out[..., 1], out[..., 2] = x, y, z
    return out


def dot(a: Array, b: Array) -> Array:
    """Scalar product along the last axis, (..., 3) with (..., 3) to (...)."""
    each = a * b
    product: Array = each[..., 0] + each[..., 1] + each[..., 2]
    return product


def cross(a: Array, b: Array) -> Array:
    """Vector product along the last axis, right-handed, (..., 3) with (..., 3) to (..., 3).

    Written out by components: `numpy.cross` takes about five times as long on short batches.
    """
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    x = ay * bz - az * by
    out = np.empty((*x.shape, 3), order="F")
    out[..., 0] = x
    out[..., 1] = az * bx - ax * bz
    out[..., 2] = ax * by - ay * bx
    return out


def norm(a: Array) -> Array:
    """Length of each vector, (..., 3) to (...), in the unit of `a`."""
    length: Array = np.sqrt(dot(a, a))
    return length


def unit(a: Array) -> Array:
    """Direction of each vector, (..., 3); NaN for a vector without length."""
    length = norm(a)
    direction: Array = a / np.where(length == 0.0, np.nan, length)[..., None]
    return direction


def rotation_about(axis: Array, angle: Array) -> Array:
    """Rotation matrix about a unit axis, right-hand rule.

    Parameters
    ----------
    axis : (..., 3) float array
        Unit vectors.
    angle : (...) float array
        Angle of rotation; about (0, 0, 1), a positive angle turns x toward y. [rad]

    Returns
    -------
    (..., 3, 3) float array
        Matrices that turn column vectors.
    """
    c, s = np.cos(angle), np.sin(angle)
    x, y, z = axis[..., 0], axis[..., 1], axis[..., 2]
    v = 1.0 - c
    out = np.empty((*np.broadcast_shapes(x.shape, np.shape(c)), 3, 3), order="F")
    out[..., 0, 0], out[..., 0, 1], out[..., 0, 2] = (
        c + x * x * v,
        x * y * v - z * s,
        x * z * v + y * s,
    )
    out[..., 1, 0], out[..., 1, 1], out[..., 1, 2] = (
        y * x * v + z * s,
        c + y * y * v,
        y * z * v - x * s,
    )
    out[..., 2, 0], out[..., 2, 1], out[..., 2, 2] = (
        z * x * v - y * s,
        z * y * v + x * s,
        c + z * z * v,
    )
    return out


def turned(rotation: Array, vector: Array) -> Array:
    """Vectors turned by matrices, (..., 3, 3) with (..., 3) to (..., 3)."""
    out: Array = np.einsum("...ij,...j->...i", rotation, vector)
    return out


def product(a: Array, b: Array) -> Array:
    """Products of matrices, (..., 3, 3) with (..., 3, 3) to (..., 3, 3)."""
    out: Array = np.einsum("...ij,...jk->...ik", a, b)
    return out
