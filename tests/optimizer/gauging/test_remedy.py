"""What a curve means on the car, in first-order lengths, against the exact model."""

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.gauging.remedy import slope_of_height
from optimizer.models.aim import Aim
from optimizer.models.measured_car import MeasuredCar
from optimizer.models.remedies import CurveShape, HeightError, LengthError, Matters

from .sweeps import angles, judged, kinds, only

TRAVEL = np.arange(-50.0, 51.0, 10.0)
INCH = 25.4
# A 15 in rod and a 5.5 in arm on 26 in tires: an example of the trade.
US_CAR = {"rod_length": 15.0, "steering_arm": 5.5, "tire_diameter": 26.0}


def told(slope_deg_per_10mm, curvature_deg=0.0, **keys):
    """Diagnosis of a sweep over ±50 mm with a slope and a C."""
    toe = slope_deg_per_10mm * TRAVEL / 10.0 + curvature_deg * (TRAVEL / 50.0) ** 2
    rows = dict(zip(TRAVEL / (INCH if keys.get("units") == "in" else 1.0), toe, strict=True))
    return judged(None, [angles(rows, **keys)]).diagnosis


# The direction map is common practice, checked against the exact model in test_trade_facts.
@pytest.mark.parametrize(
    ("slope", "arms", "cure"),
    [
        (-0.1, "behind", "lower-outer"),
        (+0.1, "behind", "raise-outer"),
        (-0.1, "ahead", "raise-outer"),
        (+0.1, "ahead", "lower-outer"),
    ],
)
def test_a_slope_is_a_height_error_and_the_arms_decide_which_way(slope, arms, cure):
    found = only(HeightError, told(slope, car={"arms": arms}))
    assert found == HeightError(kind="lengths-unknown", arms=arms, cure=cure)


@pytest.mark.parametrize(
    ("curvature", "arms", "cure"),
    [
        (-0.2, "behind", "lengthen-rod"),
        (+0.2, "behind", "shorten-rod"),
        (-0.2, "ahead", "shorten-rod"),
        (+0.2, "ahead", "lengthen-rod"),
    ],
)
def test_a_c_is_a_length_error_that_shims_can_t_cure(curvature, arms, cure):
    diagnosis = told(0.0, curvature, car={"arms": arms})
    assert only(LengthError, diagnosis) == LengthError(kind="lengths-unknown", cure=cure)
    assert diagnosis[0] == CurveShape(kind="c", way="in" if curvature > 0.0 else "out")


def test_without_the_place_of_the_arms_no_way_is_named():
    assert told(-0.1, -0.2)[1:3] == [
        HeightError(kind="arms-unknown"),
        LengthError(kind="arms-unknown"),
    ]


def car_of(evaluator):
    corner = evaluator.corner
    return {
        "rod_length": float(np.hypot(*(corner.outer_seat - corner.inner)[1:])),
        "steering_arm": corner.steering_arm,
        "arms": "ahead" if corner.arms_ahead else "behind",
    }


def diagnosed(evaluator):
    """Diagnosis of a car that is as its case says, from its lengths alone."""
    toe = np.degrees(evaluator.toe(Settings.single(), TRAVEL)[0])
    rows = dict(zip(TRAVEL, toe, strict=True))
    return judged(None, [angles(rows, car=car_of(evaluator))]).diagnosis


def test_the_height_that_is_named_flattens_the_slope_on_the_exact_model(demo_car):
    case = read_case(demo_car).model_copy(update={"aim": Aim()})
    evaluator = Evaluator.of(case)
    found = only(HeightError, diagnosed(evaluator))
    height = found.by_mm if found.cure == "lower-outer" else -found.by_mm
    before = evaluator.curve(Settings.single()).slope
    outer = evaluator.curve(Settings.single(height)).slope
    rack = evaluator.curve(Settings.single(0.0, height)).slope
    # First order in front view: a tall stack is worth a quarter less, the rack all but a tenth.
    assert abs(outer / before) < 0.25
    assert abs(rack / before) < 0.1


