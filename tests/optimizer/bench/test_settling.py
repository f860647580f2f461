"""Toe is set now, so that it is right when the car has come down as far as it will."""

import pytest

from optimizer.models.curve import CurveResult
from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import STRUT, answer_of, changed, run

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
