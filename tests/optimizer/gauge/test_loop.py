"""The answer as a whole: its contract, and readings that the points can't explain."""

import json
import re

import numpy as np
import pytest

from optimizer.car.adjust import Settings
from optimizer.car.evaluate import Evaluator
from optimizer.cli.main import main
from optimizer.errors import PivotwrightError
from optimizer.files.case_file import read_case
from optimizer.gauge.loop import gauge
from optimizer.models.gauge import GaugeResult
from optimizer.reports.terminal_gauge import gauge_report

from .sweeps import angles, readings

TRAVEL = np.arange(-40.0, 41.0, 10.0)


def test_json_holds_what_was_promised(demo_folder, capsys):
    case = demo_folder / "lowered-strut.toml"
    sweep = demo_folder / "readings" / "lowered-strut.toml"
    assert main(["gauge", str(case), str(sweep), "--json"]) == 0
    out, err = capsys.readouterr()
    answer = json.loads(out)
    assert err == ""
    assert answer["format"] == 1
    measured = {"travel_mm", "toe_deg", "toe_slope_deg_per_10mm", "toe_curvature_deg"}
    assert measured <= answer["measured"].keys()
    assert all(isinstance(text, str) for text in answer["diagnosis"])
    assert answer["fitted_points"].keys() == read_case(case).points.model_dump().keys()
    following = {"outer_drop_mm", "rack_raise_mm", "stack_mm"}
    following |= {"peak_toe_change_deg", "peak_toe_change_95_deg"}
    assert following <= answer["next"].keys()
    assert GaugeResult.model_validate(answer).next.stack_mm == answer["next"]["stack_mm"]


def test_json_without_a_case_has_no_points_and_no_next(demo_folder, capsys):
    assert main(["gauge", str(demo_folder / "readings" / "lowered-strut.toml"), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["fitted_points"], answer["next"]) == ({}, None)
    assert answer["measured"]["toe_slope_deg_per_10mm"] == pytest.approx(-0.110, abs=0.001)


def test_the_measured_slope_and_curvature_are_those_of_the_model(demo_car):
    case = read_case(demo_car)
    car, joint = Evaluator.of(case), case.lower_ball_joint.drop[0]
    travel = car.travel
    toe = np.degrees(car.toe(Settings.single(ball_joint_drop=joint), travel)[0])
    measured = gauge(case, [angles(dict(zip(travel, toe, strict=True)))]).measured
    exact = car.curve(Settings.single(ball_joint_drop=joint))
    # A cubic through the sweep against the model's fifth power.
    slope, curvature, peak = (
        float(np.degrees(x[0])) for x in (exact.slope * 10.0, exact.curvature, exact.peak)
    )
    assert measured.toe_slope_deg_per_10mm == pytest.approx(slope, abs=0.004)
    assert measured.toe_curvature_deg == pytest.approx(curvature, abs=0.03)
    assert measured.peak_toe_change_deg == pytest.approx(peak, abs=0.03)


def mistyped(demo_folder, change, **keys):
    """Questions about a sweep of the extended car, whose points are known well, mistyped."""
    case = read_case(demo_folder / "extended-strut.toml")
    case = case.model_copy(update={"accuracy": type(case.accuracy)(points=1.0)})
    joint = case.lower_ball_joint.drop[0]
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(ball_joint_drop=joint), TRAVEL)[0])
    rows = change(np.column_stack([TRAVEL, toe - toe[4]]))
    return " ".join(gauge(case, [angles(dict(rows.tolist()), **keys)]).questions)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda rows: rows, None),
        (lambda rows: rows * [1.0, -1.0], "turned round they would"),
        (lambda rows: rows * [1.0, 0.5], "twice the toe would: was a radius taken"),
        (lambda rows: rows * [1.0, 2.0], "half of the toe would: was a diameter taken"),
        (lambda rows: rows * [-1.0, 1.0], "with bump and droop exchanged they would"),
        (lambda rows: rows * [1.0, 60.0], "a 60th of the toe would: were minutes typed"),
    ],
)
def test_one_slip_that_explains_what_the_points_can_t_is_asked_about(demo_folder, change, words):
    told = mistyped(demo_folder, change)
    assert ("As typed, the readings don't fit the points" in told) == (words is not None)
    assert words is None or words in told


