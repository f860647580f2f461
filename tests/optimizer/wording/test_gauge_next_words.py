"""What a sweep has shown in figures, what it moves, and what to fit next, in words."""

import pytest

from optimizer.models.gauge import Measured, MovedCoordinate, NextSetting
from optimizer.models.stops import Tightest
from optimizer.wording.gauge_next import figures, moves, promise
from tests.optimizer.wording.readers import AXLE, INCHES, MM


def test_the_figures_of_a_curve_name_their_units_and_the_part_that_was_swept():
    measured = Measured(
        travel_mm=[0.0],
        toe_deg=[0.0],
        wanted_deg=[0.0],
        toe_slope_deg_per_10mm=-0.1,
        toe_slope_in_per_in=-0.0266,
        toe_rate_in_per_in=0.03,
        toe_curvature_deg=0.05,
        curvature_at_mm=50.8,
        swing_deg=0.8,
        peak_toe_change_deg=0.4,
        scatter_deg=0.004,
        play_deg=None,
        rows_left_out=[],
    )
    assert figures(measured, INCHES) == (
        "Slope -0.254 deg per inch (-0.0266 in per in at 24.000 in diameter), curvature +0.050 "
        "deg at 2.000 in of travel, peak 0.400 deg over the used travel; the rows scatter by 0.004 "
        "deg."
    )
    partly = measured.model_copy(update={"all_used_travel_swept": False})
    assert "peak 0.400 deg over the part that was swept" in figures(partly, MM)


def test_moved_points_are_listed_and_the_odd_ones_sent_back_to_the_tape():
    place = {"point": "tie_rod_inner", "axis": "z", "by_mm": -7.04, "sigmas": 3.52}
    assert moves([], MM) == ["The readings leave every point nearly where it was measured."]
    listed = "The readings move the points most at: tie_rod_inner z -7.0 mm."
    assert moves([MovedCoordinate(**place, remeasure=False)], MM) == [listed]
    again = "Re-measure tie_rod_inner z: that is 3.5 standard deviations of its tape."
    assert moves([MovedCoordinate(**place, remeasure=True)], MM) == [listed, again]


def setting(**changes: object) -> NextSetting:
    found = {
        "side": "left",
        "outer_drop_mm": 11.0,
        "stack_mm": [5.0, 5.0, 1.0],
        "rack_raise_mm": -3.0,
        "ball_joint_drop_mm": 0.0,
        "outer_drop_change_mm": 11.0,
        "rack_raise_change_mm": -3.0,
        "tolerance_deg": 0.05,
        "peak_toe_change_deg": 0.05,
        "peak_toe_change_95_deg": 0.09,
        "best_of_hardware_deg": 0.04,
        "fitted_now_peak_deg": 0.4,
        "stop": False,
        "within_band": None,
    }
    return NextSetting(**found | changes)


FIT = "outer drop 11.0 mm (2 x 5 + 1 x 1), rack drop 3.0 mm"
SEAT = ", counted from the standard seat"
EXPECT = "Expected peak 0.050 deg, below 0.090 deg with 95 % probability"
MISSES = (
    "the best that this hardware can do misses the wanted 0.050 deg by 0.01 deg; what would meet "
    "it, `suggest` looks for on the corrected case (--write FILE)."
)
TIGHT = Tightest(
    kind="tilt",
    side="left",
    name="outer joint",
    value=14.2,
    limit=22.0,
    travel_mm=0.0,
    rack_travel_mm=0.0,
)


