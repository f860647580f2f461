import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from geometry.rod_ends import inner_tilt, outer_tilt
from geometry.tilt_limits import cone_diameter_at_ball, face_tilt_limit, pin_tilt_limit
from geometry.vectors import cross, dot, norm, rotation_about, turned, unit

from .directions import direction

ANGLE_ATOL_DEG = 1e-9
# Rolls are tried every tenth of a degree, so the best one is missed by half that at most.
ROLL_STEP_DEG = 0.1

PUBLISHED = tomllib.loads(
    (Path(__file__).parents[1] / "published" / "rod_end_tilt.toml").read_text(encoding="utf-8")
)

X, Y, Z = np.eye(3)


def degrees(angle):
    return np.degrees(np.asarray(angle))


def leaning(axis, about, angle_deg):
    return turned(rotation_about(about, np.radians(angle_deg)), axis)


def printed(table, column):
    """Published rows as (columns by name, whole degrees as printed)."""
    names = PUBLISHED[table]["columns"]
    columns = dict(zip(names, np.array(PUBLISHED[table]["rows"], dtype=float).T, strict=True))
    return columns, columns[column]


# --- outer joint, rod free to turn ---------------------------------------------------------------


def test_a_bolt_square_to_the_rod_does_not_tilt_the_joint():
    assert outer_tilt(Y, Z) == 0.0