def test_arms_that_the_points_contradict_are_asked_about(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    rows = dict(zip(TRAVEL, -0.01 * TRAVEL, strict=True))
    told = gauge(case, [angles(rows, car={"arms": "ahead"})]).questions
    assert any("are ahead of the axle, the points of the case that they are" in t for t in told)


def test_readings_that_no_such_car_can_give_say_so(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    wild = 0.3 * np.sin(TRAVEL / 8.0)
    told = gauge(case, [angles(dict(zip(TRAVEL, wild, strict=True)), noise=0.01)]).questions
    assert any("Even with its points moved, the model misses the readings" in t for t in told)


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
    assert gauge(None, [three]).readings_noise_deg == pytest.approx(0.01)
    many = readings("angle", [[t, -0.0025 * t] for t in TRAVEL])
    assert gauge(None, [many]).readings_noise_deg == pytest.approx(0.002)


def test_half_of_the_play_counts_as_noise_beside_what_is_stated():
    up, down = [[t, 0.03] for t in TRAVEL], [[t, -0.03] for t in TRAVEL[-2::-1]]
    sweep = readings("angle", [*up, *down], noise=0.04)
    assert gauge(None, [sweep]).readings_noise_deg == pytest.approx(0.05)


def test_a_sweep_that_no_point_of_the_case_can_follow_is_refused(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    far = angles({-10.0: 0.1, 0.0: 0.0, 10.0: -0.1}, ball_joint_drop=300.0)
    with pytest.raises(PivotwrightError, match="the points of the case reach none of the heights"):
        gauge(case, [far])


def test_more_than_half_a_turn_of_toe_is_refused_by_its_row():
    turned = angles({-10.0: 0.0, 0.0: 0.1, 10.0: 200.0})
    with pytest.raises(PivotwrightError, match=r"readings\[3\] shows .* more than half a"):
        gauge(None, [turned])


def test_a_used_travel_other_than_the_case_s_is_asked_about(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), TRAVEL)[0])
    rows = dict(zip(TRAVEL, toe, strict=True))

    def asked(used):
        answer = gauge(case, [angles(rows, used=used)])
        return [text for text in answer.questions if "it is the case's travel that is" in text]

    assert len(asked({"bump": 40.0, "droop": 40.0})) == 1
    assert asked({"bump": case.ride.bump, "droop": case.ride.droop}) == asked(None) == []


def test_points_and_readings_that_contradict_each_other_make_the_answer_a_guess(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), TRAVEL)[0])
    right = gauge(case, [angles(dict(zip(TRAVEL, toe, strict=True)))])
    wrong = gauge(case, [angles(dict(zip(TRAVEL, 6.0 * toe, strict=True)))])
    told = [" ".join(gauge_report(answer, ["car.toml"]).split()) for answer in (right, wrong)]
    assert ["take what follows for a guess" in text for text in told] == [False, True]
    assert not any("As typed" in text for text in right.questions)


def test_a_part_of_the_used_travel_is_not_called_all_of_it(demo_folder):
    case = read_case(demo_folder / "lowered-strut.toml")
    travel = np.arange(-5.0, 6.0, 1.0)
    toe = np.degrees(Evaluator.of(case).toe(Settings.single(), travel)[0])
    answer = gauge(case, [angles(dict(zip(travel, 0.1 * toe, strict=True)))])
    assert not answer.measured.all_used_travel_swept
    told = " ".join(gauge_report(answer, ["car.toml"]).split())
    assert "toe stays within the tolerance over the part that was swept" in told
    assert "over the used travel" not in told


def test_a_logger_s_thousand_rows_are_drawn_as_a_few_dozen():
    travel = np.linspace(-40.0, 40.0, 1000)
    answer = gauge(None, [angles(dict(zip(travel, -0.005 * travel, strict=True)))])
    assert len(answer.measured.travel_mm) == 1000
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
        gauge(case, [angles({60.0: 0.0, 90.0: -0.1, 120.0: -0.2})])
    edge = gauge(case, [angles({50.0: 0.0, 75.0: -0.1, 100.0: -0.2})])
    assert any("Ride height lies outside" in text for text in edge.questions)
