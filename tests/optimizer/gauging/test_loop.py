"""The answer as a whole: its contract, and readings that the points can't explain."""

import json
import re

import numpy as np
import pytest

from optimizer.car.evaluate import Evaluator
from optimizer.car.settings import Settings
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.gauging.loop import gauge
from optimizer.models.gauge import GaugeResult, WheelGauge
from optimizer.models.questions import OtherArms, OtherTravel, PoorFit, Slip
from optimizer.models.remedies import Matters
from optimizer.models.vehicle import Vehicle
from optimizer.reports.terminal_gauge import gauge_report
from optimizer.wording.gauge_next import GUESS

from .sweeps import angles, judged, kinds, only, readings

TRAVEL = np.arange(-40.0, 41.0, 10.0)


def test_json_holds_what_was_promised(demo_folder, capsys):
    case = demo_folder / "lowered-strut.toml"
    sweep = demo_folder / "readings" / "lowered-strut.toml"
    assert main(["gauge", str(case), str(sweep), "--json"]) == 1  # its shelf misses the tolerance
    out, err = capsys.readouterr()
    answer = json.loads(out)
    assert err == ""
    assert (answer["format"], len(answer["wheels"])) == (2, 1)
    (wheel,) = answer["wheels"]
    measured = {"travel_mm", "toe_deg", "toe_slope_deg_per_10mm", "toe_curvature_deg"}
    assert measured <= wheel["measured"].keys()
    assert all(isinstance(text, str) for text in wheel["diagnosis"] + answer["cautions"])
    assert [fact["kind"] for fact in wheel["facts"]["diagnosis"]][:2] == [
        "lopsided-slope",
        "worth",
    ]
    assert wheel["fitted_points"].keys() == read_case(case).points.model_dump().keys()
    following = {"outer_drop_mm", "rack_raise_mm", "stack_mm"}
    following |= {"peak_toe_change_deg", "peak_toe_change_95_deg"}
    assert following <= wheel["next"].keys()
    assert set(answer) - {"facts"} == set(GaugeResult.model_fields)
    assert set(wheel) - {"facts"} == set(WheelGauge.model_fields)


def test_json_without_a_case_has_no_points_and_no_next(demo_folder, capsys):
    assert main(["gauge", str(demo_folder / "readings" / "lowered-strut.toml"), "--json"]) == 0
    (answer,) = json.loads(capsys.readouterr().out)["wheels"]
    assert (answer["fitted_points"], answer["next"]) == ({}, None)
    assert answer["measured"]["toe_slope_deg_per_10mm"] == pytest.approx(-0.110, abs=0.001)


def test_the_measured_slope_and_curvature_are_those_of_the_model(demo_car):
    case = read_case(demo_car)
    car = Evaluator.of(case)
    travel = car.travel
    toe = np.degrees(car.toe(Settings.single(), travel)[0])
    measured = judged(case, [angles(dict(zip(travel, toe, strict=True)))]).measured
    exact = car.curve(Settings.single())
    # A cubic through the sweep against the model's fifth power.
    slope, curvature, peak = (
        float(np.degrees(x[0])) for x in (exact.slope * 10.0, exact.curvature, exact.peak)
    )
    assert measured.toe_slope_deg_per_10mm == pytest.approx(slope, abs=0.004)
    assert measured.toe_curvature_deg == pytest.approx(curvature, abs=0.03)
    assert measured.peak_toe_change_deg == pytest.approx(peak, abs=0.03)


def mistyped(demo_folder, change, **keys):
    """Slips in a sweep of the extended car, whose points are known well, mistyped."""
    case = read_case(demo_folder / "extended-strut.toml")
    case = case.model_copy(update={"accuracy": type(case.accuracy)(points=1.0)})
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), TRAVEL)[0])
    rows = change(np.column_stack([TRAVEL, toe - toe[4]]))
    asked = judged(case, [angles(dict(rows.tolist()), **keys)]).questions
    return [fact.kind for fact in asked if isinstance(fact, Slip)]


