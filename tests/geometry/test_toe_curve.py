"""A toe curve split into slope, curvature and remainder: polynomials whose parts are known."""

import numpy as np
import pytest

from geometry.toe_curve import DEGREE, toe_change, toe_curve

# The split solves a small linear system; toe angles here are of the order of one degree.
ANGLE_ATOL_DEG = 1e-9
SLOPE_ATOL_DEG_PER_MM = 1e-11

TRAVELS = {
    "as far up as down": np.linspace(-60.0, 60.0, 25),
    "more droop than bump": np.concatenate([np.linspace(-80.0, 0.0, 13), np.linspace(4.0, 50, 12)]),
    "bump only": np.linspace(0.0, 45.0, 13),
    "droop only": np.linspace(-45.0, 0.0, 13),
}
# Degrees at the end of the longer stroke, from the slope's share to the fifth power's.
SHARES = [0.5, -0.3, 0.08, 0.02, -0.01]


def change_of(travel, shares):
    """Toe change whose powers each reach these shares at the end of the longer stroke. [rad]"""
    x = travel / np.abs(travel).max()
    return np.radians(sum(share * x ** (k + 1) for k, share in enumerate(shares)))


@pytest.mark.parametrize("travel", TRAVELS.values(), ids=TRAVELS.keys())
def test_slope_and_curvature_of_a_polynomial_are_its_coefficients(travel):
    assert len(SHARES) == DEGREE
    curve = toe_curve(travel, change_of(travel, SHARES))
    slope = SHARES[0] / np.abs(travel).max()
    assert np.degrees(curve.slope) == pytest.approx(slope, rel=0, abs=SLOPE_ATOL_DEG_PER_MM)
    assert np.degrees(curve.curvature) == pytest.approx(SHARES[1], rel=0, abs=ANGLE_ATOL_DEG)


@pytest.mark.parametrize("travel", TRAVELS.values(), ids=TRAVELS.keys())
def test_the_remainder_is_the_peak_of_what_slope_and_curvature_leave(travel):
    curve = toe_curve(travel, change_of(travel, SHARES))
    left = np.degrees(np.abs(change_of(travel, [0.0, 0.0, *SHARES[2:]])).max())
    assert np.degrees(curve.remainder) == pytest.approx(left, rel=0, abs=ANGLE_ATOL_DEG)


def test_slope_curvature_and_remainder_recompose_a_curve():
    """A wave is no polynomial: what the two named parts leave must still be all that is left."""
    travel = TRAVELS["more droop than bump"]
    change = change_of(travel, [0.4, 0.2]) + np.radians(0.05) * np.sin(travel / 7.0)
    curve = toe_curve(travel, change)
    longest = np.abs(travel).max()
    named = curve.slope * travel + curve.curvature * (travel / longest) ** 2
    assert np.degrees(np.abs(change - named).max()) == pytest.approx(
        np.degrees(curve.remainder), rel=0, abs=ANGLE_ATOL_DEG
    )
    assert curve.remainder > 0.0


def test_peak_and_rms_are_those_of_the_toe_change_itself():
    travel = np.array([-20.0, -10.0, 0.0, 10.0, 20.0])
    change = np.array([0.3, 0.1, 0.0, -0.2, -0.4])
    curve = toe_curve(travel, change)
    assert curve.peak == 0.4
    assert curve.rms == pytest.approx(np.sqrt((0.09 + 0.01 + 0.04 + 0.16) / 5.0), rel=1e-15)


@pytest.mark.parametrize("sign", [+1.0, -1.0])
def test_a_toe_gain_in_bump_has_a_positive_slope_whichever_strokes_the_car_uses(sign):
    for travel in TRAVELS.values():
        assert sign * toe_curve(travel, sign * 1e-4 * travel).slope > 0.0


@pytest.mark.parametrize("way", [+1.0, -1.0], ids=["bump", "droop"])
def test_curvature_keeps_its_sign_on_one_sided_travel(way):
    travel = way * np.linspace(0.0, 40.0, 13)
    curve = toe_curve(np.sort(travel), np.radians(-0.2) * (np.sort(travel) / 40.0) ** 2)
    assert np.degrees(curve.curvature) == pytest.approx(-0.2, rel=0, abs=ANGLE_ATOL_DEG)
    assert np.degrees(curve.slope) == pytest.approx(0.0, abs=SLOPE_ATOL_DEG_PER_MM)


