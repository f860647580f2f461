"""Rim barrels whose inside was measured at several stations."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.clearance import Capsule, capsule_gap
from geometry.rim import barrel_gap, rim_gap
from geometry.vectors import unit

from .directions import direction
from .sampled import SAMPLED_ATOL_MM, axial, sampled_least

LENGTH_ATOL_MM = 1e-9

ORIGIN = np.zeros(3)
Y = np.array([0.0, 1.0, 0.0])
# A lip, a cone down to the drop center, the drop center, and a cone up to the outboard seat.
STATIONS = [-110.0, -85.0, -40.0, 10.0, 40.0]
DIAMETERS = [400.0, 390.0, 360.0, 360.0, 380.0]
BARREL = {"stations": STATIONS, "inside_diameters": DIAMETERS}
RADIUS_TAKEN = [195.0, 180.0, 180.0, 180.0]

coordinate = st.floats(-250.0, 250.0)
point = st.tuples(coordinate, coordinate, coordinate).map(np.array)


def rod(start, end, radius=0.0):
    return Capsule(np.array(start, dtype=float), np.array(end, dtype=float), radius)


def sampled_gap(part, axis):
    """Gap from points of the center line, every section of the barrel asked for its own."""

    def room_at(points):
        station, away = axial(points, axis)
        least = np.full(station.shape, np.inf)
        for (inboard, outboard), radius in zip(pairwise(STATIONS), RADIUS_TAKEN, strict=True):
            past, room = np.maximum(inboard - station, station - outboard), radius - away
            outside = np.hypot(np.maximum(past, 0.0), np.maximum(room, 0.0))
            least = np.minimum(least, np.where(past <= 0.0, room, outside))
        return least

    return sampled_least(room_at, part) - part.radius


@pytest.mark.parametrize(
    ("start", "end", "gap"),
    [
        pytest.param((0, -300, 170), (0, -109, 170), 25.0, id="at the lip"),
        pytest.param((0, -300, 170), (0, -90, 170), np.hypot(10, 5), id="short of the step"),
        pytest.param((0, -300, 150), (0, 20, 150), 30.0, id="in the drop center"),
        pytest.param((0, -300, 188), (0, -97, 188), 7.0, id="under the lip, beyond the step"),
        pytest.param((0, -300, 190), (0, -87, 190), 2.0, id="up against the step's wall"),
        pytest.param((0, -300, 150), (0, 20, 184), -4.0, id="into the drop center"),
    ],
)
def test_the_gap_is_that_to_the_nearest_of_the_steps(start, end, gap):
    found = barrel_gap(rod(start, end, 3.0), ORIGIN, Y, **BARREL)
    assert found == pytest.approx(gap - 3.0, abs=LENGTH_ATOL_MM)


def test_a_barrel_of_one_diameter_is_the_plain_barrel():
    rng = np.random.default_rng(4)
    part = Capsule(*rng.uniform(-250.0, 250.0, (2, 200, 3)), 9.0)
    plain = rim_gap(part, ORIGIN, Y, inside_diameter=360.0, inboard=-110.0, outboard=60.0)
    for stations in ([-110.0, 60.0], [-110.0, -20.0, 60.0]):
        gap = barrel_gap(
            part, ORIGIN, Y, stations=stations, inside_diameters=[360.0] * len(stations)
        )
        assert gap == pytest.approx(plain, abs=LENGTH_ATOL_MM)


@given(point, point, st.floats(0.0, 30.0), direction)
@settings(deadline=None, max_examples=300)
def test_the_gap_is_the_least_of_the_sampled_ones(start, end, radius, axis):
    part = Capsule(start, end, radius)
    ends = np.array([start @ axis, end @ axis])
    assume(np.abs(ends[:, None] - STATIONS).min() > 1e-9)  # the gap of an end outside jumps there
    expected = sampled_gap(part, axis)
    assert barrel_gap(part, ORIGIN, axis, **BARREL) == pytest.approx(expected, abs=SAMPLED_ATOL_MM)


def test_one_pose_equals_its_row_of_the_batch():
    rng = np.random.default_rng(5)
    start, end = rng.uniform(-250.0, 250.0, (2, 6, 1, 3))
    centers, axes = rng.uniform(-20.0, 20.0, (4, 3)), unit(rng.uniform(0.2, 1.0, (4, 3)))
    whole = barrel_gap(Capsule(start, end, 9.0), centers, axes, **BARREL)
    assert whole.shape == (6, 4)
    one = barrel_gap(Capsule(start[5, 0], end[5, 0], 9.0), centers[2], axes[2], **BARREL)
    assert one == pytest.approx(whole[5, 2], abs=LENGTH_ATOL_MM)


def test_a_pose_out_of_reach_has_no_gap():
    end = np.array([[0.0, -50.0, 100.0], [np.nan, np.nan, np.nan]])
    gaps = barrel_gap(Capsule(np.array([0.0, -300.0, 90.0]), end, 9.0), ORIGIN, Y, **BARREL)
    assert np.isnan(gaps).tolist() == [False, True]


def cloud(stations, radii):
    """Points of a surface of revolution about y, a degree apart."""
    angle = np.radians(np.arange(0.0, 360.0, 1.0))
    return np.stack(
        [
            np.outer(radii, np.cos(angle)),
            np.outer(stations, np.ones(360)),
            np.outer(radii, np.sin(angle)),
        ],
        axis=-1,
    ).reshape(-1, 3)


def rods_within(rng, count):
    balls = rng.uniform([-110.0, -105.0, -110.0], [110.0, 30.0, 110.0], (count, 3))
    return zip(rng.uniform([-120, -500, -120], [120, -300, 120], (count, 3)), balls, strict=True)


def test_no_point_of_the_steps_is_nearer_to_the_rod_than_the_gap_says():
    stations, radii = [], []
    for (inboard, outboard), radius in zip(pairwise(STATIONS), RADIUS_TAKEN, strict=True):
        along = np.linspace(inboard, outboard, int(outboard - inboard) + 1)
        stations, radii = [*stations, *along], [*radii, *np.full(along.size, radius)]
    wall = np.arange(180.0, 196.0)
    surface = cloud(np.array([*stations, *np.full(wall.size, -85.0)]), np.array([*radii, *wall]))
    for inner_end, ball in rods_within(np.random.default_rng(6), 40):
        line = Capsule(inner_end, ball, 0.0)
        gap = barrel_gap(line, ORIGIN, Y, **BARREL)
        nearest = capsule_gap(line, Capsule(surface, surface, 0.0)).min()
        # Half the diagonal of a grid cell of 1 by 3.4 mm.
        assert gap - LENGTH_ATOL_MM <= nearest <= gap + 1.78


def test_a_barrel_that_slants_between_the_stations_is_never_nearer_than_the_gap_says():
    stations = np.linspace(STATIONS[0], STATIONS[-1], 151)
    slanting = cloud(stations, 0.5 * np.interp(stations, STATIONS, DIAMETERS))
    nearer = []
    for inner_end, ball in rods_within(np.random.default_rng(7), 40):
        line = Capsule(inner_end, ball, 0.0)
        nearest = capsule_gap(line, Capsule(slanting, slanting, 0.0)).min()
        nearer.append(nearest - barrel_gap(line, ORIGIN, Y, **BARREL))
    assert min(nearer) >= -LENGTH_ATOL_MM
    assert max(nearer) > 1.0  # somewhere the slant leaves room that the steps do not count
