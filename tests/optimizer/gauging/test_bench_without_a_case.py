"""On the bench: no case, still the whole answer; the cars are invented."""

import json

import numpy as np
import pytest

from optimizer.cli.main import main
from optimizer.models.questions import IdleShelf
from optimizer.models.remedies import FromShelf, HeightError, LengthError
from optimizer.models.sweeps import Lesson

from .sweeps import angles, kind_of, only
from .sweeps import judged as gauged
from .typed import ANGLE, KIT_CAR, MINUTES, rows

SLOPE = float(np.degrees(1.0 / (340.0 * 120.0)))  # of the kit car, per mm of travel and of height
INCHES = ANGLE.replace('"mm"', '"in"')
# A 15 in rod and a 5.5 in arm on 26 in tires: an example of the trade.
US_CAR = 'car = { rod_length = 15.0, steering_arm = 5.5, arms = "behind", tire_diameter = 26.0 }\n'
US_SLOPE = float(np.degrees(1.0 / (15.0 * 5.5)))  # per inch of travel and inch of height
WASHERS = "shelf = { shims = [{ thickness = 0.125, count = 4 }] }\n"
UP_AND_DOWN = (-2.0, -1.0, 0.0, 1.0, 2.0)


def straight(slope: float, travel=range(-50, 51, 10), bend: float = 0.0) -> str:
    return rows(*((float(t), slope * t + bend * t * t) for t in travel))


def test_a_shelf_tells_how_many_washers(judged):
    wheel = judged(INCHES + US_CAR + WASHERS + straight(-0.26 * US_SLOPE, UP_AND_DOWN))
    found = only(FromShelf, wheel.diagnosis)
    assert found.stack_mm == pytest.approx((3.175, 3.175))
    assert found.target_mm == pytest.approx(0.26 * 25.4, rel=1e-3)
    assert found.from_seat
    left = 0.01 * US_SLOPE  # a hundredth of an inch too little
    assert found.left_deg_per_10mm == pytest.approx(-left * 10.0 / 25.4, rel=2e-2)
    assert wheel.expected[-1].toe_change_deg == pytest.approx(-left * 2.0, rel=2e-2)


def test_a_stack_that_is_fitted_counts_into_the_shelf_s(judged):
    fitted = "outer_drop = 0.125\nrack_raise = 0.0\n"
    wheel = judged(INCHES + fitted + US_CAR + WASHERS + straight(-0.25 * US_SLOPE, UP_AND_DOWN))
    assert only(FromShelf, wheel.diagnosis).height_mm == pytest.approx(3 * 3.175)
    up = judged(INCHES + US_CAR + WASHERS + straight(+0.25 * US_SLOPE, UP_AND_DOWN))
    below = only(FromShelf, up.diagnosis)
    assert (below.height_mm, below.stack_mm) == (0.0, ())
    assert below.target_mm == pytest.approx(-6.35, rel=1e-3)
    assert up.expected == []  # nothing of the shelf changes the curve, so nothing new is expected


def test_where_it_is_not_said_what_is_fitted_a_shelf_adds_to_that():
    car = {"rod_length": 340.0, "steering_arm": 120.0, "arms": "behind"}
    toe = {float(t): -3.0 * SLOPE * t for t in range(-50, 51, 10)}
    shelf = {"shims": [{"thickness": 1.0, "count": 4}]}
    found = only(
        FromShelf, gauged(None, [angles(toe, car=car, shelf=shelf, outer_drop=None)]).diagnosis
    )
    assert (found.from_seat, found.stack_mm) == (False, (1.0, 1.0, 1.0))


def test_the_curve_after_it_keeps_what_height_alone_cannot_cure(judged):
    wheel = judged(MINUTES + KIT_CAR + straight(-9.0 * SLOPE * 60.0, bend=-0.006))
    after = {row.travel_mm: row for row in wheel.expected}
    # The slope is gone, the C is left: the length must change.
    assert after[50.0].toe_change_deg == pytest.approx(-0.006 * 2500.0 / 60.0, abs=2e-3)
    assert after[50.0].toe_change_deg == pytest.approx(after[-50.0].toe_change_deg, abs=2e-3)
    assert after[50.0].gauge == pytest.approx(60.0 * after[50.0].toe_change_deg)  # in minutes
    assert only(LengthError, wheel.diagnosis).cure == "lengthen-rod"