@pytest.mark.parametrize(
    ("changes", "lines"),
    [
        (
            {},
            [
                f"Fit {FIT}{SEAT}. {EXPECT}; the best of this hardware is 0.040 deg; what is "
                "fitted now peaks at 0.400 deg.",
                "Stop when the readings stay within 0.01 deg of that best.",
            ],
        ),
        (
            {"stop": True, "within_band": True},
            [
                f"Stop here and keep {FIT}{SEAT}: that is within 0.01 deg of the best that this "
                f"hardware can do (0.040 deg). {EXPECT}.",
                "Over the used travel the expected curve stays inside the wanted band.",
            ],
        ),
        (
            {"stop": True, "best_of_hardware_deg": 0.06, "misses_by_deg": 0.01},
            [
                "Stop: nothing on this shelf does better by what a gauge shows, but it misses the "
                f"tolerance. Keep {FIT}{SEAT}. {EXPECT}; {MISSES}",
            ],
        ),
        (
            {
                "outer_drop_change_mm": 5.0,
                "rack_raise_change_mm": 0.0,
                "best_of_hardware_deg": 0.06,
                "misses_by_deg": 0.01,
            },
            [
                f"Fit {FIT}{SEAT}; from what is fitted now: outer pivot 5.0 mm lower. {EXPECT}; "
                "the best of this hardware is 0.060 deg; what is fitted now peaks at 0.400 deg.",
                f"Even {MISSES}",
                "Stop when the readings stay within 0.01 deg of that best.",
            ],
        ),
        (
            {"stop": True, "best_of_hardware_deg": 0.0502, "misses_by_deg": 0.0002},
            [
                "Stop: nothing on this shelf does better by what a gauge shows, but it misses the "
                f"tolerance. Keep {FIT}{SEAT}. {EXPECT}; "
                + MISSES.replace("by 0.01 deg", "by less than 0.001 deg"),
            ],
        ),
        (
            {"ball_joint_drop_change_mm": -20.0, "fitted_now_peak_deg": None, "within_band": False},
            [
                f"Fit {FIT}, lower ball joint drop 0.0 mm{SEAT}; from what is fitted now: outer "
                "pivot 11.0 mm lower, rack 3.0 mm lower, lower ball joint 20.0 mm higher. "
                f"{EXPECT}; the best of this hardware is 0.040 deg.",
                "Stop when the readings stay within 0.01 deg of that best.",
                "Over the used travel the expected curve leaves the wanted band.",
            ],
        ),
        (
            {"stop": True, "tightest_joint": TIGHT},
            [
                f"Stop here and keep {FIT}{SEAT}: that is within 0.01 deg of the best that this "
                f"hardware can do (0.040 deg). {EXPECT}.",
                "Tightest over the whole travel and lock, to 0.01 mm: outer joint tilts 14.2 of "
                "22.0 deg at ride height, steering straight. No reading of toe tells tilt or gaps: "
                "these are only as sure as the tape, so sweep the wheel by hand at both locks and "
                "look.",
            ],
        ),
    ],
)
def test_the_next_stack_is_told_with_what_it_promises(changes, lines):
    assert promise(setting(**changes), MM) == lines


def test_an_inner_pivot_is_named_where_it_moves_or_is_elsewhere_now():
    still = setting(rack_raise_mm=0.0, rack_raise_change_mm=0.0)
    assert "pitman ball" not in promise(still, AXLE)[0]
    back = setting(rack_raise_mm=0.0, rack_raise_change_mm=-3.0)
    assert "pitman ball raise 0.0 mm" in promise(back, AXLE)[0]
    forward = setting(rack_raise_mm=0.0, rack_raise_change_mm=0.0, rack_fore_aft_mm=4.0)
    assert f"pitman ball 4.0 mm forward{SEAT}" in promise(forward, AXLE)[0]


def test_brackets_of_a_lateral_link_are_named_where_they_move_or_change():
    lower = setting(frame_bracket_raise_mm=-40.0, frame_bracket_raise_change_mm=-40.0)
    fit = FIT.replace("rack", "pitman ball")
    assert promise(lower, AXLE)[0].startswith(
        f"Fit {fit}, lateral link's frame bracket drop 40.0 mm{SEAT}."
    )
    back = promise(setting(frame_bracket_raise_change_mm=40.0), AXLE)[0]
    assert "frame bracket raise 0.0 mm" in back
    assert "axle bracket" not in back
    risen = setting(axle_bracket_raise_mm=25.0, axle_bracket_raise_change_mm=25.0)
    swept_with = {"outer_drop_change_mm": 0.0, "rack_raise_change_mm": 0.0}
    assert (
        "from what is fitted now: lateral link's axle bracket 25.0 mm higher"
        in (promise(risen.model_copy(update=swept_with), AXLE)[0])
    )
