import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from geometry.clearance import Capsule, capsule_gap, disc_gap, plane_gap
from geometry.rim import rim_gap
from geometry.vectors import rotation_about, turned, unit

from .directions import direction
from .sampled import SAMPLED_ATOL_MM, axial, sampled_least

LENGTH_ATOL_MM = 1e-9

ORIGIN = np.zeros(3)
X, Y, Z = np.eye(3)
DISC = {"diameter": 300.0, "inboard": -30.0, "outboard": 10.0}
RIM = {"inside_diameter": 360.0, "inboard": -110.0, "outboard": 60.0}

coordinate = st.floats(-300.0, 300.0)
point = st.tuples(coordinate, coordinate, coordinate).map(np.array)
radius = st.floats(0.0, 30.0)
capsule = st.builds(Capsule, start=point, end=point, radius=radius)

slow_enough = settings(deadline=None)


def at(x, y, z):
    return np.array([x, y, z], dtype=float)


def rod(start, end, radius=0.0):
    return Capsule(at(*start), at(*end), radius)


def moved(part, rotation, shift):
    start, end = (turned(rotation, p) + shift for p in (part.start, part.end))
    return Capsule(start, end, part.radius)


# --- capsules ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("a", "b", "gap"),
    [
        pytest.param(((0, 0, 0), (100, 0, 0)), ((50, -50, 40), (50, 50, 40)), 40.0, id="square"),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((50, -50, 0), (50, 50, 0)), 0.0, id="crossing"),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((20, 0, 30), (220, 0, 30)), 30.0, id="parallel"),
        pytest.param(
            ((0, 0, 0), (100, 0, 0)), ((330, 0, 40), (130, 0, 40)), 50.0, id="past the end"
        ),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((170, 0, 0), (250, 0, 0)), 70.0, id="in line"),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((60, 0, 0), (250, 0, 0)), 0.0, id="overlaid"),
        pytest.param(((0, 0, 0), (0, 0, 0)), ((3, 4, -50), (3, 4, 50)), 5.0, id="point and line"),
        pytest.param(((0, 0, 0), (0, 0, 0)), ((2, 3, 6), (2, 3, 6)), 7.0, id="two points"),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((103, 4, 0), (103, 90, 0)), 5.0, id="end to end"),
        pytest.param(((0, 0, 0), (100, 0, 0)), ((50, 8, 0), (50, 90, 0)), 8.0, id="end to side"),
    ],
)
def test_the_gap_of_two_capsules_is_the_distance_of_their_lines_less_both_radii(a, b, gap):
    found = capsule_gap(rod(*a, 11.0), rod(*b, 6.0))
    assert found == pytest.approx(gap - 17.0, abs=LENGTH_ATOL_MM)


def test_a_hair_of_an_angle_between_long_rods_is_no_trouble():
    hair = 10.0 ** np.arange(-17.0, -3.0)
    start = np.stack([np.full(14, -200.0), -200.0 * hair, np.full(14, 12.0)], axis=-1)
    gap = capsule_gap(rod((-200, 0, 0), (200, 0, 0)), Capsule(start, -start + 24.0 * Z, 0.0))
    assert gap == pytest.approx(12.0, abs=LENGTH_ATOL_MM)


@given(capsule, capsule)
@slow_enough
def test_the_gap_of_two_capsules_is_the_least_of_the_sampled_distances(a, b):
    length = np.linalg.norm(b.end - b.start)

    def distance_from_b(points):
        if length == 0.0:
            return np.linalg.norm(points - b.start, axis=-1)
        station, away = axial(points - b.start, (b.end - b.start) / length)
        past_an_end = np.maximum(np.maximum(-station, station - length), 0.0)
        return np.sqrt(away**2 + past_an_end**2)

    sampled = sampled_least(distance_from_b, a) - a.radius - b.radius
    found = capsule_gap(a, b)
    assert found == pytest.approx(sampled, abs=SAMPLED_ATOL_MM)


@given(capsule, capsule)
def test_the_gap_does_not_depend_on_which_capsule_or_which_end_comes_first(a, b):
    turned_round = Capsule(b.end, b.start, b.radius)
    found = capsule_gap(a, b)
    assert capsule_gap(b, a) == pytest.approx(found, abs=LENGTH_ATOL_MM)
    assert capsule_gap(a, turned_round) == pytest.approx(found, abs=LENGTH_ATOL_MM)


# --- plane ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "end", "gap"),
    [((0, 0, 25), (90, 0, 70), 20.0), ((0, 0, 70), (90, 0, -8), -13.0), ((0, 0, 5), (9, 9, 5), 0)],
)
def test_the_gap_to_a_plane_is_that_of_the_nearer_end(start, end, gap):
    found = plane_gap(rod(start, end, 5.0), at(400, -70, 0), 3.0 * Z)
    assert found == pytest.approx(gap, abs=LENGTH_ATOL_MM)


