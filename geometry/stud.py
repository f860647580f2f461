"""Strength of the stud that carries the outer pivot: a round bar held at one end.

    arm  ||==================o  joint's center
         ||<---- lever ----->|
         section             v  rod force

The section at the arm carries everything: the bending that grows with the lever, and the shear
that does not.  What holds the bar there (a taper, a nut) is taken as rigid, and nothing beside the
bar as helping it.  The rod's force is taken as steady and square to the bar.  The clamp load of a
nut, the notch of a thread and fatigue are not in these figures: they compare one height with
another, and rate no part.

References
----------
[1] J. E. Shigley, C. R. Mischke, Mechanical Engineering Design, 5th edition, 1989: bending,
    transverse shear of a round bar, distortion energy (from memory).
[2] S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd edition, 1970: bending of a bar of
    circular section by an end load (from memory).
"""

import numpy as np

from geometry.vectors import Array


def bending_stress(force: Array | float, lever: Array | float, diameter: Array | float) -> Array:
    """Stress at the outer fiber of a round section, ``32 F L / (pi d^3)`` [1].

    Parameters
    ----------
    force : (...) float array
        Across the bar. [N]
    lever : (...) float array
        From the section to the line of the force. [mm]
    diameter : (...) float array
        Of the section. [mm]

    Returns
    -------
    (...) float array
        Positive on the side of the bar that is pulled for a positive force. [MPa]
    """
    return 32.0 * np.asarray(force) * lever / (np.pi * np.asarray(diameter) ** 3)


def shear_stress(force: Array | float, diameter: Array | float) -> Array:
    """Greatest transverse shear of a round section, ``4/3 F / A`` on the neutral axis [1].

    Parameters
    ----------
    force : (...) float array
        Across the bar. [N]
    diameter : (...) float array
        Of the section. [mm]

    Returns
    -------
    (...) float array
        In the direction of the force. [MPa]
    """
    return 16.0 * np.asarray(force) / (3.0 * np.pi * np.asarray(diameter) ** 2)


def von_mises_stress(normal: Array | float, shear: Array | float) -> Array:
    """Stress that strains as much as a normal and a shear stress at one place do, [MPa] for [MPa].

    ``sqrt(normal^2 + 3 shear^2)``: the distortion-energy theory [1], (...) with (...) to (...).
    """
    combined: Array = np.sqrt(np.asarray(normal) ** 2 + 3.0 * np.asarray(shear) ** 2)
    return combined


def stud_stress(force: Array | float, lever: Array | float, diameter: Array | float) -> Array:
    """Stress that no place of the stud's section exceeds.

    Parameters
    ----------
    force : (...) float array
        Of the tie rod, either way. [N]
    lever : (...) float array
        From the section that carries the load to the joint's center, either way. [mm]
    diameter : (...) float array
        Of that section: the taper's large end, the shank, or the root of a thread. [mm]

    Returns
    -------
    (...) float array
        Von Mises stress, positive. [MPa]

    Notes
    -----
    Bending is greatest at the outer fiber, where there is no shear, and shear on the neutral axis,
    where there is no bending.  The greatest of both are combined here as if they met in one place.
    By beam theory that is too much: by 4 % for a lever of one diameter, by 1 % for two.  It also
    covers the shear of the exact solution [2], up to 1.4 F/A, for every lever above a tenth of the
    diameter.
    """
    return von_mises_stress(bending_stress(force, lever, diameter), shear_stress(force, diameter))


def force_at_stress(stress: Array | float, lever: Array | float, diameter: Array | float) -> Array:
    """Rod force under which the stud's section reaches a stress.

    Parameters
    ----------
    stress : (...) float array
        Proof or yield strength of the stud's steel. [MPa]
    lever : (...) float array
        From the section that carries the load to the joint's center. [mm]
    diameter : (...) float array
        Of that section. [mm]

    Returns
    -------
    (...) float array
        Never more than the force that takes any place of the section there, see `stud_stress`. [N]
    """
    force: Array = np.asarray(stress) / stud_stress(1.0, lever, diameter)
    return force