@pytest.mark.parametrize(
    ("travel", "slope", "curvature"),
    [
        ([0.0, 30.0], 0.3 / 30.0, 0.0),
        ([-20.0, 0.0], -0.3 / -20.0 * -1.0, 0.0),
        ([-30.0, 0.0, 30.0], 0.1 / 30.0, 0.2),
    ],
    ids=["ride height and bump", "droop and ride height", "three heights"],
)
def test_a_few_heights_give_as_many_parts_as_they_can(travel, slope, curvature):
    travel = np.array(travel)
    longest = np.abs(travel).max()
    curve = toe_curve(travel, np.radians(slope * travel + curvature * (travel / longest) ** 2))
    assert np.degrees(curve.slope) == pytest.approx(slope, rel=0, abs=SLOPE_ATOL_DEG_PER_MM)
    assert np.degrees(curve.curvature) == pytest.approx(curvature, rel=0, abs=ANGLE_ATOL_DEG)
    assert np.degrees(curve.remainder) == pytest.approx(0.0, abs=ANGLE_ATOL_DEG)


def test_a_curve_with_a_height_out_of_reach_has_no_figures_and_its_neighbors_keep_theirs():
    travel = TRAVELS["as far up as down"]
    changes = np.stack([change_of(travel, SHARES)] * 2)
    changes[0, -1] = np.nan
    curves, alone = toe_curve(travel, changes), toe_curve(travel, changes[1])
    for part in ("peak", "rms", "slope", "curvature", "remainder"):
        assert np.isnan(getattr(curves, part)[0])
        assert getattr(curves, part)[1] == pytest.approx(getattr(alone, part), rel=1e-12)


# ---- toe change from toe ----


def test_toe_change_is_zero_at_ride_height_wherever_that_stands_in_the_list():
    toe = np.radians([0.3, 0.1, -0.2])
    for travel in ([0.0, 10.0, 20.0], [-10.0, 0.0, 10.0], [-20.0, -10.0, 0.0]):
        change = toe_change(np.array(travel), toe)
        home = travel.index(0.0)
        assert change[home] == 0.0
        np.testing.assert_allclose(np.diff(change), np.diff(toe), rtol=1e-12)


def test_a_curve_that_has_just_the_wanted_gain_shows_no_toe_change():
    travel, gain = TRAVELS["more droop than bump"], np.radians(-0.02) / 10.0
    change = toe_change(travel, np.radians(0.15) + gain * travel, gain * travel)
    np.testing.assert_allclose(np.degrees(change), 0.0, rtol=0, atol=ANGLE_ATOL_DEG)


def test_the_wanted_gain_is_taken_off_the_slope_and_off_nothing_else():
    travel, gain = TRAVELS["more droop than bump"], np.radians(0.03) / 10.0
    toe = np.radians(0.1) + change_of(travel, SHARES)
    without, beyond = (
        toe_curve(travel, toe_change(travel, toe, slope * travel)) for slope in (0.0, gain)
    )
    assert np.degrees(without.slope - beyond.slope) == pytest.approx(
        0.003, rel=0, abs=SLOPE_ATOL_DEG_PER_MM
    )
    for part in ("curvature", "remainder"):
        assert np.degrees(getattr(beyond, part)) == pytest.approx(
            np.degrees(getattr(without, part)), rel=0, abs=ANGLE_ATOL_DEG
        )


def test_one_curve_equals_its_row_of_a_batch():
    travel = TRAVELS["as far up as down"]
    toes = np.stack([change_of(travel, np.roll(SHARES, k)) for k in range(4)]) + 0.01
    batch = toe_curve(travel, toe_change(travel, toes, 1e-4 * travel))
    for k, toe in enumerate(toes):
        alone = toe_curve(travel, toe_change(travel, toe, 1e-4 * travel))
        for part in ("peak", "rms", "slope", "curvature", "remainder"):
            assert getattr(alone, part) == pytest.approx(getattr(batch, part)[k], rel=1e-12)