@given(capsule, point, direction)
@slow_enough
def test_the_gap_to_a_plane_is_the_least_of_the_sampled_heights(part, on_plane, normal):
    sampled = sampled_least(lambda points: (points - on_plane) @ normal, part) - part.radius
    assert plane_gap(part, on_plane, normal) == pytest.approx(sampled, abs=LENGTH_ATOL_MM)


# --- disc: radius 150 about y, faces at y = -30 and y = 10 ---------------------------------------


@pytest.mark.parametrize(
    ("start", "end", "gap"),
    [
        pytest.param((0, -100, 170), (0, 50, 170), 20.0, id="along the axis, outside"),
        pytest.param((-200, -45, 0), (200, -45, 0), 15.0, id="square to the axis, inboard"),
        pytest.param((-200, 0, 160), (200, 0, 160), 10.0, id="over the top"),
        pytest.param((0, -34, 153), (0, -200, 153), 5.0, id="off the corner"),
        pytest.param((0, -42, 153), (0, -22, 168), 9.6, id="slanting past the corner"),
        pytest.param((0, -200, 140), (0, 200, 140), -10.0, id="through, near the rim"),
        pytest.param((0, -200, 0), (0, 200, 0), -20.0, id="through the middle"),
        pytest.param((0, -200, 0), (0, -24, 0), -6.0, id="into the face"),
        pytest.param((0, 5, 20), (0, 5, 20), -5.0, id="point inside"),
    ],
)
def test_the_gap_to_a_disc_is_the_distance_from_its_surface(start, end, gap):
    found = disc_gap(rod(start, end, 4.0), ORIGIN, Y, **DISC)
    assert found == pytest.approx(gap - 4.0, abs=LENGTH_ATOL_MM)


@given(capsule, direction)
@slow_enough
def test_the_gap_to_a_disc_is_the_least_of_the_sampled_distances(part, axis):
    def distance_from_surface(points):
        station, away = axial(points, axis)
        beyond_rim, beyond_face = away - 150.0, np.maximum(-30.0 - station, station - 10.0)
        outside = np.sqrt(np.maximum(beyond_rim, 0.0) ** 2 + np.maximum(beyond_face, 0.0) ** 2)
        return np.where(outside > 0.0, outside, np.maximum(beyond_rim, beyond_face))

    sampled = sampled_least(distance_from_surface, part) - part.radius
    found = disc_gap(part, ORIGIN, axis, **DISC)
    assert found == pytest.approx(sampled, abs=SAMPLED_ATOL_MM)


# --- rim: inside radius 180 about y, edges at y = -110 and y = 60 --------------------------------


@pytest.mark.parametrize(
    ("start", "end", "gap"),
    [
        pytest.param((0, -300, 150), (0, -20, 150), 30.0, id="along the axis, inside"),
        pytest.param((0, -300, 100), (0, -20, 172), 8.0, id="nearest at the ball"),
        pytest.param((-144, -20, 0), (90, -20, 120), 30.0, id="square to the axis"),
        pytest.param((0, -161.6, 211.2), (0, -65.6, 139.2), 6.0, id="out past the edge"),
        pytest.param((0, -150, 0), (0, -400, 0), np.hypot(40, 180), id="short of the edge"),
        pytest.param((0, 100, 150), (0, 300, 150), 50.0, id="past the outboard edge"),
        pytest.param((0, -300, 150), (0, -20, 188), -8.0, id="ball beyond the radius"),
        pytest.param((0, -310, 280), (0, -10, 160), -20.0, id="through the barrel"),
        pytest.param((0, -118, 200), (0, -400, 150), 8.0, id="behind the edge"),
    ],
)
def test_the_gap_to_a_rim_is_the_distance_from_the_inside_of_its_barrel(start, end, gap):
    found = rim_gap(rod(start, end, 9.0), ORIGIN, Y, **RIM)
    assert found == pytest.approx(gap - 9.0, abs=LENGTH_ATOL_MM)


def ends_are_off_the_edges(part, axis):
    """Whether no end lies in the plane of an edge, where the gap of an end outside jumps."""
    stations = np.array([part.start @ axis, part.end @ axis])
    return np.abs(stations[:, None] - [RIM["inboard"], RIM["outboard"]]).min() > 1e-9


def gap_inside_rim(points, axis):
    station, away = axial(points, axis)
    past = np.maximum(-110.0 - station, station - 60.0)
    room = 180.0 - away
    return np.where(
        past <= 0.0, room, np.sqrt(np.maximum(past, 0.0) ** 2 + np.maximum(room, 0.0) ** 2)
    )


@given(capsule, direction)
@slow_enough
def test_the_gap_to_a_rim_is_the_least_of_the_sampled_distances(part, axis):
    assume(ends_are_off_the_edges(part, axis))
    sampled = sampled_least(lambda points: gap_inside_rim(points, axis), part) - part.radius
    found = rim_gap(part, ORIGIN, axis, **RIM)
    assert found == pytest.approx(sampled, abs=SAMPLED_ATOL_MM)