def test_a_bolt_along_the_rod_tilts_the_joint_by_a_right_angle():
    assert degrees(outer_tilt(Y, Y)) == pytest.approx(90.0, abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("lean_deg", [-30.0, -0.001, 12.5, 89.0])
def test_a_bolt_leaning_along_the_rod_tilts_the_joint_by_its_lean(lean_deg):
    tilt = outer_tilt(Y, leaning(Z, X, lean_deg))
    assert degrees(tilt) == pytest.approx(abs(lean_deg), abs=ANGLE_ATOL_DEG)


def test_a_bolt_leaning_across_a_rod_that_turns_does_not_tilt_the_joint():
    assert degrees(outer_tilt(Y, leaning(Z, Y, 25.0))) == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


def test_directions_of_any_length_and_sense_give_one_tilt():
    bolt = leaning(Z, X, 20.0)
    tilts = [outer_tilt(a * Y, b * bolt) for a in (400.0, -0.1) for b in (-7.0, 3.0)]
    assert degrees(tilts) == pytest.approx(20.0, abs=ANGLE_ATOL_DEG)


@given(direction, direction)
def test_a_rod_that_turns_tilts_as_little_as_the_best_roll_of_its_housing_allows(rod, bolt):
    assume(norm(cross(rod, bolt)) > 1e-3)
    square = unit(cross(rod, bolt))
    rolls = np.radians(np.arange(0.0, 180.0, ROLL_STEP_DEG))
    races = turned(rotation_about(rod, rolls), square)
    least = degrees(np.arccos(np.clip(np.abs(dot(races, bolt)), 0.0, 1.0))).min()
    tilt = degrees(outer_tilt(rod, bolt))
    # 1e-5: an arccos near 1 is no better than that.
    assert tilt - 1e-5 <= least <= tilt + ROLL_STEP_DEG / 2


# --- outer joint, rod that can't turn ------------------------------------------------------------


def held_tilt(rod, bolt, rod_reference, bolt_reference):
    return outer_tilt(
        rod, bolt, rod_turns=False, rod_reference=rod_reference, bolt_reference=bolt_reference
    )


def test_a_bolt_leaning_across_a_rod_that_cannot_turn_tilts_the_joint_by_its_lean():
    tilt = held_tilt(Y, leaning(Z, Y, 25.0), Y, Z)
    assert degrees(tilt) == pytest.approx(25.0, abs=ANGLE_ATOL_DEG)


def test_a_rod_that_cannot_turn_swings_about_its_bolt_without_tilt():
    rods = leaning(Y, Z, np.array([-40.0, 0.0, 35.0]))
    assert degrees(held_tilt(rods, Z, Y, Z)) == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


def test_a_rod_that_cannot_turn_tilts_by_its_swing_toward_the_bolt():
    tilt = held_tilt(leaning(Y, X, 18.0), Z, Y, Z)
    assert degrees(tilt) == pytest.approx(18.0, abs=ANGLE_ATOL_DEG)


@given(direction, direction)
def test_at_the_reference_pose_only_the_lean_along_the_rod_tilts_the_joint(rod, bolt):
    assume(norm(cross(rod, bolt)) > 1e-3)
    assert degrees(held_tilt(rod, bolt, rod, bolt)) == pytest.approx(
        degrees(outer_tilt(rod, bolt)), abs=ANGLE_ATOL_DEG
    )


@given(direction, direction, direction, direction)
def test_a_rod_that_cannot_turn_never_tilts_less_than_one_that_does(rod, bolt, rod_0, bolt_0):
    assume(norm(cross(rod_0, bolt_0)) > 1e-3)
    assume(dot(rod, rod_0) > -0.9)
    free, held = outer_tilt(rod, bolt), held_tilt(rod, bolt, rod_0, bolt_0)
    assert degrees(held) >= degrees(free) - ANGLE_ATOL_DEG


@given(direction, direction, direction, direction)
def test_the_race_axis_is_carried_by_the_smallest_turn_between_the_two_rods(
    rod, bolt, rod_0, bolt_0
):
    assume(norm(cross(rod_0, bolt_0)) > 1e-3)
    assume(norm(cross(rod_0, rod)) > 1e-3)
    smallest_turn = rotation_about(
        unit(cross(rod_0, rod)), np.arctan2(norm(cross(rod_0, rod)), dot(rod_0, rod))
    )
    race = turned(smallest_turn, unit(bolt_0 - dot(bolt_0, rod_0) * rod_0))
    expected = np.arctan2(norm(cross(race, bolt)), np.abs(dot(race, bolt)))
    # 1e-7: rods nearly opposite leave the smallest turn itself ill-defined.
    assert degrees(held_tilt(rod, bolt, rod_0, bolt_0)) == pytest.approx(
        degrees(expected), abs=1e-7
    )


@given(direction, direction, direction, direction, direction, st.floats(-3.0, 3.0))
def test_turning_the_whole_car_leaves_the_tilt_as_it_is(rod, bolt, rod_0, bolt_0, about, angle):
    assume(norm(cross(rod_0, bolt_0)) > 1e-2)
    assume(dot(rod, rod_0) > -0.9)
    turn = rotation_about(about, np.asarray(angle))
    there = held_tilt(*(turned(turn, v) for v in (rod, bolt, rod_0, bolt_0)))
    assert degrees(there) == pytest.approx(
        degrees(held_tilt(rod, bolt, rod_0, bolt_0)), abs=ANGLE_ATOL_DEG
    )


def test_a_rod_that_cannot_turn_needs_its_reference():
    with pytest.raises(ValueError, match="needs rod_reference and bolt_reference"):
        outer_tilt(Y, Z, rod_turns=False, rod_reference=Y)


def test_a_direction_without_length_or_a_rod_turned_round_has_no_tilt():
    nothing = np.zeros(3)
    assert np.isnan(outer_tilt(nothing, Z))
    assert np.isnan(inner_tilt(Y, nothing))
    assert np.isnan(held_tilt(Y, Z, Y, Y))
    assert np.isnan(held_tilt(-Y, Z, Y, Z))


def test_one_pose_equals_its_row_of_the_batch():
    rods = leaning(Y, X, np.linspace(-20.0, 20.0, 5))[:, None]
    bolts = leaning(Z, X, np.linspace(-5.0, 5.0, 3))
    assert outer_tilt(rods, bolts).shape == held_tilt(rods, bolts, Y, Z).shape == (5, 3)
    assert outer_tilt(rods, bolts)[4, 1] == outer_tilt(rods[4, 0], bolts[1])
    assert held_tilt(rods, bolts, Y, Z)[4, 1] == held_tilt(rods[4, 0], bolts[1], Y, Z)


# --- inner joint ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("swing_deg", "tilt_deg"), [(0.0, 0.0), (15.0, 15.0), (90.0, 90.0), (165.0, 15.0)]
)
def test_the_inner_joint_tilts_by_the_angle_between_rod_and_rack(swing_deg, tilt_deg):
    tilt = inner_tilt(leaning(Y, Z, swing_deg), 3.0 * Y)
    assert degrees(tilt) == pytest.approx(tilt_deg, abs=ANGLE_ATOL_DEG)


