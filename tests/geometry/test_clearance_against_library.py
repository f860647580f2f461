"""Gaps against coal, a general-purpose collision library (an extension of the Flexible Collision
Library): other mathematics (GJK and its own closed forms), other shapes of the same parts.

One thousand random pairs of each kind, up to half a meter apart and overlapping too; of capsule
and disc those where the capsule's center line stays outside the disc, since beyond that the two
have different words for depth.
"""

import coal
import numpy as np
import pytest

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap
from geometry.vectors import unit

PAIRS = 1000
# The least that coal's iterations leave on lengths of this size, at the tolerances asked below;
# the goal that the gaps are held to.
LIBRARY_ATOL_MM = 1e-6


def turned_from_z(axis):
    """Rotation matrix that carries z to a unit axis."""
    other = unit(np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))]))
    return np.stack([other, np.cross(axis, other), axis], axis=-1)


def placed(center, axis):
    return coal.Transform3s(turned_from_z(axis), np.asarray(center))


def library_gap(shape, place, other, other_place):
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    request.enable_signed_distance = True
    request.gjk_tolerance = 1e-10
    request.gjk_max_iterations = 1000
    request.rel_err = request.abs_err = 0.0
    return coal.distance(shape, place, other, other_place, request, result)


def library_capsule(start, end, radius):
    shape = coal.Capsule(radius, np.linalg.norm(end - start))
    return shape, placed((start + end) / 2.0, unit(end - start))


def random_capsules(rng, spread):
    start = rng.uniform(-spread, spread, (PAIRS, 3))
    along = unit(rng.normal(size=(PAIRS, 3))) * rng.uniform(5.0, 400.0, (PAIRS, 1))
    return Capsule(start, start + along, rng.uniform(1.0, 40.0, PAIRS))


def both(gaps, expected):
    """Whether the pairs hold clear ones and overlapping ones, so that neither goes unchecked."""
    assert gaps == pytest.approx(np.array(expected), abs=LIBRARY_ATOL_MM, rel=0.0)
    return (gaps > 10.0).sum() > 100 and (gaps < -1.0).sum() > 30


def rows(capsules):
    return zip(capsules.start, capsules.end, capsules.radius, strict=True)


def test_capsules_are_as_far_apart_as_the_library_says():
    rng = np.random.default_rng(1)
    a, b = random_capsules(rng, 120.0), random_capsules(rng, 120.0)
    expected = [
        library_gap(*library_capsule(*one), *library_capsule(*other))
        for one, other in zip(rows(a), rows(b), strict=True)
    ]
    assert both(capsule_gap(a, b), expected)


def test_a_capsule_is_as_far_from_a_plane_as_the_library_says():
    rng = np.random.default_rng(2)
    part = random_capsules(rng, 200.0)
    points, normals = rng.uniform(-200.0, 200.0, (PAIRS, 3)), unit(rng.normal(size=(PAIRS, 3)))
    here = coal.Transform3s.Identity()
    expected = [
        library_gap(*library_capsule(*one), coal.Halfspace(normal, normal @ point), here)
        for one, point, normal in zip(rows(part), points, normals, strict=True)
    ]
    assert both(plane_gap(part, points, normals), expected)


def test_a_capsule_is_as_far_from_a_disc_as_the_library_says():
    rng = np.random.default_rng(3)
    axes, centers = unit(rng.normal(size=(PAIRS, 3))), rng.uniform(-50.0, 50.0, (PAIRS, 3))
    diameter, width = rng.uniform(100.0, 400.0, PAIRS), rng.uniform(5.0, 60.0, PAIRS)
    inboard = rng.uniform(-40.0, 20.0, PAIRS)
    disc = {"diameter": diameter, "inboard": inboard, "outboard": inboard + width}
    # Candidates enough that a thousand keep their center line outside.
    part = capsules_off_the_disc(rng, centers, axes, disc)
    expected = [
        library_gap(
            *library_capsule(*one),
            coal.Cylinder(across / 2.0, wide),
            placed(center + (inner + wide / 2.0) * axis, axis),
        )
        for one, center, axis, across, wide, inner in zip(
            rows(part), centers, axes, diameter, width, inboard, strict=True
        )
    ]
    assert both(disc_gap(part, centers, axes, **disc), expected)


def capsules_off_the_disc(rng, centers, axes, disc):
    """For each disc a random capsule whose center line stays outside it."""
    part = random_capsules(rng, 200.0)
    for _ in range(200):
        line = Capsule(part.start, part.end, 0.0)
        inside = disc_gap(line, centers, axes, **disc) < 1e-3
        if not inside.any():
            return part
        again = random_capsules(rng, 200.0)
        for kept, new in ((part.start, again.start), (part.end, again.end)):
            kept[inside] = new[inside]
        part.radius[inside] = again.radius[inside]
    raise AssertionError("no capsule was found that stays outside")
