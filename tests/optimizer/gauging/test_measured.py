"""The curve through a sweep: slope, curvature, scatter, play, and rows that stand apart."""

import numpy as np
import pytest

from optimizer.gauging.measured import heights_read_both_ways, measured_curve, strokes

ANGLE_ATOL_RAD = 1e-12
TRAVEL = np.arange(-50.0, 51.0, 10.0)
THERE_AND_BACK = np.concatenate([TRAVEL, TRAVEL[-2::-1]])


def cubic(travel):
    return 0.01 - 2e-5 * travel + 3e-7 * travel**2 - 1e-9 * travel**3


def test_a_cubic_is_found_again_to_its_last_digit():
    curve = measured_curve(TRAVEL, cubic(TRAVEL))
    assert curve.coefficients == pytest.approx([-2e-5, 3e-7, -1e-9], rel=1e-9)
    assert curve.zero == pytest.approx(0.01, abs=ANGLE_ATOL_RAD)
    assert curve.scatter < ANGLE_ATOL_RAD
    assert curve.at(TRAVEL) == pytest.approx(cubic(TRAVEL) - 0.01, abs=ANGLE_ATOL_RAD)


def test_the_order_of_the_rows_and_the_gauge_s_zero_don_t_change_the_curve():
    order = np.random.default_rng(1).permutation(TRAVEL.size)
    curve = measured_curve(TRAVEL[order], cubic(TRAVEL[order]) + 0.3)
    assert curve.coefficients == pytest.approx([-2e-5, 3e-7, -1e-9], rel=1e-9)
    assert curve.zero == pytest.approx(0.31, abs=ANGLE_ATOL_RAD)


def test_scatter_is_the_noise_of_the_rows():
    noise = 1e-4 * np.random.default_rng(2).normal(size=2001)
    travel = np.linspace(-50.0, 50.0, 2001)
    curve = measured_curve(travel, cubic(travel) + noise)
    assert curve.scatter == pytest.approx(noise.std(), rel=0.01)  # four unknowns of 2001 rows
    assert not curve.apart.any()


def test_the_stated_error_of_the_slope_is_how_much_it_varies_from_sweep_to_sweep():
    rng = np.random.default_rng(3)
    curves = [
        measured_curve(TRAVEL, cubic(TRAVEL) + 1e-4 * rng.normal(size=TRAVEL.size))
        for _ in range(400)
    ]
    spread = np.std([curve.coefficients[0] for curve in curves])
    stated = np.sqrt(np.mean([curve.slope_sigma**2 for curve in curves]))
    assert stated == pytest.approx(spread, rel=0.12)  # 3 standard errors of 400 sweeps


def test_a_row_that_stands_apart_is_left_out_by_its_place():
    toe = cubic(TRAVEL)
    toe[7] += np.radians(0.2)
    curve = measured_curve(TRAVEL, toe)
    assert np.flatnonzero(curve.apart).tolist() == [7]
    assert curve.left[7] == pytest.approx(np.radians(0.2), rel=1e-9)
    assert curve.coefficients == pytest.approx([-2e-5, 3e-7, -1e-9], rel=1e-9)


def test_two_rows_that_stand_apart_are_both_left_out():
    toe = cubic(THERE_AND_BACK)
    toe[[3, 15]] += np.radians([0.3, -0.25])
    assert np.flatnonzero(measured_curve(THERE_AND_BACK, toe).apart).tolist() == [3, 15]


def test_noise_alone_leaves_no_row_out():
    rng = np.random.default_rng(4)
    found = [
        measured_curve(TRAVEL, cubic(TRAVEL) + 1e-4 * rng.normal(size=TRAVEL.size)).apart.any()
        for _ in range(200)
    ]
    assert np.mean(found) < 0.02


@pytest.mark.parametrize("rows", [7, 8, 9, 13])
def test_a_gauge_that_is_read_coarsely_leaves_no_row_out_however_few_there_are(rows):
    rng, travel = np.random.default_rng(rows), np.linspace(-50.0, 50.0, rows)
    found = [
        measured_curve(travel, cubic(travel) + 1e-3 * rng.normal(size=rows)).apart.any()
        for _ in range(300)
    ]
    assert np.mean(found) < 0.04  # common practice, no source


def test_few_rows_bear_no_outlier():
    travel = np.array([-20.0, 0.0, 20.0, 40.0])
    assert not measured_curve(travel, np.array([0.0, 0.0, 0.05, 0.0])).apart.any()


def test_three_heights_give_a_parabola_and_tell_nothing_of_scatter():
    travel = np.array([-40.0, 0.0, 40.0])
    curve = measured_curve(travel, 1e-5 * travel - 2e-7 * travel**2)
    assert curve.coefficients == pytest.approx([1e-5, -2e-7], rel=1e-9)
    assert curve.freedom == 0


def test_heights_that_are_the_same_but_for_a_hair_bear_no_more_of_a_curve_than_one():
    travel = np.array([-50.1, -49.9, -0.1, 0.2, 49.9, 50.1])
    noise = np.radians([0.0, 0.03, -0.01, 0.0, -0.02, 0.0])
    curve = measured_curve(travel, -3.5e-5 * travel + noise)
    assert len(curve.coefficients) == 2
    assert curve.coefficients[0] == pytest.approx(-3.5e-5, abs=np.radians(0.03) / 100.0)


def test_the_only_row_of_a_third_height_is_never_left_out():
    travel = np.repeat([-50.0, 0.0, 50.0], [3, 4, 1])
    toe = np.radians(np.repeat([0.1, 0.0, -5.0], [3, 4, 1]))
    curve = measured_curve(travel, toe)
    assert not curve.apart.any()
    assert curve.at(np.array([-50.0, 50.0])) == pytest.approx(np.radians([0.1, -5.0]))


def test_play_is_the_gap_between_the_strokes_and_not_scatter():
    toe = cubic(THERE_AND_BACK) + np.where(strokes(THERE_AND_BACK) > 0.0, 5e-4, -5e-4)
    curve = measured_curve(THERE_AND_BACK, toe)
    assert curve.play == pytest.approx(1e-3, rel=1e-9)
    assert curve.scatter < ANGLE_ATOL_RAD


def test_a_sweep_one_way_tells_nothing_of_play():
    assert np.isnan(measured_curve(TRAVEL, cubic(TRAVEL)).play)


def test_bump_read_going_up_and_droop_going_down_share_no_heights_and_tell_no_play():
    travel = np.array([0.0, 10.0, 20.0, 30.0, -10.0, -20.0, -30.0, -40.0])
    assert np.isnan(measured_curve(travel, cubic(travel)).play)


def test_a_height_belongs_to_the_stroke_that_led_to_it():
    travel = np.array([0.0, 10.0, 20.0, 20.0, 10.0, 0.0, -10.0, 0.0])
    assert strokes(travel).tolist() == [1, 1, 1, 1, -1, -1, -1, 1]
    assert strokes(np.zeros(3)).tolist() == [1, 1, 1]
    assert heights_read_both_ways(travel, strokes(travel)) == 2


def test_the_ends_of_a_wide_sweep_that_no_cubic_follows_are_no_mistyped_rows():
    """A leaf-sprung axle's toe, as it was seen to go: 5.5 deg, and the last rows off any cubic."""
    travel = np.arange(-80.0, 81.0, 16.0)
    toe = np.radians(-0.034 * travel - 9e-5 * travel**2 + 3e-9 * travel**4)
    assert not measured_curve(travel, toe).apart.any()
    toe[4] += np.radians(0.4)
    assert np.flatnonzero(measured_curve(travel, toe).apart).tolist() == [4]
