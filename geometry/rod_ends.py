"""Tilt of the ball joints at the two ends of a tie rod.

A rod end is a housing screwed to the rod, a race in the housing, and a ball clamped by a bolt:

        bolt axis b
            |   / race axis, square to the rod
         .--|--/.
        (   |t/  )========== rod r         t = tilt
         '--|/--'
            |

The ball may spin about the bolt without limit.  What binds is the angle between the bolt axis and
the race axis.
"""

import numpy as np

from geometry.vectors import Array, cross, dot, norm, unit


def outer_tilt(
    rod_direction: Array,
    bolt_axis: Array,
    *,
    rod_turns: bool = True,
    rod_reference: Array | None = None,
    bolt_reference: Array | None = None,
) -> Array:
    """Tilt of the outer rod end: the angle between the bolt axis and the race axis.

    A rod that can turn about its own line lets the housing follow the bolt, so that only the part
    of the bolt axis along the rod tilts the joint: asin of ``|r . b|``.

    A rod with a housing at each end can't turn far.  Its race axis is then taken as set square to
    the rod and as near to the bolt axis as it goes at the reference pose, and as carried along
    when the rod swings, without a turn about the rod.  The tilt holds both parts of the bolt's
    lean, along the rod and across it, and is never less than that of a rod that turns.  At the
    reference pose the two are equal: setting the housing can't take out a lean along the rod.

    Parameters
    ----------
    rod_direction : (..., 3) float array
        Along the rod, either way, of any length.
    bolt_axis : (..., 3) float array
        Along the bolt through the ball as it stands in the turned upright, either way, of any
        length.
    rod_turns : bool
        False for a rod that can't turn about its own line; the two references must then be given.
    rod_reference : (..., 3) float array, optional
        `rod_direction` at the pose where the housing was set (straight ahead, at ride height),
        pointing the same way along the rod.
    bolt_reference : (..., 3) float array, optional
        `bolt_axis` at that pose.

    Returns
    -------
    (...) float array
        Tilt, 0 to pi/2; NaN for a direction without length and, if the rod can't turn, for a bolt
        that lay along the rod or a rod that turned right round. [rad]

    Raises
    ------
    ValueError
        If the rod can't turn and a reference is missing.
    """
    rod, bolt = unit(rod_direction), unit(bolt_axis)
    if rod_turns:
        along: Array = np.arctan2(np.abs(dot(rod, bolt)), norm(cross(rod, bolt)))
        return along
    return _angle_of_lines(_set_race_axis(rod, rod_reference, bolt_reference), bolt)


def outer_lean(
    rod_direction: Array,
    bolt_axis: Array,
    *,
    rod_turns: bool = True,
    rod_reference: Array | None = None,
    bolt_reference: Array | None = None,
) -> Array:
    """Vector as long as the sine of `outer_tilt`, (..., 3), of the same parameters.

    It follows a smooth path as the parts move, where the tilt has an edge at 0; its direction tells
    nothing.
    """
    rod, bolt = unit(rod_direction), unit(bolt_axis)
    if rod_turns:
        lean: Array = dot(rod, bolt)[..., None] * np.array([1.0, 0.0, 0.0])
        return lean
    return cross(_set_race_axis(rod, rod_reference, bolt_reference), bolt)


def inner_tilt(rod_direction: Array, rack_axis: Array) -> Array:
    """Tilt of the inner joint: the angle between the line of the rod and the line of the rack.

    Parameters
    ----------
    rod_direction : (..., 3) float array
        Along the rod, either way, of any length.
    rack_axis : (..., 3) float array
        Along the rack, either way, of any length.

    Returns
    -------
    (...) float array
        Tilt, 0 to pi/2; NaN for a direction without length. [rad]
    """
    return _angle_of_lines(unit(rod_direction), unit(rack_axis))


def inner_lean(rod_direction: Array, rack_axis: Array) -> Array:
    """Vector as long as the sine of `inner_tilt`, of the same parameters, (..., 3)."""
    return cross(unit(rod_direction), unit(rack_axis))


def _set_race_axis(rod: Array, rod_reference: Array | None, bolt_reference: Array | None) -> Array:
    """Race axis of a rod that can't turn, see `outer_tilt`."""
    if rod_reference is None or bolt_reference is None:
        raise ValueError("a rod that can't turn needs rod_reference and bolt_reference, got None")
    return _race_axis(rod, unit(rod_reference), unit(bolt_reference))


def _race_axis(rod: Array, rod_reference: Array, bolt_reference: Array) -> Array:
    """Race axis carried from the reference rod to `rod` by the smallest turn between the two."""
    along = dot(bolt_reference, rod_reference)[..., None]
    race = unit(bolt_reference - along * rod_reference)
    opening = 1.0 + dot(rod, rod_reference)
    lean = dot(race, rod) / np.where(opening > 0.0, opening, np.nan)
    carried: Array = race - lean[..., None] * (rod + rod_reference)
    return carried


def _angle_of_lines(a: Array, b: Array) -> Array:
    angle: Array = np.arctan2(norm(cross(a, b)), np.abs(dot(a, b)))
    return angle
