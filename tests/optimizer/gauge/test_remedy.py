"""What a curve means on the car, in words and first-order lengths, against the exact model."""

import re
from dataclasses import replace

import numpy as np
import pytest

from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.files.case_file import read_case
from optimizer.gauge.loop import gauge
from optimizer.gauge.remedy import slope_of_height
from optimizer.models.aim import Aim
from optimizer.models.readings import MeasuredCar
from optimizer.units import short_length

from .sweeps import angles

TRAVEL = np.arange(-50.0, 51.0, 10.0)
INCH = 25.4
# A 15 in rod and a 5.5 in arm on 26 in tires: an example of the trade.
US_CAR = {"rod_length": 15.0, "steering_arm": 5.5, "tire_diameter": 26.0}


def told(slope_deg_per_10mm, curvature_deg=0.0, **keys):
    """Diagnosis of a sweep over ±50 mm with a slope and a C."""
    toe = slope_deg_per_10mm * TRAVEL / 10.0 + curvature_deg * (TRAVEL / 50.0) ** 2
    rows = dict(zip(TRAVEL / (INCH if keys.get("units") == "in" else 1.0), toe, strict=True))
    return gauge(None, [angles(rows, **keys)]).diagnosis


def sentence(diagnosis, words):
    found = [text for text in diagnosis if words in text]
    assert len(found) == 1, diagnosis
    return found[0]


# The direction map is common practice, checked against the exact model in test_trade_facts.
@pytest.mark.parametrize(
    ("slope", "arms", "cure"),
    [
        (-0.1, "behind", "lower the outer pivot or raise the rack"),
        (+0.1, "behind", "raise the outer pivot or lower the rack"),
        (-0.1, "ahead", "raise the outer pivot or lower the rack"),
        (+0.1, "ahead", "lower the outer pivot or raise the rack"),
    ],
)
def test_a_slope_is_a_height_error_and_the_arms_decide_which_way(slope, arms, cure):
    text = sentence(told(slope, car={"arms": arms}), "height error")
    assert cure in text
    assert f"steering arms {arms}" in text
    assert "With rod_length and steering_arm the amount can be said too." in text


@pytest.mark.parametrize(
    ("curvature", "arms", "wrong"),
    [
        (-0.2, "behind", "too short"),
        (+0.2, "behind", "too long"),
        (-0.2, "ahead", "too long"),
        (+0.2, "ahead", "too short"),
    ],
)
def test_a_c_is_a_length_error_that_shims_can_t_cure(curvature, arms, wrong):
    diagnosis = told(0.0, curvature, car={"arms": arms})
    text = sentence(diagnosis, "Shims can't cure")
    assert f"the tie rod is {wrong}" in text
    assert f"toes {'in' if curvature > 0.0 else 'out'} both in bump and in droop" in diagnosis[0]


def test_without_the_place_of_the_arms_no_way_is_named():
    diagnosis = " ".join(told(-0.1, -0.2))
    assert "state arms" in diagnosis
    assert "lower the" not in diagnosis
    assert "too short" not in diagnosis


def car_of(evaluator):
    corner = evaluator.corner
    return {
        "rod_length": float(np.hypot(*(corner.outer_seat - corner.inner)[1:])),
        "steering_arm": corner.steering_arm,
        "arms": "ahead" if corner.arms_ahead else "behind",
    }


def amount(diagnosis, words):
    return float(re.search(r"by about ([\d.]+) mm", sentence(diagnosis, words))[1])


def test_the_height_that_is_named_flattens_the_slope_on_the_exact_model(demo_car):
    case = read_case(demo_car).model_copy(update={"aim": Aim()})
    evaluator, joint = Evaluator.of(case), case.lower_ball_joint.drop[0]
    toe = np.degrees(evaluator.toe(Settings.single(ball_joint_drop=joint), TRAVEL)[0])
    rows = dict(zip(TRAVEL, toe, strict=True))
    diagnosis = gauge(None, [angles(rows, car=car_of(evaluator))]).diagnosis
    height = amount(diagnosis, "height error")
    sign = 1.0 if "lower the outer" in sentence(diagnosis, "height error") else -1.0
    before = evaluator.curve(Settings.single(ball_joint_drop=joint)).slope
    outer = evaluator.curve(Settings.single(sign * height, 0.0, joint)).slope
    rack = evaluator.curve(Settings.single(0.0, sign * height, joint)).slope
    # First order in front view: a tall stack is worth a quarter less, the rack all but a tenth.
    assert abs(outer / before) < 0.25
    assert abs(rack / before) < 0.1


