"""What moving a pivot changes beside toe: offsets at the ground, front view, turn and roll.

All for a left wheel in the axes of ISO 8855.  Rates with travel are five-point central differences
on the exact motion::

    f'(0) = (f(-2h) - 8 f(-h) + 8 f(h) - f(2h)) / 12h,   h = RATE_STEP

(Abramowitz and Stegun, table 25.2, from memory), whose error of h^4 f'''''/30 stays below 1e-9 of
the rate for arms longer than 100 mm.
"""

import numpy as np

from geometry.linkages import Linkage, LinkSet
from geometry.linkages.closure import link_closure
from geometry.linkages.conditions import Pose
from geometry.motion import Motion
from geometry.vectors import Array, dot
from geometry.virtual_axis import measured_axis, virtual_steering_axis

RATE_STEP = 1.0  # between the heights of `RATE_TRAVEL` [mm]
RATE_TRAVEL = RATE_STEP * np.array([-2.0, -1.0, 0.0, 1.0, 2.0])  # [mm]
RATE_WEIGHTS = np.array([1.0, -8.0, 0.0, 8.0, -1.0]) / (12.0 * RATE_STEP)
FARTHEST_CENTER = 1e6  # an instant center farther away counts as at infinity [mm]


def axis_point(linkage: Linkage, motion: Motion) -> Array:
    """A point of the steering axis at each pose of a motion, (..., 3). [mm]

    The lower ball joint where there is one, also if it was extended, or the lower end of a kingpin;
    else the point of the virtual axis that is nearest to the wheel center.
    """
    if isinstance(linkage, LinkSet):
        closure = link_closure(linkage, np.zeros(motion.reach.shape))
        pose = Pose.rigid(motion.rotation, motion.moved(linkage.wheel_center))
        return virtual_steering_axis(closure, pose)[0]
    return motion.moved(measured_axis(linkage).lower_measured)


def ground_offsets(point: Array, axis: Array, spin: Array, contact: Array) -> tuple[Array, Array]:
    """Scrub radius and mechanical trail: where the steering axis meets the ground.

    The ground is the level plane through the contact point, and both offsets are taken along and
    square to the wheel's trace on it, as ISO 8855 takes the steering-axis and castor offsets at
    ground in the axes of the tire (wording ours, from memory).

    Parameters
    ----------
    point, axis : (..., 3) float array
        A point of the steering axis [mm] and its direction.
    spin : (..., 3) float array
        Unit spin axis, outboard.
    contact : (..., 3) float array
        Contact point. [mm]

    Returns
    -------
    (...) float array, (...) float array
        Scrub radius, positive with the contact point outboard of the axis, and mechanical trail,
        positive with the contact point behind the axis; NaN for an axis that lies level. [mm]
    """
    rise = np.where(axis[..., 2] == 0.0, np.nan, axis[..., 2])
    share = (contact[..., 2] - point[..., 2]) / rise
    offset = contact - (point + share[..., None] * axis)
    level = np.hypot(spin[..., 0], spin[..., 1])
    outboard_x, outboard_y = spin[..., 0] / level, spin[..., 1] / level
    scrub_radius = outboard_x * offset[..., 0] + outboard_y * offset[..., 1]
    trail = outboard_x * offset[..., 1] - outboard_y * offset[..., 0]
    return scrub_radius, trail


def travel_rate(values: Array) -> Array:
    """Change per travel of what was found at the heights `RATE_TRAVEL`, (..., 5) to (...)."""
    rate: Array = values @ RATE_WEIGHTS
    return rate


def instant_center(center: Array, rotation: Array) -> Array:
    r"""Point of the transverse plane through the wheel center that is at rest in that plane.

    The upright of a planar suspension turns about it; in the front view the lines of both arms, or
    of the arm and the square to the damper rod at the top mount, meet there.  A wheel that steers
    with travel leans a little with it, so bump steer moves this point too::

        v_y - w_x (z - z_wheel) = 0          upper arm  ---------o---------->
        v_z + w_x (y - y_wheel) = 0          lower arm  ------o--------->     instant center

    Parameters
    ----------
    center : (..., 5, 3) float array
        Wheel center at the heights `RATE_TRAVEL`. [mm]
    rotation : (..., 5, 3, 3) float array
        Rotation of the upright there.

    Returns
    -------
    (..., 2) float array
        y and z; NaN where the upright rises without leaning, or so nearly that the center is
        farther away than `FARTHEST_CENTER`. [mm]
    """
    rate = np.stack([travel_rate(center[..., k]) for k in (1, 2)], axis=-1)
    spun = np.stack([travel_rate(rotation[..., 2, k]) for k in range(3)], axis=-1)
    lean = dot(spun, rotation[..., 2, 1, :])
    flat = ~(np.abs(lean) * FARTHEST_CENTER > np.hypot(rate[..., 0], rate[..., 1]))
    lean = np.where(flat, np.nan, lean)
    home = center[..., 2, :]
    y = home[..., 1] - rate[..., 1] / lean
    z = home[..., 2] + rate[..., 0] / lean
    return np.stack([y, z], axis=-1)


def roll_center_height(contact: Array, half_track: Array | float) -> Array:
    """Height of the roll center above the ground, from the path of the contact point.

    In the front view the line square to that path at the contact point meets the car's center
    plane there; in a planar suspension it is the line from the contact point to the instant center.
    The other side is taken as a mirror image.

    Parameters
    ----------
    contact : (..., 5, 3) float array
        Contact point at the heights `RATE_TRAVEL`. [mm]
    half_track : (...) float array
        Distance of the contact point from the center plane. [mm]

    Returns
    -------
    (...) float array
        Positive above the ground: the track widens in bump. [mm]
    """
    height: Array = half_track * travel_rate(contact[..., 1]) / travel_rate(contact[..., 2])
    return height


def front_view_angle(inner: Array, outer: Array) -> Array:
    """Angle of a rod or an arm to the ground in the front view, (..., 3) ends to (...). [rad]

    Positive where it rises toward the wheel.
    """
    span = outer - inner
    angle: Array = np.arctan2(span[..., 2], span[..., 1])
    return angle


def ackermann_angle(outer: Array, track: float, wheelbase: float) -> Array:
    """Steer angle at which the inner wheel rolls about the same center as the outer one.

    ``cot(outer) - cot(inner) = track / wheelbase``, with the turn's center in line with the other
    axle (any handbook of vehicle dynamics, from memory).

    Parameters
    ----------
    outer : (...) float array
        Steer angle of the outer wheel, positive into the turn. [rad]
    track, wheelbase : float
        Between the wheels and between the axles. [mm]

    Returns
    -------
    (...) float array
        Steer angle of the inner wheel, positive into the turn. [rad]
    """
    slope = np.tan(outer)
    angle: Array = np.arctan2(slope, 1.0 - slope * track / wheelbase)
    return angle


def roll_steer_gradient(toe_rate: Array, track: float) -> Array:
    """Steer angle per roll angle of the body, both wheels moving opposite ways.

    Roll by a small angle moves the wheels by ``track / 2`` times it, one up and one down.  The body
    rolls to the right, in a turn to the left: the right wheel rises, and toe-in turns it to the
    left; the left wheel falls, and toe-out turns it to the left as well.

    Parameters
    ----------
    toe_rate : (...) float array
        Toe per travel of one wheel, toe-in in bump positive. [rad/mm]
    track : float
        Between both contact points. [mm]

    Returns
    -------
    (...) float array
        Steer to the left positive for roll to the right (ISO 8855: both right-handed). [rad/rad]
    """
    gradient: Array = toe_rate * (0.5 * track)
    return gradient