# --- limits --------------------------------------------------------------------------------------


@pytest.mark.parametrize("column", ["face_deg", "pin_deg"])
def test_a_makers_table_is_the_formula_rounded_down_but_for_two_cells(column):
    bearing, expected = printed("plain_bearings", column)
    ball = {"ball_diameter": bearing["ball_diameter"]}
    if column == "face_deg":
        limit = face_tilt_limit(bearing["ball_width"], bearing["race_width"], **ball)
    else:
        limit = pin_tilt_limit(bearing["bore"], bearing["race_width"], **ball)
    (outlier,) = (o for o in PUBLISHED["plain_bearings"]["outliers"] if o["column"] == column)
    differs = np.floor(degrees(limit)) != expected
    assert bearing["bore"][differs].tolist() == [outlier["bore"]]
    assert expected[differs].tolist() == [outlier["printed"]]


def test_the_twelve_millimeter_outlier_is_the_formula_rounded_to_the_nearest_degree():
    bearing, expected = printed("plain_bearings", "face_deg")
    first = {name: values[0] for name, values in bearing.items()}
    limit = face_tilt_limit(
        first["ball_width"], first["race_width"], ball_diameter=first["ball_diameter"]
    )
    assert np.round(degrees(limit)) == expected[0]


def test_rod_ends_of_iso_12240_4_series_k_are_the_face_formula_rounded_down():
    end, expected = printed("rod_ends", "face_deg")
    limit = face_tilt_limit(
        end["ball_width"], end["race_width"], ball_diameter=end["ball_diameter"]
    )
    assert np.floor(degrees(limit)).tolist() == expected.tolist()


def test_the_width_of_the_race_and_not_of_the_head_gives_the_printed_tilt():
    end = PUBLISHED["size_15_rod_end"]
    race, head = (
        face_tilt_limit(end["ball_width"], end[width], ball_diameter=end["ball_diameter"])
        for width in ("race_width", "head_width")
    )
    assert np.floor(degrees(race)) == end["face_deg"]
    assert np.floor(degrees(head)) == end["face_deg"] - 2


def test_a_pin_as_wide_as_the_printed_flat_of_the_ball_has_the_face_limit():
    end = PUBLISHED["size_15_rod_end"]
    ball = {"ball_diameter": end["ball_diameter"]}
    flat = np.sqrt(end["ball_diameter"] ** 2 - end["ball_width"] ** 2)
    assert flat == pytest.approx(end["flat_diameter"], abs=0.05)
    assert degrees(pin_tilt_limit(flat, end["race_width"], **ball)) == pytest.approx(
        degrees(face_tilt_limit(end["ball_width"], end["race_width"], **ball)), abs=ANGLE_ATOL_DEG
    )


ball_widths = st.floats(8.0, 16.0)
race_shares = st.floats(0.4, 0.95)


def race_edge(ball_diameter, race_width):
    """Points of one edge of the race; the race axis is z."""
    round_the_race = np.radians(np.arange(0.0, 360.0, 0.25))
    radius = np.sqrt(ball_diameter**2 - race_width**2) / 2
    x, y = radius * np.cos(round_the_race), radius * np.sin(round_the_race)
    return np.stack([x, y, np.full_like(x, race_width / 2)], axis=-1)


@given(ball_widths, race_shares, st.floats(0.2, 0.95))
def test_at_the_pin_limit_the_pin_just_touches_the_edge_of_the_race(width, race_share, pin_share):
    ball, race = 22.0, race_share * width
    pin = pin_share * np.sqrt(ball**2 - width**2)
    pin_axis = leaning(Z, Y, degrees(pin_tilt_limit(pin, race, ball_diameter=ball)))
    away = norm(cross(race_edge(ball, race), pin_axis))
    assert away.min() == pytest.approx(pin / 2, abs=1e-9)


