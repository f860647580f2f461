"""`[aim] also`: limits beside the toe curve, against every setting's own curves and turns."""

import json
import re

import numpy as np
import pytest
from msgspec.structs import replace

from optimizer.car.evaluate import Evaluator
from optimizer.car.many_cars import ManyCars
from optimizer.car.settings import Settings
from optimizer.files.case_file import read_case
from optimizer.limits.also import also_margins
from optimizer.limits.kept import kept_in_cars
from optimizer.limits.margins import margins
from tests.optimizer.command_line import CASES, STRUT, WISHBONE, changed, run, suggested

STEERED_DEG = 0.25
RACKS = (-27.5, 27.5)  # halfway to the locks of the wishbone car
TOLERANCE = r"^tolerance_deg = [0-9.]+"
ROUNDING_DEG = 1e-9


def with_also(tmp_path, car, also, axle=""):
    path = tmp_path / "car.toml"
    text = changed(car, TOLERANCE, f"tolerance_deg = 0.05\nalso = {{ {also} }}")
    path.write_text(text + axle, encoding="utf-8")
    return path


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
        assert row.chances.keeps_limits_probability < 0.5
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


TRACK = "\n[car]\ntrack = 1500.0\nwheelbase = 2500.0\n"


def with_track(tmp_path, car, also):
    """A demo car with its track stated, if it has none, and limits beside its aim."""
    text = (CASES / f"{car}.toml").read_text(encoding="utf-8")
    assert "[aim]" in text
    text = text.replace("[aim]", f"[aim]\nalso = {{ {also} }}")
    path = tmp_path / f"{car}.toml"
    stated = re.search(r"^track\s*=", text, re.MULTILINE)
    path.write_text(text if stated else text + TRACK, encoding="utf-8")
    return path


@pytest.mark.parametrize("car", ["track-wishbone", "lifted-beam-axle"])
def test_roll_steer_is_held_against_what_the_side_effects_tell(capsys, tmp_path, car):
    usual = suggested(capsys, with_track(tmp_path, car, "roll_steer = [-9.0, 9.0]"))
    (wheel,) = usual.wheels
    told = wheel.side_effects.roll_steer_gradient
    changed_to = usual.ranked[usual.side_effects_of - 1]
    for value, least, most, name in (
        (told.after, told.after + 1e-4, 9.0, "least"),
        (told.after, -9.0, told.after - 1e-4, "most"),
    ):
        found = suggested(
            capsys, with_track(tmp_path, car, f"roll_steer = [{least:.6f}, {most:.6f}]")
        )
        stops = {
            fitted_in(row): [one for one in row.reasons if one.kind == "roll"]
            for row in found.ranked
        }
        assert all(not row.fits for row in found.ranked if stops[fitted_in(row)])
        if fitted_in(changed_to) in stops:
            (stop,) = stops[fitted_in(changed_to)]
            assert stop.name == name
            assert stop.value == pytest.approx(value, abs=2e-6)


def fitted_in(row):
    wheel = row.wheels[0]
    return wheel.outer_drop_mm, wheel.rack_raise_mm, wheel.axle_bracket_raise_mm


@pytest.mark.parametrize(
    ("car", "also"),
    [
        ("track-wishbone", "steered_deg = {steered}"),
        ("track-wishbone", "turn_toe_out_deg = [{turn}, 9.0]"),
        ("track-wishbone", "roll_steer = [-9.0, {roll}]"),
        ("lifted-beam-axle", "roll_steer = [-9.0, {roll}]"),
    ],
)
def test_limits_off_center_and_in_roll_are_kept_in_as_many_cars_as_the_exact_motion_says(
    tmp_path, car, also
):
    """Two hundred cars of the tape and the build, each moved exactly."""
    case = read_case(with_track(tmp_path, car, also.format(steered=9.0, turn=-9.0, roll=9.0)))
    evaluator, setting = Evaluator.of(case), Settings.single(5.0)
    cars = ManyCars.drawn(evaluator, 1, count=200)
    worst = [exact_of(cars, k, setting) for k in range(200)]
    exact = np.array([[one.value[0] for one in found] for found in worst])
    kinds = [(one.kind, one.name) for one in worst[0]]
    asked = [
        k for k, (kind, name) in enumerate(kinds) if kind == "steered" or limit_of(kind) == name
    ]
    (column,) = asked
    for share in (0.25, 0.6):
        way = -1.0 if kinds[column][1] == "least" else 1.0
        limit = way * np.quantile(way * exact[:, column], share)
        tight = read_case(
            with_track(tmp_path, car, also.format(steered=limit, turn=limit, roll=limit))
        )
        drawn = ManyCars.drawn(Evaluator.of(tight), 1, count=200)
        found = margins(drawn.evaluator, setting, follow="smallest")
        _, shares = kept_in_cars(drawn.evaluator, setting, found, drawn)
        told = {(one.kind, one.name): float(kept[0]) for one, kept in shares}
        # The same cars: what is left is the first order.
        assert told[kinds[column]] == pytest.approx(share, abs=0.06)


def limit_of(kind):
    return {"turn": "least", "roll": "most"}[kind]


def exact_of(cars, k, setting):
    """What one of many cars does, by the exact motion at its own height and toe."""
    case = cars.evaluator.case
    toe = np.degrees(cars.evaluator.static_toe + float(cars.toe[k, 0]))
    height = case.ride.lowered_by + float(cars.raised[k, 0])
    ride = case.ride.model_copy(update={"lowered_by": height, "toe_deg": toe})
    own = case.model_copy(update={"ride": ride})
    corner = cars.corner
    one = replace(
        corner,
        points={name: point[k, 0] for name, point in corner.points.items()},
        outer_seat=corner.outer_seat[k, 0],
        inner=corner.inner[k, 0],
    )
    return also_margins(Evaluator.of(own).with_corner(one), setting)