def test_both_wheels_get_their_remedies_in_one_run(answered):
    left = 'side = "left"\n' + KIT_CAR + straight(-4.0 * SLOPE)
    right = 'side = "right"\n' + straight(+2.0 * SLOPE)  # its lengths are the other one's
    answer = answered(ANGLE + left, ANGLE + right)
    assert [wheel.side for wheel in answer.wheels] == answer.subject.sides == ["left", "right"]
    found = [only(HeightError, wheel.diagnosis) for wheel in answer.wheels]
    assert [one.cure for one in found] == ["lower-outer", "raise-outer"]
    assert [one.by_mm for one in found] == pytest.approx([4.0, 2.0], abs=0.02)
    assert answer.sides.other == "right"


def test_another_ride_height_is_judged_from_the_same_sweep(as_typed, capsys):
    # Flat where it was swept, steep where it will stand: 20 mm lower is 20 mm up the curve.
    sweep = as_typed("sweep", ANGLE + KIT_CAR + straight(0.0, bend=-0.0005))
    slopes = []
    for lower in ("0", "20", "0.7874in"):
        assert main(["gauge", str(sweep), "--lowered-by", lower, "--json"]) == 0
        answer = json.loads(capsys.readouterr().out)
        slopes.append(answer["wheels"][0]["measured"]["toe_slope_deg_per_10mm"])
    assert slopes == pytest.approx([0.0, -0.2, -0.2], abs=1e-3)
    assert answer["facts"]["swept"][0]["judged_lower_mm"] == pytest.approx(20.0, abs=0.01)
    assert "mm lower than swept" in answer["swept"][0]


def test_two_sweeps_with_different_stacks_tell_where_the_arms_are(judged):
    none = 'name = "None"\nouter_drop = 0.0\n' + straight(-0.012)
    some = 'name = "Some"\nouter_drop = 4.0\n' + straight(-0.016)
    wheel = judged(ANGLE + none, ANGLE + some)
    assert only(Lesson, wheel.diagnosis).arms == "ahead"
    found = only(HeightError, wheel.diagnosis)
    assert (found.kind, found.arms, found.cure) == ("tried", "ahead", "raise-outer")
    assert found.by_mm == pytest.approx(16.0, rel=1e-3)
    assert found.times_tried == pytest.approx(4.0, rel=1e-3)  # drawn out far beyond what was tried
    near = ANGLE + 'name = "More"\nouter_drop = -6.0\n' + straight(-0.006)
    near_found = only(HeightError, judged(ANGLE + none, near).diagnosis)
    assert near_found.times_tried is None


def test_lengths_alone_tell_what_a_shim_is_worth(as_typed, capsys):
    lengths = as_typed("lengths", f'format = 1\nunits = "in"\n{WASHERS}{US_CAR}')
    assert main(["gauge", str(lengths), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    thin, eighth = answer["facts"]["worth"]
    assert (thin["height_mm"], eighth["height_mm"]) == pytest.approx((0.79375, 3.175))
    # 1/8 in on that car: 0.087 deg per inch, 0.039 in per in on 26 in tires, by h / (L x a).
    assert eighth["slope_deg_per_10mm"] * 2.54 == pytest.approx(0.087, abs=5e-4)
    assert eighth["slope_in_per_in"] == pytest.approx(0.039, abs=5e-4)
    assert "1/8 in of outer drop or rack raise is worth 5.2 minutes" in answer["worth"][1]
    assert main(["gauge", str(lengths)]) == 0
    assert "toward toe-in in bump" in capsys.readouterr().out
    short = as_typed("short", 'format = 1\nunits = "in"\ncar = { rod_length = 15.0 }\n')
    assert main(["gauge", str(short)]) == 2
    assert "car.steering_arm" in capsys.readouterr().err


def test_a_height_of_the_case_is_not_overruled(as_typed, demo_folder, capsys):
    sweep = as_typed("sweep", ANGLE + straight(-0.01))
    case = str(demo_folder / "lowered-strut.toml")
    assert main(["gauge", case, str(sweep), "--lowered-by", "20"]) == 2
    assert "--lowered-by: the case says at which height" in capsys.readouterr().err


def test_a_case_s_diagnosis_holds_no_shelf_of_a_readings_file(judged, demo_folder):
    shelf = "shelf = { shims = [{ thickness = 1.0, count = 4 }] }\n"
    wheel = judged(ANGLE + shelf + straight(-0.01), case=demo_folder / "lowered-strut.toml")
    assert kind_of(FromShelf, wheel.diagnosis) == []
    assert kind_of(IdleShelf, wheel.questions) == ["IdleShelf"]
    bare = judged(ANGLE + straight(-0.01), case=demo_folder / "lowered-strut.toml")
    assert kind_of(IdleShelf, bare.questions) == []