@given(ball_widths, race_shares, st.floats(1.0, 1.6))
def test_at_the_face_limit_the_shoulder_just_touches_the_side_of_the_race(
    width, race_share, shoulder_share
):
    ball, race = 22.0, race_share * width
    shoulder = shoulder_share * np.sqrt(ball**2 - width**2)
    limit = face_tilt_limit(width, race, ball_diameter=ball, shoulder_diameter=shoulder)
    round_it = np.radians(np.arange(0.0, 360.0, 0.25))
    corner = np.stack(
        [
            shoulder / 2 * np.cos(round_it),
            shoulder / 2 * np.sin(round_it),
            np.full_like(round_it, width / 2),
        ],
        axis=-1,
    )
    tilted = turned(rotation_about(Y, limit), corner)
    assert tilted[:, 2].min() == pytest.approx(race / 2, abs=1e-9)


@given(ball_widths, race_shares, st.floats(0.3, 0.95), st.floats(2.0, 12.0), st.floats(0.5, 20.0))
def test_at_its_limit_the_edge_of_the_race_just_touches_the_cone_of_a_spacer(
    width, race_share, neck_share, length, flare
):
    ball, race = 22.0, race_share * width
    neck = neck_share * np.sqrt(ball**2 - width**2)
    over, shoulder = width + 2.0 * length, neck + flare
    assume(np.hypot(over, shoulder) > ball)
    cone = cone_diameter_at_ball(
        neck, shoulder, ball_width=width, width_over_spacers=over, ball_diameter=ball
    )
    limit = pin_tilt_limit(cone, race, ball_diameter=ball)
    spacer_axis = leaning(Z, Y, degrees(limit))
    height = race_edge(ball, race) @ spacer_axis
    away = norm(cross(race_edge(ball, race), spacer_axis))
    flank = 0.5 * np.interp(height, [width / 2, over / 2], [neck, shoulder])
    beside = (height > width / 2) & (height < over / 2)
    assert (away - flank)[beside].min() == pytest.approx(0.0, abs=1e-9)


def test_a_spacer_that_lies_within_the_ball_s_sphere_ends_as_wide_as_its_shoulder():
    sizes = {"ball_width": 12.0, "width_over_spacers": 14.0, "ball_diameter": 22.0}
    assert cone_diameter_at_ball(10.0, 15.0, **sizes) == 15.0
    assert np.isnan(cone_diameter_at_ball(18.5, 19.0, **sizes))  # the flat is 18.4 wide


def test_a_shoulder_held_off_beyond_the_ball_leaves_more_tilt():
    ball = {"ball_diameter": 22.0, "shoulder_diameter": 20.0}
    near, far = (face_tilt_limit(width, 9.0, **ball) for width in (20.0, 26.0))
    assert near < far
    corner = np.hypot(20.0, 26.0)
    assert far == pytest.approx(np.arcsin(26.0 / corner) - np.arcsin(9.0 / corner), abs=1e-12)


def test_a_shoulder_within_the_flat_of_the_ball_does_not_change_the_face_limit():
    dimensions = {"ball_width": 12.0, "race_width": 9.0, "ball_diameter": 22.0}
    plain = face_tilt_limit(**dimensions)
    assert face_tilt_limit(**dimensions, shoulder_diameter=18.4) == plain
    assert face_tilt_limit(**dimensions, shoulder_diameter=26.0) < plain


@pytest.mark.parametrize(
    ("ball_width", "race_width", "ball_diameter"),
    [(9.0, 9.0, 22.0), (8.0, 9.0, 22.0), (22.0, 9.0, 22.0), (12.0, 0.0, 22.0), (12.0, 9.0, -1.0)],
)
def test_impossible_dimensions_have_no_face_limit(ball_width, race_width, ball_diameter):
    assert np.isnan(face_tilt_limit(ball_width, race_width, ball_diameter=ball_diameter))


@pytest.mark.parametrize(
    ("pin_diameter", "race_width", "ball_diameter"),
    [(21.0, 9.0, 22.0), (12.0, 22.0, 22.0), (0.0, 9.0, 22.0), (12.0, 9.0, 0.0)],
)
def test_impossible_dimensions_have_no_pin_limit(pin_diameter, race_width, ball_diameter):
    assert np.isnan(pin_tilt_limit(pin_diameter, race_width, ball_diameter=ball_diameter))