@pytest.mark.parametrize("demo", ["lowered-strut", "extended-strut"])
def test_the_length_that_is_named_takes_most_of_the_c_out_of_the_exact_model(demo, demo_folder):
    case = read_case(demo_folder / f"{demo}.toml")
    evaluator = Evaluator.of(case)
    found = only(LengthError, diagnosed(evaluator))
    assert found.cure == "lengthen-rod"
    shifted = replace(evaluator.corner, inner=evaluator.corner.inner - [0.0, found.by_mm, 0.0])
    before, after = (
        float(car.curve(Settings.single()).curvature[0])
        for car in (evaluator, evaluator.with_corner(shifted))
    )
    assert abs(after / before) < 0.5


def test_an_eighth_of_an_inch_is_worth_what_the_trade_s_arithmetic_says():
    # 1/8 in on that car: 0.087 deg or 5.2 minutes per inch, by h / (L x a).
    car = MeasuredCar(rod_length=381.0, steering_arm=139.7, arms="behind")
    worth = slope_of_height(car) * INCH / 8.0  # toe per travel, whatever the unit of length
    assert np.degrees(worth * INCH) == pytest.approx(0.087, abs=0.0005)
    found = only(HeightError, told(-0.1, units="in", car=US_CAR | {"arms": "behind"}))
    minutes = found.worth_deg_per_mm2 * INCH / 32.0 * INCH * 60.0
    assert minutes == pytest.approx(1.3, abs=0.05)


def test_a_millimeter_on_metric_rods_is_worth_about_two_minutes_per_25_mm():
    # 300 to 400 mm rods: 1.5 to 2.6 minutes per 25 mm, common practice, no source.
    for rod in (300.0, 400.0):
        car = {"rod_length": rod, "steering_arm": 130.0, "arms": "behind"}
        worth = only(HeightError, told(-0.1, car=car)).worth_deg_per_mm2
        assert 1.5 <= worth * 25.0 * 60.0 <= 2.6


@pytest.mark.parametrize(
    ("in_per_in", "band"),
    [
        (0.018, "race"),
        (0.025, "oval"),
        (0.2, "darts"),
        (-0.2, "darts"),
        # Production cars toe out in bump: toe-in of the same size is not what they have.
        (-0.080, "production"),
        (+0.080, "toe-in"),
    ],
)
def test_whether_it_matters_is_said_by_the_bands_of_the_trade(in_per_in, band):
    slope = np.degrees(in_per_in / 26.0) * 10.0 / INCH
    found = only(Matters, told(slope, units="in", car=US_CAR))
    assert found.kind == band
    assert found.slope_in_per_in == pytest.approx(abs(in_per_in), rel=1e-6)
    assert found.way == ("in" if in_per_in > 0.0 else "out")


def test_what_stays_within_the_tolerance_does_not_matter():
    assert kinds(told(0.002, -0.01)) == ["keeps", "within"]


def test_a_slope_that_is_wanted_is_no_error():
    wanted = {"toe_gain_deg_per_10mm": -0.1}
    assert only(Matters, told(-0.1, aim=wanted)).kind == "within"
    lacks_toe_out = told(0.0, aim=wanted, car={"arms": "behind"})
    assert only(HeightError, lacks_toe_out).cure == "raise-outer"


def test_a_worth_needs_both_lengths_and_the_arms():
    lengths = {"rod_length": 370.0, "steering_arm": 130.0}
    assert slope_of_height(MeasuredCar(**lengths)) is None
    assert slope_of_height(MeasuredCar(rod_length=370.0, arms="ahead")) is None
    behind, ahead = (slope_of_height(MeasuredCar(**lengths, arms=a)) for a in ("behind", "ahead"))
    assert behind == -ahead == 1.0 / (370.0 * 130.0)
