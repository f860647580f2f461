"""Toe is set now, so that it is right when the car has come down as far as it will."""

import re

import pytest

from optimizer.files.readings_file import read_readings
from optimizer.gauging.loop import gauge
from optimizer.models.curve import CurveResult
from optimizer.models.diagnosis import StaticDrift
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, STRUT, answer_of, changed, run

BY_MM = 20.0
SAME_DEG = 1e-9


def settling_car(tmp_path, by=BY_MM):
    path = tmp_path / "settles.toml"
    path.write_text(changed(STRUT, r"^\[ride\]", f"[ride]\nsettles_by = {by}"), encoding="utf-8")
    return path


def curve_of(capsys, *asked):
    run("curve", *asked, "--json")
    return answer_of(CurveResult, capsys.readouterr().out).wheels[0]


def test_curve_says_what_to_set_and_that_is_the_settled_car_let_up_again(capsys, tmp_path):
    path = settling_car(tmp_path)
    told = curve_of(capsys, path).settling
    assert told.settles_by_mm == BY_MM
    lower = curve_of(capsys, path, "--lowered-by", 40.0 + BY_MM, "--droop", BY_MM)
    toe = dict(zip(lower.travel_mm, lower.toe_deg, strict=True))
    assert told.toe_deg == pytest.approx(toe[0.0], abs=SAME_DEG)
    assert told.set_deg == pytest.approx(toe[-BY_MM], abs=SAME_DEG)
    assert abs(told.set_deg - told.toe_deg) > 0.05
    run("curve", path)
    said = " ".join(capsys.readouterr().out.split())
    assert f"Set this wheel's toe to {told.set_deg:+.3f} deg now" in said
    assert "when the car has come down another 20.0 mm" in said


def test_suggest_says_it_of_what_is_to_be_fitted(capsys, tmp_path):
    path = settling_car(tmp_path)
    run("suggest", path, "--json")
    answer = answer_of(SuggestResult, capsys.readouterr().out)
    (fitted,), told = answer.ranked[0].wheels, answer.wheels[0].settling
    asked = ("--outer-drop", fitted.outer_drop_mm, "--rack-raise", fitted.rack_raise_mm)
    again = curve_of(capsys, path, *asked).settling
    assert told.set_deg == pytest.approx(again.set_deg, abs=SAME_DEG)
    run("suggest", path, "--verbose")
    assert "when the car has come down another 20.0 mm" in " ".join(capsys.readouterr().out.split())


def test_a_car_that_does_not_settle_is_told_nothing(capsys):
    assert curve_of(capsys, STRUT).settling is None


def drift_said(capsys):
    said = " ".join(capsys.readouterr().out.split())
    return re.search(r"Static toe drifts with height: by \S+ deg where the car stands", said)


def test_static_toe_that_drifts_with_height_is_told_with_its_figures(capsys):
    told = curve_of(capsys, STRUT)
    toe = dict(zip(told.travel_mm, told.toe_deg, strict=True))
    (drift,) = told.drift
    assert drift.by_mm == 10.0
    assert drift.lower_deg == pytest.approx(toe[10.0] - toe[0.0], abs=SAME_DEG)
    assert drift.higher_deg == pytest.approx(toe[-10.0] - toe[0.0], abs=SAME_DEG)
    run("curve", STRUT)
    assert drift_said(capsys)
    run("suggest", STRUT, "--json")
    assert answer_of(SuggestResult, capsys.readouterr().out).wheels[0].diagnosis.drift == [drift]
    run("suggest", STRUT, "--verbose")
    assert drift_said(capsys)


def test_a_wheel_that_keeps_its_toe_near_ride_height_drifts_not(capsys):
    assert curve_of(capsys, STRUT, "--outer-drop", 10.0, "--rack-raise", -3.0).drift == []


def test_readings_tell_the_drift_as_far_as_they_go(capsys, tmp_path):
    """An invented sweep, 0.1 deg of toe-out for each 10 mm of bump, not read in droop."""
    path = tmp_path / "sweep.toml"
    rows = ", ".join(f"[{10 * k}.0, {-0.1 * k:.1f}]" for k in range(6))
    path.write_text(
        f'format = 1\nunits = "mm"\nkind = "angle"\nreadings = [{rows}]\n', encoding="utf-8"
    )
    (wheel,) = gauge(None, [read_readings(path)]).wheels
    (drift,) = (one for one in wheel.diagnosis if isinstance(one, StaticDrift))
    assert (drift.by_mm, drift.higher_deg) == (10.0, None)
    assert drift.lower_deg == pytest.approx(-0.1, abs=SAME_DEG)
    run("gauge", path)
    assert drift_said(capsys)


def test_on_an_axle_beam_it_is_straight_ahead_that_drifts_and_the_drag_link_that_is_set(
    capsys, tmp_path
):
    truck = CASES / "lifted-leaf-axle.toml"
    run("curve", truck)
    said = " ".join(capsys.readouterr().out.split())
    assert "Straight ahead drifts with height: this wheel is steered by -0." in said
    assert "and the other one with it; toe between the two stays. Center the steering" in said
    assert "Static toe" not in said
    path = tmp_path / "settles.toml"
    path.write_text(changed(truck, r"^\[ride\]", "[ride]\nsettles_by = 20.0"), encoding="utf-8")
    run("curve", path)
    said = " ".join(capsys.readouterr().out.split())
    assert "Set the drag link so that this wheel's toe is " in said