@pytest.mark.parametrize("demo", ["lowered-strut", "extended-strut"])
def test_the_length_that_is_named_takes_most_of_the_c_out_of_the_exact_model(demo, demo_folder):
    case = read_case(demo_folder / f"{demo}.toml")
    evaluator, joint = Evaluator.of(case), case.lower_ball_joint.drop[0]
    toe = np.degrees(evaluator.toe(Settings.single(ball_joint_drop=joint), TRAVEL)[0])
    rows = dict(zip(TRAVEL, toe, strict=True))
    diagnosis = gauge(None, [angles(rows, car=car_of(evaluator))]).diagnosis
    length = amount(diagnosis, "length error")
    assert "too short: move the inner pivot inboard" in sentence(diagnosis, "length error")
    shifted = replace(evaluator.corner, inner=evaluator.corner.inner - [0.0, length, 0.0])
    setting = Settings.single(ball_joint_drop=joint)
    before, after = (
        float(car.curve(setting).curvature[0])
        for car in (evaluator, evaluator.with_corner(shifted))
    )
    assert abs(after / before) < 0.5


def test_an_eighth_of_an_inch_is_worth_what_the_trade_s_arithmetic_says():
    # 1/8 in on that car: 0.087 deg or 5.2 minutes per inch, by h / (L x a).
    car = MeasuredCar(rod_length=381.0, steering_arm=139.7, arms="behind")
    worth = slope_of_height(car) * INCH / 8.0  # toe per travel, whatever the unit of length
    assert np.degrees(worth * INCH) == pytest.approx(0.087, abs=0.0005)
    diagnosis = told(-0.1, units="in", car=US_CAR | {"arms": "behind"})
    text = sentence(diagnosis, "height error")
    assert "1/32 in is worth 1.3 minutes per 1.000 in of travel" in text


def test_a_millimeter_on_metric_rods_is_worth_about_two_minutes_per_25_mm():
    # 300 to 400 mm rods: 1.5 to 2.6 minutes per 25 mm, common practice, no source.
    for rod in (300.0, 400.0):
        car = {"rod_length": rod, "steering_arm": 130.0, "arms": "behind"}
        text = sentence(told(-0.1, car=car), "height error")
        minutes = float(re.search(r"1 mm is worth ([\d.]+) minutes per 25.0 mm", text)[1])
        assert 1.5 <= minutes <= 2.6


@pytest.mark.parametrize(
    ("in_per_in", "words"),
    [
        (0.018, "inside what racers accept (0.020 in per in)"),
        (0.025, "often quoted for paved ovals (0.030)"),
        (0.080, "about what production cars have (0.023 to 0.115 in per in)"),
        (0.200, "the car will dart over bumps"),
    ],
)
def test_whether_it_matters_is_said_by_the_bands_of_the_trade(in_per_in, words):
    slope = np.degrees(in_per_in / 26.0) * 10.0 / INCH
    diagnosis = told(slope, units="in", car=US_CAR)
    assert words in sentence(diagnosis, "Does it matter?")
    assert f"{in_per_in:.3f} in per in" in sentence(diagnosis, "Does it matter?")


def test_what_stays_within_the_tolerance_does_not_matter():
    diagnosis = told(0.002, -0.01)
    assert diagnosis == [
        "The wheel keeps its toe within the wanted tolerance.",
        "It does not matter: toe stays within the tolerance over the used travel.",
    ]


def test_a_slope_that_is_wanted_is_no_error():
    wanted = {"toe_gain_deg_per_10mm": -0.1}
    assert "It does not matter" in told(-0.1, aim=wanted)[-1]
    text = sentence(told(0.0, aim=wanted, car={"arms": "behind"}), "height error")
    assert "raise the outer pivot" in text  # it lacks the toe-out that is wanted


def test_a_height_is_written_as_finely_as_shims_come():
    assert short_length(6.35, "in") == "0.250 in"


def test_a_worth_needs_both_lengths_and_the_arms():
    lengths = {"rod_length": 370.0, "steering_arm": 130.0}
    assert slope_of_height(MeasuredCar(**lengths)) is None
    assert slope_of_height(MeasuredCar(rod_length=370.0, arms="ahead")) is None
    behind, ahead = (slope_of_height(MeasuredCar(**lengths, arms=a)) for a in ("behind", "ahead"))
    assert behind == -ahead == 1.0 / (370.0 * 130.0)
