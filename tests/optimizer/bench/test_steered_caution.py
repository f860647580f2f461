"""A number 1 that steers more in a bend than the car as it is says so, with both numbers."""

import pytest

from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import STRUT, WISHBONE, answer_of, changed, run


def answer(capsys, path):
    run("suggest", path, "--json")
    return answer_of(SuggestResult, capsys.readouterr().out)


def test_the_caution_holds_the_curve_that_is_made_worse_and_no_other(capsys):
    found = answer(capsys, STRUT)
    assert found.side_effects_of == 1
    worse = [x.worsened for x in found.cautions if x.kind == "steered"]
    curves = [
        (curve.rack_travel_mm, curve.peak_deg.before, curve.peak_deg.after)
        for curve in found.wheels[0].side_effects.steered
        if curve.peak_deg.after > curve.peak_deg.before + found.tolerance_deg
    ]
    assert [(x.rack_travel_mm, x.before_deg, x.after_deg) for x in worse] == curves
    assert len(curves) == 1
    run("suggest", STRUT)
    said = " ".join(capsys.readouterr().out.split())
    assert "With the rack 31.0 mm to the right number 1 makes toe change more over the travel" in (
        said
    )
    assert "by 0.617 deg in place of 0.150 deg" in said


def test_a_number_1_that_betters_every_steered_curve_needs_no_caution(capsys):
    found = answer(capsys, WISHBONE)
    for curve in found.wheels[0].side_effects.steered:
        assert curve.peak_deg.after < curve.peak_deg.before
    assert not [x for x in found.cautions if x.kind == "steered"]


def test_what_is_near_enough_says_how_much_worse_is_worth_a_word(capsys, tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(changed(STRUT, r"^tolerance_deg = 0.05", "tolerance_deg = 0.6"), "utf-8")
    found = answer(capsys, path)
    assert found.tolerance_deg == pytest.approx(0.6)
    assert not [x for x in found.cautions if x.kind == "steered"]
