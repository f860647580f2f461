"""Angles of the wheel and of the steering axis, and where the tire meets the ground.

Sign conventions of ISO 8855 for a left wheel (a right wheel is mirrored before it comes here).
Toe and camber are two projections in vehicle axes, not a sequence of rotations.
"""

import numpy as np

from geometry.vectors import Array, unit, vectors


def spin_axis(toe: Array, camber: Array) -> Array:
    """Unit vector along the axle, pointing outboard, for a toe and a camber. (...) to (..., 3)."""
    toe, camber = np.broadcast_arrays(toe, camber)
    outboard = np.cos(camber)
    return vectors(np.sin(toe) * outboard, np.cos(toe) * outboard, -np.sin(camber))


def toe_angle(spin: Array) -> Array:
    """Toe of a wheel from its spin axis (..., 3), positive toe-in. [rad]

    A left wheel whose axle points forward of square has its nose nearer the car: toe-in.
    """
    angle: Array = np.arctan2(spin[..., 0], spin[..., 1])
    return angle


def camber_angle(spin: Array) -> Array:
    """Camber of a wheel from its spin axis (..., 3), positive with the top outboard. [rad]

    This is the inclination of the wheel plane, as a gauge on the rim reads it.
    """
    angle: Array = np.arctan2(-spin[..., 2], np.hypot(spin[..., 0], spin[..., 1]))
    return angle


def iso_camber_angle(spin: Array) -> Array:
    """Camber as ISO 8855 projects it, about the vehicle's x axis, positive top outboard. [rad]

    Its tangent is that of the inclination over the cosine of toe, so the two differ only where the
    wheel is both toed and cambered: 0.001 deg at 1.6 deg of camber and 2 deg of toe.
    """
    angle: Array = np.arctan2(-spin[..., 2], spin[..., 1])
    return angle


def caster_angle(steering_axis: Array) -> Array:
    """Caster from the steering axis (..., 3), lower to upper; positive top rearward. [rad]"""
    angle: Array = np.arctan2(-steering_axis[..., 0], steering_axis[..., 2])
    return angle


def kingpin_inclination(steering_axis: Array) -> Array:
    """Kingpin inclination from the steering axis (..., 3); positive top inboard. [rad]"""
    angle: Array = np.arctan2(-steering_axis[..., 1], steering_axis[..., 2])
    return angle


def contact_point(wheel_center: Array, spin: Array, tire_radius: float) -> Array:
    """Lowest point of the wheel's center plane at the tire radius, (..., 3). [mm]

    ISO 8855 measures the track between these points.
    """
    down = np.array([0.0, 0.0, -1.0])
    in_plane = unit(down - (down * spin).sum(axis=-1)[..., None] * spin)
    point: Array = wheel_center + tire_radius * in_plane
    return point
