"""How far a rod and the arm that it moves are from one line, seen along the axis of the arm.

Square to its axis an arm of length ``a``, the rod of projected length ``l`` and the distance ``r``
from the axis to the rod's far end form a triangle, so the angle between rod and arm follows from
the law of cosines::

    cos(angle) = (a^2 + l^2 - r^2) / (2 a l),    l^2 = L^2 - (height of arm's end - far end's)^2

with both heights counted along the axis.  Mechanism theory calls its acute form the transmission
angle: a push along the rod turns the arm by the sine of it, and none at all where the two are in
one line, their dead center (Alt, 1932; VDI 2123 and most textbooks of mechanisms, from memory).

The right-hand side needs no pose of the arm: it tells from where the axis and the far end are
whether the rod reaches, exceeding 1 where it does not.
"""

import numpy as np

from geometry.vectors import Array, dot


def rod_arm_cosine(point: Array, axis: Array, outer: Array, inner: Array, length: Array) -> Array:
    """Cosine of the angle between rod and arm, square to the arm's axis.

    Parameters
    ----------
    point, axis : (..., 3) float array
        A point of the axis that the arm turns about [mm], and its unit direction.
    outer : (..., 3) float array
        The arm's end, wherever it has turned to. [mm]
    inner : (..., 3) float array
        The rod's far end. [mm]
    length : (...) float array
        Of the rod. [mm]

    Returns
    -------
    (...) float array
        -1 where the rod prolongs the arm, 1 where it lies along the arm, beyond either where the
        arm can't be turned so that the rod reaches; NaN where the rod is shorter than the two ends
        are apart along the axis.
    """
    arm, far = outer - point, inner - point
    along_arm, along_far = dot(arm, axis), dot(far, axis)
    arm_square = dot(arm, arm) - along_arm**2
    rod_square = np.asarray(length) ** 2 - (along_arm - along_far) ** 2
    far_square = dot(far, far) - along_far**2
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine: Array = (arm_square + rod_square - far_square) / (
            2.0 * np.sqrt(arm_square * rod_square)
        )
    return cosine
