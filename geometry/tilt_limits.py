"""How far a rod end can tilt, from its sizes and what is clamped against its ball."""

import numpy as np
from numpy.typing import NDArray

from geometry.vectors import Array


def face_tilt_limit(
    ball_width: Array | float,
    race_width: Array | float,
    *,
    ball_diameter: Array | float,
    shoulder_diameter: Array | float = 0.0,
) -> Array:
    """Tilt at which the edge of the ball's face reaches the edge of the race.

    This limit governs wherever something wider than the bolt stands against a face of the ball:
    a nut, a bolt head, a washer, a shim, a spacer.  Beyond it the race also bears on less of the
    ball, so it is the one to use unless the maker states another.  A shoulder wider than the flat
    of the ball, sqrt(ball_diameter^2 - ball_width^2), meets the side of the race sooner: name it.
    Coned spacers hold the shoulder off: their outside width then takes the place of the ball's.

    Parameters
    ----------
    ball_width : (...) float array
        Width B between what stands against the two faces of the ball; that over both spacers where
        there are any. [mm]
    race_width : (...) float array
        Width C of the outer ring; the width of the head where the head is wider and a wide
        shoulder meets that. [mm]
    ball_diameter : (...) float array
        Diameter dK of the sphere. [mm]
    shoulder_diameter : (...) float array
        Diameter of the widest part clamped against the ball; no wider than the flat if left
        out. [mm]

    Returns
    -------
    (...) float array
        asin(B/dK) - asin(C/dK), NaN where not 0 < C < B < dK, with hypot(shoulder_diameter, B)
        for dK where that is larger. [rad]

    Notes
    -----
    The shapes and letters are those of ISO 12240-1.  Lips, chamfers and seals cost angle: a
    maker's figure goes before this one.  The corner of a shoulder that stands out of the sphere
    takes the place of the face's edge, which is where hypot(shoulder_diameter, B) is from.
    """
    width, race, ball = (
        np.asarray(x, dtype=float) for x in (ball_width, race_width, ball_diameter)
    )
    reach = np.maximum(ball, np.hypot(shoulder_diameter, width))
    possible = (race > 0.0) & (race < width) & (width < reach)
    return _asin(width, reach, possible) - _asin(race, reach, possible)


def washer_tilt_limit(
    width: Array | float,
    head_width: Array | float,
    *,
    washer_diameter: Array | float,
    housing_diameter: Array | float,
) -> Array:
    """Tilt at which the housing of a rod end meets a round washer that keeps it on its bolt.

    Washer and head are round about axes through the center of the ball, so they first meet in the
    plane of the tilt: either the washer's edge meets the side of the head, or, where the washer is
    the wider, the head's edge meets the washer.

    Parameters
    ----------
    width : (...) float array
        Width B between the washers' inner faces: that of the ball, or over its spacers. [mm]
    head_width : (...) float array
        Width C of the head. [mm]
    washer_diameter, housing_diameter : (...) float array
        Diameters W of the washer and H of the head; infinite for a head of unknown size. [mm]

    Returns
    -------
    (...) float array
        asin(B/m) - asin(C/m) with m the lesser of hypot(W, B) and hypot(H, C); a right angle where
        the head's edge passes under the washer; NaN where not 0 < C < B. [rad]
    """
    between, head = np.asarray(width, dtype=float), np.asarray(head_width, dtype=float)
    reach = np.minimum(np.hypot(washer_diameter, between), np.hypot(housing_diameter, head))
    possible = (head > 0.0) & (head < between)
    free = possible & (reach <= between)
    meets = possible & ~free
    limit = _asin(between, reach, meets) - _asin(head, reach, meets)
    return np.where(free, np.pi / 2, limit)


def pin_tilt_limit(
    pin_diameter: Array | float, race_width: Array | float, *, ball_diameter: Array | float
) -> Array:
    """Tilt at which a pin through the ball reaches the edge of the race.

    This limit governs only where the pin leaves both faces of the ball with nothing wider on it
    than its own diameter: an unshouldered bolt or stud, or the neck of a coned spacer (give the
    neck's diameter).  It is the larger of the two limits; past `face_tilt_limit` the race bears
    on less of the ball.

    Parameters
    ----------
    pin_diameter : (...) float array
        Diameter d of the bolt, stud or neck where it passes the race. [mm]
    race_width : (...) float array
        Width C of the outer ring. [mm]
    ball_diameter : (...) float array
        Diameter dK of the sphere. [mm]

    Returns
    -------
    (...) float array
        acos(d/dK) - asin(C/dK), NaN where the pin does not pass the race at all or a dimension is
        not above 0. [rad]

    Notes
    -----
    The shapes and letters are those of ISO 12240-1.
    """
    pin, race, ball = (
        np.asarray(x, dtype=float) for x in (pin_diameter, race_width, ball_diameter)
    )
    possible = (pin > 0.0) & (race > 0.0) & (np.hypot(pin, race) < ball)
    limit: Array = np.pi / 2 - _asin(pin, ball, possible) - _asin(race, ball, possible)
    return limit


def cone_diameter_at_ball(
    neck_diameter: Array | float,
    shoulder_diameter: Array | float,
    *,
    ball_width: Array | float,
    width_over_spacers: Array | float,
    ball_diameter: Array | float,
) -> Array:
    r"""Diameter at which the cone of a high-misalignment spacer comes out of the ball's sphere.

    The edge of the race runs on that sphere, so this is the pin that `pin_tilt_limit` asks for::

          ______________________     outer face of the spacer: shoulder_diameter
          \                    /
           \      .-""-.      /
            \ .-"        "-. /       here the flank comes out of the sphere
            .\______________/.
          .'                  '.     face of the ball: neck_diameter
         (         ball         )

    Parameters
    ----------
    neck_diameter, shoulder_diameter : (...) float array
        Diameter of the spacer at the face of the ball, and at its outer face. [mm]
    ball_width, width_over_spacers : (...) float array
        Width of the ball between its faces, and over the spacers on both of them. [mm]
    ball_diameter : (...) float array
        Diameter of the sphere. [mm]

    Returns
    -------
    (...) float array
        The diameter; that of the shoulder where the whole spacer lies inside the sphere; NaN
        where the neck comes out beyond it. [mm]

    Notes
    -----
    The flank is taken as straight; a neck that stays narrow up to a step leaves more angle.
    """
    neck, ball = np.asarray(neck_diameter, dtype=float), np.asarray(ball_diameter, dtype=float)
    wider = np.asarray(shoulder_diameter, dtype=float) - neck
    higher = np.asarray(width_over_spacers, dtype=float) - ball_width
    # The share t of the flank where |(neck, width) + t (wider, higher)| = ball.
    square, half = wider**2 + higher**2, neck * wider + ball_width * higher
    inside = ball**2 - neck**2 - np.asarray(ball_width, dtype=float) ** 2
    inside = np.where(inside < 0.0, np.nan, inside)
    root = np.sqrt(half**2 + square * inside)
    share = inside / np.where(half + root > 0.0, half + root, np.inf)
    diameter: Array = neck + np.minimum(share, 1.0) * wider
    return diameter


def _asin(part: Array, whole: Array, possible: NDArray[np.bool_]) -> Array:
    angle: Array = np.arcsin(np.where(possible, part, np.nan) / np.where(possible, whole, np.nan))
    return angle