@pytest.mark.parametrize(
    ("change", "slip"),
    [
        (lambda rows: rows, []),
        (lambda rows: rows * [1.0, -1.0], ["turned"]),
        (lambda rows: rows * [1.0, 0.5], ["doubled"]),
        (lambda rows: rows * [1.0, 2.0], ["halved"]),
        (lambda rows: rows * [-1.0, 1.0], ["exchanged"]),
        (lambda rows: rows * [1.0, 60.0], ["by-60"]),
        (lambda rows: rows * [1.0, 0.1], ["tenfold"]),
        (lambda rows: rows * [1.0, 10.0], ["tenth"]),
        (lambda rows: rows * [0.5, 1.0], ["travel-doubled"]),
        (lambda rows: rows * [2.0, 1.0], ["travel-halved"]),
    ],
)
def test_one_slip_that_explains_what_the_points_can_t_is_asked_about(demo_folder, change, slip):
    assert mistyped(demo_folder, change) == slip


def test_arms_that_the_points_contradict_are_asked_about(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    rows = dict(zip(TRAVEL, -0.01 * TRAVEL, strict=True))
    asked = judged(case, [angles(rows, car={"arms": "ahead"})]).questions
    assert only(OtherArms, asked) == OtherArms(said="ahead", measured="behind")


def test_readings_that_no_such_car_can_give_say_so(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    wild = 0.3 * np.sin(TRAVEL / 8.0)
    answer = judged(case, [angles(dict(zip(TRAVEL, wild, strict=True)), noise=0.01)])
    assert only(PoorFit, answer.questions).times > 3.0
    assert answer.contradictory


def test_a_sweep_that_misses_the_used_travel_altogether_is_refused(demo_folder, tmp_path, capsys):
    path = tmp_path / "sweep.toml"
    path.write_text(
        'format = 1\nunits = "mm"\nkind = "angle"\nused = { bump = 50.0, droop = 0.0 }\n'
        "readings = [[-30, 0.1], [-20, 0.05], [-10, 0.0]]\n",
        encoding="utf-8",
    )
    assert main(["gauge", str(path)]) == 2
    assert "no reading lies in the travel that the car uses" in capsys.readouterr().err


def test_few_rows_claim_no_more_than_a_gauge_s_resolution():
    three = readings("angle", [[-40.0, 0.1], [0.0, 0.0], [40.0, -0.1]])
    assert judged(None, [three]).readings_noise_deg == pytest.approx(0.01)
    many = readings("angle", [[t, -0.002511 * t] for t in TRAVEL])
    assert judged(None, [many]).readings_noise_deg == pytest.approx(0.002)


@pytest.mark.parametrize(
    ("kind", "rows", "keys", "expected_deg"),
    [
        # Two tapes to whole millimeters, 600 mm apart, for both wheels; uniform errors.
        (
            "toe-plates",
            [[-40.0, 1201.0, 1198.0], [0.0, 1200.0, 1200.0], [40.0, 1198.0, 1203.0]],
            {"spacing": 600.0},
            np.degrees(np.sqrt(2.0 / 12.0) / 600.0 / 2.0),
        ),
        ("angle", [[t, round(-0.31 * t / 10.0, 1)] for t in TRAVEL], {}, 0.1 / np.sqrt(12.0)),
        ("angle", [[t, round(-0.31 * t / 10.0, 1)] for t in TRAVEL], {"noise": 0.005}, 0.005),
        ("angle", [[-40.0, 0.1], [0.0, 0.0], [40.0, -0.1]], {}, 0.01),  # may be chance
    ],
)
def test_no_reading_is_finer_than_it_is_written(kind, rows, keys, expected_deg):
    answer = judged(None, [readings(kind, rows, **keys)])
    assert answer.readings_noise_deg == pytest.approx(expected_deg, rel=1e-3)


def test_half_of_the_play_counts_as_noise_beside_what_is_stated():
    up, down = [[t, 0.03] for t in TRAVEL], [[t, -0.03] for t in TRAVEL[-2::-1]]
    sweep = readings("angle", [*up, *down], noise=0.04)
    assert judged(None, [sweep]).readings_noise_deg == pytest.approx(0.05)


def test_a_sweep_that_no_point_of_the_case_can_follow_is_refused(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    far = angles({0.0: 0.0, 400.0: 0.1, 450.0: 0.2})
    with pytest.raises(PivotwrightError, match="the points of the case reach none of the heights"):
        judged(case, [far])


def test_more_than_half_a_turn_of_toe_is_refused_by_its_row():
    turned = angles({-10.0: 0.0, 0.0: 0.1, 10.0: 200.0})
    with pytest.raises(PivotwrightError, match=r"readings\[3\] shows .* more than half a"):
        gauge(None, [turned])


def test_a_used_travel_other_than_the_case_s_is_asked_about(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), TRAVEL)[0])
    rows = dict(zip(TRAVEL, toe, strict=True))

    def asked(used):
        questions = judged(case, [angles(rows, used=used)]).questions
        return [fact for fact in questions if isinstance(fact, OtherTravel)]

    (other,) = asked({"bump": 40.0, "droop": 40.0})
    assert (other.bump_mm, other.case_bump_mm) == (40.0, case.ride.bump)
    assert asked({"bump": case.ride.bump, "droop": case.ride.droop}) == asked(None) == []


def test_points_and_readings_that_contradict_each_other_make_the_answer_a_guess(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), TRAVEL)[0])
    right, wrong = (
        gauge(Vehicle((case,)), [angles(dict(zip(TRAVEL, factor * toe, strict=True)))])
        for factor in (1.0, 6.0)
    )
    assert [answer.wheels[0].contradictory for answer in (right, wrong)] == [False, True]
    assert GUESS not in " ".join(gauge_report(right, ["car.toml"]).split())
    assert GUESS in " ".join(gauge_report(wrong, ["car.toml"]).split())
    assert not any(isinstance(fact, Slip) for fact in right.wheels[0].questions)


