"""A car of which both wheels were measured: each by its own readings, and what they share."""

import json

import pytest

from optimizer.cli.main import main
from optimizer.files.case_file import read_car
from optimizer.gauging.loop import gauge
from optimizer.models.questions import OtherRack, SidesExchanged, Slip
from optimizer.reports.terminal_gauge import gauge_report

from .conftest import CASES
from .sweeps import angles

DEMO = CASES / "two-sided-wishbone.toml"
TRAVEL = (-40.0, -20.0, 0.0, 20.0, 40.0)


def sweep(side, slope, rack_raise=2.0):
    """Readings of one wheel, toe rising by `slope`. [deg/mm]."""
    toe = {travel: round(slope * travel, 4) for travel in TRAVEL}
    return angles(toe, side=side, rack_raise=rack_raise)


def test_readings_correct_the_wheel_that_they_are_of():
    answer = gauge(read_car(DEMO), [sweep("left", 0.011), sweep("right", 0.006)])
    left, right = answer.wheels
    assert [wheel.side for wheel in answer.wheels] == answer.subject.sides == ["left", "right"]
    assert left.measured.toe_slope_deg_per_10mm == pytest.approx(0.11, abs=1e-6)
    assert right.measured.toe_slope_deg_per_10mm == pytest.approx(0.06, abs=1e-6)
    assert left.fitted_points["wheel_center"][1] > 0.0 > right.fitted_points["wheel_center"][1]
    expected = [0.5 * (0.011 - 0.006) * travel for travel in answer.sides.travel_mm]
    assert answer.sides.half_difference_deg == pytest.approx(expected, abs=1e-6)
    # One rack: it stays at the spacer that was fitted while measuring.
    assert left.next.rack_raise_mm == right.next.rack_raise_mm == 2.0
    assert answer.questions == []
    assert len(set(answer.cautions)) == len(answer.cautions)


def test_the_report_names_the_wheel_of_each_section_and_tells_cautions_once():
    text = gauge_report(
        gauge(read_car(DEMO), [sweep("left", 0.011), sweep("right", 0.006)]), ["car.toml"]
    )
    for section in ("What the gauge says", "What to fit next"):
        assert [text.count(f"{section} of the {side} wheel") for side in ("left", "right")] == [
            1
        ] * 2
    assert text.count("The left wheel and the right one") == 1
    assert text.count("Before it goes on the road") == 1


def test_one_rack_at_two_heights_is_asked_about():
    answer = gauge(read_car(DEMO), [sweep("left", 0.011, 0.0), sweep("right", 0.006, 2.0)])
    assert answer.questions == [OtherRack(left_mm=0.0, right_mm=2.0, taken_mm=2.0)]
    assert answer.wheels[0].next.rack_raise_mm == 2.0


def test_sweeps_that_have_each_other_s_side_are_asked_about():
    """With the rack as measured the left wheel's slope is 0.165, the right one's 0.053."""
    vehicle = read_car(DEMO)
    right_way = gauge(vehicle, [sweep("left", 0.0165, 0.0), sweep("right", 0.0053, 0.0)])
    assert right_way.questions == []
    answer = gauge(vehicle, [sweep("left", 0.0053, 0.0), sweep("right", 0.0165, 0.0)])
    assert answer.questions == [SidesExchanged()]
    for wheel in answer.wheels:
        assert wheel.contradictory
        assert wheel.next_readings is None
        assert not [one for one in wheel.questions if isinstance(one, Slip)]


def test_one_wheel_may_be_swept_alone():
    answer = gauge(read_car(DEMO), [sweep("right", 0.006)])
    assert [wheel.side for wheel in answer.wheels] == ["right"]
    assert answer.sides is None


def test_readings_of_no_named_side_are_refused(refused):
    rows = json.dumps([[travel, 0.01 * travel] for travel in TRAVEL])
    text = refused(f'format = 1\nunits = "mm"\nkind = "angle"\nreadings = {rows}\n', case=DEMO)
    assert 'side must be given, "left" or "right"; the case measures both wheels' in text


def test_the_json_of_the_command_holds_both_wheels(tmp_path, capsys):
    paths = []
    for side in ("left", "right"):
        path = tmp_path / f"{side}.toml"
        rows = json.dumps([[travel, 0.0101 * travel] for travel in TRAVEL])
        head = f'format = 1\nunits = "mm"\nkind = "angle"\nside = "{side}"\n'
        head += "outer_drop = 0.0\nrack_raise = 0.0\n"
        path.write_text(f"{head}readings = {rows}\n", encoding="utf-8")
        paths.append(str(path))
    assert main(["gauge", str(DEMO), *paths, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [wheel["side"] for wheel in document["wheels"]] == ["left", "right"]
