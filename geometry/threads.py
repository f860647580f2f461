r"""Screw threads of 60 degrees: what they leave of the bar, and how much of them must engage.

     /\    /\    /\
    /  \  /  \  /  \     H = sqrt(3)/2 p, the height of the sharp triangle
  _/    \/    \/    \_
  |<-p->|      ........  root diameter

References
----------
[1] ISO 898-1, the nominal stress area; ISO 724 and ISO 68-1, the basic profile (from memory).
[2] Machinery's Handbook, 24th edition, strength of screw threads, stress area; the same as
    FED-STD-H28/2B (1991), Table II.B.1, formulas 1b and 13.
"""

from dataclasses import dataclass

import numpy as np

from geometry.vectors import Array

SQRT3 = float(np.sqrt(3.0))
PITCH_DEPTH = 3.0 * SQRT3 / 8.0  # pitches from nominal to pitch diameter, 3/4 H: any 60 deg thread


@dataclass(frozen=True)
class ThreadForm:
    """How many pitches a thread takes off its nominal diameter.

    `root` leads to the root of the external thread, `stress` to the diameter of a plain bar that
    is as strong in tension.
    """

    root: float
    stress: float


METRIC = ThreadForm(root=17.0 * SQRT3 / 24.0, stress=13.0 * SQRT3 / 24.0)  # d3 and (d2 + d3)/2 [1]
UNIFIED = ThreadForm(root=3.0 * SQRT3 / 4.0, stress=9.0 * SQRT3 / 16.0)  # as inch tables print [2]


def root_diameter(
    diameter: Array | float, pitch: Array | float, form: ThreadForm = METRIC
) -> Array:
    """Diameter at the root of an external thread, the least section of a threaded bar.

    Parameters
    ----------
    diameter : (...) float array
        Nominal. [mm]
    pitch : (...) float array
        From one turn to the next. [mm]
    form : ThreadForm
        Metric or unified.

    Returns
    -------
    (...) float array
        Basic size, without tolerance. [mm]
    """
    root: Array = np.asarray(diameter) - form.root * np.asarray(pitch)
    return root


def tensile_stress_area(
    diameter: Array | float, pitch: Array | float, form: ThreadForm = METRIC
) -> Array:
    """Section of a plain bar as strong in tension as the thread, from [1] or [2].

    Parameters
    ----------
    diameter : (...) float array
        Nominal. [mm]
    pitch : (...) float array
        From one turn to the next. [mm]
    form : ThreadForm
        Metric or unified.

    Returns
    -------
    (...) float array
        Area. [mm^2]
    """
    area: Array = np.pi / 4.0 * (np.asarray(diameter) - form.stress * np.asarray(pitch)) ** 2
    return area


def full_strength_engagement(
    diameter: Array | float, pitch: Array | float, form: ThreadForm = METRIC
) -> Array:
    """Engagement at which a thread breaks rather than strips, inner and outer equally strong.

    Parameters
    ----------
    diameter : (...) float array
        Nominal. [mm]
    pitch : (...) float array
        From one turn to the next. [mm]
    form : ThreadForm
        Metric or unified.

    Returns
    -------
    (...) float array
        Length of full turns, without chamfers. [mm]

    Notes
    -----
    Formula 13 of [2], both threads shearing together: half of the cylinder at the pitch diameter
    must hold twice the stress area.  A softer inner thread, an aluminum sleeve say, needs as much
    more as it is weaker.
    """
    pitch_diameter = np.asarray(diameter) - PITCH_DEPTH * np.asarray(pitch)
    length: Array = 4.0 * tensile_stress_area(diameter, pitch, form) / (np.pi * pitch_diameter)
    return length