def test_a_part_of_the_used_travel_is_not_called_all_of_it(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    travel = np.arange(-5.0, 6.0, 1.0)
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), travel)[0])
    answer = gauge(Vehicle((case,)), [angles(dict(zip(travel, 0.1 * toe, strict=True)))])
    assert not answer.wheels[0].measured.all_used_travel_swept
    assert only(Matters, answer.wheels[0].diagnosis).kind == "within-as-swept"
    assert "over the used travel" not in " ".join(gauge_report(answer, ["car.toml"]).split())


def test_a_logger_s_thousand_rows_are_drawn_as_a_few_dozen():
    travel = np.linspace(-40.0, 40.0, 1000)
    answer = gauge(None, [angles(dict(zip(travel, -0.005 * travel, strict=True)))])
    assert len(answer.wheels[0].measured.travel_mm) == 1000
    drawn = re.findall(r"^ +([-+]?\d+\.\d) +[o|]", gauge_report(answer, ["sweep.toml"]), re.M)
    assert 35 <= len(drawn) <= 41
    assert (drawn[0], drawn[-1]) == ("+40.0", "-40.0")


def test_a_row_that_stands_apart_does_not_set_the_scale_of_the_drawing():
    travel = [*range(-40, 41, 10), *range(30, -41, -10)]
    rows = [[float(t), -0.005 * t] for t in travel]
    rows[6][1] += 3.0
    drawn = gauge_report(gauge(None, [readings("angle", rows)]), ["sweep.toml"])
    assert "full width ±0.200 deg" in " ".join(drawn.split())
    assert len(re.findall(r"^ +[-+]?\d+\.\d +[o|]", drawn, re.M)) == 9


def test_readings_wholly_outside_the_used_travel_are_not_drawn_out_into_it(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")  # it uses 50 mm of bump
    with pytest.raises(PivotwrightError, match="no reading lies in the travel that the car uses"):
        judged(case, [angles({60.0: 0.0, 90.0: -0.1, 120.0: -0.2})])
    edge = judged(case, [angles({50.0: 0.0, 75.0: -0.1, 100.0: -0.2})])
    assert "ride-height-outside" in kinds(edge.questions)
