"""`curve`: which travel it covers, what is null, and what its options mean."""

from itertools import pairwise

import pytest

from optimizer.files.case_file import read_case
from tests.optimizer.command_line import CURVE_LISTS, LENGTH_ATOL_MM, STRUT, run, strictly_json


def wheel_of(text: str) -> dict[str, object]:
    """The one wheel of a document."""
    document = strictly_json(text)
    assert (document["together"], document["comparison"]) == (None, None)
    (wheel,) = document["wheels"]
    return wheel


def test_a_curve_runs_from_droop_to_bump_and_holds_ride_height(capsys, demo_car):
    run("curve", demo_car, "--json")
    travel = wheel_of(capsys.readouterr().out)["travel_mm"]
    ride = read_case(demo_car).ride
    assert (travel[0], travel[-1]) == (-ride.droop, ride.bump)
    assert 0.0 in travel
    assert travel == sorted(set(travel))
    step = 10.0 if read_case(demo_car).units == "mm" else 12.7
    assert all(after - before <= step + LENGTH_ATOL_MM for before, after in pairwise(travel))
    whole = [height for height in travel if abs(height) not in (ride.droop, ride.bump)]
    assert all(round(height / step, 9) % 1.0 == 0.0 for height in whole)


@pytest.mark.parametrize(
    ("options", "travel"),
    [
        (["--bump", 25, "--droop", 15], [-15.0, -10.0, 0.0, 10.0, 20.0, 25.0]),
        (["--bump", 20, "--droop", 0, "--step", 8], [0.0, 8.0, 16.0, 20.0]),
        (["--bump", 0, "--droop", 0], [0.0]),
        (["--bump", 0.3, "--droop", 0, "--step", 0.1], [0.0, 0.1, 0.2, 0.3]),
        (["--bump", 5, "--droop", 5, "--step", 100], [-5.0, 0.0, 5.0]),
    ],
)
def test_a_curve_runs_over_the_travel_that_is_asked_for(capsys, options, travel):
    assert run("curve", STRUT, "--json", *options) == 0
    wheel = wheel_of(capsys.readouterr().out)
    assert wheel["travel_mm"] == pytest.approx(travel, abs=LENGTH_ATOL_MM)
    assert wheel["travel_mm"][travel.index(0.0)] == 0.0


def test_a_height_out_of_reach_is_null_with_a_note(capsys):
    assert run("curve", STRUT, "--json", "--bump", 400) == 0
    wheel = wheel_of(capsys.readouterr().out)
    lost = [value is None for value in wheel["toe_deg"]]
    assert any(lost)
    assert not lost[wheel["travel_mm"].index(0.0)]
    for key in CURVE_LISTS[1:]:
        assert [value is None for value in wheel[key]] == lost
    for height, gone in zip(wheel["travel_mm"], lost, strict=True):
        assert sum(f" {height:g} mm" in note for note in wheel["notes"]) == gone


def test_a_height_out_of_reach_is_a_dash_with_a_note_in_the_report(capsys):
    assert run("curve", STRUT, "--bump", 400) == 0
    out = capsys.readouterr().out
    highest = next(line.split() for line in out.splitlines() if line.split()[:1] == ["+400.0"])
    assert highest[1:] == ["-"] * 7
    assert "No pose at travel" in out


def test_a_ride_height_out_of_reach_is_null_everywhere_with_a_note(capsys):
    assert run("curve", STRUT, "--json", "--lowered-by", 500) == 1
    wheel = wheel_of(capsys.readouterr().out)
    assert set(wheel["toe_deg"]) == {None}
    assert wheel["tie_rod_length_change_mm"] is None
    assert wheel["notes"]
    assert run("curve", STRUT, "--lowered-by", 500) == 1
    out = capsys.readouterr().out
    assert "the suspension can't be joined there" in out
    assert "half track" not in out, "no table of dashes"


def test_static_toe_is_reset_by_rod_length_unless_the_length_is_kept(capsys):
    case = read_case(STRUT)
    run("curve", STRUT, "--json", "--outer-drop", 10)
    reset = wheel_of(capsys.readouterr().out)
    run("curve", STRUT, "--json", "--outer-drop", 10, "--keep-rod-length")
    kept = wheel_of(capsys.readouterr().out)
    home = reset["travel_mm"].index(0.0)
    assert reset["toe_deg"][home] == pytest.approx(case.ride.toe_deg, abs=1e-9)
    assert reset["tie_rod_length_change_mm"] != 0.0
    assert kept["tie_rod_length_change_mm"] == 0.0
    assert kept["toe_deg"][home] != pytest.approx(case.ride.toe_deg, abs=1e-3)


def test_moving_the_other_wheel_the_other_way_changes_no_independent_suspension(capsys):
    run("curve", STRUT, "--json")
    alike = wheel_of(capsys.readouterr().out)
    run("curve", STRUT, "--json", "--opposite")
    assert wheel_of(capsys.readouterr().out) == alike


def test_a_stack_for_the_right_wheel_of_a_case_of_one_is_refused(capsys):
    assert run("curve", STRUT, "--right-outer-drop", "3") == 2
    out, err = capsys.readouterr()
    assert (out, "--right-outer-drop: the case measures one wheel" in err) == ("", True)
