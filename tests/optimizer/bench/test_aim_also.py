"""`[aim] also`: limits beside the toe curve, against every setting's own curves and turns."""

import json

import numpy as np
import pytest

from optimizer.models.suggest import SuggestResult
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, answer_of, changed, run

STEERED_DEG = 0.25
RACKS = (-27.5, 27.5)  # halfway to the locks of the wishbone car
TOLERANCE = r"^tolerance_deg = [0-9.]+"
ROUNDING_DEG = 1e-9


def with_also(tmp_path, car, also, axle=""):
    path = tmp_path / "car.toml"
    text = changed(car, TOLERANCE, f"tolerance_deg = 0.05\nalso = {{ {also} }}")
    path.write_text(text + axle, encoding="utf-8")
    return path


def suggested(capsys, path, *options):
    run("suggest", path, *options, "--json")
    return answer_of(SuggestResult, capsys.readouterr().out)


def curve_of(capsys, car, row, rack):
    """Toe at travels of a setting, by `curve`, which knows nothing of these limits."""
    wheel = row.wheels[0]
    stack = ["--outer-drop", f"{wheel.outer_drop_mm}", "--rack-raise", f"{wheel.rack_raise_mm}"]
    run("curve", car, *stack, f"--rack-travel={rack}", "--step", "2.5", "--json")
    (found,) = json.loads(capsys.readouterr().out)["wheels"]
    return np.array(found["travel_mm"]), np.array(found["toe_deg"], dtype=float)


def steered_peak(capsys, car, row):
    peaks = []
    for rack in RACKS:
        travel, toe = curve_of(capsys, car, row, rack)
        peaks.append(np.abs(toe - toe[travel == 0.0]).max())
    return max(peaks)


def test_what_steers_more_off_center_than_is_allowed_is_refused_with_its_amount(capsys, tmp_path):
    usual = suggested(capsys, WISHBONE, "--show", "12")
    peaks = {row.rank: steered_peak(capsys, WISHBONE, row) for row in usual.ranked if row.fits}
    allowed = float(np.median(list(peaks.values()))) + ROUNDING_DEG
    car = with_also(tmp_path, WISHBONE, f"steered_deg = {allowed}")
    car.write_text(car.read_text().replace("tolerance_deg = 0.05", "tolerance_deg = 0.04"))
    found = suggested(capsys, car, "--show", "12")
    kept = [row for row in found.ranked if row.fits]
    assert kept
    for row in kept:
        assert steered_peak(capsys, WISHBONE, row) <= allowed + 1e-4
    fits = [
        (row.wheels[0].outer_drop_mm, row.wheels[0].rack_raise_mm)
        for row in usual.ranked
        if row.fits and peaks[row.rank] < allowed - 1e-4
    ]
    told = [(row.wheels[0].outer_drop_mm, row.wheels[0].rack_raise_mm) for row in kept]
    assert set(fits) <= set(told)
    assert found.certificate.kind == "exhaustive"
    assert found.certificate.best_peak_toe_change_deg >= (
        usual.certificate.best_peak_toe_change_deg - ROUNDING_DEG
    )


def test_each_refusal_says_where_and_by_how_much_and_no_such_option_is_unbeaten(capsys, tmp_path):
    car = with_also(tmp_path, STRUT, f"steered_deg = {STEERED_DEG}")
    found = suggested(capsys, car)
    assert found.ranked
    for row in found.ranked:
        (stop,) = [one for one in row.reasons if one.kind == "steered"]
        assert not row.fits
        assert not row.unbeaten
        assert stop.short == pytest.approx(stop.value - STEERED_DEG)
        assert row.chances.keeps_limits_probability == 0.0
        travel, toe = curve_of(capsys, STRUT, row, stop.rack_travel_mm)
        at = np.interp(stop.travel_mm, travel, toe) - toe[travel == 0.0][0]
        assert abs(at) == pytest.approx(stop.value, abs=0.002)
    assert run("suggest", car) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "rack 31.0 mm to the right, 0.38 deg more than aim.also.steered_deg allows" in said


def test_turn_toe_out_is_kept_within_what_is_wanted(capsys, tmp_path):
    usual = suggested(capsys, WISHBONE).ranked[0]
    toe = {}
    for rack in (*RACKS, 0.0):
        travel, of_travel = curve_of(capsys, WISHBONE, usual, rack)
        toe[rack] = float(of_travel[travel == 0.0][0])
    out = 2.0 * toe[0.0] - toe[RACKS[0]] - toe[RACKS[1]]
    for low, high, kept in ((-0.5, 0.5, True), (0.1, 0.6, False), (-0.6, -0.1, False)):
        within = f"turn_toe_out_deg = [{out + low:.6f}, {out + high:.6f}]"
        found = suggested(capsys, with_also(tmp_path, WISHBONE, within))
        same = [
            row
            for row in found.ranked
            if row.wheels[0].outer_drop_mm == usual.wheels[0].outer_drop_mm
            and row.wheels[0].rack_raise_mm == usual.wheels[0].rack_raise_mm
        ]
        if kept:
            assert any(row.fits for row in same)
            continue
        assert not any(row.fits for row in same)
        stops = [one for row in found.ranked for one in row.reasons if one.kind == "turn"]
        assert {one.name for one in stops} <= {"least" if low > 0.0 else "most"}
    run("suggest", with_also(tmp_path, WISHBONE, "turn_toe_out_deg = [9.0, 9.5]"))
    said = " ".join(capsys.readouterr().out.split())
    assert "aim.also.turn_toe_out_deg asks for at least 9.00 deg" in said


def test_reach_says_that_a_height_is_blocked_by_it(capsys, tmp_path):
    car = with_also(tmp_path, STRUT, f"steered_deg = {STEERED_DEG}")
    car.write_text(car.read_text().replace("tolerance_deg = 0.05", "tolerance_deg = 0.2"))
    run("reach", car, "--heights", "40:40:1", "--json")
    (row,) = json.loads(capsys.readouterr().out)["heights"]
    assert "steered" in row["blocked_by"]
    assert row["short_by"]["steered_deg"] > 0.1


@pytest.mark.parametrize(
    ("also", "said"),
    [
        ("steered_deg = 0.0", "aim.also.steered_deg  must be above 0, got 0"),
        ("turn_toe_out_deg = [2.0, 1.0]", "must be [least, most], got 2 and 1 deg"),
        ("rolled_deg = 1.0", "aim.also.rolled_deg"),
    ],
)
def test_what_can_not_be_meant_is_refused_where_it_stands(capsys, tmp_path, also, said):
    assert run("check", with_also(tmp_path, STRUT, also)) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("car", "also", "said"),
    [
        ("five-link-rear.toml", "steered_deg = 0.3", 'left out where car.axle is "rear"'),
        ("lifted-beam-axle.toml", "turn_toe_out_deg = [0.1, 1.0]", "left out on a beam-axle"),
    ],
)
def test_a_car_without_such_a_figure_refuses_the_limit(capsys, tmp_path, car, also, said):
    path = tmp_path / "car.toml"
    text = (CASES / car).read_text(encoding="utf-8")
    assert "[aim]" in text
    path.write_text(text.replace("[aim]", f"[aim]\nalso = {{ {also} }}"), encoding="utf-8")
    assert run("check", path) == 2
    assert said in " ".join(capsys.readouterr().err.split())