@given(
    st.floats(0.0, 0.5 * np.pi),
    st.sampled_from([0.0, 1e-12, 1e-9, -1e-6, 1e-4, -1e-3, 1e-2]),
    st.floats(-5.0, 5.0),
    st.floats(0.0, 300.0),
    st.floats(0.0, 300.0),
)
@slow_enough
def test_a_rod_that_nearly_follows_the_edge_of_a_rim_is_no_trouble(slope, off, past, before, after):
    # Here the squared distance from the edge's circle is flat to the third order.
    closest = at(180.0 * np.cos(slope) ** 2 * (1.0 + off), -110.0 + past, 0.0)
    along = np.sin(slope) * Y + np.cos(slope) * Z
    part = Capsule(closest - before * along, closest + after * along, 0.0)
    assume(ends_are_off_the_edges(part, Y))
    sampled = sampled_least(lambda points: gap_inside_rim(points, Y), part)
    assert rim_gap(part, ORIGIN, Y, **RIM) == pytest.approx(sampled, abs=SAMPLED_ATOL_MM)


def test_no_point_of_the_barrel_is_nearer_to_the_rod_than_the_gap_says():
    round_it, station = np.meshgrid(
        np.radians(np.arange(0.0, 360.0, 1.0)), np.linspace(-110.0, 60.0, 86)
    )
    barrel = np.stack(
        [180.0 * np.cos(round_it), station, 180.0 * np.sin(round_it)], axis=-1
    ).reshape(-1, 3)
    rng = np.random.default_rng(20)
    balls = rng.uniform([-90.0, -90.0, -90.0], [90.0, 40.0, 90.0], (40, 3))
    inner_ends = rng.uniform([-120.0, -500.0, -120.0], [120.0, -300.0, 120.0], (40, 3))
    gaps = rim_gap(Capsule(inner_ends, balls, 0.0), ORIGIN, Y, **RIM)
    for inner_end, ball, gap in zip(inner_ends, balls, gaps, strict=True):
        nearest = capsule_gap(Capsule(inner_end, ball, 0.0), Capsule(barrel, barrel, 0.0)).min()
        # Half the diagonal of a grid cell of 2 by 3.14 mm.
        assert gap - LENGTH_ATOL_MM <= nearest <= gap + 1.87


# --- all gaps ------------------------------------------------------------------------------------

GAPS = {
    "capsule": lambda part, center, axis: capsule_gap(
        part, Capsule(center - 150.0 * axis, center + 90.0 * axis, 8.0)
    ),
    "plane": plane_gap,
    "disc": lambda part, center, axis: disc_gap(part, center, axis, **DISC),
    "rim": lambda part, center, axis: rim_gap(part, center, axis, **RIM),
}
every_gap = pytest.mark.parametrize("gap", GAPS.values(), ids=GAPS.keys())


@every_gap
@given(
    part=capsule,
    center=point,
    axis=direction,
    about=direction,
    angle=st.floats(-3.0, 3.0),
    shift=point,
)
@slow_enough
def test_moving_the_whole_car_leaves_the_gap_as_it_is(gap, part, center, axis, about, angle, shift):
    assume(ends_are_off_the_edges(moved(part, np.eye(3), -center), axis))
    turn = rotation_about(about, np.asarray(angle))
    there = gap(moved(part, turn, shift), turned(turn, center) + shift, turned(turn, axis))
    assert there == pytest.approx(gap(part, center, axis), abs=LENGTH_ATOL_MM)


@every_gap
@given(part=capsule, center=point, axis=direction)
def test_a_thicker_rod_has_less_room_by_as_much(gap, part, center, axis):
    thicker = Capsule(part.start, part.end, part.radius + 2.5)
    assert gap(thicker, center, axis) == pytest.approx(
        gap(part, center, axis) - 2.5, abs=LENGTH_ATOL_MM
    )


@every_gap
def test_one_pose_equals_its_row_of_the_batch(gap):
    rng = np.random.default_rng(3)
    start, end = rng.uniform(-300.0, 300.0, (2, 6, 1, 3))
    center, axis = rng.uniform(-20.0, 20.0, (4, 3)), unit(rng.uniform(0.2, 1.0, (4, 3)))
    whole = gap(Capsule(start, end, np.linspace(5.0, 9.0, 6)[:, None]), center, axis)
    assert whole.shape == (6, 4)
    one = gap(Capsule(start[5, 0], end[5, 0], 9.0), center[2], axis[2])
    assert one == pytest.approx(whole[5, 2], abs=LENGTH_ATOL_MM)


@every_gap
def test_a_pose_out_of_reach_has_no_gap_and_spoils_no_other(gap):
    end = np.array([[0.0, -50.0, 100.0], [np.nan, np.nan, np.nan]])
    gaps = gap(Capsule(at(0, -300, 90), end, 9.0), ORIGIN, Y)
    assert np.isnan(gaps).tolist() == [False, True]
